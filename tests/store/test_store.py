"""Appending and reading back: order, resends, conflicts, benches side by side, full disks."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import textwrap
import threading
import uuid
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from cyclewright.errors import Conflict, InputError, Integrity
from cyclewright.record import events as record
from cyclewright.record.events import Draft
from cyclewright.store import store as stores
from cyclewright.store.store import Head, StaleError, Store, data_folder
from modes import bound_by_modes
from postgres import Place
from store.shelves import add, bike, change_byte, reading


@pytest.fixture
def store(place: Place) -> Store:
    return place.open()


def test_numbers_count_within_a_bike(store: Store) -> None:
    first, second = bike(store), bike(store)
    add(store, first, 3)
    add(store, second, 2)
    assert (first, second) == (1, 2)
    assert [event.number for event in store.events(first)] == [1, 2, 3, 4]
    assert [event.number for event in store.events(second)] == [1, 2, 3]
    assert store.head(first).number == 4
    assert store.heads() == {1: (4, 0), 2: (3, 0)}


def test_events_after_a_head(store: Store) -> None:
    stream = bike(store)
    placed = add(store, stream, 3)
    head = Head(placed[0].number, placed[0].hash)
    assert list(store.events(stream, head)) == list(placed[1:])


def test_each_event_hangs_on_the_one_before(store: Store) -> None:
    """Exact identity: the hashes made again from the rows alone."""
    stream = bike(store)
    add(store, stream, 3)
    with store.engine.connect() as connection:
        query = "SELECT number, body, hash FROM event ORDER BY number"
        rows = connection.exec_driver_sql(query).all()
    previous = b"\0" * 32
    for number, body, digest in rows:
        assert record.link(previous, stream, number, bytes(body)) == bytes(digest)
        previous = bytes(digest)


def test_a_resend_is_the_same_event(store: Store) -> None:
    stream = bike(store)
    draft = reading(2.0)
    first = store.append(stream, [draft])
    assert store.append(stream, [draft]) == first
    assert store.head(stream).number == 2
    assert store.find(draft.uuid) == first[0]


def test_a_uuid_is_not_used_for_something_else(store: Store) -> None:
    stream, name = bike(store), str(uuid.uuid4())
    store.append(stream, [reading(uuid=name)])
    with pytest.raises(InputError, match="give every new entry a UUID of its own"):
        store.append(stream, [reading(kind="shock-sag", uuid=name)])
    with pytest.raises(InputError, match="give every new entry a UUID of its own"):
        store.append(bike(store), [reading(uuid=name)])


def test_it_is_a_conflict_only_when_that_subject_changed(store: Store) -> None:
    stream = bike(store)
    store.append(stream, [reading(kind="shock-sag")])
    store.append(stream, [reading(kind="fork-sag", seen=1)])
    with pytest.raises(Conflict, match=r"reading:shock-sag .* changed in event 2"):
        store.append(stream, [reading(kind="shock-sag", seen=1)])
    store.append(stream, [reading(kind="shock-sag", seen=2)])
    assert store.head(stream).number == 4


def test_a_conflict_records_nothing_of_its_batch(store: Store) -> None:
    stream = bike(store)
    store.append(stream, [reading()])
    with pytest.raises(Conflict, match="look, then record again"):
        store.append(stream, [reading(kind="other"), reading(seen=1)])
    assert store.head(stream).number == 2


@pytest.mark.parametrize("subject", ["", "x" * 201, "line\nbreak", "nul\0"])
def test_a_subject_that_one_database_could_not_keep_is_refused_by_both(
    store: Store, subject: str
) -> None:
    stream = bike(store)
    with pytest.raises(InputError, match="name it shortly"):
        store.append(stream, [Draft("reading-taken", subject, {})])
    assert store.head(stream).number == 1


@pytest.mark.parametrize("seen", [-1, 99])
def test_seen_is_a_number_of_this_bike(store: Store, seen: int) -> None:
    with pytest.raises(InputError, match="give the number of an event of this bike"):
        store.append(bike(store), [reading(seen=seen)])


def test_a_decision_on_an_old_state_is_stale(store: Store) -> None:
    stream = bike(store)
    store.append(stream, [reading()], after=1)
    with pytest.raises(StaleError):
        store.append(stream, [reading()], after=1)


def test_a_clock_set_back_is_marked(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    stream = bike(store)
    real = stores.datetime

    class Back:
        @staticmethod
        def now(zone: object) -> object:
            return real(2001, 1, 1, tzinfo=stores.UTC)

    monkeypatch.setattr(stores, "datetime", Back)
    event = store.append(stream, [reading(device_time="2031-01-01T00:00:00Z")])[0]
    monkeypatch.undo()
    assert event.clock_set_back
    assert event.device_time == "2031-01-01T00:00:00Z"
    assert not store.append(stream, [reading()])[0].clock_set_back
    assert [e.number for e in store.events(stream)] == [1, 2, 3]


def test_a_changed_event_is_not_read(store: Store) -> None:
    stream = bike(store)
    add(store, stream, 3)
    change_byte(store, stream, 3)
    with pytest.raises(Integrity, match="bike 1 event 3: it is not as it was written"):
        store.events(stream)


def test_two_benches_lose_nothing_and_share_no_number(place: Place) -> None:
    with_stream = place.open()
    stream = bike(with_stream)
    others = [place.open() for _ in range(3)]
    threads = [threading.Thread(target=add, args=(other, stream, 15)) for other in others]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    numbers = [event.number for event in with_stream.events(stream)]
    assert numbers == list(range(1, 47))


def test_two_new_bikes_at_once_get_two_numbers(place: Place) -> None:
    shops = [place.open() for _ in range(3)]
    found: list[int] = []
    threads = [threading.Thread(target=lambda s=shop: found.append(bike(s))) for shop in shops]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(found) == [1, 2, 3]


def _at_once(work: list[Callable[[], object]]) -> None:
    """All of it at the same moment; the first error comes out."""
    with ThreadPoolExecutor(len(work)) as pool:
        for done in [pool.submit(item) for item in work]:
            done.result()


def test_two_benches_keep_the_same_attachment_at_once(place: Place) -> None:
    stores = [place.open() for _ in range(4)]
    _at_once([lambda s=s: s.attach(b"drawing" * 999, "image/svg", personal=False) for s in stores])
    address = stores[0].attach(b"drawing" * 999, "image/svg", personal=False)
    assert stores[1].attachment(address).payload == b"drawing" * 999


def test_two_benches_make_the_same_line_of_the_list_at_once(place: Place) -> None:
    stores = [place.open() for _ in range(4)]
    bikes = [bike(stores[0]) for _ in range(12)]
    assert stores[0].behind(99) == bikes
    rows = [{"stream": b, "number": 1, "updated": "2031", "content": f"{b}"} for b in bikes]
    both = zip(stores, (rows, rows[::-1]) * 2, strict=True)
    _at_once([lambda s=s, r=r: s.summarise(r) for s, r in both])
    assert stores[1].behind(99) == []
    assert stores[2].summaries_of(bikes) == {b: f"{b}" for b in bikes}
    add(stores[0], 3, 1)
    assert stores[3].behind(99) == [3]


def test_one_append_asks_the_database_as_little_however_long_the_record(store: Store) -> None:
    """What makes it quick; how quick it is, `benchmarks/append.py` says."""
    stream, asked = bike(store), list[str]()
    engine = store.engine
    sa.event.listen(engine, "before_cursor_execute", lambda *a: asked.append(a[2].split()[0]))
    sa.event.listen(engine, "commit", lambda _: asked.append("commit"))
    each: list[Counter[str]] = []
    for _ in range(60):
        asked.clear()
        store.append(stream, [reading()])
        each.append(Counter(asked))
    assert each[0] == each[-1]
    assert (each[0]["commit"], each[0]["INSERT"], each[0]["UPDATE"]) == (1, 1, 2)
    assert each[0]["SELECT"] <= 6
    assert each[0].total() - each[0]["BEGIN"] <= 10


def test_what_one_append_looks_up_is_found_by_an_index(tmp_path: Path) -> None:
    """No lookup reads the record from its beginning, however long it is."""
    store = Store.open(tmp_path)
    stream, asked = bike(store), list[tuple[str, Any]]()
    sa.event.listen(store.engine, "before_cursor_execute", lambda *a: asked.append((a[2], a[3])))
    store.append(stream, [reading()])
    looked = [one for one in asked if one[0].startswith("SELECT")]
    assert len(looked) >= 3
    with store.engine.connect() as connection:
        for text, values in looked:
            plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}", values).all()
            steps = [row[3] for row in plan if row[3].startswith("SCAN")]
            assert [step for step in steps if "event" in step.split()] == [], text
    store.close()


CHILD = """
import sys
from pathlib import Path
from cyclewright.store.store import Store
sys.path.insert(0, sys.argv[2])
from store.shelves import reading
store = Store.open(Path(sys.argv[1]))
for i in range(100000):
    address = store.attach(b"photo %d" % i, "text/plain")
    event = store.append(1, [reading(float(i), kind=f"k{i}")])[0]
    print(event.number, address, flush=True)
