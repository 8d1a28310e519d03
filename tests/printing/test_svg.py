"""The small SVG vocabulary: numbers, outlines, escaping."""

from __future__ import annotations

import cmath
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.printing import svg


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0"), (-0.04, "0"), (12.0, "12"), (-3.25, "-3.2"), (100.0, "100")]
)
def test_numbers_are_short_and_never_minus_zero(value: float, text: str) -> None:
    assert svg.number(value) == text


def test_points_turn_metres_up_into_millimetres_down() -> None:
    assert svg.xy(0.1 + 0.2j) == "100 -200"


def test_words_and_attributes_are_escaped() -> None:
    written = svg.text('<b onload="x">&', 0j, 0.03, 'label" x="1')
    assert "<b" not in written
    assert "&lt;b" in written
    assert 'class="label&quot; x=&quot;1"' in written


@given(
    st.complex_numbers(min_magnitude=0.3, max_magnitude=2.0),
    st.floats(0.005, 0.1),
    st.floats(0.005, 0.1),
)
def test_a_capsule_touches_both_circles(end: complex, start_size: float, end_size: float) -> None:
    numbers = [
        float(n) for n in re.findall(r"-?\d+\.?\d*", svg.capsule(0j, end, start_size, end_size))
    ]
    a, b = complex(numbers[0], -numbers[1]), complex(numbers[2], -numbers[3])
    assert abs(a) == pytest.approx(start_size * 1000, abs=0.2)
    assert abs(b - end * 1000) == pytest.approx(end_size * 1000, abs=0.2)
    # the tangent is square to both radii
    slope = cmath.phase((b - a) / a)
    assert abs(slope) == pytest.approx(math.pi / 2, abs=0.05)


def test_a_smooth_curve_passes_through_its_points() -> None:
    points = [0j, 0.1 + 0.1j, 0.2 + 0j, 0.1 - 0.1j]
    written = svg.smooth(points)
    assert all(svg.xy(point) in written for point in points)
    assert written.endswith("Z")
