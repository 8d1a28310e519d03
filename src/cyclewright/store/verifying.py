"""Verify: every hash, link, attachment and signature against what is stored."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

import sqlalchemy as sa

from cyclewright.errors import Integrity, Problem
from cyclewright.record import events as record
from cyclewright.store import database, schema, signing
from cyclewright.store.store import Store


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is not as it was written; `stream` 0 is the shop's own."""

    code: str
    stream: int
    number: int
    what: str


@dataclass(slots=True)
class Report:
    """What was checked and what was found."""

    events: int = 0
    attachments: int = 0
    signatures: int = 0
    erased: int = 0
    """Attachments that are gone because an event says so."""
    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Row:
    sequence: int
    stream: int
    number: int
    uuid: str
    subject: str
    hash: bytes
    chain: bytes
    body: bytes = b""


_LIGHT = ("sequence", "stream", "number", "uuid", "subject", "hash", "chain")
"""Columns of a row without its body."""


Tell = Callable[[int, int], None]


def verify(store: Store, stream: int | None = None, tell: Tell | None = None) -> Report:
    """Check the shop-wide chain and every stream, or one bike with the chain it hangs in.

    `tell` hears how many events of how many are checked, bike by bike; what it raises ends it.
    """
    report = Report()
    with _readable():
        shop, heads, rows = _read(store)
    _check_pages(report, store)
    with _readable():
        _check_chain(report, store, shop, rows)
        erased = _erased(store)
    streams: dict[int, list[_Row]] = {name: [] for name in heads}
    for row in rows:
        streams.setdefault(row.stream, []).append(row)
    for name in sorted(streams):
        if stream is None or name == stream:
            with _readable():
                own = _bodied(store, name, streams[name])
            _check_stream(report, store, str(shop[2]), name, own, heads.get(name), erased)
            if tell is not None:
                tell(report.events, len(rows))
    report.faults.sort(key=lambda fault: (fault.stream, fault.number))
    return report


@contextmanager
def _readable() -> Iterator[None]:
    """A damaged page may give what no column may hold."""
    try:
        yield
    except (TypeError, ValueError) as error:
        do = "the record file is damaged: restore a backup"
        raise Integrity(Problem("damaged", "record", do)) from error


def _read(
    store: Store,
) -> tuple[tuple[int, bytes, str], dict[int, tuple[int, bytes]], list[_Row]]:
    """Where the shop and each stream say they end, and all rows without their bodies."""
    event, shop, stream = schema.EVENT, schema.SHOP, schema.STREAM
    with database.reading(store.engine) as connection:
        found = connection.execute(sa.select(shop.c.sequence, shop.c.chain, shop.c.name)).one()
        heads = {row[0]: (row[1], bytes(row[2])) for row in connection.execute(sa.select(stream))}
        columns = [event.c[name] for name in _LIGHT]
        listed = connection.execute(sa.select(*columns).order_by(event.c.sequence))
        rows = [_Row(r[0], r[1], r[2], r[3], r[4], bytes(r[5]), bytes(r[6])) for r in listed]
    return (found[0], bytes(found[1]), str(found[2])), heads, rows


def _bodied(store: Store, stream: int, rows: list[_Row]) -> list[_Row]:
    """The rows of a stream in order, with their bodies; only those rows are held at a time."""
    event = schema.EVENT
    query = sa.select(event.c.sequence, event.c.body).where(event.c.stream == stream)
    with database.reading(store.engine) as connection:
        bodies = {row[0]: bytes(row[1]) for row in connection.execute(query)}
    whole = (replace(row, body=bodies.get(row.sequence, b"")) for row in rows)
    return sorted(whole, key=lambda row: row.number)


def _check_pages(report: Report, store: Store) -> None:
    """SQLite's own check of its pages and indexes; PostgreSQL keeps checks of its own."""
    if store.engine.dialect.name != "sqlite":
        return
    with database.reading(store.engine) as connection:
        said = connection.exec_driver_sql("PRAGMA integrity_check(3)").scalars().all()
    if list(said) != ["ok"]:
        what = f"the record file is damaged: {'; '.join(' '.join(line.split()) for line in said)}"
        report.faults.append(Fault("file-damaged", 0, 0, what))


def _check_chain(
    report: Report, store: Store, shop: tuple[int, bytes, str], rows: list[_Row]
) -> None:
    """The shop-wide sequence: nothing left out between two events, nothing at the end."""

    def named(row: _Row) -> str:
        return _named(_bodied(store, row.stream, [row])[0])

    previous, expected = record.GENESIS, 1
    for row in rows:
        if row.sequence != expected:
            _fault(report, "event-removed", row, f"events are missing before {named(row)}")
            expected = row.sequence
        elif record.chain(previous, row.sequence, row.hash) != row.chain:
            _fault(report, "chain-broken", row, f"the shop's chain breaks at {named(row)}")
        previous, expected = row.chain, expected + 1
    if (expected - 1, previous) != shop[:2]:
        last = named(rows[-1]) if rows else "the beginning"
        what = f"the shop's chain ends at {last} and not where it was said to end"
        report.faults.append(Fault("chain-cut", 0, 0, what))


