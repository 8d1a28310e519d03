"""How a bike stands while it is built, and whether an order of steps fits what each step needs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from cyclewright.knowledge import data
from cyclewright.knowledge.conditions import Condition, Facts, conditions_from, holds

if TYPE_CHECKING:
    from cyclewright.knowledge.steps import Step

FILE = "states.toml"
_KEYS = {"words", "ways", "ridden", "applies"}
_NEEDED = {"words", "ways", "ridden"}


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing that a build takes out, opens or empties, and the ways in which it can be."""

    name: str
    words: str
    ways: tuple[str, ...]
    """The first of them is how it comes out of the carton."""
    ridden: tuple[str, ...]
    """Those in which somebody may sit on the bike; empty where it does not matter."""
    applies: tuple[Condition, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Wrong:
    """A step that finds something otherwise than it needs it, or what is left so at the end."""

    step: str
    """Empty for the end of the plan."""
    thing: str
    wanted: tuple[str, ...]
    found: str


@lru_cache(maxsize=1)
def things() -> Mapping[str, Thing]:
    """Every thing by its name.

    >>> things()["rear_spring"].ridden
    ('set',)
    """
    rows = dict(data.table(FILE))
    source = rows.pop("source", "")
    return {name: _thing(name, row, source) for name, row in rows.items()}


def ways_from(row: object, where: str) -> dict[str, tuple[str, ...]]:
    """What a step finds or leaves: things by name, each in one way or in one of several."""
    if not isinstance(row, Mapping):
        raise data.knowledge_error(where, "write what it finds and leaves as {thing = way}")
    found = {name: (ways,) if isinstance(ways, str) else tuple(ways) for name, ways in row.items()}
    for name, ways in found.items():
        if name not in things():
            raise data.knowledge_error(where, f"{FILE} knows no {name}")
        if not ways or (strange := [way for way in ways if way not in things()[name].ways]):
            said = ", ".join(strange) if ways else "nothing"
            raise data.knowledge_error(where, f"{name} is never {said}: see {FILE}")
    return found


def wanted(step: Step) -> dict[str, tuple[str, ...]]:
    """What a step needs: what it says, and all of `ridden` where somebody sits on the bike."""
    if not step.seated:
        return dict(step.finds)
    ridden = {name: thing.ridden for name, thing in things().items() if thing.ridden}
    return ridden | dict(step.finds)


def wrong(steps: Iterable[Step], facts: Facts) -> tuple[Wrong, ...]:
    """Every step of an order that finds the bike otherwise than it needs it, and what is left so.

    >>> from cyclewright.knowledge.steps import steps
    >>> sag = [step for step in steps() if step.id == "shock-sag"]
    >>> rear = [row for row in wrong(sag, {"bike.kind": "full-suspension"}) if row.step]
    >>> [row.found for row in rear if row.thing == "rear_spring"]
    ['as it came']
    """
    now = {name: thing.ways[0] for name, thing in things().items() if holds(thing.applies, facts)}
    found: list[Wrong] = []
    for step in steps:
        found += [
            Wrong(step.id, name, ways, now[name])
            for name, ways in wanted(step).items()
            if name in now and now[name] not in ways
        ]
        now |= {name: way for name, way in step.leaves.items() if name in now}
    ends = ((name, things()[name].ridden) for name in now)
    left = [
        Wrong("", name, ways, now[name]) for name, ways in ends if ways and now[name] not in ways
    ]
    return (*found, *left)


def _thing(name: str, row: Mapping[str, Any], source: str) -> Thing:
    where = f"{FILE} [{name}]"
    if not _NEEDED <= set(row) <= _KEYS:
        raise data.knowledge_error(where, f"a thing has {', '.join(sorted(_KEYS))}")
    ways, ridden = tuple(row["ways"]), tuple(row["ridden"])
    if len(ways) < 2 or not set(ridden) <= set(ways):
        raise data.knowledge_error(where, "give two ways at least, and ridden among them")
    return Thing(
        name, row["words"], ways, ridden, conditions_from(row.get("applies", []), where), source
    )
