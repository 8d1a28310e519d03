import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from body.bodies import SEAT_ANGLE, survey_columns, trail_bike
from cyclewright.body import posture
from cyclewright.body.segments import Segments, inseam_of, predict
from cyclewright.errors import RangeError

POINTS = {
    "hip", "shoulder", "elbow", "hand", "head",
    *(f"{name}_{side}" for name in ("knee", "ankle", "ball", "heel") for side in ("front", "rear")),
}  # fmt: skip
ANGLES = {
    "trunk", "shoulder", "elbow", "hip", "knee_front", "knee_rear", "knee_bottom", "knee_top",
    "forearm", "ankle",
}  # fmt: skip

bodies = st.builds(
    lambda stature, share, sex: (predict(stature, share * stature, sex), share * stature),
    st.floats(1.45, 2.0),
    st.floats(0.45, 0.51),
    st.sampled_from(["M", "F", None]),
)


def fitted(body, crotch):
    """The body on a trail bike of its size with the saddle where we recommend it."""
    heights = posture.saddle_heights(body, inseam_of(crotch), 0.17, 0.03, SEAT_ANGLE)
    return trail_bike(body.stature, posture.recommended(heights))[0]


def scaled(body, factor):
    return Segments(**{name: factor * getattr(body, name) for name in Segments.__slots__})


def links(pose, body):
    """Every link of the pose with the length it must show."""
    at = pose.points
    yield at["hip"], at["shoulder"], body.trunk
    for side in ("front", "rear"):
        yield at["hip"], at[f"knee_{side}"], body.thigh
        yield at[f"knee_{side}"], at[f"ankle_{side}"], body.shank
        yield at[f"heel_{side}"], at[f"ball_{side}"], body.foot


@pytest.mark.parametrize("take", [posture.seated, posture.standing])
@given(bodies)
def test_segments_keep_their_lengths_and_touch_the_bike(take, pair):
    body, crotch = pair
    contacts = fitted(body, crotch)
    pose = take(body, contacts)
    assert set(pose.points) == POINTS and set(pose.angles) == ANGLES
    assert not pose.unreachable.any(), pose.limit
    for start, end, length in links(pose, body):
        assert np.linalg.norm(end - start, axis=-1) == pytest.approx(length, rel=1e-9)
    assert pose.points["hand"] == pytest.approx(contacts.grip, abs=1e-9)
    for side, sign in (("front", 1.0), ("rear", -1.0)):
        spindle = contacts.bottom_bracket + sign * np.array([0.17, 0.0])
        gap = np.linalg.norm(pose.points[f"ball_{side}"] - spindle, axis=-1)
        assert gap == pytest.approx(contacts.foot_stack, rel=1e-9)


@given(bodies)
def test_a_seated_rider_looks_like_one(pair):
    body, crotch = pair
    pose = posture.seated(body, fitted(body, crotch))
    degrees = {name: float(np.degrees(angle[0])) for name, angle in pose.angles.items()}
    assert 42.0 < degrees["trunk"] < 72.0
    assert 24.9 < degrees["knee_bottom"] < 35.1
    assert degrees["knee_bottom"] < degrees["knee_front"] < degrees["knee_top"] < 130.0
    assert degrees["elbow"] == pytest.approx(math.degrees(0.35), abs=1e-6)
    assert 15.0 < degrees["forearm"] < 65.0


@given(bodies)
def test_a_standing_rider_bends_knees_and_elbows_and_stays_low(pair):
    body, crotch = pair
    contacts = fitted(body, crotch)
    pose = posture.standing(body, contacts)
    degrees = {name: float(np.degrees(angle[0])) for name, angle in pose.angles.items()}
    assert 30.0 < degrees["knee_bottom"] <= degrees["knee_top"] < 60.0
    assert 60.0 < degrees["elbow"] < 110.0
    assert 15.0 < degrees["trunk"] < 50.0
    assert pose.points["hip"][0, 0] < contacts.bottom_bracket[0, 0]
    assert pose.points["hip"][0, 1] > contacts.saddle[0, 1] - 0.05


@pytest.mark.parametrize("take", [posture.seated, posture.standing])
@given(bodies, st.floats(0.6, 1.5))
def test_everything_scales(take, pair, factor):
    body, crotch = pair
    height = posture.recommended(
        posture.saddle_heights(body, inseam_of(crotch), 0.17, 0.03, SEAT_ANGLE)
    )
    one = take(body, trail_bike(body.stature, height)[0])
    bike, _ = trail_bike(factor * body.stature, factor * height, scale=factor)
    other = take(scaled(body, factor), bike)
    for name in POINTS:
        assert other.points[name] == pytest.approx(factor * one.points[name], abs=1e-9)
    for name in ANGLES:
        assert other.angles[name] == pytest.approx(one.angles[name], abs=1e-6)


