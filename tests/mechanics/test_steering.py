from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import steering

RADIUS, ANGLE, OFFSET = st.floats(0.25, 0.4), st.floats(1.0, 1.4), st.floats(0.0, 0.07)


@given(RADIUS, ANGLE, OFFSET)
def test_mechanical_trail_is_trail_seen_along_the_axis(radius, angle, offset):
    seen = steering.trail(radius, angle, offset) * np.sin(angle)
    evidence.identity(
        "mechanical trail of a trail", steering.mechanical_trail(radius, angle, offset), seen
    )


@given(RADIUS, ANGLE, OFFSET, st.floats(0.001, 0.1))
def test_a_slacker_axis_makes_more_trail(radius, angle, offset, slack):
    assert steering.trail(radius, angle - slack, offset) > steering.trail(radius, angle, offset)


@given(st.floats(0.01, 0.2), ANGLE, st.floats(0.5, 2.0))
def test_flop_scales_with_trail(trail, angle, factor):
    evidence.identity(
        "flop factor of a scaled trail",
        steering.flop_factor(factor * trail, angle),
        factor * steering.flop_factor(trail, angle),
    )


def test_an_upright_axis():
    evidence.identity("trail of an upright axis", steering.trail(0.35, np.pi / 2, 0.045), -0.045)


def test_what_cannot_be():
    with pytest.raises(RangeError, match="wheel_radius is -1") as caught:
        steering.trail(-1.0, 2.0, np.nan)
    assert [problem.field for problem in caught.value.problems] == [
        "wheel_radius",
        "head_angle",
        "offset",
    ]
