"""Phones that were let in, and wrong pairing codes: beside the record, not part of it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from cyclewright.store import access, database, schema
from cyclewright.store.store import Store

MOST_SOURCES = 10_000
"""Addresses whose wrong codes are kept; the oldest go first."""


@dataclass(frozen=True, slots=True)
class Kept:
    """One phone as it is kept; its cookie is not."""

    id: int
    name: str
    person: int | None
    paired: str
    seen: str
    until: str
    revoked: str | None


def add(store: Store, token: str, name: str, now: datetime, until: datetime) -> Kept:
    """Keep a phone by the hash of its cookie."""
    table = schema.DEVICE
    stamp = _stamp(now)
    with store.alone(), database.writing(store.engine) as connection:
        _line_up(connection)
        last = connection.scalar(sa.select(sa.func.max(table.c.id))) or 0
        kept = Kept(last + 1, name, None, stamp, stamp, _stamp(until), None)
        row = {field: getattr(kept, field) for field in Kept.__slots__}
        connection.execute(sa.insert(table).values(token=_hash(token), **row))
    return kept


def listed(store: Store) -> tuple[Kept, ...]:
    """Every phone that was ever let in, the newest first."""
    query = sa.select(*_columns()).order_by(schema.DEVICE.c.id.desc())
    with database.reading(store.engine) as connection:
        return tuple(_kept(row) for row in connection.execute(query))


def holding(store: Store, token: str) -> Kept | None:
    """The phone that holds this cookie, revoked and run out ones too."""
    query = sa.select(*_columns()).where(schema.DEVICE.c.token == _hash(token))
    with database.reading(store.engine) as connection:
        row = connection.execute(query).one_or_none()
    return None if row is None else _kept(row)


def revoke(store: Store, device: int, now: datetime) -> bool:
    """Let a phone in no more; false when there is none of that number that still was."""
    table = schema.DEVICE
    change = sa.update(table).where(table.c.id == device, table.c.revoked.is_(None))
    with store.alone(), database.writing(store.engine) as connection:
        return connection.execute(change.values(revoked=_stamp(now))).rowcount == 1


def seen(store: Store, device: int, now: datetime) -> None:
    """Note when a phone was last here."""
    _set(store, device, seen=_stamp(now))


def carried_by(store: Store, device: int, person: int | None) -> None:
    """Note who works with a phone."""
    _set(store, device, person=person)


def hold_off(store: Store, source: str, now: datetime) -> timedelta:
    """How long the next code from this address has to wait, zero for none."""
    table = schema.THROTTLE
    query = sa.select(table.c.failures, table.c.last).where(table.c.source == source)
    with database.reading(store.engine) as connection:
        row = connection.execute(query).one_or_none()
    if row is None:
        return timedelta(0)
    last = min(datetime.fromisoformat(row.last), now)
    return max(last + access.wait(row.failures) - now, timedelta(0))


def failed(store: Store, source: str, now: datetime) -> None:
    """Count a wrong code."""
    table = schema.THROTTLE
    with store.alone(), database.writing(store.engine) as connection:
        _line_up(connection)
        known = connection.scalar(sa.select(table.c.failures).where(table.c.source == source))
        connection.execute(sa.delete(table).where(table.c.source == source))
        values = {"failures": (known or 0) + 1, "last": _stamp(now)}
        connection.execute(sa.insert(table).values(source=source, **values))
        newest = sa.select(table.c.source).order_by(table.c.last.desc()).limit(MOST_SOURCES)
        connection.execute(sa.delete(table).where(table.c.source.not_in(newest)))


def forgive(store: Store, source: str) -> None:
    """The right code was given: wrong ones are forgotten."""
    table = schema.THROTTLE
    with store.alone(), database.writing(store.engine) as connection:
        connection.execute(sa.delete(table).where(table.c.source == source))


def _set(store: Store, device: int, **values: object) -> None:
    change = sa.update(schema.DEVICE).where(schema.DEVICE.c.id == device)
    with store.alone(), database.writing(store.engine) as connection:
        connection.execute(change.values(**values))


def _line_up(connection: Connection) -> None:
    """Two programs that count at once do it one after the other."""
    connection.execute(sa.select(schema.SHOP.c.id).with_for_update())


def _columns() -> list[sa.Column[object]]:
    return [schema.DEVICE.c[field] for field in Kept.__slots__]


def _kept(row: Any) -> Kept:
    return Kept(**row._mapping)


def _stamp(moment: datetime) -> str:
    return moment.isoformat(timespec="seconds")


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
