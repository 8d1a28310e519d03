"""The two gates: what each asks for, which step proves it, and what is still missing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from cyclewright.record.state import BikeState, StepState
from cyclewright.record.steps import Step


@dataclass(frozen=True, slots=True)
class GateItem:
    """One thing a gate asks for; `never_override` where no reason and no second person helps."""

    id: str
    gate: str
    text: str
    never_override: bool = False
    where_there: bool = False
    """Whether it is asked only of a bike whose plan has, or may have, a step for it."""


@dataclass(frozen=True, slots=True)
class Lacking:
    """A gate item without good evidence: why, and the step that would give it."""

    item: str
    label: str
    why: str
    step: str | None
    never_override: bool


GATES = ("ride", "release")

# A step's `safety` names the item it proves. Brakes, axles, insertion, steering and the mass
# limit are never overridden. Common practice, no source.
ITEMS: tuple[GateItem, ...] = (
    GateItem("fork-direction", "ride", "fork direction", True),
    GateItem("axles", "ride", "axles and retention", True),
    GateItem("bar-and-stem", "ride", "bar and stem", True),
    GateItem("headset", "ride", "headset play", True),
    GateItem("post", "ride", "post insertion and clamp", True),
    GateItem("saddle", "ride", "saddle clamp"),
    GateItem("pedals", "ride", "pedals"),
    GateItem("brake-hands", "ride", "brakes on the agreed hands", True),
    GateItem("brake-hold", "ride", "brakes held hard for 30 s without sink or leak", True),
    GateItem("brake-bolts", "ride", "rotor and caliper bolts", True),
    GateItem("hose-slack", "ride", "hose slack at full lock", True),
    GateItem("tyre-pressures", "ride", "tyre pressures within limits"),
    GateItem("springs", "ride", "springs set, read and bolted up", where_there=True),
    GateItem("sag", "ride", "sag read with this rider", where_there=True),
    GateItem("bar-ends", "ride", "bar-end plugs"),
    GateItem("drive", "ride", "chain and gears turn"),
    GateItem("mass-and-use", "ride", "mass limit and use class", True),
    GateItem("looked-over", "ride", "nothing cracked or crushed", True),
    GateItem("whole-plan", "ride", "nothing unknown that decides a step", True, True),
    GateItem("bedding-in", "release", "brakes bedded in and held again", True),
    GateItem("bolt-round", "release", "bolt round"),
    GateItem("function-tests", "release", "function tests"),
    GateItem("car-park-ride", "release", "car-park ride"),
    GateItem("explained", "release", "hand-over explained"),
    GateItem("open-again", "release", "the rest of the plan is done", True, True),
    GateItem("whole-plan-release", "release", "nothing unknown that decides a step", True, True),
)
_WHOLE = {"ride": "whole-plan", "release": "whole-plan-release"}
_LATE = ("Prove", "Release")
"""Stages whose steps come after the ride gate; those of Care hold no gate."""


_STUCK = {"put-off": "put off", "problem": "problem"}
INSPECTED = GateItem("inspection", "ride", "all of it looked at", True)
"""What an inspection asks for besides: its points."""


LOOKED_OVER = "looked-over"
"""Item that the look over the unpacked frame proves; the points of an inspection prove more."""
HELD = tuple(GateItem("parts", gate, "parts of the bike") for gate in GATES)
"""What a gate asks for only while a part that it has no item for is not right."""


def items(state: BikeState) -> tuple[GateItem, ...]:
    """What the gates ask for in this visit."""
    if state.plan_kind != "inspection":
        return ITEMS
    return (INSPECTED, *(item for item in ITEMS if item.id != LOOKED_OVER))


def lacking(state: BikeState, gate: str) -> tuple[Lacking, ...]:
    """What a gate still wants, in the gate's order.

    Every step of an item must be done and hold; an item that no step proves is not proved. A
    safety item this version does not know counts at the release gate.
    """
    found = [row for item in items(state) if item.gate == gate for row in _item(state, item)]
    if gate == "release":
        found += [row for item in _strange(state) for row in _item(state, item)]
        if not holds(state, "ride"):
            found.insert(0, Lacking("ride-gate", "ride gate", _ride_why(state), None, True))
    return tuple(found)


def holds(state: BikeState, gate: str) -> bool:
    """Whether a gate was passed and nothing it rests on has been reopened since."""
    return gate in state.gates and not lacking(state, gate)


def item_of(name: str, gate: str) -> GateItem | None:
    """The item of that id at that gate, or None."""
    listed = (*ITEMS, *HELD)
    return next((item for item in listed if item.id == name and item.gate == gate), None)


def rests_on(state: BikeState, gate: str) -> tuple[str, ...]:
    """Ids of the steps that a gate rests on, in plan order: for a release, all of the visit's."""
    planned = state.planned_steps().values()
    if gate == "release":
        return tuple(step.id for step in planned if step.stage != "Care")
    wanted = {item.id for item in items(state) if item.gate == gate}
    return tuple(step.id for step in planned if step.safety in wanted)


