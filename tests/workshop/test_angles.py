"""Angles typed or read from a points file, held against what is advised."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from cyclewright.errors import InputError
from cyclewright.workshop import angles
from cyclewright.workshop.advising import advise
from cyclewright.workshop.angles import Points
from cyclewright.workshop.sheets import read_sheets

EXAMPLES = Path(__file__).parents[2] / "examples"
PHOTO = EXAMPLES / "photos/side.toml"


@pytest.fixture(scope="module")
def sheets():
    return read_sheets(
        EXAMPLES / "bikes/trail.toml", EXAMPLES / "riders/heavy.toml", EXAMPLES / "places/left.toml"
    )


@pytest.fixture(scope="module")
def lever(sheets):
    setting = advise(sheets).setting("lever_angle")
    return math.degrees(setting.value)


def said(sheets, **typed):
    return " ".join(
        angles.typed_angles(
            sheets, {key.replace("_", "-"): text for key, text in typed.items()}
        ).said
    )


@pytest.mark.parametrize(
    ("angle", "word"), [("12 deg", "lower the saddle"), ("30 deg", "leave"), ("50 deg", "raise")]
)
def test_a_knee_says_what_to_do_with_the_saddle(sheets, angle, word):
    assert word in said(sheets, knee=angle)


@pytest.mark.parametrize(
    ("angle", "word"),
    [("-1 deg", "leave it"), ("6 deg", "bring it down"), ("-9 deg", "bring it up")],
)
def test_a_tilt_says_which_way(sheets, angle, word):
    assert word in said(sheets, saddle=angle)


def test_levers_are_turned_to_the_forearm_and_alike(sheets, lever):
    told = said(sheets, lever_left=f"{lever - 20:.1f} deg", lever_right=f"{lever:.1f} deg")
    assert "Left lever: turn it 20° down" in told
    assert "Right lever: in line with the forearm" in told
    assert "set both sides alike" in told
    assert "alike" not in said(sheets, lever_left="50 deg", lever_right="51 deg")
    assert "up, to" in said(sheets, lever_left=f"{min(lever + 20, 89):.1f} deg")


def test_a_typed_angle_carries_how_well_it_was_read(sheets):
    (knee,) = angles.typed_angles(sheets, {"knee": "30 deg"}).angles
    assert knee.basis == "measured"
    assert math.degrees(knee.high - knee.low) == pytest.approx(2 * 1.645 * 3.0)


def test_the_example_photo_shows_the_posture_it_was_drawn_from(sheets):
    """Round trip: points projected from the solved posture give its angles back."""
    answer = angles.measure(sheets, angles.read_points(PHOTO))
    found = {item.name: math.degrees(item.value) for item in answer.angles}
    pose = {
        "knee_flexion": 33.5,
        "trunk_angle": 53.7,
        "forearm_angle": 56.5,
    }
    for name, drawn in pose.items():
        assert found[name] == pytest.approx(drawn, abs=1.5), name
    assert set(found) >= {"saddle_measured", "lever_left_measured", "lever_right_measured"}


def test_everything_wrong_with_typed_angles_is_told_at_once(sheets):
    with pytest.raises(InputError, match="knee is 20: add the unit") as refused:
        angles.typed_angles(sheets, {"knee": "20", "elbow": "5 deg", "saddle": "80 deg"})
    assert [problem.field for problem in refused.value.problems] == ["knee", "elbow", "saddle"]


def test_nothing_measured_is_refused(sheets):
    with pytest.raises(InputError, match="set points on a photo, or give an angle"):
        angles.measure(sheets, Points())


@pytest.mark.parametrize(
    ("text", "fields"),
    [
        ("size = 4000\n[points]\nknee = [1, 2]", ["size"]),
        ('size = [4000, 3000]\n[points]\nknee = "here"', ["points"]),
        ("taken = 'asleep'\ndistance = '4'\nhue = 1", ["hue", "taken", "distance"]),
        ("[typed]\nknee = 30", ["typed"]),
        ("[points", [None]),
    ],
)
def test_a_points_file_is_read_or_refused_in_a_sentence(tmp_path, text, fields):
    file = tmp_path / "points.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=r"\w") as refused:
        angles.read_points(file)
    wanted = [str(file) if field is None else field for field in fields]
    assert [problem.field for problem in refused.value.problems] == wanted


def test_a_file_that_is_not_there_or_far_too_long_is_refused(tmp_path):
    with pytest.raises(InputError, match="cannot be read: No such file"):
        angles.read_points(tmp_path / "none.toml")
    long = tmp_path / "long.toml"
    long.write_text("#" * 200_000, encoding="utf-8")
    with pytest.raises(InputError, match="longer than 100 kB"):
        angles.read_points(long)
