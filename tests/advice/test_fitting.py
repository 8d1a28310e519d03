"""The fit: methods side by side, dropper lengths, handles, levers and the steerer's cut."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advice import builds
from cyclewright.advice import droppers, fit, fitting, handles, levers, steerer, tilt
from cyclewright.advice.fitting import Fit
from cyclewright.advice.handles import Effect
from cyclewright.knowledge import rules
from cyclewright.knowledge.defaults import fill

LONG_POST = ("bike.post.travel=200 mm", "bike.post.length=530 mm")
LOW_BODY = ("rider.height=1.58 m", "rider.inseam=730 mm", "rider.sex=F")


@cache
def fitted(*changes: str, bike: str = "trail", rider: str = "heavy", proved: bool = False) -> Fit:
    filled = builds.filled(*changes, bike=bike, rider=rider)
    return fitting.fitting(filled, builds.advised(*changes, bike=bike, rider=rider), proved)


@cache
def table(bike: str = "trail", *changes: str) -> dict[str, Effect]:
    before = builds.advised(*changes, bike=bike)
    filled, sheets = builds.filled(*changes, bike=bike), builds.sheets(*changes, bike=bike)
    return {one.handle.name: one for one in handles.effects(before, filled, sheets)}


def value(items, name: str) -> float:
    found = next(item for item in items if item.name == name)
    assert found.value is not None
    return found.value


@pytest.mark.parametrize("bike", ["trail", "hardtail", "longtravel"])
def test_four_methods_stand_side_by_side_with_their_intervals(bike):
    found = fitted(bike=bike).methods
    assert [item.name for item in found] == [
        "saddle_by_inseam",
        "saddle_by_spindle",
        "saddle_by_heel",
        "saddle_by_knee",
    ]
    assert all(item.low < item.value < item.high for item in found)
    assert all(item.source and item.because for item in found)
    assert value(found, "saddle_by_inseam") == pytest.approx(0.883 * 0.890)


def test_legs_from_the_survey_are_less_sure_than_a_measured_inseam():
    width = {item.name: item.high - item.low for item in fitted().methods}
    assert width["saddle_by_knee"] > 2.0 * width["saddle_by_inseam"]


def test_the_recommendation_names_its_value_and_the_spread_of_the_methods():
    found = fitted()
    said = fitting.recommended_words(found.methods, found.saddle)
    assert f"Set {found.saddle.height.value * 1000:.0f} mm" in said
    assert "four methods lie between" in said
    held = fitted(*LOW_BODY)
    said = fitting.recommended_words(held.methods, held.saddle)
    assert said.startswith("Wanted 633 mm, possible 675 mm, 42 mm too high: a dropper of 150 mm")
    assert "Set 675 mm. Wanted is 633 mm at full height" in said


@given(st.integers(700, 900), st.integers(1, 30))
@settings(max_examples=15)
def test_longer_legs_never_get_a_lower_saddle_by_any_method(inseam, longer):
    ends = [
        builds.filled(f"rider.inseam={legs} mm", "rider.height=1.75 m")
        for legs in (inseam, inseam + longer)
    ]
    for low, high in zip(*(fitting.methods(one) for one in ends), strict=True):
        assert low.value < high.value
    assert fit.saddle(ends[0]).height.value < fit.saddle(ends[1]).height.value


@given(st.integers(0, 12))
@settings(max_examples=8)
def test_a_thicker_sole_lifts_the_saddle_by_leg_methods_alone(thicker):
    plain = fitting.methods(builds.filled("rider.shoe_stack=25 mm"))
    thick = fitting.methods(builds.filled(f"rider.shoe_stack={25 + thicker} mm"))
    moved = {one.name: other.value - one.value for one, other in zip(plain, thick, strict=True)}
    assert moved["saddle_by_inseam"] == moved["saddle_by_spindle"] == 0.0
    for name in ("saddle_by_heel", "saddle_by_knee"):
        assert 0.8 * thicker / 1000 <= moved[name] <= thicker / 1000


def test_angles_are_those_of_the_posture_and_fall_in_their_intervals():
    found = fitted()
    pose = builds.advised().outcome.seated.pose
    for name, key in (("trunk_angle", "trunk"), ("hip_angle", "hip"), ("knee_at_top", "knee_top")):
        assert value(found.angles, name) == pytest.approx(float(pose.angles[key][0]))
    assert math.radians(24) < value(found.angles, "knee_at_bottom") < math.radians(36)


@pytest.mark.parametrize(("bike", "way"), [("trail", "up"), ("hardtail", "down")])
def test_the_saddle_is_tilted_for_the_frame_as_it_sags(bike, way):
    """A full suspension sinks at the back, a hardtail at the front alone."""
    advice = builds.advised(bike=bike)
    turn = advice.outcome.seated.geometry.pitch
    made, ridden = builds.setting(advice, "saddle_tilt"), fitted(bike=bike).angles[-1]
    assert bool(turn[0] > 0.0) is (way == "up") and f"nose {way}" in made.because
    assert made.value == pytest.approx(min(0.0, round(-turn[0] / tilt.STEP) * tilt.STEP))
    assert ridden.name == "saddle_tilt_at_sag"
    assert ridden.value == pytest.approx(made.value + turn[0])
    assert math.radians(-1.5) < ridden.value < math.radians(0.3)
    (binding,) = [limit.kind for limit in made.limits if limit.binds] or [""]
    assert binding == ("max" if bike == "hardtail" else "")


def test_what_a_degree_nose_down_costs_grows_with_the_rider_alone():
    def push(mass: int) -> float:
        changes = (f"rider.mass={mass} kg", "rider.kit_mass=0 kg")
        told = dict(tilt.words(builds.filled(*changes), builds.advised(*changes).outcome))
        return float(told["nose down"].split(" with ")[1].split(" N")[0])

    assert push(60) == pytest.approx(60 * 9.80665 * 0.5 * math.sin(math.radians(1.0)), abs=0.5)
    assert push(120) == pytest.approx(2 * push(60), abs=1.0)


def test_a_short_rider_on_a_long_post_is_told_the_limit_and_by_how_much():
    filled = builds.filled(*LOW_BODY, *LONG_POST)
    saddle = fit.saddle(filled)
    (finding,) = fit.findings(filled, saddle)
    assert finding.code == "dropper-too-long" and finding.severity == "stop"
    over = saddle.facts.lowest().value - saddle.height.value
    assert over > 0.03
    whose, told = "the dropper's travel and head", " ".join(finding.facts)
    assert f"limit: {whose}, no saddle below 675 mm: {over * 1000:.0f} mm too high" in told
    assert "150 mm travel at most" in finding.do


def test_dropper_lengths_agree_with_the_post_and_name_the_next_one():
    found = fitted(*LOW_BODY).droppers
    by_travel = {round(row.travel * 1000): row for row in found}
    assert by_travel[200].mounted and not by_travel[200].fits
    assert by_travel[150].fits and not by_travel[170].fits
    longer = droppers.next_longer(found)
    assert longer is not None and longer.travel == pytest.approx(0.170)
    assert longer.spare == pytest.approx(by_travel[150].spare - 0.020, abs=1e-9)
    assert "no, by" in longer.words() and "travel and head" in longer.words()
    assert len(found) == len(rules.dropper_travels())


def test_a_row_that_fits_is_one_that_makes_no_finding():
    for row in fitted(*LOW_BODY).droppers:
        swapped = builds.filled(
            *LOW_BODY,
            f"bike.post.travel={row.travel * 1000:.0f} mm",
            f"bike.post.length={row.length * 1000:.0f} mm",
        )
        found = fit.findings(swapped, fit.saddle(swapped))
        assert row.fits is (not found), row


def test_a_plain_post_is_told_which_usual_droppers_would_fit():
    rows = fitted(bike="hardtail").droppers
    assert not any(row.mounted for row in rows)
    assert {row.fits for row in rows} == {True, False}
    low, high = fitting.rough_heights(fitted(bike="hardtail").saddle)
    assert high - low == pytest.approx(0.020)


@pytest.mark.parametrize("bike", ["trail", "longtravel"])
def test_what_handles_do_has_the_sign_that_everybody_knows(bike):
    found = table(bike)
    higher = found["spacers_under"]
    assert higher.height > 0.008 and higher.reach < 0.0
    assert higher.trunk > 0.0 and higher.hip > 0.0
    assert higher.front_seated < 0.0 and higher.front_standing < 0.0
    assert higher.fork_sag < 0.0 and higher.trail > 0.0
    assert found["stem_length"].reach > 0.008
    assert found["saddle_setback"].front_seated < 0.0
    assert found["saddle_setback"].reach == pytest.approx(0.010, abs=5e-4)
    assert found["crank_length"].hip > 0.0


def test_spacers_and_rise_move_the_grip_alike():
    found = table()
    for name in ("reach", "height", "trunk", "front_seated", "trail"):
        ours, other = (getattr(found[handle], name) for handle in ("spacers_under", "bar_rise"))
        assert ours == pytest.approx(other, abs=1e-9), name


def test_a_hardtail_has_no_shock_to_move():
    assert all(one.shock_sag is None for one in table("hardtail").values())


def test_no_handle_leaves_its_limits():
    for changes in (
        (),
        ("bike.cockpit.spacers_under=34 mm", "bike.cockpit.spacers_over=1 mm"),
        ("bike.cockpit.spacers_under=35 mm", "bike.cockpit.spacers_over=0 mm"),
        ("bike.cockpit.spacers_under=0 mm", "bike.cockpit.spacers_over=0 mm"),
        ("bike.cockpit.stem_length=100 mm", "bike.cockpit.bar_rise=50 mm"),
        ("bike.saddle.setback=35 mm",),
    ):
        for one in handles.handles(builds.filled(*changes).sheets):
            at = one.now + one.step
            assert one.low - 1e-9 <= at <= one.high + 1e-9, one
            if one.step == 0.0:
                assert one.stop and one.words() == "no room"


def test_a_steerer_at_its_top_turns_the_step_round_and_names_whose_limit():
    changes = ("bike.cockpit.spacers_under=35 mm", "bike.cockpit.spacers_over=0 mm")
    spacers = handles.handles(builds.filled(*changes).sheets)[0]
    assert spacers.step == pytest.approx(-0.010)
    assert spacers.stop == "the steerer as it is cut"
    assert dict(spacers.also)["bike.cockpit.spacers_over"] == pytest.approx(0.010)


def test_the_lever_goes_where_the_blade_ends_under_the_finger():
    found = levers.levers(builds.filled("rider.hand_length=190 mm ± 2"))
    pull = 0.068 - 0.009
    index = 0.132 / 2 - 3 / 8 * 0.455 * 0.190
    assert found.inboard.value == pytest.approx(pull - index)
    assert found.gain.value == pytest.approx(pull / index)
    assert found.gain.low < found.gain.value < found.gain.high
    assert "times the force" in found.said and "by the sheet" in found.inboard.because


def test_this_bike_s_own_blade_is_used_and_narrows_the_force_gained():
    hand = "rider.hand_length=190 mm ± 2"
    own, long = (
        levers.levers(builds.filled(hand, f"bike.cockpit.lever_blade={blade} mm")).gain
        for blade in (68, 95)
    )
    written = builds.sheets(hand)
    unsaid = written.bike.cockpit.model_copy(update={"lever_blade": None})
    bare = replace(written, bike=written.bike.model_copy(update={"cockpit": unsaid}))
    usual = levers.levers(fill(bare)).gain
    assert "68 mm by default" in usual.because and "68 mm by the sheet" in own.because
    assert own.value == usual.value and own.high / own.low < usual.high / usual.low
    assert long.value / own.value == pytest.approx((0.095 - 0.009) / (0.068 - 0.009))


def test_a_blade_that_ends_under_the_finger_by_itself_gains_nothing():
    small = ("bike.cockpit.lever_blade=40 mm", "rider.hand_length=165 mm")
    gain = levers.levers(builds.filled(*small)).gain
    assert gain.value == 1.0 and gain.low == 1.0 < gain.high


@given(st.floats(0.02, 0.08), st.floats(0.0, 0.015))
def test_the_force_gained_is_the_ratio_of_moments(pull, inboard):
    """The same pull F at r against F at r − d, about one pivot."""
    force = 40.0
    assert levers.moment_gain(pull, inboard) == pytest.approx(
        force * pull / (force * max(pull - inboard, 0.3 * pull))
    )
    assert levers.moment_gain(pull, inboard) >= 1.0


def test_larger_hands_move_levers_in_and_away():
    small, large = (
        levers.levers(builds.filled(f"rider.hand_length={length} mm")) for length in (160, 210)
    )
    assert large.inboard.value > small.inboard.value
    assert large.reach.value > small.reach.value
    assert large.reach.value <= rules.rule("grip_span").value


def test_nothing_is_cut_before_the_position_is_proved():
    early = fitted(proved=False).steerer
    assert early.settings == () and "Cut nothing yet" in early.said
    late = fitted("bike.frame.headset_height=8 mm", proved=True).steerer
    length, off = late.settings
    assert off.value == pytest.approx(0.020 - 0.010)
    assert length.value == pytest.approx(0.109 + 0.008 + 0.015 + 0.040 + 0.010 - 0.003)
    assert length.low < length.value < length.high
    assert any("cannot be undone" in text for text in length.cautions)
    assert "cannot be undone" in late.said


def test_a_carbon_steerer_is_told_how_to_be_cut_and_a_short_one_is_left():
    carbon = fitted("bike.fork.material_steerer=carbon", proved=True).steerer
    assert any("carbon steerer" in text for text in carbon.settings[0].cautions)
    left = fitted("bike.cockpit.spacers_over=10 mm", proved=True).steerer
    assert left.settings == () and left.said.startswith("Leave the steerer")


def test_a_cut_asks_for_what_it_cannot_know():
    (question,) = steerer.cut(builds.filled(), True).questions
    assert question.field == "bike.frame.headset_height"
