"""The fold: a bike's events, in order, to what is known of it now. It runs no sums."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from cyclewright.record import care, carton, findings, lapse, reopening
from cyclewright.record.acts import undone
from cyclewright.record.care import Booked, Cared, Use
from cyclewright.record.events import Event
from cyclewright.record.recall import Cleared, Fitted, same
from cyclewright.record.state import (
    SETTING_OF_READING,
    BikeState,
    Made,
    Overridden,
    Pack,
    Passed,
    Planned,
    Reading,
    Released,
    Setup,
    Status,
    StepState,
)
from cyclewright.record.steps import Step, needed, steps_from, torque_fits


def fold(events: Iterable[Event], bike: int = 0) -> BikeState:
    """The state after all `events` of one bike, in order of their numbers.

    What was undone counts as never said, except that steps built upon it are open again. What
    was put back counts where it was recorded.
    """
    listed = list(events)
    state = BikeState(listed[0].stream if listed else bike)
    state.undone = undone(listed)
    for event in listed:
        apply(state, event)
    return state


def further(state: BikeState, events: Iterable[Event]) -> BikeState | None:
    """The state after more events, or None when one of them undoes an earlier one."""
    listed = list(events)
    if any(event.kind == "event-undone" for event in listed):
        return None
    state = state.copy()
    for event in listed:
        apply(state, event)
    return state


def apply(state: BikeState, event: Event) -> None:
    """Fold one event into the state, in place."""
    state.number, state.head, state.updated = event.number, event.hash, event.server_time
    if not event.known:
        state.unknown = (*state.unknown, event.kind)
    elif event.number not in state.undone:
        _APPLIED[event.kind](state, event)


def _nothing(state: BikeState, event: Event) -> None:
    """An event of the shop's own stream says nothing of a bike."""


def _visit(state: BikeState, event: Event) -> None:
    state.opened = {joint: n for joint, n in state.opened.items() if not _closed(state, joint)}
    state.visit, state.visit_kind = state.visit + 1, event.data["visit"]
    state.plan_kind, state.cause = event.data["visit"], event.data.get("cause", "")
    state.visit_number = event.number
    state.name = event.data.get("name", state.name)
    state.plan, state.released, state.pack = None, None, None
    state.steps, state.gates, state.fallen, state.overrides = {}, {}, {}, {}


def _closed(state: BikeState, joint: str) -> bool:
    """Whether what closes and proves an opened joint is done."""
    closing = frozenset[str]() if state.plan is None else state.plan.closing(joint)
    return bool(closing) and closing <= state.done()


def _planned(state: BikeState, event: Event) -> None:
    before = state.planned_steps()
    data = event.data
    rows = tuple(data["steps"])
    steps = steps_from(needed(rows, state.opened))
    lapsed = data.get("lapsed")
    if lapsed is None and state.plan is not None:
        lapsed = lapse.of_older(state.sheets, state.rider, data)
    state.plan = Planned(
        event.number,
        steps,
        tuple(data.get("questions", ())),
        data["knowledge"],
        data["model"],
        event.server_time,
        tuple(data.get("undecided", ())),
        rows,
    )
    state.sheets = dict(data["sheets"])
    state.rider = (data.get("rider") or {}).get("attachment")
    state.name = data.get("name", state.name)
    state.serial = state.carton.serial or data.get("serial", state.serial)
    moved = {
        name: f"the limits of its torque changed in event {event.number}"
        for name, held in state.steps.items()
        if name in steps and name in before and _outside(steps[name], held)
    }
    _reopen(state, event, moved)
    done = {name for name, held in state.steps.items() if held.status == "done"}
    _let_pass_no_more(state, lambda name, _: name in (lapsed or {}))
    gone = lapse.by_plan(before, steps, done, lapsed or {})
    _reopen(state, event, {name: f"{why} (event {event.number})" for name, why in gone.items()})
    for name, step in steps.items():
        new = step.joints - before[name].joints if name in before else frozenset()
        if new and state.step(name).status == "done":
            reached = {name, *(reopening.dependants(steps, {name}) & state.done())}
            listed = ", ".join(joint.replace("_", " ") for joint in sorted(new))
            why = f"{listed}: new on the sheet (event {event.number})"
            _reopen(state, event, {other: why for other in steps if other in reached})


def _outside(step: Step, held: StepState) -> bool:
    """Whether a recorded torque no longer lies in the step's window."""
    torque = (held.evidence.get("torque") or {}).get("value")
    fits = torque is None or torque_fits(step.torque, torque, "word" in held.evidence)
    return held.status == "done" and not fits


