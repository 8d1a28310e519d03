"""The archive of a shop: one file that is backup, restore and the move between two databases.

It is a ZIP file that any tool can look into. `events.txt` holds the events in the shop's order, the
bodies as the very bytes that were hashed; `attachments/` holds each attachment under its address,
as it was stored; `manifest.json` says what is in it and holds the hash of the events. The SHA-256
of the manifest's bytes is the archive's own: the same record gives the same one, whichever database
it lay in.

What is read here may come from anywhere. No name in it ever becomes a path, nothing in it is
believed before it was checked, and nothing is unpacked further than it may be large.
"""

from __future__ import annotations

import hashlib
import io
import json
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

from cyclewright.errors import CyclewrightError, InputError, Integrity, Problem
from cyclewright.record import events as record
from cyclewright.record.events import Event
from cyclewright.store.attachments import CAP, unpack

FORMAT = "cyclewright archive 1"
EVENTS, MANIFEST, ATTACHMENTS = "events.txt", "manifest.json", "attachments/"
LARGEST_CONTENT = CAP + 4096
"""Bytes of one stored attachment with its head."""
LARGEST_MANIFEST = 200_000_000
MOST_MEMBERS = 1_000_000
"""Attachments one archive may hold."""
TIGHTEST = 300
"""How many times smaller than itself the text of events may have been packed."""
_END, _END_64 = b"PK\x05\x06", b"PK\x06\x06"
_HEAD_CAP = 400


@dataclass(frozen=True, slots=True)
class Row:
    """One event as an archive holds it."""

    sequence: int
    stream: int
    number: int
    body: bytes
    hash: bytes
    chain: bytes

    def line(self) -> bytes:
        """Sequence, stream, number, hash, chain and length, then the body, on one line."""
        head = (
            f"{self.sequence} {self.stream} {self.number} {self.hash.hex()} {self.chain.hex()} "
            f"{len(self.body)} "
        )
        return head.encode() + self.body + b"\n"

    def event(self) -> Event:
        """The event that the body holds."""
        return record.decode(self.stream, self.number, self.body, self.hash)


@dataclass(slots=True)
class Chain:
    """Follows events in the shop's order and says whether each one fits what came before it."""

    sequence: int = 0
    chain: bytes = record.GENESIS
    heads: dict[int, tuple[int, bytes]] = field(default_factory=dict)

    def add(self, row: Row) -> None:
        """Go on by one event; one that does not fit is an Integrity error that names it."""
        number, previous = self.heads.get(row.stream, (0, record.GENESIS))
        fits = (
            (row.sequence, row.number) == (self.sequence + 1, number + 1)
            and record.link(previous, row.stream, row.number, row.body) == row.hash
            and record.chain(self.chain, row.sequence, row.hash) == row.chain
        )
        if not fits:
            place = f"bike {row.stream} event {row.number}"
            raise broken(place, "event-changed", "it is not as it was written")
        self.sequence, self.chain = row.sequence, row.chain
        self.heads[row.stream] = (row.number, row.hash)


@dataclass(frozen=True, slots=True)
class Manifest:
    """What an archive holds."""

    shop: str
    sequence: int
    chain: str
    events: str
    """SHA-256 of `events.txt`."""
    attachments: tuple[str, ...]
    erased: tuple[str, ...] = ()
    """Tombstones: addresses that were erased on purpose and must not come back."""
    missing: tuple[str, ...] = ()
    """Addresses whose content was torn or gone when the archive was written."""

    def to_bytes(self) -> bytes:
        """The manifest as the exact bytes that its hash covers."""
        content = {name: getattr(self, name) for name in self.__slots__}
        return record.to_bytes({"format": FORMAT, **content}, "manifest")


@dataclass(frozen=True, slots=True)
class Checked:
    """An archive whose every byte fits the manifest."""

    manifest: Manifest
    hash: str
    size: int
    """Bytes of the file."""


