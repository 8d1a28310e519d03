"""Recording a build: evidence, order, cards, resends, conflicts, undo, changes."""

from __future__ import annotations

import uuid
from collections.abc import Callable

import pytest

from cyclewright.errors import Conflict, InputError, RangeError, Refusal
from cyclewright.sheets.write import dump
from cyclewright.workshop import build, care, carton, readings, receive, tools
from cyclewright.workshop.shop import Shop
from workshop.shops import WORD, build_until, opened, photo, record, sheets

CHANGE = "bike.cockpit.spacers_under+=5 mm"


def _step(shop: Shop, bike: int, name: str) -> care.ShowStep:
    found = care.show(shop, bike).step(name)
    assert found is not None
    return found


def test_done_with_its_photo(shop: Shop) -> None:
    bike = opened(shop)
    answer = build.record_step(shop, bike, "fork-forward", photo=photo(), by="Ada")
    assert answer.numbers == (3,)
    assert answer.said.startswith("fork-forward: done, 1 of")
    held = _step(shop, bike, "fork-forward")
    assert (held.status, held.by) == ("done", "Ada")
    assert shop.store.attachment(held.evidence["photo"]["attachment"]).media == "image/jpeg"


def test_all_that_is_missing_is_told_at_once(shop: Shop) -> None:
    bike = opened(shop)
    with pytest.raises(InputError, match="it is the proof of this step"):
        build.record_step(shop, bike, "fork-forward")
    with pytest.raises(InputError, match="give the torque") as caught:
        build.record_steps(shop, bike, ["fork-forward", "bar-in-stem"], as_set=False)
    assert [item.field for item in caught.value.problems] == [
        "fork-forward.photo",
        "bar-in-stem.torque",
    ]
    assert shop.state(bike).done() == set()


@pytest.mark.parametrize(
    ("torque", "match"),
    [
        ("6 N.m", "allowed: .* to 4.7 N·m.*: stop: loosen it and look at both parts"),
        ("2 N.m", "set the tool to 4.7 N·m and tighten again"),
        (0.0, "give what the tool was set to"),
        ("4,700 N.m", "write 4700 or 4.700"),
        ("4.7", "add the unit"),
        ("4.7 mm", "use one of"),
        (float("nan"), "give a finite number"),
    ],
)
def test_a_torque_outside_its_window_is_refused(shop: Shop, torque: str, match: str) -> None:
    bike = opened(shop)
    build.record_step(shop, bike, "fork-forward", photo=photo())
    with pytest.raises(InputError, match=match):
        build.record_step(shop, bike, "bar-in-stem", torque=torque, word=WORD)
    assert _step(shop, bike, "bar-in-stem").status == "open"


def test_a_torque_as_typed_and_as_set(shop: Shop) -> None:
    bike = opened(shop)
    build.record_step(shop, bike, "fork-forward", photo=photo())
    build.record_step(shop, bike, "bar-in-stem", torque="4.7 N.m")
    evidence = _step(shop, bike, "bar-in-stem").evidence["torque"]
    assert evidence == {"value": 4.7, "unit": "N·m", "text": "4.7 N.m"}
    build.record_step(shop, bike, "bar-in-stem", as_set=True)
    evidence = _step(shop, bike, "bar-in-stem").evidence["torque"]
    assert evidence["text"] == "4.7 N·m, tool at its setting"


def test_a_value_beyond_a_makers_limit_is_refused(shop: Shop) -> None:
    bike = opened(shop)
    build_until(shop, bike, "Receive", "Build", "Fit")
    with pytest.raises(RangeError, match=r"allowed: at most .* psi.*maker"):
        build.record_step(shop, bike, "front-tyre-pressure", value="90 psi")
    build.record_step(shop, bike, "front-tyre-pressure", value="24 psi")
    made = {item["name"]: item for item in care.show(shop, bike).settings}
    assert made["front_tyre_pressure"]["shown"] == "24.0 psi"


def test_a_post_short_of_its_mark_is_refused(shop: Shop) -> None:
    bike = opened(shop)
    build_until(shop, bike, "Receive", "Build")
    planned = build.plan_for(shop, bike)
    record(shop, bike, next(s for s in planned.steps if s.id == "saddle-height"))
    with pytest.raises(RangeError, match=r"allowed: at least .* mm, the (post|frame)'s maker"):
        build.record_step(shop, bike, "post-insertion", value="40 mm", photo=photo())


