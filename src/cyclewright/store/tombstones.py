"""Tombstones beside the record: what was erased here stays erased when an older backup returns.

The events say it too; this list outlives a record that is thrown away and restored.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from cyclewright.errors import Integrity, Problem
from cyclewright.record import events as record
from cyclewright.record.events import Event
from cyclewright.store import schema
from cyclewright.store.database import sync_folder

FILE = "erased.txt"


def add(folder: Path, addresses: Iterable[str]) -> None:
    """Note addresses, each on a line; they are on disk when this returns."""
    new = [address for address in addresses if address not in known(folder)]
    if not new:
        return
    path = folder / FILE
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write("".join(f"\n{address}" for address in new).encode("ascii"))
            file.flush()
            os.fsync(file.fileno())
        sync_folder(folder)
    except OSError as error:
        do = f"it cannot be written ({error.strerror}): make room or check permissions"
        raise Integrity(Problem("disk", str(path), do)) from error


def known(folder: Path) -> frozenset[str]:
    """Addresses that were erased here; a line that was cut short by a crash is passed over."""
    try:
        text = (folder / FILE).read_text("ascii", errors="replace")
    except FileNotFoundError:
        return frozenset()
    except OSError as error:
        do = f"it cannot be read: {error.strerror}"
        raise Integrity(Problem("disk", str(folder / FILE), do)) from error
    return frozenset(line for line in text.split() if len(line) == 64)


def told(connection: Connection) -> frozenset[str]:
    """Addresses that the events of the record say were erased."""
    event = schema.EVENT
    query = sa.select(event.c.stream, event.c.number, event.c.body)
    rows = connection.execute(query.where(event.c.subject == "erased"))
    return frozenset(
        address
        for stream, number, body in rows
        for address in of(record.decode(stream, number, bytes(body)))
    )


def of(event: Event) -> list[str]:
    """Addresses that an event says were erased; none for any other kind."""
    tombstone = event.kind == "erased" and event.known
    return [str(address) for address in event.data["addresses"]] if tombstone else []
