"""Where a used, crashed or returned bike is looked at, front to back."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from cyclewright.knowledge.conditions import Condition, conditions_from
from cyclewright.knowledge.data import knowledge_error, table
from cyclewright.knowledge.steps import Caution

FILE = "inspection.toml"
CAUSES = ("used", "crashed", "returned", "hired", "stored")


@dataclass(frozen=True, slots=True)
class Point:
    """One place to look at."""

    id: str
    station: str
    do: str
    why: str
    tool: str
    minutes: float
    evidence: tuple[str, ...]
    what: str
    causes: tuple[str, ...]
    """Why the bike is looked at, for this place to be; empty for every cause."""
    applies: tuple[Condition, ...]
    cautions: tuple[Caution, ...]
    source: str
    opens: tuple[str, ...] = ()
    """Joints that the look takes apart."""
    again: tuple[str, ...] = ()
    """Steps that are done again after it and that no joint reaches."""
    checks: tuple[str, ...] = ()
    """Steps that read what a fall moves, by themselves."""


@cache
def points() -> tuple[Point, ...]:
    """Every point, front to back."""
    content = table(FILE)
    return tuple(_point(row, content["source"]) for row in content["point"])


def _point(row: dict[str, Any], source: str) -> Point:
    where = f"{FILE} [{row.get('id', '?')}]"
    try:
        return Point(
            row["id"],
            row["station"],
            row["do"],
            row["why"],
            row["tool"],
            float(row["minutes"]),
            tuple(row.get("evidence", ("tick",))),
            row.get("what", ""),
            tuple(row.get("causes", ())),
            conditions_from(row.get("applies", []), where),
            tuple(Caution(**caution) for caution in row.get("cautions", ())),
            row.get("source", source),
            tuple(row.get("opens", ())),
            tuple(row.get("again", ())),
            tuple(row.get("checks", ())),
        )
    except (KeyError, TypeError) as error:
        raise knowledge_error(where, f"put the row right: {error}") from error
