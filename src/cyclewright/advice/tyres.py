"""Tyre pressures from wheel loads, casing, rim and ground, inside every maker's limit."""

from __future__ import annotations

from typing import Literal

import numpy as np

from cyclewright.advice import limits
from cyclewright.advice.needed import given
from cyclewright.advice.spread import setting
from cyclewright.body import balance
from cyclewright.knowledge import grounds
from cyclewright.knowledge.defaults import Filled
from cyclewright.mechanics import tyre as sums
from cyclewright.setting import Finding, Limit, Question, Setting
from cyclewright.solve.case import Array
from cyclewright.solve.coupled import edge, roll_off
from cyclewright.solve.solution import Solution
from cyclewright.units import show

End = Literal["front", "rear"]
ENDS: tuple[End, End] = ("front", "rear")
SEATING_CAUTION = "Eyes protected when seating a tyre; never above the lowest of the limits."


def settings(filled: Filled, solution: Solution) -> tuple[Setting, ...]:
    """Front and rear pressure, gauge at the workshop."""
    return tuple(_pressure(filled, solution, end) for end in ENDS)


def outcomes(filled: Filled, outcome: Solution) -> tuple[Setting, ...]:
    """How far each tyre lets its axle down at what was set, to be measured against."""
    return tuple(_drop(outcome, end) for end in ENDS if approved(filled, end))


def axle_drop(solution: Solution, end: End) -> Array:
    """How much lower an axle stands with the rider standing on the bike than with nobody on [m].

    Both on flat ground; drop goes with load, so what the bike alone presses in is no part of it.
    """
    case, standing, front = solution.case, solution.standing, end == "front"
    drop = standing.front_drop if front else standing.rear_drop
    load = standing.front_load if front else standing.rear_load
    share = balance.BIKE_CENTRE_SHARE if front else 1.0 - balance.BIKE_CENTRE_SHARE
    alone = share * case.bike_mass * balance.STANDARD_GRAVITY
    below: Array = drop * np.clip(1.0 - alone / np.maximum(load, 1.0), 0.0, 1.0)
    return below


def _drop(outcome: Solution, end: End) -> Setting:
    tyre = outcome.case.front_tyre if end == "front" else outcome.case.rear_tyre
    drop = axle_drop(outcome, end)
    return setting(
        f"{end}_tyre_drop",
        f"{end.capitalize()} axle lower with the rider on",
        drop,
        "m",
        "mm",
        0.5,
        basis="model",
        source="edge contact model, docs/sums.md",
        because=f"standing, on flat ground: {float(drop[0] / tyre.width[0]):.0%} of its section; "
        "measured, it tells how stiff the tyre is",
    )


def findings(filled: Filled, solution: Solution) -> tuple[Finding, ...]:
    """Tyres that get no number, and tyres held softer than the ground asks, and why."""
    found = []
    for end in ENDS:
        if _refused(filled, end) is False:
            found.append(_not_approved(end))
        inside, marked = limits.held(0.0, limits.tyre_limits(filled, end))
        if inside is None:
            found.append(_no_window(end, marked))
        elif approved(filled, end):
            found += _held_soft(filled, solution, end)
    return tuple(found)


def questions(filled: Filled) -> tuple[Question, ...]:
    """What has to be looked up before a tyre gets a number."""
    asked = []
    for end in ENDS:
        tyre, wheel = getattr(filled.sheets.bike.tyre, end), getattr(filled.sheets.bike.wheel, end)
        if wheel.hooked is None:
            asked.append(
                Question(
                    f"bike.wheel.{end}.hooked",
                    f"Has the {end} rim hooks for the tyre's bead?",
                    "A rim without hooks takes approved tyres only, and 5 bar at most.",
                    ("true", "false"),
                )
            )
        elif wheel.hooked is False and tyre.hookless_ok is None:
            asked.append(
                Question(
                    f"bike.tyre.{end}.hookless_ok",
                    f"Do the tyre's and the rim's makers both allow the {end} tyre without hooks?",
                    "No pressure is given for a hookless rim until they do.",
                    ("true", "false"),
                )
            )
    return tuple(asked)


def approved(filled: Filled, end: End) -> bool:
    """Whether tyre and rim may be used together at all, as far as anyone has said."""
    return _refused(filled, end) is None


def _refused(filled: Filled, end: End) -> bool | None:
    """None when the pair may be used, True when unknown, False when not allowed."""
    tyre, wheel = getattr(filled.sheets.bike.tyre, end), getattr(filled.sheets.bike.wheel, end)
    if wheel.hooked is None:
        return True
    if wheel.hooked or tyre.hookless_ok:
        return None
    return tyre.hookless_ok is None


def _pressure(filled: Filled, solution: Solution, end: End) -> Setting:
    goal = solution.front_tyre_goal if end == "front" else solution.rear_tyre_goal
    wanted = float(goal[0])
    inside, marked = limits.held(wanted, limits.tyre_limits(filled, end))
    return setting(
        f"{end}_tyre_pressure",
        f"{end.capitalize()} tyre",
        goal,
        "Pa",
        "psi",
        0.5,
        basis="model",
        source="edge contact model, docs/sums.md",
        because=_because(filled, solution, end),
        value=inside,
        impossible=inside is None or not approved(filled, end),
        limits=marked,
        cautions=(SEATING_CAUTION, *_out_there(filled, inside)),
        beside=() if goal[0] <= 0.0 else _beside(solution, end),
        wanted=None if inside == wanted else wanted,
        cure=_cure(wanted, inside),
    )