def test_a_value_outside_the_steps_own_limits_is_refused(shop: Shop) -> None:
    bike = opened(shop)
    build_until(shop, bike, "Receive")
    for step in build.plan_for(shop, bike).steps:
        if step.id == "steerer-gap":
            break
        if step.stage == "Build":
            record(shop, bike, step)
    with pytest.raises(RangeError, match="allowed: at least 2 and at most 5 mm"):
        build.record_step(shop, bike, "steerer-gap", value="8 mm")


def test_what_must_come_first_is_named(shop: Shop) -> None:
    bike = opened(shop)
    with pytest.raises(Refusal, match="do fork-forward first"):
        build.record_step(shop, bike, "bar-in-stem", as_set=True)
    build.record_step(shop, bike, "fork-forward", problem="the crown is cracked")
    with pytest.raises(Refusal, match=r"fork-forward first .problem: the crown is cracked"):
        build.record_step(shop, bike, "bar-in-stem", as_set=True)


def test_a_problem_holds_up_only_what_depends_on_it(shop: Shop) -> None:
    bike = opened(shop)
    answer = build.record_step(shop, bike, "fork-forward", problem="cracked", photo=photo())
    assert "it holds up" in answer.said
    assert "bar-in-stem" in answer.said
    assert "carton-open" not in answer.said
    build.record_step(shop, bike, "carton-outside", photo=photo())
    build.record_step(shop, bike, "carton-open", put_off="the other half comes tomorrow")
    assert _step(shop, bike, "carton-open").said == "the other half comes tomorrow"
    assert _step(shop, bike, "carton-outside").status == "done"


def test_either_a_problem_or_put_off(shop: Shop) -> None:
    bike = opened(shop)
    with pytest.raises(InputError, match="not both"):
        build.record_step(shop, bike, "fork-forward", problem="a", put_off="b")
    with pytest.raises(InputError, match="write a few words"):
        build.record_step(shop, bike, "fork-forward", problem="  ")


def test_a_card_is_ticked_whole_or_not_at_all(shop: Shop) -> None:
    bike = opened(shop)
    card = ["bar-in-stem", "fork-forward"]
    with pytest.raises(InputError, match=r"fork-forward.photo"):
        build.record_steps(shop, bike, card)
    assert shop.state(bike).done() == set()
    answer = build.record_steps(shop, bike, card, photos={"fork-forward": photo()})
    assert answer.numbers == (3, 4)
    assert [e.data["step"] for e in shop.events(bike)[2:]] == ["fork-forward", "bar-in-stem"]


def test_a_card_sent_twice_is_recorded_once(shop: Shop) -> None:
    bike, name = opened(shop), str(uuid.uuid4())
    card = ["fork-forward", "bar-in-stem"]
    first = build.record_steps(shop, bike, card, photos={card[0]: photo()}, uuid=name)
    again = build.record_steps(shop, bike, card, photos={card[0]: photo()}, uuid=name)
    assert again.numbers == first.numbers == (3, 4)


def test_an_entry_under_the_uuid_of_another_is_not_taken_for_it(shop: Shop) -> None:
    """Whoever is told that it is recorded finds it on record."""
    bike, name = opened(shop), str(uuid.uuid4())
    build.record_step(shop, bike, "fork-forward", photo=photo())
    build.record_step(shop, bike, "bar-in-stem", torque="4.7 N.m", uuid=name)
    again = build.record_step(shop, bike, "bar-in-stem", torque=" 4.7  N.m", uuid=name.upper())
    assert again.numbers == (4,)
    others: list[Callable[[], object]] = [
        lambda: build.record_step(shop, bike, "bar-in-stem", torque="4.6 N.m", uuid=name),
        lambda: build.record_step(shop, bike, "bar-in-stem", problem="cracked", uuid=name),
        lambda: build.record_step(shop, bike, "fork-forward", photo=photo(), uuid=name),
        lambda: build.record_steps(shop, bike, ["bar-in-stem", "carton-outside"], uuid=name),
        lambda: build.undo(shop, bike, uuid=name),
        lambda: build.plan_again(shop, bike, uuid=name),
        lambda: build.change_sheet(shop, bike, [CHANGE], uuid=name),
        lambda: build.touch(shop, bike, ["bar-in-stem"], "moved it", uuid=name),
        lambda: readings.read(shop, bike, "front-tyre", "20 psi", uuid=name),
        lambda: carton.damage(shop, bike, "a dent", [photo()], uuid=name),
        lambda: tools.keep_tool(shop, "Small", "2 N.m", "10 N.m", uuid=name),
        lambda: receive.open_bike(shop, sheets(), uuid=name),
    ]
    for other in others:
        with pytest.raises(InputError, match="give every new entry a UUID of its own"):
            other()
    assert shop.state(bike).number == 4


