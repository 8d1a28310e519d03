"""Packed and rebuilt: settings kept, only what was loosened done again, gates passed anew."""

from __future__ import annotations

import pytest

from cyclewright.errors import InputError, Refusal
from cyclewright.workshop import build, care, pack, paper, receive, release, undo
from cyclewright.workshop.shop import Shop
from workshop.shops import opened, record, text_of


def _pedals(shop: Shop) -> str:
    lines = pack.packing(shop, 1).lines
    return next(line.step for line in lines if "pedals" in line.loosens)


def _again(shop: Shop, *stages: str) -> None:
    again = set(pack.packing(shop, 1).again)
    for step in build.plan_for(shop, 1).steps:
        if step.id in again and step.stage in stages:
            record(shop, 1, step)


def test_a_journey_from_release_to_release(released: Shop) -> None:
    settings = {name: made.value for name, made in released.state(1).settings.items()}
    pack.open_pack(released, 1, by="Ada")
    assert released.state(1).visit_kind == "pack"
    lines = pack.packing(released, 1).lines
    pack.pack(released, 1, [line.step for line in lines], by="Ada")
    assert all(line.done for line in pack.packing(released, 1).lines)
    shown = care.show(released, 1)
    assert shown.released is None and "ride" not in shown.passed
    answer = pack.open_rebuild(released, 1, by="Ada")
    loosened = {line.step for line in lines if line.again}
    assert loosened <= set(answer.reopened)
    untouched = {line.step for line in lines if not line.again}
    state = released.state(1)
    assert untouched, "some lines only guard or mark"
    opened_by_joint = {
        step.id
        for step in state.planned_steps().values()
        if step.joints & {joint for line in lines for joint in line.loosens}
    }
    assert all(state.step(name).status == "done" for name in untouched - opened_by_joint - loosened)
    with pytest.raises(Refusal, match="ride-gate"):
        release.release(released, 1, by="Ada")
    _again(released, "Receive", "Build", "Fit", "Base")
    assert {name: made.value for name, made in released.state(1).settings.items()} == settings
    assert release.gate(released, 1, "ride", by="Ada").passed
    _again(released, "Prove", "Release")
    assert pack.packing(released, 1).again == ()
    assert "released" in release.release(released, 1, by="Ada").said


def test_only_what_was_loosened_is_open_again(released: Shop) -> None:
    before = released.state(1).done()
    pack.open_pack(released, 1)
    assert released.state(1).done() == before
    name = _pedals(released)
    answer = pack.pack(released, 1, [name])
    assert name in answer.reopened
    state = released.state(1)
    gone = before - state.done()
    step = state.planned_steps()[name]
    assert gone == set(answer.reopened)
    for other in gone - {name}:
        own = state.planned_steps()[other]
        assert own.joints & step.joints or own.needs & gone
    assert "ride" not in state.gates


def test_last_built_is_first_undone_and_a_line_says_what_it_opens(released: Shop) -> None:
    lines = pack.packing(released, 1).lines
    places = [released.state(1).planned_steps()[line.step].place for line in lines]
    assert places == sorted(places, reverse=True)
    assert all(line.do for line in lines)
    assert {"front_axle", "rear_axle", "pedals"} <= {j for line in lines for j in line.loosens}


def test_the_fork_direction_is_proved_again_on_arrival(released: Shop) -> None:
    pack.open_pack(released, 1)
    line = next(row for row in pack.packing(released, 1).lines if row.step == "fork-forward")
    assert line.again
    pack.pack(released, 1, ["fork-forward"])
    assert "fork-direction" in {m.item for m in release.gate(released, 1, "ride").missing}


