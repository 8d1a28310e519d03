"""Damper clicks, counted out from fully closed: the maker's table, else the damping wanted.

Clicks belong to an oil temperature: they are told for the workshop's, with what the trail's does
to them.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from cyclewright.advice import charts
from cyclewright.advice.case import riding_mass, row
from cyclewright.advice.needed import given
from cyclewright.advice.spread import interval
from cyclewright.advice.units_at_sag import Name, at_wheel
from cyclewright.knowledge.defaults import Filled
from cyclewright.knowledge.uncertainty import sigma as known_sigma
from cyclewright.mechanics import damper
from cyclewright.mechanics.damper import ClickLaw
from cyclewright.setting import Limit, Question, Setting
from cyclewright.solve.case import Array
from cyclewright.solve.solution import Solution
from cyclewright.units import show

Kind = Literal["rebound", "compression"]
KINDS: tuple[Kind, Kind] = ("rebound", "compression")
ENDS: tuple[Name, Name] = ("fork", "shock")

RATIO: dict[Kind, float] = {"rebound": 0.65, "compression": 0.40}
"""Damping over critical wanted in each direction, at low speed (common practice, no source:
mountain bikes as set up stand at about 0.4 to 1)."""
MADE_FOR = 80.0
"""Riding mass [kg] that the middle of a unit's range is taken to suit (judgement)."""
RANGE = 5.0
"""Damping with the adjuster closed over damping with it open (judgement)."""
OIL_40, OIL_100 = 15e-6, 6e-6
"""Viscosity of a usual damping oil at 40 and 100 °C [m²/s] (judgement)."""
OIL_WARMING = 5.0
"""How much warmer than the air a damper's oil is on the trail [K] (judgement)."""


RETUNE = "another tune of its damper by its maker cures it"


def settings(filled: Filled, springs: dict[str, Setting], outcome: Solution) -> tuple[Setting, ...]:
    """Rebound and compression of each end whose clicks are known, at what the springs are set."""
    found = []
    for name in ENDS:
        spring = springs.get(f"{name}_pressure") or springs.get(f"{name}_rate")
        if spring is not None:
            both = (_clicks(filled, name, kind, spring, outcome) for kind in KINDS)
            found += [one for one in both if one is not None]
    return tuple(found)


def questions(filled: Filled, springs: dict[str, Setting]) -> tuple[Question, ...]:
    """Click ranges that have to be counted before they can be set."""
    asked = []
    for name in ENDS:
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


def _clicks(
    filled: Filled, name: Name, kind: Kind, spring: Setting, outcome: Solution
) -> Setting | None:
    unit = getattr(filled.sheets.bike, name)
    counted = getattr(unit, f"{kind}_clicks")
    if counted is None:
        return None
    charted = None
    if spring.value is not None and spring.name.endswith("pressure"):
        charted = charts.click_row(unit.clicks, spring.value)
    told = None if charted is None else getattr(charted, kind)
    if told is None:
        return _by_ratio(filled, name, kind, counted, outcome)
    ends = [
        getattr(at, kind)
        for pressure in (spring.low, spring.high)
        if pressure is not None and (at := charts.click_row(unit.clicks, pressure)) is not None
    ]
    numbers = [told, *(end for end in ends if end is not None)]
    return _setting(
        filled, name, kind, told, (min(numbers), max(numbers)), counted, "maker",
        "maker's table of clicks", f"the {name}'s maker for this pressure",
    )  # fmt: skip


def _by_ratio(filled: Filled, name: Name, kind: Kind, counted: int, outcome: Solution) -> Setting:
    """Clicks for the damping ratio wanted on this spring, from a click law that is a default."""
    clicks = damper.clicks_for(*_law_and_wanted(filled, name, kind, counted, outcome), counted)
    low, high = interval(clicks.clicks)
    nearest = float(np.round(clicks.clicks[0]))
    stop = f", which its {clicks.limit[0]} end stops ({RETUNE})" if clicks.limit[0] else ""
    return _setting(
        filled, name, kind, nearest, (low, high), counted, "model",
        "damping ratio at the wheel, docs/sums.md",
        f"default: {RATIO[kind]:g} of critical under {riding_mass(filled):.0f} kg{stop}; "
        f"its middle taken to suit {MADE_FOR:.0f} kg",
    )  # fmt: skip


def _law_and_wanted(
    filled: Filled, name: Name, kind: Kind, counted: int, outcome: Solution
) -> tuple[ClickLaw, Array]:
    """What a click does on this unit, and the damping wanted, both at the wheel [N·s/m].

    A rider of the mass the unit is made for has mass and rate in proportion at the same sag.
    """
    here = at_wheel(outcome, name)
    mass, rate = np.maximum(here.sprung_mass, 1.0), np.maximum(here.rate, 1.0)
    lighter = MADE_FOR / riding_mass(filled)
    middle = damper.damping_for(mass[0] * lighter, rate[0] * lighter, RATIO[kind])
    half = np.sqrt(RANGE) * np.exp(known_sigma("damper.range").value * row("damper.clicks"))
    half = np.maximum(half, 1.2)
    law = damper.click_law(0, middle * half, counted, middle / half)
    spread = np.exp(known_sigma("damper.ratio").value * row("damper.ratio"))
    return law, damper.damping_for(mass, rate, RATIO[kind] * spread)


def _setting(
    filled: Filled,
    name: Name,
    kind: Kind,
    value: float,
    span: tuple[float, float],
    counted: int,
    basis: Literal["maker", "model"],
    source: str,
    because: str,
) -> Setting:
    whole = "this unit's counted range"
    return Setting(
        f"{name}_{kind}",
        float(value),
        "1",
        float(min(span[0], value)),
        float(max(span[1], value)),
        basis,
        source,
        f"{because}; count out from gently closed",
        "clicks",
        1.0,
        f"{name.capitalize()} {kind}",
        (Limit(whole, "min", 0), Limit(whole, "max", counted)),
        _oil(filled, kind, counted),
    )


def _oil(filled: Filled, kind: Kind, counted: int) -> tuple[str, ...]:
    """What the trail's temperature does to these clicks, where it is worth a click."""
    place = filled.sheets.place
    here = given(place.workshop.temperature).value
    there = given(place.trail.temperature).value + OIL_WARMING
    cold, now = damper.oil_viscosity([there, here], OIL_40, OIL_100)
    thicker = float(damper.slope_at_viscosity(1.0, cold, now))
    clicks = round(counted * float(np.log(thicker)) / float(np.log(RANGE)))
    set_at = show(here, "°C", 1)
    if clicks == 0:
        return ()
    share, way = abs(thicker - 1.0), "out" if clicks > 0 else "in"
    more = "firmer" if thicker > 1.0 else "softer"
    plural = "click" if abs(clicks) == 1 else "clicks"
    return (
        f"Set at {set_at}: with oil at {show(there, '°C', 1)} on the trail {kind} is some "
        f"{share * 100:.0f} % {more}; there about {abs(clicks)} {plural} further {way}.",
    )
