"""Labelled defaults: fill what the sums need and the sheets leave out, and say so each time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, cast

from cyclewright import units
from cyclewright.errors import input_error
from cyclewright.knowledge.conditions import Condition, conditions_from, holds
from cyclewright.knowledge.data import knowledge_error, table
from cyclewright.sheets import closure
from cyclewright.sheets import path as paths
from cyclewright.sheets.path import Place
from cyclewright.sheets.rider import Rider
from cyclewright.sheets.sheets import Sheets, facts
from cyclewright.sheets.spec import Spec
from cyclewright.units import DIMENSIONS, Quantity

FILE = "defaults.toml"
_KEYS = {
    "field",
    "when",
    "value",
    "on",
    "for_each",
    "plus",
    "derive",
    "left_open",
    "sigma",
    "because",
    "source",
}


@dataclass(frozen=True, slots=True)
class Default:
    """One field that was filled: with what, why, on what it rests, and how far it may be off.

    `sigma` is one standard deviation [SI] or None. A field that the sums take from elsewhere
    (the inseam, from the body survey) is told here and left out of the sheet.
    """

    field: str
    text: str
    because: str
    source: str
    sigma: float | None = None


@dataclass(frozen=True, slots=True)
class Filled:
    """Sheets that hold all the sums need, a rider among it, and every default that they took."""

    sheets: Sheets
    defaults: tuple[Default, ...]

    def default(self, field: str) -> Default | None:
        """The default that was taken for a field, or None where the sheet says it."""
        return next((item for item in self.defaults if item.field == field), None)


@dataclass(frozen=True, slots=True)
class Entry:
    """One labelled default as the knowledge has it."""

    place: Place
    when: tuple[Condition, ...]
    value: Any
    slope: float
    """How much this field grows for each SI unit of `on` [SI]."""
    on: str
    derive: str
    left_open: str
    sigma: float | None
    because: str
    source: str


def fill(sheets: Sheets) -> Filled:
    """The sheets with every labelled default that applies; nothing on paper is changed.

    A bike without a rider gets one who stands in, of the stated mass.
    """
    entries = list(_entries("default"))
    if sheets.rider is None:
        if sheets.mass is None:
            do = 'is missing: give a rider sheet, or state the mass with kit, like "80 kg"'
            raise input_error("missing", "mass", do, unit="kg")
        sheets = replace(sheets, rider=Rider.model_construct(mass=sheets.mass))
        entries = [*_entries("stand_in"), *entries]
    known = facts(sheets)
    taken: list[Default] = []
    for entry in entries:
        path = entry.place.path
        if path in known or any(item.field == path for item in taken):
            continue
        if holds(entry.when, known) is not True:
            continue
        if entry.left_open:
            taken.append(_told(entry, entry.left_open, None))
            continue
        value = _value(entry, sheets, known)
        if value is None:
            continue
        sheets = _filled(sheets, entry.place, value)
        known[path] = value.value if isinstance(value, Quantity) else value
        taken.append(_told(entry, _shown(value), value))
    return Filled(sheets, tuple(taken))


def fields() -> frozenset[str]:
    """Every field that has a labelled default."""
    return frozenset(entry.place.path for entry in _entries("default"))


@lru_cache(maxsize=4)
def _entries(name: str) -> tuple[Entry, ...]:
    return tuple(_entry(row) for row in table(FILE)[name])


def _entry(row: dict[str, Any]) -> Entry:
    field = str(row.get("field"))
    extra = set(row) - _KEYS
    if extra or not row.get("because") or not row.get("source"):
        raise knowledge_error(FILE, f"{field} wants because and source, and no {sorted(extra)}")
    if sum(key in row for key in ("value", "derive", "left_open")) != 1:
        raise knowledge_error(FILE, f"{field} wants one of value, derive and left_open")
    place = paths.find(field)
    spec = cast(Spec, place.slot.spec)
    value = row.get("value")
    if spec.shape == "quantity" and value is not None:
        value = units.parse(value, spec.dimension, field).value
    elif value is not None and place.slot.allowed and value not in place.slot.allowed:
        raise knowledge_error(FILE, f"{field} is none of {place.slot.allowed}")
    derive = row.get("derive", "")
    if derive and derive not in _SUMS:
        raise knowledge_error(FILE, f"{field} names no sum of the code: {derive}")
    return Entry(
        place,
        conditions_from(row.get("when", []), FILE),
        value,
        _slope(row, spec),
        row.get("on", ""),
        derive,
        row.get("left_open", ""),
        _step(row["sigma"], spec.dimension) if "sigma" in row else None,
        f"default: {row['because']}",
        row["source"],
    )


def _slope(row: dict[str, Any], spec: Spec) -> float:
    if "on" not in row:
        return 0.0
    other = cast(Spec, paths.find(row["on"]).slot.spec)
    return _step(row["plus"], spec.dimension) / _step(row["for_each"], other.dimension)


def _step(text: str, dimension: str) -> float:
    """A difference in SI: a step of temperature has no zero point."""
    zero = 273.15 if dimension == "temperature" and not text.endswith("K") else 0.0
    return units.parse(text, dimension).value - zero


def _told(entry: Entry, text: str, value: Any) -> Default:
    sigma = value.sigma if isinstance(value, Quantity) else None
    return Default(entry.place.path, text, entry.because, entry.source, sigma)


def _value(entry: Entry, sheets: Sheets, known: dict[str, object]) -> Any:
    """What the entry gives, or None while a field it leans on is not known."""
    if entry.derive:
        value: Any = _SUMS[entry.derive](sheets)
        if value is None or isinstance(value, int):
            return value
    elif entry.on:
        other = known.get(entry.on)
        if not isinstance(other, (int, float)):
            return None
        value = entry.value + entry.slope * other
    else:
        value = entry.value
    spec = cast(Spec, entry.place.slot.spec)
    return written(value, spec, entry.sigma) if spec.shape == "quantity" else value


def written(value: float, spec: Spec, sigma: float | None = None) -> Quantity:
    """An SI value as a person would write it on a sheet, rounded to what can be set or read.

    >>> from cyclewright.sheets.bike import Fork
    >>> written(0.5513, Fork.specs()["axle_to_crown"], 0.006).text
    '551 mm ± 6'
    """
    unit, graduation = _WRITTEN[spec.dimension]
    if spec.dimension == "length" and max(abs(value), spec.high or 0.0) > 2:
        unit, graduation = "m", 0.01 if (spec.high or 0) < 10 else 1.0
    factor = DIMENSIONS[spec.dimension][2][unit]
    zero = 273.15 if unit == "degC" else 0.0
    number = round((value - zero) / factor / graduation) * graduation
    text = f"{number:.6g} {unit}"
    if sigma is not None:
        text += f" ± {sigma / factor:.3g}"
    return replace(units.parse(text, spec.dimension), sigma=sigma)


_WRITTEN = {
    "length": ("mm", 1.0),
    "angle": ("deg", 0.1),
    "mass": ("kg", 0.1),
    "temperature": ("degC", 1.0),
    "ratio": ("%", 1.0),
}


def _filled(sheets: Sheets, place: Place, value: Any) -> Sheets:
    sheet = sheets.sheet(place.kind)
    assert sheet is not None
    return replace(sheets, **cast(Any, {place.kind: paths.with_value(sheet, place, value)}))


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.text if isinstance(value, Quantity) else str(value)


def _wheelbase(sheets: Sheets) -> float | None:
    made = closure.of_bike(sheets.bike)
    return None if made is None else made.wheelbase


def _bead(bead: float | None) -> int | None:
    return None if bead is None else round(bead * 1000)


_SUMS: dict[str, Callable[[Sheets], float | int | None]] = {
    "wheelbase": _wheelbase,
    "bead-front": lambda sheets: _bead(sheets.bike.tyre.front.bead),
    "bead-rear": lambda sheets: _bead(sheets.bike.tyre.rear.bead),
}
