from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import jump

ANGLE = st.floats(-0.3, 0.6)


@given(st.floats(0.5, 12.0), st.floats(-4.0, 2.0), ANGLE, st.floats(-0.7, 0.3))
def test_a_flight_is_reachable_or_says_what_binds(x, y, start, slope):
    flight = jump.landing(x, y, start, slope)
    assert np.isfinite(flight.equivalent_fall_height)
    assert bool(flight.reachable) == (str(flight.limit) == "")
    masked = jump.equivalent_fall_height(x, y, start, slope)
    assert bool(np.ma.getmaskarray(masked)) == (not flight.reachable)


@given(st.floats(0.5, 12.0), st.floats(-4.0, -0.1))
def test_off_a_level_lip_onto_level_ground_it_is_the_drop(x, drop):
    evidence.identity(
        "fall height of a level drop", jump.landing(x, drop, 0.0, 0.0).equivalent_fall_height, -drop
    )


def test_a_landing_along_the_flight_costs_nothing():
    x, y, start = 6.0, -1.5, 0.2
    along = np.arctan(2 * y / x - np.tan(start))
    flight = jump.landing(x, y, start, along)
    evidence.identity("tangent landing", flight.equivalent_fall_height, 0.0, within=1e-12)


@pytest.mark.parametrize(
    ("case", "limit"),
    [((4.0, 1.0, 0.1, 0.0), jump.NOT_BELOW_LIP), ((4.0, -1.0, 0.0, -1.2), jump.FROM_BENEATH)],
)
def test_what_no_flight_reaches(case, limit):
    flight = jump.landing(*case)
    assert not flight.reachable
    assert str(flight.limit) == limit


def test_the_fall_and_its_speed():
    flight = jump.landing(6.0, -1.5, 0.17, -0.35)
    evidence.identity(
        "speed of a fall", jump.impact_speed(flight.equivalent_fall_height), flight.impact_speed
    )


def test_what_cannot_be():
    with pytest.raises(RangeError, match="x is 0") as caught:
        jump.landing(0.0, -1.0, np.pi / 2, np.nan)
    assert len(caught.value.problems) == 3
    with pytest.raises(RangeError, match="equivalent_fall_height is -1"):
        jump.impact_speed(-1.0)
