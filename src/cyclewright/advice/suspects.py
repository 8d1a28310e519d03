"""What else may be wrong when a sag reading is odd, and how likely each is.

Each cause says what the ring would then have shown, over the draws. Bayes' rule with a weight by
habit of the trade gives how sure each is, given what was read; the three likeliest are asked.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from cyclewright.advice import units_at_sag
from cyclewright.advice.case import with_spacers
from cyclewright.advice.readings import SagReading, as_it_was, compression, expected, one_sit_down
from cyclewright.errors import InputError
from cyclewright.mechanics import airspring
from cyclewright.setting import Finding
from cyclewright.solve.case import Array, Case, Spring
from cyclewright.solve.coupled import solve
from cyclewright.solve.solution import Solution
from cyclewright.solve.tables import deviates

Unit = Literal["fork", "shock"]
ASKED = 3
"""How many questions are asked at once."""
HELD_DOWN = 0.25
"""The most of its travel that a unit may stay short of full length by (judgement)."""
RING_SLIPS = 0.20
"""The most of the travel that a loose or pushed ring is off by (judgement)."""
LEANED = (0.25, 1.4)
"""Sag over the usual one of a rider who leans, holds on or holds a brake (judgement)."""
PRELOAD = 0.012
"""The most preload past the turn or two that hold a coil [m] (judgement)."""
MASS_OFF = 0.12
"""Spread of a mass that was said wrong or weighed without kit [1] (judgement)."""
STICKS = 0.12
"""Spread of the sag where seals or pivots stick [1] (judgement)."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """One cause: its code, how often it is behind an odd reading, and what to ask."""

    code: str
    weight: float
    rule: str
    do: str


def _suspects(name: Unit) -> tuple[Suspect, ...]:
    return (
        Suspect(
            "not-fully-extended",
            0.22,
            f"A {name} held down by its own negative air reads short.",
            f"Lift the bike off its wheels: does the {name} come out to its full length?",
        ),
        Suspect(
            "not-equalised",
            0.22,
            "The two chambers level out only as the piston passes the transfer point.",
            "Ten slow strokes through a third of the travel, read the pressure again, then sit.",
        ),
        Suspect(
            "other-posture",
            0.22,
            f"The maker reads this {name} in one posture only, with full kit.",
            "Which posture did you read it in, brakes off, settled after a bounce?",
        ),
        Suspect(
            "ring",
            0.14,
            "A loose ring slides on, a stuck one is left behind, and getting off may push it.",
            "Does the ring hold where you put it, at the seal before you sat and not pushed since?",
        ),
        Suspect(
            "preload",
            0.22,
            "Preload past a turn or two holds the unit up and sets no sag.",
            "Count the collar's turns from where the coil just stops rattling: more than two?",
        ),
        Suspect(
            "eye-to-eye",
            0.14,
            "Both lengths are measured between the same two points, in line with the unit.",
            "Measure again between the middles of both eyes, wheel lifted and loaded: the same?",
        ),
        Suspect(
            "wrong-mass",
            0.08,
            "The chart counts the rider with all that is worn and carried.",
            "Weigh the rider as dressed to ride, pack and water too: is it what the sheet says?",
        ),
        Suspect(
            "friction",
            0.06,
            f"A {name} whose seals or bushings stick settles where it was stopped.",
            "Push it a little and let go, then pull it a little: does it settle in one place?",
        ),
        Suspect(
            "wrong-spacers",
            0.06,
            "The chart holds for the volume spacers that the unit was delivered with.",
            "Open the empty unit's cap only by its maker's manual: how many spacers are in it?",
        ),
    )


@dataclass(frozen=True, slots=True)
class Suspicion:
    """A cause and the chance that it is the one behind this reading, of those we know."""

    suspect: Suspect
    chance: float


def suspicions(case: Case, reading: SagReading) -> tuple[Suspicion, ...]:
    """Every cause that can be behind an odd ring reading, the likeliest first."""
    assert reading.name in ("fork", "shock"), "a tyre's drop is not suspected"
    name: Unit = "fork" if reading.name == "fork" else "shock"
    shown = _shown(case, reading, name)
    spread = one_sit_down(case, reading) / np.sqrt(len(reading.each))
    weighed = [
        (one, one.weight * _density(shown[one.code], reading.value, spread))
        for one in _suspects(name)
        if one.code in shown
    ]
    whole = sum(weight for _, weight in weighed)
    found = [
        Suspicion(one, weight / whole if whole > 0.0 else one.weight) for one, weight in weighed
    ]
    return tuple(sorted(found, key=lambda one: -one.chance))


def findings(case: Case, reading: SagReading) -> tuple[Finding, ...]:
    """The questions to ask before any air is changed after an odd reading, likeliest first."""
    usual = expected(case, reading)
    found = []
    for one in suspicions(case, reading)[:ASKED]:
        read = f"read {reading.value * 1000:.0f} mm"
        found.append(
            Finding(
                f"{reading.name}-{one.suspect.code}",
                "warn",
                (read, f"expected about {usual * 1000:.0f} mm", _sure(one.chance)),
                one.suspect.rule,
                one.suspect.do,
                (f"bike.{reading.name}.posture",),
            )
        )
    return tuple(found)


def _sure(chance: float) -> str:
    """How sure, in tens."""
    tens = round(chance * 10)
    return "less than 1 in 10 of such readings" if tens < 1 else f"about {tens} in 10 such readings"


def _density(shown: Array, read: float, spread: float) -> float:
    """How densely the draws of a cause lie about what was read [1/m]."""
    apart = (shown[1:] - read) / spread
    return float(np.mean(np.exp(-0.5 * apart**2)) / (spread * np.sqrt(2.0 * np.pi)))


def _shown(case: Case, reading: SagReading, name: Unit) -> dict[str, Array]:
    """What the ring would have shown by each cause, over the draws [m]."""
    then = as_it_was(case, reading)
    solution = solve(then)
    spring: Spring = getattr(solution.case, name)
    travel, usual = spring.travel, compression(solution, name)
    chance = _uniform(usual)
    slip = RING_SLIPS * travel * (2.0 * chance - 1.0)
    normal = deviates()[-1]
    other = solution.at("seated" if spring.posture == "standing" else "standing")
    there = other.fork_compression if name == "fork" else other.shock_compression
    leaned = usual * (LEANED[0] + (LEANED[1] - LEANED[0]) * chance)
    shown = {
        "other-posture": np.where(np.arange(usual.size) % 2 == 0, there, leaned),
        "wrong-mass": usual * (1.0 + MASS_OFF * normal),
        "friction": usual * (1.0 + STICKS * normal),
    }
    if spring.kind == "air":
        shown["not-fully-extended"] = usual - HELD_DOWN * travel * chance
        shown["ring"] = usual + slip
        shown["not-equalised"] = _unlevelled(solution, name, spring, chance)
        shown |= _respaced(then, name)
    else:
        shown["preload"] = usual - PRELOAD * chance
        shown["eye-to-eye"] = usual + slip
    return {code: np.clip(draws, 0.0, travel) for code, draws in shown.items()}


def _uniform(like: Array) -> Array:
    """A fixed even spread from 0 to 1 over the draws, in no order that any of them knows."""
    count = like.size
    return np.concatenate(([0.5], (np.arange(1, count) * 0.6180339887498949) % 1.0))


def _unlevelled(solution: Solution, name: Unit, spring: Spring, share: Array) -> Array:
    """Stroke with the negative chamber only part of the way to the pressure of the other."""
    unit = units_at_sag.air_unit(spring)
    at, ambient = units_at_sag.setting(solution, name), solution.case.ambient
    level = airspring.fill(unit, at, ambient)
    force = airspring.slow_force(unit, level, compression(solution, name), ambient)
    stale = airspring.fill_unlevelled(unit, at, np.maximum(at, 0.0) * share, ambient)
    return airspring.rest(unit, stale, np.maximum(force, 0.0), ambient=ambient).stroke


def _respaced(case: Case, name: Unit) -> dict[str, Array]:
    """Stroke with a spacer more in half of the draws and one fewer in the others."""
    spring: Spring = getattr(case, name)
    found = []
    for added in (1, -1):
        try:
            unit = with_spacers(name, spring, added)
        except InputError:
            continue
        other = replace(case, fork=unit) if name == "fork" else replace(case, shock=unit)
        found.append(compression(solve(other), name))
    if not found:
        return {}
    first, last = found[0], found[-1]
    return {"wrong-spacers": np.where(np.arange(first.size) % 2 == 0, first, last)}