class Reader:
    """An archive opened and held against its own list of contents; nothing is unpacked yet."""

    def __init__(self, file: IO[bytes], zipped: zipfile.ZipFile, size: int) -> None:
        self.size = size
        self._file, self._zip = file, zipped
        self._members = _members(zipped, size)
        raw = self._small(MANIFEST, LARGEST_MANIFEST)
        self.manifest = _manifest(raw)
        self.hash = hashlib.sha256(raw).hexdigest()
        listed = {ATTACHMENTS + address for address in self.manifest.attachments}
        if listed | {EVENTS, MANIFEST} != set(self._members):
            raise refused("it does not hold what its manifest lists")

    def rows(self) -> Iterator[Row]:
        """The events in order, each held against those before it, and all against the manifest."""
        info, digest, chain = self._members[EVENTS], hashlib.sha256(), Chain()
        if info.file_size > TIGHTEST * info.compress_size + 4096:
            raise refused("its events claim more room than they could have come from")
        uuids: set[str] = set()
        with self._zip.open(info) as member, io.BufferedReader(member) as lines:  # type: ignore[type-var]
            while head := _head(lines, digest):
                row = _row(head, lines, digest)
                chain.add(row)
                _check_event(row, uuids)
                yield row
        told = self.manifest
        found = (chain.sequence, chain.chain.hex(), digest.hexdigest())
        if found != (told.sequence, told.chain, told.events):
            raise refused("its events are not those of its manifest")

    def contents(self) -> Iterator[tuple[str, bytes]]:
        """Address and stored content of every attachment, each held against its address."""
        for address in self.manifest.attachments:
            yield address, self.content(address)

    def content(self, address: str) -> bytes:
        """The stored content of an address that the manifest lists."""
        content = self._small(ATTACHMENTS + address, LARGEST_CONTENT)
        unpack(address, content)
        return content

    def _small(self, name: str, most: int) -> bytes:
        info = self._members.get(name)
        if info is None:
            raise refused(f"it has no {name}")
        if info.file_size > most:
            raise refused(f"its {name} is larger than any can be")
        with self._zip.open(info) as file:
            return file.read(most)


@contextmanager
def reader(path: Path) -> Iterator[Reader]:
    """An archive to read from; whatever is wrong with the file is told in one sentence."""
    try:
        if not path.is_file():
            raise InputError(Problem("no-archive", str(path), "there is no such file"))
        with path.open("rb") as file:
            size = _check_end(file)
            with zipfile.ZipFile(file) as zipped:
                yield Reader(file, zipped, size)
    except OSError as error:
        do = f"it cannot be read: {error.strerror or error}"
        raise Integrity(Problem("disk", str(path), do)) from error
    except (zipfile.BadZipFile, zlib.error, struct.error, EOFError, NotImplementedError) as error:
        raise refused("it is torn or was changed") from error
    except (ValueError, OverflowError, RecursionError, MemoryError, RuntimeError) as error:
        if isinstance(error, CyclewrightError):
            raise
        raise refused("it is torn or was changed") from error


def check(path: Path) -> Checked:
    """Every event and every attachment of an archive against its hashes; nothing is kept."""
    with reader(path) as opened:
        told = opened.manifest
        named = {a for row in opened.rows() for a in record.attachments(row.event().data)}
        if set(told.attachments) - named or named - {
            *told.attachments,
            *told.erased,
            *told.missing,
        }:
            raise refused("its attachments are not those of its events")
        for _ in opened.contents():
            pass
        return Checked(opened.manifest, opened.hash, opened.size)


def tombstones(path: Path) -> frozenset[str]:
    """Addresses that were erased, as an archive or a list of erasures has them."""
    try:
        with path.open("rb") as file:
            is_archive = file.read(2) == b"PK"
            file.seek(0)
            listed = b"" if is_archive else file.read(LARGEST_MANIFEST)
    except OSError as error:
        do = f"it cannot be read: {error.strerror or error}"
        raise InputError(Problem("erasures", str(path), do)) from error
    if is_archive:
        with reader(path) as opened:
            return frozenset(opened.manifest.erased)
    found = listed.decode("ascii", "replace").split()
    if not all(is_address(item) for item in found):
        do = "give an archive, or the erased.txt of a data folder"
        raise InputError(Problem("erasures", str(path), do))
    return frozenset(found)


def is_address(text: object) -> bool:
    """Whether a text is the address of an attachment."""
    return isinstance(text, str) and len(text) == 64 and not set(text) - set("0123456789abcdef")


def broken(what: str, code: str, how: str) -> Integrity:
    """Something that was written is not as it was."""
    return Integrity(
        Problem(code, what, f"{how}: run `cyclewright verify`, or use another archive")
    )


def refused(why: str) -> Integrity:
    """An archive that is not taken, and why."""
    return Integrity(Problem("archive", "archive", f"{why}: use another archive, nothing was read"))


