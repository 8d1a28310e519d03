from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import leverage, linkage

from .bikes import KINDS, LINKAGES, TRAVEL

RATIOS = st.lists(st.floats(1.2, 5.0), min_size=2, max_size=6)


def curve(ratios, travel=TRAVEL):
    return leverage.from_table(np.linspace(0.0, travel, len(ratios)), ratios)


@given(RATIOS, st.floats(-0.1, 1.2))
def test_stroke_and_travel_are_inverse(ratios, share):
    table = curve(ratios)
    travel = share * TRAVEL
    back = leverage.travel_at(table, leverage.stroke_at(table, travel))
    evidence.identity("travel of a stroke", back, travel, within=1e-12)


def test_the_stroke_is_the_integral_of_one_over_leverage():
    many = leverage.from_table(
        np.linspace(0.0, TRAVEL, 5), np.random.default_rng(2).uniform(1.2, 5.0, (60, 5))
    )
    z = np.linspace(0.0, TRAVEL, 20 * 60 + 1)
    inverse = 1.0 / leverage.ratio_at(many, z[:, None])
    evidence.second_method(
        "shock stroke by 60 leverage tables",
        many.stroke[:, -1],
        np.trapezoid(inverse, z, axis=0),
        "trapezoids over 1 200 pieces",
        rel=1e-5,
    )


@given(RATIOS, st.floats(0.05, 0.95))
def test_the_work_at_wheel_and_shock_is_one(ratios, share):
    table = curve(ratios)
    z, step = share * TRAVEL, 1e-7
    slope = (leverage.stroke_at(table, z + step) - leverage.stroke_at(table, z - step)) / (2 * step)
    assert slope * leverage.ratio_at(table, z) == pytest.approx(1.0, rel=1e-5)


def test_a_table_through_its_rows():
    table = leverage.from_table([0.0, 0.065, 0.13], [2.86, 2.60, 2.36])
    evidence.identity("rows", leverage.ratio_at(table, table.travel), table.ratio)
    evidence.identity("strokes", leverage.stroke_at(table, table.travel), table.stroke)
    evidence.identity("beyond", leverage.ratio_at(table, [-0.01, 0.2]), [2.86, 2.36])


@given(st.floats(0.05, 0.25), st.floats(0.03, 0.09), st.floats(0.0, 1.0))
def test_the_mean_is_a_straight_line(travel, stroke, share):
    if not 0.2 <= travel / stroke <= 12.0:
        return
    table = leverage.mean(travel, stroke)
    evidence.identity("half way", leverage.stroke_at(table, share * travel), share * stroke)


def test_draws_of_the_mean_keep_their_own_ratio():
    table = leverage.mean(np.array([0.13, 0.14]), np.array([0.05, 0.055]))
    evidence.identity("ratio", leverage.ratio_at(table, 0.04), [0.13 / 0.05, 0.14 / 0.055])
    assert leverage.travel_at(table, np.array([[0.01], [0.02], [0.03]])).shape == (3, 2)


@pytest.mark.parametrize("name", list(LINKAGES))
def test_a_linkage_and_its_curve_agree(name):
    motion = linkage.move(
        linkage.linkage(KINDS[name], LINKAGES[name]), np.linspace(0.0, TRAVEL, 40)
    )
    found = leverage.from_motion(motion)
    evidence.second_method(
        f"{name}: shock stroke over the travel",
        motion.shock_stroke[1:],
        found.stroke[1:],
        "integral of 1/leverage over the wheel's travel",
        rel=5e-4,
    )


def test_a_linkage_that_stops_has_no_curve():
    bike = linkage.linkage("single-pivot", LINKAGES["single-pivot"])
    with pytest.raises(RangeError, match="check the pivots: the shock would lengthen again"):
        leverage.from_motion(linkage.move(bike, np.linspace(0.0, 0.48, 20)))


@given(RATIOS, st.floats(0.1, 0.9), st.floats(4e4, 1.2e5))
def test_the_wheel_rate_is_the_slope_of_the_wheel_force(ratios, share, rate):
    table = curve(ratios[:2])
    bend = (ratios[1] - ratios[0]) / TRAVEL

    def wheel_force(z):
        return rate * leverage.stroke_at(table, z) / leverage.ratio_at(table, z)

    z, step = share * TRAVEL, 1e-6
    found = leverage.wheel_rate(
        rate, rate * leverage.stroke_at(table, z), leverage.ratio_at(table, z), bend
    )
    slope = (wheel_force(z + step) - wheel_force(z - step)) / (2.0 * step)
    assert found == pytest.approx(slope, rel=1e-5, abs=1e-3 * rate)


def test_the_shock_carries_the_sprung_wheel_load_and_the_chain():
    plain = leverage.shock_force(520.0, 2.6, 4.0, 8.0)
    evidence.identity("shock force", plain, 2.6 * (520.0 - 4.0 * 9.80665) - 8.0)
    pulled = leverage.shock_force(520.0, 2.6, 4.0, 8.0, chain_tension=700.0, growth_slope=0.07)
    evidence.identity("less the chain's share", plain - pulled, 2.6 * 700.0 * 0.07)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: leverage.from_table([0.0, 0.1], [2.5]), "one ratio to each"),
        (lambda: leverage.from_table([0.01, 0.1], [2.5, 2.4]), "start at 0 m"),
        (lambda: leverage.from_table([0.0, 0.1, 0.1], [2.5, 2.4, 2.3]), "rising travel"),
        (lambda: leverage.from_table([0.0, 0.1], [2.5, 0.0]), "ratio is 0 .*0.2 to 12"),
        (lambda: leverage.mean(0.13, 0.0), "stroke is 0"),
        (lambda: leverage.travel_at(curve([2.0, 3.0]), np.nan), "stroke is nan"),
        (lambda: leverage.wheel_rate(-1.0, 0.0, 2.0, 0.0), "rate is -1"),
        (lambda: leverage.shock_force(500.0, 0.0), "leverage_ratio is 0"),
    ],
)
def test_what_cannot_be(call, match):
    with pytest.raises(RangeError, match=match):
        call()