def test_a_step_nobody_knows(shop: Shop) -> None:
    with pytest.raises(InputError, match="did you mean fork-forward"):
        build.record_step(shop, opened(shop), "fork-forwards")
    with pytest.raises(InputError, match="send a UUID"):
        build.record_step(shop, opened(shop), "carton-open", uuid="12")


def test_two_benches_on_one_bike(shop: Shop) -> None:
    """Different subjects go in silently; the same one is a conflict, and nothing is lost."""
    bike = opened(shop)
    seen = shop.state(bike).number
    build.record_step(shop, bike, "carton-open", seen=seen)
    build.record_step(shop, bike, "frame-looked-over", seen=seen)
    with pytest.raises(Conflict, match=r"step:carton-open .* changed in event 3"):
        build.record_step(shop, bike, "carton-open", problem="scratched", seen=seen)
    build.record_step(shop, bike, "carton-open", problem="scratched", seen=3)


def test_nobody_rides_before_the_ride_gate(built: Shop) -> None:
    with pytest.raises(Refusal, match="pass the ride gate first: it has not been passed"):
        build.record_step(built, 1, "bedding-in")


def test_a_step_of_care_waits_for_the_release(built: Shop) -> None:
    with pytest.raises(Refusal, match="release the bike first"):
        build.record_step(built, 1, "first-recheck")


def test_the_newest_is_undone_first(shop: Shop) -> None:
    bike = opened(shop)
    build.record_step(shop, bike, "carton-open")
    build.record_step(shop, bike, "frame-looked-over")
    assert "event 4 undone: frame looked over, " in build.undo(shop, bike, by="Ada").said
    assert shop.state(bike).done() == {"carton-open"}
    assert "event 3 undone: carton open, " in build.undo(shop, bike).said
    with pytest.raises(Refusal, match="only steps, readings and changes"):
        build.undo(shop, bike)
    history = care.show(shop, bike).events
    assert [event.number for event in history if event.undone] == [3, 4]


def test_undo_by_step_names_what_was_built_on_it(built: Shop) -> None:
    answer = build.undo(built, 1, step="headset-preload")
    assert "stem-pinch" in answer.reopened
    assert _step(built, 1, "headset-preload").status == "open"
    with pytest.raises(Refusal, match="only steps, readings and changes"):
        build.undo(built, 1, step="bedding-in")
    with pytest.raises(InputError, match="give an event of this bike"):
        build.undo(built, 1, number=10_000)


def test_moving_the_bar_names_what_to_do_again(built: Shop) -> None:
    answer = build.change_sheet(built, 1, [CHANGE])
    assert {"headset-preload", "stem-pinch", "bar-and-stem-hold", "hoses-slack"} <= set(
        answer.reopened
    )
    for untouched in ("fork-forward", "front-wheel-tool-axle", "pedals-on", "saddle-height"):
        assert _step(built, 1, untouched).status == "done"
    order = [step.id for step in build.plan_for(built, 1).steps]
    assert list(answer.reopened) == sorted(answer.reopened, key=order.index)
    assert f"do these {len(answer.reopened)} again" in answer.said
    before = sheets().bike.cockpit.spacers_under
    after = built.sheets(built.state(1)).bike.cockpit.spacers_under
    assert before is not None
    assert after is not None
    assert after.value - before.value == pytest.approx(0.005)


def test_undoing_a_change_restores_sheet_and_evidence(built: Shop) -> None:
    done = built.state(1).done()
    build.change_sheet(built, 1, [CHANGE])
    build.undo(built, 1)
    assert built.state(1).done() == done
    assert dump(built.sheets(built.state(1)).bike) == dump(sheets().bike)


