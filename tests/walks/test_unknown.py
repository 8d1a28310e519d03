"""Every fact of the three bikes, not known before the build: no gate is easier to pass for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest

from advice.generated import drawn
from cyclewright.advice import brakes, torque
from cyclewright.errors import InputError
from cyclewright.knowledge.steps import steps as knowledge_steps
from cyclewright.record.plan import Plan, make_plan
from cyclewright.sheets.build import build
from cyclewright.sheets.raw import raw
from cyclewright.sheets.sheets import Sheets, facts
from walks import tally
from walks.bikes import BIKES, FULL, sheets

NONE_THERE = {
    "bike.electric": "silence says that there is no drive",
    "bike.electric.motor": "silence says that there is no motor",
    "bike.electric.battery": "silence says that there is no battery",
    "bike.fastener.chain_guide": "silence says that there is no chain guide",
    "bike.fastener.front_adapter": "the rotor's adapter is asked for on the brake",
    "bike.fastener.rear_adapter": "the rotor's adapter is asked for on the brake",
    "rider.hands_wish": "silence says that the rider has ordered nothing of their own",
    "bike.hire": "silence says that the bike is not hired out",
    "bike.brake.front.rotor_adapter": "silence says that the caliper sits on its mount",
    "bike.brake.rear.rotor_adapter": "silence says that the caliper sits on its mount",
}
"""Facts that only a bike with such a part has: without the word there is no such part."""
INSTEAD = {
    "grips-clamped": "grips-on",
    "fittings-on": "fittings-asked",
    "saddle-height": "saddle-height-not-fitted",
}
"""A step, and the one that stands in for it where the sheet does not say."""
RIDERS = ("rider.height", "rider.mass")
"""Without these there is no rider sheet at all: a bike without a rider is another case."""


def planned(found: Sheets) -> Plan:
    windows, _ = torque.windows(found)
    return make_plan(facts(found), windows, brakes.derived(found))


def without(found: Sheets, field: str) -> Sheets | None:
    """The sheets with nothing written in that field; None where a sheet must have it."""
    kind, *keys = field.split(".")
    table = raw(found.sheet(kind))  # type: ignore[arg-type]
    inner: Any = table
    for key in keys[:-1]:
        inner = inner[key]
    del inner[keys[-1]]
    problems: list[Any] = []
    try:
        made = build(table, kind, problems)  # type: ignore[arg-type]
    except InputError:
        return None
    return None if problems else replace(found, **{kind: made})


def bare(found: Sheets, field: str) -> Sheets | None:
    """The same for a drawn bike, part by part; its joints stay."""
    kind, *keys = field.split(".")
    if "fastener" in keys or "points" in keys or field in (*RIDERS, "bike.kind", "place.country"):
        return None
    parts = [found.sheet(kind)]  # type: ignore[arg-type]
    for key in keys[:-1]:
        parts.append(getattr(parts[-1], key))
    made: Any = () if isinstance(getattr(parts[-1], keys[-1]), tuple) else None
    for part, key in zip(reversed(parts), reversed(keys), strict=True):
        made = part.model_copy(update={key: made})  # type: ignore[union-attr]
    return replace(found, **{kind: made})


def written(found: Sheets) -> Iterator[str]:
    for field in facts(found):
        if "." in field and not (field.endswith((".width", ".bead")) and ".tyre." in field):
            yield field


Take = Callable[[Sheets, str], Sheets | None]


def check(name: str, found: Sheets, take: Take = without) -> tuple[int, list[str]]:
    """Steps that vanish with a fact are named by the plan, and hold the item they prove."""
    before, walked, must = planned(found), 0, []
    for place, field in enumerate(written(found)):
        if not FULL and place % 2:
            continue
        fewer = take(found, field)
        if fewer is None:
            must.append(field)
            continue
        walked += 1
        after = planned(fewer)
        named = {row.id: row for row in after.undecided}
        there = {step.id for step in after.steps}
        for step in before.steps:
            if step.id in there or INSTEAD.get(step.id) in there:
                continue
            if any(field == known or field.startswith(f"{known}.") for known in NONE_THERE):
                continue
            assert step.id in named, (name, field, step.id)
            row = named[step.id]
            assert row.safety == step.safety and row.fields and row.ask
            assert row.holds or not step.safety, (name, field, step.id)
        assert {row.safety for row in after.undecided} | {s.safety for s in after.steps} >= {
            step.safety for step in before.steps
            if not any(field.startswith(known) for known in NONE_THERE)
        }, (name, field)  # fmt: skip
    return walked, must


@pytest.mark.parametrize("name", BIKES)
def test_no_step_vanishes_unnamed_with_a_fact(name: str) -> None:
    walked, must = check(name, sheets(name))
    tally.walked("facts taken off the sheets before the build", name, walked)
    assert walked > 60
    assert all(field.startswith(("bike.", "rider.", "place.")) for field in must)


def test_nor_on_any_drawn_bike() -> None:
    bikes = 60 if FULL else 6
    walked = sum(check(str(seed), drawn(seed), bare)[0] for seed in range(bikes))
    tally.walked("facts taken off the sheets before the build", f"{bikes} drawn bikes", walked)
    assert walked > 300


def test_the_exceptions_are_about_steps_and_facts_that_there_are() -> None:
    known = {step.id for step in knowledge_steps()}
    assert set(INSTEAD) | set(INSTEAD.values()) <= known
