"""How the settings of a bike on record stand: set, read, set before, advised, or by the sums."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from cyclewright import units

if TYPE_CHECKING:
    from cyclewright.record.made import Stands
    from cyclewright.record.state import BikeState, Reading
    from cyclewright.setting import Setting
    from cyclewright.units import System
    from cyclewright.workshop.shop import Shop

_FIELD = re.compile(r"\b(?:bike|rider|place)\.([a-z][a-z0-9_.]*[a-z0-9])")
_EVENT = re.compile(r",? ?\(?(?:by |in )?event \d+\)?")


@dataclass(frozen=True, slots=True)
class MadeRow:
    """How one setting stands, as a page tells it beside what is advised."""

    name: str
    stands: str
    """set, read, lapsed or advised."""
    words: str
    shown: str
    """What was set or read last, as its tool shows it; empty where nobody did."""
    why: str

    def to_json(self) -> dict[str, Any]:
        """The row as plain data."""
        return asdict(self)


def rows(
    shop: Shop, bike: int, settings: Iterable[Setting], system: System = "trade"
) -> dict[str, MadeRow]:
    """How these settings stand, by name; what is by the sums alone has no row."""
    state = shop.state(bike)
    found = {item.name: (item, stands(shop, state, item.name)) for item in settings}
    return {
        name: MadeRow(name, held.how, words(held), _shown(item, held, system), plain(held.why))
        for name, (item, held) in found.items()
        if held.how != "sums"
    }


def _shown(setting: Setting, held: Stands, system: System) -> str:
    if held.value is None:
        return ""
    return units.show(held.value, setting.display, setting.graduation, system)


def stands(shop: Shop, state: BikeState, name: str) -> Stands:
    """How one setting stands now, by the record and by the facts that it was set under."""
    from cyclewright.record import made

    found = made.stands(state, name)
    if found.number and (doubt := shop.events(state.bike)[found.number - 1].data.get("unproved")):
        return found.doubted(f"it proves nothing: {doubt}")
    plan = 0 if state.plan is None else state.plan.number
    if not found.holds or found.number > plan:
        return found
    why = _facts_moved(shop, state, name, found.number)
    return found.lapse(why) if why else found


_LIKE = {
    "shock_preload": "shock_rate",
    "saddle_setback": "saddle_height",
    "saddle_tilt": "saddle_height",
    "lever_inboard": "lever_angle",
    "lever_reach": "lever_angle",
    "front_tyre_drop": "front_tyre_pressure",
    "rear_tyre_drop": "rear_tyre_pressure",
}
"""Settings that no step writes down, and the one that rests on the same facts."""


def _facts_moved(shop: Shop, state: BikeState, name: str, number: int) -> str:
    """Why the facts of now are not those that a setting of that event was made under."""
    key = ("as set", state.bike, state.number, name, number)
    return shop.once(key, lambda: _compared(shop, state, name, number))


def _compared(shop: Shop, state: BikeState, name: str, number: int) -> str:
    from cyclewright.errors import CyclewrightError
    from cyclewright.knowledge import facts
    from cyclewright.knowledge.steps import steps
    from cyclewright.record import lapse
    from cyclewright.record.made import writes_down
    from cyclewright.workshop.receive import known_facts

    plans = [
        event
        for event in shop.events(state.bike)[: state.number]
        if event.kind == "planned" and event.number not in state.undone
    ]
    then = [event for event in plans if event.number < number]
    if not then:
        return ""
    address = (then[-1].data.get("rider") or {}).get("attachment")
    if address is not None and address in state.erased:
        return "set for a rider whose facts were erased since"
    was = replace(
        state,
        sheets=dict(then[-1].data["sheets"]),
        rider=address,
        plan=None if state.plan is None else replace(state.plan, number=then[-1].number),
    )
    try:
        before, after = known_facts(shop.sheets(was)), known_facts(shop.sheets(state))
    except CyclewrightError:
        return "set under sheets that cannot be read any more"
    if any(facts.RIDER in event.data.get("moved", ()) for event in plans[len(then) :]):
        before, after = before | {facts.RIDER: "before"}, after | {facts.RIDER: "after"}
    said = lapse.said(before, after)
    wanted = _LIKE.get(name, name)
    rests = (step.id for step in steps() if writes_down(step.record, wanted))
    return next((said[step] for step in rests if step in said), "")


def reading_lapsed(shop: Shop, state: BikeState, reading: Reading) -> str:
    """Why a reading is no longer so; empty for the newest of its setting while it holds."""
    from cyclewright.record import made

    found = stands(shop, state, made.setting_of(reading.kind))
    if found.how == "sums":
        return ""
    again = found.number > reading.number and found.value != reading.value
    return "set or read again since" if again else found.why


def words(found: Stands) -> str:
    """How a setting stands in a few words: `set`, `read`, `advised, not set`, …"""
    if found.how == "lapsed":
        return "set before" if found.was == "set" else "read before"
    return {"sums": "by the sums", "advised": "advised, not set"}.get(found.how, found.how)


def short(why: str) -> str:
    """The same in as few words as a paper has room for: what happened, without what that means.

    >>> short("trail temperature changed: gauge pressure belongs to its air (event 40)")
    'trail temperature changed'
    """
    said = plain(why)
    head, found, _ = said.partition(" changed: ")
    return f"{head} changed" if found else said


def plain(why: str) -> str:
    """A reason of the record as people read it: no field names, no numbers of events.

    >>> plain("bike.fork.sag_target changed (event 40)")
    'fork sag target changed'
    >>> plain("reopened: fork pressure was done after it, in event 9")
    'reopened: fork pressure was done after it'
    """
    said = _EVENT.sub("", why).strip()
    return _FIELD.sub(lambda found: found[1].replace(".", " ").replace("_", " "), said)
