"""What a cold command wakes: seen in the modules it has loaded, not by the clock."""

from __future__ import annotations

import subprocess
import sys

import pytest

from cli.commands import EXAMPLES, SHEETS

HEAVY = {"scipy", "numba", "alembic", "fastapi", "starlette", "uvicorn", "typst", "PIL", "jinja2"}
SCRIPT = """
import sys
from cyclewright.cli.main import run
code = run(sys.argv[1:])
print(*sorted({name.partition(".")[0] for name in sys.modules}), file=sys.stderr)
sys.exit(code)
"""
HARDTAIL = (EXAMPLES / "bikes/hardtail.toml", *SHEETS[1:])


def woken(*arguments: object) -> set[str]:
    """The top-level modules that a command has loaded in a fresh process."""
    words = [str(item) for item in arguments]
    ran = subprocess.run(
        [sys.executable, "-c", SCRIPT, *words], capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stderr
    return set(ran.stderr.split())


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
    assert not woken(*arguments) & HEAVY


def test_help_wakes_neither_numbers_nor_models():
    assert not woken("--help") & {"numpy", "pydantic", "sqlalchemy", "rich"}
    assert not woken("calc", "--help") & {"numpy", "pydantic", "sqlalchemy", "rich"}


def test_calc_wakes_numpy_at_most():
    assert not woken("calc", "atmosphere", "altitude=1 km") & {"pydantic", "sqlalchemy", "rich"}


def test_a_plan_needs_no_numbers_and_no_record():
    assert not woken("plan", *SHEETS, "--json") & {"numpy", "sqlalchemy", "rich"}
