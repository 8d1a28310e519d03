"""Invented bikes and riders as Solutions, for looking at paper: plausible sags, real geometry.

The geometry and poses are the program's own; sags, loads and pressures are put in by hand, so
that these tests say how things are drawn, never what the sums should be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any

import numpy as np

from cyclewright.body import posture, segments
from cyclewright.solve import chassis
from cyclewright.solve.case import Array, Case, Spring, Tyre
from cyclewright.solve.solution import Solution, State


@dataclass(frozen=True)
class Build:
    """One bike and rider in the units of a sheet: millimetres, degrees, kilograms."""

    kind: str = "full-suspension"
    wheelbase: float = 1212
    chainstay: float = 437
    bb_drop: float = 35
    head_angle: float = 65.0
    seat_angle: float = 76.5
    seat_angle_actual: float = 73.0
    reach: float = 455
    stack: float = 622
    seat_tube: float = 420
    axle_to_crown: float = 551
    offset: float = 44
    fork_travel: float = 150
    rear_travel: float = 140
    stroke: float = 55
    shock_kind: str = "air"
    spacers: float = 20
    stem: float = 45
    bar_rise: float = 25
    front_radius: float = 371
    rear_radius: float = 371
    section: float = 58
    stature: float = 1750
    inseam: float = 820
    sex: str | None = None
    saddle_height: float = 715
    mass: float = 76
    fork_sag: float = 0.26
    rear_sag: float = 0.29


TRAIL = Build()
LIGHT = Build(
    reach=430,
    stack=605,
    wheelbase=1170,
    seat_tube=380,
    stature=1580,
    inseam=730,
    sex="F",
    saddle_height=618,
    mass=57,
    spacers=10,
    bar_rise=15,
)
HEAVY = Build(
    reach=490,
    stack=640,
    wheelbase=1262,
    seat_tube=460,
    stature=1900,
    inseam=895,
    sex="M",
    saddle_height=785,
    mass=104,
    spacers=30,
    bar_rise=35,
    seat_angle=77.0,
)
HARDTAIL = Build(
    kind="hardtail",
    wheelbase=1150,
    head_angle=67.5,
    seat_angle=74.0,
    seat_angle_actual=73.5,
    reach=430,
    stack=620,
    seat_tube=455,
    axle_to_crown=506,
    fork_travel=100,
    rear_travel=0,
    stroke=0,
    chainstay=440,
    bb_drop=60,
    bar_rise=10,
    section=54,
    saddle_height=712,
)
LONGTRAVEL = Build(
    wheelbase=1265, head_angle=63.5, seat_angle=77.5, seat_angle_actual=72.0, reach=480,
    stack=635, seat_tube=430, axle_to_crown=586, fork_travel=170, rear_travel=165, stroke=65,
    shock_kind="coil", chainstay=442, bb_drop=22, rear_radius=352, section=61, stature=1860,
    inseam=870, saddle_height=760, mass=92,
)  # fmt: skip


@lru_cache(maxsize=16)
def solution(build: Build = TRAIL, change: float = 0.0) -> Solution:
    """The build as a Solution of one draw; `change` raises the bar by spacers [mm]."""
    case = _case(build, change)
    parts = chassis.frame(case)
    still = np.zeros(1)
    contacts = posture.Contacts(
        saddle=parts.saddle,
        bottom_bracket=parts.bottom_bracket,
        grip=parts.grip,
        crank_length=case.crank_length,
        foot_stack=case.foot_stack,
    )
    return Solution(
        **_known(
            Solution,
            case=case,
            unloaded=chassis.geometry(case, parts, still, still, still, still),
            seated=_state(case, parts, posture.seated(case.segments, contacts), build, 0.33),
            standing=_state(case, parts, posture.standing(case.segments, contacts), build, 0.44),
            fork_setting=np.array([5.4e5]),
            shock_setting=np.array([12.0e5]),
            front_tyre_pressure=np.array([1.45e5]),
            rear_tyre_pressure=np.array([1.70e5]),
            iterations=9,
            residual=0.0,
        )
    )


def _state(case: Case, parts: Any, pose: posture.Pose, build: Build, front: float) -> State:
    """A state with the build's own sags, and loads that share its weight."""
    fork = np.array([build.fork_sag * build.fork_travel / 1000])
    rear = np.array([build.rear_sag * build.rear_travel / 1000])
    drops = np.array([0.008]), np.array([0.012])
    turn = chassis.placement(case, parts, fork, rear, *drops)
    placed = posture.Pose(
        points={name: turn(points) for name, points in pose.points.items()},
        angles=pose.angles,
        unreachable=pose.unreachable,
        limit=pose.limit,
    )
    geometry = chassis.geometry(case, parts, fork, rear, *drops)
    weight = (build.mass + 15.5) * 9.80665
    hip, shoulder = placed.points["hip"], placed.points["shoulder"]
    centre = 0.80 * (0.62 * hip + 0.38 * shoulder) + 0.20 * geometry.bottom_bracket
    centre[:, 0] = front * geometry.wheelbase
    return State(
        geometry=geometry,
        pose=placed,
        mass_centre=centre,
        front_load=np.array([front * weight]),
        rear_load=np.array([(1 - front) * weight]),
        fork_compression=fork,
        shock_compression=np.array([build.rear_sag * build.stroke / 1000]),
        rear_travel=rear,
        front_drop=drops[0],
        rear_drop=drops[1],
    )


