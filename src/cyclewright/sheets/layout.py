"""How a model is laid out: which of its names are leaves, tables, rows, or tables by name."""

from __future__ import annotations

import typing
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from cyclewright.sheets.bike import Fastener, Figures
from cyclewright.sheets.spec import Spec, Table

Role = Literal["leaf", "table", "rows", "named"]


@dataclass(frozen=True, slots=True)
class Slot:
    """One name of a table: a leaf with its spec, or a table of some kind."""

    role: Role
    spec: Spec | None = None
    table: type[Table] | None = None
    allowed: tuple[Any, ...] = ()


@cache
def layout(kind: type[Table]) -> dict[str, Slot]:
    """Every name of the table in the order of its model.

    >>> from cyclewright.sheets.bike import Fork
    >>> layout(Fork)["kind"].allowed
    ('air', 'coil', 'rigid')
    >>> layout(Fork)["chart"].role
    'rows'
    """
    specs = kind.specs()
    return {
        name: _leaf(specs[name], info.annotation) if name in specs else _nested(info.annotation)
        for name, info in kind.model_fields.items()
    }


def slots(kind: type[Table]) -> dict[str, Slot]:
    """The names a sheet may write: a fastener's parts stand beside its own fields as a and b."""
    found = dict(layout(kind))
    if kind is Fastener:
        del found["parts"]
        found["a"] = found["b"] = Slot("table", table=Figures)
    return found


def leaves(kind: type[Table], prefix: str = "") -> Iterator[tuple[str, Slot]]:
    """Every leaf under the table with its dotted path; rows as `[]`, names of choice as NAME."""
    for name, slot in slots(kind).items():
        path = f"{prefix}.{name}" if prefix else name
        if slot.table is None:
            yield path, slot
        else:
            mark = {"table": "", "rows": "[]", "named": ".NAME"}[slot.role]
            yield from leaves(slot.table, path + mark)


def _leaf(spec: Spec, annotation: Any) -> Slot:
    return Slot("leaf", spec=spec, allowed=_literals(annotation))


def _literals(annotation: Any) -> tuple[Any, ...]:
    if typing.get_origin(annotation) is Literal:
        return typing.get_args(annotation)
    return tuple(item for arg in typing.get_args(annotation) for item in _literals(arg))


def _nested(annotation: Any) -> Slot:
    inside = typing.get_args(annotation)
    if typing.get_origin(annotation) is tuple:
        return Slot("rows", table=inside[0])
    if typing.get_origin(annotation) is dict:
        return Slot("named", table=inside[1])
    return Slot("table", table=annotation)
