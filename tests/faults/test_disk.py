"""A full disk, a folder that cannot be written, a damaged file: a clear sentence and a way on."""

from __future__ import annotations

import json
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
import sqlalchemy as sa

from cyclewright.errors import Integrity
from cyclewright.record.events import Draft
from cyclewright.store import backup, database, restore, schema
from cyclewright.store import store as stores
from cyclewright.store.store import Store
from cyclewright.store.verifying import verify
from faults.acts import Told, bike, one
from faults.tally import Tally
from postgres import Place

TESTS = Path(__file__).parent.parent
PAGES = int(os.environ.get("FAULTS_PAGES", "40"))
ENVIRONMENT = os.environ | {"PYTHONPATH": str(TESTS)}


def _namespace() -> list[str]:
    """The command that gives a child mounts of its own, as root or as a user who may."""
    for command in (["unshare", "-m"], ["unshare", "-rm"]):
        if (
            shutil.which("unshare")
            and not subprocess.run([*command, "true"], capture_output=True, check=False).returncode
        ):
            return command
    pytest.skip("this machine gives nobody mounts of their own")


def _filled(store: Store) -> dict[tuple[int, int], bytes]:
    """Two bikes with photos; what was acknowledged."""
    told = Told.__new__(Told)
    told.handle = os.open(os.devnull, os.O_WRONLY)
    for _ in range(2):
        stream = bike(store, told)
        for turn in range(6):
            one(store, stream, told, turn)
    os.close(told.handle)
    return {(e.stream, e.number): e.hash for s in (1, 2) for e in store.events(s)}


def test_a_full_disk_loses_nothing_and_goes_on_with_room(tmp_path: Path, tally: Tally) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    command = [*_namespace(), sys.executable, "-m", "faults.in_full", str(disk), str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, env=ENVIRONMENT, check=False)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    tally.tried, tally.acknowledged, tally.lost = 3, found["kept"], found["lost"]
    assert found["lost"] == 0
    assert len(found["said"]) == 3
    assert "the disk is full: make room, then do it again; nothing was recorded" in found["said"][0]
    assert all("No space left on device" in line for line in found["said"][1:])
    assert found["readable"] == [found["kept"] + 1] * 2
    assert found["left"] == [], "nothing half-written is left to fill the disk"
    assert found["faults"] == []
    assert found["archived"] == found["kept"] + 2


READ_ONLY = """
import os, subprocess, sys
from pathlib import Path
from cyclewright.errors import Integrity
from cyclewright.store import store
import sqlalchemy.dialects.sqlite
folder = Path(sys.argv[1])
subprocess.run(["mount", "--bind", folder, folder], check=True)
subprocess.run(["mount", "-o", "remount,ro,bind", folder], check=True)
for act in (
    lambda shop: shop.append(1, [store.Draft("reading-taken", "r", {})]),
    lambda shop: shop.attach(b"photo", "image/jpeg"),
):
    try:
        with store.Store.open(folder / "data") as shop:
            act(shop)
        print("recorded")
    except Integrity as error:
        print(error)
"""


def test_a_read_only_folder_says_so_and_keeps_all(tmp_path: Path, tally: Tally) -> None:
    root = tmp_path / "root"
    root.mkdir()
    with Store.open(root / "data") as store:
        promised = _filled(store)
    command = [*_namespace(), sys.executable, "-c", textwrap.dedent(READ_ONLY), str(root)]
    done = subprocess.run(command, capture_output=True, text=True, env=ENVIRONMENT, check=False)
    assert done.returncode == 0, done.stderr
    first, second = done.stdout.splitlines()
    for line in (first, second):
        assert "the data folder cannot be written" in line or "cannot be opened" in line
    tally.tried, tally.acknowledged = 2, len(promised)
    with Store.open(root / "data") as store:
        assert {(e.stream, e.number): e.hash for s in (1, 2) for e in store.events(s)} == promised
        store.append(1, [Draft("reading-taken", "r", {})])


def test_a_torn_attachment_is_named_and_put_back(
    place: Place, tmp_path: Path, tally: Tally
) -> None:
    store = place.open()
    promised = _filled(store)
    backup.write(store, tmp_path / "shop.zip")
    addresses = [e.data["photo"]["attachment"] for e in store.events(1) if "photo" in e.data]
    whole = {address: store.shelf.get(address) for address in addresses}
    for address, content in zip(
        addresses,
        (None, b"", whole[addresses[2]][:40], whole[addresses[3]] + b"!", bytes(400)),
        strict=False,
    ):
        store.shelf.drop(address)
        if content is not None:
            store.shelf.put(address, content)
        tally.tried += 1
        (fault,) = verify(store).faults
        assert f"attachment {address[:12]}" in fault.what and "bike 1 event" in fault.what
        with pytest.raises(Integrity, match=r"it is missing|it was changed"):
            store.attachment(address)
        assert restore.mend(store, tmp_path / "shop.zip") == (1, 0)
        assert verify(store).faults == []
    tally.acknowledged += len(promised)


