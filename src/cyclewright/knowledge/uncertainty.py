"""How far an input may be off where its sheet does not say: one sourced row a field."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

from cyclewright import units
from cyclewright.knowledge.data import knowledge_error, table
from cyclewright.units import DIMENSIONS, Quantity

FILE = "uncertainty.toml"


@dataclass(frozen=True, slots=True)
class Row:
    """One standard deviation of a field: SI when absolute, a share of the value when relative."""

    name: str
    value: float
    kind: Literal["absolute", "relative"]
    unit: str
    meaning: str
    source: str

    def of(self, value: float) -> float:
        """The standard deviation [SI] of a field whose value is this.

        >>> sigma("bike.mass").of(15.0)
        0.75
        """
        return self.value * abs(value) if self.kind == "relative" else self.value


def sigma(name: str) -> Row:
    """The row of that name.

    >>> sigma("rider.mass").value
    2.0
    """
    row = rows().get(name)
    if row is None:
        raise knowledge_error(FILE, f"add a row for {name}")
    return row


def spread(quantity: Quantity, name: str) -> float:
    """The standard deviation [SI] of a quantity: its own ± where it has one, else the row's.

    >>> spread(Quantity(84.0, 1.0, "84 kg ± 1"), "rider.mass")
    1.0
    """
    return sigma(name).of(quantity.value) if quantity.sigma is None else quantity.sigma


@lru_cache(maxsize=1)
def rows() -> dict[str, Row]:
    """Every row by its name."""
    return {name: _row(name, entry) for name, entry in table(FILE).items()}


def _row(name: str, entry: dict[str, Any]) -> Row:
    if set(entry) != {"value", "dimension", "kind", "meaning", "source"}:
        raise knowledge_error(FILE, f"{name} wants value, dimension, kind, meaning and source")
    if entry["kind"] not in ("absolute", "relative") or not entry["source"]:
        raise knowledge_error(FILE, f"{name} wants a kind, absolute or relative, and a source")
    dimension = entry["dimension"]
    value = units.parse(entry["value"], dimension, name).value
    if dimension == "temperature":
        value -= units.parse("0 degC", dimension).value
    if value <= 0:
        raise knowledge_error(FILE, f"{name} wants a spread above zero")
    unit = DIMENSIONS[dimension][0]
    return Row(name, value, entry["kind"], unit, entry["meaning"], entry["source"])
