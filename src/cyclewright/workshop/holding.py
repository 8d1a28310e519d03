"""What parts hold up: damaged, missing, taken off or worn out, and steps with a problem."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cyclewright.workshop.answers import Missing
from cyclewright.workshop.shop import Shop

if TYPE_CHECKING:
    from cyclewright.knowledge.parts import Part
    from cyclewright.record.state import BikeState

PROBLEM, BLEED, HOSES = "problem", "brakes-bled", "hose_nuts"


@dataclass(frozen=True, slots=True)
class Held:
    """Something that is not right with a part, since which event, and where it is settled."""

    why: str
    number: int
    ride: tuple[str, ...]
    release: tuple[str, ...]
    """Items held at both gates, and at the release gate besides."""
    page: str


def lacking(shop: Shop, state: BikeState, gate: str) -> tuple[Missing, ...]:
    """What parts and recorded problems hold up at a gate; what stops the ride stops the release."""
    rows = [row for one in held(shop, state) for row in _rows(state, one, gate)]
    return (*rows, *_bleeding(shop, state), *_problems(state, gate))


def held(shop: Shop, state: BikeState) -> tuple[Held, ...]:
    """Everything about the parts of a bike that is not right now."""
    return (*_damaged(state), *_awaited(state), *_removed(state), *_worn(shop, state))


def on_page(shop: Shop, state: BikeState, page: str) -> tuple[str, ...]:
    """What holds the bike up and is settled on this page of it."""
    return tuple(one.why for one in held(shop, state) if one.page == page)


def gone(state: BikeState, name: str) -> bool:
    """Whether a part of that name was taken off, is awaited or is damaged, and none came since."""
    from cyclewright.knowledge.parts import named

    wanted = named(name)
    waiting = [*state.removed.items(), *((p.name, p.number) for p in state.carton.followed())]
    return any(
        new.takes_place_of(old)
        for other, number in waiting
        if not _fitted_since(state, other, number)
        for old in named(other)
        for new in wanted
    )


def worn_out(shop: Shop, state: BikeState, name: str) -> bool:
    """Whether a part of that name was read beyond its limit."""
    from cyclewright.knowledge.parts import named
    from cyclewright.workshop.due import worn

    listed = [old for found in worn(shop, state) for old in named(found.part)]
    return any(new.takes_place_of(old) for old in listed for new in named(name))


def lapse(state: BikeState, parts: Iterable[Part], why: str) -> dict[str, Any]:
    """What an event about these parts takes away: joints of this bike, and steps beside them."""
    from cyclewright.knowledge.parts import ALL

    listed = tuple(parts)
    has = {joint for step in state.planned_steps().values() for joint in step.joints}
    joints = dict.fromkeys(joint for part in listed for joint in part.joints)
    if ALL in joints:
        joints = dict.fromkeys(sorted(has))
    steps = dict.fromkeys(step for part in listed for step in part.steps)
    return {"joints": [j for j in joints if j in has], "steps": list(steps), "why": why}


def named_parts(names: Iterable[str]) -> tuple[Part, ...]:
    """The parts that lines of a list name."""
    from cyclewright.knowledge.parts import named

    return tuple(part for name in names for part in named(name))


def _rows(state: BikeState, one: Held, gate: str) -> Iterable[Missing]:
    """A row for each item that is held and that nobody let pass since."""
    from cyclewright.record.gates import item_of

    at = dict.fromkeys(one.ride, "ride") | dict.fromkeys(one.release, "release")
    for item, own in at.items():
        known = item_of(item, own)
        never = known is None or known.never_override
        given = None if never else state.overridden(item)
        if (own == "ride" or gate == "release") and not (given and given.number > one.number):
            yield Missing(item, one.why, None, never, one.page)


def _damaged(state: BikeState) -> Iterable[Held]:
    """Damage inside the carton, until it is settled; it asks to look over the frame again."""
    from cyclewright.knowledge.parts import told
    from cyclewright.record.gates import LOOKED_OVER

    for seen in state.carton.damages:
        if seen.open:
            found = told(seen.text)
            ride = (LOOKED_OVER, *_items(found, "ride"))
            do = "have it looked at, then settle it (receive ID settle, or the page of the carton)"
            why = f"damage {seen.number}, {seen.text}: {do}"
            late = _late(found, ride)
            yield Held(why, seen.number, tuple(dict.fromkeys(ride)), late, "carton")


def _awaited(state: BikeState) -> Iterable[Held]:
    for part in state.carton.followed():
        if not _fitted_since(state, part.name, part.number):
            do = "when it has come, record that and do its steps again"
            yield _of(part.name, f"{part.name} is {part.status}: {do}", part.number, "carton")


def _removed(state: BikeState) -> Iterable[Held]:
    for name, number in state.removed.items():
        if not _fitted_since(state, name, number):
            why = f"{name} was taken off in event {number}: record which one was fitted"
            yield _of(name, why, number, "care")


def _worn(shop: Shop, state: BikeState) -> Iterable[Held]:
    """Worn out stops the ride where it is dangerous, else the release."""
    from cyclewright.knowledge.parts import UNKNOWN
    from cyclewright.workshop.due import worn

    for found in worn(shop, state):
        why = f"{found.said}; record the new one as fitted, or undo a reading that was wrong"
        if found.stop:
            yield _of(found.part, why, found.number, "care")
        else:
            yield Held(why, found.number, (), (UNKNOWN,), "care")


def _of(name: str, why: str, number: int, page: str) -> Held:
    found = named_parts([name])
    ride = _items(found, "ride")
    return Held(why, number, ride, _late(found, ride), page)


def _items(parts: Sequence[Part], gate: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(item for part in parts for item in part.items(gate)))


def _late(parts: Sequence[Part], ride: Sequence[str]) -> tuple[str, ...]:
    return tuple(item for item in _items(parts, "release") if item not in ride)


def _fitted_since(state: BikeState, name: str, number: int) -> bool:
    """Whether everything that this name means was fitted after an event."""
    from cyclewright.knowledge.parts import named

    later = [p for one in state.parts.values() if one.fitted > number for p in named(one.part)]
    return all(any(new.takes_place_of(old) for new in later) for old in named(name))


def _bleeding(shop: Shop, state: BikeState) -> tuple[Missing, ...]:
    """A hose that was opened under a plan without a bleeding: the plan is made again."""
    from cyclewright.knowledge.derived import derived
    from cyclewright.sheets.sheets import facts

    number = state.opened.get(HOSES)
    if number is None or BLEED in state.planned_steps() or "bike" not in state.sheets:
        return ()
    known = derived(facts(shop.sheets(state)))
    if known.get("derived.any_hydraulic") is False or known.get("derived.hoses_sealed"):
        return ()
    why = (
        f"a hose was opened in event {number}: plan again, so that the bleeding stands in the plan"
    )
    return (Missing("brake-hold", why, None, True, "build"),)


def _problems(state: BikeState, gate: str) -> tuple[Missing, ...]:
    """Steps with a problem that no gate item names: before the ride, or before the release."""
    from cyclewright.workshop.standing import AFTER_RIDE_GATE

    return tuple(
        Missing(PROBLEM, f"problem: {state.step(step.id).said}", step.id, True)
        for step in state.planned_steps().values()
        if state.step(step.id).status == "problem"
        and not step.safety
        and step.stage != "Care"
        and (gate == "release" or step.stage not in AFTER_RIDE_GATE)
    )
