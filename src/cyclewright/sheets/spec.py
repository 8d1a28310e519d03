"""What a field of a sheet is: its meaning, unit and bounds, and the table it stands in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from cyclewright.units import DIMENSIONS, Quantity

Policy = Literal["ask", "labelled default", "optional"]
Shape = Literal["quantity", "count", "text", "choice", "flag", "size", "country", "thread"]


@dataclass(frozen=True, slots=True)
class Spec:
    """What one field means, what it is written in, what it may be, and whether it may be guessed.

    `low` and `high` are SI bounds of what can exist at all, not of what is wise. `required` says
    when a sheet without it is refused, empty for never.
    """

    shape: Shape
    meaning: str
    policy: Policy = "optional"
    dimension: str = ""
    low: float | None = None
    high: float | None = None
    many: bool = False
    required: str = ""

    @property
    def unit(self) -> str:
        """The unit to write it in, empty for counts and words."""
        if self.dimension == "length" and self.high is not None and self.high > 2:
            return "m"
        return DIMENSIONS[self.dimension][1] if self.dimension else ""


def quantity(
    dimension: str,
    meaning: str,
    low: float,
    high: float,
    policy: Policy = "optional",
    required: str = "",
    many: bool = False,
) -> Spec:
    """A quantity with its dimension and its bounds in SI."""
    return Spec("quantity", meaning, policy, dimension, low, high, many, required)


def length(
    meaning: str, low: float, high: float, policy: Policy = "optional", required: str = ""
) -> Spec:
    """A length whose bounds are given in millimetres."""
    return quantity("length", meaning, low / 1000, high / 1000, policy, required)


def pressure(meaning: str, high: float, policy: Policy = "ask", low: float = 0.0) -> Spec:
    """A gauge pressure whose bounds are given in bar."""
    return quantity("pressure", meaning, low * 1e5, high * 1e5, policy)


def angle(meaning: str, low: float, high: float, policy: Policy = "optional") -> Spec:
    """An angle whose bounds are given in degrees."""
    degree = DIMENSIONS["angle"][2]["deg"]
    return quantity("angle", meaning, low * degree, high * degree, policy)


def count(
    meaning: str, low: int, high: int, policy: Policy = "optional", many: bool = False
) -> Spec:
    """A whole number."""
    return Spec("count", meaning, policy, "", low, high, many)


def choice(meaning: str, policy: Policy = "optional", required: str = "") -> Spec:
    """One of the words that the field's type lists."""
    return Spec("choice", meaning, policy, required=required)


def flag(meaning: str, policy: Policy = "optional") -> Spec:
    """Yes or no."""
    return Spec("flag", meaning, policy)


def text(meaning: str, policy: Policy = "optional") -> Spec:
    """Words as they are on paper."""
    return Spec("text", meaning, policy)


Measure = Quantity | None


class Table(BaseModel):
    """One table of a sheet: frozen, and with no field that is not named here."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    @classmethod
    def specs(cls) -> dict[str, Spec]:
        """The described leaf fields of this table by name; nested tables are not in it."""
        found: dict[str, Spec] = {}
        for name, info in cls.model_fields.items():
            spec = next((item for item in info.metadata if isinstance(item, Spec)), None)
            if spec is not None:
                found[name] = spec
        return found


def table(kind: type[Any]) -> Any:
    """A table in a table, there even when the sheet leaves it out."""
    return Field(default_factory=kind)
