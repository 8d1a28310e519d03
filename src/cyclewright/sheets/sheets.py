"""The three sheets together: loading, flat facts, and changing a field."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast

from cyclewright import units
from cyclewright.errors import InputError, Problem
from cyclewright.sheets import path as paths
from cyclewright.sheets.bike import Bike, Tyre
from cyclewright.sheets.build import build, in_range
from cyclewright.sheets.layout import layout
from cyclewright.sheets.model import MODELS, SheetKind
from cyclewright.sheets.place import Place
from cyclewright.sheets.raw import from_text, plain, raw
from cyclewright.sheets.read import Source, read
from cyclewright.sheets.rider import Rider
from cyclewright.sheets.spec import Spec, Table
from cyclewright.units import Quantity


@dataclass(frozen=True)
class Sheets:
    """What is on paper of one bike, who rides it and where.

    Without a rider, `mass` is the stated mass with kit that the bike is set for, or None.
    """

    bike: Bike
    rider: Rider | None
    place: Place
    mass: Quantity | None = None

    def sheet(self, kind: SheetKind) -> Table | None:
        """The sheet of that kind, or None where there is no rider."""
        return cast("Table | None", getattr(self, kind))


def load(bike: Source, rider: Source | None, place: Source, mass: str | None = None) -> Sheets:
    """Read the sheets and the stated mass; what is wrong with any of them is told together."""
    problems: list[Problem] = []
    found: dict[str, Any] = {}
    sources: dict[SheetKind, Source | None] = {"bike": bike, "rider": rider, "place": place}
    for kind, source in sources.items():
        if source is None:
            continue
        try:
            found[kind] = read(source, cast(Any, kind))
        except InputError as error:
            problems.extend(error.problems)
    stated = None
    try:
        stated = stated_mass(mass, with_rider=rider is not None)
    except InputError as error:
        problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    return Sheets(found["bike"], found.get("rider"), found["place"], stated)


def stated_mass(text: str | None, with_rider: bool = False) -> Quantity | None:
    """The mass with kit that a bike without a rider is set for.

    >>> stated_mass("80 kg").value
    80.0
    """
    if text is None:
        return None
    if with_rider:
        do = "a rider sheet is given too: leave out the stated mass, or the rider"
        raise InputError(Problem("mass-twice", "mass", do, text))
    return in_range(units.parse(text, "mass", "mass"), Rider.specs()["mass"], "mass")


def value_at(sheets: Sheets, path: str) -> Any:
    """What stands at a path such as `bike.fork.travel`: None where nothing is written."""
    place = paths.find(path)
    return paths.value_in(sheets.sheet(place.kind), place)


def facts(sheets: Sheets) -> dict[str, object]:
    """Every fact that is written, by dotted path: quantities as SI floats, rows as dictionaries.

    A tyre's `width` and `bead` come from its size, `mass` is the stated mass of a bike without a
    rider. What is absent has no key.
    """
    found: dict[str, object] = {}
    for kind in MODELS:
        sheet = sheets.sheet(kind)
        if sheet is not None:
            found.update(_flat(sheet, kind))
    if sheets.mass is not None:
        found["mass"] = sheets.mass.value
    return found


def change(sheets: Sheets, changes: Sequence[str]) -> Sheets:
    """The sheets after each `FIELD=VALUE` or `FIELD+=VALUE`, checked like any sheet.

    Without a rider, `rider.mass` changes the stated mass.

    >>> place = read('country = "GB"', "place")
    >>> sheets = Sheets(Bike.model_construct(kind="hardtail"), None, place)
    >>> change(sheets, ["place.trail.altitude=900 m"]).place.trail.altitude.value
    900.0
    """
    problems: list[Problem] = []
    tables: dict[SheetKind, dict[str, Any]] = {}
    for text in changes:
        try:
            path, adds, value = _split(text)
            if path == "rider.mass" and sheets.rider is None and sheets.mass is not None:
                sheets = replace(sheets, mass=_changed_mass(sheets.mass, adds, value))
            else:
                _apply(sheets, tables, paths.find(path), adds, value)
        except InputError as error:
            problems.extend(error.problems)
    made = {kind: build(table, kind, problems) for kind, table in tables.items()}
    if problems:
        raise InputError(problems)
    return replace(sheets, **cast(Any, made))


_CHANGE = re.compile(r"\s*(?P<path>[^=+\s]{1,200})\s*(?P<op>\+=|=)\s*(?P<value>.*?)\s*", re.S)


def _split(text: str) -> tuple[str, bool, str]:
    match = _CHANGE.fullmatch(text)
    if match is None or not match["value"]:
        do = 'write a change as FIELD=VALUE or FIELD+=VALUE, like "rider.mass=90 kg"'
        raise InputError(Problem("not-a-change", "change", do, text))
    return match["path"], match["op"] == "+=", match["value"]


def _apply(
    sheets: Sheets,
    tables: dict[SheetKind, dict[str, Any]],
    place: paths.Place,
    adds: bool,
    text: str,
) -> None:
    sheet = sheets.sheet(place.kind)
    if sheet is None:
        do = "there is no rider sheet here: give one, or change the stated mass as rider.mass"
        raise InputError(Problem("no-rider", place.path, do))
    spec = place.slot.spec
    if spec is None:
        do = "is a table: change one of its fields"
        raise InputError(Problem("table", place.path, do))
    table = tables.setdefault(place.kind, raw(sheet))
    value: Any = from_text(text, place.slot)
    if adds:
        before = paths.value_in(build(table, place.kind, []), place)
        value = _sum(before, value, spec, place.path)
    paths.put(table, place, value)


def _sum(before: Any, value: Any, spec: Spec, path: str) -> Any:
    if spec.many or spec.shape not in ("quantity", "count"):
        raise InputError(Problem("not-addable", path, "is not a number: change it with =, not +="))
    if before is None:
        do = "is not on the sheet, so nothing can be added to it: change it with ="
        raise InputError(Problem("nothing-to-add-to", path, do))
    if spec.shape == "count":
        return before + value if isinstance(value, int) else value
    return plain(added(before, units.parse(value, spec.dimension, path), spec))


def added(before: Quantity, step: Quantity, spec: Spec) -> Quantity:
    """The sum of a quantity and a step, written in the unit that it had.

    >>> from cyclewright.sheets.bike import Cockpit
    >>> spec = Cockpit.specs()["spacers_under"]
    >>> added(Quantity(0.01, None, "1 cm"), Quantity(0.02, None, "20 mm"), spec).text
    '3 cm'
    """
    # a step has no zero point of its own: 5 °C more is 5 K more, 10 psi abs more is 10 psi more
    value = before.value + step.value - _zero_and_one(step, spec)[1]
    unit, zero, one = _zero_and_one(before, spec)
    text = f"{_number((value - zero) / one)} {unit}".strip()
    if before.sigma is not None:
        text += f" ± {_number(before.sigma / one)}"
    return Quantity(value, before.sigma, text)


def _zero_and_one(quantity: Quantity, spec: Spec) -> tuple[str, float, float]:
    """The unit a quantity is written in, what 0 of it is in SI, and how much 1 of it is."""
    unit = units.unit_written(quantity.text, spec.dimension)
    zero = units.parse(f"0 {unit}", spec.dimension).value
    return unit, zero, units.parse(f"1 {unit}", spec.dimension).value - zero


def _number(value: float) -> str:
    return f"{value:.12g}"


def _changed_mass(mass: Quantity, adds: bool, text: str) -> Quantity:
    spec = Rider.specs()["mass"]
    given = units.parse(text, "mass", "mass")
    return in_range(added(mass, given, spec) if adds else given, spec, "mass")


def _flat(table: Table, path: str) -> Iterator[tuple[str, object]]:
    for name, slot in layout(type(table)).items():
        value = getattr(table, name)
        here = f"{path}.{name}"
        if isinstance(value, Table):
            yield from _flat(value, here)
        elif slot.role == "named":
            for key, inner in value.items():
                # the parts of a fastener stand beside its own fields, as on the sheet
                yield from _flat(inner, f"{path}.{key}" if name == "parts" else f"{here}.{key}")
        elif slot.role == "rows":
            if value:
                yield here, tuple(dict(_flat(row, "")) for row in value)
        elif value is not None and value != ():
            yield here.removeprefix("."), _fact(value)
    if isinstance(table, Tyre) and table.size is not None:
        yield f"{path}.width", table.width
        yield f"{path}.bead", table.bead


def _fact(value: Any) -> object:
    if isinstance(value, Quantity):
        return value.value
    return tuple(_fact(item) for item in value) if isinstance(value, tuple) else value