def _done(state: BikeState, event: Event) -> None:
    name = event.data["step"]
    steps = state.planned_steps()
    if name in steps:
        assert state.plan is not None
        reached = state.plan.reached(("step", name), lambda: reopening.behind(steps, name))
        again = () if _read_again(state.step(name), event) else state.still_done(reached)
        why = f"{steps[name].title} was done after it, in event {event.number}"
        _reopen(state, event, dict.fromkeys(again, why))
        for joint in steps[name].joints:
            state.joints[joint] = event.number
    _lapse(state, event)
    _read_in_step(state, event, steps.get(name))
    stamped = ((event.data.get("evidence") or {}).get("text") or {}).get("text")
    if name == carton.SERIAL_STEP and stamped:
        state.carton = replace(state.carton, serial=str(stamped))
        state.serial = state.carton.serial
    if name == care.BOOKING_STEP and (booked := care.day_in(str(stamped or ""))):
        state.booked = Booked(booked, str(stamped), event.number)
    if name == care.RECHECK_STEP:
        state.booked = None
    state.steps[name] = StepState(
        "done", event.number, event.by, event.server_time, event.data.get("evidence", {})
    )


SAME_READING = 0.015
"""How far a pressure read again may lie from the one before and still be the same setting: about a
gauge's mark."""


def _read_again(held: StepState, event: Event) -> bool:
    """Whether a pressure that holds was only read once more, at what it was."""
    was = held.evidence.get("value") or {}
    now = (event.data.get("evidence") or {}).get("value") or {}
    if held.status != "done" or "value" not in was or now.get("unit") != "Pa":
        return False
    return bool(abs(now["value"] - was["value"]) <= SAME_READING * abs(was["value"]))


def _read_in_step(state: BikeState, event: Event, step: Step | None) -> None:
    """A step that asks for a reading or a setting is one: its value counts like any other."""
    record = None if step is None else step.data.get("record")
    given = (event.data.get("evidence") or {}).get("value") or {}
    if not isinstance(record, Mapping) or "value" not in given:
        return
    value, unit = given["value"], given["unit"]
    extra = {"step": event.data["step"], **given.get("extra", {})}
    if record.get("reading") and not event.data.get("from_reading"):
        _take(state, event, str(record["reading"]), value, unit, extra)
    if name := record.get("setting"):
        _set(state, Made(name, value, unit, event.number, event.by, event.server_time, extra))


def _put_off(state: BikeState, event: Event) -> None:
    _stand(state, event, "put-off", event.data["reason"])


def _problem(state: BikeState, event: Event) -> None:
    _stand(state, event, "problem", event.data["problem"])


_STANDS: dict[Status, str] = {"put-off": "was put off", "problem": "has a problem"}


def _stand(state: BikeState, event: Event, status: Status, said: str) -> None:
    name = event.data["step"]
    if name in state.planned_steps() and state.step(name).status == "done":
        steps = state.planned_steps()
        gone = reopening.dependants(steps, {name}) & state.done()
        why = f"{steps[name].title} is no longer done, by event {event.number}"
        _reopen(state, event, {other: why for other in steps if other in gone})
    _fall(state, event, {name}, verb=_STANDS[status])
    evidence = {"photo": event.data["photo"]} if "photo" in event.data else {}
    state.steps[name] = StepState(status, event.number, event.by, event.server_time, evidence, said)


def _touched(state: BikeState, event: Event) -> None:
    joints = event.data["joints"]
    named = ", ".join(joint.replace("_", " ") for joint in joints)
    _opened(state, event, joints)
    _touch(state, event, joints, f"{named}: {event.data['why']}")


def _opened(state: BikeState, event: Event, joints: Iterable[str]) -> None:
    """Joints opened beside the plan: what closes and proves them again is part of it from here."""
    state.opened |= dict.fromkeys(joints, event.number)
    if state.plan is not None:
        state.plan = state.plan.with_opened(state.opened)


def _lapse(state: BikeState, event: Event) -> None:
    """What an event about a part takes away: by its joints, and the steps that none reaches."""
    lapse = event.data.get("lapse")
    if not lapse:
        return
    _opened(state, event, lapse["joints"])
    steps = state.planned_steps()
    _touch(state, event, lapse["joints"], lapse["why"])
    named = {name for name in lapse["steps"] if name in steps}
    gone = state.still_done(reopening.ordered(steps, named | reopening.dependants(steps, named)))
    _reopen(state, event, dict.fromkeys(gone, f"{lapse['why']} (event {event.number})"))


