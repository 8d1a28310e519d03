"""Acts found again by their UUIDs, and undo and its undo that restore exactly."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.record.acts import acts, follow, undone
from cyclewright.record.fold import fold
from cyclewright.record.state import BikeState
from record.benches import STEPS, TORQUE, WINDOW, Stream, planned, step

LINES = [*STEPS, step("pedal-feel", "pedals", torque=WINDOW, evidence=["torque"])]
JOINTS = ("faceplate", "top_cap", "stem_pinch", "pedal_left")
NAMES = [item["id"] for item in LINES]
NARROW = WINDOW | {"low": 3.0, "high": 4.7, "set": 4.7}
OTHER = [
    STEPS[0],
    STEPS[1] | {"torque": NARROW},
    step("extra", "fork-forward", joints=("top_cap",)),
    *STEPS[2:6],
    LINES[-1] | {"torque": NARROW},
]


class Bench(Stream):
    """A stream whose acts carry UUIDs as the workshop gives them."""

    def act(self, *parts: tuple[str, str, Mapping[str, Any], str], by: int = 1) -> list[int]:
        """Events of one act: kind, subject, data, and the name each follows by (empty: first)."""
        first, before = str(uuid.uuid4()), len(self.events)
        for kind, subject, data, name in parts:
            self.add(kind, subject, data)
            own = follow(first, name) if name else first
            self.events[-1] = replace(self.events[-1], uuid=own, by=by)
        return list(range(before + 1, len(self.events) + 1))

    def undo(self, numbers: list[int], **more: Any) -> int:
        """An undo of these events."""
        return self.add("event-undone", "x", {"number": numbers[0], "numbers": numbers, **more})


def _step(name: str, text: str = "") -> tuple[str, str, Mapping[str, Any], str]:
    return ("step-done", f"step:{name}", {"step": name, "evidence": {"tick": text or True}}, name)


def _reading(kind: str) -> tuple[str, str, Mapping[str, Any], str]:
    return ("reading-taken", f"reading:{kind}", {"kind": kind, "value": 1e5, "unit": "Pa"}, "")


CHANGE = ("sheet-changed", "sheet:bike", {"why": "w", "joints": ["top_cap"]}, "")
PLAN = ("planned", "plan", planned(OTHER), "planned")


def _made(name: str, by: str) -> tuple[str, str, Mapping[str, Any], str]:
    return ("setting-made", f"setting:{name}", {"name": name, "value": 1.0, "unit": "Pa"}, by)


GROUPS: dict[str, list[tuple[str, str, Mapping[str, Any], str]]] = {
    "a reading and the step it proves": [_reading("fork-pressure"), (*_step("pedals")[:3], "step")],
    "a change and its plan": [CHANGE, PLAN],
    "a change, its plan and a setting": [CHANGE, PLAN, _made("fork_pressure", "made")],
    "a finding and its quote": [
        ("finding-made", "finding:x", {"finding": 1, "text": "t", "severity": "warn", "point": ""},
         ""),
        ("finding-quoted", "finding:1", {"finding": 1, "work": "w", "price": "1"}, "quote"),
    ],
    "a card whose first line is not the first ticked": [
        _step("fork-forward"), (*_step("pedals")[:3], ""), _step("headset-preload"),
    ],
    "settings together": [_made("fork_pressure", ""), _made("shock_pressure", "shock_pressure")],
    "lines of a packing list": [
        ("packed", "step:pedals", {"step": "pedals", "joints": [], "again": False}, ""),
        ("packed", "step:stem-pinch", {"step": "stem-pinch", "joints": [], "again": False},
         "stem-pinch"),
    ],
    "a release": [
        ("gate-passed", "gate:release", {"gate": "release", "steps": []}, "gate"),
        ("released", "release", {"second": None}, ""),
        ("head-signed", "release", {"number": 4}, "signed"),
    ],
}  # fmt: skip


@pytest.mark.parametrize("name", GROUPS)
def test_what_was_recorded_in_one_go_is_one_act(name: str) -> None:
    bench = Bench()
    bench.done("fork-forward")
    numbers = bench.act(*GROUPS[name])
    bench.done("bar-holds")
    assert [act.numbers for act in acts(bench.events)][2:] == [
        (3,),
        tuple(numbers),
        (numbers[-1] + 1,),
    ]


def test_settings_that_follow_the_first_of_them_belong_to_the_change() -> None:
    bench = Bench()
    numbers = bench.act(CHANGE, PLAN, _made("fork_pressure", "made"))
    base = bench.events[-1].uuid
    bench.add("setting-made", "setting:shock_pressure", _made("shock_pressure", "")[2])
    bench.events[-1] = replace(bench.events[-1], uuid=follow(base, "shock_pressure"))
    assert acts(bench.events)[-1].numbers == (*numbers, numbers[-1] + 1)


def test_an_act_is_of_one_person() -> None:
    bench = Bench()
    (number,) = bench.act(_reading("fork-pressure"), by=1)
    bench.done("pedals")
    bench.events[-1] = replace(
        bench.events[-1], uuid=follow(bench.events[number - 1].uuid, "step"), by=2
    )
    assert [act.numbers for act in acts(bench.events)][-2:] == [(number,), (number + 1,)]


def test_an_undo_that_is_undone_does_not_count_at_any_depth() -> None:
    bench = Bench()
    bench.all_done()
    first = bench.undo([5])
    assert undone(bench.events) == {5}
    second = bench.undo([first])
    assert undone(bench.events) == {first}
    bench.undo([second])
    assert undone(bench.events) == {5, second}


def test_what_is_left_of_an_act_half_undone_is_its_other_half() -> None:
    bench = Bench()
    numbers = bench.act(*GROUPS["a reading and the step it proves"])
    bench.undo(numbers[:1])
    act = next(act for act in acts(bench.events) if act.numbers == tuple(numbers))
    left = act.without(fold(bench.events).undone)
    assert left is not None
    assert left.numbers == tuple(numbers[1:])
    assert act.without(frozenset(numbers)) is None


PART = {"part": "left pedal", "maker": "", "model": "", "serial": "", "batch": ""}
TICKED = {"parts": [{"part": "left pedal", "status": "missing"}]}
ARRIVED = {
    "arrived": "2030-01-01", "carrier": "", "carriage": "parcel", "country": "GB",
    "unchecked": False, "days": 7, "days_source": "", "deadline": "2030-01-08",
}  # fmt: skip
OVERRIDE = {"gate": "ride", "item": "pedals", "reason": "r", "second": 2}
SINGLE: tuple[tuple[str, str, Mapping[str, Any], str], ...] = (
    ("carton-arrived", "carton", ARRIVED, ""),
    ("carton-damaged", "damage:inside", {"where": "inside", "text": "t"}, ""),
    ("parts-ticked", "parts", TICKED, ""),
    ("part-expected", "part", {"part": "left pedal", "date": "2030-02-01"}, ""),
    ("part-arrived", "part", {"part": "left pedal", "date": "2030-02-01"}, ""),
    ("packing-kept", "packing", {"items": ["carton"]}, ""),
    ("claim-sent", "claim", {"date": "2030-01-02"}, ""),
    ("serial-read", "serial", {"serial": "S2"}, ""),
    ("part-fitted", "part", PART, ""),
    ("part-removed", "part", {"part": "left pedal"}, ""),
    ("recall-cleared", "recall:1", {"recall": 1, "reason": "r"}, ""),
    ("finding-made", "finding:x", {"finding": 1, "text": "t", "severity": "warn", "point": ""}, ""),
    ("finding-quoted", "finding:1", {"finding": 1, "work": "w", "price": ""}, ""),
    ("finding-put-right", "finding:1", {"finding": 1, "what": "w"}, ""),
    ("use-noted", "use", {"date": "2030-01-01", "rides": 1, "hours": 1.0}, ""),
    ("care-done", "care", {"item": "bolts", "date": "2030-01-01", "note": ""}, ""),
    ("care-booked", "care", {"date": "2030-01-01", "note": ""}, ""),
    ("gate-passed", "gate:ride", {"gate": "ride", "steps": NAMES[:5]}, ""),
    ("item-overridden", "override:pedals", OVERRIDE, ""),
)
DRAWN = st.lists(
    st.tuples(
        st.sampled_from([*["done"] * 5, "problem", "put-off", "touch", "plan", "group",
                         "one", "override", "undo", "undo"]),
        st.integers(0, 40),
    ),
    max_size=30,
)  # fmt: skip


def _play(bench: Bench, drawn: list[tuple[str, int]]) -> None:
    """A history, with undos in it of what still counts."""
    for act, which in drawn:
        name = NAMES[which % len(NAMES)]
        if act == "done":
            state = fold(bench.events)
            ready = [step for step in state.planned_steps().values() if not state.unmet(step.id)]
            chosen = ready[which % len(ready)]
            high = (chosen.torque or {}).get("set")
            bench.done(chosen.id, **({"torque": TORQUE | {"value": high}} if high else {}))
        elif act == "problem":
            bench.add("step-problem", f"step:{name}", {"step": name, "problem": "p"})
        elif act == "put-off":
            bench.add("step-put-off", f"step:{name}", {"step": name, "reason": "r"})
        elif act == "touch":
            joints = [JOINTS[which % len(JOINTS)]]
            bench.add("joint-touched", "joint:x", {"joints": joints, "why": "w"})
        elif act == "plan":
            bench.act((*PLAN[:2], planned(OTHER if which % 2 else LINES), ""))
        elif act == "group":
            bench.act(*list(GROUPS.values())[which % (len(GROUPS) - 1)])
        elif act == "override":
            bench.act(SINGLE[-2 + which % 2])
        elif act == "one":
            bench.act(SINGLE[which % len(SINGLE)])
        else:
            _take_one(bench, which)


def _take_one(bench: Bench, which: int) -> list[int]:
    """Undo one of the acts that count; gives the numbers it took, none where nothing counts."""
    gone = fold(bench.events).undone
    left = [part for act in acts(bench.events[2:]) if (part := act.without(gone))]
    if not left:
        return []
    act = left[which % len(left)]
    bench.undo(list(act.numbers), **({"step": act.steps[0]} if act.steps else {}))
    return list(act.numbers)


def bare(state: BikeState) -> BikeState:
    """A state without the bookkeeping of its last events."""
    return replace(state, number=0, head=b"", updated="", undone=frozenset(), reopened={})


@given(DRAWN, st.tuples(st.sampled_from(["done", "problem", "put-off", "touch", "plan", "group",
                                         "one"]), st.integers(0, 40)))  # fmt: skip
def test_undo_at_once_restores_exactly_and_its_undo_too(
    drawn: list[tuple[str, int]], last: tuple[str, int]
) -> None:
    bench = Bench(LINES)
    _play(bench, drawn)
    before, known = fold(bench.events), len(bench.events)
    _play(bench, [last])
    numbers = [event.number for event in bench.events[known:]]
    if not numbers:
        return
    after = fold(bench.events)
    steps = [event.data["step"] for event in bench.events[known:] if "step" in event.data]
    taken = bench.undo(numbers, **({"step": steps[-1]} if steps else {}))
    assert bare(fold(bench.events)) == bare(before)
    assert taken not in fold(bench.events).reopened
    bench.undo([taken])
    assert bare(fold(bench.events)) == bare(after)


@given(DRAWN)
def test_nothing_done_since_rests_on_what_was_taken_or_put_back(
    drawn: list[tuple[str, int]],
) -> None:
    """Whatever is undone, and undone again, no later proof stands on an open step."""
    bench = Bench(LINES)
    _play(bench, [(act, which) for act, which in drawn if act not in ("plan", "group")])
    state = fold(bench.events)
    for name in state.done():
        assert not state.unmet(name), name


def _undone_at_once(bench: Bench) -> None:
    """One more step done and taken back changes nothing."""
    before = fold(bench.events)
    bench.undo([bench.done("fork-forward")], step="fork-forward")
    assert bare(fold(bench.events)) == bare(before)


def test_what_stood_before_the_act_stands_after_its_undo() -> None:
    bench = Bench(LINES)
    bench.act(SINGLE[-1])
    bench.done("pedal-feel", torque=TORQUE)
    bench.add("step-put-off", "step:pedals", {"step": "pedals", "reason": "r"})
    assert "pedal-feel" in fold(bench.events).done()
    _undone_at_once(bench)


def test_a_torque_without_a_figure_is_not_asked_for_by_another_undo() -> None:
    bare_window = WINDOW | {"low": None, "high": None, "set": None}
    bench = Bench([LINES[0], step("collar", torque=bare_window, evidence=["torque"])])
    bench.done("collar", torque=TORQUE, word={"text": "the maker's"})
    _undone_at_once(bench)
    first = bench.done("fork-forward")
    bench.done("collar", torque=TORQUE, word={"text": "the maker's"})
    bench.undo([first], step="fork-forward")
    assert "collar" in fold(bench.events).done()


def test_a_proof_on_an_override_that_is_taken_back_is_open_again() -> None:
    bench = Bench(LINES)
    (number,) = bench.act(SINGLE[-1])
    bench.done("pedal-feel", torque=TORQUE)
    taken = bench.undo([number])
    state = fold(bench.events)
    assert state.reopened == {taken: ("pedal-feel",)}
    assert "pedals does not hold since event" in state.step("pedal-feel").said
    bench.undo([taken])
    assert "pedal-feel" in fold(bench.events).done()


def test_a_touch_put_back_opens_what_was_proved_meanwhile() -> None:
    bench = Bench(LINES)
    bench.all_done()
    touched = bench.add("joint-touched", "joint:x", {"joints": ["top_cap"], "why": "w"})
    taken = bench.undo([touched])
    bench.done("bar-holds")
    gate = bench.add("gate-passed", "gate:ride", {"gate": "ride", "steps": ["bar-holds"]})
    back = bench.undo([taken])
    state = fold(bench.events)
    assert state.reopened[touched] == ("headset-preload", "stem-pinch", "bar-holds", "hoses-slack")
    assert state.reopened[back] == ("bar-holds",)
    assert gate < back
    assert not state.gates


def test_what_was_proved_under_another_plan_is_named_and_open_again() -> None:
    bench = Bench(LINES)
    numbers = bench.act((*PLAN[:2], planned(LINES), ""))
    bench.done("fork-forward")
    bench.undo(numbers, moved=["fork-forward", "pedals"])
    state = fold(bench.events)
    assert "proved under sheets" in state.step("fork-forward").said
    assert state.step("pedals").status == "open"
