"""Sums on sheets that lack facts: a value with its interval or a question, never a zero for it."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from typing import Any

import pytest

from cyclewright.errors import InputError
from cyclewright.sheets.build import build
from cyclewright.sheets.raw import raw
from cyclewright.sheets.sheets import Sheets, facts
from cyclewright.workshop.advising import advise
from walks.bikes import BIKES, FULL, sheets

DRAWS = 400 if FULL else 8
SPRUNG = ("travel", "chart", "spacers", "clicks", "pressure", "sag", "rebound", "compression")


def rigid() -> Sheets:
    """The hardtail with a rigid fork in the place of its own."""
    found = sheets("hardtail")
    table = raw(found.bike)
    fork = {k: v for k, v in table["fork"].items() if not k.startswith(SPRUNG)}
    table["fork"] = fork | {"kind": "rigid", "axle_to_crown": "430 mm"}
    return _with(found, table)


def _with(found: Sheets, table: Mapping[str, Any]) -> Sheets:
    problems: list[Any] = []
    made = build(dict(table), "bike", problems)
    assert made is not None and not problems, problems
    return Sheets(made, found.rider, found.place, found.mass)


def _lacking(found: Sheets, names: list[str]) -> Sheets | None:
    table: Any = raw(found.bike)
    for name in names:
        inner = table
        *path, last = name.split(".")[1:]
        for key in path:
            inner = inner.get(key, {})
        inner.pop(last, None)
    problems: list[Any] = []
    try:
        made = build(table, "bike", problems)
    except InputError:
        return None
    return None if problems or made is None else Sheets(made, found.rider, found.place, found.mass)


def _optional(found: Sheets) -> list[str]:
    """Every fact of the bike but the bolts, which no sum of these rests on."""
    return [
        name
        for name in facts(found)
        if name.startswith("bike.") and "[" not in name and not name.startswith("bike.fastener.")
    ]


def check(found: Sheets) -> None:
    try:
        answer = advise(found)
    except InputError as error:
        for problem in error.problems:
            assert problem.field.split(".")[0] in ("bike", "rider", "place"), problem
        return
    for setting in answer.settings:
        numbers = [n for n in (setting.value, setting.low, setting.high) if n is not None]
        assert all(math.isfinite(n) for n in numbers), setting
        if len(numbers) == 3:
            assert setting.low <= setting.value <= setting.high, setting  # type: ignore[operator]
    head = answer.setting("head_angle_at_sag")
    assert head is None or head.value is None or math.radians(55) < head.value < math.radians(80)


@pytest.mark.parametrize("name", [*BIKES, "rigid"])
def test_a_bike_that_lacks_any_fact_gets_a_figure_or_a_question(name: str) -> None:
    found = rigid() if name == "rigid" else sheets(name)
    names = _optional(found)
    rng = random.Random(name)
    each = names if FULL else rng.sample(names, 8)
    many = [rng.sample(names, rng.randint(2, len(names) // 2)) for _ in range(DRAWS)]
    tried = 0
    for lost in [*([one] for one in each), ["bike.frame.head_angle"], *many]:
        if (left := _lacking(found, lost)) is not None:
            tried += 1
            check(left)
    assert tried > 8