def _changed(state: BikeState, event: Event) -> None:
    state.changes.append({**event.data, "number": event.number, "at": event.server_time})
    _touch(state, event, event.data.get("joints", ()), event.data["why"])


def _rider(state: BikeState, event: Event) -> None:
    """Somebody else rides it: what was set for who rode it before is kept to go back to."""
    data = event.data
    since = state.setups[-1].number if state.setups else 0
    state.setups.append(
        Setup(
            len(state.setups) + 1,
            event.number,
            event.server_time,
            state.rider,
            dict(state.sheets),
            {name: made for name, made in state.settings.items() if made.number > since},
            tuple(item for item in state.readings if item.number > since),
        )
    )
    state.back_to = data.get("earlier")
    told = {"changes": data["fields"], "fields": data["fields"], "joints": [], "why": data["why"]}
    state.changes.append({**told, "number": event.number, "at": event.server_time})


def _touch(state: BikeState, event: Event, joints: Iterable[str], why: str) -> None:
    touched = tuple(joints)
    gone: tuple[str, ...] = ()
    if state.plan is not None:
        steps, key = state.plan.steps, ("joints", *sorted(touched))
        reached = state.plan.reached(key, lambda: reopening.on_joints(steps, touched))
        gone = state.still_done(reached)
    _reopen(state, event, dict.fromkeys(gone, f"{why} (event {event.number})"))
    _let_pass_no_more(state, lambda name, step: bool(step.joints & set(touched)))
    for joint in touched:
        state.joints[joint] = event.number


def _let_pass_no_more(state: BikeState, moved: Callable[[str, Step], bool]) -> None:
    """An override ends with anything that it was given under, whether its step was done or not."""
    if not state.overrides:
        return
    gone = {s.safety for name, s in state.planned_steps().items() if s.safety and moved(name, s)}
    state.overrides = {item: row for item, row in state.overrides.items() if item not in gone}


def _reading(state: BikeState, event: Event) -> None:
    data = event.data
    _take(state, event, data["kind"], data["value"], data["unit"], data.get("extra", {}))
    _disprove(state, event, "reading", data["kind"])


def _take(
    state: BikeState, event: Event, kind: str, value: float, unit: str, extra: Mapping[str, Any]
) -> None:
    """A reading taken; a pressure read is also how the unit is set."""
    number, by, at = event.number, event.by, event.server_time
    state.readings.append(Reading(number, kind, value, unit, by, at, extra))
    if (name := SETTING_OF_READING.get(kind)) is not None:
        _set(state, Made(name, value, unit, number, by, at, {}))


def _setting(state: BikeState, event: Event) -> None:
    data, extra = event.data, event.data.get("extra", {})
    name, value, unit = data["name"], data["value"], data["unit"]
    _set(state, Made(name, value, unit, event.number, event.by, event.server_time, extra))
    _disprove(state, event, "setting", name)


def _disprove(state: BikeState, event: Event, what: str, name: str) -> None:
    """A reading or setting that proves nothing takes away the proof that it speaks against."""
    why = event.data.get("unproved")
    if not why:
        return
    steps, done = state.planned_steps(), state.done()
    asks = {other for other in done if _record(steps[other]).get(what) == name}
    asks |= done.intersection(event.data.get("against", ()))
    gone = asks | (reopening.dependants(steps, asks) & done)
    extra = event.data.get("extra") or {}
    shown = extra.get("text") or extra.get("shown") or f"{event.data['value']:g}"
    words = name.replace("_", " ").replace("-", " ")
    verb = "read" if what == "reading" else "set to"
    said = f"{words} {verb} {shown} in event {event.number}, which does not prove it: {why}"
    _reopen(state, event, {other: said for other in steps if other in gone})


def _record(step: Step) -> Mapping[str, Any]:
    """What a step writes down; empty for none."""
    found = step.data.get("record")
    return found if isinstance(found, Mapping) else {}


def _set(state: BikeState, made: Made) -> None:
    """A setting as it was made: it holds until the next of its name."""
    before = state.settings.get(made.name)
    state.settings[made.name] = made
    state.made.append(made)
    if before is not None and abs(before.value - made.value) <= SAME_READING * abs(before.value):
        return
    steps = state.planned_steps()
    set_by = {name for name, step in steps.items() if _record(step).get("setting") == made.name}
    rests = reopening.dependants(steps, set_by) if set_by and state.overrides else set()
    _let_pass_no_more(state, lambda name, _: name in rests)


