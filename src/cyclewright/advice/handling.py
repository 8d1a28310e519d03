"""Weight on the wheels and geometry at sag, at what was set."""

from __future__ import annotations

from cyclewright.advice.spread import setting
from cyclewright.setting import Setting
from cyclewright.solve.case import Array
from cyclewright.solve.solution import Solution, State
from cyclewright.units import show

SOURCE = "coupled solve, docs/sums.md"


def settings(outcome: Solution) -> tuple[Setting, ...]:
    """Front loads seated and standing, head angle, trail and bottom bracket, standing at sag."""
    at_sag = outcome.standing.geometry
    return (
        _load("front_load_seated", "Front wheel load, seated", outcome.seated),
        _load("front_load_standing", "Front wheel load, standing", outcome.standing),
        setting(
            "head_angle_at_sag",
            "Head angle at sag",
            at_sag.head_angle,
            "rad",
            "°",
            0.1,
            basis="model",
            source=SOURCE,
            because=_against(outcome.unloaded.head_angle, "°", 0.1),
        ),
        setting(
            "trail_at_sag",
            "Trail at sag",
            at_sag.trail,
            "m",
            "mm",
            1.0,
            basis="model",
            source=SOURCE,
            because=_against(outcome.unloaded.trail, "mm", 1.0),
        ),
        setting(
            "bb_height_at_sag",
            "Bottom bracket above the ground at sag",
            at_sag.bb_height,
            "m",
            "mm",
            1.0,
            basis="model",
            source=SOURCE,
            because=_against(outcome.unloaded.bb_height, "mm", 1.0),
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
