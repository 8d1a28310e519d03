from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import InputError, RangeError
from cyclewright.mechanics import linkage

from .bikes import KINDS, LINKAGES, TRAVEL

EVERY = pytest.mark.parametrize("name", list(LINKAGES))
ROWS = np.linspace(0.0, TRAVEL, 53)


def moved(name, rows=ROWS, **other):
    return linkage.move(linkage.linkage(KINDS[name], LINKAGES[name] | other), rows)


def distance(points, one, other):
    return np.linalg.norm(points[one] - points[other], axis=-1)


@EVERY
def test_every_body_keeps_its_shape(name):
    motion, bike = moved(name), linkage.linkage(KINDS[name], LINKAGES[name])
    assert motion.reached.all()
    same = [
        (one, other)
        for one in LINKAGES[name]
        for other in LINKAGES[name]
        if one < other and bike.body(one) == bike.body(other)
    ]
    pivots = linkage.KINDS[KINDS[name]].pivots
    for one, other in [*same, *pairwise(pivots)]:
        lengths = distance(motion.points, one, other)
        evidence.identity(f"{name}: {one} to {other}", lengths, lengths[0], within=1e-11)


@EVERY
def test_the_axle_rises_by_the_travel(name):
    motion = moved(name)
    evidence.identity(f"{name}: rise", motion.axle_y - motion.axle_y[0], ROWS, within=1e-12)


@EVERY
def test_the_slopes_are_the_derivatives(name):
    motion = moved(name, np.linspace(0.0, TRAVEL, 401))
    inner = slice(1, -1)
    z = motion.travel
    for check, slope, values in (
        ("1/leverage", 1.0 / motion.leverage_ratio, motion.shock_stroke),
        ("axle slope", motion.axle_slope, motion.axle_x),
    ):
        central = (values[2:] - values[:-2]) / (z[2:] - z[:-2])
        evidence.second_method(
            f"{name}: {check} over the travel",
            slope[inner],
            central,
            "central differences of the positions",
            rel=1e-5,
            within=1e-6,
        )


@EVERY
def test_the_instant_centre_is_where_the_body_stands_still(name):
    motion = moved(name)
    arm = motion.points["axle"] - motion.instant_centre
    # velocity = turn × arm must be (slope, 1)
    evidence.identity(f"{name}: rise", motion.turn_rate * arm[:, 0], 1.0, rel=1e-9)
    evidence.identity(
        f"{name}: slope", -motion.turn_rate * arm[:, 1], motion.axle_slope, within=1e-9
    )


@pytest.mark.parametrize("name", ["four-bar", "twin-link", "floating"])
def test_the_instant_centre_of_four_pivots_by_crossing_their_lines(name):
    motion = moved(name)
    one, two, three, four = (motion.points[key] for key in linkage.KINDS[KINDS[name]].pivots)
    along, other = two - one, three - four
    across = along[:, 0] * other[:, 1] - along[:, 1] * other[:, 0]
    gap = four - one
    share = (gap[:, 0] * other[:, 1] - gap[:, 1] * other[:, 0]) / across
    evidence.second_method(
        f"{name}: instant centre over the travel",
        motion.instant_centre,
        one + share[:, None] * along,
        "lines through both links crossed",
        rel=1e-7,
        within=1e-9,
    )


def test_a_single_pivot_turns_about_it():
    motion = moved("single-pivot")
    evidence.identity("centre", motion.instant_centre, LINKAGES["single-pivot"]["pivot"])


@given(
    st.floats(-0.05, 0.12), st.floats(0.35, 0.47), st.floats(-0.06, 0.06),
    st.floats(0.12, 0.2), st.floats(1.2, 2.2), st.floats(0.18, 0.24), st.floats(0.05, 0.14),
)  # fmt: skip
def test_single_pivot_against_its_closed_form(height, arm, lift, lever, angle, shock, travel):
    pivot = np.array([0.01, height])
    axle = pivot + np.array([-arm, lift])
    end = pivot + lever * np.array([np.cos(angle), np.sin(angle)])
    frame = end + shock * np.array([np.sin(angle), -np.cos(angle)])
    points = {"pivot": pivot, "axle": axle, "shock_arm": end, "shock_frame": frame}
    motion = linkage.move(linkage.linkage("single-pivot", points), np.linspace(0, travel, 9))
    whole = np.hypot(arm, lift)
    turn = np.arcsin((lift + motion.travel) / whole) - np.arcsin(lift / whole)
    between, reach = frame - pivot, np.linalg.norm(frame - pivot)
    opening = angle - np.arctan2(between[1], between[0]) - turn  # the arm turns clockwise
    length = np.sqrt(lever**2 + reach**2 - 2.0 * lever * reach * np.cos(opening))
    evidence.identity("shock by the cosine rule", motion.shock_stroke, shock - length, within=1e-12)
    # moments about the pivot: wheel load on its arm, shock force on its own
    rising = lever * reach * np.sin(opening) / length
    level = np.sqrt(whole**2 - (lift + motion.travel) ** 2)
    evidence.identity("leverage by moments", motion.leverage_ratio, level / rising, rel=1e-9)


def test_a_rocker_by_cutting_circles():
    motion = moved("rocker")
    points = motion.points
    rocker, link = LINKAGES["rocker"]["rocker_pivot"], points["link_arm"]
    one = np.hypot(*np.subtract(LINKAGES["rocker"]["link_rocker"], rocker))
    rod = distance(points, "link_arm", "link_rocker")[0]
    gap = link - rocker
    far = np.linalg.norm(gap, axis=-1)
    along = (one**2 - rod**2 + far**2) / (2.0 * far)
    aside = np.sqrt(one**2 - along**2)
    unit = gap / far[:, None]
    normal = np.stack((-unit[:, 1], unit[:, 0]), axis=-1)
    cut = [rocker + along[:, None] * unit + sign * aside[:, None] * normal for sign in (-1, 1)]
    best = min(cut, key=lambda places: float(np.abs(places[0] - points["link_rocker"][0]).max()))
    evidence.identity("rocker by circles", points["link_rocker"], best, within=1e-11)


