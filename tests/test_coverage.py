"""The coverage table says what the program does, row by row, and nothing else."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import commands
from cyclewright.bench.app import create_app
from cyclewright.workshop.shop import Shop

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "docs/coverage.md").read_text(encoding="utf-8")
COUNTS = {"R": 4, "B": 11, "F": 5, "S": 6, "P": 4, "L": 4, "C": 9, "W": 2}
WANTED = [f"{letter}{number}" for letter, most in COUNTS.items() for number in range(1, most + 1)]
CODE = re.compile(r"`([^`]+)`")
TABLE = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in PAGE.splitlines()
    if re.match(r"\| [A-Z]\d+ \|", line)
]
ROWS = {cells[0]: cells[1:] for cells in TABLE}
BESIDE = PAGE.partition("Beside the rows")[2]


@pytest.fixture(scope="module")
def pages(tmp_path_factory) -> set[str]:
    """Every page that can be looked at; what only a program asks lies under /api."""
    with Shop.open(tmp_path_factory.mktemp("shop")) as shop:
        app = create_app(shop, "token", 1)
        found = {route.path for route in _routes(app.routes) if "GET" in (route.methods or ())}
    return {path for path in found if not path.startswith(("/api/", "/static"))}


def _routes(routes):
    """Routes with methods, those of included families too."""
    for route in routes:
        if getattr(route, "methods", None) and hasattr(route, "path"):
            yield route
        inner = getattr(route, "original_router", None) or getattr(route, "router", None)
        if inner is not None:
            yield from _routes(inner.routes)


def test_every_row_of_the_job_is_here_once_in_order():
    assert [cells[0] for cells in TABLE] == WANTED
    assert all(len(cells) == 6 for cells in TABLE)


@pytest.mark.parametrize("row", WANTED)
def test_a_row_is_built_with_evidence_or_claims_nothing(row):
    what, command, page, shown, state = ROWS[row]
    assert what
    if "–" in (command, page, shown, state):
        assert {command, page, shown, state} == {"–"}, "a dash stands in every cell or in none"
        return
    assert CODE.findall(command) and CODE.findall(page)
    assert state.startswith(("whole", "in part: "))
    for test in CODE.findall(shown):
        text = (ROOT / test).read_text(encoding="utf-8")
        assert re.search(r"^def test_", text, re.MULTILINE), test
    assert CODE.findall(shown)


def test_every_command_named_is_one_and_every_command_is_named():
    named = {name for cells in ROWS.values() for name in CODE.findall(cells[1])}
    named |= {name for name in CODE.findall(BESIDE) if not name.startswith("/")}
    assert named == set(commands.tree())


def test_every_page_named_is_one_and_every_page_is_named(pages):
    named = {name for cells in ROWS.values() for name in CODE.findall(cells[2])}
    named |= {name for name in CODE.findall(BESIDE) if name.startswith("/")}
    assert named == pages


def test_rows_not_built_are_told_on_the_front_page():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    left_out = readme.partition("## Not built yet")[2].partition("\n## ")[0]
    told = set(re.findall(r"\b([RBFSPLCW]\d+)\b", left_out))
    assert told == {row for row, cells in ROWS.items() if cells[1] == "–"}
