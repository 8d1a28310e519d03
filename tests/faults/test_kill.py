"""Programs and the database server killed in the middle of writes, with signal 9.

`FAULTS_KILLS` says how many of each; `make faults` asks for many more.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from cyclewright.store import backup
from cyclewright.store.store import Store
from faults.acts import written
from faults.tally import Tally
from postgres import Place, Server

KILLS = int(os.environ.get("FAULTS_KILLS", "100"))
TESTS = Path(__file__).parent.parent


def _run(place: Place, act: str, kills: int, tally: Tally) -> None:
    command = [sys.executable, "-m", "faults.killer", act, str(place.folder.parent), str(kills)]
    done = subprocess.run(
        [*command, "11", *([place.url] if place.url else [])],
        capture_output=True,
        text=True,
        env=os.environ | {"PYTHONPATH": str(TESTS)},
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    found = json.loads(done.stdout)
    tally.tried += found["killed"]
    tally.acknowledged += found["acknowledged"]
    tally.lost += found["lost"]
    assert found["lost"] == found["torn"] == 0
    assert found["killed"] >= (kills if act in ("work", "erase") else kills // 5)


def test_killed_while_recording(place: Place, tally: Tally) -> None:
    _run(place, "work", KILLS, tally)


def test_killed_while_erasing(place: Place, tally: Tally) -> None:
    _run(place, "erase", KILLS // 4, tally)


def _filled(folder: Path, url: str | None) -> None:
    """A shop whose promises are known, and its archive beside it."""
    with Store.open(folder / "data", url) as store:
        written(store, folder / "before", 25)
        backup.write(store, folder / "shop.zip")


def test_killed_while_reading_an_archive(place: Place, tally: Tally) -> None:
    _filled(place.folder.parent, place.url)
    _run(place, "read", max(6, KILLS // 10), tally)


def test_killed_while_upgrading(place: Place, tally: Tally) -> None:
    _filled(place.folder.parent, place.url)
    _run(place, "upgrade", max(6, KILLS // 10), tally)


def test_the_database_server_killed_while_recording(
    postgres: Server, tmp_path: Path, tally: Tally
) -> None:
    """The server goes down under a program at work, comes back, and has all it acknowledged."""
    url = postgres.database()
    for turn in range(max(2, KILLS // 40)):
        command = [sys.executable, "-m", "faults.killer", "serve", str(tmp_path), "0", "0", url]
        child = subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONPATH": str(TESTS)},
        )
        assert child.stdout is not None and child.stderr is not None
        lines = [child.stdout.readline() for _ in range(5 + 7 * turn)]
        postgres.kill()
        lines += child.stdout.read().splitlines()
        said = child.stderr.read()
        assert child.wait() == 1
        child.stdout.close()
        child.stderr.close()
        assert "the database does not answer" in said, said
        postgres.start()
        promised = [line.split() for line in lines]
        tally.tried += 1
        tally.acknowledged += len(promised)
        with Store.open(tmp_path / "data", url) as store:
            found = {(e.stream, e.number): e.hash.hex() for s in (1, 2) for e in store.events(s)}
            kept = [found.get((int(w[1]), int(w[2]))) == w[3] for w in promised]
            tally.lost += kept.count(False)
    assert tally.lost == 0
    postgres.drop(url)


@pytest.mark.parametrize("kind", ["sqlite"])
def test_two_programs_at_work_share_one_order(kind: str, tmp_path: Path, tally: Tally) -> None:
    """What was killed left no gap: numbers count on."""
    place = Place(tmp_path / "data")
    _run(place, "work", 10, tally)
    with place.open() as store:
        for stream in store.heads():
            numbers = [event.number for event in store.events(stream)]
            assert numbers == list(range(1, len(numbers) + 1))
    place.close()
