"""The saddle's tilt: level once this rider sits, and what either way costs."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from cyclewright.advice.needed import given
from cyclewright.advice.spread import interval, setting
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Limit, Setting
from cyclewright.solve.coupled import GRAVITY
from cyclewright.solve.solution import Solution

RANGE = (math.radians(-3.0), 0.0)
"""Lowest and highest nose angle on the bike unloaded [rad]: level to very slightly down."""
LOWEST_AT_SAG = math.radians(-1.0)
"""Lowest nose angle wanted once the rider sits; level is the highest [rad] (judgement)."""
STEP = math.radians(0.5)
"""How finely a saddle's tilt is set and read [rad]."""
SEAT_SHARE = (0.4, 0.5, 0.6)
"""Share of rider and kit on the saddle while pedalling easily: low, middle, high (judgement)."""
CLIMB = 0.10
"""Slope of a steady climb [1] (common practice, no source)."""


def tilt(outcome: Solution) -> Setting:
    """Nose angle on the unloaded bike such that the saddle is level once the rider sits.

    The frame turns as it sags, nose up where the rear sinks further, and the saddle with it.
    """
    turn = outcome.seated.geometry.pitch
    low, high = interval(-turn)
    wanted = round(-float(turn[0]) / STEP) * STEP
    chosen = min(max(wanted, RANGE[0]), RANGE[1])
    return Setting(
        name="saddle_tilt",
        value=chosen,
        unit="rad",
        low=low + LOWEST_AT_SAG,
        high=high,
        basis="practice",
        source="common practice, no source; the frame's turn: this rider seated at sag",
        because="default: level to a degree nose down once this rider sits; the sagging "
        f"frame turns {_turned(float(turn[0]))}, so on the bike unloaded it is set {_nose(chosen)}",
        display="°",
        graduation=0.5,
        label="Saddle tilt unloaded, nose up positive",
        limits=(
            Limit("common practice", "min", RANGE[0], wanted < RANGE[0]),
            Limit("common practice", "max", RANGE[1], wanted > RANGE[1]),
        ),
    )


def at_sag(settings: Iterable[Setting], outcome: Solution) -> Setting:
    """The nose angle with the rider on it, when it is set as these settings say."""
    made = next(item for item in settings if item.name == "saddle_tilt")
    assert made.value is not None
    return setting(
        "saddle_tilt_at_sag",
        "Saddle with the rider on it, nose up positive",
        made.value + outcome.seated.geometry.pitch,
        "rad",
        "°",
        0.5,
        basis="model",
        source="this rider seated at sag",
        because="its tilt unloaded, and the frame's turn as both ends sag",
    )


def words(filled: Filled, outcome: Solution) -> tuple[tuple[str, str], ...]:
    """What either way costs, with what statics can say of it."""
    case, turn = outcome.case, np.degrees(outcome.seated.geometry.pitch)
    least, most = interval(turn)
    degree = math.sin(math.radians(1.0))
    weight = float(case.rider_mass[0] + case.kit_mass[0]) * GRAVITY
    low, push, high = (share * weight * degree for share in SEAT_SHARE)
    lift = given(filled.sheets.bike.saddle.height).value * degree
    climb = math.degrees(math.atan(CLIMB))
    return (
        (
            "level",
            "with the rider on it, that is: the sagging frame turns "
            f"{_turned(math.radians(turn[0]))} (nose up: {least:.1f} to {most:.1f}°), and the "
            "saddle with it; that is taken off beforehand",
        ),
        (
            "nose up",
            "presses on soft tissue and tips the pelvis back; numbness means nose down (common "
            f"practice, no source); a climb of {CLIMB:.0%} lifts the nose by {climb:.1f}° more, so "
            "who climbs much sets it lower",
        ),
        (
            "nose down",
            f"each degree pushes this rider forward with {push:.0f} N ({low:.0f} to {high:.0f}), "
            "half of the weight on the saddle: cloth holds that on smooth ground, hands and "
            "shoulders where it shakes",
        ),
        (
            "to the rest of the fit",
            f"a degree moves the seat by {lift * 1000:.1f} mm about its clamp: height, reach and "
            "wheel loads stay",
        ),
    )


def _turned(turn: float) -> str:
    return f"{math.degrees(abs(turn)):.1f}° nose {'up' if turn > 0.0 else 'down'}"


def _nose(angle: float) -> str:
    return "level" if abs(angle) < STEP / 2 else _turned(angle)