def _cure(wanted: float, inside: float | None) -> str:
    if inside is not None and inside > wanted:
        return "a tyre whose maker allows less"
    return "a wider tyre, an insert, or a tyre and rim that allow more"


HABIT = "habit of a first mountain-bike pressure, front and rear alike: 30 psi; comparison only"


def _beside(solution: Solution, end: End) -> tuple[str, ...]:
    """What habit and a rule of the road would say, never advice."""
    standing, front = solution.standing, end == "front"
    tyre = solution.case.front_tyre if front else solution.case.rear_tyre
    at = solution.front_tyre_pressure if front else solution.rear_tyre_pressure
    load = standing.front_load if front else standing.rear_load
    sizes = (tyre.radius[0], tyre.width[0], tyre.casing[0])
    # Drop goes as one over pressure, so one drop gives the pressure of any other.
    deep = float(sums.drop(load[0], at[0], *sizes)) / float(tyre.width[0])
    rule = float(at[0]) * deep / ROAD_DROP
    return (
        HABIT,
        f"15 % drop rule of the road: {show(rule, 'psi', 0.5)}; comparison only, far too soft "
        f"here; as advised it drops {deep * 100:.0f} % of its section on flat ground",
    )


_MARK = 0.5 * 6894.757293168361
"""One mark of a tyre's gauge [Pa]."""
ROAD_DROP = 0.15
"""Drop of a road tyre over its section that the rule of that trade asks for [1]."""


def _because(filled: Filled, solution: Solution, end: End) -> str:
    """What the wheel carries, and which of the two dangers of a soft tyre asks for the most."""
    front, standing = end == "front", solution.standing
    load = standing.front_load if front else standing.rear_load
    tyre = solution.case.front_tyre if front else solution.case.rear_tyre
    rider = filled.sheets.rider
    ride = None if rider is None else rider.ride
    ground = grounds.ground(ride)
    told = f"{show(float(load[0]), 'N', 5)} standing" + (", more when braking" if front else "")
    if roll_off(tyre, load)[0] >= edge(tyre, load)[0]:
        return f"{told}: the least that keeps the bead of so wide a tyre on this rim in a corner"
    insert = ", its insert taking a fifth of them" if _insert(filled, end) else ""
    default = "" if ride and not filled.default("rider.ride") else "default: "
    edges = f"the edges of {default}{ground.name} ground ({ground.meaning})"
    return f"{told}: the least that keeps the rim off {edges}{insert}"


def _out_there(filled: Filled, set_to: float | None) -> tuple[str, ...]:
    """What it reads on the trail before it warms, where a gauge would tell the two apart."""
    if set_to is None:
        return ()
    place = filled.sheets.place
    reads, there = limits.on_trail(place, set_to), place.trail
    if abs(reads - set_to) < _MARK / 2:
        return ()
    at = f"{show(given(there.temperature).value, '°C', 1)}, {given(there.altitude).value:.0f} m"
    return (f"On the trail ({at}) it reads {show(reads, 'psi', 0.5)} before it warms.",)


def _insert(filled: Filled, end: End) -> bool:
    return bool(getattr(filled.sheets.bike.tyre, end).insert)


def _not_approved(end: End) -> Finding:
    return Finding(
        "hookless-not-approved",
        "stop",
        (f"the {end} rim has no hooks", f"the {end} tyre is not allowed without them"),
        "An unapproved tyre on a rim without hooks can leave it at any pressure.",
        "Fit an approved tyre or a rim with hooks; there is no safe pressure.",
        (f"bike.wheel.{end}.hooked", f"bike.tyre.{end}.hookless_ok"),
    )


def _held_soft(filled: Filled, solution: Solution, end: End) -> list[Finding]:
    """A maximum that lies below what keeps the rim off the ground or the bead in its seat."""
    goal = float((solution.front_tyre_goal if end == "front" else solution.rear_tyre_goal)[0])
    _, marked = limits.held(goal, limits.tyre_limits(filled, end))
    binding = [limit for limit in marked if limit.binds and limit.kind == "max"]
    return [
        Finding(
            f"{end}-tyre-pressure-limit",
            "warn",
            (
                f"rider and ground want {show(goal, 'psi', 0.5)} in the {end} tyre",
                f"{limit.owner}: at most {show(limit.value, 'psi', 0.5)} at the workshop",
            ),
            "The lowest maximum always binds.",
            "Ride smoother ground, or fit a wider tyre, an insert or parts that allow more.",
            (f"bike.tyre.{end}.pressure_max", f"bike.wheel.{end}.pressure_max"),
        )
        for limit in binding
    ]


def _no_window(end: End, marked: tuple[Limit, ...]) -> Finding:
    facts = tuple(
        f"{limit.owner}: {'at least' if limit.kind == 'min' else 'at most'} "
        f"{show(limit.value, 'psi', 0.5)} at the workshop"
        for limit in marked
        if limit.binds
    )
    return Finding(
        "no-tyre-pressure",
        "stop",
        facts,
        "A tyre is set between the highest minimum and the lowest maximum.",
        "Nothing lies between them: check both markings, or fit another tyre or rim.",
        (f"bike.tyre.{end}.pressure_min", f"bike.tyre.{end}.pressure_max"),
    )
