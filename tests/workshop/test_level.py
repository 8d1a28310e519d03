"""Angles off the phone's level: their sign, how far they may be off, and what is refused."""

from __future__ import annotations

import math

import pytest

from cyclewright.errors import InputError
from cyclewright.workshop import level
from cyclewright.workshop.level import LIES, Take
from cyclewright.workshop.photo import Z90


def lying(tilt: float, count: int = 30) -> list[tuple[float, float, float]]:
    """A phone at rest, its top end up by this much [degrees]."""
    up = math.radians(tilt)
    return [(0.0, 9.81 * math.sin(up), 9.81 * math.cos(up))] * count


def half(found) -> float:
    return math.degrees(found.high - found.low) / 2


@pytest.mark.parametrize(("kind", "sign"), [("saddle-tilt", 1), ("lever-left", -1)])
def test_a_saddle_counts_nose_up_and_a_lever_below_level(kind, sign):
    found = level.measured(kind, Take(lying(-4.0)))
    assert math.degrees(found.value) == pytest.approx(-4.0 * sign)
    assert found.basis == "measured" and found.low < found.value < found.high


@pytest.mark.parametrize("kind", level.KINDS)
def test_the_error_holds_zero_and_how_it_lies_and_the_zero_cancels(kind):
    one = level.measured(kind, Take(lying(2.0)))
    both = level.measured(kind, Take(lying(2.5), lying(-1.5)))
    assert half(one) == pytest.approx(Z90 * math.hypot(0.3, LIES[kind]))
    assert half(both) == pytest.approx(Z90 * LIES[kind])
    assert abs(math.degrees(both.value)) == pytest.approx(2.0)
    assert "both ways round" in both.because and "one way round" in one.because


def test_what_nobody_holds_still_is_refused():
    with pytest.raises(InputError, match="send at most 400 samples"):
        level.measured("saddle-tilt", Take(lying(1.0, 401)))
    with pytest.raises(InputError, match="use one of: saddle-tilt"):
        level.measured("bar", Take(lying(1.0)))
