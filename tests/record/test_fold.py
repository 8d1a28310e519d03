"""The fold: what the events say, and what touching, undoing and re-planning take away."""

from __future__ import annotations

import copy

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.record import reopening
from cyclewright.record.fold import fold, further
from cyclewright.record.stage import progress, stage
from cyclewright.record.state import BikeState
from cyclewright.record.steps import steps_from, torque_fits
from record.benches import STEPS, TORQUE, WINDOW, Stream, planned, step


def test_a_plan_starts_open() -> None:
    state = fold(Stream().events)
    assert state.name == "Invented Trail"
    assert {state.step(name).status for name in state.planned_steps()} == {"open"}
    assert stage(state, False) == "Build"
    assert progress(state) == (0, len(STEPS))


def test_needs_of_steps_and_of_joints() -> None:
    steps = steps_from([step("a", joints=("j",)), step("b"), step("c", "j", "gone")])
    assert steps["c"].needs == {"a"}


def test_done_put_off_problem() -> None:
    stream = Stream()
    stream.done("fork-forward")
    stream.add("step-put-off", "step:pedals", {"step": "pedals", "reason": "rider brings them"})
    stream.add(
        "step-problem", "step:headset-preload", {"step": "headset-preload", "problem": "gritty"}
    )
    state = fold(stream.events)
    assert state.done() == {"fork-forward"}
    assert state.step("pedals").said == "rider brings them"
    assert state.blocked() == ("stem-pinch", "bar-holds", "hoses-slack")
    assert state.unmet("stem-pinch") == ("headset-preload",)


def test_done_in_order_reopens_nothing() -> None:
    stream = Stream()
    stream.all_done()
    state = fold(stream.events)
    assert not state.reopened
    assert len(state.done()) == len(STEPS)


def test_touching_a_joint_reopens_its_evidence_and_what_rests_on_it() -> None:
    stream = Stream()
    stream.all_done()
    number = stream.add("joint-touched", "joint:faceplate", {"joints": ["faceplate"], "why": "w"})
    state = fold(stream.events)
    assert state.reopened == {number: ("bar-in-stem", "bar-holds")}
    assert state.step("bar-in-stem").status == "reopened"
    assert state.step("bar-in-stem").evidence["torque"] == TORQUE
    assert "w (event" in state.step("bar-holds").said
    assert state.joints["faceplate"] == number


def test_doing_an_early_step_again_reopens_the_later_ones() -> None:
    stream = Stream()
    stream.all_done()
    number = stream.done("headset-preload")
    assert fold(stream.events).reopened == {number: ("stem-pinch", "bar-holds", "hoses-slack")}


def test_doing_a_late_step_again_leaves_the_early_ones() -> None:
    stream = Stream()
    stream.all_done()
    stream.done("bar-holds")
    assert not fold(stream.events).reopened


def test_a_step_done_after_a_later_one_on_its_joint_reopens_that() -> None:
    steps = [step("first", joints=("j",)), step("second", joints=("j",))]
    stream = Stream(steps)
    stream.done("second")
    number = stream.done("first")
    assert fold(stream.events).reopened == {number: ("second",)}


def test_undoing_takes_back_and_opens_what_was_built_on_it() -> None:
    stream = Stream()
    stream.all_done()
    number = fold(stream.events).step("headset-preload").number
    data = {"number": number, "numbers": [number], "step": "headset-preload"}
    stream.add("event-undone", "step:headset-preload", data)
    state = fold(stream.events)
    assert state.step("headset-preload").status == "open"
    assert state.step("stem-pinch").status == "reopened"
    assert state.step("pedals").status == "done"
    assert number in state.undone


def test_undoing_a_touch_gives_the_evidence_back() -> None:
    stream = Stream()
    stream.all_done()
    number = stream.add("joint-touched", "joint:x", {"joints": ["faceplate"], "why": "w"})
    stream.add("event-undone", "joint:x", {"number": number, "numbers": [number]})
    assert len(fold(stream.events).done()) == len(STEPS)


def test_a_problem_found_after_done_opens_what_rests_on_it() -> None:
    stream = Stream()
    stream.all_done()
    data = {"step": "stem-pinch", "problem": "a crack"}
    stream.add("step-problem", "step:stem-pinch", data)
    state = fold(stream.events)
    assert state.step("bar-holds").status == "reopened"
    assert state.step("bar-in-stem").status == "done"


def test_a_narrower_window_reopens_a_torque_outside_it() -> None:
    stream = Stream()
    stream.all_done()
    steps = copy.deepcopy(STEPS)
    steps[1]["torque"] = WINDOW | {"low": 3.0, "high": 4.7, "set": 4.7}
    number = stream.add("planned", "plan", planned(steps))
    state = fold(stream.events)
    assert state.reopened[number] == ("bar-in-stem",)
    assert "limits of its torque changed" in state.step("bar-in-stem").said


def test_taking_a_plan_back_asks_for_torques_outside_the_old_one() -> None:
    steps = copy.deepcopy(STEPS)
    steps[1]["torque"] = WINDOW | {"low": 3.0, "high": 4.7, "set": 4.7}
    stream = Stream()
    number = stream.add("planned", "plan", planned(steps))
    stream.done("fork-forward")
    stream.done("bar-in-stem", torque=TORQUE | {"value": 4.7})
    assert "bar-in-stem" in fold(stream.events).done()
    stream.add("event-undone", "plan", {"number": number, "numbers": [number]})
    assert fold(stream.events).step("bar-in-stem").status == "reopened"


