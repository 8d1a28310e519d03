"""What a new plan takes away: evidence whose facts changed, or that rests on what is open now."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from cyclewright.knowledge import facts
from cyclewright.knowledge.conditions import Facts
from cyclewright.record import reopening
from cyclewright.record.steps import Step


def said(before: Facts, after: Facts) -> dict[str, str]:
    """Steps that lapse between two states of the facts, each with its sentence.

    >>> said({"bike.use_class": 3}, {"bike.use_class": 4})
    {'mass-and-use-agreed': 'use class changed: the limit that was told to the rider is another'}
    """
    found = {}
    for step, names in facts.lapsed(facts.changed(before, after)).items():
        row = facts.moves(names[0])
        assert row is not None, "only facts with a row take a step away"
        told = ", ".join(dict.fromkeys(words(name) for name in names[:4]))
        more = f" and {len(names) - 4} more" if len(names) > 4 else ""
        found[step] = f"{told}{more} changed: {row.why}"
    return found


def words(fact: str) -> str:
    """A fact as a person names it.

    >>> words("bike.fork.axle_to_crown"), words("derived.rider"), words("rider.mass")
    ('fork axle to crown', 'rider', 'rider mass')
    """
    kind, _, rest = fact.partition(".")
    named = rest.replace(".", " ").replace("_", " ")
    return f"rider {named}" if kind == "rider" else named or fact


def by_plan(
    before: Mapping[str, Step],
    after: Mapping[str, Step],
    done: Collection[str],
    lapsed: Mapping[str, str],
) -> dict[str, str]:
    """Every done step that the plan `after` takes away, and why; `done` may name gone ones."""
    found = {name: why for name, why in lapsed.items() if name in done}
    gone = [name for name in done if name in before and name not in after]
    found |= {name: "the plan no longer has this step" for name in gone if name not in found}
    new = {name for name in after if name not in before and name not in done} if before else set()
    for name in _behind(after, new, done):
        first = next(iter(after[name].rests & new), None)
        why = f"{after[first].title} comes before it now" if first else "what it rests on is open"
        found.setdefault(name, why)
    for name in _behind(after, found.keys() & after.keys(), done):
        below = next(
            (after[other].title for other in after if other in found.keys() & after[name].rests), ""
        )
        found.setdefault(name, f"it rests on {below}" if below else "what it rests on is open")
    return found


def of_older(
    sheets: Mapping[str, str], rider: str | None, data: Mapping[str, Any]
) -> dict[str, str]:
    """The same for a plan that an older program made, from the sheets' texts alone.

    What stands on a rider's sheet is not in the record: another sheet counts as another rider.
    """
    before, after = _flat(sheets), _flat(data["sheets"])
    found = said(before, after)
    if rider is not None and (data.get("rider") or {}).get("attachment") != rider:
        found |= said({facts.RIDER: "before"}, {facts.RIDER: "after"})
    return found


def _behind(steps: Mapping[str, Step], roots: Collection[str], done: Collection[str]) -> set[str]:
    return reopening.dependants(steps, set(roots)) & set(done) if roots else set()


def _flat(texts: Mapping[str, str]) -> dict[str, object]:
    found: dict[str, object] = {}
    for kind in ("bike", "place"):
        if text := texts.get(kind):
            found.update(_leaves(tomllib.loads(text), kind))
    if "mass" in texts:
        found["mass"] = texts["mass"]
    return found


def _leaves(table: Mapping[str, Any], path: str) -> Iterator[tuple[str, object]]:
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from _leaves(value, f"{path}.{key}")
        else:
            yield f"{path}.{key}", value if not isinstance(value, list) else tuple(map(str, value))