@EVERY
def test_the_linkage_may_stand_anywhere_in_any_unit_of_length(name):
    there = {key: np.add(place, (0.43, 0.34)) for key, place in LINKAGES[name].items()}
    here, shifted = moved(name), linkage.move(linkage.linkage(KINDS[name], there), ROWS)
    evidence.identity(f"{name}: shifted", shifted.leverage_ratio, here.leverage_ratio, rel=1e-8)
    grown = {key: np.multiply(place, 1.3) for key, place in LINKAGES[name].items()}
    larger = linkage.move(linkage.linkage(KINDS[name], grown), ROWS * 1.3)
    evidence.identity(f"{name}: grown", larger.leverage_ratio, here.leverage_ratio, rel=1e-8)


@EVERY
def test_many_draws_at_once_are_each_alone(name):
    noise = np.random.default_rng(5).normal(scale=1e-3, size=(16, 2))
    many = {
        key: np.add(place, noise * (1 + at))
        for at, (key, place) in enumerate(LINKAGES[name].items())
    }
    together = linkage.move(linkage.linkage(KINDS[name], many), ROWS[::8])
    assert together.leverage_ratio.shape == (16, ROWS[::8].size)
    for draw in (0, 7, 15):
        alone = moved(name, ROWS[::8], **{key: place[draw] for key, place in many.items()})
        evidence.identity(
            f"{name}: draw", together.leverage_ratio[draw], alone.leverage_ratio, rel=1e-8
        )


@EVERY
def test_the_way_there_does_not_matter(name):
    once, often = moved(name, [TRAVEL]), moved(name)
    evidence.identity(f"{name}: stroke", once.shock_stroke[0], often.shock_stroke[-1], rel=1e-8)


@EVERY
def test_what_cannot_be_reached_is_masked_and_says_why(name):
    motion = moved(name, np.linspace(0.0, 1.4, 30))
    assert motion.reached[0]
    assert not motion.reached[-1]
    stop = int(np.argmin(motion.reached))
    assert not motion.reached[stop:].any()
    assert set(motion.limit[stop:]) <= {linkage.STRETCHED, linkage.SHOCK_TURNS}
    assert set(motion.limit[:stop]) == {linkage.NO_LIMIT}
    for values in (motion.leverage_ratio, motion.shock_stroke, motion.axle_x, motion.turn_rate):
        assert np.isfinite(values).all()
    assert np.isfinite(motion.instant_centre).all()


def test_parallel_links_only_shift_the_rear():
    points = {
        "lower_frame": (0.0, 0.0), "lower_rear": (-0.1, 0.0), "axle": (-0.43, 0.03),
        "upper_frame": (0.0, 0.2), "upper_rear": (-0.1, 0.2),
        "shock_frame": (-0.05, -0.15), "shock_lower": (-0.05, 0.0),
    }  # fmt: skip
    motion = linkage.move(linkage.linkage("twin-link", points), [0.0, 0.03])
    assert motion.translating.all()
    assert not motion.reached.any()
    assert set(motion.limit) == {linkage.SHOCK_TURNS}
    evidence.identity("turn of a parallelogram", motion.turn_rate, 0.0, within=1e-9)


@pytest.mark.parametrize(
    ("kind", "change", "error", "match"),
    [
        ("five-bar", {}, InputError, "single-pivot, rocker, four-bar, twin-link"),
        ("rocker", {"axle": None}, InputError, r"points\.axle: missing"),
        ("rocker", {"hinge": (0, 0)}, InputError, r"points\.hinge: a rocker linkage has"),
        ("rocker", {"shock_frame": None}, InputError, "the shock's two ends"),
        ("rocker", {"shock_arm": (0.0, 0.2)}, InputError, "the shock's two ends"),
        ("rocker", {"axle": (np.nan, 0)}, RangeError, r"points\.axle is nan"),
        ("rocker", {"axle": (44.0, 3.0)}, RangeError, r"points\.axle is 44"),
        ("rocker", {"axle": 0.4}, RangeError, "give it as x and y"),
        ("rocker", {"axle": (0.01, 0.06)}, RangeError, "falls on"),
        ("rocker", {"shock_frame": (0.06, 0.32)}, RangeError, "falls on"),
    ],
)
def test_what_cannot_be(kind, change, error, match):
    points = {
        key: place for key, place in (LINKAGES["rocker"] | change).items() if place is not None
    }
    with pytest.raises(error, match=match):
        linkage.linkage(kind, points)


@pytest.mark.parametrize("rows", [[], [0.0, 0.0], [0.02, 0.01], [[0.0]], [-0.01, 0.02]])
def test_travels_that_do_not_ascend(rows):
    with pytest.raises(RangeError, match="travel"):
        moved("rocker", rows)


def test_all_missing_points_at_once():
    with pytest.raises(InputError, match="missing") as caught:
        linkage.linkage("four-bar", {"pivot": (0, 0), "shock_frame": (0.1, 0.1)})
    assert {problem.field for problem in caught.value.problems} == {
        "points", "points.stay_pivot", "points.rocker_stay", "points.rocker_pivot", "points.axle"
    }  # fmt: skip
