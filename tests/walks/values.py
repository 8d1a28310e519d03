"""Another value for any field of the sheets: near the one it has, and one that may be."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cyclewright.errors import InputError
from cyclewright.sheets import path
from cyclewright.sheets.sheets import Sheets, change
from cyclewright.units import DIMENSIONS

UNIT = {name: si for name, (si, _, _) in DIMENSIONS.items()}
SIZES = ("29x2.3", "29x2.5", "27.5x2.4")


def others(field: str, value: object) -> Iterator[str]:
    """Texts that the field may hold instead, the likeliest first."""
    spec = path.find(field).slot.spec
    assert spec is not None, field
    if spec.shape == "flag":
        yield "false" if value else "true"
    elif spec.shape == "choice":
        yield from (str(item) for item in path.find(field).slot.allowed if item != value)
    elif spec.shape == "count" and not spec.many:
        yield from (str(int(str(value)) + step) for step in (1, -1, 2))
    elif spec.many:
        yield from _lists(value, spec.dimension)
    elif spec.shape == "quantity":
        yield from _near(float(str(value)), spec.dimension)
    elif spec.shape == "size":
        yield from (size for size in SIZES if size != value)
    elif field == "place.country":
        yield from ("US", "DE", "GB", "FR")
    elif field.endswith(".thread"):
        yield from ("M6", "M5")
    else:
        yield f"{value} II"


def _near(value: float, dimension: str) -> Iterator[str]:
    unit = UNIT[dimension] if dimension not in ("number", "ratio") else ""
    unit = {"Pa": "Pa", "rad": "rad", "N·m": "N.m", "N/m": "N/m"}.get(unit, unit)
    for factor in (1.06, 0.94, 1.02, 0.98, 1.3, 0.7):
        yield f"{value * factor:.9g} {unit}".strip()
    yield f"{value + 0.004:.9g} {unit}".strip()


def _lists(value: Any, dimension: str) -> Iterator[str]:
    items = list(value)
    one = items[-1]
    if isinstance(one, int):
        yield "[" + ", ".join(str(item) for item in [*items[:-1], one - 1]) + "]"
    else:
        unit = UNIT[dimension]
        texts = [f'"{item * 1.02:.9g} {unit}"' for item in items]
        yield "[" + ", ".join(texts) + "]"


def another(sheets: Sheets, field: str, value: object) -> Sheets | None:
    """The sheets with another value in that field; None where no other may stand there."""
    text = another_text(sheets, field, value)
    return None if text is None else change(sheets, [f"{field}={text}"])


def another_text(sheets: Sheets, field: str, value: object) -> str | None:
    """Another value that may stand in that field, as a person writes it."""
    for text in others(field, value):
        try:
            change(sheets, [f"{field}={text}"])
        except InputError:
            continue
        return text
    return None
