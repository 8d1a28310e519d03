"""Build: record steps one by one or a card at a time, and open joints again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cyclewright.errors import InputError, NotConverged, Problem, Refusal, input_error, refusal
from cyclewright.workshop.acts import answered
from cyclewright.workshop.answers import ReadingAnswer, RecordAnswer
from cyclewright.workshop.changing import change_sheet as change_sheet
from cyclewright.workshop.changing import falls_with
from cyclewright.workshop.changing import look_at_plan as look_at_plan
from cyclewright.workshop.changing import plan_again as plan_again
from cyclewright.workshop.evidence import Given, Number, evidence, sag_of, same
from cyclewright.workshop.evidence import photo as kept_photo
from cyclewright.workshop.people import who
from cyclewright.workshop.receive import follow
from cyclewright.workshop.shop import Entry, Shop, checked_text, own_uuid, uuid_used
from cyclewright.workshop.undo import undo as undo

if TYPE_CHECKING:
    from cyclewright.record.events import Draft, Event
    from cyclewright.record.plan import Plan
    from cyclewright.record.state import BikeState
    from cyclewright.record.steps import Step

By = str | int | None


def short(compound: str) -> str:
    """A compound in the few words that a card has room for."""
    from cyclewright.record.plan import short as shortened

    return shortened(compound)


def plan_for(shop: Shop, bike: int) -> Plan:
    """The plan in force for a bike, exactly as it was made."""
    from cyclewright.record.plain import from_plain
    from cyclewright.record.plan import Plan, PlannedStep, Undecided
    from cyclewright.setting import Question

    planned = shop.state(bike).plan
    if planned is None:
        return Plan((), ())

    def made() -> Plan:
        rows = (from_plain(PlannedStep, step.data) for step in planned.steps.values())
        steps = tuple(
            replace(
                step,
                needs=tuple(need for need in step.needs if need in planned.steps),
                after=tuple(need for need in step.after if need in planned.steps),
            )
            for step in rows
        )
        asked = tuple(from_plain(Question, item) for item in planned.questions)
        return Plan(steps, asked, tuple(from_plain(Undecided, row) for row in planned.undecided))

    return shop.once(("plan", bike, planned.number, len(planned.steps)), made)


def record_step(
    shop: Shop,
    bike: int,
    step: str,
    *,
    value: Number | None = None,
    torque: Number | None = None,
    photo: Path | str | bytes | None = None,
    word: str | None = None,
    as_set: bool = False,
    problem: str | None = None,
    put_off: str | None = None,
    by: By = None,
    uuid: str | None = None,
    seen: int | None = None,
    device_time: str | None = None,
    at: str | None = None,
) -> RecordAnswer:
    """Record one step as done with its evidence, as a problem, or as put off with a reason.

    `as_set` says that the torque tool stood at the step's setting; `word` is whose word it is:
    the maker's for a joint whose figures leave no common setting or that has none, and whose it
    is that a value far from what is advised is meant. `at` is the pressure in the spring as a
    ring was read, recorded with it.
    """
    from cyclewright.record.events import Draft

    own = own_uuid(uuid)
    if problem is not None and put_off is not None:
        raise input_error("both", "problem", "say either what is wrong or why it waits, not both")
    if problem is None and put_off is None:
        given = Given(value, torque, photo, word, as_set)
        _put_at(shop, bike, step, value, at, by, own)
        return _record_done(shop, bike, {step: given}, [own], by, seen, device_time)
    said = checked_text(problem if problem is not None else put_off or "", "problem", 1000)
    author = who(shop, by)
    kind, key = ("step-problem", "problem") if problem is not None else ("step-put-off", "reason")

    def decide(state: BikeState) -> list[Draft]:
        _step(state, step)
        held = state.step(step)
        if put_off is not None and held.status == "problem":
            do = f"a problem is on record, {held.said}: settle it, it is not put off"
            raise refusal("problem", step, do)
        data: dict[str, Any] = {"step": step, key: said}
        if photo is not None:
            data["photo"] = kept_photo(shop, photo, f"{step}.photo")
        return [Draft(kind, f"step:{step}", data, author, own, seen, device_time)]

    entry = Entry([own], kind, f"step:{step}", lambda data: data.get(key) == said)
    events, state = shop.act(bike, decide, entry)
    verb = "problem recorded" if problem is not None else "put off"
    gone = {name for event in events for name in state.reopened.get(event.number, ())}
    held = [name for name in state.blocked() if name not in gone] if problem is not None else []
    tail = f"; it holds up {_listed(held)}" if held else ""
    return answered(state, events, f"{step}: {verb}, {said}{tail}")


def record_steps(
    shop: Shop,
    bike: int,
    steps: Sequence[str],
    *,
    torques: Mapping[str, Number] | None = None,
    values: Mapping[str, Number] | None = None,
    photos: Mapping[str, Path | str | bytes] | None = None,
    words: Mapping[str, str] | None = None,
    as_set: bool = True,
    by: By = None,
    uuid: str | None = None,
    seen: int | None = None,
    device_time: str | None = None,
) -> RecordAnswer:
    """Tick several lines of a station card at once: all are recorded or none.

    With `as_set` a line's torque is the setting printed beside it, unless another is given.
    """
    if not steps:
        raise input_error("empty", "steps", "tick at least one line")
    torques, values, photos, words = torques or {}, values or {}, photos or {}, words or {}
    given = {
        step: Given(values.get(step), torques.get(step), photos.get(step), words.get(step), as_set)
        for step in dict.fromkeys(steps)
    }
    base = own_uuid(uuid)
    own = [base, *(follow(base, step) for step in list(given)[1:])]
    return _record_done(shop, bike, given, own, by, seen, device_time)


def touch(
    shop: Shop,
    bike: int,
    names: Sequence[str],
    why: str,
    by: By = None,
    uuid: str | None = None,
    seen: int | None = None,
    device_time: str | None = None,
) -> RecordAnswer:
    """Say that joints were opened or moved: their evidence and what rests on it is open again.

    `names` are joints, or steps for all the joints that they touch.
    """
    own, author, reason = own_uuid(uuid), who(shop, by), checked_text(why, "why", 300)

    def decide(state: BikeState) -> list[Draft]:
        draft = _touching(state, names, reason, author, own)
        return [replace(draft, seen=seen, device_time=device_time)]

    entry = Entry([own], "joint-touched", same=lambda data: data.get("why") == reason)
    events, state = shop.act(bike, decide, entry)
    return answered(state, events, reason)


def look_at_touch(
    shop: Shop, bike: int, names: Sequence[str]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Steps that touching these joints would open again, and what would fall with them."""
    draft = _touching(shop.state(bike), names, "looked at", None, own_uuid(None))
    return falls_with(shop, bike, draft)


