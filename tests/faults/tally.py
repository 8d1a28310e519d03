"""What tests of faults count, told at the end of the run and, by `make faults`, in the docs."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

HEAD = """# Faults

Made by `make faults`: the tests of `tests/faults`, run longer than `make test` runs them. A fault
is one kill, one disk after a power cut, one damaged page or one torn file; an event is acknowledged
when the program has said that it is recorded, and lost when it is not there afterwards, whole and
with the same hash. After every fault `verify` finds nothing, and work goes on.

Kills are real: signal 9, to programs at work on one record and to the PostgreSQL server under them.
A power cut is simulated, for SQLite's files and ours: a library that is loaded before the program
notes each write, sync, rename and unlink; the notes are cut behind every one of them, and from each
cut the disk is made that had everything, only what was synced, or by chance some of the rest, in
sectors of 512 bytes and in any order. Not simulated: a disk that says it has synced and has not.
Full disks and read-only folders are real mounts that nobody else sees.

| fault | tried | events acknowledged | lost |
|---|--:|--:|--:|
"""


@dataclass(slots=True)
class Tally:
    """Faults tried, events acknowledged before or between them, and events lost: none."""

    tried: int = 0
    acknowledged: int = 0
    lost: int = 0


def report_of_faults(found: Mapping[str, Mapping[str, int]], failed: bool) -> str:
    """The figures on one line; the page of a run that passed goes where `FAULTS_REPORT` says."""
    path = os.environ.get("FAULTS_REPORT")
    if path and not failed:
        rows = [_row(_title(name), found[name]) for name in sorted(found)]
        Path(path).write_text(HEAD + "".join([*rows, _row("**all**", _sum(found))]), "utf-8")
    all_of_it = _sum(found)
    return (
        f"{all_of_it['tried']} faults tried, {all_of_it['acknowledged']} events acknowledged, "
        f"{all_of_it['lost']} lost"
    )


def _sum(found: Mapping[str, Mapping[str, int]]) -> dict[str, int]:
    return {
        name: sum(row[name] for row in found.values()) for name in ("tried", "acknowledged", "lost")
    }


def _title(name: str) -> str:
    """A test's name as words: which database, where it matters."""
    test, _, kind = name.rpartition("::")[2].removeprefix("test_").partition("[")
    kind = f" ({kind.rstrip(']').replace('-', ', ')})" if kind else ""
    return test.replace("_", " ") + kind


def _row(title: str, row: Mapping[str, int]) -> str:
    return f"| {title} | {row['tried']:,} | {row['acknowledged']:,} | {row['lost']:,} |\n"
