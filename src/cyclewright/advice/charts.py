"""Makers' charts and click tables: the row that holds, word for word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cyclewright.sheets.bike import ChartRow, ClickRow, Fork, Shock
from cyclewright.units import show

POUND = 0.45359237
PSI = 6894.757293168361

PRACTICE_FORK = (83.9, 80 * PSI)
"""Rider mass [kg] and pressure [Pa gauge]: 170 to 200 lb against about 80 psi."""
PRACTICE_LEVERAGE = 2.6
"""Leverage for which the habit of one psi a pound of rider on the shock is meant."""


@dataclass(frozen=True, slots=True)
class Anchor:
    """A pressure someone vouches for at one riding mass, and how closely it pins the spring."""

    pressure: float
    maker: bool
    inside: bool
    words: str
    source: str


def anchor(unit: Fork | Shock, mass: float, leverage: float) -> Anchor:
    """The maker's chart at this riding mass, else the trade's habit."""
    if unit.chart:
        return _charted(unit.chart, mass)
    if isinstance(unit, Fork):
        kilograms, pressure = PRACTICE_FORK
        words = "no maker's chart, so the default: 80 psi at 84 kg, in proportion"
        return Anchor(pressure * mass / kilograms, False, True, words, "common practice, no source")
    words = "no maker's chart, so the default: 1 psi a pound of rider at a leverage of 2.6"
    pressure = mass / POUND * PSI * leverage / PRACTICE_LEVERAGE
    return Anchor(pressure, False, True, words, "common practice, no source")


def click_row(rows: Sequence[ClickRow], pressure: float) -> ClickRow | None:
    """The maker's row for this pressure; the nearest one where it falls between or outside."""
    if not rows:
        return None
    return min(rows, key=lambda row: _distance(_span(row.pressure_min, row.pressure_max), pressure))


def _charted(rows: Sequence[ChartRow], mass: float) -> Anchor:
    row = min(rows, key=lambda item: _distance(_span(item.mass_min, item.mass_max), mass))
    low, high = _span(row.mass_min, row.mass_max)
    pressure = 0.0 if row.pressure is None else row.pressure.value
    named = f"{low:.0f} to {high:.0f} kg: {show(pressure, 'psi', 1.0)}"
    if low <= mass <= high:
        return Anchor(pressure, True, True, f"the maker's chart for {named}", "maker's chart")
    edge = low if mass < low else high
    words = f"{mass:.0f} kg is off the maker's chart; carried on from its last row, {named}"
    return Anchor(pressure * mass / edge, False, False, words, "model from the maker's last row")


def _span(low: object, high: object) -> tuple[float, float]:
    return float(getattr(low, "value", 0.0)), float(getattr(high, "value", 0.0))


def _distance(span: tuple[float, float], value: float) -> tuple[float, float]:
    """How far outside the span a value lies, then how far from its middle."""
    low, high = span
    return max(low - value, value - high, 0.0), abs(value - (low + high) / 2)
