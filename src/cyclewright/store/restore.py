"""Read an archive into an empty record, or mend torn attachments out of one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from cyclewright.errors import Integrity, Problem, refusal
from cyclewright.record import events as record
from cyclewright.record.events import Draft
from cyclewright.store import archive, database, schema, tombstones
from cyclewright.store.archive import Checked, Row
from cyclewright.store.attachments import unpack
from cyclewright.store.store import Head, Store

REASON = "erased before this backup was restored"
_AT_ONCE = 200


@dataclass(frozen=True, slots=True)
class Restored:
    """What came out of an archive."""

    archive: Checked
    attachments: int
    erased: int
    """Attachments in the archive, or named by its events, that stayed erased."""
    replayed: int
    """Of these, how many erasures were put on record anew."""


def read(store: Store, path: Path, erasures: Iterable[str] = ()) -> Restored:
    """Read an archive into an empty record; `erasures` are addresses that must not come back.

    The whole archive is checked before anything is kept. Attachments come first, then all events
    in one transaction: cut short, the record is as empty as before and the same call does it.
    """
    checked = archive.check(path)
    with database.reading(store.engine) as connection:
        _check_empty(connection)
    later = frozenset(erasures) | tombstones.known(store.folder)
    gone = later | set(checked.manifest.erased)
    kept = 0
    with archive.reader(path) as opened:
        if opened.hash != checked.hash:
            raise archive.refused("it changed while it was read")
        for address, content in opened.contents():
            if address not in gone:
                store.shelf.put(address, content)
                kept += 1
        with store.alone(), database.writing(store.engine) as connection:
            if connection.dialect.name != "sqlite":
                connection.exec_driver_sql("SELECT pg_advisory_xact_lock(2047)")
            _check_empty(connection)
            named = _insert(connection, checked, opened.rows())
            replayed = _replay(store, connection, named, gone)
    store.erase(sorted(gone & set().union(*named.values())))
    return Restored(checked, kept, len(gone & set().union(*named.values())), replayed)


def mend(store: Store, path: Path) -> tuple[int, int]:
    """Put back attachments that are torn or missing here; how many were, and how many are left.

    Only an archive of this very shop is used, and nothing that was erased comes back.
    """
    named, erased = _named(store)
    gone = erased | tombstones.known(store.folder)
    torn = [address for address in sorted(named - gone) if not _is_whole(store, address)]
    mended = 0
    with archive.reader(path) as opened:
        if opened.manifest.shop != store.name():
            do = "it is a backup of another shop: use one of this shop"
            raise refusal("other-shop", str(path), do)
        for address in sorted(set(torn) & set(opened.manifest.attachments)):
            content = opened.content(address)
            store.shelf.drop(address)
            store.shelf.put(address, content)
            mended += 1
    return mended, len(torn) - mended


def _check_empty(connection: Connection) -> None:
    if connection.scalar(sa.select(schema.SHOP.c.sequence).with_for_update()):
        raise Integrity(
            Problem(
                "not-empty",
                "record",
                "it holds events already: read the archive into a new data folder or database",
            )
        )


def _insert(connection: Connection, checked: Checked, rows: Iterator[Row]) -> dict[int, set[str]]:
    """Put the events in; gives the addresses that each stream names."""
    named: dict[int, set[str]] = {}
    heads: dict[int, tuple[int, bytes]] = {}
    while listed := list(islice(rows, _AT_ONCE)):
        values = []
        for row in listed:
            event = row.event()
            named.setdefault(row.stream, set()).update(record.attachments(event.data))
            heads[row.stream] = (row.number, row.hash)
            own = {name: getattr(row, name) for name in Row.__slots__}
            values.append({**own, "uuid": event.uuid, "subject": event.subject})
        connection.execute(sa.insert(schema.EVENT), values)
    for table in schema.META.sorted_tables:
        if table not in (schema.VERSIONS, schema.SHOP, schema.EVENT, schema.ATTACHMENT):
            connection.execute(sa.delete(table))
    if heads:
        streams = [{"stream": s, "number": n, "hash": h} for s, (n, h) in heads.items()]
        connection.execute(sa.insert(schema.STREAM), streams)
    told = checked.manifest
    shop = {"name": told.shop, "sequence": told.sequence, "chain": bytes.fromhex(told.chain)}
    connection.execute(sa.update(schema.SHOP).values(**shop))
    return named


def _replay(
    store: Store, connection: Connection, named: dict[int, set[str]], gone: frozenset[str]
) -> int:
    """Erasures that the archive's own events do not tell become events again."""
    told = tombstones.told(connection)
    shop = store.locked(connection)
    count = 0
    for stream in sorted(named):
        again = sorted((named[stream] & gone) - told)
        if again:
            head = store.head_of(connection, stream)
            draft = Draft("erased", "erased", {"addresses": again, "reason": REASON})
            event, shop = store.place(connection, stream, draft, head, shop)
            store.advance(connection, stream, Head(event.number, event.hash), shop)
            count += len(again)
    return count


def _named(store: Store) -> tuple[set[str], frozenset[str]]:
    """All addresses that events name, and those that were erased."""
    event, named = schema.EVENT, set[str]()
    query = sa.select(event.c.stream, event.c.number, event.c.body)
    with database.reading(store.engine) as connection:
        with connection.execution_options(yield_per=_AT_ONCE).execute(query) as listed:
            for stream, number, body in listed:
                named.update(record.attachments(record.decode(stream, number, bytes(body)).data))
        return named, tombstones.told(connection)


def _is_whole(store: Store, address: str) -> bool:
    try:
        unpack(address, store.shelf.get(address))
    except Integrity:
        return False
    return True
