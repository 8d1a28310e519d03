"""The fixed point: weight shared, moments and springs in balance, and the right way round."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advice.builds import filled
from cyclewright.advice.case import build
from cyclewright.errors import NotConverged
from cyclewright.mechanics import airpair, airspring, spring, tyre
from cyclewright.solve import coupled
from cyclewright.solve.case import TABLE, Array, Case, nominal
from cyclewright.solve.solution import Solution
from evidence import identity, second_method

BIKES = ("trail", "hardtail", "longtravel")
STATES = ("seated", "standing")
G = 9.80665


@cache
def whole(bike: str, rider: str = "heavy") -> Case:
    """All draws of a case."""
    return build(filled(bike=bike, rider=rider))


@cache
def solved(bike: str, rider: str = "heavy") -> Solution:
    return coupled.solve(whole(bike, rider))


def weight(case: Case) -> Array:
    total: Array = (case.rider_mass + case.kit_mass + case.bike_mass) * G
    return total


@pytest.mark.parametrize("bike", BIKES)
@pytest.mark.parametrize("rider", ["light", "heavy"])
def test_loads_sum_to_the_weight_and_moments_balance_in_every_draw(bike: str, rider: str) -> None:
    answer = solved(bike, rider)
    for name in STATES:
        state = answer.at(name)
        identity(
            f"{bike} {name}: loads sum to the weight",
            state.front_load + state.rear_load,
            weight(answer.case),
        )
        identity(
            f"{bike} {name}: moments about the rear contact",
            state.front_load * state.geometry.wheelbase,
            weight(answer.case) * state.mass_centre[:, 0],
            rel=1e-6,
        )
    assert answer.residual <= 1e-7
    assert answer.iterations < 30


@pytest.mark.parametrize("bike", BIKES)
def test_every_spring_carries_its_load_in_every_draw(bike: str) -> None:
    answer = solved(bike)
    case = answer.case
    state = answer.at(case.fork.posture)
    sprung = state.front_load - case.unsprung_front * G
    identity(
        f"{bike}: fork force along its axis",
        airpair.pair_force(
            case.fork.area,
            case.fork.air_length,
            case.fork.negative_length,
            answer.fork_setting,
            state.fork_compression,
            case.ambient,
        ),
        sprung * np.sin(state.geometry.head_angle) + case.fork.friction,
        rel=1e-5,
    )
    identity(
        f"{bike}: fork meets its goal",
        state.fork_compression,
        case.fork.sag_target * case.fork.travel,
        within=1e-6,
    )
    if case.shock.kind == "rigid":
        assert not answer.seated.rear_travel.any()
        return
    rear = answer.at(case.shock.posture)
    load = (rear.rear_load - case.unsprung_rear * G) * coupled.leverage(case, rear.rear_travel)
    if case.shock.kind == "coil":
        force = spring.coil_force(answer.shock_setting, rear.shock_compression, case.shock.preload)
    else:
        force = airpair.pair_force(
            case.shock.area,
            case.shock.air_length,
            case.shock.negative_length,
            answer.shock_setting,
            rear.shock_compression,
            case.ambient,
        )
    identity(
        f"{bike}: spring and rod carry leverage times load",
        force + case.shock.rod_force,
        load + case.shock.friction,
        rel=1e-5,
    )
    assert 60.0 < case.shock.rod_force[0] < 120.0


def test_tyres_stand_as_deep_as_their_load_asks() -> None:
    answer = solved("trail")
    unit, state = answer.case.rear_tyre, answer.standing
    identity(
        "rear tyre drop",
        state.rear_drop * unit.stiffness_factor,
        tyre.drop(state.rear_load, answer.rear_tyre_pressure, unit.radius, unit.width, unit.casing),
        rel=1e-5,
    )
    inside = np.clip(answer.rear_tyre_goal, unit.floor, unit.ceiling)
    identity("rear pressure is its goal inside its limits", answer.rear_tyre_pressure, inside)


def test_a_narrow_rim_asks_for_the_bead_and_not_for_the_edge() -> None:
    case = nominal(whole("trail"))
    narrow = replace(case.rear_tyre, rim_width=np.array([0.017]), floor=np.zeros(1))
    answer = coupled.solve(replace(case, rear_tyre=narrow))
    load = answer.standing.rear_load
    coldest = (answer.rear_tyre_goal + case.ambient) * narrow.cooling - narrow.outside
    identity("bead pressure decides", coldest, coupled.roll_off(narrow, load), rel=1e-6)
    assert answer.rear_tyre_goal > coupled.solve(case).rear_tyre_goal


@pytest.mark.parametrize("bike", ["trail", "longtravel"])
def test_leverage_is_the_slope_of_wheel_over_shock(bike: str) -> None:
    case = nominal(whole(bike))
    stroke = np.linspace(0.0, float(case.leverage.stroke[-1]), 400)
    wheel = coupled.wheel_travel(case, stroke)
    identity(f"{bike}: there and back", coupled.shock_travel(case, wheel), stroke, within=1e-9)
    middle = (wheel[1:] + wheel[:-1]) / 2
    second_method(
        f"{bike}: leverage by differences",
        coupled.leverage(case, middle),
        np.diff(wheel) / np.diff(stroke),
        "finite differences of wheel over shock travel",
        rel=1e-3,
    )


def test_the_closed_form_is_the_whole_air_spring_with_its_rod() -> None:
    """Sums at rest use the closed form of two levelled chambers; the built unit agrees."""
    answer = solved("trail")
    case, state = answer.case, answer.seated
    unit = case.shock
    built = airspring.air_unit(
        unit.area,
        unit.area * unit.air_length,
        unit.area * unit.negative_length,
        unit.travel,
        rod_force=unit.rod_force,
    )
    gas = airspring.fill(built, answer.shock_setting, case.ambient)
    ratio = coupled.leverage(case, state.rear_travel)
    force = ratio * (state.rear_load - case.unsprung_rear * G) + unit.friction
    second_method(
        "shock at rest",
        state.shock_compression,
        airspring.rest(built, gas, force, ambient=case.ambient).stroke,
        "air spring with unequal chambers, rod and stops",
        rel=1e-5,
    )


def test_an_axle_that_moves_back_lengthens_the_wheelbase_and_loads_the_front() -> None:
    case = nominal(whole("trail"))
    back = replace(case, axle_path=-0.1 * case.leverage.travel)
    straight, moved_back = coupled.solve(case), coupled.solve(back)
    longer = moved_back.seated.geometry.wheelbase - straight.seated.geometry.wheelbase
    second_method(
        "wheelbase over the axle's path",
        longer,
        0.1 * moved_back.seated.rear_travel,
        "a tenth of the travel, turned by the pitch",
        rel=0.05,
    )
    assert moved_back.seated.front_load[0] > straight.seated.front_load[0]


def moved(case: Case, **by: float) -> Solution:
    """The nominal case after these fields grew."""
    return coupled.solve(
        replace(case, **{name: getattr(case, name) + step for name, step in by.items()})
    )


@settings(max_examples=12)
@given(bike=st.sampled_from(BIKES), more=st.floats(1.0, 25.0))
def test_a_heavier_rider_wants_more_in_every_spring_and_tyre(bike: str, more: float) -> None:
    case = nominal(whole(bike))
    before, after = coupled.solve(case), moved(case, rider_mass=more)
    for name in ("fork_setting", "front_tyre_goal", "rear_tyre_goal"):
        assert getattr(after, name)[0] > getattr(before, name)[0]
    if case.shock.kind != "rigid":
        assert after.shock_setting[0] > before.shock_setting[0]


@settings(max_examples=12)
@given(bike=st.sampled_from(BIKES), up=st.floats(0.002, 0.03))
def test_bar_up_unloads_the_front_and_slackens_it(bike: str, up: float) -> None:
    case = nominal(whole(bike))
    first = coupled.solve(case)
    kept = replace(
        case,
        fork=replace(case.fork, kept_pressure=first.fork_setting),
        shock=replace(case.shock, kept_pressure=first.shock_setting),
        front_tyre=replace(case.front_tyre, kept_pressure=first.front_tyre_pressure),
        rear_tyre=replace(case.rear_tyre, kept_pressure=first.rear_tyre_pressure),
    )
    held, resolved = moved(kept, spacers_under=up), moved(case, spacers_under=up)
    for name in STATES:
        before, after = first.at(name), held.at(name)
        assert after.front_load[0] < before.front_load[0]
        assert after.fork_compression[0] < before.fork_compression[0]
        assert after.geometry.head_angle[0] < before.geometry.head_angle[0]
    assert resolved.fork_setting[0] < first.fork_setting[0]
    identity(
        "resolved meets the same sag",
        resolved.at(case.fork.posture).fork_compression,
        first.at(case.fork.posture).fork_compression,
        within=1e-6,
    )


@settings(max_examples=8)
@given(bike=st.sampled_from(BIKES), deeper=st.floats(0.01, 0.1))
def test_more_sag_wants_less_air(bike: str, deeper: float) -> None:
    case = nominal(whole(bike))
    softer = replace(case, fork=replace(case.fork, sag_target=case.fork.sag_target + deeper))
    assert coupled.solve(softer).fork_setting[0] < coupled.solve(case).fork_setting[0]


def test_a_draw_alone_gives_what_it_gave_among_the_others() -> None:
    case = whole("trail")
    for index in (0, 17, 500):
        alone = coupled.solve(beside_the_nominal(case, index))
        identity(
            "a draw alone",
            [alone.fork_setting[1], alone.shock_setting[1], alone.standing.front_load[1]],
            [
                solved("trail").fork_setting[index],
                solved("trail").shock_setting[index],
                solved("trail").standing.front_load[index],
            ],
            rel=1e-5,
        )


def beside_the_nominal(part: Any, index: int) -> Any:
    """A case of the nominal and one draw."""
    changes = {}
    for item in fields(part):
        value = getattr(part, item.name)
        if item.name in TABLE:
            continue
        if isinstance(value, np.ndarray):
            changes[item.name] = value[[0, index]]
        elif is_dataclass(value):
            changes[item.name] = beside_the_nominal(value, index)
    return replace(part, **changes)


def test_what_does_not_settle_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(coupled, "_MOST_ROUNDS", 1)
    with pytest.raises(NotConverged, match="do not settle: check travel, stroke and masses"):
        coupled.solve(nominal(whole("trail")))


def test_a_solution_of_the_same_rider_spares_his_poses_and_changes_nothing() -> None:
    like = solved("trail")
    case = like.case
    other = replace(case, ambient=0.9 * case.ambient, slope=np.full_like(case.slope, 0.1))
    taken, found = coupled.solve(other, like), coupled.solve(other)
    assert taken.riders is like.riders and found.riders is not like.riders
    for name in ("fork_setting", "shock_setting", "front_tyre_pressure"):
        identity(f"{name} with poses taken over", getattr(taken, name), getattr(found, name))
    lighter = replace(case, rider_mass=0.9 * case.rider_mass)
    assert coupled.solve(lighter, like).riders is not like.riders
    wheels = replace(case, rear_tyre=replace(case.rear_tyre, radius=case.rear_tyre.radius + 0.01))
    assert coupled.solve(wheels, like).riders is not like.riders
