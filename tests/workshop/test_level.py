"""Angles off the phone's level: their sign, how far they may be off, and what is refused."""

from __future__ import annotations

import math

import pytest

from cyclewright.errors import InputError
from cyclewright.workshop import level, release
from cyclewright.workshop.level import LIES, Take
from cyclewright.workshop.photo import Z90
from cyclewright.workshop.shop import Shop
from workshop.shops import build_to_gate, opened


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


@pytest.mark.parametrize(
    ("kind", "angle", "step", "item"),
    [
        ("saddle-tilt", "12 deg", "saddle-clamp-set", "saddle"),
        ("lever-right", "3 deg", "lever-angle", "open-again"),
    ],
)
def test_an_angle_far_off_takes_the_proof_of_its_clamp(
    shop: Shop, kind: str, angle: str, step: str, item: str
) -> None:
    """A saddle on its nose stood beside a release, printed as set."""
    bike = opened(shop)
    build_to_gate(shop, bike)
    assert release.gate(shop, bike, "ride", by="Ada").passed
    usual = level.advised(shop, bike, kind).value or 0.0
    if kind == "saddle-tilt":
        level.read(shop, bike, kind, f"{math.degrees(usual):.1f} deg", by="Ada")
        assert release.gate(shop, bike, "ride", pass_it=False).passed
    said = level.read(shop, bike, kind, angle, by="Ada")
    assert said.numbers and not said.stop
    assert shop.state(bike).step(step).status == "reopened"
    assert "which does not prove it" in shop.state(bike).step(step).said
    wants = {
        row.item
        for gate in ("ride", "release")
        for row in release.gate(shop, bike, gate, pass_it=False).missing
    }
    assert item in wants
