"""Dotted paths such as `bike.fork.chart[2].pressure`: where they lead, in models and in tables."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, cast

from cyclewright.errors import InputError, Problem
from cyclewright.sheets.bike import Fastener
from cyclewright.sheets.build import good_name, unknown_field
from cyclewright.sheets.layout import Slot, slots
from cyclewright.sheets.model import MODELS, SheetKind
from cyclewright.sheets.spec import Table

_PART = re.compile(r"(?P<name>[^\[\]]+)(?:\[(?P<row>\d{1,3})\])?")


@dataclass(frozen=True, slots=True)
class Place:
    """Where a path leads: its sheet, the keys from there, and the slot at its end."""

    path: str
    kind: SheetKind
    keys: tuple[str | int, ...]
    slot: Slot


def find(path: str) -> Place:
    """The place a path names, or a refusal that names the nearest field.

    >>> find("bike.fork.chart[2].pressure").keys
    ('fork', 'chart', 1, 'pressure')
    """
    path = path.strip()
    kind, _, rest = path.partition(".")
    if kind not in MODELS or not rest:
        do = "begin the field with bike., rider. or place., like bike.fork.travel"
        raise InputError(Problem("unknown-key", path[:80], do))
    return _walk(path, kind, rest.split("."))


def _walk(path: str, kind: SheetKind, parts: list[str]) -> Place:
    model: type[Table] | None = MODELS[kind]
    keys: list[str | int] = []
    slot = Slot("table", table=model)
    so_far: str = kind
    while parts:
        part = parts.pop(0)
        match = _PART.fullmatch(part)
        known = {} if model is None else slots(model)
        if match is None or match["name"] not in known:
            raise InputError(unknown_field(f"{so_far}.{part}", kind, known))
        slot = known[match["name"]]
        keys.append(match["name"])
        if match["row"] is not None:
            if slot.role != "rows" and not (slot.spec and slot.spec.many):
                raise InputError(unknown_field(f"{so_far}.{part}", kind, known))
            keys.append(int(match["row"]) - 1)
            slot = Slot("table", slot.spec, slot.table, slot.allowed)
        if slot.role == "named" and parts:
            keys.append(good_name(parts.pop(0), f"{so_far}.{part}"))
            slot = Slot("table", table=slot.table)
        if slot.role == "rows" and parts:
            do = f"say which row, like {so_far}.{part}[1].{'.'.join(parts)}"
            raise InputError(Problem("which-row", path, do))
        model = slot.table
        so_far = f"{so_far}.{part}"
    return Place(path, kind, tuple(keys), slot)


def value_in(sheet: Table | None, place: Place) -> Any:
    """What stands there in a model: None where nothing is written."""
    here: Any = sheet
    for key in place.keys:
        if here is None:
            return None
        if isinstance(here, Fastener) and key in ("a", "b"):
            here = here.parts.get(key)
        elif isinstance(here, dict):
            here = here.get(key)
        elif isinstance(key, int):
            here = here[key] if 0 <= key < len(here) else None
        else:
            here = getattr(here, key)
    return here


def with_value(sheet: Table, place: Place, value: Any) -> Table:
    """The sheet with a typed value at a field of plain tables; what is checked is the caller's."""
    return _with(sheet, place.keys, value)


def _with(table: Table, keys: tuple[str | int, ...], value: Any) -> Table:
    name = cast(str, keys[0])
    inner = value if len(keys) == 1 else _with(getattr(table, name), keys[1:], value)
    return table.model_copy(update={name: inner})


def put(raw: dict[str, Any], place: Place, value: Any) -> None:
    """Write the value into plain tables, making the tables on the way."""
    here: Any = raw
    for key, after in zip(place.keys, place.keys[1:], strict=False):
        if isinstance(key, int):
            here = _row(here, key, place)
        else:
            here = here.setdefault(key, [] if isinstance(after, int) else {})
    last = place.keys[-1]
    if isinstance(last, int):
        _row(here, last, place)
    here[last] = value


def _row(rows: list[Any], number: int, place: Place) -> Any:
    if not 0 <= number <= len(rows):
        do = f"there are {len(rows)} rows: write a row from 1 to {len(rows) + 1}"
        raise InputError(Problem("no-such-row", place.path, do))
    if number == len(rows):
        rows.append({})
    return rows[number]
