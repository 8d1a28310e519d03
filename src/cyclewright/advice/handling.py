"""Weight on the wheels and geometry at sag and anywhere in the travel, at what was set."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cyclewright.advice.spread import setting
from cyclewright.setting import Setting
from cyclewright.solve import chassis
from cyclewright.solve.case import Array, nominal
from cyclewright.solve.solution import Solution, State
from cyclewright.units import show

SOURCE = "coupled solve, docs/sums.md"
AT_SAG = (
    ("head_angle", "Head angle", "rad", "°", 0.1),
    ("trail", "Trail", "m", "mm", 1.0),
    ("bb_height", "Bottom bracket above the ground", "m", "mm", 1.0),
)
"""Geometry that is told at sag: its label, unit, and how it is shown."""
EQUAL_SAG = 0.30
"""Share of travel at both ends for comparing bikes alike (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class AtTravel:
    """The bike's geometry, nominally, with so much of each travel used; standing tyres."""

    words: str
    fork_travel: float
    """Along the fork [m]."""
    rear_travel: float
    """Vertical, at the wheel [m]."""
    head_angle: float
    trail: float
    bb_height: float
    wheelbase: float
    pitch: float
    """Of the frame from unloaded, nose up positive [rad]."""


def at_travel(outcome: Solution, fork_share: float, rear_share: float, words: str = "") -> AtTravel:
    """Geometry with these shares of fork travel and of rear wheel travel used."""
    fork = fork_share * float(outcome.case.fork.travel[0])
    return _at(outcome, fork, rear_share * float(outcome.case.rear_travel[0]), words)


def through_travel(outcome: Solution) -> tuple[AtTravel, ...]:
    """Unloaded, at the sag standing, at equal sag, dived, squatted, and at full travel."""
    still, sag = outcome.unloaded, outcome.standing
    ends = [
        AtTravel(
            "unloaded", 0.0, 0.0,
            *(float(one[0]) for one in (
                still.head_angle, still.trail, still.bb_height, still.wheelbase, still.pitch
            )),
        ),
        _at(outcome, float(sag.fork_compression[0]), float(sag.rear_travel[0]), "at sag, standing"),
    ]  # fmt: skip
    both = outcome.case.rear_travel[0] > 0.0
    if outcome.case.fork.travel[0] > 0.0:
        rear = EQUAL_SAG if both else 0.0
        words = f"{EQUAL_SAG * 100:.0f} % of {'each travel' if both else 'its travel'}"
        ends.append(at_travel(outcome, EQUAL_SAG, rear, words))
        ends.append(at_travel(outcome, 0.7, 0.2 if both else 0.0, "dived: fork 70 %"))
    if both:
        ends.append(at_travel(outcome, 0.1, 0.5, "squatted: rear 50 %"))
    if outcome.case.fork.travel[0] > 0.0:
        ends.append(at_travel(outcome, 1.0, 1.0 if both else 0.0, "full travel"))
    return tuple(ends)


def _at(outcome: Solution, fork: float, rear: float, words: str) -> AtTravel:
    case, standing = nominal(outcome.case), outcome.standing
    found = chassis.geometry(
        case, chassis.frame(case), np.array([fork]), np.array([rear]),
        standing.front_drop[:1], standing.rear_drop[:1],
    )  # fmt: skip
    return AtTravel(
        words, fork, rear,
        *(float(one[0]) for one in (
            found.head_angle, found.trail, found.bb_height, found.wheelbase, found.pitch
        )),
    )  # fmt: skip


def settings(outcome: Solution) -> tuple[Setting, ...]:
    """Front loads seated and standing, head angle, trail and bottom bracket, standing at sag."""
    at_sag, unloaded = outcome.standing.geometry, outcome.unloaded
    return (
        _load("front_load_seated", "Front wheel load, seated", outcome.seated),
        _load("front_load_standing", "Front wheel load, standing", outcome.standing),
        *(
            setting(
                f"{name}_at_sag",
                f"{label} at sag",
                getattr(at_sag, name),
                unit,
                display,
                graduation,
                basis="model",
                source=SOURCE,
                because=_against(getattr(unloaded, name), display, graduation),
            )
            for name, label, unit, display, graduation in AT_SAG
        ),
    )


def _load(name: str, label: str, state: State) -> Setting:
    share = float(state.front_load[0] / (state.front_load[0] + state.rear_load[0]))
    return setting(
        name,
        label,
        state.front_load,
        "N",
        "N",
        5.0,
        basis="model",
        source=SOURCE,
        because=f"{show(share, '%', 1)} of rider, kit and bike, on level ground",
    )


def _against(unloaded: Array, display: str, graduation: float) -> str:
    return f"standing on level ground; unloaded {show(float(unloaded[0]), display, graduation)}"
