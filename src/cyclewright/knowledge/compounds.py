"""What goes between two materials: grease, anti-seize, assembly paste, or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from cyclewright.knowledge.data import table

FILE = "compounds.toml"
Use = Literal["tube", "clamp", "thread"]
USES: tuple[Use, ...] = ("tube", "clamp", "thread")

WORDS = {
    "anti-seize": "anti-seize",
    "dry": "nothing: clean and dry",
    "grease": "grease",
    "paste": "assembly paste",
    "patch": "patch bolt: replace, do not grease",
    "threadlock": "threadlock",
}


@dataclass(frozen=True, slots=True)
class Pair:
    """Two materials, what goes between them in this use, and why."""

    use: Use
    a: str
    b: str
    compound: str
    because: str
    source: str


@cache
def pairs() -> tuple[Pair, ...]:
    """Every row, the more particular first."""
    return tuple(Pair(**row) for row in table(FILE)["pair"])


def between(use: Use, one: object, other: object) -> Pair | None:
    """The row for two materials; None while what is not known might decide.

    >>> between("tube", None, "carbon").compound
    'paste'
    >>> between("tube", None, "alloy") is None
    True
    """
    stated = {one, other}
    for row in pairs():
        if row.use == use and row.a != "any" and row.a in stated:
            return row
    if None in stated:
        return None
    return next(row for row in pairs() if row.use == use and row.a == "any")