def test_what_is_not_begun_or_not_there(shop: Shop, released: Shop) -> None:
    opened(shop)
    with pytest.raises(Refusal, match="no step that is done has to be undone"):
        pack.open_pack(shop, 1)
    name = _pedals(released)
    with pytest.raises(Refusal, match="begin to pack first"):
        pack.pack(released, 1, [name])
    with pytest.raises(Refusal, match="it was not packed"):
        pack.open_rebuild(released, 1)
    pack.open_pack(released, 1)
    with pytest.raises(Refusal, match="packing has begun"):
        pack.open_pack(released, 1)
    pack.pack(released, 1, [name])
    with pytest.raises(InputError, match="tick a line of the packing list") as caught:
        pack.pack(released, 1, [name, "serial-read"])
    assert [problem.field for problem in caught.value.problems] == [name, "serial-read"]


def test_a_line_ticked_in_error_is_taken_back(released: Shop) -> None:
    pack.open_pack(released, 1)
    before = released.state(1).done()
    name = _pedals(released)
    pack.pack(released, 1, [name])
    build.undo(released, 1)
    assert released.state(1).done() == before
    assert not next(row for row in pack.packing(released, 1).lines if row.step == name).done


def test_a_bar_that_was_out_asks_for_no_brakes_to_be_bedded_in(released: Shop) -> None:
    pack.open_pack(released, 1)
    gone = set(pack.pack(released, 1, ["bar-in-stem"], by="Ada").reopened)
    assert {"bar-in-stem", "bar-rolled", "bar-and-stem-hold", "hoses-slack"} <= gone
    stays = {"controls-in-order", "grips-clamped", "bar-ends-plugged", "hands-proved"}
    assert not gone & {*stays, "bedding-in", "car-park-ride", "bolts-drive"}
    assert not any(name.startswith("hands-changed") for name in gone)


def test_from_the_first_moment_a_packed_bike_is_passed_nowhere(released: Shop) -> None:
    """It said that it counts as not released, and was released with every line still open."""
    pack.open_pack(released, 1, by="Ada")
    for gate in ("ride", "release"):
        missing = {row.item: row for row in release.gate(released, 1, gate, by="Ada").missing}
        assert missing["packed"].never_override and "journey" in missing["packed"].why
    with pytest.raises(Refusal, match="begin its rebuild first"):
        release.release(released, 1, by="Ada")
    shown, (row,) = care.show(released, 1), receive.list_bikes(released)
    assert shown.passed == {} and shown.lapsed == row.lapsed != "" and row.blocked
    assert "Do not ride" in text_of(paper.print_document(released, "tag", 1))
    undo.undo(released, 1, by="Ada")
    assert care.show(released, 1).released is not None


def test_a_bike_that_came_out_of_its_carton_is_never_passed_for_want_of_ticks(
    released: Shop,
) -> None:
    """Packed by somebody without a phone, it was released again by one tap."""
    pack.open_pack(released, 1, by="Ada")
    lines = pack.lines_of(released.state(1))
    before = released.state(1)
    with pytest.raises(Refusal, match="no line is ticked: tick what was loosened"):
        pack.open_rebuild(released, 1, by="Ada")
    answer = pack.open_rebuild(released, 1, by="Ada", all_of_it=True)
    assert set(pack.packing(released, 1).again) == set(answer.reopened)
    assert all(line.done for line in pack.packing(released, 1).lines)
    assert {name for name, step in lines.items() if pack._again(step)} <= set(answer.reopened)
    wants = {row.item for row in release.gate(released, 1, "ride").missing}
    assert {"pedals", "axles", "bar-and-stem", "tyre-pressures"} <= wants
    undo.undo(released, 1, by="Ada")
    assert released.state(1).done() == before.done() and released.state(1).packing
    pack.pack(released, 1, [next(iter(lines))], by="Ada")
    some = pack.open_rebuild(released, 1, by="Ada")
    assert len(some.reopened) < len(answer.reopened)


def test_tyres_let_down_are_pumped_again_on_arrival(released: Shop) -> None:
    pack.open_pack(released, 1, by="Ada")
    pack.pack(released, 1, ["front-tyre-pressure"], by="Ada")
    pack.open_rebuild(released, 1, by="Ada")
    assert "tyre-pressures" in {row.item for row in release.gate(released, 1, "ride").missing}
