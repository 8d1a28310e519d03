"""Stores for tests, and the one byte that is changed in them."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa

from cyclewright.record.events import Draft, Event
from cyclewright.store import schema
from cyclewright.store.store import Store

VISIT = Draft("visit-opened", "visit", {"visit": "build", "name": "Invented"})


def bike(store: Store) -> int:
    """A new bike with its first event."""
    return store.new_stream(lambda _: [Draft("visit-opened", "visit", dict(VISIT.data))])[0].stream


def reading(value: float = 1.0, kind: str = "fork-sag", **more: object) -> Draft:
    """A reading as a draft."""
    data = {"kind": kind, "value": value, "unit": "m"}
    return Draft("reading-taken", f"reading:{kind}", data, **more)  # type: ignore[arg-type]


def large() -> Draft:
    """A reading with ten kilobytes of words beside it."""
    data = {"kind": "fork-sag", "value": 1.0, "unit": "m", "said": "k" * 10_000}
    return Draft("reading-taken", "reading:fork-sag", data)


def add(store: Store, stream: int, count: int) -> Sequence[Event]:
    """So many readings, each in a transaction of its own."""
    return [store.append(stream, [reading(float(i))])[0] for i in range(count)]


def change_byte(store: Store, stream: int, number: int, place: int = -3) -> None:
    """One byte of one event's body changed behind the program's back."""
    event = schema.EVENT
    key = (event.c.stream == stream, event.c.number == number)
    with store.engine.begin() as connection:
        body = bytearray(connection.scalar(sa.select(event.c.body).where(*key)))
        body[place] ^= 1
        connection.execute(sa.update(event).where(*key).values(body=bytes(body)))
