"""Rules across fields: what one sheet must hold, and what cannot be true of two fields at once."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from cyclewright.errors import Problem
from cyclewright.sheets import pivots
from cyclewright.sheets.bike import Bike, ChartRow, ClickRow, Figures, Fork, Shock
from cyclewright.sheets.layout import slots
from cyclewright.sheets.model import SheetKind
from cyclewright.sheets.rider import Rider
from cyclewright.sheets.spec import Table
from cyclewright.units import CHILDRENS, Quantity

_CROTCH = (0.386, 0.56)
"""Shares of the height between which a crotch can lie, a little inside what the sums can take."""
_ARM = (0.33, 0.47)
"""Shares of the height between which an arm can be long, shoulder to gripping hand."""
_PRESSED = 0.015
"""How much longer an inseam reads than a survey's crotch height when pressed up firmly [m]."""


_LEAST_BEAD = 0.541
"""Bead seats under this [m] are those of children's and folding bikes (ISO 5775-1, from memory)."""


def rules(kind: SheetKind, model: Table, bad: frozenset[str] = frozenset()) -> Iterator[Problem]:
    """Every broken rule of the sheet; fields already known to be bad are not called missing."""
    yield from _missing(model, kind, _conditions(model), bad)
    if isinstance(model, Bike):
        yield from _bike(model)
    if isinstance(model, Rider):
        yield from _rider(model)


def _conditions(model: Table) -> dict[str, bool]:
    if not isinstance(model, Bike):
        return {"always": True}
    return {
        "always": True,
        "unless the fork is rigid": model.kind != "rigid" and model.fork.kind != "rigid",
        "on a full-suspension bike": model.kind == "full-suspension",
    }


def _missing(
    model: Table, path: str, when: dict[str, bool], bad: frozenset[str]
) -> Iterator[Problem]:
    for name, slot in slots(type(model)).items():
        here = f"{path}.{name}"
        if slot.spec is not None:
            lacks = getattr(model, name) in (None, ())
            if lacks and when.get(slot.spec.required, False) and here not in bad:
                unit = f", in {slot.spec.unit}" if slot.spec.unit else ""
                why = "" if slot.spec.required == "always" else f" {slot.spec.required}"
                do = f"is missing and wanted{why}: {_lower(slot.spec.meaning)}{unit}"
                yield Problem("missing", here, do, unit=slot.spec.unit or None)
        elif here not in bad:
            yield from _missing_inside(getattr(model, name, None), here, when, bad)


def _missing_inside(
    value: Any, path: str, when: dict[str, bool], bad: frozenset[str]
) -> Iterator[Problem]:
    if isinstance(value, Table):
        yield from _missing(value, path, when, bad)
    elif isinstance(value, tuple):
        for number, row in enumerate(value, 1):
            if f"{path}[{number}]" not in bad:
                yield from _missing(row, f"{path}[{number}]", when, bad)
    elif isinstance(value, dict):
        for key, table in value.items():
            if f"{path}.{key}" not in bad:
                yield from _missing(table, f"{path}.{key}", when, bad)


