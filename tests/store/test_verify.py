"""Verify: any byte changed, any event taken out or cut off, and what a local record cannot say."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa

from cyclewright.errors import Integrity
from cyclewright.record.events import Draft, signed_message
from cyclewright.store import schema, signing
from cyclewright.store.store import Head, Store
from cyclewright.store.verifying import verify
from postgres import Place
from store.shelves import add, bike, change_byte, reading


def _filled(store: Store) -> Store:
    for _ in range(2):
        add(store, bike(store), 4)
    return store


@pytest.fixture
def store(place: Place) -> Store:
    return _filled(place.open())


@pytest.fixture
def file(tmp_path: Path) -> Iterator[Store]:
    """The same in SQLite, for tests of its file."""
    opened = _filled(Store.open(tmp_path / "data"))
    yield opened
    opened.close()


def _sql(store: Store, text: str, **values: object) -> None:
    with store.engine.begin() as connection:
        assert connection.execute(sa.text(text), values).rowcount > 0


def _codes(store: Store, stream: int | None = None) -> list[tuple[str, int, int]]:
    return [(f.code, f.stream, f.number) for f in verify(store, stream).faults]


def test_an_untouched_record_is_whole(store: Store) -> None:
    report = verify(store)
    assert (report.faults, report.events) == ([], 10)


def test_a_check_says_how_far_it_is_and_can_be_ended(store: Store) -> None:
    told: list[tuple[int, int]] = []
    verify(store, tell=lambda done, total: told.append((done, total)))
    assert [total for _, total in told] == [10] * len(told)
    assert len(told) >= 2
    assert told == sorted(told)
    assert told[-1] == (10, 10)

    def enough(done: int, total: int) -> None:
        raise EOFError("enough")

    with pytest.raises(EOFError, match="enough"):
        verify(store, tell=enough)


@pytest.mark.parametrize("byte", [0, 10, 40, -1])
def test_one_byte_names_the_event(store: Store, byte: int) -> None:
    change_byte(store, 2, 3, byte)
    faults = verify(store).faults
    assert [(f.code, f.stream, f.number) for f in faults] == [("event-changed", 2, 3)]
    assert "bike 2 event 3" in faults[0].what
    assert not verify(store, 1).faults
    change_byte(store, 2, 3, byte)
    assert not verify(store).faults


def test_every_byte_of_a_body_counts(store: Store) -> None:
    with store.engine.connect() as connection:
        query = "SELECT length(body) FROM event WHERE stream = 1 AND number = 2"
        length = connection.exec_driver_sql(query).scalar()
    for byte in range(0, length, 7):
        change_byte(store, 1, 2, byte)
        assert ("event-changed", 1, 2) in _codes(store)
        change_byte(store, 1, 2, byte)
    assert _codes(store) == []


def test_a_flipped_bit_anywhere_is_told_or_harmless(file: Store, tmp_path: Path) -> None:
    """No bit of the file makes verify fail otherwise than with a clear sentence."""
    bodies = _bodies(file)
    file.close()
    path = file.folder / "record.sqlite3"
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")
    connection.close()
    whole, chance, told = path.read_bytes(), random.Random(7), 0
    for turn in range(150):
        broken = bytearray(whole)
        broken[chance.randrange(len(broken))] ^= 1 << chance.randrange(8)
        folder = tmp_path / f"turn{turn}"
        folder.mkdir()
        (folder / "record.sqlite3").write_bytes(broken)
        try:
            opened = Store.open(folder)
        except Integrity:
            told += 1
            continue
        try:
            faults = verify(opened).faults
            told += bool(faults)
            assert faults or _bodies(opened) == bodies
        except Integrity:
            told += 1
        finally:
            opened.close()
    assert told > 5


def _bodies(store: Store) -> list[bytes]:
    with sqlite3.connect(store.folder / "record.sqlite3") as connection:
        found = connection.execute("SELECT body FROM event ORDER BY sequence").fetchall()
    connection.close()
    return [row[0] for row in found]


def test_a_rewritten_hash_breaks_what_follows(store: Store) -> None:
    """Someone who changes a body and makes its hash anew is caught by the next event."""
    _sql(store, "UPDATE event SET hash = :to WHERE stream = 1 AND number = 2", to=b"1" * 32)
    assert {("event-changed", 1, 2), ("event-changed", 1, 3), ("chain-broken", 1, 2)} <= set(
        _codes(store)
    )


def test_an_event_taken_out_is_missed(store: Store) -> None:
    _sql(store, "DELETE FROM event WHERE stream = 1 AND number = 3")
    assert ("event-removed", 1, 4) in _codes(store)


def test_a_tail_cut_off_is_missed(store: Store) -> None:
    _sql(store, "DELETE FROM event WHERE stream = 2 AND number = 5")
    assert {code for code, _, _ in _codes(store)} == {"chain-cut", "head-wrong"}


def test_two_events_swapped_are_missed(store: Store) -> None:
    _sql(store, "UPDATE event SET number = 99 WHERE stream = 1 AND number = 2")
    _sql(store, "UPDATE event SET number = 2 WHERE stream = 1 AND number = 3")
    _sql(store, "UPDATE event SET number = 3 WHERE stream = 1 AND number = 99")
    assert ("event-changed", 1, 2) in _codes(store)


def test_an_index_that_lies_is_found(store: Store) -> None:
    _sql(store, "UPDATE event SET subject = 'step:x' WHERE stream = 1 AND number = 2")
    assert _codes(store) == [("event-changed", 1, 2)]


def test_attachments_are_held_against_their_events(file: Store) -> None:
    address = file.attach(b"photo", "image/jpeg")
    file.append(1, [Draft("reading-taken", "r", {"photo": {"attachment": address}})])
    assert verify(file).attachments == 1
    place = file.folder / "attachments" / address[:2] / address
    content = place.read_bytes()
    place.write_bytes(content + b"!")
    assert [f.what for f in verify(file).faults] == [
        f"attachment {address[:12]} was changed of bike 1 event 6 (reading-taken, r)"
    ]
    place.unlink()
    assert "is missing" in verify(file).faults[0].what


def _sign(store: Store, stream: int, folder: Path) -> None:
    name = store.name()

    def make(head: Head) -> Draft:
        message = signed_message(name, stream, head.number, head.hash)
        key, signature = signing.sign(folder, message)
        data = {"number": head.number, "key": key, "signature": signature}
        return Draft("head-signed", "release", data)

    store.append(stream, [reading(), make])


def test_a_signature_covers_the_head(store: Store) -> None:
    _sign(store, 1, store.folder / "keys")
    report = verify(store)
    assert (report.faults, report.notes, report.signatures) == ([], [], 1)
    assert (store.folder / "keys" / "release.key").stat().st_mode & 0o077 == 0


def test_a_record_rewritten_whole_does_not_fit_the_signature(store: Store) -> None:
    """With every hash made anew the chain fits again; the signature does not."""
    from cyclewright.record import events as record

    _sign(store, 1, store.folder / "keys")
    event, stream, shop = schema.EVENT, schema.STREAM, schema.SHOP
    with store.engine.begin() as connection:
        columns = (event.c.sequence, event.c.stream, event.c.number, event.c.body)
        rows = connection.execute(sa.select(*columns).order_by(event.c.sequence)).all()
        heads: dict[int, bytes] = {}
        chain = b"\0" * 32
        for sequence, name, number, kept in rows:
            body = bytes(kept)
            if (name, number) == (1, 3):
                body = body.replace(b'"value":1.0', b'"value":9.0')
            digest = record.link(heads.get(name, b"\0" * 32), name, number, body)
            chain, heads[name] = record.chain(chain, sequence, digest), digest
            connection.execute(
                sa.update(event)
                .where(event.c.sequence == sequence)
                .values(body=body, hash=digest, chain=chain)
            )
        for name, digest in heads.items():
            connection.execute(sa.update(stream).where(stream.c.stream == name).values(hash=digest))
        connection.execute(sa.update(shop).values(chain=chain))
    assert _codes(store) == [("signature", 1, 7)]


def test_a_strange_key_is_told(store: Store, tmp_path: Path) -> None:
    _sign(store, 1, tmp_path / "elsewhere")
    report = verify(store)
    assert not report.faults
    assert "is not this machine's" in report.notes[0]
