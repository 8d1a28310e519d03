"""Limits, fits and tool classes that the cross-checks rest on, each with its source."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from cyclewright import units
from cyclewright.knowledge.data import table
from cyclewright.setting import Basis

FILE = "rules.toml"


@dataclass(frozen=True, slots=True)
class Rule:
    """One limit [SI]: what it bounds, whose it is, and where it is written."""

    name: str
    value: float
    meaning: str
    basis: Basis
    source: str


@dataclass(frozen=True, slots=True)
class TyreOnRim:
    """Rim widths [m] that suit tyres of these section widths [m]."""

    section_min: float
    section_max: float
    rim_min: float
    rim_max: float
    source: str


@dataclass(frozen=True, slots=True)
class ToolClass:
    """A class of setting torque tool: top of its scale [N·m], tolerance [1], scale step [N·m]."""

    up_to: float
    tolerance: float
    mark: float
    source: str


@dataclass(frozen=True, slots=True)
class Fluid:
    """A brake fluid and the family it may share a system with."""

    name: str
    family: str
    source: str


@cache
def rules() -> dict[str, Rule]:
    """Every limit by its name."""
    return {
        row["name"]: Rule(
            row["name"],
            units.parse(row["value"], row["dimension"], row["name"]).value,
            row["meaning"],
            row["basis"],
            row["source"],
        )
        for row in table(FILE)["limit"]
    }


def rule(name: str) -> Rule:
    """The limit of that name."""
    return rules()[name]


@cache
def tyres_on_rims() -> tuple[TyreOnRim, ...]:
    """The table of rim widths by tyre section, narrowest first."""

    def length(row: dict[str, str], name: str) -> float:
        return units.parse(row[name], "length", name).value

    return tuple(
        TyreOnRim(
            length(row, "section_min"),
            length(row, "section_max"),
            length(row, "rim_min"),
            length(row, "rim_max"),
            row["source"],
        )
        for row in table(FILE)["tyre_on_rim"]
    )


def tyre_on_rim(section: float) -> TyreOnRim | None:
    """The row for a tyre of this section width [m], or None outside the table."""
    width = round(section, 4)
    rows = tyres_on_rims()
    if not rows[0].section_min <= width <= rows[-1].section_max:
        return None
    return next(row for row in reversed(rows) if width >= row.section_min)


@cache
def tool_classes() -> tuple[ToolClass, ...]:
    """Classes of setting torque tools, smallest first."""
    return tuple(
        ToolClass(
            units.parse(row["up_to"], "torque", "up_to").value,
            units.parse(row["tolerance"], "ratio", "tolerance").value,
            units.parse(row["mark"], "torque", "mark").value,
            row["source"],
        )
        for row in table(FILE)["torque_tool"]
    )


def tool_class(top: float) -> ToolClass:
    """The class of a tool whose scale ends at `top` [N·m]."""
    return next((row for row in tool_classes() if top <= row.up_to), tool_classes()[-1])


@cache
def dropper_travels() -> tuple[float, ...]:
    """Travels [m] that dropper posts are sold in, shortest first."""
    return tuple(
        units.parse(text, "length", "travel").value
        for text in table(FILE)["dropper_travels"]["values"]
    )


@cache
def fluids() -> dict[str, Fluid]:
    """Brake fluids by name."""
    return {row["name"]: Fluid(**row) for row in table(FILE)["fluid"]}
