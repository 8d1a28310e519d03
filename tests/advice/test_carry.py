"""A fit carried over: contacts come back where they were, and what gives is told with its limit."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advice import builds
from cyclewright.advice.carry import carry_over
from cyclewright.knowledge.defaults import fill
from cyclewright.sheets.sheets import change

PAIRS = [
    (old, new)
    for old in ("trail", "hardtail", "longtravel")
    for new in ("trail", "hardtail", "longtravel")
]


def value(found, name):
    return next(item.value for item in found.settings if item.name == name)


@pytest.mark.parametrize("bike", ["trail", "hardtail", "longtravel"])
def test_onto_the_same_bike_nothing_moves(bike):
    found = carry_over(builds.filled(bike=bike), builds.filled(bike=bike))
    assert found.gave == found.parts == found.changes == ()
    assert all(math.hypot(*match.miss) < 1e-6 for match in found.matches)
    assert value(found, "saddle_height") == pytest.approx(
        builds.value(builds.advised(bike=bike), "saddle_height")
    )


@pytest.mark.parametrize(("old", "new"), PAIRS)
def test_whatever_is_not_met_is_told(old, new):
    found = carry_over(builds.filled(bike=old), builds.filled(bike=new))
    assert all(match.close for match in found.matches) or found.gave
    told = " ".join(found.gave)
    for axis, words in ((0, ("far", "near")), (1, ("high", "low"))):
        miss = found.matches[1].miss[axis]
        if abs(miss) > 0.003:
            assert f"{abs(miss) * 1000:.0f} mm too {words[0 if miss > 0 else 1]}" in told


@pytest.mark.parametrize(("old", "new"), [("trail", "hardtail"), ("hardtail", "trail")])
def test_the_changes_can_be_tried_and_then_nothing_more_is_wanted(old, new):
    """Round trip: the sheets so changed carry over onto themselves."""
    first = carry_over(builds.filled(bike=old), builds.filled(bike=new))
    tried = fill(change(builds.sheets(bike=new), first.changes))
    second = carry_over(builds.filled(bike=old), tried)
    assert second.parts == ()
    for name in ("saddle_setback", "spacers_under", "stem_length", "bar_rise"):
        assert value(second, name) == pytest.approx(value(first, name), abs=6e-4)


def test_a_shorter_crank_lifts_the_saddle_by_as_much():
    plain = carry_over(builds.filled(), builds.filled())
    short = carry_over(builds.filled(), builds.filled("bike.crank.length=160 mm"))
    rise = value(short, "saddle_height") - value(plain, "saddle_height")
    assert rise == pytest.approx(0.010, abs=5e-4)
    assert short.matches[0].close


def test_a_ridden_height_is_carried_instead_of_the_one_that_suits():
    low = carry_over(builds.filled("bike.saddle.ridden_height=740 mm"), builds.filled())
    assert value(low, "saddle_height") == pytest.approx(0.740, abs=1e-6)


def test_a_post_that_cannot_go_so_low_gives_with_its_name():
    low = carry_over(builds.filled("bike.saddle.ridden_height=640 mm"), builds.filled())
    assert any("the dropper's travel and head keeps the saddle" in text for text in low.gave)
    assert value(low, "saddle_height") == pytest.approx(0.675)


def test_rails_give_with_their_marks():
    back = carry_over(builds.filled("bike.saddle.setback=35 mm"), builds.filled(bike="longtravel"))
    assert any("rails' marks" in text for text in back.gave)
    assert abs(value(back, "saddle_setback")) <= 0.035 + 1e-9


@given(st.integers(0, 30), st.sampled_from(["35", "45", "60"]), st.integers(0, 8))
@settings(max_examples=12)
def test_any_cockpit_comes_back_onto_its_own_frame(spacers, stem, rise):
    old = builds.filled(
        f"bike.cockpit.spacers_under={spacers} mm",
        f"bike.cockpit.spacers_over={35 - spacers} mm",
        f"bike.cockpit.stem_length={stem} mm",
        f"bike.cockpit.bar_rise={5 * rise} mm",
    )
    found = carry_over(old, builds.filled())
    assert found.matches[0].close
    assert math.hypot(*found.matches[1].miss) < 0.009
    assert 0.0 <= value(found, "spacers_under") <= 0.035 + 1e-9