@pytest.mark.parametrize(
    ("low", "high", "torque", "fits"),
    [
        (5, 6, 5, True),
        (5, 6, 6.01, False),
        (None, 4.7, 0.5, True),
        (None, 4.7, 4.8, False),
        (None, None, 4.0, False),
    ],
)
def test_torque_windows(low: float | None, high: float | None, torque: float, fits: bool) -> None:
    assert torque_fits({"low": low, "high": high}, torque) is fits


def test_a_pressure_reading_is_a_setting_as_set() -> None:
    stream = Stream()
    data = {"kind": "fork-pressure", "value": 5.0e5, "unit": "Pa", "extra": {"pump": "on"}}
    number = stream.add("reading-taken", "reading:fork-pressure", data)
    state = fold(stream.events)
    assert state.settings["fork_pressure"].value == 5.0e5
    assert state.readings[0].number == number


def test_the_value_of_a_step_is_its_setting_and_its_reading() -> None:
    record = {"what": "sag", "unit": "mm", "setting": "fork_sag", "reading": "fork-sag"}
    stream = Stream([step("fork-sag", evidence=["value"], record=record)])
    stream.done("fork-sag", value={"value": 0.042, "unit": "m", "text": "42 mm"})
    state = fold(stream.events)
    assert state.settings["fork_sag"].value == 0.042
    assert state.readings[0].kind == "fork-sag"


def test_an_unknown_kind_makes_the_bike_read_only() -> None:
    stream = Stream()
    event = stream.events[-1]
    strange = type(event)(
        **{name: getattr(event, name) for name in event.__slots__}
        | {"kind": "from-the-future", "number": 3}
    )
    state = fold([*stream.events, strange])
    assert state.read_only
    assert state.number == 3
    assert len(state.planned_steps()) == len(STEPS)


def test_release_and_care() -> None:
    stream = Stream([step("only")])
    stream.done("only")
    assert stage(fold(stream.events), False) == "Release"
    number = stream.add("released", "release", {"second": None, "rider_fitted": False})
    stream.add("head-signed", "release", {"number": number, "signature": "s"})
    state = fold(stream.events)
    assert stage(state, True) == "Care"
    assert state.released is not None
    assert state.released.signature == {"number": number, "signature": "s"}


def test_a_new_visit_starts_over_and_keeps_readings() -> None:
    stream = Stream()
    stream.all_done()
    data = {"kind": "fork-sag", "value": 0.04, "unit": "m"}
    stream.add("reading-taken", "reading:fork-sag", data)
    stream.add("visit-opened", "visit", {"visit": "service"})
    state = fold(stream.events)
    assert (state.visit, state.steps, len(state.readings)) == (2, {}, 1)


NAMES = [item["id"] for item in STEPS]
ACTS = st.lists(
    st.tuples(st.sampled_from(["done", "problem", "touch", "put-off"]), st.integers(0, 6)),
    max_size=25,
)


def _play(acts: list[tuple[str, int]]) -> Stream:
    stream = Stream()
    joints = ["faceplate", "top_cap", "stem_pinch", "pedal_left", "pedal_right"]
    for act, which in acts:
        name = NAMES[which]
        if act == "done":
            if not fold(stream.events).unmet(name):
                stream.done(name)
        elif act == "problem":
            stream.add("step-problem", f"step:{name}", {"step": name, "problem": "p"})
        elif act == "put-off":
            stream.add("step-put-off", f"step:{name}", {"step": name, "reason": "r"})
        else:
            joint = joints[which % 5]
            stream.add("joint-touched", "joint:x", {"joints": [joint], "why": "w"})
    return stream


@given(ACTS)
def test_folding_on_is_folding_from_the_start(acts: list[tuple[str, int]]) -> None:
    events = _play(acts).events
    whole = fold(events)
    middle = len(events) // 2 + 1
    halfway = fold(events[:middle])
    before = copy.deepcopy(halfway)
    assert further(halfway, events[middle:]) == whole
    assert halfway == before, "folding on must not change the state it starts from"


@given(ACTS)
def test_a_done_step_never_rests_on_one_that_is_not(acts: list[tuple[str, int]]) -> None:
    state = fold(_play(acts).events)
    for name in state.done():
        assert not state.unmet(name), name


@given(ACTS, st.sampled_from(["faceplate", "top_cap", "stem_pinch"]))
def test_touching_leaves_no_evidence_on_the_joint(acts: list[tuple[str, int]], joint: str) -> None:
    stream = _play(acts)
    stream.add("joint-touched", "joint:x", {"joints": [joint], "why": "w"})
    state = fold(stream.events)
    assert not [n for n in state.done() if joint in state.planned_steps()[n].joints]


@given(ACTS)
def test_undoing_all_leaves_nothing(acts: list[tuple[str, int]]) -> None:
    stream = _play(acts)
    for event in reversed(list(stream.events[2:])):
        data = {"number": event.number, "numbers": [event.number]}
        data |= {"step": event.data["step"]} if "step" in event.data else {}
        stream.add("event-undone", event.subject, data)
    state = fold(stream.events)
    assert not state.done()
    assert {held.status for held in state.steps.values()} <= {"open", "reopened"}


def test_dependants_of_nothing() -> None:
    assert reopening.dependants(steps_from(STEPS), set()) == set()
    assert fold([], 3) == BikeState(3)
