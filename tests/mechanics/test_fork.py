from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import fork

LOAD, ANGLE = st.floats(0.0, 1500.0), st.floats(1.0, 1.5)
MASS, BRAKE = st.floats(0.0, 5.0), st.floats(0.0, 800.0)


@given(LOAD, ANGLE, MASS, BRAKE)
def test_along_and_across_are_the_whole_force(load, angle, mass, brake):
    along = fork.fork_force(load, angle, mass, brake)
    across = fork.bushing_load(load, angle, mass, brake)
    whole = (load - mass * 9.80665) ** 2 + brake**2
    evidence.identity("sum of squares", along**2 + across**2, whole, within=1e-6)


@given(st.floats(1e3, 1e4), ANGLE, st.floats(0.0, 0.2))
def test_the_wheel_sees_the_spring_through_the_angle(rate, angle, stroke):
    rise = fork.fork_wheel_travel(stroke, angle)
    # the load that the fork's force carries, over the wheel's own travel
    load = rate * stroke / np.sin(angle)
    evidence.identity("fork force back", fork.fork_force(load, angle), rate * stroke, within=1e-9)
    evidence.identity(
        "load at the wheel", fork.fork_wheel_rate(rate, angle) * rise, load, within=1e-9
    )


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: fork.fork_force(-1.0, 1.1), "load is -1"),
        (lambda: fork.fork_wheel_travel(0.1, 0.0), "head_angle is 0"),
        (lambda: fork.bushing_load(400.0, 1.1, -3.0), "unsprung_mass is -3"),
        (lambda: fork.fork_wheel_rate(np.inf, 1.1), "rate is inf"),
    ],
)
def test_what_cannot_be(call, match):
    with pytest.raises(RangeError, match=match):
        call()