def _check_stream(
    report: Report,
    store: Store,
    shop: str,
    stream: int,
    rows: list[_Row],
    head: tuple[int, bytes] | None,
    erased: frozenset[str],
) -> None:
    previous, expected = record.GENESIS, 1
    hashes: dict[int, bytes] = {}
    for row in rows:
        report.events += 1
        if row.number != expected:
            _fault(report, "event-removed", row, f"events are missing before {_named(row)}")
            previous, expected = row.hash, row.number
        elif record.link(previous, stream, row.number, row.body) != row.hash:
            _fault(report, "event-changed", row, f"{_named(row)} is not as it was written")
        previous, expected = row.hash, expected + 1
        hashes[row.number] = row.hash
        _check_event(report, store, shop, row, hashes, erased)
    if head != (expected - 1, previous) and not (head is None and not rows):
        what = f"bike {stream} ends at event {expected - 1} and not where it was said to end"
        report.faults.append(Fault("head-wrong", stream, expected - 1, what))


def _check_event(
    report: Report,
    store: Store,
    shop: str,
    row: _Row,
    hashes: dict[int, bytes],
    erased: frozenset[str],
) -> None:
    """The body against its columns, its attachments, and the signature it may hold."""
    try:
        event = record.decode(row.stream, row.number, row.body, row.hash)
    except Integrity:
        if not any((f.stream, f.number) == (row.stream, row.number) for f in report.faults):
            _fault(report, "event-changed", row, f"{_named(row)} cannot be read")
        return
    if (event.uuid, event.subject) != (row.uuid, row.subject):
        _fault(report, "event-changed", row, f"the index of {_named(row)} is not as written")
    for problem in _attachment_problems(store, event, report, erased):
        _fault(report, "attachment", row, f"{problem} of {_named(row)}")
    if event.kind == "head-signed" and event.known:
        _check_signature(report, store, shop, row, event, hashes)


def _erased(store: Store) -> frozenset[str]:
    """Addresses that an event says were erased on purpose."""
    event = schema.EVENT
    columns = (event.c.stream, event.c.number, event.c.body, event.c.hash)
    with database.reading(store.engine) as connection:
        listed = connection.execute(sa.select(*columns).where(event.c.subject == "erased")).all()
    found: set[str] = set()
    for stream, number, body, digest in listed:
        try:
            told = record.decode(stream, number, bytes(body), bytes(digest))
        except Integrity:
            continue
        if told.kind == "erased" and told.known:
            found.update(str(address) for address in told.data["addresses"])
    return frozenset(found)


def _attachment_problems(
    store: Store, event: record.Event, report: Report, erased: frozenset[str]
) -> Iterator[str]:
    for address in record.attachments(event.data):
        report.attachments += 1
        if address in erased:
            report.erased += 1
            if store.shelf.get(address) is not None:
                report.notes.append(
                    f"attachment {address[:12]} was erased and is still there: erase again"
                )
            continue
        try:
            store.attachment(address)
        except Integrity as error:
            problem = error.problems[0]
            kind = {"attachment-missing": "is missing", "attachment-changed": "was changed"}
            yield f"attachment {address[:12]} {kind.get(problem.code, 'cannot be read')}"


def _check_signature(
    report: Report,
    store: Store,
    shop: str,
    row: _Row,
    event: record.Event,
    hashes: dict[int, bytes],
) -> None:
    report.signatures += 1
    data = event.data
    head = hashes.get(int(data["number"]), b"")
    message = record.signed_message(shop, row.stream, int(data["number"]), head)
    if not signing.valid(str(data["key"]), str(data["signature"]), message):
        _fault(report, "signature", row, f"the signature in {_named(row)} does not fit")
    elif data["key"] != signing.own_public_key(store.folder / "keys"):
        report.notes.append(
            f"{_named(row)} was signed with key {str(data['key'])[:16]}, which is not this "
            "machine's: compare it with the printed sheet"
        )


def _fault(report: Report, code: str, row: _Row, what: str) -> None:
    report.faults.append(Fault(code, row.stream, row.number, what))


def _named(row: _Row) -> str:
    """Where a row stands and, when it can still be read, what it says."""
    place = f"bike {row.stream} event {row.number}" if row.stream else f"shop event {row.number}"
    try:
        event = record.decode(row.stream, row.number, row.body)
    except Integrity:
        return place
    return f"{place} ({event.kind}, {event.subject})"
