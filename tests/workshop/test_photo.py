"""Points set on a photo become angles that a mechanic can act on."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from cyclewright.errors import InputError
from cyclewright.mechanics.tyre import outside_diameter
from cyclewright.workshop.photo import measure_photo
from cyclewright.workshop.sheets import read_sheets

EXAMPLES = Path(__file__).parents[2] / "examples"
SIZE = (4000, 3000)


@pytest.fixture(scope="module")
def sheets():
    return read_sheets(
        EXAMPLES / "bikes/trail.toml", EXAMPLES / "riders/heavy.toml", EXAMPLES / "places/left.toml"
    )


def side(knee_degrees):
    """Pixels of a rider whose knee is bent this much, photographed from very far away."""
    pixel = 1.187 / 1200
    bend = math.radians(knee_degrees)
    knee = (1900.0, 1500.0)
    thigh, shank = 0.43 / pixel, 0.42 / pixel
    hip = (knee[0], knee[1] - thigh)
    ankle = (knee[0] - shank * math.sin(bend), knee[1] + shank * math.cos(bend))
    return {
        "rear_axle": (1400.0, 2200.0),
        "front_axle": (2600.0, 2200.0),
        "hip": hip,
        "knee": knee,
        "ankle": ankle,
    }


def knee(answer):
    return next(item for item in answer.angles if item.name == "knee_flexion")


@pytest.mark.parametrize(
    ("bend", "word"), [(8, "lower the saddle"), (30, "leave"), (60, "raise the saddle")]
)
def test_a_static_photo_says_what_to_do(sheets, bend, word):
    answer = measure_photo(sheets, side(bend), SIZE, "static", 50.0)
    found = knee(answer)
    assert math.degrees(found.value) == pytest.approx(bend, abs=1.5)
    assert found.low < found.value < found.high
    assert found.basis == "measured"
    assert word in answer.said[0]


@pytest.mark.parametrize("lean", [-8.0, 0.0, 8.0])
def test_mixed_wheels_do_not_tilt_the_rider(lean):
    """A camera rolled by `lean` sees the front axle higher: by the wheels, not by a slope."""
    mixed = read_sheets(
        EXAMPLES / "bikes/longtravel.toml",
        EXAMPLES / "riders/heavy.toml",
        EXAMPLES / "places/left.toml",
    )
    tyres = (mixed.bike.tyre.front, mixed.bike.tyre.rear)
    front, rear = (float(outside_diameter(tyre.width, tyre.bead)) / 2 for tyre in tyres)
    assert front - rear > 0.015
    wheelbase, pixel, trunk = mixed.bike.frame.wheelbase.value, 0.001, math.radians(52)
    hip, shoulder = (0.2, 0.95), (0.2 + 0.5 * math.cos(trunk), 0.95 + 0.5 * math.sin(trunk))
    metres = {
        "rear_axle": (0.0, rear),
        "front_axle": (wheelbase, front),
        "hip": hip,
        "shoulder": shoulder,
    }
    roll = math.radians(lean)
    seen = {
        name: (
            1400 + (x * math.cos(roll) - y * math.sin(roll)) / pixel,
            2200 - (x * math.sin(roll) + y * math.cos(roll)) / pixel,
        )
        for name, (x, y) in metres.items()
    }
    answer = measure_photo(mixed, seen, SIZE, "static", 50.0)
    found = next(item for item in answer.angles if item.name == "trunk_angle")
    assert math.degrees(found.value) == pytest.approx(52, abs=0.2)


def test_a_pedalling_photo_is_not_judged_by_the_static_range(sheets):
    answer = measure_photo(sheets, side(45), SIZE, "pedalling", 6.0)
    assert "more bent" in answer.said[0]
    assert "pedalling" in knee(answer).because


def test_close_to_the_range_the_photo_says_it_cannot_tell(sheets):
    answer = measure_photo(sheets, side(36), SIZE, "static", 4.0)
    assert "cannot tell" in answer.said[0]


def test_all_that_is_wrong_is_told_at_once(sheets):
    with pytest.raises(InputError, match="set this point") as caught:
        measure_photo(
            sheets,
            {"nose": (1, 2), "knee": (1, math.nan), "rear_axle": (1, 2)},
            (0, 10),
            "static",
            0.1,
        )
    fields = {problem.field for problem in caught.value.problems}
    assert {"front_axle", "nose", "knee", "size", "distance"} <= fields
