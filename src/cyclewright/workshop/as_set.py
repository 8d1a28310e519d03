"""How the settings of a bike on record stand: set, read, set before, advised, or by the sums."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass
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
    """How one setting stands now."""
    from cyclewright.record import made

    return made.stands(state, name)


def reading_lapsed(shop: Shop, state: BikeState, reading: Reading) -> str:
    """Why a reading is no longer so; empty for the newest of its setting while it holds."""
    from cyclewright.record import made

    found = stands(shop, state, made.setting_of(reading.kind))
    if found.how == "sums":
        return ""
    return found.why if found.number <= reading.number else "set or read again since"


def words(found: Stands) -> str:
    """How a setting stands in a few words: `set`, `read`, `advised, not set`, …"""
    if found.how == "lapsed":
        return "set before" if found.was == "set" else "read before"
    return {"sums": "by the sums", "advised": "advised, not set"}.get(found.how, found.how)


def plain(why: str) -> str:
    """A reason of the record as people read it: no field names, no numbers of events.

    >>> plain("bike.fork.sag_target changed (event 40)")
    'fork sag target changed'
    >>> plain("reopened: fork pressure was done after it, in event 9")
    'reopened: fork pressure was done after it'
    """
    said = _EVENT.sub("", why).strip()
    return _FIELD.sub(lambda found: found[1].replace(".", " ").replace("_", " "), said)
