"""Guesses at a PIN counted, and shifts that are open: kept beside the record, not part of it."""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta

import sqlalchemy as sa

from cyclewright.store import database, schema
from cyclewright.store.store import Store

FREE = 5
"""Wrong PINs in a row before the next one has to wait."""
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=15)


def wait(failures: int) -> timedelta:
    """How long after so many wrong PINs in a row the next one is looked at."""
    if failures < FREE:
        return timedelta(0)
    doubled: int = 2 ** min(failures - FREE, 10)
    return min(FIRST_WAIT * doubled, LONGEST_WAIT)


def reserve(store: Store, person: int, now: datetime) -> timedelta:
    """Count a try before it is looked at; gives how long it has to wait, zero for none.

    Counted first and forgotten on success, so that many tries at once gain nothing.
    """
    table = schema.ATTEMPT
    query = sa.select(table.c.failures, table.c.last).where(table.c.person == person)
    with store.alone(), database.writing(store.engine) as connection:
        connection.execute(sa.select(schema.SHOP.c.id).with_for_update())
        row = connection.execute(query).one_or_none()
        if row is not None:
            last = min(datetime.fromisoformat(row.last), now)
            left = last + wait(row.failures) - now
            if left > timedelta(0):
                return left
        failures = 1 if row is None else row.failures + 1
        values = {"failures": failures, "last": now.isoformat()}
        connection.execute(sa.delete(table).where(table.c.person == person))
        connection.execute(sa.insert(table).values(person=person, **values))
    return timedelta(0)


def forgive(store: Store, person: int) -> None:
    """The right PIN was given, or the owner set a new one: wrong ones are forgotten."""
    table = schema.ATTEMPT
    with store.alone(), database.writing(store.engine) as connection:
        connection.execute(sa.delete(table).where(table.c.person == person))


def open_shift(
    store: Store, token: str, person: int, pin_number: int, now: datetime, until: datetime
) -> None:
    """Keep the hash of a shift's token; those that ended are swept out."""
    table = schema.SHIFT
    row = {"token": _hash(token), "person": person, "pin": pin_number, "until": until.isoformat()}
    with store.alone(), database.writing(store.engine) as connection:
        connection.execute(sa.delete(table).where(table.c.until <= now.isoformat()))
        connection.execute(sa.insert(table).values(**row))


def shift(store: Store, token: str, now: datetime) -> tuple[int, int] | None:
    """Whose shift the token is, and the number of the PIN it was opened with; None when over."""
    table = schema.SHIFT
    query = sa.select(table.c.person, table.c.pin, table.c.until).where(
        table.c.token == _hash(token)
    )
    with database.reading(store.engine) as connection:
        row = connection.execute(query).one_or_none()
    if row is None or datetime.fromisoformat(row.until) <= now:
        return None
    return int(row.person), int(row.pin)


def close_shift(store: Store, token: str) -> None:
    """The shift is over."""
    table = schema.SHIFT
    with store.alone(), database.writing(store.engine) as connection:
        connection.execute(sa.delete(table).where(table.c.token == _hash(token)))


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