def _bike(bike: Bike) -> Iterator[Problem]:
    yield from _kinds(bike)
    yield from _unit(bike.fork, "bike.fork")
    yield from _unit(bike.shock, "bike.shock")
    yield from _rear(bike)
    yield from _order(bike.fork.spacers, bike.fork.spacers_max, "bike.fork.spacers", "spacers_max")
    for end in ("front", "rear"):
        tyre, brake = getattr(bike.tyre, end), getattr(bike.brake, end)
        if tyre.bead is not None and tyre.bead < _LEAST_BEAD:
            yield Problem("tyre-size", f"bike.tyre.{end}.size", CHILDRENS, tyre.size)
        yield from _order(
            tyre.pressure_min, tyre.pressure_max, f"bike.tyre.{end}.pressure_min", "pressure_max"
        )
        yield from _order(
            brake.rotor_min,
            brake.rotor_thickness,
            f"bike.brake.{end}.rotor_min",
            "rotor_thickness",
            f"(the rotor when new: a worn one is read with care ID wear {end}-rotor)",
        )
    yield from _order(
        bike.frame.insertion_min,
        bike.frame.insertion_max,
        "bike.frame.insertion_min",
        "insertion_max",
    )
    yield from _order(bike.post.travel, bike.post.length, "bike.post.travel", "length")
    yield from _order(
        bike.post.insertion_min, bike.post.length, "bike.post.insertion_min", "length"
    )
    yield from _order(bike.mass, bike.mass_limit, "bike.mass", "mass_limit")
    for name, fastener in bike.fastener.items():
        yield from _figures(fastener, f"bike.fastener.{name}")
        for part, figures in fastener.parts.items():
            yield from _figures(figures, f"bike.fastener.{name}.{part}")
        if fastener.parts and _figure_count(fastener):
            do = "give the figure in .a and .b or in the fastener itself, not in both"
            yield Problem("figure-twice", f"bike.fastener.{name}", do)


def _kinds(bike: Bike) -> Iterator[Problem]:
    if bike.kind == "rigid" and bike.fork.kind in ("air", "coil"):
        do = "a rigid bike has a rigid fork: correct this or bike.kind"
        yield Problem("kinds-clash", "bike.fork.kind", do, bike.fork.kind)
    rigid = bike.kind == "rigid" or bike.fork.kind == "rigid"
    if rigid and bike.fork.travel is not None:
        do = "a rigid fork has no travel: take this out or correct the kind"
        yield Problem("kinds-clash", "bike.fork.travel", do, bike.fork.travel.text)
    if bike.kind in ("hardtail", "rigid"):
        for path, value in (
            ("bike.rear.travel", bike.rear.travel),
            ("bike.shock.stroke", bike.shock.stroke),
        ):
            if value is not None:
                do = f"a {bike.kind} has no rear suspension: take this out or correct bike.kind"
                yield Problem("kinds-clash", path, do, value.text)
    if bike.post.kind in ("plain", "integrated") and bike.post.travel is not None:
        do = "only a dropper has travel: take this out or correct bike.post.kind"
        yield Problem("kinds-clash", "bike.post.travel", do, bike.post.travel.text)
    if bike.post.kind == "dropper" and bike.post.travel is None:
        yield Problem(
            "missing", "bike.post.travel", "is missing and wanted of a dropper", unit="mm"
        )


def _unit(unit: Fork | Shock, path: str) -> Iterator[Problem]:
    if unit.kind == "coil" and unit.chart:
        do = "a coil has no pressure chart: take it out or correct the kind"
        yield Problem("kinds-clash", f"{path}.chart", do)
    yield from _chart(unit.chart, f"{path}.chart")
    yield from _clicks(unit, path)


def _chart(rows: tuple[ChartRow, ...], path: str) -> Iterator[Problem]:
    yield from _bands(rows, path, "mass_min", "mass_max")


def _clicks(unit: Fork | Shock, path: str) -> Iterator[Problem]:
    yield from _bands(unit.clicks, f"{path}.clicks", "pressure_min", "pressure_max")
    for number, row in enumerate(unit.clicks, 1):
        for name in ("rebound", "compression"):
            clicks, most = getattr(row, name), getattr(unit, f"{name}_clicks")
            if clicks is not None and most is not None and clicks > most:
                do = (
                    f"the unit has only {most} clicks: count again, or correct {path}.{name}_clicks"
                )
                yield Problem("too-many-clicks", f"{path}.clicks[{number}].{name}", do, str(clicks))


