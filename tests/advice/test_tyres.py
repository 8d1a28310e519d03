"""Tyres: habits beside the advice and never in it, inserts, and what binds."""

from __future__ import annotations

import pytest

from advice.builds import advised, setting, value
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


def test_an_insert_takes_part_of_the_hit_and_says_so() -> None:
    bare, guarded = advised(), advised("bike.tyre.rear.insert=true")
    name = "rear_tyre_pressure"
    assert 0.75 < value(guarded, name) / value(bare, name) < 0.85
    assert "insert" in setting(guarded, name).because
    assert "insert" not in setting(bare, name).because
    assert value(guarded, "front_tyre_pressure") == pytest.approx(
        value(bare, "front_tyre_pressure"), rel=0.01
    )