def _touching(
    state: BikeState, names: Sequence[str], why: str, author: int | None, own: str
) -> Draft:
    """Joints opened or moved, named by themselves or by steps that touch them."""
    from cyclewright.record.events import Draft

    steps = state.planned_steps()
    known = {joint for step in steps.values() for joint in step.joints}
    meant = [steps[name].joints if name in steps else (name,) for name in names]
    joints = sorted({joint for each in meant for joint in each})
    if not joints or not known.issuperset(joints):
        raise input_error(
            "no-such-joint",
            "joint",
            "name joints of this bike, or steps that touch one",
            value=", ".join(names),
            allowed=", ".join(sorted(known)),
        )
    subject = f"joint:{'+'.join(joints)}"[:200]
    return Draft("joint-touched", subject, {"joints": joints, "why": why}, author, own)


def _record_done(
    shop: Shop,
    bike: int,
    given: Mapping[str, Given],
    own: Sequence[str],
    by: By,
    seen: int | None,
    device_time: str | None,
) -> RecordAnswer:
    from cyclewright.record.events import Draft

    author = who(shop, by)
    photos: dict[str, dict[str, str]] = {}

    def decide(state: BikeState) -> list[Draft]:
        order = sorted(given, key=lambda name: _step(state, name).place)
        _check_needs(shop, state, order)
        found = _all_evidence(shop, state, given, order)
        for name in order:
            picture = given[name].photo
            if picture is not None:
                if name not in photos:
                    photos[name] = kept_photo(shop, picture, f"{name}.photo")
                found[name]["photo"] = photos[name]
        uuid_of = dict(zip(given, own, strict=True))
        return [
            Draft(
                "step-done",
                f"step:{name}",
                {"step": name, "evidence": found[name], **_settling(state, name, found[name])},
                author,
                uuid_of[name],
                seen,
                device_time,
            )
            for name in order
        ]

    first = next(iter(given))
    entry = Entry(
        own, "step-done", f"step:{first}", lambda data: same(data["evidence"], given[first])
    )
    events, state = shop.act(bike, decide, entry)
    if len(events) < len(own):
        raise uuid_used(own[0])
    done = len(state.done())
    named = _listed([event.data["step"] for event in events])
    said = f"{named}: done, {done} of {len(state.planned_steps())}"
    return replace(answered(state, events, said), reading=_reading(shop, state, events))