def test_a_setting_made_with_a_change_comes_and_goes_with_it(built: Shop) -> None:
    before, made = built.state(1).number, dict(built.state(1).settings)
    rows = [
        {"name": name, "value": value, "unit": "Pa"}
        for name, value in (("fork_pressure", 4.5e5), ("shock_pressure", 8e5))
    ]
    own = str(uuid.uuid4())
    answer = build.change_sheet(built, 1, [CHANGE], made=rows, uuid=own)
    again = build.change_sheet(built, 1, [CHANGE], made=rows, uuid=own)
    assert answer.numbers == again.numbers == tuple(range(before + 1, before + 5))
    assert built.state(1).settings["fork_pressure"].value == 4.5e5
    # The newest entry is a setting: undo takes the whole act back, not its last line.
    build.undo(built, 1)
    assert built.state(1).settings == made
    assert dump(built.sheets(built.state(1)).bike) == dump(sheets().bike)


def test_a_change_that_was_built_upon_is_not_undone(built: Shop) -> None:
    answer = build.change_sheet(built, 1, [CHANGE])
    first = next(s for s in build.plan_for(built, 1).steps if s.id == answer.reopened[0])
    record(built, 1, first)
    with pytest.raises(Refusal, match="change the sheet back instead"):
        build.undo(built, 1, number=answer.numbers[0])


def test_an_earlier_change_is_not_undone_under_a_later_one(built: Shop) -> None:
    first = build.change_sheet(built, 1, [CHANGE])
    build.change_sheet(built, 1, ["bike.cockpit.bar_width=770 mm"])
    with pytest.raises(Refusal, match="undo the later change"):
        build.undo(built, 1, number=first.numbers[0])


def test_a_lower_limit_asks_for_its_torque_again(built: Shop) -> None:
    answer = build.change_sheet(built, 1, ["bike.fastener.seat_collar.max=4 N.m"])
    assert "seat-collar-set" in answer.reopened
    window = next(s for s in build.plan_for(built, 1).steps if s.id == "seat-collar-set").torque
    assert window is not None
    assert window.high is not None
    assert window.high < 4.0


def test_a_wrong_change_changes_nothing(shop: Shop) -> None:
    bike = opened(shop)
    number = shop.state(bike).number
    with pytest.raises(InputError, match="spacers_under"):
        build.change_sheet(shop, bike, ["bike.cockpit.spacers_udner=20 mm"])
    with pytest.raises(InputError, match="at least one change"):
        build.change_sheet(shop, bike, [])
    assert shop.state(bike).number == number


def test_touching_a_joint_without_a_change(built: Shop) -> None:
    answer = build.touch(built, 1, ["pedals"], "pedals off for the carton")
    assert "pedals-on" in answer.reopened
    with pytest.raises(InputError, match="name joints of this bike"):
        build.touch(built, 1, ["gearbox"], "why not")


def test_planning_again_keeps_what_was_done(built: Shop) -> None:
    done = built.state(1).done()
    build.plan_again(built, 1)
    assert built.state(1).done() == done


def test_a_reading_can_be_the_proof_of_its_step(shop: Shop) -> None:
    bike = opened(shop)
    build_until(shop, bike, "Receive", "Build", "Fit")
    for step in build.plan_for(shop, bike).steps:
        if step.id == "fork-sag":
            break
        if step.stage == "Base":
            record(shop, bike, step)
    numbers = readings.append_reading(
        shop, bike, "fork-sag", 0.029, "m", "Ada", {"text": "29 mm"}, complete=True
    )
    assert len(numbers) == 2
    assert _step(shop, bike, "fork-sag").evidence["value"]["text"] == "29 mm"
    taken = [item for item in care.show(shop, bike).readings if item["kind"] == "fork-sag"]
    assert [item["value"] for item in taken] == [0.029]
    assert taken[0]["shown"] == "29 mm"


def test_readings_and_settings_are_numbers(shop: Shop) -> None:
    bike = opened(shop)
    with pytest.raises(RangeError, match="give a finite number"):
        readings.append_reading(shop, bike, "fork-sag", float("nan"), "m")
    with pytest.raises(InputError, match="name it in small letters"):
        readings.append_reading(shop, bike, "Fork Sag!", 1.0, "m")
    rows = [{"name": "fork_pressure", "value": 5e5, "unit": "Pa", "basis": "maker"}]
    readings.append_settings(shop, bike, rows, by="Ada")
    made = care.show(shop, bike).settings[0]
    assert (made["value"], made["basis"], made["by"]) == (5e5, "maker", "Ada")