@pytest.mark.parametrize("take", [posture.seated, posture.standing])
@given(bodies, st.floats(-3.0, 3.0), st.floats(-3.0, 3.0))
def test_a_bike_moved_takes_its_rider_along(take, pair, x, y):
    body, crotch = pair
    contacts = fitted(body, crotch)
    names = ("saddle", "bottom_bracket", "grip")
    moved = dataclasses.replace(
        contacts, **{name: getattr(contacts, name) + np.array([x, y]) for name in names}
    )
    one, other = take(body, contacts), take(body, moved)
    for name in POINTS:
        assert other.points[name] == pytest.approx(one.points[name] + [x, y], abs=1e-8)


@given(st.floats(-1.0, 1.0), st.floats(-1.0, 1.0), st.floats(0.2, 0.6), st.floats(0.2, 0.6))
def test_two_links_mirror(x, y, first, second):
    start, end = np.zeros((1, 2)), np.array([[x, y]])
    one, other = np.array([first]), np.array([second])
    knee, bend = posture._two_links(start, end, one, other)
    back, same = posture._two_links(end, start, other, one)
    assert bend == pytest.approx(same)
    reachable = abs(first - second) + 1e-6 < math.hypot(x, y) < first + second - 1e-6
    if reachable:
        mirrored = knee - 2.0 * _off_line(knee, end)
        assert back == pytest.approx(mirrored, abs=1e-6)
        assert np.linalg.norm(knee - end) == pytest.approx(second, abs=1e-9)


def _off_line(point, end):
    """The part of a point that is square to the line from the origin to the end."""
    unit = end / np.linalg.norm(end)
    return point - np.sum(point * unit, axis=-1, keepdims=True) * unit


finite = st.floats(-3.0, 3.0)


@pytest.mark.parametrize("take", [posture.seated, posture.standing])
@given(bodies, st.tuples(finite, finite), st.tuples(finite, finite), st.tuples(finite, finite),
       st.floats(0.05, 0.4), st.floats(0.005, 0.2), st.floats(0.0, 1.5))  # fmt: skip
def test_any_bike_gives_a_finite_pose_with_a_named_limit(
    take, pair, saddle, bottom_bracket, grip, crank, stack, width
):
    contacts = posture.Contacts(
        np.array([saddle]),
        np.array([bottom_bracket]),
        np.array([grip]),
        np.array([crank]),
        np.array([stack]),
        width,
    )
    pose = take(pair[0], contacts)
    assert all(np.isfinite(point).all() for point in pose.points.values())
    assert all(np.isfinite(angle).all() for angle in pose.angles.values())
    assert pose.limit[0] in posture.LIMITS
    assert pose.unreachable[0] == (pose.limit[0] != "")
    assert 0.0 <= pose.angles["elbow"][0] <= posture.ELBOW_MOST + 1e-6
    for name in ("knee_front", "knee_rear", "knee_bottom", "knee_top"):
        assert 0.0 <= pose.angles[name][0] <= posture.KNEE_MOST + 1e-6
    low, high = posture.TRUNK_RANGE
    assert low - 1e-9 <= pose.angles["trunk"][0] <= high + 1e-9


@pytest.mark.parametrize(
    ("change", "limit"),
    [
        ({"saddle": [[0.05, 1.6]]}, "leg too short"),
        ({"saddle": [[0.40, 0.45]]}, "knee range"),
        ({"grip": [[1.6, 1.0]]}, "arms too short"),
        ({"grip": [[0.22, 1.60]]}, "elbow range"),
        ({"grip": [[0.35, 1.20]]}, "trunk range"),
    ],
)
def test_the_limit_that_binds_is_named(change, limit):
    body = predict(1.756, 0.846, "M")
    contacts = fitted(body, 0.846)
    moved = {name: np.array(point) for name, point in change.items()}
    pose = posture.seated(body, dataclasses.replace(contacts, **moved))
    assert pose.limit[0] == limit
    assert pose.unreachable[0]


def test_toes_point_before_a_leg_is_too_short():
    body = predict(1.756, 0.846, "M")
    height = posture.saddle_heights(body, 0.861, 0.17, 0.03, SEAT_ANGLE).knee_high + 0.025
    pose = posture.seated(body, trail_bike(1.756, height)[0])
    assert not pose.unreachable[0]
    assert pose.angles["knee_bottom"][0] < posture.KNEE_LOW


def test_the_leg_model_gives_back_the_knee_that_set_the_saddle():
    """Second method: saddle height solved for a knee, then the whole pose solved for it."""
    columns = survey_columns("F")
    body = predict(columns["stature"], columns["crotchheight"], "F")
    heights = posture.saddle_heights(
        body, inseam_of(columns["crotchheight"]), 0.17, 0.03, SEAT_ANGLE
    )
    for height, flexion in ((heights.knee_high, 25.0), (heights.knee_low, 35.0)):
        pose = posture.seated(body, trail_bike(body.stature, height)[0])
        evidence.second_method(
            f"saddle set for {flexion:g}° of knee, every woman of the survey",
            np.degrees(pose.angles["knee_bottom"]),
            flexion,
            "the whole pose solved on that saddle",
        )


