"""Everybody of the survey on each bike: nobody fails, and who does not fit is told why."""

from __future__ import annotations

import math

import numpy as np
import pytest

from advice import crowds
from cyclewright.advice.population import People, crowd
from cyclewright.body.posture import KNEE_HIGH, KNEE_LOW, LIMITS
from cyclewright.errors import RangeError
from cyclewright.knowledge.defaults import fill
from cyclewright.sheets.sheets import change, load


@pytest.mark.parametrize("bike", crowds.BIKES)
def test_nobody_fails(bike):
    found = crowds.on(bike)
    assert found.held.shape == (6068,)
    for state in (found.solution.seated, found.solution.standing):
        arrays = [*state.pose.points.values(), *state.pose.angles.values()]
        arrays += [state.front_load, state.rear_load, state.fork_compression, state.geometry.trail]
        assert all(np.isfinite(values).all() for values in arrays)
        assert (state.front_load > 0.0).all() and (state.rear_load > 0.0).all()
        assert set(state.pose.limit) <= set(LIMITS)
    assert found.solution.residual < 1e-7


@pytest.mark.parametrize("bike", crowds.BIKES)
def test_who_does_not_fit_is_told_which_limit_binds(bike):
    found = crowds.on(bike)
    assert 0 < found.impossible.sum() < 2000
    owners = {text.removeprefix("post: ") for text in set(found.limit) if text}
    assert owners <= {
        "the dropper's travel and head",
        "the frame's greatest insertion",
        "the frame's least insertion",
        "the post's least insertion",
    }
    off = np.abs(found.held - found.recommended)
    assert (off[found.holder != ""] > 0.0).all()
    assert (off[found.holder == ""] == 0.0).all()


def test_short_people_meet_a_post_that_is_too_long_and_tall_ones_its_mark():
    found, people = crowds.on("trail"), crowds.everybody()
    long, short = (found.holder == owner for owner in (
        "the dropper's travel and head", "the post's least insertion"
    ))  # fmt: skip
    assert people.stature[long].mean() < people.stature.mean() - 0.08
    assert people.stature[short].mean() > people.stature.mean() + 0.10


@pytest.mark.parametrize("bike", ["trail", "longtravel"])
def test_knees_bend_25_to_35_degrees_wherever_nothing_holds_the_saddle(bike):
    found = crowds.on(bike)
    knee = found.solution.seated.pose.angles["knee_bottom"][~found.impossible]
    assert knee.min() > KNEE_LOW - math.radians(0.1)
    assert knee.max() < KNEE_HIGH + math.radians(0.1)


def test_the_methods_spread_by_centimetres_in_a_known_order():
    heights = crowds.on("trail").heights
    assert (heights.heel < heights.knee_middle).mean() > 0.999
    assert (heights.knee_middle < heights.by_spindle_from_bb).mean() > 0.8
    spread = heights.by_spindle_from_bb - heights.heel
    assert 0.03 < np.median(spread) < 0.06


def test_longer_legs_never_get_a_lower_saddle():
    count = 60
    stature = np.full(count, 1.75)
    people = People(
        stature, np.linspace(0.76, 0.92, count), np.full(count, 75.0), np.full(count, True)
    )
    found = crowd(fill(_sheets("trail")), people)
    assert (np.diff(found.recommended) > 0.0).all()
    assert (np.diff(found.held) >= 0.0).all()


def test_one_by_one_is_the_same_as_all_at_once():
    filled, people, found = fill(_sheets("trail")), crowds.everybody(), crowds.on("trail")
    for row in (0, 1000, 4500, 6067):
        alone = crowd(filled, people.rows(row))
        assert alone.held[0] == pytest.approx(found.held[row], abs=1e-12)
        assert alone.limit[0] == found.limit[row]
        for name in ("fork_setting", "front_tyre_pressure", "shock_setting"):
            ours = getattr(alone.solution, name)[0]
            assert ours == pytest.approx(getattr(found.solution, name)[row], rel=1e-6)


def test_a_shorter_dropper_lets_more_people_on():
    filled = fill(change(_sheets("trail"), ["bike.post.travel=150 mm", "bike.post.length=430 mm"]))
    fewer = crowd(filled, crowds.everybody())
    long = "the dropper's travel and head"
    assert (fewer.holder == long).sum() < 0.2 * (crowds.on("trail").holder == long).sum()


def test_measures_that_do_not_belong_together_are_refused():
    with pytest.raises(RangeError, match="give every person each measure"):
        People(np.ones(3), np.ones(2), np.ones(3), np.ones(3, bool))


def _sheets(bike):
    examples = crowds.ROOT / "examples"
    return load(
        examples / "bikes" / f"{bike}.toml",
        examples / "riders" / "heavy.toml",
        examples / "places" / "left.toml",
    )
