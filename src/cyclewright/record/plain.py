"""Dataclasses to plain JSON data and back, tolerant of fields that came or went since."""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Mapping
from functools import lru_cache
from typing import Any, TypeVar, Union, cast, get_args, get_origin, get_type_hints

Made = TypeVar("Made")


def to_plain(item: Any) -> Any:
    """Dataclasses, tuples and mappings as dicts and lists."""
    if dataclasses.is_dataclass(item) and not isinstance(item, type):
        return {f.name: to_plain(getattr(item, f.name)) for f in dataclasses.fields(item)}
    if isinstance(item, Mapping):
        return {str(key): to_plain(value) for key, value in item.items()}
    if isinstance(item, (list, tuple)):
        return [to_plain(value) for value in item]
    return item


def from_plain(kind: type[Made], data: Mapping[str, Any]) -> Made:
    """A dataclass from plain data; unknown keys are left out, missing ones take their default."""
    hints = _hints(cast(Any, kind))
    return kind(**{key: _shaped(hint, data[key]) for key, hint in hints.items() if key in data})


@lru_cache(maxsize=64)
def _hints(kind: type[Any]) -> dict[str, Any]:
    """The type of every field that a dataclass is made with."""
    hints = get_type_hints(kind)
    return {f.name: hints[f.name] for f in dataclasses.fields(kind) if f.init}


def _shaped(hint: Any, value: Any) -> Any:
    """A plain value in the shape its type hint asks for."""
    if value is None:
        return None
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return _shaped(next((arg for arg in args if arg is not type(None)), Any), value)
    if origin is tuple and isinstance(value, list):
        if args and args[-1] is not Ellipsis:
            return tuple(_shaped(arg, item) for arg, item in zip(args, value, strict=False))
        return tuple(_shaped(args[0] if args else Any, item) for item in value)
    if isinstance(hint, type) and dataclasses.is_dataclass(hint) and isinstance(value, Mapping):
        return from_plain(hint, value)
    if origin in (dict, Mapping) or (origin is not None and isinstance(value, dict)):
        inner = args[1] if len(args) == 2 else Any
        return {key: _shaped(inner, item) for key, item in value.items()}
    return value