def test_a_damaged_page_is_told_and_a_backup_is_the_way_on(tmp_path: Path, tally: Tally) -> None:
    """Every page of the file in turn, wiped, swapped or with some bytes changed."""
    with Store.open(tmp_path / "data") as store:
        promised = _filled(store)
        backup.write(store, tmp_path / "shop.zip")
    with sqlite3.connect(tmp_path / "data" / database.FILE) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        size = connection.execute("PRAGMA page_size").fetchone()[0]
    connection.close()
    whole = (tmp_path / "data" / database.FILE).read_bytes()
    chance, pages = random.Random(3), len(whole) // size
    told = 0
    for turn in range(min(PAGES, 100 * pages)):
        folder = tmp_path / f"turn{turn}"
        shutil.copytree(tmp_path / "data", folder)
        (folder / database.FILE).write_bytes(_damaged(whole, turn % pages, size, turn, chance))
        told += _is_told(folder, promised)
        tally.tried += 1
        shutil.rmtree(folder)
    assert told > tally.tried / 3
    with Store.open(tmp_path / "new") as store:
        restore.read(store, tmp_path / "shop.zip")
        assert {(e.stream, e.number): e.hash for s in (1, 2) for e in store.events(s)} == promised
    tally.acknowledged += len(promised)


def _damaged(whole: bytes, page: int, size: int, turn: int, chance: random.Random) -> bytes:
    broken = bytearray(whole)
    start = page * size
    if turn % 3 == 0:
        broken[start : start + size] = bytes(size)
    elif turn % 3 == 1:
        other = chance.randrange(len(whole) // size) * size
        broken[start : start + size] = whole[other : other + size]
    else:
        for _ in range(6):
            broken[start + chance.randrange(size)] ^= 1 << chance.randrange(8)
    return bytes(broken)


def _is_told(folder: Path, promised: dict[tuple[int, int], bytes]) -> bool:
    """Whether the damage is told in one sentence; if not, everything promised is there."""
    try:
        with Store.open(folder) as store:
            faults = verify(store).faults
            found = {(e.stream, e.number): e.hash for s in (1, 2) for e in store.events(s)}
    except Integrity as error:
        assert "\n" not in str(error) and ":" in str(error)
        return True
    assert faults or found == promised
    return bool(faults)


def test_a_record_of_a_newer_version_is_left_as_it_is(place: Place, tally: Tally) -> None:
    store = place.open()
    promised = _filled(store)
    with store.engine.begin() as connection:
        connection.execute(sa.update(schema.VERSIONS).values(version_num="7777"))
    with pytest.raises(Integrity, match="it was made by a newer Cyclewright: install that version"):
        place.open()
    with pytest.raises(Integrity, match="a newer Cyclewright has upgraded it"):
        store.append(1, [Draft("reading-taken", "r", {})])
    with store.engine.begin() as connection:
        connection.execute(sa.update(schema.VERSIONS).values(version_num=schema.VERSION))
    again = place.open()
    assert {(e.stream, e.number): e.hash for s in (1, 2) for e in again.events(s)} == promised
    tally.tried, tally.acknowledged = 2, len(promised)


@pytest.mark.parametrize("year", [1970, 1999, 2020])
def test_a_clock_set_back_is_marked_and_changes_no_order(
    place: Place, tally: Tally, monkeypatch: pytest.MonkeyPatch, year: int
) -> None:
    store = place.open()
    promised = _filled(store)
    real = stores.datetime

    class Back:
        @staticmethod
        def now(zone: object) -> object:
            return real(year, 1, 1, tzinfo=stores.UTC)

    monkeypatch.setattr(stores, "datetime", Back)
    back = [store.append(1, [Draft("reading-taken", f"r{turn}", {})])[0] for turn in range(3)]
    monkeypatch.undo()
    after = store.append(1, [Draft("reading-taken", "after", {})])[0]
    assert [event.clock_set_back for event in (*back, after)] == [True, False, False, False]
    numbers = [event.number for event in place.open().events(1)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert verify(store).faults == []
    tally.tried, tally.acknowledged = 1, len(promised) + 4
