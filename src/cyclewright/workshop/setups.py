"""Set-ups kept when the rider changed: how the bike was set then, to go back to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cyclewright import units
from cyclewright.workshop.evidence import display_of
from cyclewright.workshop.receive import NO_RIDER, rider_name

if TYPE_CHECKING:
    from cyclewright.record.state import BikeState, Made, Reading, Setup
    from cyclewright.workshop.shop import Shop

PLACES = (
    "bike.cockpit.spacers_under",
    "bike.cockpit.spacers_over",
    "bike.cockpit.bar_rise",
    "bike.cockpit.bar_width",
    "bike.cockpit.bar_roll",
    "bike.cockpit.stem_length",
    "bike.cockpit.stem_angle",
    "bike.saddle.setback",
    "bike.fork.spacers",
    "bike.shock.spacers",
)
"""Fields of the bike's sheet that belong to a rider's fit and to no reading."""


@dataclass(frozen=True, slots=True)
class ThenRow:
    """One thing as it was set or read then, and as it is now; to set again, never as set."""

    name: str
    value: float | None
    unit: str
    shown: str
    now: str
    """How it is now; empty where nothing is known."""

    def to_json(self) -> dict[str, Any]:
        """The row as plain data."""
        return {name: getattr(self, name) for name in self.__slots__}


@dataclass(frozen=True, slots=True)
class SetupRow:
    """A kept set-up: for whom, until when, and how the bike was set."""

    id: int
    rider: str
    until: str
    """The day it was kept."""
    erased: bool
    """Whether its rider's sheet was erased since, so that only the settings are left."""
    current: bool
    """Whether the bike went back to it: what was set then is shown beside the advice."""
    settings: tuple[ThenRow, ...]
    places: tuple[ThenRow, ...]
    """Where bar, stem, saddle and spacers stood, as far as that is another place than now."""
    readings: tuple[ThenRow, ...]

    def line(self) -> str:
        """The set-up in one line."""
        told = ", ".join(f"{_words(row.name)} {row.shown}" for row in self.settings)
        return f"{self.id}: {self.rider}, until {self.until}{f': {told}' if told else ''}"

    def to_json(self) -> dict[str, Any]:
        """The set-up as plain data."""
        rows = {name: getattr(self, name) for name in ("settings", "places", "readings")}
        return {
            **{name: getattr(self, name) for name in self.__slots__ if name not in rows},
            **{name: [row.to_json() for row in listed] for name, listed in rows.items()},
        }


def setups(shop: Shop, state: BikeState) -> tuple[SetupRow, ...]:
    """Every set-up that was kept, the oldest first."""
    return tuple(_row(shop, state, item) for item in state.setups)


def then(shop: Shop, state: BikeState) -> SetupRow | None:
    """The set-up that the bike went back to, or None."""
    found = (item for item in state.setups if item.id == state.back_to)
    return next((_row(shop, state, item) for item in found), None)


def _row(shop: Shop, state: BikeState, item: Setup) -> SetupRow:
    from cyclewright.record.state import SETTING_OF_READING

    erased = item.rider is not None and item.rider in state.erased
    set_too = {SETTING_OF_READING.get(kind, kind.replace("-", "_")): kind
               for kind in (reading.kind for reading in item.readings)}  # fmt: skip
    told = {kind for name, kind in set_too.items() if name in item.settings}
    newest = {one.kind: one for one in item.readings if one.kind not in told}
    return SetupRow(
        item.id,
        "rider erased" if erased else _rider(shop, item),
        item.at[:10],
        erased,
        item.id == state.back_to,
        tuple(_setting(made, state) for made in item.settings.values()),
        _places(item.sheets, state.sheets),
        tuple(_reading(reading, state) for reading in newest.values()),
    )


def _rider(shop: Shop, item: Setup) -> str:
    mass = item.sheets.get("mass")
    if item.rider is None and mass:
        return f"{NO_RIDER}, {mass}"
    return rider_name(shop, item.rider)


def _setting(made: Made, state: BikeState) -> ThenRow:
    now = state.settings.get(made.name)
    return ThenRow(
        made.name, made.value, made.unit, _shown(made), "" if now is None else _shown(now)
    )


def _shown(made: Made) -> str:
    found = made.extra.get("shown")
    return str(found) if found else units.show(made.value, *display_of(made.unit, made.name))


def _reading(reading: Reading, state: BikeState) -> ThenRow:
    later = [item for item in state.readings if item.kind == reading.kind]
    told = [units.show(one.value, *display_of(one.unit, one.kind)) for one in (reading, later[-1])]
    return ThenRow(reading.kind, reading.value, reading.unit, *told)


def _places(then: Mapping[str, str], now: Mapping[str, str]) -> tuple[ThenRow, ...]:
    """Fields of the fit that stood elsewhere then."""
    from cyclewright.sheets.path import find, value_in
    from cyclewright.sheets.read import read

    if then.get("bike") == now.get("bike") or "bike" not in then or "bike" not in now:
        return ()
    before, after = read(then["bike"], "bike"), read(now["bike"], "bike")
    found = []
    for name in PLACES:
        one, other = (value_in(sheet, find(name)) for sheet in (before, after))
        if one != other:
            value = getattr(one, "value", one)
            unit = "m" if hasattr(one, "value") else "1"
            found.append(ThenRow(name, value, unit, _told(one), _told(other)))
    return tuple(found)


def _told(value: Any) -> str:
    return "" if value is None else str(getattr(value, "text", value))


def _words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ")
