"""Attachments: content-addressed, written before the event that names them.

The address is the SHA-256 of the whole stored content. Personal content begins with 32 random
bytes of salt, so that its address in an event says nothing of it once the content is gone.
"""

from __future__ import annotations

import hashlib
import os
import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from cyclewright.errors import Integrity, Problem, input_error
from cyclewright.store import schema
from cyclewright.store.database import insert_for, make_folder, reading, sync_folder, writing

MAGIC = b"cyclewright attachment 1\n"
CAP = 20_000_000
"""Bytes one attachment may hold."""


@dataclass(frozen=True, slots=True)
class Attachment:
    """What was attached and what it is (`text/plain`, `image/jpeg`, …)."""

    media: str
    payload: bytes


class Shelf(Protocol):
    """Where stored content lies, by address."""

    def put(self, address: str, content: bytes) -> None:
        """Keep the content; it is on disk when this returns."""

    def get(self, address: str) -> bytes | None:
        """The content, or None when there is none of that address."""

    def drop(self, address: str) -> None:
        """Let the content go for good; it is gone from disk when this returns."""


def pack(payload: bytes, media: str, personal: bool) -> tuple[str, bytes]:
    """Address and stored content of an attachment."""
    if len(payload) > CAP:
        raise input_error(
            "too-large", "attachment", "attach less than 20 MB", value=f"{len(payload)} bytes"
        )
    salt = secrets.token_hex(32) if personal else ""
    content = MAGIC + f"{media}\n{salt}\n".encode() + payload
    return hashlib.sha256(content).hexdigest(), content


def unpack(address: str, content: bytes | None) -> Attachment:
    """The attachment of that address; anything else is an Integrity error."""
    if content is None:
        raise _torn(address, "attachment-missing", "it is missing: restore a backup")
    if hashlib.sha256(content).hexdigest() != address or not content.startswith(MAGIC):
        raise _torn(address, "attachment-changed", "it was changed: restore a backup")
    media, _, payload = content[len(MAGIC) :].split(b"\n", 2)
    return Attachment(media.decode(), payload)


def _torn(address: str, code: str, do: str) -> Integrity:
    return Integrity(Problem(code, f"attachment {address[:12]}", do))


@dataclass(frozen=True, slots=True)
class Folder:
    """Attachments as files: temporary file, fsync, rename, fsync of the folder."""

    root: Path

    def put(self, address: str, content: bytes) -> None:
        """Keep the content; it is on disk when this returns."""
        place = self._place(address)
        if place.exists():
            return
        temporary = place.with_name(f".{address}.{os.getpid()}.{secrets.token_hex(4)}")
        try:
            make_folder(place.parent)
            try:
                handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
                with os.fdopen(handle, "wb") as file:
                    file.write(content)
                    file.flush()
                    os.fsync(file.fileno())
                temporary.replace(place)
            finally:
                temporary.unlink(missing_ok=True)
            sync_folder(place.parent)
        except OSError as error:
            raise Integrity(
                Problem(
                    "disk",
                    "attachment",
                    f"it could not be kept ({error.strerror}): make room or check permissions",
                )
            ) from error

    def get(self, address: str) -> bytes | None:
        """The content, or None when there is none of that address."""
        try:
            return self._place(address).read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            raise _torn(address, "attachment-unreadable", f"{error.strerror}") from error

    def drop(self, address: str) -> None:
        """Let the content go for good; it is gone from disk when this returns."""
        place = self._place(address)
        try:
            place.unlink(missing_ok=True)
            # A program that was killed while it kept this content has left a part of it.
            for half in place.parent.glob(f".{address}.*"):
                half.unlink(missing_ok=True)
            if place.parent.is_dir():
                sync_folder(place.parent)
        except OSError as error:
            raise Integrity(
                Problem("disk", "attachment", f"it could not be erased ({error.strerror})")
            ) from error

    def _place(self, address: str) -> Path:
        if len(address) != 64 or any(char not in "0123456789abcdef" for char in address):
            raise _torn(address, "attachment-address", "this is no address: restore a backup")
        return self.root / address[:2] / address


@dataclass(frozen=True, slots=True)
class Rows:
    """Attachments as rows of the shared database."""

    engine: Engine

    def put(self, address: str, content: bytes) -> None:
        """Keep the content; it is on disk when this returns."""
        if self.get(address) is None:
            with writing(self.engine) as connection:
                insert = insert_for(connection)(schema.ATTACHMENT)
                row = {"address": address, "content": content}
                connection.execute(insert.on_conflict_do_nothing(), row)

    def get(self, address: str) -> bytes | None:
        """The content, or None when there is none of that address."""
        query = sa.select(schema.ATTACHMENT.c.content).where(schema.ATTACHMENT.c.address == address)
        with reading(self.engine) as connection:
            found: bytes | None = connection.scalar(query)
        return None if found is None else bytes(found)

    def drop(self, address: str) -> None:
        """Let the content go for good; it is gone from disk when this returns."""
        table = schema.ATTACHMENT
        with writing(self.engine) as connection:
            connection.execute(sa.delete(table).where(table.c.address == address))
