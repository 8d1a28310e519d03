"""Print the validation page: every check against something other than this program itself.

`python tests/outside/report.py > docs/validation.md` (`make docs`).
"""

from __future__ import annotations

import contextlib
import io
import sys
from collections import Counter
from itertools import groupby
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1]
ROOMS = ("outside", "mechanics", "body", "measure", "solve")
INTRODUCTION = """# Validation

Made by `make docs` from the tests' own evidence. *Published*: a printed value, within its row's
tolerance; under *known*, "read" means that the printed figure was seen, "memory" that it was
recalled and agrees with its formula, "formula" or "computed" that it follows from the named
source's formula or parameters. *Second method*: the same quantity by another route or a general
reference library. *Measured*: data that somebody took. *Simulated*: shares and means over builds
with a hidden truth that the method is not told. Exact identities and pins of earlier output run
in the tests as well and are only counted here: a pin is regression, not validation. Differences
are ours against the expected value.
"""


class Waiting:
    """Counts the outside rows whose calculation is not built."""

    def __init__(self) -> None:
        self.rows: Counter[str] = Counter()

    def pytest_runtest_logreport(self, report) -> None:
        if report.when == "call":
            self.rows.update(
                value for key, value in report.user_properties if key == "outside-not-built"
            )


def main() -> int:
    waiting = Waiting()
    rooms = [str(TESTS / room) for room in ROOMS if (TESTS / room).is_dir()]
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        failed = pytest.main(["-q", "-p", "no:cacheprovider", *rooms], plugins=[waiting])
    if failed:
        sys.stderr.write(said.getvalue())
        return 1
    import evidence

    sys.stdout.write(page(evidence.COLLECTED, waiting.rows))
    return 0


def page(rows, waiting) -> str:
    """The page in markdown."""
    parts = [INTRODUCTION, _counts(rows, waiting)]
    for kind in ("published", "second method", "measured", "simulated"):
        mine = sorted(
            (row for row in rows if row.kind == kind),
            key=lambda row: (row.source.lower(), row.check),
        )
        if mine:
            parts.append(f"## {kind.capitalize()}\n")
        for source, group in groupby(mine, key=lambda row: row.source):
            parts.append(_table(source, list(group)))
    return "\n".join(parts)


def _counts(rows, waiting) -> str:
    kinds = Counter(kind for kind, _ in {(row.kind, row.check) for row in rows})
    lines = ["| evidence | checks |", "|---|---|"]
    lines += [f"| {kind} | {count} |" for kind, count in sorted(kinds.items())]
    if waiting:
        names = ", ".join(f"{name} ({count})" for name, count in sorted(waiting.items()))
        lines += ["", f"Published rows whose calculation is not built yet: {names}."]
    return "\n".join(lines) + "\n"


def _table(source, rows) -> str:
    if all(row.kind == "simulated" for row in rows):
        lines = [f"### {_cell(source)}\n", "| check | ours | wanted |", "|---|---|---|"]
        lines += [f"| {_cell(row.check)} | {row.ours:.4g} | {row.allowed} |" for row in rows]
        return "\n".join(lines) + "\n"
    known = any(row.known for row in rows)
    lines = [
        f"### {_cell(source)}\n",
        f"| check | expected | ours | difference | allowed |{' known |' if known else ''}",
        f"|---|---|---|---|---|{'---|' if known else ''}",
    ]
    for row in rows:
        unit = "" if row.unit in ("", "1") else f" {row.unit}"
        cells = [
            row.check,
            f"{row.expected:.6g}{unit}",
            f"{row.ours:.6g}{unit}",
            row.difference,
            row.allowed,
        ]
        cells += [row.known] if known else []
        lines.append("| " + " | ".join(_cell(cell) for cell in cells) + " |")
    return "\n".join(lines) + "\n"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


if __name__ == "__main__":
    raise SystemExit(main())
