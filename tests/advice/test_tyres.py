"""Tyres: habits beside the advice and never in it, inserts, and what binds."""

from __future__ import annotations

import pytest

from advice.builds import advised, setting, value
from cyclewright.errors import InputError
from cyclewright.mechanics import gas
from evidence import second_method

PSI = 6894.757293168361
TYRES = ("front_tyre_pressure", "rear_tyre_pressure")


@pytest.mark.parametrize("name", TYRES)
def test_habits_stand_beside_and_never_decide(name: str) -> None:
    told = setting(advised(), name)
    habit, drop = told.beside
    assert "30 psi" in habit and "comparison only" in habit
    assert "15 % drop" in drop and "comparison only" in drop
    assert "30 psi" not in told.because
    assert told.to_json()["beside"] == [habit, drop]
    heavy = advised("rider.mass=110 kg"), advised("rider.mass=50 kg")
    assert value(heavy[0], name) / PSI > 30.0 - 5.0 > value(heavy[1], name) / PSI


def test_the_drop_rule_is_where_the_tyre_drops_by_fifteen_percent() -> None:
    from cyclewright.mechanics import tyre

    advice = advised()
    told = setting(advice, "rear_tyre_pressure").beside[1]
    rule = float(told.split(": ")[1].split(" psi")[0]) * PSI
    unit, load = advice.goal.case.rear_tyre, advice.goal.standing.rear_load[0]
    drop = tyre.drop(load, rule, unit.radius[0], unit.width[0], unit.casing[0])
    second_method("drop at the rule's pressure", drop / unit.width[0], 0.15, "by hand", rel=0.05)


def test_the_goal_holds_in_the_coldest_air_and_at_the_lowest_point_of_the_ride() -> None:
    usual, cold = (
        advised("place.workshop.temperature=20 degC", f"place.trail.temperature={trail} degC")
        for trail in (20, -10)
    )
    air = gas.standard_atmosphere(60.0).pressure
    for name in TYRES:
        reads = (value(cold, name) + air) * 263.15 / 293.15 - air
        second_method(f"{name} out in the cold", reads, value(usual, name), "gas law", rel=1e-3)
        assert "On the trail (-10 °C, 240 m)" in setting(cold, name).cautions[-1]
        for change in ("trail.temperature=35 degC", "trail.altitude=3000 m"):
            warm = advised("place.workshop.temperature=20 degC", f"place.{change}")
            assert value(warm, name) >= value(usual, name) * (1.0 - 1e-6), change


@pytest.mark.parametrize("end", ["front", "rear"])
def test_a_maximum_below_what_the_ground_asks_is_said(end: str) -> None:
    code = f"{end}-tyre-pressure-limit"
    assert code not in {item.code for item in advised().findings}
    for part in ("tyre", "wheel"):
        held = advised(f"bike.{part}.{end}.pressure_max=20 psi")
        (found,) = [item for item in held.findings if item.code == code]
        owner = f"{end} {'tyre' if part == 'tyre' else 'rim'}'s maker"
        assert found.facts[1].startswith(owner)
        assert value(held, f"{end}_tyre_pressure") < 20 * PSI


@pytest.mark.parametrize("part", ["tyre.front", "wheel.rear"])
def test_a_part_that_may_hold_no_air_is_a_slip(part: str) -> None:
    with pytest.raises(InputError, match=rf"bike\.{part}\.pressure_max is 0 psi .*cannot be"):
        advised(f"bike.{part}.pressure_max=0 psi")


def test_a_wide_tyre_on_a_narrow_rim_says_that_the_bead_decides() -> None:
    wide = advised("bike.tyre.front.size=29x3.0", "bike.wheel.front.rim_width=17 mm")
    assert "keeps the bead" in setting(wide, "front_tyre_pressure").because
    assert "keeps the rim off" in setting(advised(), "front_tyre_pressure").because


def test_an_insert_takes_part_of_the_hit_and_says_so() -> None:
    bare, guarded = advised(), advised("bike.tyre.rear.insert=true")
    name = "rear_tyre_pressure"
    assert 0.75 < value(guarded, name) / value(bare, name) < 0.85
    assert "insert" in setting(guarded, name).because
    assert "insert" not in setting(bare, name).because
    assert value(guarded, "front_tyre_pressure") == pytest.approx(
        value(bare, "front_tyre_pressure"), rel=0.01
    )
