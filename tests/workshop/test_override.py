"""What may be overridden at a gate, by whom, for how long, and where it shows."""

from __future__ import annotations

import pytest

from cyclewright.errors import InputError, Refusal
from cyclewright.record.gates import ITEMS
from cyclewright.workshop import build, care, changing, people, printed, readings, release, undo
from cyclewright.workshop.shop import Shop
from cyclewright.workshop.wanted import Wanted
from workshop.shops import build_until, record

WHY = "customer brings own pedals"


@pytest.fixture
def two(built: Shop) -> Shop:
    """A built bike whose pedals are open again, and a second person who checks."""
    people.add_person(built, "Bo", "checker", by="Ada")
    _reopen_pedals(built)
    return built


def _pedal_step(shop: Shop) -> str:
    steps = build.plan_for(shop, 1).steps
    return next(step.id for step in steps if step.safety == "pedals")


def _reopen_pedals(shop: Shop) -> None:
    build.record_step(shop, 1, _pedal_step(shop), put_off=WHY)


def _override(shop: Shop, item: str = "pedals", by: str = "Ada", second: str = "Bo") -> None:
    release.override(shop, 1, "ride", item, WHY, by, second)


def test_an_item_with_a_reason_and_a_second_person(two: Shop) -> None:
    assert [item.item for item in release.gate(two, 1, "ride").missing] == ["pedals"]
    _override(two)
    answer = release.gate(two, 1, "ride", by="Ada")
    assert answer.passed
    (row,) = answer.overridden
    assert row.line() == f"pedals: overridden, {WHY} (Ada with Bo)"
    shown = care.show(two, 1)
    assert shown.overridden == (row,)
    assert any("pedals overridden at the ride gate" in event.said for event in shown.events)
    open_items = list(printed.open_items(printed.Printed(two, 1, "trade")))
    assert any(f"Pedals: overridden, {WHY} (Ada with Bo)" in line for line in open_items)
    build_until(two, 1, "Prove", "Release")
    assert "released" in release.release(two, 1, by="Ada", second="Bo").said


@pytest.mark.parametrize("item", [item for item in ITEMS if item.never_override])
def test_some_items_are_never_overridden(two: Shop, item) -> None:
    number = two.state(1).number
    with pytest.raises(Refusal, match="nobody may override this"):
        release.override(two, 1, item.gate, item.id, WHY, "Ada", "Bo")
    assert two.state(1).number == number


def test_brakes_axles_insertion_steering_and_mass_are_among_them() -> None:
    never = {item.id for item in ITEMS if item.never_override}
    brakes = {"brake-hands", "brake-hold", "brake-bolts", "bedding-in"}
    steering = {"fork-direction", "bar-and-stem", "headset", "hose-slack"}
    assert never >= brakes | steering | {"axles", "post", "mass-and-use"}


def test_one_person_has_no_override_and_makes_no_second_by_naming_one(built: Shop) -> None:
    _reopen_pedals(built)
    with pytest.raises(Refusal, match="with one person in the shop there is no override"):
        _override(built)
    assert len(people.people(built)) == 1


def test_the_second_is_another_and_a_checker(two: Shop) -> None:
    people.add_person(two, "Cy", by="Ada")
    for second, words in (
        ("ada", "the second person is somebody else"),
        ("Cy", "is a checker or an owner"),
        ("Nobody", "name somebody of this shop"),
        ("", "say who the second person is"),
    ):
        with pytest.raises((Refusal, InputError), match=words):
            _override(two, second=second)
    _override(two, by="Cy", second="Ada")
    assert release.gate(two, 1, "ride", by="Cy").passed


def test_nothing_is_overridden_ahead_of_time_or_over_a_problem(two: Shop) -> None:
    with pytest.raises(Refusal, match="the gate does not want it"):
        _override(two, "saddle")
    with pytest.raises(InputError, match="allowed: saddle, pedals, tyre-pressures"):
        _override(two, "halo")
    build.record_step(two, 1, _pedal_step(two), problem="thread torn")
    with pytest.raises(Refusal, match="a problem is settled, not overridden"):
        _override(two)


def test_an_override_lapses_when_its_step_moves_on(two: Shop) -> None:
    _override(two)
    build.record_step(two, 1, _pedal_step(two), problem="thread torn")
    assert [item.item for item in release.gate(two, 1, "ride").missing] == ["pedals"]
    step = next(s for s in build.plan_for(two, 1).steps if s.id == _pedal_step(two))
    record(two, 1, step)
    assert release.gate(two, 1, "ride").passed
    build.touch(two, 1, list(step.joints), "pedals off again")
    assert release.gate(two, 1, "ride").missing


def test_an_override_is_taken_back_like_any_entry(two: Shop) -> None:
    _override(two)
    build.undo(two, 1, by="Ada")
    assert not release.gate(two, 1, "ride").passed


def test_an_override_ends_with_what_it_was_given_for(two: Shop) -> None:
    """It held for a saddle that was swapped, and for another pressure."""
    who = {"by": "Ada"}
    build.touch(two, 1, ["saddle_clamp"], "bumped", **who)
    release.override(two, 1, "ride", "saddle", "hurry", "Ada", "Bo")
    assert "saddle" not in {row.item for row in release.gate(two, 1, "ride").missing}
    changing.make(two, 1, Wanted(part="saddle"), **who)
    assert "saddle" in {row.item for row in release.gate(two, 1, "ride").missing}
    release.override(two, 1, "ride", "saddle", "hurry", "Ada", "Bo")
    build.touch(two, 1, ["saddle_clamp"], "bumped again", **who)
    assert "saddle" in {row.item for row in release.gate(two, 1, "ride").missing}


def test_an_override_of_the_sag_ends_with_another_pressure(two: Shop) -> None:
    undo.undo(two, 1, step="fork-sag", by="Ada")
    release.override(two, 1, "ride", "sag", "no helper today", "Ada", "Bo")
    assert "sag" not in {row.item for row in release.gate(two, 1, "ride").missing}
    readings.read(two, 1, "fork-pressure", "66 psi", by="Ada")
    assert "sag" in {row.item for row in release.gate(two, 1, "ride").missing}