def _case(build: Build, change: float) -> Case:
    """A Case with the build's geometry; whatever the drawing does not look at is plain."""
    mm, deg = 1e-3, math.pi / 180
    shape = segments.predict(
        np.array([build.stature * mm]),
        crotch_height=np.array([(build.inseam - 15) * mm]),
        sex=build.sex,
    )
    return Case(
        **_known(
            Case,
            wheelbase=_one(build.wheelbase * mm),
            chainstay=_one(build.chainstay * mm),
            bb_drop=_one(build.bb_drop * mm),
            head_angle=_one(build.head_angle * deg),
            seat_angle=_one(build.seat_angle * deg),
            seat_angle_actual=_one(build.seat_angle_actual * deg),
            reach=_one(build.reach * mm),
            stack=_one(build.stack * mm),
            seat_tube=_one(build.seat_tube * mm),
            axle_to_crown=_one(build.axle_to_crown * mm),
            fork_offset=_one(build.offset * mm),
            rear_travel=_one(build.rear_travel * mm),
            leverage_mean=_one(build.rear_travel / build.stroke if build.stroke else 1.0),
            leverage_travel=None,
            leverage_ratio=None,
            stem_length=_one(build.stem * mm),
            stem_angle=_one(0.0),
            spacers_under=_one((build.spacers + change) * mm),
            stem_stack=_one(0.020),
            bar_rise=_one(build.bar_rise * mm),
            bar_backsweep_reach=_one(0.045),
            crank_length=_one(0.170),
            foot_stack=_one(0.038),
            saddle_height=_one(build.saddle_height * mm),
            saddle_setback=_one(0.0),
            elbow_flexion=_one(0.35),
            segments=shape,
            sex=build.sex,
            rider_mass=_one(build.mass - 5.0),
            fork=_spring("air" if build.fork_travel else "rigid", build.fork_travel * mm),
            shock=_spring(build.shock_kind if build.stroke else "rigid", build.stroke * mm),
            front_tyre=_tyre(build.front_radius * mm, build.section * mm),
            rear_tyre=_tyre(build.rear_radius * mm, build.section * mm),
        )
    )


def _spring(kind: str, travel: float) -> Spring:
    return Spring(**_known(Spring, kind=kind, travel=_one(travel), posture="standing"))


def _tyre(radius: float, section: float) -> Tyre:
    return Tyre(**_known(Tyre, radius=_one(radius), width=_one(section), height=_one(section)))


def _known(shape: type, **values: Any) -> dict[str, Any]:
    """The values, and a one for every field of the dataclass that is not among them."""
    rest = {item.name: _one(1.0) for item in fields(shape) if item.name not in values}
    for name in ("kept_pressure", "kept_rate"):
        if name in rest:
            rest[name] = None  # type: ignore[assignment]
    return {**rest, **values}


def _one(value: float) -> Array:
    return np.array([value])