@pytest.mark.parametrize("sex", ["M", "F"])
def test_the_whole_survey_fits_its_bikes(sex):
    columns = survey_columns(sex)
    body = predict(columns["stature"], columns["crotchheight"], sex)
    heights = posture.saddle_heights(
        body, inseam_of(columns["crotchheight"]), 0.17, 0.03, SEAT_ANGLE
    )
    contacts, _ = trail_bike(body.stature, posture.recommended(heights))
    for pose in (posture.seated(body, contacts), posture.standing(body, contacts)):
        assert pose.unreachable.shape == columns["stature"].shape
        assert not pose.unreachable.any()
    methods = (heights.by_inseam, heights.by_spindle_from_bb, heights.heel, heights.knee_middle)
    apart = np.ptp(np.stack(methods), axis=0)
    assert apart.mean() < 0.065 and apart.max() < 0.10
    assert np.abs(heights.by_inseam - heights.knee_high).mean() < 0.025


def test_one_degree_of_knee_at_thirty_is_under_two_millimetres_of_leg():
    body = predict(tuple(survey_columns(None)["stature"]))
    reach = [
        posture._closing(body.thigh, body.shank, math.radians(degrees)).mean()
        for degrees in (29.5, 30.5)
    ]
    evidence.published(
        "leg that one degree of knee takes at 30°",
        float(reach[0] - reach[1]),
        1.85e-3,
        "1.5%",
        "law of cosines on the mean legs of ANSUR II (Gordon and others 2014)",
        "formula",
        "m",
    )


@given(bodies, st.floats(0.0, 0.05), st.floats(0.0, 0.05), st.floats(0.0, 0.05))
def test_longer_legs_never_want_a_lower_saddle(pair, thigh, shank, inseam):
    body, crotch = pair
    longer = dataclasses.replace(body, thigh=body.thigh + thigh, shank=body.shank + shank)
    one = posture.saddle_heights(body, inseam_of(crotch), 0.17, 0.03)
    other = posture.saddle_heights(longer, inseam_of(crotch) + inseam, 0.17, 0.03)
    for name in posture.SaddleHeights.__slots__:
        assert (getattr(other, name) >= getattr(one, name) - 1e-12).all(), name
    assert (posture.recommended(other) >= posture.recommended(one) - 1e-12).all()


@given(bodies)
def test_a_longer_crank_lowers_the_saddle_by_the_leg(pair):
    body, crotch = pair
    one, other = (posture.saddle_heights(body, inseam_of(crotch), c, 0.03) for c in (0.165, 0.175))
    assert one.knee_middle - other.knee_middle == pytest.approx(0.010, abs=1e-9)
    assert one.by_inseam == pytest.approx(other.by_inseam)


def test_the_published_heights_from_the_inseam():
    evidence.published(
        "saddle height by inseam",
        float(posture.by_inseam(0.83)),
        0.73289,
        "0.0002",
        "0.883 x inseam, common practice",
        "read",
        "m",
    )
    evidence.published(
        "saddle height by spindle",
        float(posture.by_spindle(0.83)),
        0.9047,
        "0.0002",
        "1.09 x inseam (Hamley and Thomas 1967)",
        "read",
        "m",
    )


@pytest.mark.parametrize("inseam", [-0.8, 0.0, math.nan, math.inf, 83.0])
def test_an_inseam_nobody_has_is_refused(inseam):
    with pytest.raises(RangeError, match="inseam is"):
        posture.by_inseam(inseam)
    with pytest.raises(RangeError, match="inseam is"):
        posture.by_spindle(inseam)


def test_positions_that_are_no_numbers_are_refused_all_at_once():
    body = predict(1.756, 0.846, "M")
    contacts = dataclasses.replace(
        fitted(body, 0.846), grip=np.array([[math.nan, 1.0]]), crank_length=np.array([-0.17])
    )
    with pytest.raises(RangeError, match="crank_length: give a length above zero") as refused:
        posture.seated(body, contacts, elbow_flexion=math.inf)
    names = {problem.field for problem in refused.value.problems}
    assert names == {"crank_length", "grip", "elbow_flexion"}


def test_draws_and_single_values_broadcast():
    body = predict(1.756, 0.846, "M", deviates=np.random.default_rng(4).normal(size=(6, 513)))
    contacts, _ = trail_bike(1.756, 0.745)
    for pose in (posture.seated(body, contacts), posture.standing(body, contacts, 0.02)):
        assert {point.shape for point in pose.points.values()} == {(513, 2)}
        assert {angle.shape for angle in pose.angles.values()} == {(513,)}
        assert pose.unreachable.shape == pose.limit.shape == (513,)