def _undone(state: BikeState, event: Event) -> None:
    """What was recorded since on what is taken back, or put back, is open again.

    What was recorded before it stands as it stood then, so that an undo at once restores exactly.
    """
    since, steps = min(event.data["numbers"]), state.planned_steps()
    why = f"it was proved under sheets that event {event.number} took back"
    moved = state.still_done(event.data.get("moved", ()))
    _reopen(state, event, {name: why for name in moved if state.step(name).number > since})
    why = f"its torque was recorded under a plan that event {event.number} took back"
    loose = [
        name for name, step in steps.items()
        if _outside(step, state.step(name)) and _has_figure(step)
    ]  # fmt: skip
    _reopen(state, event, dict.fromkeys(loose, why))
    _reopen(state, event, _unfounded(state, event, since))
    for gate in [gate for gate in state.gates.values() if gate.number > since]:
        lost = {name for name in gate.steps & set(steps) if not _stands(state, steps[name])}
        _fall(state, event, lost, only=[gate.gate], verb="was taken back")


def _has_figure(step: Step) -> bool:
    """Whether a step's torque has an end: where it has none, no plan moved it."""
    window = step.torque or {}
    return window.get("low") is not None or window.get("high") is not None


def _unfounded(state: BikeState, event: Event, since: int) -> dict[str, str]:
    """Steps done since then that rest on one which no longer stands, and why they are open."""
    steps, found = state.planned_steps(), dict[str, str]()
    for name, step in steps.items():
        held = state.step(name)
        if held.status != "done" or held.number <= since:
            continue
        rests = [steps[need] for need in steps if need in step.rests]
        lost = (one for one in rests if one.id in found or not _stands(state, one))
        if (first := next(lost, None)) is not None:
            taken = first.id == event.data.get("step")
            what = "was undone in" if taken else "does not hold since"
            found[name] = f"{first.title} {what} event {event.number}"
    return found


def _stands(state: BikeState, step: Step) -> bool:
    """Whether a step is done and holds, or its item was let pass."""
    given = state.overridden(step.safety) if step.safety else None
    return state.step(step.id).status == "done" or given is not None


def _passed(state: BikeState, event: Event) -> None:
    gate = event.data["gate"]
    rests_on = frozenset(event.data.get("steps", ()))
    state.gates[gate] = Passed(gate, event.number, event.by, event.server_time, rests_on)
    state.fallen.pop(gate, None)


def _overridden(state: BikeState, event: Event) -> None:
    data = event.data
    state.overrides[data["item"]] = Overridden(
        data["gate"],
        data["item"],
        data["reason"],
        event.number,
        event.by,
        data["second"],
        event.server_time,
    )


def _released(state: BikeState, event: Event) -> None:
    state.released = Released(
        event.number,
        event.by,
        event.data.get("second"),
        event.server_time,
        bool(event.data.get("rider_fitted", False)),
    )
    if not state.in_use or state.visit_kind == "build":
        state.in_use = event.server_time


def _signed(state: BikeState, event: Event) -> None:
    if state.released is not None and event.data["number"] == state.released.number:
        state.released = replace(state.released, signature=event.data)


def _erased(state: BikeState, event: Event) -> None:
    state.erased |= frozenset(event.data["addresses"])
    state.rider = None if state.rider in state.erased else state.rider


def _fitted(state: BikeState, event: Event) -> None:
    """A part takes the place of the one that sat there, however that was spelled."""
    data = event.data
    before = [part.fitted for part in _off(state, event).values()]
    since = max(before, default=0) if data.get("marks_only") else event.number
    marks = (data["maker"], data["model"], data["serial"], data["batch"])
    state.parts[data["part"]] = Fitted(data["part"], *marks, event.number, since)
    _lapse(state, event)


def _removed(state: BikeState, event: Event) -> None:
    _off(state, event)
    state.removed[event.data["part"]] = event.number
    _lapse(state, event)


def _off(state: BikeState, event: Event) -> dict[str, Fitted]:
    """What sat in the place is on record no more, by whatever name it was there; gives it."""
    gone = (event.data["part"], *event.data.get("instead", ()))
    found = [name for name in state.parts if any(same(name, other) for other in gone)]
    return {name: state.parts.pop(name) for name in found}


def _cleared(state: BikeState, event: Event) -> None:
    state.cleared[event.data["recall"]] = Cleared(
        event.data["reason"], event.number, event.by, event.server_time
    )


