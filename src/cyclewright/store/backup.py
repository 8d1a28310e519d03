"""Write a shop into an archive, from one consistent view of a record that others go on using."""

from __future__ import annotations

import hashlib
import os
import secrets
import zipfile
from collections.abc import Generator
from contextlib import closing
from pathlib import Path
from typing import IO, Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from cyclewright.errors import InputError, Integrity, Problem
from cyclewright.record import events as record
from cyclewright.store import archive, database, schema, tombstones
from cyclewright.store.archive import Chain, Checked, Manifest, Row
from cyclewright.store.attachments import unpack
from cyclewright.store.store import Store

_AT_ONCE = 200


def write(store: Store, path: Path) -> Checked:
    """Write the whole shop into a new file, read it back, and put it in place: whole or not at all.

    Attachments that are torn are listed as missing; an event that is not as it was written is an
    Integrity error, because a backup must not make it look right.
    """
    if path.exists():
        do = "this file is here already: name another, so that no backup is lost"
        raise InputError(Problem("archive-here", str(path), do))
    temporary = path.with_name(f".{path.name[:100]}.{os.getpid()}.{secrets.token_hex(4)}")
    try:
        try:
            handle = os.open(temporary, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(handle, "w+b") as file:
                _write(store, file)
                file.flush()
                os.fsync(file.fileno())
            found = archive.check(temporary)
            temporary.rename(path)
            database.sync_folder(path.absolute().parent)
        finally:
            temporary.unlink(missing_ok=True)
    except OSError as error:
        do = f"it cannot be written ({error.strerror}): make room, or name another place"
        raise Integrity(Problem("disk", str(path), do)) from error
    return found


def _write(store: Store, file: IO[bytes]) -> None:
    with zipfile.ZipFile(file, "w") as zipped:
        found, events, named, erased = _write_events(store, zipped)
        held, missing = [], []
        for address in sorted(named - erased):
            content = _whole(store, address)
            if content is None:
                missing.append(address)
                continue
            zipped.writestr(_info(archive.ATTACHMENTS + address), content)
            held.append(address)
        if missing:  # what was erased while this ran is no longer missed
            with database.reading(store.engine) as connection:
                since = frozenset(missing) & tombstones.told(connection)
            erased, missing = erased | since, sorted(set(missing) - since)
        manifest = Manifest(
            found[0],
            found[1],
            found[2].hex(),
            events,
            tuple(held),
            tuple(sorted(erased)),
            tuple(missing),
        )
        zipped.writestr(_packed(archive.MANIFEST), manifest.to_bytes())


def _write_events(
    store: Store, zipped: zipfile.ZipFile
) -> tuple[tuple[str, int, bytes], str, set[str], frozenset[str]]:
    """Shop, hash of the events' text, addresses that events name, and addresses erased."""
    digest, chain = hashlib.sha256(), Chain()
    named: set[str] = set()
    erased: set[str] = set()
    with database.reading(_steady(store.engine)) as connection:
        shop = connection.execute(sa.select(schema.SHOP)).one()
        with (
            zipped.open(_packed(archive.EVENTS), "w", force_zip64=True) as lines,
            closing(_rows(connection)) as rows,
        ):
            for row in rows:
                chain.add(row)
                line = row.line()
                digest.update(line)
                lines.write(line)
                event = row.event()
                named.update(record.attachments(event.data))
                erased.update(tombstones.of(event))
        heads = {
            stream: (number, bytes(digest_))
            for stream, number, digest_ in connection.execute(sa.select(schema.STREAM))
        }
    if (chain.sequence, chain.chain, chain.heads) != (shop.sequence, bytes(shop.chain), heads):
        raise archive.broken("record", "chain-cut", "events are missing at its end")
    return (
        (str(shop.name), chain.sequence, chain.chain),
        digest.hexdigest(),
        named,
        frozenset(erased),
    )


def _steady(engine: Engine) -> Engine:
    """One view for all that is read; SQLite gives that by itself."""
    if engine.dialect.name == "sqlite":
        return engine
    return engine.execution_options(isolation_level="REPEATABLE READ")


def _rows(connection: Connection) -> Generator[Row, None, None]:
    event = schema.EVENT
    columns = [event.c[name] for name in Row.__slots__]
    query = sa.select(*columns).order_by(event.c.sequence)
    with connection.execution_options(yield_per=_AT_ONCE).execute(query) as listed:
        for sequence, stream, number, *parts in listed:
            yield Row(sequence, stream, number, *(bytes(part) for part in parts))


def _whole(store: Store, address: str) -> bytes | None:
    """The stored content of an address, or None when it is torn or gone."""
    try:
        content = store.shelf.get(address)
        unpack(address, content)
    except Integrity as error:
        if error.problems[0].code in ("attachment-missing", "attachment-changed"):
            return None
        raise
    return content


def _info(name: str) -> zipfile.ZipInfo:
    """A member without a date, so that the same record gives the same bytes."""
    made = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    made.create_system, made.external_attr = 3, 0o600 << 16
    return made


def _packed(name: str) -> zipfile.ZipInfo:
    made: Any = _info(name)
    made.compress_type = zipfile.ZIP_DEFLATED
    packed: zipfile.ZipInfo = made
    return packed