def _bands(
    rows: tuple[ChartRow, ...] | tuple[ClickRow, ...], path: str, low: str, high: str
) -> Iterator[Problem]:
    bands = [(getattr(row, low), getattr(row, high)) for row in rows]
    for number, (start, end) in enumerate(bands, 1):
        if start is not None and end is not None and start.value >= end.value:
            do = f"must be below {high}, which is {end.text}"
            yield Problem("range-reversed", f"{path}[{number}].{low}", do, start.text)
    for number, ((_, end), (start, _)) in enumerate(pairwise(bands), 2):
        if (
            end is not None
            and start is not None
            and start.value < end.value - 0.02 * abs(end.value)
        ):
            do = f"begins below the end of the row before it, {end.text}: order the rows"
            yield Problem("rows-overlap", f"{path}[{number}].{low}", do, start.text)


def _rear(bike: Bike) -> Iterator[Problem]:
    yield from pivots.problems(bike.rear)
    rows = [row.travel for row in bike.rear.leverage]
    if len(rows) == 1:
        do = "one row is no table: give at least two, or leave it out"
        yield Problem("rows-too-few", "bike.rear.leverage", do)
    for number, (before, row) in enumerate(pairwise(rows), 2):
        if before is not None and row is not None and row.value <= before.value:
            do = f"must be more than the row before it ({before.text})"
            yield Problem("rows-overlap", f"bike.rear.leverage[{number}].travel", do, row.text)
    if bike.rear.linkage == "table" and not rows:
        do = 'is "table" but there is no table: add bike.rear.leverage rows or write "mean"'
        yield Problem("missing", "bike.rear.leverage", do)
    travel, stroke = bike.rear.travel, bike.shock.stroke
    if travel is not None and stroke is not None and not 1.2 <= travel.value / stroke.value <= 5:
        ratio = travel.value / stroke.value
        do = f"with {travel.text} of bike.rear.travel the leverage is {ratio:.2g}: read both again"
        yield Problem("leverage-impossible", "bike.shock.stroke", do, stroke.text, "mm")


def _rider(rider: Rider) -> Iterator[Problem]:
    height, inseam = rider.height, rider.inseam
    if (
        height is not None
        and inseam is not None
        and not _CROTCH[0] <= (inseam.value - _PRESSED) / height.value <= _CROTCH[1]
    ):
        do = f"does not fit a height of {height.text}: measure floor to crotch again"
        yield Problem("out-of-proportion", "rider.inseam", do, inseam.text, "mm")
    arm = rider.arm_length
    if (
        height is not None
        and arm is not None
        and not _ARM[0] <= arm.value / height.value <= _ARM[1]
    ):
        do = f"does not fit a height of {height.text}: measure shoulder to gripping hand again"
        yield Problem("out-of-proportion", "rider.arm_length", do, arm.text, "mm")
    mass, kit = rider.mass, rider.kit_mass
    if mass is not None and kit is not None and kit.value >= 0.5 * mass.value:
        do = f"is half the rider's mass of {mass.text} or more: weigh again"
        yield Problem("out-of-proportion", "rider.kit_mass", do, kit.text, "kg")


def _figures(figures: Figures, path: str) -> Iterator[Problem]:
    if figures.target is not None and (figures.max is not None or figures.min is not None):
        do = "give target alone, max alone, or min with max: which of them is on the part?"
        yield Problem("figure-kinds", path, do)
    if figures.min is not None and figures.max is None:
        do = "min needs max beside it: a range has two ends"
        yield Problem("figure-kinds", f"{path}.min", do, figures.min.text, "N.m")
    yield from _order(figures.min, figures.max, f"{path}.min", "max")


def _figure_count(figures: Figures) -> int:
    return sum(value is not None for value in (figures.target, figures.max, figures.min))


def _order(
    low: Quantity | int | None,
    high: Quantity | int | None,
    path: str,
    other: str,
    more: str = "",
) -> Iterator[Problem]:
    if low is None or high is None or _number(low) <= _number(high):
        return
    do = f"cannot be more than {other}, which is {_text(high)} {more}".rstrip()
    yield Problem("range-reversed", path, do, _text(low))


def _text(value: Quantity | int) -> str:
    return value.text if isinstance(value, Quantity) else str(value)


def _number(value: Quantity | int) -> float:
    return value.value if isinstance(value, Quantity) else float(value)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
