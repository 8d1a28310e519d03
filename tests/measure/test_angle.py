"""Angles off a photo: against a pinhole camera that looks at a known rider, and identities."""

from __future__ import annotations

import math

import numpy as np
import pytest

from cyclewright.errors import RangeError
from cyclewright.measure import angle

RIDER = {
    "hip": (0.25, 1.05, 0.12),
    "knee": (0.62, 0.72, 0.11),
    "ankle": (0.50, 0.30, 0.12),
    "shoulder": (0.55, 1.50, 0.19),
    "elbow": (0.78, 1.28, 0.28),
    "wrist": (0.97, 1.12, 0.34),
}
"""An invented rider on a bike: x forward, y up, z towards the camera [m], origin at an axle."""
WHEELBASE = 1.2
MIDDLE = np.array([0.6, 0.7])


def photographed(distance, turn=0.0, tilt=0.0, roll=0.0, focal=1500.0, noise=None):
    """Pixels of every point by a pinhole camera: the second method, with no code of ours."""
    rotate_y = np.array(
        [[math.cos(turn), 0, math.sin(turn)], [0, 1, 0], [-math.sin(turn), 0, math.cos(turn)]]
    )
    rotate_x = np.array(
        [[1, 0, 0], [0, math.cos(tilt), -math.sin(tilt)], [0, math.sin(tilt), math.cos(tilt)]]
    )
    spin = np.array([[math.cos(roll), -math.sin(roll)], [math.sin(roll), math.cos(roll)]])
    found = {}
    places = {**RIDER, "rear_axle": (0, 0, 0), "front_axle": (WHEELBASE, 0, 0)}
    for name, place in places.items():
        relative = np.array(place, float) - np.array([*MIDDLE, 0.0])
        x, y, z = rotate_x @ rotate_y @ relative
        seen = spin @ np.array([x, y]) * focal / (distance - z)
        found[name] = np.array([2000 + seen[0], 1500 - seen[1]])
        if noise is not None:
            found[name] = found[name] + noise(name) * focal / distance
    return found


def true_flexion(*names):
    a, b, c = (np.array(RIDER[name][:2]) for name in names)
    cosine = (a - b) @ (c - b) / np.linalg.norm(a - b) / np.linalg.norm(c - b)
    return math.pi - math.acos(cosine)


def read(pixels, names, camera, nearer_spread=0.03):
    places = {**{name: pixels[name] for name in names}, "middle": (2000, 1500)}
    metres = angle.on_the_bike(places, pixels["rear_axle"], pixels["front_axle"], WHEELBASE)
    points = tuple(metres[name] - metres["middle"] for name in names)
    nearer = tuple(RIDER[name][2] for name in names)
    return angle.joint(points, camera, nearer, nearer_spread)


@pytest.mark.parametrize("names", [("hip", "knee", "ankle"), ("shoulder", "elbow", "wrist")])
def test_square_on_photo_gives_the_true_angle(names):
    pixels = photographed(4.0, roll=0.06)
    got = read(pixels, names, angle.Camera(4.0))
    assert got.angle == pytest.approx(true_flexion(*names), abs=1e-6)


@pytest.mark.parametrize("names", [("hip", "knee", "ankle"), ("shoulder", "elbow", "wrist")])
def test_spread_covers_cameras_held_by_hand(names):
    """Hands turn and tilt a camera and set points a few millimetres off: 90 % must be inside."""
    rng = np.random.default_rng(7)
    truth = true_flexion(*names)
    inside = 0
    shots = 600
    for _ in range(shots):
        distance = 4.0 + 0.5 * rng.standard_normal()
        pixels = photographed(
            distance,
            turn=0.05 * rng.standard_normal(),
            tilt=0.05 * rng.standard_normal(),
            noise=lambda name: (
                np.zeros(2) if name.endswith("axle") else 0.006 * rng.standard_normal(2)
            ),
        )
        got = read(pixels, names, angle.Camera(4.0), nearer_spread=0.0)
        inside += abs(got.angle - truth) <= 1.645 * got.spread
    assert 0.86 <= inside / shots <= 0.97


def test_a_camera_held_too_high_is_inside_its_spread_where_depths_differ():
    """0.4 m too high and aimed at the middle: the wrist stands 6 cm nearer than the elbow."""
    high, names = math.atan2(0.4, 4.0), ("elbow", "wrist")
    camera = angle.Camera(4.0, 0.0, turn_spread=0.0, tilt_spread=high, point_spread=0.0)
    pixels = photographed(4.0, tilt=high)
    places = {**{name: pixels[name] for name in names}, "middle": (2000, 1500)}
    metres = angle.on_the_bike(places, pixels["rear_axle"], pixels["front_axle"], WHEELBASE)
    points = tuple(metres[name] - metres["middle"] for name in names)
    got = angle.incline(points, camera, tuple(RIDER[name][2] for name in names), 0.0)
    (x, y, _), (u, v, _) = (RIDER[name] for name in names)
    missed = abs(got.angle - math.atan2(v - y, u - x))
    assert missed > math.radians(0.8)
    assert 0.6 * missed < got.spread < 1.7 * missed


def test_farther_camera_and_better_points_tell_more():
    pixels = photographed(4.0)
    names = ("hip", "knee", "ankle")
    near = read(pixels, names, angle.Camera(4.0, distance_spread=1.0))
    sure = read(pixels, names, angle.Camera(4.0, point_spread=0.002))
    assert sure.spread < near.spread


def test_bike_facing_left_is_turned():
    left = angle.on_the_bike({"a": (500, 100)}, (500, 300), (100, 300), 1.2)
    right = angle.on_the_bike({"a": (100, 100)}, (100, 300), (500, 300), 1.2)
    assert left["a"] == pytest.approx(right["a"])


def test_flexion_is_the_law_of_cosines_and_has_no_side():
    assert float(angle.flexion((0, 1), (0, 0), (0, -1))) == pytest.approx(0.0)
    bent = angle.flexion((0, 1), (0, 0), (1, 0))
    assert float(bent) == pytest.approx(math.pi / 2)
    assert float(angle.flexion((1, 0), (0, 0), (0, 1))) == pytest.approx(float(bent))


def test_level_averages_out_noise_and_turns_over():
    rng = np.random.default_rng(3)
    tilt = math.radians(4.0)
    clean = 9.81 * np.array([0.0, math.sin(tilt), math.cos(tilt)])
    samples = clean + 0.05 * rng.standard_normal((120, 3))
    got = angle.level(samples)
    assert got.angle == pytest.approx(tilt, abs=3 * got.spread)
    assert angle.level(samples * np.array([1, -1, 1])).angle == pytest.approx(-got.angle)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: angle.flexion((0, 0), (0, 0), (1, 0)), "own place"),
        (lambda: angle.slope((1, 1), (1, 1)), "own place"),
        (lambda: angle.on_the_bike({}, (1, 1), (1, 1), 1.2), "both axles"),
        (lambda: angle.on_the_bike({}, (1, 1), (900, 1), 0.0), "wheelbase"),
        (
            lambda: angle.joint(((0, 1), (0, 0), (1, 0)), angle.Camera(0.2), (0.3, 0.0, 0.0)),
            "farther",
        ),
        (lambda: angle.level([[0, 0, 9.8]]), "still"),
        (lambda: angle.level([[0, 0, 20.0]] * 9), "still"),
    ],
)
def test_what_cannot_be_is_told(call, words):
    with pytest.raises(RangeError, match=words):
        call()
