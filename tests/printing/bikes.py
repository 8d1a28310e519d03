"""The example bikes solved, for drawing."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from cyclewright.sheets.sheets import Sheets, change, load
from cyclewright.solve.solution import Solution
from cyclewright.workshop import advising

EXAMPLES = Path(__file__).parents[2] / "examples"
BIKES = ("trail", "hardtail", "longtravel")
RIDERS = ("light", "heavy")


@lru_cache(maxsize=16)
def sheets(bike: str = "trail", rider: str = "light", *changes: str) -> Sheets:
    """An example bike and rider in a country that drives on the left, after changes."""
    folder = EXAMPLES / "bikes" / f"{bike}.toml", EXAMPLES / "riders" / f"{rider}.toml"
    return change(load(*folder, EXAMPLES / "places" / "left.toml"), list(changes))


@lru_cache(maxsize=16)
def solution(bike: str = "trail", rider: str = "light", *changes: str) -> Solution:
    """What the sums say of an example."""
    return advising.solution(sheets(bike, rider, *changes))
