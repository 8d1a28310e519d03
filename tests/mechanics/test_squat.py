from __future__ import annotations

import numpy as np
import pytest

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import linkage, squat

from .bikes import KINDS, LINKAGES, TRAVEL


def force_centre_height(axle, pivot, bb, front, rear, wheelbase):
    """Where the line from the rear contact through the force centre meets the front wheel."""
    # the upper run touches each sprocket's circle: its normal leans by the radii's difference
    ring, cog = float(squat.pitch_radius(front)), float(squat.pitch_radius(rear))
    gap = bb - axle
    far = float(np.hypot(*gap))
    along, square = gap / far, np.array([-gap[1], gap[0]]) / far
    lean = (ring - cog) / far
    normal = -lean * along + np.sqrt(1.0 - lean**2) * square
    run = np.array([normal[1], -normal[0]])
    start, arm = axle + cog * normal, pivot - axle
    way, _ = np.linalg.solve(np.stack((arm, -run), axis=1), start - axle)
    centre = axle + way * arm
    return centre[1] / centre[0] * wheelbase


def test_anti_squat_by_the_chain_line_construction():
    draw = np.random.default_rng(4)
    cases = []
    for _ in range(80):
        pivot = np.array([draw.uniform(0.2, 0.8), 0.365 + draw.uniform(-0.1, 0.1)])
        bb = np.array([0.435, 0.345 + draw.uniform(-0.02, 0.02)])
        teeth = int(draw.integers(26, 41)), int(draw.integers(10, 53))
        cases.append((np.array([0.0, 0.365]), pivot, bb, *teeth, 1.22, draw.uniform(0.9, 1.3)))
    evidence.second_method(
        "anti-squat, 80 pivots and gears",
        [float(squat.anti_squat(*a, *p, *b, *rest)) for a, p, b, *rest in cases],
        [force_centre_height(*case[:-1]) / case[-1] for case in cases],
        "chain line and arm crossed, line from the rear contact to the front wheel",
        rel=1e-7,
        within=1e-9,
    )


@pytest.mark.parametrize("name", list(LINKAGES))
def test_anti_squat_on_the_path_and_about_the_instant_centre(name):
    motion = linkage.move(linkage.linkage(KINDS[name], LINKAGES[name]), np.linspace(0, TRAVEL, 9))
    radius = 0.365
    x, y = motion.axle_x, motion.axle_y
    centre = motion.instant_centre
    about = squat.anti_squat(
        0.0, radius, centre[:, 0] - x, centre[:, 1] - y + radius, -x, radius - y, 32, 18, 1.22, 1.1
    )
    path = squat.anti_squat_on_path(motion.axle_slope, radius, x, y, 32, 18, 1.22, 1.1)
    evidence.identity(f"{name}: anti-squat", path, about, rel=1e-8, within=1e-10)


@pytest.mark.parametrize("name", list(LINKAGES))
def test_growth_by_measuring_the_chain_with_its_wraps(name):
    motion = linkage.move(linkage.linkage(KINDS[name], LINKAGES[name]), np.linspace(0, TRAVEL, 9))
    front, rear = 30, 50
    ring, cog = float(squat.pitch_radius(front)), float(squat.pitch_radius(rear))
    lengths = []
    for x, y in zip(motion.axle_x, motion.axle_y, strict=True):
        # from a mark on the cog's rear over both tops to a mark on the ring's front, by points
        angles = np.linspace(0.0, np.pi, 200_001)
        top = np.cos(angles) * -x + np.sin(angles) * -y  # bottom bracket along each normal
        at = angles[int(np.argmin(np.abs(top + ring - cog)))]
        free = np.sqrt(x**2 + y**2 - (ring - cog) ** 2)
        lengths.append(cog * (np.pi - at) + free + ring * at)
    evidence.second_method(
        f"{name}: chain growth over the travel",
        squat.chain_growth(motion.axle_x, motion.axle_y, front, rear),
        np.array(lengths) - lengths[0],
        "chain measured from mark to mark with its wraps",
        rel=1e-3,
        within=2e-6,
    )
    turn = squat.kick_back(motion.axle_x, motion.axle_y, front, rear)
    evidence.identity(
        f"{name}: kick-back", turn * ring, np.array(lengths) - lengths[0], within=2e-6
    )


@pytest.mark.parametrize("name", list(LINKAGES))
def test_the_growth_slope_is_its_derivative(name):
    motion = linkage.move(linkage.linkage(KINDS[name], LINKAGES[name]), np.linspace(0, TRAVEL, 201))
    grown = squat.chain_growth(motion.axle_x, motion.axle_y, 32, 24)
    slope = squat.growth_slope(motion.axle_slope, motion.axle_x, motion.axle_y, 32, 24)
    central = (grown[2:] - grown[:-2]) / (motion.travel[2:] - motion.travel[:-2])
    assert slope[1:-1] == pytest.approx(central, rel=1e-4, abs=1e-5)


def test_equal_sprockets_grow_by_the_chain_stay():
    x, y = np.array([-0.44, -0.447, -0.441]), np.array([0.03, 0.09, 0.16])
    stay = np.hypot(x, y)
    evidence.identity("growth", squat.chain_growth(x, y, 32, 32), stay - stay[0], within=1e-15)


def test_an_axle_on_a_circle_about_the_bottom_bracket_grows_nothing():
    angles = np.linspace(3.0, 3.4, 5)
    grown = squat.chain_growth(0.44 * np.cos(angles), 0.44 * np.sin(angles), 32, 32)
    evidence.identity("growth", grown, 0.0, within=1e-15)


def test_draws_keep_their_own_gear():
    x, y = np.full((2, 3), -0.44), np.array([[0.03, 0.1, 0.15]] * 2)
    grown = squat.chain_growth(x, y, [32, 32], [18, 51])
    alone = squat.chain_growth(x[1], y[1], 32, 51)
    evidence.identity("growth of a draw", grown[1], alone)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: squat.pitch_radius(5), "teeth is 5"),
        (lambda: squat.pitch_radius(18.5), "a whole number"),
        (lambda: squat.chain_growth([-0.05], [0.0], 32, 18), "would overlap"),
        (lambda: squat.kick_back([-0.44], [0.0], 32, 18.5), "rear_teeth is 18.5"),
        (lambda: squat.anti_squat(0, 0.36, 0, 0.4, 0.43, 0.34, 32, 18, 1.2, 1), "cannot let"),
        (
            lambda: squat.anti_squat(0, 0.36, 0.4, 0.4, 0.43, 0.34, 32, 18, 1.2, 0),
            "mass_height is 0",
        ),
        (lambda: squat.growth_slope(np.nan, -0.4, 0.0, 32, 18), "axle_slope is nan"),
    ],
)
def test_what_cannot_be(call, match):
    with pytest.raises(RangeError, match=match):
        call()
