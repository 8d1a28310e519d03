"""The store: appends events and reads them back. It knows bytes and order, not bicycles."""

from __future__ import annotations

import os
import threading
import uuid as uuids
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from cyclewright.errors import Conflict, InputError, Integrity, Problem
from cyclewright.record import events as record
from cyclewright.record.events import Draft, Event
from cyclewright.store import database, schema, tombstones
from cyclewright.store.attachments import Attachment, Folder, Rows, Shelf, pack, unpack


class StaleError(Exception):
    """The stream has moved on since the decision was taken: decide again."""


@dataclass(frozen=True, slots=True)
class Head:
    """How far a stream has come: its last number and that event's hash."""

    number: int
    hash: bytes


Maker = Callable[[Head], Draft]
"""Makes a draft once the head before it is known: a signature over the event just placed."""


class Store:
    """One shop's record: a database, a shelf of attachments, and a folder for the key."""

    def __init__(self, folder: Path, engine: Engine, shelf: Shelf) -> None:
        self.folder = folder
        self.engine = engine
        self.shelf = shelf
        self._lock = threading.Lock()

    @classmethod
    def open(cls, folder: Path, url: str | None = None, files: str | None = None) -> Store:
        """The store of a data folder, made when it is not there; upgraded when it is old."""
        try:
            database.make_folder(folder)
        except OSError as error:
            raise Integrity(
                Problem(
                    "data-folder",
                    str(folder),
                    f"it cannot be made ({error.strerror}): name another with --data",
                )
            ) from error
        engine = database.engine_for(folder, url)
        if url:
            shelf: Shelf = Folder(Path(files)) if files else Rows(engine)
        else:
            shelf = Folder(Path(files) if files else folder / "attachments")
        store = cls(folder, engine, shelf)
        try:
            store._ready()
        except BaseException:
            engine.dispose()
            raise
        return store

    def alone(self) -> threading.Lock:
        """The lock under which this program writes."""
        return self._lock

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def append(
        self, stream: int, drafts: Sequence[Draft | Maker], *, after: int | None = None
    ) -> tuple[Event, ...]:
        """All drafts as events in one transaction, on disk when this returns.

        `after` is the number the decision rests on: `StaleError` when the stream has moved on. A
        draft whose UUID is already recorded is that same event. A draft whose subject changed
        since its author's `seen` is a Conflict, and then nothing is recorded.
        """
        with self._lock, database.writing(self.engine) as connection:
            self._check_version(connection)
            shop = self.locked(connection)
            head = self.head_of(connection, stream)
            if after is not None and head.number != after:
                raise StaleError
            placed: list[Event] = []
            for item in drafts:
                draft = item(head) if callable(item) else item
                if (known := self._known(connection, stream, draft)) is not None:
                    placed.append(known)
                    continue
                event, shop = self.place(connection, stream, draft, head, shop)
                head = Head(event.number, event.hash)
                placed.append(event)
            self.advance(connection, stream, head, shop)
            return tuple(placed)

    def events(self, stream: int, after: Head | None = None) -> tuple[Event, ...]:
        """The events of a stream behind `after`, each held against the hash it was written with."""
        after = after or Head(0, record.GENESIS)
        table = schema.EVENT
        query = (
            sa.select(table.c.number, table.c.body, table.c.hash)
            .where(table.c.stream == stream, table.c.number > after.number)
            .order_by(table.c.number)
        )
        with database.reading(self.engine) as connection:
            rows = connection.execute(query).all()
        previous, found = after.hash, []
        for number, body, digest in rows:
            if record.link(previous, stream, number, bytes(body)) != bytes(digest):
                raise Integrity(
                    Problem(
                        "event-changed",
                        f"bike {stream} event {number}",
                        "it is not as it was written: run `cyclewright verify` and restore a "
                        "backup before going on",
                    )
                )
            previous = bytes(digest)
            found.append(record.decode(stream, number, bytes(body), previous))
        return tuple(found)

    def head(self, stream: int) -> Head:
        """How far a stream has come; number 0 when there is none."""
        with database.reading(self.engine) as connection:
            return self.head_of(connection, stream)

    def find(self, uuid: str) -> Event | None:
        """The event that carries a UUID."""
        with database.reading(self.engine) as connection:
            return self._by_uuid(connection, uuid)

    def new_stream(self, drafts: Callable[[int], Sequence[Draft]]) -> tuple[Event, ...]:
        """A new bike's stream with its first events; two at once get different numbers."""
        while True:
            with database.reading(self.engine) as connection:
                last = connection.scalar(sa.select(sa.func.max(schema.STREAM.c.stream))) or 0
            try:
                return self.append(last + 1, drafts(last + 1), after=0)
            except StaleError:
                continue

    def name(self) -> str:
        """The random name that tells this shop's record from every other."""
        with database.reading(self.engine) as connection:
            return str(connection.scalar(sa.select(schema.SHOP.c.name)))

    def attach(self, payload: bytes, media: str, *, personal: bool = True) -> str:
        """Keep an attachment and give its address; it is on disk when this returns."""
        address, content = pack(payload, media, personal)
        self.shelf.put(address, content)
        return address

    def attachment(self, address: str) -> Attachment:
        """The attachment of an address, held against it."""
        return unpack(address, self.shelf.get(address))

    def erase(self, addresses: Iterable[str]) -> None:
        """Let attachments go for good; the event that says so is on disk already."""
        listed = list(addresses)
        tombstones.add(self.folder, listed)
        for address in listed:
            self.shelf.drop(address)

    # the list of bikes

    def heads(self) -> dict[int, tuple[int, int]]:
        """Every bike's last number, and the number its summary was made at."""
        stream, summary = schema.STREAM, schema.SUMMARY
        query = (
            sa.select(stream.c.stream, stream.c.number, summary.c.number)
            .outerjoin(summary, summary.c.stream == stream.c.stream)
            .where(stream.c.stream != record.SHOP)
        )
        with database.reading(self.engine) as connection:
            return {row[0]: (row[1], row[2] or 0) for row in connection.execute(query)}

    def behind(self, most: int) -> list[int]:
        """Bikes that have moved on since their summary was made, at most so many."""
        stream, summary = schema.STREAM, schema.SUMMARY
        query = (
            sa.select(stream.c.stream)
            .outerjoin(summary, summary.c.stream == stream.c.stream)
            .where(
                stream.c.stream != record.SHOP,
                sa.or_(summary.c.number.is_(None), summary.c.number != stream.c.number),
            )
            .limit(most)
        )
        with database.reading(self.engine) as connection:
            return list(connection.scalars(query))

    def summarise(self, rows: Sequence[dict[str, Any]]) -> None:
        """Write summaries (stream, number, updated, content) again; two benches may at once.

        Always in one order, so that neither waits for a row of the other's.
        """
        with self._lock, database.writing(self.engine) as connection:
            insert = database.insert_for(connection)(schema.SUMMARY)
            new = {name: insert.excluded[name] for name in ("number", "updated", "content")}
            connection.execute(
                insert.on_conflict_do_update(index_elements=["stream"], set_=new),
                sorted(rows, key=lambda row: row["stream"]),
            )

    def summary_order(self) -> list[tuple[int, int]]:
        """Every summary's bike and the number it was made at, the newest first."""
        table = schema.SUMMARY
        query = sa.select(table.c.stream, table.c.number)
        query = query.order_by(table.c.updated.desc(), table.c.stream.desc())
        with database.reading(self.engine) as connection:
            return [(row[0], row[1]) for row in connection.execute(query)]

    def summaries_of(self, streams: Sequence[int]) -> dict[int, str]:
        """Contents of the summaries of these bikes."""
        table, found = schema.SUMMARY, dict[int, str]()
        query = sa.select(table.c.stream, table.c.content)
        with database.reading(self.engine) as connection:
            for start in range(0, len(streams), 500):
                some = streams[start : start + 500]
                rows = connection.execute(query.where(table.c.stream.in_(some)))
                found |= {row[0]: row[1] for row in rows}
        return found

    def summaries(self, limit: int, offset: int) -> list[str]:
        """Contents of the summaries, the newest first."""
        table = schema.SUMMARY
        query = sa.select(table.c.content).order_by(table.c.updated.desc(), table.c.stream.desc())
        with database.reading(self.engine) as connection:
            return list(connection.scalars(query.limit(limit).offset(offset)))

    # inside

    def _ready(self) -> None:
        with database.reading(self.engine) as connection:
            found = database.version(connection)
        if found == schema.VERSION:
            return
        if found is None:
            self._make()
            return
        from cyclewright.store import migrate

        migrate.upgrade(self, found)

    def _make(self) -> None:
        """An empty database made whole in one transaction; the first of two makers wins."""
        with self._lock, database.writing(self.engine) as connection:
            if connection.dialect.name != "sqlite":
                connection.exec_driver_sql("SELECT pg_advisory_xact_lock(2047)")
            if database.version(connection) is not None:
                return
            if sa.inspect(connection).get_table_names():
                raise Integrity(
                    Problem("not-a-record", "record", "this database is used by something else")
                )
            schema.META.create_all(connection)
            connection.execute(sa.insert(schema.VERSIONS).values(version_num=schema.VERSION))
            connection.execute(
                sa.insert(schema.SHOP).values(
                    id=1, name=str(uuids.uuid4()), sequence=0, chain=record.GENESIS
                )
            )
        database.sync_folder(self.folder)

    def _check_version(self, connection: Connection) -> None:
        """Somebody may have upgraded the record while this program had it open."""
        if connection.scalar(sa.select(schema.VERSIONS.c.version_num)) != schema.VERSION:
            raise Integrity(
                Problem(
                    "record-upgraded",
                    "record",
                    "a newer Cyclewright has upgraded it: close this one and start the new one",
                )
            )

    def locked(self, connection: Connection) -> tuple[int, bytes]:
        """The shop's sequence and chain, held until the transaction ends."""
        query = sa.select(schema.SHOP.c.sequence, schema.SHOP.c.chain).with_for_update()
        sequence, chain = connection.execute(query).one()
        return sequence, bytes(chain)

    def head_of(self, connection: Connection, stream: int) -> Head:
        """How far a stream has come, as this transaction sees it."""
        table = schema.STREAM
        query = sa.select(table.c.number, table.c.hash).where(table.c.stream == stream)
        row = connection.execute(query).one_or_none()
        return Head(0, record.GENESIS) if row is None else Head(row[0], bytes(row[1]))

    def _by_uuid(self, connection: Connection, uuid: str) -> Event | None:
        table = schema.EVENT
        query = sa.select(table.c.stream, table.c.number, table.c.body, table.c.hash)
        row = connection.execute(query.where(table.c.uuid == uuid)).one_or_none()
        return None if row is None else record.decode(row[0], row[1], bytes(row[2]), bytes(row[3]))

    def _known(self, connection: Connection, stream: int, draft: Draft) -> Event | None:
        """The event this draft already is; the same UUID for something else is refused."""
        event = self._by_uuid(connection, draft.uuid)
        if event is None:
            return None
        if (event.stream, event.kind, event.subject) != (stream, draft.kind, draft.subject):
            raise InputError(
                Problem("uuid-used", "uuid", "give every new entry a UUID of its own", draft.uuid)
            )
        return event

    def place(
        self,
        connection: Connection,
        stream: int,
        draft: Draft,
        head: Head,
        shop: tuple[int, bytes],
    ) -> tuple[Event, tuple[int, bytes]]:
        """One draft as the next event of a stream, and the shop's sequence and chain behind it."""
        record.check(draft)
        seen = head.number if draft.seen is None else draft.seen
        self._check_seen(connection, stream, draft, seen, head)
        number, sequence = head.number + 1, shop[0] + 1
        now = datetime.now(UTC).isoformat(timespec="milliseconds")
        body = record.encode(draft, seen, now, now < self._last_time(connection, shop[0]))
        digest = record.link(head.hash, stream, number, body)
        chain = record.chain(shop[1], sequence, digest)
        connection.execute(
            sa.insert(schema.EVENT).values(
                sequence=sequence,
                stream=stream,
                number=number,
                uuid=draft.uuid,
                subject=draft.subject,
                body=body,
                hash=digest,
                chain=chain,
            )
        )
        return record.decode(stream, number, body, digest), (sequence, chain)

    def _check_seen(
        self, connection: Connection, stream: int, draft: Draft, seen: int, head: Head
    ) -> None:
        if not 0 <= seen <= head.number:
            raise InputError(
                Problem("seen", "seen", "give the number of an event of this bike", str(seen))
            )
        table = schema.EVENT
        changed = connection.scalar(
            sa.select(sa.func.max(table.c.number)).where(
                table.c.stream == stream,
                table.c.subject == draft.subject,
                table.c.number > seen,
                table.c.number <= head.number,
            )
        )
        if changed is not None:
            raise Conflict(
                Problem(
                    "conflict",
                    draft.subject,
                    f"it changed in event {changed} since you last saw it: look, then record again",
                    value=f"seen at event {seen}",
                )
            )

    def _last_time(self, connection: Connection, sequence: int) -> str:
        """Server time of the newest event of the shop, to notice a clock set back."""
        table = schema.EVENT
        body = connection.scalar(sa.select(table.c.body).where(table.c.sequence == sequence))
        return "" if body is None else record.decode(0, sequence, bytes(body)).server_time

    def advance(
        self, connection: Connection, stream: int, head: Head, shop: tuple[int, bytes]
    ) -> None:
        """Note how far the stream and the shop have come."""
        values = {"number": head.number, "hash": head.hash}
        done = connection.execute(
            sa.update(schema.STREAM).where(schema.STREAM.c.stream == stream).values(**values)
        )
        if done.rowcount == 0:
            connection.execute(sa.insert(schema.STREAM).values(stream=stream, **values))
        connection.execute(sa.update(schema.SHOP).values(sequence=shop[0], chain=shop[1]))


def data_folder(named: Path | str | None) -> Path:
    """The data folder: as named, else `CYCLEWRIGHT_DATA`, else the user's own."""
    if named is not None and str(named):
        return Path(named).expanduser().absolute()
    if chosen := os.environ.get("CYCLEWRIGHT_DATA"):
        return Path(chosen).expanduser().absolute()
    import platformdirs

    return Path(platformdirs.user_data_dir("cyclewright", appauthor=False))
