"""What evidence rests on: which steps lapse when a fact changes, and which facts move nothing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from cyclewright.knowledge.conditions import Facts
from cyclewright.knowledge.data import knowledge_error, table
from cyclewright.knowledge.steps import steps

FILE = "facts.toml"
RIDER = "derived.rider"
"""The fact of who rides: it moves when another person is fitted."""
DERIVED = ("brake_hands", "brake_order", "fittings", "country")
"""Facts that follow from the sheets and that evidence rests on."""


@dataclass(frozen=True, slots=True)
class Moves:
    """What a change of some facts takes away: steps by id, and why."""

    fields: tuple[str, ...]
    steps: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class _Table:
    moves: Mapping[str, Moves]
    nothing: Mapping[str, str]


def moves(fact: str) -> Moves | None:
    """What lapses when this fact changes; None where no row names it.

    >>> moves("bike.fork.rebound_clicks").steps
    ('fork-rebound',)
    """
    found = _longest(fact, _table().moves)
    return None if found is None else _table().moves[found]


def moves_nothing(fact: str) -> str:
    """Why a change of this fact takes nothing away; empty where no row says so."""
    found = _longest(fact, _table().nothing)
    return "" if found is None else _table().nothing[found]


def waits(fact: str) -> str:
    """The gate item that waits for this fact while nobody knows it; empty for none.

    >>> waits("bike.mass_limit"), waits("rider.power")
    ('mass-and-use', '')
    """
    return str(table(FILE)["waits"].get(fact, ""))


def lapsed(changed: Iterable[str]) -> dict[str, list[str]]:
    """Steps that lapse with these facts, each with the facts that take it away.

    >>> lapsed(["bike.fork.rebound_clicks", "rider.name"])
    {'fork-rebound': ['bike.fork.rebound_clicks']}
    """
    found: dict[str, list[str]] = {}
    for fact in changed:
        row = moves(fact)
        for step in () if row is None else row.steps:
            found.setdefault(step, []).append(fact)
    return found


def changed(before: Facts, after: Facts) -> tuple[str, ...]:
    """Names of the facts that are not the same in both.

    >>> changed({"rider.mass": 80.0}, {"rider.mass": 62.0, "rider.height": 1.7})
    ('rider.mass', 'rider.height')
    """
    names = dict.fromkeys((*before, *after))
    return tuple(name for name in names if before.get(name) != after.get(name))


@lru_cache(maxsize=1)
def _table() -> _Table:
    content = table(FILE)
    known = {step.id for step in steps()}
    groups = {name: tuple(listed) for name, listed in content["groups"].items()}
    found: dict[str, Moves] = {}
    for row in content["moves"]:
        listed = [step for name in row["lapses"] for step in groups.get(name, (name,))]
        if strange := set(listed) - known:
            raise knowledge_error(FILE, f"name steps that exist, not {', '.join(sorted(strange))}")
        entry = Moves(tuple(row["fields"]), tuple(dict.fromkeys(listed)), row["why"])
        for field in entry.fields:
            _once(field, found)
            found[field] = entry
    nothing: dict[str, str] = {}
    for row in content["nothing"]:
        for field in row["fields"]:
            _once(field, {**found, **nothing})
            nothing[field] = row["reason"]
    return _Table(found, nothing)


def _once(field: str, known: Mapping[str, object]) -> None:
    if field in known:
        raise knowledge_error(FILE, f"{field} stands there twice")


def _longest(fact: str, names: Iterable[str]) -> str | None:
    """The longest of these names that is the fact, or that it lies under."""
    fits = [name for name in names if fact == name or fact.startswith((f"{name}.", f"{name}["))]
    return max(fits, key=len, default=None)
