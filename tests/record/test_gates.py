"""The gates: what each asks for and still lacks, and what makes a passed one fall."""

from __future__ import annotations

from cyclewright.record import gates
from cyclewright.record.fold import fold
from record.benches import TORQUE, WINDOW, Stream, step


def _gate(stream: Stream, gate: str = "ride") -> int:
    rests = list(gates.rests_on(fold(stream.events), gate))
    return stream.add("gate-passed", f"gate:{gate}", {"gate": gate, "steps": rests})


def test_a_gate_names_what_is_missing() -> None:
    stream = Stream()
    stream.all_done()
    stream.add("step-problem", "step:pedals", {"step": "pedals", "problem": "thread"})
    lacking = {item.item: item for item in gates.lacking(fold(stream.events), "ride")}
    assert lacking["pedals"].why == "problem: thread"
    assert lacking["pedals"].step == "pedals"
    assert "no step of this plan proves it" in lacking["axles"].why
    assert lacking["axles"].never_override
    assert "fork-direction" not in lacking


def test_done_without_its_evidence_does_not_pass() -> None:
    steps = [step("pedals", safety="pedals", evidence=["torque", "photo"])]
    stream = Stream(steps)
    stream.done("pedals", torque=TORQUE)
    lacking = {item.item: item.why for item in gates.lacking(fold(stream.events), "ride")}
    assert lacking["pedals"] == "done without its evidence: photo"


def test_figures_without_a_common_setting_want_the_makers_word() -> None:
    window = WINDOW | {"needs_word": True}
    stream = Stream([step("bar", safety="bar-and-stem", torque=window, evidence=["torque"])])
    stream.done("bar", torque=TORQUE)
    assert "maker's word" in _why(stream, "bar-and-stem")
    stream.done("bar", torque=TORQUE, word="4.7 is fine, says its maker")
    assert _why(stream, "bar-and-stem") == ""


def _why(stream: Stream, item: str) -> str:
    lacking = gates.lacking(fold(stream.events), "ride")
    return next((row.why for row in lacking if row.item == item), "")


def test_a_passed_gate_falls_with_what_it_rests_on() -> None:
    stream = Stream()
    stream.all_done()
    _gate(stream)
    assert "ride" in fold(stream.events).gates
    stream.done("pedals")
    assert "ride" in fold(stream.events).gates
    stream.add("joint-touched", "joint:x", {"joints": ["faceplate"], "why": "w"})
    state = fold(stream.events)
    assert "ride" not in state.gates
    assert "bar in stem was reopened" in state.fallen["ride"]
    stream.done("bar-in-stem", torque=TORQUE)
    stream.done("bar-holds")
    assert "ride" not in fold(stream.events).gates


def test_undoing_a_step_fells_the_gate() -> None:
    stream = Stream()
    stream.all_done()
    _gate(stream)
    number = fold(stream.events).step("pedals").number
    data = {"number": number, "numbers": [number], "step": "pedals"}
    stream.add("event-undone", "step:pedals", data)
    assert "ride" not in fold(stream.events).gates


def test_the_release_gate_asks_for_the_ride_gate_first() -> None:
    stream = Stream()
    stream.all_done()
    assert gates.lacking(fold(stream.events), "release")[0].item == "ride-gate"


def test_a_safety_item_nobody_knows_counts_at_release() -> None:
    stream = Stream([step("odd", safety="invented-item")])
    items = {row.item for row in gates.lacking(fold(stream.events), "release")}
    assert "invented-item" in items
