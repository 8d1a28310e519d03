"""Plane geometry: rigid frame, both wheels on the ground, head angle by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advice.builds import filled
from cyclewright.advice.case import build
from cyclewright.solve import chassis
from cyclewright.solve.case import Case, nominal
from cyclewright.solve.solution import Geometry
from evidence import identity, second_method

BIKES = ("trail", "hardtail", "longtravel")
ON_THE_FRAME = ("bottom_bracket", "head_top", "crown", "saddle", "seat_clamp", "bar_clamp", "grip")


def case_of(bike: str) -> Case:
    return nominal(build(filled(bike=bike)))


def stand(case: Case, *lengths: float) -> Geometry:
    """The bike at fork, rear wheel, front tyre and rear tyre compressions [m]."""
    return chassis.geometry(case, chassis.frame(case), *(np.array([one]) for one in lengths))


CASES = {bike: case_of(bike) for bike in BIKES}
fork, rear = st.floats(0.0, 0.16), st.floats(0.0, 0.16)
drop = st.floats(0.0, 0.03)


@pytest.mark.parametrize("bike", BIKES)
def test_the_sheet_closes_on_the_steering_axis(bike: str) -> None:
    """Reach and stack, and wheelbase with fork, put the head tube on one axis within 3 mm."""
    case = CASES[bike]
    still = stand(case, 0.0, 0.0, 0.0, 0.0)
    told = still.bottom_bracket + chassis.point(case.reach, case.stack)
    assert float(np.linalg.norm(still.head_top - told)) < 0.003
    identity(f"{bike}: unloaded pitch", still.pitch, 0.0)
    identity(f"{bike}: unloaded wheelbase", still.wheelbase, case.wheelbase)
    identity(f"{bike}: unloaded head angle", still.head_angle, case.head_angle)
    hub = still.rear_axle[0, 1] - still.bottom_bracket[0, 1]
    identity(f"{bike}: bottom bracket drop", hub, case.bb_drop[0])


@settings(max_examples=25)
@given(bike=st.sampled_from(BIKES), fork=fork, rear=rear, front=drop, back=drop)
def test_the_frame_is_rigid_and_both_wheels_stand_on_the_ground(
    bike: str, fork: float, rear: float, front: float, back: float
) -> None:
    case = CASES[bike]
    before, after = stand(case, 0, 0, 0, 0), stand(case, fork, rear, front, back)
    for one, other in combinations(ON_THE_FRAME, 2):
        lengths = [
            np.linalg.norm(getattr(state, one) - getattr(state, other)) for state in (before, after)
        ]
        identity(f"frame keeps {one} to {other}", lengths[1], lengths[0])
    identity("front axle height", after.front_axle[0, 1], case.front_tyre.radius[0] - front)
    identity("rear axle height", after.rear_axle[0, 1], case.rear_tyre.radius[0] - back)
    identity("rear contact is the origin", after.rear_axle[0, 0], 0.0)
    identity("front contact on the ground", after.front_contact[0, 1], 0.0)
    axis = np.array([-np.cos(after.head_angle[0]), np.sin(after.head_angle[0])])
    span = after.crown[0] - after.front_axle[0]
    along, aside = span @ axis, abs(axis[0] * span[1] - axis[1] * span[0])
    identity("fork shortens along its axis", along, case.axle_to_crown[0] - fork)
    identity("the axle keeps its offset", aside, case.fork_offset[0])


@settings(max_examples=25)
@given(fork=fork, rear=rear)
def test_head_angle_by_hand_for_equal_wheels(fork: float, rear: float) -> None:
    """With equal wheels the frame turns by the difference in axle rise over their distance."""
    case = CASES["hardtail"]
    angle, base = float(case.head_angle[0]), float(case.wheelbase[0])
    turned = np.arctan2(fork * np.sin(angle) - rear, base - fork * np.cos(angle))
    second_method(
        "head angle with fork and rear wheel in",
        stand(case, fork, rear, 0.0, 0.0).head_angle[0],
        angle + turned,
        "by hand: rise of the axles over the distance between them",
    )


def test_equal_vertical_sag_keeps_the_head_angle() -> None:
    case = CASES["hardtail"]
    level = stand(case, 0.03, 0.03 * float(np.sin(case.head_angle[0])), 0.0, 0.0)
    identity("head angle at equal vertical sag", level.head_angle, case.head_angle)
    dropped = stand(case, 0.0, 0.0, 0.012, 0.012)
    identity("head angle at equal tyre drop", dropped.head_angle, case.head_angle)
    still = stand(case, 0.0, 0.0, 0.0, 0.0)
    identity("bottom bracket comes down with the tyres", dropped.bb_height, still.bb_height - 0.012)


def test_the_saddle_stands_at_its_height_on_the_posts_own_axis() -> None:
    for bike, case in CASES.items():
        parts = chassis.frame(case)
        along = parts.saddle - parts.seat_clamp
        identity(
            f"{bike}: saddle height",
            np.linalg.norm(parts.saddle - parts.bottom_bracket),
            case.saddle_height,
        )
        identity(
            f"{bike}: angle of the post",
            np.arctan2(along[0, 1], -along[0, 0]),
            case.seat_angle_actual,
        )


def test_spacers_lift_the_bar_along_the_steerer_and_no_further() -> None:
    case = CASES["trail"]
    taller = replace(case, spacers_under=case.spacers_under + 0.02)
    moved = chassis.frame(taller).grip - chassis.frame(case).grip
    identity("bar moves by the spacers", np.linalg.norm(moved), 0.02)
    identity("along the steerer", moved, 0.02 * chassis.frame(case).axis)