def _check_end(file: IO[bytes]) -> int:
    """The size of the file, whose end must not announce more members than one may have."""
    size = file.seek(0, 2)
    tail = min(size, 22 + 65_535 + 20 + 56)
    file.seek(size - tail)
    end = file.read(tail)
    place = end.rfind(_END)
    if place < 0 or len(end) < place + 22:
        raise refused("it is torn, or no archive at all")
    count: int = struct.unpack_from("<H", end, place + 10)[0]
    large = end.rfind(_END_64, 0, place)
    if count == 0xFFFF and large >= 0 and len(end) >= large + 56:
        count = struct.unpack_from("<Q", end, large + 32)[0]
    if count > MOST_MEMBERS + 2:
        raise refused("it announces more attachments than one archive may hold")
    file.seek(0)
    return size


def _members(zipped: zipfile.ZipFile, size: int) -> dict[str, zipfile.ZipInfo]:
    """The members by name: only names that an archive has, plain or packed as it packs them."""
    found: dict[str, zipfile.ZipInfo] = {}
    for info in zipped.infolist():
        name, stored = info.filename, info.compress_type == zipfile.ZIP_STORED
        known = name in (EVENTS, MANIFEST)
        if not known and not (
            name.startswith(ATTACHMENTS) and is_address(name.removeprefix(ATTACHMENTS))
        ):
            raise refused("it holds a file that is none of an archive's")
        if name in found:
            raise refused("it holds one file twice")
        packed = info.compress_type == zipfile.ZIP_DEFLATED and known
        if info.flag_bits & 1 or not (packed or (stored and info.compress_size == info.file_size)):
            raise refused("it is packed otherwise than an archive is")
        found[name] = info
    if sum(info.compress_size for info in found.values()) > size:
        raise refused("it claims to hold more than the file is long")
    return found


def _manifest(raw: bytes) -> Manifest:
    content = json.loads(raw.decode("utf-8"))
    if not isinstance(content, dict) or content.pop("format", None) != FORMAT:
        raise refused("it was made by a newer Cyclewright, or is something else")
    texts, lists = ("shop", "chain", "events"), ("attachments", "erased", "missing")
    right = (
        set(content) == set(Manifest.__slots__)
        and all(isinstance(content[name], str) and len(content[name]) <= 64 for name in texts)
        and all(_addresses(content[name]) for name in lists)
        and isinstance(content["sequence"], int)
        and len(content["shop"]) == 36
    )
    if not right:
        raise refused("its manifest is not as one is written")
    made = Manifest(**{key: _fixed(value) for key, value in content.items()})
    if made.to_bytes() != raw:
        raise refused("its manifest is not as one is written")
    return made


def _addresses(items: object) -> bool:
    """Whether these are addresses, each once and in order."""
    if not isinstance(items, list) or not all(is_address(item) for item in items):
        return False
    return items == sorted(set(items))


def _fixed(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def _head(lines: IO[bytes], digest: Any) -> bytes:
    """The six words before a body, read to the space behind the last; empty at the end."""
    head = bytearray()
    while head.count(b" ") < 6:
        byte = lines.read(1)
        if not byte and not head:
            return b""
        if not byte or len(head) > _HEAD_CAP:
            raise refused("its events are torn or were changed")
        head += byte
    digest.update(head)
    return bytes(head)


def _row(head: bytes, lines: IO[bytes], digest: Any) -> Row:
    words = head.decode("ascii").split(" ")
    if not all(word.isdecimal() and len(word) <= 18 for word in (*words[:3], words[5])):
        raise refused("its events are torn or were changed")
    length = int(words[5])
    if length > record.BODY_CAP:
        raise refused("it holds an event larger than any can be")
    body = lines.read(length + 1)
    digest.update(body)
    if len(body) != length + 1 or body[-1:] != b"\n":
        raise refused("its events are torn or were changed")
    hashes = (bytes.fromhex(word) for word in words[3:5])
    return Row(int(words[0]), int(words[1]), int(words[2]), body[:-1], *hashes)


def _check_event(row: Row, uuids: set[str]) -> None:
    """What a database's columns could not hold is refused before any of them is written."""
    event = row.event()
    right = (
        row.stream < 2**31
        and row.number < 2**31
        and isinstance(event.uuid, str)
        and len(event.uuid) <= 36
        and isinstance(event.subject, str)
        and record.fits_subject(event.subject)
        and event.uuid not in uuids
    )
    if not right:
        raise refused(f"bike {row.stream} event {row.number} is none that can be kept")
    uuids.add(event.uuid)