def _pack(state: BikeState, event: Event) -> None:
    """A visit that keeps the plan: what is loosened opens again, line by line."""
    state.visit, state.visit_kind = state.visit + 1, "pack"
    state.visit_number, state.released = event.number, None
    state.pack = Pack(event.number, frozenset(state.done()))


def _packed(state: BikeState, event: Event) -> None:
    if state.pack is not None:
        _loosen(state, event, event.data)


def _loosen(state: BikeState, event: Event, data: Mapping[str, Any]) -> None:
    """One line of the packing list: what it loosens is open again, and what rests on it."""
    assert state.pack is not None
    state.pack = replace(state.pack, lines={**state.pack.lines, data["step"]: event.number})
    steps, done = state.planned_steps(), state.done()
    gone = set(reopening.by_joints(steps, done, data["joints"]))
    if data["again"]:
        gone |= ({data["step"]} | reopening.dependants(steps, {data["step"]})) & done
    why = f"loosened for the journey in event {event.number}"
    _reopen(state, event, {name: why for name in steps if name in gone})
    for joint in data["joints"]:
        state.joints[joint] = event.number


def _rebuild(state: BikeState, event: Event) -> None:
    if state.pack is None:
        return
    for line in event.data.get("lines", ()):
        _loosen(state, event, line)
    state.pack = replace(state.pack, rebuilding=True)


def _used(state: BikeState, event: Event) -> None:
    data = event.data
    state.use.append(Use(data["date"], data["rides"], data["hours"], event.number))


def _cared_for(state: BikeState, event: Event) -> None:
    data = event.data
    state.cared.append(Cared(data["item"], data["date"], event.number, data["note"]))
    if data["item"] == care.RECHECK:
        state.booked = None


def _booked(state: BikeState, event: Event) -> None:
    state.booked = Booked(event.data["date"], event.data["note"], event.number)


def _findings(state: BikeState, event: Event) -> None:
    state.findings = findings.APPLIED[event.kind](state.findings, event)
    _lapse(state, event)


def _carton(state: BikeState, event: Event) -> None:
    """The number stamped on the frame wins over the one on paper."""
    state.carton = carton.APPLIED[event.kind](state.carton, event)
    state.serial = state.carton.serial or state.serial
    _lapse(state, event)


def _reopen(state: BikeState, event: Event, why: Mapping[str, str]) -> None:
    for name, said in why.items():
        state.steps[name] = replace(
            state.steps[name], status="reopened", number=event.number, said=said
        )
    if why:
        earlier = state.reopened.get(event.number, ())
        state.reopened[event.number] = (*earlier, *why)
        _fall(state, event, set(why), why)


def _fall(
    state: BikeState,
    event: Event,
    steps: set[str],
    why: Mapping[str, str] | None = None,
    only: Iterable[str] | None = None,
    verb: str = "does not hold",
) -> None:
    """A gate falls with any step it rests on, and has to be passed again."""
    asked = state.gates if only is None else set(only)
    fallen = [name for name, gate in state.gates.items() if name in asked and gate.steps & steps]
    for gate in fallen:
        planned = state.planned_steps()
        first = next((name for name in why or steps if name in planned), min(steps))
        title = planned[first].title if first in planned else first
        reason = (why or {}).get(first)
        said = f"was reopened: {reason}" if reason else f"{verb} (event {event.number})"
        state.fallen[gate] = f"{title} {said}"
        del state.gates[gate]


_APPLIED: dict[str, Callable[[BikeState, Event], None]] = {
    **dict.fromkeys(("shop-made", "person-added", "role-given", "pin-set"), _nothing),
    **dict.fromkeys(("recall-opened", "recall-lifted"), _nothing),
    **dict.fromkeys(("tool-kept", "tool-retired"), _nothing),
    "visit-opened": _visit,
    "planned": _planned,
    "step-done": _done,
    "step-put-off": _put_off,
    "step-problem": _problem,
    "joint-touched": _touched,
    "sheet-changed": _changed,
    "reading-taken": _reading,
    "setting-made": _setting,
    "event-undone": _undone,
    "gate-passed": _passed,
    "released": _released,
    "head-signed": _signed,
    "erased": _erased,
    "part-fitted": _fitted,
    "part-removed": _removed,
    "recall-cleared": _cleared,
    "pack-opened": _pack,
    "packed": _packed,
    "rebuild-opened": _rebuild,
    "rider-changed": _rider,
    "use-noted": _used,
    "care-done": _cared_for,
    "care-booked": _booked,
    "item-overridden": _overridden,
    **dict.fromkeys(findings.APPLIED, _findings),
    **dict.fromkeys(carton.APPLIED, _carton),
}