def _put_at(
    shop: Shop, bike: int, step: str, value: Number | None, at: str | None, by: By, own: str
) -> None:
    """The pressure that a sag step's ring was read at: asked or recorded as a reading's is."""
    from cyclewright.workshop.known import known_of
    from cyclewright.workshop.readings import put_at, sit_downs

    planned = shop.state(bike).planned_steps().get(step)
    kind = "" if planned is None else sag_of(planned)
    if not kind or not isinstance(value, str):
        return
    each = sit_downs(value, "length", f"{step}.value")
    try:
        _ = known_of(shop, bike).advice
    except (InputError, NotConverged):
        return
    put_at(shop, bike, kind, each, at, by, own)


def _settling(state: BikeState, name: str, evidence: Mapping[str, Any]) -> dict[str, Any]:
    """What settling a problem takes away: joints of the parts that it or its settlement names."""
    from cyclewright.knowledge.parts import told
    from cyclewright.workshop import holding

    held = state.step(name)
    if held.status != "problem":
        return {}
    parts = told(f"{held.said}. {evidence.get('word', '')}")
    return {"lapse": holding.lapse(state, parts, f"the problem of {name} was settled")}


def _reading(shop: Shop, state: BikeState, events: Sequence[Event]) -> ReadingAnswer | None:
    """What a step that is a reading says, as the reading itself would."""
    from cyclewright.workshop.readings import of_step

    if len(events) != 1:
        return None
    step = state.planned_steps().get(events[0].data["step"])
    try:
        return None if step is None else of_step(shop, state.bike, step, (events[0].number,))
    except (InputError, NotConverged):
        return None


def _all_evidence(
    shop: Shop, state: BikeState, given: Mapping[str, Given], order: Sequence[str]
) -> dict[str, dict[str, Any]]:
    """Evidence of every line; what is wrong with any of them is told together."""
    from cyclewright.workshop.worth import Worth

    found: dict[str, dict[str, Any]] = {}
    problems: list[Problem] = []
    worth = Worth(shop, state)
    kind: type[InputError] = InputError
    for name in order:
        try:
            found[name] = evidence(_step(state, name), given[name], worth, state.step(name))
        except InputError as error:
            problems.extend(error.problems)
            kind = type(error)
    if problems:
        raise kind(problems)
    return found


def _check_needs(shop: Shop, state: BikeState, order: Sequence[str]) -> None:
    """What must come first is done, or on the same card; nobody rides before the ride gate."""
    problems: list[Problem] = []
    for name in order:
        unmet = [need for need in state.unmet(name) if need not in order]
        for need in unmet:
            held = state.step(need)
            why = f" ({held.status}: {held.said})" if held.said else ""
            problems.append(Problem("needs-first", name, f"do {need} first{why}", allowed=None))
    if any(_step(state, name).stage.casefold() == "prove" for name in order):
        problems += _ride_gate(shop, state, order)
    if state.released is None:
        problems += [
            Problem("not-released", name, "release the bike first: this step comes afterwards")
            for name in order
            if _step(state, name).stage.casefold() == "care"
        ]
    if problems:
        raise Refusal(problems)


def _ride_gate(shop: Shop, state: BikeState, order: Sequence[str]) -> list[Problem]:
    from cyclewright.workshop.standing import standing

    stands = standing(shop, state)
    if stands.may_ride:
        return []
    lacking = stands.missing["ride"]
    first = next(name for name in order if _step(state, name).stage.casefold() == "prove")
    if not lacking:
        why = state.fallen.get("ride", "it has not been passed")
        return [Problem("ride-gate", first, f"pass the ride gate first: {why}")]
    wants = ", ".join(dict.fromkeys(item.item for item in lacking))
    return [Problem("ride-gate", first, f"pass the ride gate first, it still wants: {wants}")]


def _step(state: BikeState, name: str) -> Step:
    steps = state.planned_steps()
    if name in steps:
        return steps[name]
    import difflib

    near = difflib.get_close_matches(name, list(steps), n=1)
    do = f"did you mean {near[0]}?" if near else "`cyclewright plan` lists the steps"
    raise input_error("no-such-step", "step", do, value=name)


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names)
