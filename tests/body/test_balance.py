import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from body.bodies import SEAT_ANGLE, survey_columns, trail_bike
from cyclewright.body import balance, posture
from cyclewright.body.segments import inseam_of, predict, segment_masses
from cyclewright.errors import RangeError

RIDER, KIT, BIKE = 80.0, 5.0, 15.0


def front_share(pose, contacts, wheelbase):
    rider = balance.mass_centre(pose, RIDER, KIT, segment_masses())
    bike = balance.bike_mass_centre(wheelbase, contacts.bottom_bracket[:, 1])
    whole = balance.combined((RIDER + KIT, rider), (BIKE, bike))
    front, rear = balance.axle_loads(RIDER + KIT + BIKE, whole[:, 0], whole[:, 1], wheelbase)
    return front / (front + rear)


def on_trail_bike(stature, crotch, sex):
    body = predict(stature, crotch, sex)
    heights = posture.saddle_heights(body, inseam_of(crotch), 0.17, 0.03, SEAT_ANGLE)
    return body, *trail_bike(body.stature, posture.recommended(heights))


def test_the_benchmark_bicycle_balances_as_published():
    """Meijaard and others 2007: four bodies make 94 kg, a third of it on the front wheel."""
    parts = ((85.0, [0.3, 0.9]), (2.0, [0.0, 0.3]), (4.0, [0.9, 0.7]), (3.0, [1.02, 0.35]))
    centre = balance.combined(*parts)
    front, rear = balance.axle_loads(94.0, 0.342, 0.861, 1.02)
    for name, ours, expected in (
        ("mass centre ahead of the rear contact", centre[0], 0.342),
        ("mass centre above the ground", centre[1], 0.861),
        ("front share", front / (front + rear), 0.335),
    ):
        evidence.published(
            f"benchmark bicycle, {name}",
            float(ours),
            expected,
            "0.0005",
            "Meijaard, Papadopoulos, Ruina and Schwab, Proc. R. Soc. A 463 (2007), table 1",
            "memory",
        )
    assert float(front + rear) == pytest.approx(94.0 * 9.80665)


@pytest.mark.parametrize("sex", ["M", "F"])
def test_the_survey_sits_and_stands_as_riders_do(sex):
    columns = survey_columns(sex)
    body, contacts, wheelbase = on_trail_bike(columns["stature"], columns["crotchheight"], sex)
    seated = front_share(posture.seated(body, contacts), contacts, wheelbase)
    standing = front_share(posture.standing(body, contacts), contacts, wheelbase)
    assert seated.min() > 0.33 and seated.max() < 0.42
    assert standing.min() > 0.40 and standing.max() < 0.47
    assert (standing > seated).all()


def test_hips_fifty_millimetres_either_way_move_three_to_four_points():
    body, contacts, wheelbase = on_trail_bike(1.756, 0.846, "M")
    back, middle, ahead = (
        front_share(posture.standing(body, contacts, shift), contacts, wheelbase)[0]
        for shift in (-0.05, 0.0, 0.05)
    )
    assert 0.030 < ahead - middle < 0.040
    assert 0.030 < middle - back < 0.040


@given(st.floats(-0.12, 0.12), st.floats(0.001, 0.05))
def test_hips_further_ahead_load_the_front(shift, step):
    body, contacts, wheelbase = on_trail_bike(1.70, 0.815, None)
    poses = [posture.standing(body, contacts, at) for at in (shift, shift + step)]
    assert not any(pose.unreachable.any() for pose in poses)
    one, other = (front_share(pose, contacts, wheelbase)[0] for pose in poses)
    assert other > one


@pytest.mark.parametrize("sex", ["M", "F"])
def test_the_two_mass_tables_agree_within_what_is_said(sex):
    """Second method: the other published table moves the mass centre by under 15 mm."""
    body, contacts, _ = on_trail_bike(1.70, 0.815, sex)
    for pose in (posture.seated(body, contacts), posture.standing(body, contacts)):
        one = balance.mass_centre(pose, RIDER, KIT, segment_masses(sex))
        other = balance.mass_centre(pose, RIDER, KIT, segment_masses(sex, "de-leva"))
        evidence.second_method(
            f"mass centre of the rider ({sex})",
            one,
            other,
            "de Leva's table",
            rel=0.0,
            within=0.015,
        )


@given(st.floats(0.1, 1.2), st.floats(0.3, 1.4), st.floats(0.9, 1.4), st.floats(-0.6, 0.6))
def test_moments_about_either_contact_vanish(x, y, wheelbase, slope):
    front, rear = balance.axle_loads(100.0, x, y, wheelbase, slope)
    weight = 100.0 * balance.STANDARD_GRAVITY
    along, square = weight * math.sin(slope), weight * math.cos(slope)
    assert front + rear == pytest.approx(square)
    assert rear * wheelbase + along * y == pytest.approx(square * (wheelbase - x), abs=1e-6)


@given(st.floats(0.3, 0.6), st.floats(0.01, 0.3))
def test_downhill_loads_the_front(x, slope):
    level, _ = balance.axle_loads(100.0, x, 1.1, 1.2)
    steep, _ = balance.axle_loads(100.0, x, 1.1, 1.2, slope)
    uphill, _ = balance.axle_loads(100.0, x, 1.1, 1.2, -slope)
    assert uphill < level * math.cos(slope) < steep


@given(st.floats(0.1, 10.0))
def test_units_of_mass_do_not_matter_to_a_centre(factor):
    parts = ((80.0, [0.4, 1.1]), (15.0, [0.6, 0.5]))
    scaled = [(factor * mass, point) for mass, point in parts]
    assert balance.combined(*scaled) == pytest.approx(balance.combined(*parts))


def test_a_light_kit_leaves_the_body_and_a_heavy_one_pulls_to_the_trunk():
    body, contacts, _ = on_trail_bike(1.756, 0.846, "M")
    pose = posture.seated(body, contacts)
    bare, heavy = (balance.mass_centre(pose, RIDER, kit, segment_masses()) for kit in (0.0, 1e9))
    trunk = (pose.points["shoulder"] + pose.points["hip"]) / 2.0
    assert heavy == pytest.approx(trunk, abs=1e-6)
    assert trunk[0, 1] > bare[0, 1]


def test_what_cannot_be_is_refused_all_at_once():
    with pytest.raises(RangeError, match="total_mass is -1") as refused:
        balance.axle_loads(-1.0, 0.5, math.nan, 0.0, 2.0)
    names = [problem.field for problem in refused.value.problems]
    assert names == ["total_mass", "y", "wheelbase", "slope"]
    with pytest.raises(RangeError, match="mass is 0"):
        balance.combined((0.0, [0.0, 0.0]))
    with pytest.raises(RangeError, match="wheelbase is -1"):
        balance.bike_mass_centre(-1.0, 0.3)
    body, contacts, _ = on_trail_bike(1.756, 0.846, "M")
    with pytest.raises(RangeError, match="kit_mass is -2"):
        balance.mass_centre(posture.seated(body, contacts), 80.0, -2.0, segment_masses())
