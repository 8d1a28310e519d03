"""Every field of the sheets in one table: unit, meaning, what it may be, whether it is guessed."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

from cyclewright.sheets.build import allowed
from cyclewright.sheets.layout import Slot, leaves
from cyclewright.sheets.model import MODELS, SheetKind
from cyclewright.sheets.spec import Policy, Shape


@dataclass(frozen=True, slots=True)
class FieldInfo:
    """One field; in `path`, `[]` stands for a row's number and `NAME` for a name of choice."""

    path: str
    dimension: str
    unit: str
    meaning: str
    default_policy: Policy
    allowed: str
    shape: Shape
    many: bool
    required: str
    """When a sheet without it is refused: always, a condition in words, or empty for never."""

    def to_json(self) -> dict[str, Any]:
        """The field as plain data."""
        return asdict(self)


@cache
def fields(kind: SheetKind | None = None) -> tuple[FieldInfo, ...]:
    """The fields of one kind of sheet, or of all three, in the order of the sheet.

    >>> fields("place")[0].path
    'place.country'
    """
    kinds = tuple(MODELS) if kind is None else (kind,)
    return tuple(
        _info(f"{one}.{path}", slot) for one in kinds for path, slot in leaves(MODELS[one])
    )


def _info(path: str, slot: Slot) -> FieldInfo:
    spec = slot.spec
    assert spec is not None, "only leaves are fields"
    return FieldInfo(
        path,
        spec.dimension,
        spec.unit,
        spec.meaning,
        spec.policy,
        allowed_words(slot),
        spec.shape,
        spec.many,
        spec.required,
    )


def allowed_words(slot: Slot) -> str:
    """What the field may be, in words."""
    spec = slot.spec
    if spec is None:
        return ""
    if spec.shape == "choice":
        return ", ".join(str(item) for item in slot.allowed)
    if spec.shape == "flag":
        return "true, false"
    return allowed(spec)
