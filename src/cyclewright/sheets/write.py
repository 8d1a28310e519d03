"""Write sheets: a model as TOML, and changes into a text that keeps its comments and units."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from cyclewright.errors import InputError, Problem
from cyclewright.sheets import path as paths
from cyclewright.sheets.model import SheetKind
from cyclewright.sheets.raw import from_text, plain, raw
from cyclewright.sheets.read import raw_table, read
from cyclewright.sheets.spec import Table
from cyclewright.units import Quantity


def dump(model: Table) -> str:
    """The sheet as TOML that reads back as the same model, in the units it was written in.

    >>> from cyclewright.sheets.read import read
    >>> print(dump(read('country = "GB"\\n[trail]\\nslope = "12 %"', "place")), end="")
    country = "GB"
    <BLANKLINE>
    [trail]
    slope = "12 %"
    """
    return "\n".join(_lines(raw(model), "")).lstrip("\n") + "\n"


def toml_value(value: Any) -> str:
    """One value as TOML writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(toml_value(item) for item in value) + "]"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else str(value)


def edit(text: str, changes: Mapping[str, str | Quantity | None]) -> str:
    """The text of one sheet with fields set (or taken out, for None), all else as it stands.

    Paths begin with the sheet's kind, `bike.fork.travel`; the result is checked like any sheet.
    """
    problems: list[Problem] = []
    places = []
    for path, value in changes.items():
        try:
            places.append((_leaf(path), value))
        except InputError as error:
            problems.extend(error.problems)
    kinds = {place.kind for place, _ in places}
    if len(kinds) > 1:
        do = "these fields belong to different sheets: change one sheet at a time"
        problems.append(Problem("other-sheet", "change", do))
    if problems:
        raise InputError(problems)
    return _edited(text, places, kinds.pop()) if places else text


def _edited(
    text: str, places: list[tuple[paths.Place, str | Quantity | None]], kind: SheetKind
) -> str:
    import tomlkit

    raw_table(text, f"{kind} sheet")
    document = tomlkit.parse(text.removeprefix("\ufeff"))
    added: list[tuple[Any, Any]] = []
    for place, value in places:
        if value is None:
            _take_out(document, place.keys)
        else:
            written = value.text if isinstance(value, Quantity) else value
            _put(document, place, plain(from_text(written, place.slot)), added)
    for before, row in added:
        _hand_on_what_follows(before, row)
    made = tomlkit.dumps(document)
    read(made, kind)
    return made


def _leaf(path: str) -> paths.Place:
    place = paths.find(path)
    if place.slot.spec is None:
        raise InputError(Problem("table", path, "is a table: change one of its fields"))
    return place


def _put(document: Any, place: paths.Place, value: Any, added: list[tuple[Any, Any]]) -> None:
    import tomlkit

    here = document
    for position, key in enumerate(place.keys[:-1]):
        if isinstance(key, int):
            here = _row(here, key, place, added)
        else:
            if key not in here:
                rows = isinstance(place.keys[position + 1], int)
                here[key] = tomlkit.aot() if rows else tomlkit.table()
            here = here[key]
    here[place.keys[-1]] = value


def _row(rows: Any, number: int, place: paths.Place, added: list[tuple[Any, Any]]) -> Any:
    """The row of that number, made when it is the next one."""
    import tomlkit

    if number > len(rows):
        do = f"there are {len(rows)} rows: write a row from 1 to {len(rows) + 1}"
        raise InputError(Problem("no-such-row", place.path, do))
    if number == len(rows):
        rows.append(tomlkit.table())
        if number:
            added.append((rows[number - 1], rows[number]))
    return rows[number]


def _hand_on_what_follows(before: Any, row: Any) -> None:
    """Blank lines and comments after the last row belong after the new one."""
    import tomlkit

    body, tail = before.value.body, list[Any]()
    while body and body[-1][0] is None:
        tail.insert(0, body.pop())
    before.add(tomlkit.nl())
    for _, item in tail:
        row.add(item)


def _take_out(document: Any, keys: tuple[str | int, ...]) -> None:
    here = document
    for key in keys[:-1]:
        if (key not in here) if isinstance(key, str) else (key >= len(here)):
            return
        here = here[key]
    if keys[-1] in here:
        del here[keys[-1]]


def _lines(table: dict[str, Any], path: str) -> Iterator[str]:
    """Values first, then tables and rows, each under its own header."""
    for name, value in table.items():
        if not _is_table(value) and not _is_rows(value):
            yield f"{name} = {toml_value(value)}"
    for name, value in table.items():
        inner = f"{path}.{name}" if path else name
        if _is_table(value):
            if any(not _is_table(item) and not _is_rows(item) for item in value.values()):
                yield from ("", f"[{inner}]")
            yield from _lines(value, inner)
        elif _is_rows(value):
            for row in value:
                yield from ("", f"[[{inner}]]")
                yield from _lines(row, inner)


def _is_table(value: Any) -> bool:
    return isinstance(value, dict)


def _is_rows(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)
