"""Power loss at every write: what was acknowledged is there, and the record goes on.

How it is simulated, and what is not, stands in `power.py`. `FAULTS_TORN` makes more torn disks a
cut: `make faults` asks for many.
"""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from cyclewright.store import archive, backup, database, restore, schema, signing
from cyclewright.store.store import Store
from cyclewright.store.verifying import verify
from faults.acts import FIRST, Told, bike, one, written
from faults.power import TOLD, Disk, Note, build_library, cuts
from faults.power import record as run_recorded
from faults.tally import Tally

TORN = int(os.environ.get("FAULTS_TORN", "1"))
EVERY = max(1, int(os.environ.get("FAULTS_EVERY", "2")))
"""Of cuts with torn disks, every so many are tried."""


@pytest.fixture(scope="session")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The library that notes every write."""
    return build_library(tmp_path_factory.mktemp("library"))


@pytest.fixture
def quick() -> Iterator[Path]:
    """A folder in memory where there is one, so that looking at a thousand disks takes seconds."""
    memory = Path("/dev/shm")
    inside = memory if memory.is_dir() and os.access(memory, os.W_OK) else None
    with tempfile.TemporaryDirectory(prefix="cyclewright-faults-", dir=inside) as folder:
        yield Path(folder)


@dataclass(frozen=True, slots=True)
class Promises:
    """What had been told when the power went."""

    events: tuple[tuple[int, int, str, str], ...]
    """Stream, number, hash and the attachment's address or nothing."""
    erased: frozenset[str]
    done: bool

    @classmethod
    def read(cls, told: bytes) -> Promises:
        """Out of the lines that were told."""
        lines = [line.split(" ") for line in told.decode().splitlines()]
        return cls(
            tuple((int(w[1]), int(w[2]), w[3], w[4]) for w in lines if w[0] == "event"),
            frozenset(words[1] for words in lines if words[0] == "erased"),
            ["done"] in lines,
        )


def disks(
    disk: Disk, notes: list[Note], to: Path, tally: Tally
) -> Iterator[tuple[Path, Promises, bool]]:
    """Every disk to look at: its folder, what was promised, and whether to go on working on it."""
    for count, now in cuts(disk, notes):
        promises = Promises.read(bytes(now.told.content))
        torn = TORN if count % EVERY == 0 else 0
        for turn, how in enumerate(["issued", "synced", *["torn"] * torn]):
            folder = to / "disk"
            now.image(folder, how, random.Random(1000 * count + turn))
            tally.tried += 1
            yield folder, promises, (count + turn) % 5 == 0
            shutil.rmtree(folder)
    tally.acknowledged += len(promises.events)


def kept(store: Store, promises: Promises, tally: Tally) -> None:
    """All that was acknowledged is there, whole, and what was erased is not."""
    streams = {stream for stream, *_ in promises.events}
    found = {(e.stream, e.number): e.hash.hex() for s in streams for e in store.events(s)}
    gone = promises.erased
    for stream, number, digest, address in promises.events:
        tally.lost += found.get((stream, number)) != digest
        if address and address not in gone and store.shelf.get(address) is None:
            told = [e for e in store.events(1) if e.kind == "erased"]
            assert told, f"attachment {address} of event {number} is lost"
    assert all(store.shelf.get(address) is None for address in gone)
    assert verify(store).faults == []
    assert tally.lost == 0


def goes_on(store: Store, folder: Path) -> None:
    """A photo and an event more, and the record is still whole."""
    told = Told(folder / TOLD)
    one(store, bike(store, told), told, 7)
    assert verify(store).faults == []
    os.close(told.handle)


def test_a_days_work_loses_nothing_at_any_write(
    library: Path, tmp_path: Path, quick: Path, tally: Tally
) -> None:
    root = tmp_path / "root"
    root.mkdir()
    disk = Disk(root)
    notes = run_recorded(library, "work", root)
    assert {note.kind for note in notes} >= set("owsurlmt") - {"t"}
    for folder, promises, more in disks(disk, notes, quick, tally):
        with Store.open(folder / "data") as store:
            kept(store, promises, tally)
            signed = [e for s in store.heads() for e in store.events(s) if e.kind == "head-signed"]
            key = signing.own_public_key(folder / "data" / "keys")
            assert all(event.data["key"] == key for event in signed)
            if more:
                goes_on(store, folder)
    assert promises.done


def _first_version(folder: Path) -> None:
    """A record with the tables of the first version."""
    with Store.open(folder) as store:
        written(store, folder.parent / "before", 4)
    with sqlite3.connect(folder / database.FILE) as connection:
        for name in sorted(set(schema.META.tables) - FIRST):
            connection.execute(f"DROP TABLE {name}")
        connection.execute("UPDATE alembic_version SET version_num = '0001'")
        connection.commit()
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()


def _before(path: Path) -> Promises:
    return Promises.read((path / "before").read_bytes())


def test_an_upgrade_cut_short_anywhere_is_finished_by_the_next_start(
    library: Path, tmp_path: Path, quick: Path, tally: Tally
) -> None:
    root = tmp_path / "root"
    root.mkdir()
    _first_version(root / "data")
    before = _before(root)
    disk = Disk(root)
    notes = run_recorded(library, "migrate", root)
    assert any(note.kind == "r" for note in notes)
    for folder, _, more in disks(disk, notes, quick, tally):
        with Store.open(folder / "data") as store:
            kept(store, before, tally)
            if more:
                goes_on(store, folder)
    tally.acknowledged += len(before.events)


def _backed_up(root: Path) -> Promises:
    with Store.open(root / "data") as store:
        written(store, root / "before", 3)
        backup.write(store, root / "shop.zip")
    return _before(root)


def test_a_backup_cut_short_is_whole_or_not_there(
    library: Path, tmp_path: Path, quick: Path, tally: Tally
) -> None:
    root = tmp_path / "root"
    root.mkdir()
    before = _backed_up(root)
    (root / "shop.zip").unlink()
    disk = Disk(root)
    notes = run_recorded(library, "write", root)
    whole = archive.check(root / "shop.zip").hash
    for folder, promises, _ in disks(disk, notes, quick, tally):
        made = folder / "shop.zip"
        assert made.exists() or not promises.done
        if made.exists():
            assert archive.check(made).hash == whole
        with Store.open(folder / "data") as store:
            kept(store, before, tally)


def test_a_restore_cut_short_is_done_again(
    library: Path, tmp_path: Path, quick: Path, tally: Tally
) -> None:
    root = tmp_path / "root"
    root.mkdir()
    before = _backed_up(root)
    shutil.rmtree(root / "data")
    disk = Disk(root)
    notes = run_recorded(library, "read", root)
    for folder, promises, more in disks(disk, notes, quick, tally):
        with Store.open(folder / "data") as store:
            if promises.done or store.heads():
                kept(store, before, tally)
            elif more:
                restore.read(store, folder / "shop.zip")
                kept(store, before, tally)


def test_the_simulation_finds_a_program_that_does_not_sync(
    library: Path, tmp_path: Path, quick: Path
) -> None:
    """A record that promises before it has synced does lose events here."""
    root = tmp_path / "root"
    root.mkdir()
    disk = Disk(root)
    notes = run_recorded(library, "careless", root)
    lost = 0
    for folder, promises, _ in disks(disk, notes, quick, Tally()):
        with Store.open(folder / "data") as store:
            found = {(e.stream, e.number) for s in store.heads() for e in store.events(s)}
        lost += any((stream, number) not in found for stream, number, *_ in promises.events)
    assert lost > 0
