"""One entry kept, as a ratio to a bare row of the same database, in one run.

`python benchmarks/append.py [--rounds 200]`. The peer is an INSERT and a commit by SQLite itself,
under the same journal and syncs, of a row as long as the entry. Both alternate, so that whatever
else the machine does falls on both alike; medians are printed, for a new bike and for one of two
thousand entries.
"""

from __future__ import annotations

import argparse
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from cyclewright.record.events import Draft
from cyclewright.store.store import Store

ENTRY = {"kind": "fork-sag", "value": 0.031, "unit": "m"}
ROW = b"x" * 420
"""As long as such an entry is in the record, hashes and chain included."""
LONG = 2000


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=200)
    rounds = parser.parse_args().rounds
    with tempfile.TemporaryDirectory(prefix="cyclewright-append-") as folder:
        bare = _bare(Path(folder) / "bare.sqlite3")
        with Store.open(Path(folder) / "data") as store:
            opened = Draft("visit-opened", "visit", {"visit": "build", "name": "Invented"})
            stream = store.new_stream(lambda _: [opened])[0].stream

            def entry() -> None:
                store.append(stream, [Draft("reading-taken", "reading:fork-sag", ENTRY)])

            print(f"{'':<28} {'entry':>9} {'bare row':>9}  ratio")
            _compare("a new bike", entry, bare, rounds)
            while store.head(stream).number < LONG:
                entry()
            _compare(f"a bike of {LONG} entries", entry, bare, rounds)
    return 0


def _bare(path: Path) -> Callable[[], object]:
    """A row and a commit, synced as the record is."""
    connection = sqlite3.connect(path, isolation_level=None)
    for line in ("PRAGMA journal_mode=WAL", "PRAGMA synchronous=FULL", "CREATE TABLE row (body)"):
        connection.execute(line)
    return lambda: connection.execute("INSERT INTO row VALUES (?)", (ROW,))


def _compare(
    name: str, entry: Callable[[], object], bare: Callable[[], object], rounds: int
) -> None:
    took: dict[Callable[[], object], list[float]] = {entry: [], bare: []}
    for _ in range(rounds):
        for act, times in took.items():
            start = time.perf_counter()
            act()
            times.append(time.perf_counter() - start)
    ours, peer = (statistics.median(times) for times in took.values())
    print(f"{name:<28} {ours * 1e3:6.2f} ms {peer * 1e3:6.2f} ms  {ours / peer:.1f}")


if __name__ == "__main__":
    raise SystemExit(main())
