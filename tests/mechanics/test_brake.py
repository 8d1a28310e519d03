from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import brake

BASE, SHARE, HEIGHT = st.floats(0.9, 1.4), st.floats(0.1, 0.9), st.floats(0.4, 1.3)
SLOPE, SLOWING, MASS = st.floats(-0.4, 0.4), st.floats(0.0, 12.0), st.floats(30.0, 160.0)


@given(MASS, BASE, SHARE, HEIGHT, SLOWING, SLOPE)
def test_both_wheels_carry_the_weight(mass, base, share, height, slowing, slope):
    loads = brake.axle_loads(mass, base, share * base, height, slowing, slope)
    evidence.identity("sum of wheel loads", sum(loads), mass * 9.80665 * np.cos(slope))
    assert min(loads) >= 0.0


@given(MASS, BASE, SHARE, HEIGHT, SLOPE)
def test_at_the_limit_the_rear_wheel_just_lifts(mass, base, share, height, slope):
    limit = brake.deceleration_limit(share * base, height, slope)
    _, rear = brake.axle_loads(mass, base, share * base, height, limit, slope)
    evidence.identity("rear load at the limit", rear, 0.0, within=1e-9 * mass)
    _, before = brake.axle_loads(mass, base, share * base, height, limit - 0.1, slope)
    assert before > 0.0


def test_little_grip_binds_before_tipping():
    slick, dry = brake.deceleration_limit(0.65, 1.1, 0.0, np.array([0.3, 0.9]))
    evidence.identity("limit on a slick surface", slick, 0.3 * 9.80665)
    evidence.identity("limit where it tips first", dry, brake.deceleration_limit(0.65, 1.1))


def test_a_slick_descent_at_its_angle_of_friction_leaves_no_braking():
    limit = brake.deceleration_limit(0.65, 1.1, np.arctan(0.3), 0.3)
    evidence.identity("limit at the angle of friction", limit, 0.0, within=1e-12)


@given(st.floats(0.1, 25.0), st.floats(0.5, 60.0))
def test_distance_and_deceleration_invert_each_other(speed, distance):
    slowing = brake.stopping_deceleration(speed, distance)
    evidence.identity("stopping distance", brake.stopping_distance(speed, slowing), distance)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: brake.axle_loads(90.0, 1.2, 1.3, 1.1), "mass centre between the wheels"),
        (lambda: brake.axle_loads(0.0, 1.2, 0.6, 1.1), "mass is 0"),
        (lambda: brake.deceleration_limit(0.6, 0.0), "mass_height is 0"),
        (lambda: brake.deceleration_limit(0.6, 1.1, np.pi / 2), "slope is 1.57"),
        (lambda: brake.stopping_deceleration(5.0, 0.0), "distance is 0"),
        (lambda: brake.stopping_distance(5.0, 0.0), "deceleration is 0"),
    ],
)
def test_what_cannot_be(call, match):
    with pytest.raises(RangeError, match=match):
        call()
