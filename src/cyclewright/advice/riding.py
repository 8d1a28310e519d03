"""What was set in the workshop, out on the trail: warmed air, thinner air, and a descent."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from cyclewright.advice.case import Kept, row, set_to
from cyclewright.advice.needed import given
from cyclewright.advice.spread import setting
from cyclewright.knowledge.defaults import Filled
from cyclewright.knowledge.uncertainty import sigma as known_sigma
from cyclewright.mechanics import gas
from cyclewright.setting import Setting
from cyclewright.solve.case import Array, Case, Spring
from cyclewright.solve.coupled import solve
from cyclewright.solve.solution import Solution
from cyclewright.units import show

SOURCE = "coupled solve with the trail's air, docs/sums.md"
WARMING = 15.0
"""How much warmer than the air the gas of a spring runs in use [K] (judgement)."""
CAUTION = "Let it cool before you pump: a hot spring reads high, and sags more when it is cold."


@dataclass(frozen=True, slots=True)
class Air:
    """The air around a spring and in it."""

    ambient: float
    """[Pa]."""
    temperature: Array
    """Of the gas [K], with its draws."""


def settings(filled: Filled, kept: Kept, outcome: Solution) -> tuple[Setting, ...]:
    """Sag ridden in on this trail, and loads and angles on its usual descent."""
    return (*_ridden_in(filled, kept, outcome), *_descending(filled, kept, outcome))


def _ridden_in(filled: Filled, kept: Kept, outcome: Solution) -> tuple[Setting, ...]:
    """Fork and shock at the trail's altitude, the gas warmed by use."""
    case = outcome.case
    if "air" not in (case.fork.kind, case.shock.kind):
        return ()
    there = _trail(filled)
    ridden = solve(_moved(filled, case, kept, there), like=outcome)
    found = []
    for name in ("fork", "shock"):
        spring: Spring = getattr(case, name)
        if spring.kind == "air":
            found.append(_sag(filled, outcome, ridden, name, there))
    return tuple(found)


def _trail(filled: Filled) -> Air:
    place = filled.sheets.place
    air = gas.standard_atmosphere(given(place.trail.altitude).value)
    warmed = WARMING + known_sigma("gas.warming").value * row("gas.warming")
    return Air(float(air.pressure), given(place.trail.temperature).value + warmed)


def _moved(filled: Filled, case: Case, kept: Kept, there: Air) -> Case:
    """The case with each air spring's gas as it is out there; nothing was pumped since."""
    here = given(filled.sheets.place.workshop.temperature).value

    def carried(spring: Spring, set_to_: float | None) -> Spring:
        if spring.kind != "air" or set_to_ is None:
            return spring
        absolute = (set_to_ + case.ambient) * there.temperature / here
        return replace(spring, kept_pressure=absolute - there.ambient)

    still = set_to(case, kept)
    return replace(
        still,
        fork=carried(still.fork, kept.fork),
        shock=carried(still.shock, kept.shock),
        ambient=np.full_like(case.ambient, there.ambient),
    )


def _sag(filled: Filled, outcome: Solution, ridden: Solution, name: str, there: Air) -> Setting:
    spring: Spring = getattr(ridden.case, name)
    state = ridden.at(spring.posture)
    draws = state.fork_compression if name == "fork" else state.shock_compression
    gauge = 0.0 if spring.kept_pressure is None else float(spring.kept_pressure[0])
    before = outcome.at(spring.posture)
    cold = before.fork_compression if name == "fork" else before.shock_compression
    place = filled.sheets.place
    warm = show(float(there.temperature[0]), "°C", 1)
    return setting(
        f"{name}_sag_ridden_in",
        f"{name.capitalize()} sag once ridden in",
        draws,
        "m",
        "mm",
        1.0,
        basis="model",
        source=SOURCE,
        because=f"at {given(place.trail.altitude).value:.0f} m with its air at {warm}: "
        f"{show(gauge, 'psi', 1)} on a gauge there, {show(float(cold[0]), 'mm', 1)} cold",
        cautions=(CAUTION,),
    )


def _descending(filled: Filled, kept: Kept, outcome: Solution) -> tuple[Setting, ...]:
    """Standing on the trail's usual descent at an even speed, brakes holding it."""
    slope = math.atan(given(filled.sheets.place.trail.slope).value)
    if slope == 0.0:
        return ()
    case = set_to(outcome.case, kept)
    down = solve(replace(case, slope=np.full_like(case.slope, slope)), like=outcome).standing
    # A wheel that lifts carries nothing, and the other one all.
    weight = down.front_load + down.rear_load
    front = np.clip(down.front_load, 0.0, weight)
    told = f"{float(front[0] / weight[0]) * 100:.0f} % of the load on both wheels"
    if down.rear_load[0] < 0.0:
        told = "all of the load: the rear wheel lifts unless the rider moves back"
    elif down.front_load[0] < 0.0:
        told = "nothing: the front wheel lifts unless the rider moves forward"
    level = float(outcome.standing.geometry.head_angle[0])
    words = f"on a descent of {math.tan(slope):.0%}, standing as on the level, at an even speed"
    found = [
        setting(
            "front_load_descending",
            "Front wheel load, descending",
            front,
            "N",
            "N",
            5.0,
            basis="model",
            source=SOURCE,
            because=f"{words}: {told}",
        ),
        setting(
            "head_angle_descending",
            "Head angle to the ground, descending",
            down.geometry.head_angle,
            "rad",
            "°",
            0.1,
            basis="model",
            source=SOURCE,
            because=f"{words}; {show(level, '°', 0.1)} on the level",
        ),
    ]
    if case.fork.kind != "rigid":
        travel = float(case.fork.travel[0])
        used = float(down.fork_compression[0]) / travel
        found.insert(
            1,
            setting(
                "fork_sag_descending",
                "Fork sag, descending",
                down.fork_compression,
                "m",
                "mm",
                1.0,
                basis="model",
                source=SOURCE,
                because=f"{words}: {used * 100:.0f} % of its travel, braking force left out",
            ),
        )
    return tuple(found)
