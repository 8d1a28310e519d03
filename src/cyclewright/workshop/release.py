"""Gates and release: what is missing by name, what was passed, and the signed end of a visit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cyclewright import units
from cyclewright.errors import Problem, Refusal, input_error, refusal
from cyclewright.workshop import holding, inspection, recall
from cyclewright.workshop.answers import (
    CheckAnswer,
    GateAnswer,
    Missing,
    OverrideRow,
    RecordAnswer,
)
from cyclewright.workshop.people import names, who, witness
from cyclewright.workshop.people import second as second_person
from cyclewright.workshop.receive import follow
from cyclewright.workshop.shop import Entry, Shop, checked_text, own_uuid

if TYPE_CHECKING:
    from cyclewright.record.events import Draft
    from cyclewright.record.state import BikeState
    from cyclewright.setting import Finding
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.store.store import Head, Maker

By = str | int | None
MASS = "mass-and-use"
_BUILT = ("brake-hands",)
"""Findings that a step of the plan puts right, so that the step is the proof."""
_ITEM_OF = {
    "mass-limit": MASS,
    "use-class": MASS,
    "post": "post",
    "dropper": "post",
    "tyre": "tyre-pressures",
    "rotor": "brake-bolts",
    "brake": "brake-hold",
    "steerer": "bar-and-stem",
    "axle": "axles",
    "spokes": "axles",
    "bar": "bar-and-stem",
    "clamp": "bar-and-stem",
    "grip": "bar-and-stem",
    "rail": "saddle",
    "hose": "brake-hold",
    "chain": "drive",
    "derailleur": "drive",
    "speeds": "drive",
    "drive-out-of-scope": MASS,
    "drive-unknown": MASS,
}


PACKED = Missing(
    "packed", "it is packed, or being packed, for a journey: begin its rebuild first", None, True
)
"""What holds a bike from the moment its packing begins."""


def gate(
    shop: Shop,
    bike: int,
    name: str,
    by: By = None,
    pass_it: bool = True,
    uuid: str | None = None,
    pin: str | None = None,
) -> GateAnswer:
    """Ask a gate, and pass it when nothing is missing; a gate that stands is not passed twice.

    In a shop with PINs passing asks for the PIN again.
    """
    from cyclewright.record import gates
    from cyclewright.record.events import Draft

    if name not in gates.GATES:
        raise input_error("no-such-gate", "gate", "ask for ride or release", value=str(name))
    own = own_uuid(uuid)
    lacking = missing(shop, shop.state(bike), name)
    if lacking or not pass_it:
        passed = not lacking and name in shop.state(bike).gates
        return GateAnswer(name, passed, lacking, overridden(shop, shop.state(bike), name))
    author = who(shop, by, pin, fresh=True)

    def decide(state: BikeState) -> list[Draft]:
        nonlocal lacking
        lacking = missing(shop, state, name)
        if lacking or name in state.gates:
            return []
        data = {"gate": name, "steps": list(gates.rests_on(state, name))}
        return [Draft("gate-passed", f"gate:{name}", data, author, own)]

    _, state = shop.act(bike, decide, Entry([own], "gate-passed", f"gate:{name}"))
    return GateAnswer(name, not lacking, lacking, overridden(shop, state, name))


def override(
    shop: Shop,
    bike: int,
    name: str,
    item: str,
    reason: str,
    by: By,
    second: By,
    *,
    pin: str | None = None,
    second_pin: str | None = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """Let one item of a gate pass with a reason and a second person, a checker or an owner.

    Never brakes, axles, insertion, steering or the mass limit, never a recorded problem, and
    never with one person in the shop. It lapses when a step of the item moves on.
    """
    from cyclewright.record import gates
    from cyclewright.record.events import Draft

    if by is None or by == "":
        raise input_error("by-missing", "by", "say who overrides it: --by NAME")
    chosen = gates.item_of(item, name)
    if chosen is None:
        listed = ", ".join(i.id for i in gates.ITEMS if i.gate == name and not i.never_override)
        raise input_error(
            "no-such-item", "item", "name an item of this gate", value=item, allowed=listed
        )
    if chosen.never_override:
        raise refusal("never-override", item, f"{chosen.text}: nobody may override this, do it")
    why = checked_text(reason, "reason", 500)
    author = who(shop, by, pin, fresh=True)
    other = second_person(shop, second, author, second_pin)
    own = own_uuid(uuid)

    def decide(state: BikeState) -> list[Draft]:
        lacking = [row for row in wanted(shop, state)[name] if row.item == item]
        if not lacking:
            raise refusal("nothing-to-override", item, "the gate does not want it")
        for row in lacking:
            if row.never_override:
                raise refusal("unknown", item, f"{row.why}: find it, nobody may override it")
            if row.step is not None and state.step(row.step).status == "problem":
                raise refusal("problem", item, f"{row.why}: a problem is settled, not overridden")
        data = {"gate": name, "item": item, "reason": why, "second": other}
        return [Draft("item-overridden", f"override:{item}", data, author, own)]

    entry = Entry(
        [own], "item-overridden", f"override:{item}", lambda data: data.get("reason") == why
    )
    events, _ = shop.act(bike, decide, entry)
    numbers = tuple(event.number for event in events)
    return RecordAnswer(bike, numbers, f"{chosen.text}: overridden, {why}; it stands on the sheet")


def overridden(shop: Shop, state: BikeState, gate: str | None = None) -> tuple[OverrideRow, ...]:
    """What was overridden in this visit and still stands, at one gate or both."""
    if not state.overrides:
        return ()
    from cyclewright.record.gates import item_of

    known = names(shop)
    return tuple(
        OverrideRow(
            row.gate,
            row.item,
            getattr(item_of(row.item, row.gate), "text", row.item),
            row.reason,
            known.get(row.by or 0, ""),
            known.get(row.second, ""),
            row.at,
            row.number,
        )
        for row in state.overrides.values()
        if state.overridden(row.item) is not None and gate in (None, row.gate)
    )


def missing(shop: Shop, state: BikeState, name: str) -> tuple[Missing, ...]:
    """What a gate wants now: evidence of steps, and sheets, parts and findings that allow it."""
    return wanted(shop, state)[name]


def wanted(shop: Shop, state: BikeState, *, recalls: bool = True) -> dict[str, tuple[Missing, ...]]:
    """What each gate wants now; release wants all that the ride gate does."""
    recalled = recall.lacking(shop, state) if recalls else ()
    ride = (*recalled, *_held(shop, state, "ride"), *_papers(shop, state))
    release = _held(shop, state, "release")
    if not any(item.item == "ride-gate" for item in release) and ride:
        why = f"something it asks for is missing since it was passed: {ride[0].why}"
        release = (Missing("ride-gate", why, None, True), *release)
    return {"ride": ride, "release": (*recalled, *release)}


def _held(shop: Shop, state: BikeState, gate: str) -> tuple[Missing, ...]:
    """What findings, parts and steps hold up at one gate."""
    from cyclewright.record import gates

    steps = (
        Missing(row.item, row.why, row.step, row.never_override)
        for row in gates.lacking(state, gate)
    )
    found = (*inspection.lacking(state, gate), *holding.lacking(shop, state, gate), *steps)
    return (PACKED, *found) if state.packing else found


def papers(shop: Shop, bike: int, sheets: Sheets | None = None) -> CheckAnswer:
    """The sheets cross-checked, less what recorded steps have already put right."""
    from cyclewright.workshop.check import check
    from cyclewright.workshop.tools import findings as tool_findings
    from cyclewright.workshop.tools import for_sums

    state = shop.state(bike)
    said = check(shop.sheets(state) if sheets is None else sheets, for_sums(shop))
    left = tuple(finding for finding in said.findings if not _settled(finding, state))
    return CheckAnswer((*left, *tool_findings(shop)), said.questions)


def release(
    shop: Shop,
    bike: int,
    by: By,
    second: By = None,
    uuid: str | None = None,
    *,
    pin: str | None = None,
    second_pin: str | None = None,
) -> RecordAnswer:
    """Release a bike whose gates are passed, and sign the head of its record.

    The signature is made with a key outside the database and is to be printed: whoever changes
    the record later cannot make the printed one again.
    """
    from cyclewright.record import gates
    from cyclewright.record.events import Draft

    if by is None or by == "":
        raise input_error("by-missing", "by", "say who releases the bike: --by NAME")
    own = own_uuid(uuid)
    author = who(shop, by, pin, fresh=True)
    other = witness(shop, second, second_pin)
    if other is not None and other == author:
        raise input_error("same-person", "second", "the second person is somebody else")

    def decide(state: BikeState) -> list[Draft | Maker]:
        _check(shop, state)
        data = {"second": other, "rider_fitted": state.rider is not None}
        drafts: list[Draft | Maker] = []
        if "release" not in state.gates:
            rests = {"gate": "release", "steps": list(gates.rests_on(state, "release"))}
            passed = follow(own, "gate")
            drafts.append(Draft("gate-passed", "gate:release", rests, author, passed))
        drafts.append(Draft("released", "release", data, author, own))
        drafts.append(_signer(shop, bike, author, follow(own, "signed")))
        return drafts

    entry = Entry([own, follow(own, "signed")], "released", "release")
    events, state = shop.act(bike, decide, entry)
    signed = next(event for event in events if event.kind == "head-signed")
    rider = "" if state.rider is not None else ", rider not fitted"
    said = (
        f"released{rider}; head {signed.data['hash'][:16]}, "
        f"signature {signed.data['signature'][:16]}"
    )
    return RecordAnswer(bike, tuple(event.number for event in events), said)


def _check(shop: Shop, state: BikeState) -> None:
    """Refuse with everything that is missing, by name."""
    lacking = missing(shop, state, "release")
    if lacking:
        raise Refusal(
            Problem(
                "gate-missing",
                item.item,
                item.why if item.step is None else f"{item.why} (step {item.step})",
            )
            for item in lacking
        )
    from cyclewright.workshop.standing import standing

    released = standing(shop, state).released
    if released is not None and released.number >= state.number - 1:
        raise refusal("already-released", f"bike {state.bike}", "it is released as it stands")


def _signer(shop: Shop, bike: int, author: int | None, uuid: str) -> Maker:
    """The event that signs the head just placed."""
    from cyclewright.record.events import Draft, signed_message
    from cyclewright.store import signing

    name = shop.store.name()

    def make(head: Head) -> Draft:
        message = signed_message(name, bike, head.number, head.hash)
        key, signature = signing.sign(shop.store.folder / "keys", message)
        data = {
            "number": head.number,
            "hash": head.hash.hex(),
            "key": key,
            "signature": signature,
        }
        return Draft("head-signed", "release", data, author, uuid)

    return make


def _papers(shop: Shop, state: BikeState) -> list[Missing]:
    """Clashes of the sheets that no step can put right, and facts that nobody may guess."""
    from cyclewright.knowledge import facts
    from cyclewright.workshop.check import check
    from cyclewright.workshop.tools import for_sums

    sheets = shop.sheets(state)
    if sheets.rider is None and sheets.mass is None:
        why = "nobody's mass is stated since the rider's facts were erased: rider.mass=80 kg"
        return [Missing(MASS, why, None, True), *_beyond(sheets, state)]
    tools = tuple(for_sums(shop))
    key = ("check", *shop.sheet_key(state), tools)
    said = shop.once(key, lambda: check(sheets, tools))
    found = [
        Missing(_item_of(finding), f"{'; '.join(finding.facts)}: {finding.do}", None, True)
        for finding in said.findings
        if finding.severity == "stop" and not _put_right(finding, state)
    ]
    found += [
        Missing(item, f"{ask.field} is not known: {ask.ask}", None, True)
        for ask in said.questions
        if (item := facts.waits(ask.field))
        and not (ask.field.startswith("rider.") and sheets.rider is None)
    ]
    return found + _beyond(sheets, state)


def _beyond(sheets: Sheets, state: BikeState) -> list[Missing]:
    """Settings as made that are beyond a limit of the sheets in force now."""
    from cyclewright.workshop import bounds
    from cyclewright.workshop.evidence import display_of

    found = []
    for name, limits in bounds.bounds(sheets).items():
        made = state.settings.get(name)
        limit = None if made is None else bounds.outside(name, made.value, limits)
        if made is not None and limit is not None:
            shown = display_of(made.unit, name)
            why = (
                f"{name.replace('_', ' ')} is set to {units.show(made.value, *shown)}, "
                f"{bounds.told(limit, *shown)}: set it again and read it"
            )
            found.append(Missing(_ITEM_OF_SETTING.get(name, name), why, None, True))
    return found


_ITEM_OF_SETTING = {
    "front_tyre_pressure": "tyre-pressures",
    "rear_tyre_pressure": "tyre-pressures",
    "post_insertion": "post",
}


def _put_right(finding: Finding, state: BikeState) -> bool:
    """Whether a step of the plan deals with the finding and its evidence is the proof."""
    if finding.code in _BUILT:
        return any(step.safety == finding.code for step in state.planned_steps().values())
    if not finding.code.startswith("torque-"):
        return False
    names = {field.split(".")[2] for field in finding.fields if field.count(".") >= 2}
    steps = [step for step in state.planned_steps().values() if step.joints & names]
    told = any("word" in state.step(step.id).evidence for step in steps)
    if finding.code == "torque-tool-range":
        # What was planned before the shop kept this tool was not left to it.
        return told or not any((step.torque or {}).get("unreached") for step in steps)
    return told or any(step.safety and (step.torque or {}).get("needs_word") for step in steps)


def _settled(finding: Finding, state: BikeState) -> bool:
    """Whether every step that proves this put right is done."""
    if finding.code.startswith("torque-"):
        names = {field.split(".")[2] for field in finding.fields if field.count(".") >= 2}
        steps = [step for step in state.planned_steps().values() if step.joints & names]
        return any("word" in state.step(step.id).evidence for step in steps)
    proofs = [step.id for step in state.planned_steps().values() if step.safety == finding.code]
    return bool(proofs) and all(state.step(name).status == "done" for name in proofs)


def _item_of(finding: Finding) -> str:
    if finding.code in _ITEM_OF:
        return _ITEM_OF[finding.code]
    return _ITEM_OF.get(finding.code.split("-")[0], finding.code)
