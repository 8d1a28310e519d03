"""Papers cross-checked before a bolt is turned: which facts clash, and what is still unknown."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING

from cyclewright.advice import (
    axles,
    brake_parts,
    brakes,
    drivetrain,
    front,
    law,
    mass,
    parts,
    post,
    torque,
)
from cyclewright.advice.height import saddle_height
from cyclewright.knowledge import grounds, rules
from cyclewright.knowledge.defaults import fill
from cyclewright.setting import Finding, Question
from cyclewright.sheets.closure import of_bike

if TYPE_CHECKING:
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.units import Quantity

Said = Iterator[Finding | Question]
_GRAVITY = {"stop": 0, "warn": 1, "note": 2}


def crosscheck(sheets: Sheets) -> tuple[tuple[Finding, ...], tuple[Question, ...]]:
    """Every clash that the sheets show, gravest first, and every fact nobody may guess."""
    checks: tuple[Callable[[Sheets], Iterable[Finding | Question]], ...] = (
        hands,
        mass.mass,
        use_class,
        post.questions,
        post.mark,
        saddle,
        parts.tyres,
        brake_parts.rotors,
        brake_parts.fluids,
        brake_parts.brake_fluids,
        parts.rails,
        parts.wheels,
        law.electric,
        axles.axles,
        front.clamps,
        front.stack,
        front.gap,
        front.bar,
        front.grips,
        parts.springs,
        drivetrain.drive,
        parts.threads,
        torque.asked,
        torque.own_limits,
        geometry,
        law.fittings,
        law.marks,
    )
    said = [item for check in checks for item in check(sheets)]
    findings = [item for item in said if isinstance(item, Finding)]
    asked = {item.field: item for item in reversed(said) if isinstance(item, Question)}
    return gravest_first(findings), tuple(reversed(asked.values()))


def gravest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """What stops the work before what warns, and that before what is only told."""
    return tuple(sorted(findings, key=lambda item: _GRAVITY[item.severity]))


def hands(sheets: Sheets) -> Said:
    """The brakes on the hands of the country, or of the rider's order."""
    found = brakes.hands(sheets)
    yield from found.findings()
    yield from found.questions


def saddle(sheets: Sheets) -> Said:
    """The post at this rider's saddle height."""
    if sheets.rider is None:
        return
    filled = fill(sheets).sheets
    height = saddle_height(filled)
    if height is not None:
        yield from post.check(sheets, filled, height)


def use_class(sheets: Sheets) -> Said:
    """The bike's condition of use against the riding it is meant for."""
    stated = sheets.bike.use_class
    if stated is None:
        yield Question(
            "bike.use_class",
            "Which condition of use, 1 to 5, does the maker mark on the bike?",
            "A bike is not released for riding outside its use class.",
            ("1", "2", "3", "4", "5"),
        )
        return
    ride = sheets.rider.ride if sheets.rider is not None else None
    if ride is None:
        return
    need = grounds.ground(ride)
    if stated < need.use_class:
        yield Finding(
            "use-class",
            "stop",
            (f"the bike's condition of use: {stated}", f"riding: {ride} ({need.meaning})"),
            f"This riding asks for condition {need.use_class} of EN 17406 or higher.",
            "Choose a bike of that class, or agree on gentler riding and record it.",
            ("bike.use_class", "rider.ride"),
        )


def geometry(sheets: Sheets) -> Said:
    """The frame drawn from its figures: the wheelbase closes and a head tube fits in."""
    drawn = of_bike(sheets.bike)
    if drawn is None:
        return
    frame, fork = sheets.bike.frame, sheets.bike.fork
    allowed = rules.rule("geometry_closure").value
    if frame.wheelbase is not None and abs(frame.wheelbase.value - drawn.wheelbase) > allowed:
        yield Finding(
            "geometry-closure",
            "warn",
            (
                f"wheelbase on the sheet: {_mm(frame.wheelbase.value)}",
                f"wheelbase drawn from the other figures: {_mm(drawn.wheelbase)}",
            ),
            f"Figures of one frame close within {_mm(allowed)}.",
            "Read reach, stack, head angle, chainstay, fork offset and wheelbase again: one is "
            "misread, or of another size.",
            _GEOMETRY,
        )
    least, most = rules.rule("head_tube_min").value, rules.rule("head_tube_max").value
    stated = frame.head_tube
    fits = least <= drawn.head_tube <= most
    if stated is not None:
        fits = abs(stated.value - drawn.head_tube) <= allowed
    if not fits:
        expected = f"{_mm(least)} to {_mm(most)} (common practice, no source)"
        yield Finding(
            "fork-length",
            "warn",
            (
                f"fork from axle to crown: {_mm(fork.axle_to_crown)}",
                f"stack and head angle leave {_mm(drawn.head_tube)} for the head tube",
                f"head tube: {expected if stated is None else _mm(stated.value)}",
            ),
            "Fork and head tube together fill the frame's stack.",
            "Read stack, head tube and axle to crown again: this fork may not belong to this "
            "frame.",
            ("bike.fork.axle_to_crown", "bike.frame.stack", "bike.frame.head_tube"),
        )


_GEOMETRY = (
    "bike.frame.wheelbase",
    "bike.frame.reach",
    "bike.frame.stack",
    "bike.frame.head_angle",
    "bike.frame.chainstay",
    "bike.frame.bb_drop",
    "bike.fork.offset",
)


def _mm(length: float | Quantity | None) -> str:
    return "unknown" if length is None else f"{float(length) * 1000:.0f} mm"
