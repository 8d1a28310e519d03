"""What a cold command wakes: seen in the modules it has loaded, not by the clock."""

from __future__ import annotations

import pytest

from cli.commands import EXAMPLES, SHEETS
from waking import woken

HEAVY = {"scipy", "numba", "alembic", "fastapi", "starlette", "uvicorn", "typst", "PIL", "jinja2"}
COMMAND = "from cyclewright.cli.main import run; assert run(sys.argv[1:]) == 0"
HARDTAIL = (EXAMPLES / "bikes/hardtail.toml", *SHEETS[1:])


@pytest.mark.parametrize(
    "arguments",
    [
        ("--help",),
        ("plan", "--help"),
        ("calc",),
        ("calc", "landing", "x=3 m", "y=-1 m", "takeoff_angle=20 deg", "landing_slope=-20 deg"),
        ("plan", *SHEETS),
        ("plan", *HARDTAIL, "--json"),
        ("check", *SHEETS),
        ("check", *HARDTAIL, "--json"),
        ("list",),
    ],
    ids=lambda words: " ".join(str(word) for word in words[:2] if "/" not in str(word)),
)
def test_a_quick_command_wakes_nothing_heavy(arguments):
    assert not woken(COMMAND, *arguments) & HEAVY


def test_help_wakes_neither_numbers_nor_models():
    assert not woken(COMMAND, "--help") & {"numpy", "pydantic", "sqlalchemy", "rich"}
    assert not woken(COMMAND, "calc", "--help") & {"numpy", "pydantic", "sqlalchemy", "rich"}


def test_calc_wakes_numpy_at_most():
    found = woken(COMMAND, "calc", "atmosphere", "altitude=1 km")
    assert not found & {"pydantic", "sqlalchemy", "rich"}


def test_a_plan_needs_no_numbers_and_no_record():
    assert not woken(COMMAND, "plan", *SHEETS, "--json") & {"numpy", "sqlalchemy", "rich"}
