"""Damper clicks, counted out from fully closed: the maker's table, else mid-range."""

from __future__ import annotations

from typing import Literal

from cyclewright.advice import charts
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Limit, Question, Setting

Kind = Literal["rebound", "compression"]
KINDS: tuple[Kind, Kind] = ("rebound", "compression")


def settings(filled: Filled, springs: dict[str, Setting]) -> tuple[Setting, ...]:
    """Rebound and compression of each end whose clicks are known."""
    found = []
    for name in ("fork", "shock"):
        pressure = springs.get(f"{name}_pressure") or springs.get(f"{name}_rate")
        if pressure is not None:
            found += [one for kind in KINDS if (one := _clicks(filled, name, kind, pressure))]
    return tuple(found)


def questions(filled: Filled, springs: dict[str, Setting]) -> tuple[Question, ...]:
    """Click ranges that have to be counted before they can be set."""
    asked = []
    for name in ("fork", "shock"):
        if f"{name}_pressure" not in springs and f"{name}_rate" not in springs:
            continue
        unit = getattr(filled.sheets.bike, name)
        for kind in KINDS:
            if getattr(unit, f"{kind}_clicks") is None:
                asked.append(
                    Question(
                        f"bike.{name}.{kind}_clicks",
                        f"How many {kind} clicks has this {name}, end to end?",
                        "Clicks count out from fully closed within this unit's own range.",
                    )
                )
    return tuple(asked)


def _clicks(filled: Filled, name: str, kind: Kind, spring: Setting) -> Setting | None:
    unit = getattr(filled.sheets.bike, name)
    counted = getattr(unit, f"{kind}_clicks")
    if counted is None:
        return None
    whole = (
        Limit("this unit's counted range", "min", 0),
        Limit("this unit's counted range", "max", counted),
    )
    row = None
    if spring.value is not None and spring.name.endswith("pressure"):
        row = charts.click_row(unit.clicks, spring.value)
    told = None if row is None else getattr(row, kind)
    if told is None:
        middle = round(counted / 2)
        return _setting(
            name, kind, middle, counted / 4, 3 * counted / 4, whole, "practice",
            "common practice, no source",
            f"default: the middle of its {counted}, until a bounce or a ride says more",
        )  # fmt: skip
    ends = [
        getattr(at, kind)
        for pressure in (spring.low, spring.high)
        if pressure is not None and (at := charts.click_row(unit.clicks, pressure)) is not None
    ]
    numbers = [told, *(end for end in ends if end is not None)]
    return _setting(
        name, kind, told, min(numbers), max(numbers), whole, "maker",
        "maker's table of clicks", f"the {name}'s maker for this pressure",
    )  # fmt: skip


def _setting(
    name: str,
    kind: Kind,
    value: float,
    low: float,
    high: float,
    bounds: tuple[Limit, ...],
    basis: Literal["maker", "practice"],
    source: str,
    because: str,
) -> Setting:
    return Setting(
        f"{name}_{kind}",
        float(value),
        "1",
        float(low),
        float(high),
        basis,
        source,
        f"{because}; count out from gently closed",
        "clicks",
        1.0,
        f"{name.capitalize()} {kind}",
        bounds,
    )
