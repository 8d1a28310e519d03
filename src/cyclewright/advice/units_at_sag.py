"""Fork and shock about the place where they ride: gas, rates at the wheel, force in hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from cyclewright.advice.case import LEAST_CHAMBER_LENGTH
from cyclewright.mechanics import airspring, fork, leverage
from cyclewright.mechanics.airspring import AirUnit, Charge
from cyclewright.solve.case import Array, Spring
from cyclewright.solve.coupled import GRAVITY, leverage_slope
from cyclewright.solve.coupled import leverage as ratio_at
from cyclewright.solve.solution import Solution

Name = Literal["fork", "shock"]
EXPONENT = 1.30
"""Polytropic exponent of fast strokes (judgement: 1.30 ± 0.05)."""
HOSE_VOLUME = 3e-6
"""Of a suspension pump's hose and gauge [m³] (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class AtWheel:
    """One end seen from its wheel, in the posture its sag is read in."""

    sprung_mass: Array
    """Carried by the spring [kg]."""
    rate: Array
    """Vertical, of fast strokes about the place where it rides [N/m]."""


def air_unit(spring: Spring) -> AirUnit:
    """The air spring of a case as it is built: its chambers and the damper's rod."""
    length = np.maximum(spring.air_length, LEAST_CHAMBER_LENGTH * spring.travel)
    return airspring.air_unit(
        spring.area,
        spring.area * length,
        spring.area * spring.negative_length,
        spring.travel,
        rod_force=spring.rod_force,
    )


def gas(solution: Solution, name: Name, unit: AirUnit) -> Charge:
    """What the unit holds at its setting."""
    return airspring.fill(unit, setting(solution, name), solution.case.ambient)


def setting(solution: Solution, name: Name) -> Array:
    """Pressure [Pa gauge] or rate [N/m]."""
    found: Array = getattr(solution, f"{name}_setting")
    return found


def compression(solution: Solution, name: Name) -> Array:
    """Where it rides in the posture its maker reads it in [m]."""
    spring: Spring = getattr(solution.case, name)
    state = solution.at(spring.posture)
    return state.fork_compression if name == "fork" else state.shock_compression


def at_wheel(solution: Solution, name: Name) -> AtWheel:
    """Mass and fast rate of one end at its wheel; rigid ends have none."""
    case, spring = solution.case, getattr(solution.case, name)
    state = solution.at(spring.posture)
    rate = _fast_rate(solution, name, spring)
    if name == "fork":
        mass = state.front_load / GRAVITY - case.unsprung_front
        return AtWheel(mass, fork.fork_wheel_rate(rate, state.geometry.head_angle))
    mass = state.rear_load / GRAVITY - case.unsprung_rear
    there = ratio_at(case, state.rear_travel)
    force = np.maximum(leverage.shock_force(state.rear_load, there, case.unsprung_rear), 0.0)
    slope = leverage_slope(case, state.rear_travel)
    return AtWheel(mass, leverage.wheel_rate(rate, force, there, slope))


def _fast_rate(solution: Solution, name: Name, spring: Spring) -> Array:
    if spring.kind == "coil":
        return setting(solution, name)
    unit = air_unit(spring)
    stroke = compression(solution, name)
    return airspring.fast_rate(unit, gas(solution, name, unit), stroke, stroke, EXPONENT)


def reserve(spring: Spring, at: Array, stroke: Array, ambient: Array) -> Array:
    """Force of a fast stroke at full travel over the force at this stroke [1]; no stop counted.

    `at` is the pressure [Pa gauge] of an air spring; a coil has the same at any rate.
    """
    if spring.kind == "coil":
        return (spring.travel + spring.preload) / np.maximum(stroke + spring.preload, 1e-6)
    unit = air_unit(spring)
    charge = airspring.fill(unit, at, ambient)
    force = np.maximum(airspring.slow_force(unit, charge, stroke, ambient), 1.0)
    full = airspring.fast_force(unit, charge, spring.travel, stroke, EXPONENT, ambient)
    return full / force


def same_sag(was: Spring, now: Spring, at: Array, stroke: Array, ambient: Array) -> Array:
    """Pressure [Pa gauge] at which a unit otherwise built holds what it held at this stroke."""
    before = air_unit(was)
    force = airspring.slow_force(before, airspring.fill(before, at, ambient), stroke, ambient)
    return airspring.pressure_for(air_unit(now), np.maximum(force, 1.0), stroke, ambient)


def hose_takes(spring: Spring, at: Array, ambient: Array) -> Array:
    """Pressure [Pa] that a spring loses to a pump's empty hose when it is screwed on."""
    unit = air_unit(spring)
    on = airspring.connect(unit, airspring.fill(unit, at, ambient), HOSE_VOLUME, ambient)
    return at - on.reading_gauge


def before_the_hose(spring: Spring, reading: float, ambient: Array) -> float:
    """What a spring held [Pa gauge] before the pump that now reads this was screwed on."""
    return float(
        airspring.before_connecting(air_unit(spring), reading, HOSE_VOLUME, ambient).flat[0]
    )
