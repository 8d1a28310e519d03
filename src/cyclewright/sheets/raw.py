"""Models back to the plain tables of a sheet, and words of a form to the values of a sheet."""

from __future__ import annotations

import re
from typing import Any

from cyclewright.sheets.layout import Slot, layout
from cyclewright.sheets.spec import Table
from cyclewright.units import Quantity, typed


def raw(table: Table) -> dict[str, Any]:
    """The plain tables that would read back as this model; what is absent has no key."""
    found: dict[str, Any] = {}
    for name in layout(type(table)):
        value = plain(getattr(table, name))
        if name == "parts":
            found.update(value)
        elif value not in (None, {}, []):
            found[name] = value
    return found


def plain(value: Any) -> Any:
    """One value as TOML holds it: a quantity as its text, tables as dictionaries."""
    if isinstance(value, Quantity):
        return value.text
    if isinstance(value, Table):
        return raw(value)
    if isinstance(value, tuple):
        return [plain(item) for item in value]
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    return value


def from_text(text: str, slot: Slot) -> Any:
    """Words typed into a form or a command as the TOML value that the field wants.

    What does not fit is handed on as it is, so that the field's own rule refuses it.
    """
    spec = slot.spec
    if spec is None:
        return text
    if spec.many:
        inner = text.strip().strip("[]")
        parts = typed.apart(inner) if spec.unit not in ("", "%") else inner.split(",")
        items = [item.strip() for item in parts if item.strip()]
        return [_one(item.strip("\"'"), slot) for item in items]
    return _one(text.strip(), slot)


def _one(text: str, slot: Slot) -> Any:
    shape = slot.spec.shape if slot.spec else "text"
    whole = shape == "count" or (slot.allowed and isinstance(slot.allowed[0], int))
    if whole and re.fullmatch(r"[+-]?\d{1,15}", text):
        return int(text)
    if shape == "flag":
        return {"true": True, "yes": True, "false": False, "no": False}.get(text.lower(), text)
    return text