def _strange(state: BikeState) -> list[GateItem]:
    """Safety items of an older or newer plan that the gates of this version do not list."""
    known = {item.id for item in items(state)} | {""}
    names = {step.safety for step in state.planned_steps().values()} - known
    return [GateItem(name, "release", name, True) for name in sorted(names)]


def _ride_why(state: BikeState) -> str:
    if "ride" in state.gates:
        return "something it asks for is missing since it was passed"
    return state.fallen.get("ride", "it has not been passed")


def _item(state: BikeState, item: GateItem) -> Iterable[Lacking]:
    unknown = list(_undecided(state, item))
    if not item.never_override and state.overridden(item.id) is not None:
        return unknown
    proving = [step for step in state.planned_steps().values() if _proves(state, step, item)]
    if not proving and not unknown and not item.where_there:
        why = "no step of this plan proves it: answer the plan's open questions and plan again"
        return [Lacking(item.id, item.text, why, None, item.never_override)]
    return [
        *unknown,
        *(
            Lacking(item.id, item.text, why, step.id, item.never_override)
            for step in proving
            if (why := _why(step, state.step(step.id)) + _waiting(state, step.id))
        ),
    ]


def _proves(state: BikeState, step: Step, item: GateItem) -> bool:
    """Whether an item asks for this step: the rest of the plan is asked for whatever it proves.

    A plan from before steps said whether they may wait asks only for what was opened again.
    """
    if item.id != "open-again":
        return step.safety == item.id
    if step.safety or step.stage == "Care":
        return False
    status, said = state.step(step.id).status, "may_wait" in step.data
    if not said or status == "done":
        return status == "reopened"
    return status != "problem" and not (status == "put-off" and step.data["may_wait"])


def _undecided(state: BikeState, item: GateItem) -> Iterable[Lacking]:
    """What an item wants to know before its steps can be named; each fact is asked once."""
    from cyclewright.knowledge.questions import question_of

    asked: set[str] = set()
    for row in () if state.plan is None else state.plan.undecided:
        if not row["holds"] or row["stage"] == "Care" or _holder(row) != item.id:
            continue
        for name in row["fields"]:
            if name not in asked:
                asked.add(name)
                ask = row["ask"] if name == row["fields"][0] else question_of(name) or row["ask"]
                why = f"{name} is not known: {ask}"
                yield Lacking(item.id, item.text, why, None, True)


def _holder(row: Mapping[str, Any]) -> str:
    """The item that waits for a step nobody could decide on."""
    return row["safety"] or _WHOLE["release" if row["stage"] in _LATE else "ride"]


def _waiting(state: BikeState, name: str) -> str:
    """What was put off or is wrong before a step, by name; empty while it can be done, or is."""
    if state.step(name).status not in ("open", "reopened"):
        return ""
    stuck = [need for need in state.unmet(name) if state.step(need).status in _STUCK]
    told = [f"{need} ({_STUCK[state.step(need).status]})" for need in stuck]
    return f"; first {', '.join(told)}" if told else ""


def _why(step: Step, held: StepState) -> str:
    """Why a step does not prove its item; empty when it does."""
    if held.status == "open":
        return "not done yet"
    if held.status == "put-off":
        return f"put off: {held.said}"
    if held.status == "problem":
        return f"problem: {held.said}"
    if held.status == "reopened":
        return f"reopened: {held.said}"
    return evidence_lacking(step, held)


def evidence_lacking(step: Step, held: StepState) -> str:
    """What the evidence of a done step lacks; empty when it is complete."""
    kinds = ("torque", "value", "photo", "text")
    wanted = [kind for kind in kinds if kind in step.evidence and kind not in held.evidence]
    if wanted:
        return f"done without its evidence: {' and '.join(wanted)}"
    if "torque" in step.evidence and step.torque is None and "word" not in held.evidence:
        return "no figure is known for its torque: record it with whose figure it is"
    window = step.torque or {}
    if not window.get("needs_word") or "word" in held.evidence:
        return ""
    if unreached := window.get("unreached"):
        return f"{unreached}; record with the torque which tool it was set with"
    return "its torque figures leave no common setting: record the maker's word"
