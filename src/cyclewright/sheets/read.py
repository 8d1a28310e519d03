"""Read a sheet from TOML: everything that is wrong with it is told at once, in plain lines."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from typing import Any, Literal, overload

from cyclewright.errors import InputError, Problem, input_error
from cyclewright.sheets.bike import Bike
from cyclewright.sheets.build import build
from cyclewright.sheets.model import SheetKind
from cyclewright.sheets.place import Place
from cyclewright.sheets.rider import Rider
from cyclewright.sheets.spec import Table

LARGEST = 1_000_000
LONGEST_LINE = 2_000
DEEPEST = 100
Source = Path | bytes | str


@overload
def read(source: Source, kind: Literal["bike"], name: str | None = None) -> Bike: ...
@overload
def read(source: Source, kind: Literal["rider"], name: str | None = None) -> Rider: ...
@overload
def read(
    source: Source, kind: Literal["place"], name: str | None = None, *, stored: bool = False
) -> Place: ...
def read(
    source: Source, kind: SheetKind, name: str | None = None, *, stored: bool = False
) -> Table:
    """The sheet of that kind from a path, its bytes or its text.

    On a sheet `stored` in a record letters that name no country count as nobody having said which:
    earlier versions took any two, and the bike is still there.

    >>> read('country = "GB"', "place").country
    'GB'
    """
    called = f"{kind} sheet" + (f" {name}" if name else _called(source))
    raw = raw_table(source, called)
    problems: list[Problem] = []
    model = build(raw, kind, problems)
    wrong = [item for item in problems if not (stored and item.code == "not-a-country")]
    if wrong:
        raise InputError(wrong)
    return model


def raw_table(source: Source, called: str) -> dict[str, Any]:
    """The TOML document as plain tables, after every check that comes before its fields."""
    data = _bytes(source, called)
    if len(data) > LARGEST:
        raise _too_large(called, len(data))
    text = _text(data, called)
    _check_lines(text, called)
    try:
        raw = tomllib.loads(text)
    except RecursionError:
        raise _nested(called) from None
    except ValueError as error:
        raise input_error("sheet-torn", called, _torn(error)) from None
    if not raw:
        raise input_error(
            "sheet-empty", called, "holds no fields: start from an example or the quick start"
        )
    return raw


def _check_lines(text: str, called: str) -> None:
    """Refuse the lines on which a TOML reader would spend minutes."""
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > LONGEST_LINE:
            do = f"line {number} is {len(line)} characters long: write one fact a line"
            raise input_error("sheet-line-too-long", called, do)
        if not line.startswith("#") and line.partition("=")[0].count(".") > DEEPEST:
            raise _nested(called)


def _nested(called: str) -> InputError:
    do = "is nested far too deeply: no field needs more than five dots"
    return input_error("sheet-nested", called, do)


def _called(source: Source) -> str:
    return f" {source.name}" if isinstance(source, Path) else ""


def _bytes(source: Source, called: str) -> bytes:
    if isinstance(source, bytes):
        return source
    if isinstance(source, str):
        return source.encode("utf-8", "surrogatepass")
    try:
        with source.open("rb") as file:
            data, size = file.read(LARGEST + 1), os.fstat(file.fileno()).st_size
    except IsADirectoryError:
        do = "is a folder: name the sheet inside it"
        raise input_error("sheet-missing", called, do) from None
    except FileNotFoundError:
        do = f"there is no file {source}: check the path"
        raise input_error("sheet-missing", called, do) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "the path is not valid"
        raise input_error("sheet-unreadable", called, f"cannot be read: {why}") from None
    if len(data) > LARGEST:
        raise _too_large(called, size)
    return data


def _too_large(called: str, size: int) -> InputError:
    do = f"has {max(size, LARGEST + 1) / 1e6:.1f} MB, a sheet at most 1: check which file this is"
    return input_error("sheet-too-large", called, do)


def _text(data: bytes, called: str) -> str:
    if b"\x00" in data:
        raise input_error(
            "sheet-binary", called, "is not text: a sheet is a TOML file saved as UTF-8"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise input_error(
            "sheet-encoding", called, f"line {line} is not UTF-8: save the file as UTF-8 text"
        ) from None
    return text.replace("\r\n", "\n")


def _torn(error: ValueError) -> str:
    reason = str(error) if isinstance(error, tomllib.TOMLDecodeError) else "a number is too long"
    clean = "".join(char if char.isprintable() else " " for char in reason)[:160]
    return f"is not whole TOML: {clean[:1].lower()}{clean[1:]}; mend that line"