"""


@pytest.mark.parametrize("acknowledged", [1, 7, 23])
def test_kill_9_loses_no_acknowledged_event(tmp_path: Path, acknowledged: int) -> None:
    store = Store.open(tmp_path)
    stream = bike(store)
    tests = Path(__file__).parent.parent
    child = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(CHILD), str(tmp_path), str(tests)],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert child.stdout is not None
    lines = [child.stdout.readline() for _ in range(acknowledged)]
    child.kill()
    lines += child.stdout.read().splitlines()
    child.wait()
    child.stdout.close()
    told = [line.split() for line in lines if len(line.split()) == 2 and len(line.strip()) > 64]
    events = {event.number for event in store.events(stream)}
    assert len(told) >= acknowledged
    for number, address in told:
        assert int(number) in events
        assert store.attachment(address).payload.startswith(b"photo")
    store.append(stream, [reading()])
    store.close()


def test_a_full_disk_says_so_and_records_nothing(tmp_path: Path) -> None:
    code = """
    import resource, signal, sys
    from pathlib import Path
    sys.path.insert(0, sys.argv[2])
    from store.shelves import bike, large
    from cyclewright.errors import Integrity
    from cyclewright.store.store import Store
    store = Store.open(Path(sys.argv[1]))
    stream = bike(store)
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (400_000, 400_000))
    try:
        for i in range(1000):
            store.append(stream, [large()])
            kept = i + 2
    except Integrity as error:
        print(kept, error)
    """
    tests = Path(__file__).parent.parent
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), str(tmp_path), str(tests)],
        capture_output=True,
        text=True,
        check=True,
    )
    kept, said = done.stdout.split(" ", 1)
    assert "disk" in said
    store = Store.open(tmp_path)
    assert store.head(1).number == int(kept)
    assert len(store.events(1)) == int(kept)
    store.close()


def test_a_folder_that_cannot_be_written_says_so(tmp_path: Path) -> None:
    code = """
    import sys
    from pathlib import Path
    from cyclewright.errors import Integrity
    from cyclewright.store import store
    try:
        store.Store.open(Path(sys.argv[1]))
    except Integrity as error:
        print(error)
    """
    folder = tmp_path / "closed"
    folder.mkdir(mode=0o500)
    done = subprocess.run(
        [*bound_by_modes(), sys.executable, "-c", textwrap.dedent(code), str(folder / "data")],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "cannot be made" in done.stdout or "cannot be opened" in done.stdout


@pytest.mark.parametrize(
    "content", [b"not a database at all, but long enough to look", b"x" * 9000]
)
def test_a_file_that_is_no_record_says_so(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "record.sqlite3").write_bytes(content)
    with pytest.raises(Integrity, match="the record file is not one: restore a backup"):
        Store.open(tmp_path)


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "record.sqlite3") as connection:
        connection.execute("CREATE TABLE theirs (x)")
    connection.close()
    with pytest.raises(Integrity, match="used by something else"):
        Store.open(tmp_path)


@pytest.mark.parametrize("url", ["nonsense", "mysql://u@h/d", "://"])
def test_a_wrong_database_address_says_so(tmp_path: Path, url: str) -> None:
    with pytest.raises(InputError, match="give a PostgreSQL address"):
        Store.open(tmp_path, url)


def test_a_database_that_does_not_answer_says_so(tmp_path: Path) -> None:
    with pytest.raises(Integrity, match="does not answer"):
        Store.open(tmp_path, "postgresql://nobody@127.0.0.1:1/none?connect_timeout=2")


def test_where_the_data_lie(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CYCLEWRIGHT_DATA", str(tmp_path / "env"))
    assert data_folder(tmp_path / "named") == tmp_path / "named"
    assert data_folder(None) == tmp_path / "env"
    monkeypatch.delenv("CYCLEWRIGHT_DATA")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    assert data_folder(None) == tmp_path / "home" / "cyclewright"


def test_the_data_are_for_this_user_only(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "deep" / "data")
    store.attach(b"x", "text/plain")
    for path in (tmp_path / "deep").rglob("*"):
        if path.is_dir():
            assert path.stat().st_mode & 0o077 == 0, path
    store.close()
