"""Turn plain tables into models, field by field, collecting every problem on the way.

Sheets, forms and changes on the command line all pass through here, so each rule is told in the
same words wherever it is broken.
"""

from __future__ import annotations

import difflib
import math
import re
from datetime import date, time
from typing import Any, cast

from cyclewright import units
from cyclewright.errors import InputError, Problem
from cyclewright.sheets import country
from cyclewright.sheets.bike import Fastener
from cyclewright.sheets.layout import Slot, leaves, slots
from cyclewright.sheets.model import MODELS, SheetKind
from cyclewright.sheets.rules import rules
from cyclewright.sheets.spec import Spec, Table
from cyclewright.units import DIMENSIONS, Quantity

MOST_PROBLEMS = 60
MOST_ROWS = 200
LONGEST_TEXT = 200
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,39}")
_THREAD = re.compile(
    r"(M\d{1,2}(\.\d{1,2})?(x\d(\.\d{1,2})?)?|\d{1,2}/\d{1,2}(in)?[x-]\d{1,2})", re.I
)


def build(raw: dict[str, Any], kind: SheetKind, problems: list[Problem]) -> Table:
    """The model of that sheet; what is wrong goes to `problems`, at most sixty of them."""
    found = _Problems(problems)
    model = _table(raw, MODELS[kind], kind, kind, found)
    if not found.strangers_of_another_sheet(raw, kind):
        for problem in rules(kind, model, found.fields()):
            found.add(problem)
    found.close()
    return model


class _Problems:
    """The problems of one sheet, kept to a number that a person can read."""

    def __init__(self, problems: list[Problem]) -> None:
        self.kept = problems
        self.start = len(problems)
        self.more = 0

    @property
    def full(self) -> bool:
        return len(self.kept) - self.start >= MOST_PROBLEMS

    def add(self, problem: Problem) -> None:
        if self.full:
            self.more += 1
        else:
            self.kept.append(problem)

    def fields(self) -> frozenset[str]:
        return frozenset(problem.field for problem in self.kept[self.start :])

    def close(self) -> None:
        if self.more:
            self.kept.append(
                Problem(
                    "more", "", f"and {self.more} more problems of this sheet: mend these first"
                )
            )

    def strangers_of_another_sheet(self, raw: dict[str, Any], kind: SheetKind) -> bool:
        """Say so once, instead of line by line, when the sheet is plainly one of another kind."""
        strangers = set(raw) - set(slots(MODELS[kind]))
        fits: dict[SheetKind, int] = {
            other: len(strangers & set(slots(MODELS[other]))) for other in MODELS if other != kind
        }
        best = max(fits, key=lambda other: fits[other])
        if fits[best] >= max(1, (len(raw) + 1) // 2):
            del self.kept[self.start :]
            self.more = 0
            do = f"this is a {best} sheet: give a {kind} sheet here"
            self.add(Problem("other-sheet", f"{kind} sheet", do))
            return True
        return False


def _table(raw: Any, model: type[Table], path: str, kind: SheetKind, found: _Problems) -> Table:
    values: dict[str, Any] = {}
    if not isinstance(raw, dict):
        do = f"is {_what(raw)} where a table belongs: write [{_inner(path)}] and its fields below"
        found.add(Problem("table-wanted", path, do))
        return model.model_construct()
    names = slots(model)
    for key, value in raw.items():
        slot = names.get(key)
        if slot is None:
            found.add(_unknown(key, path, names, kind, found))
            continue
        got = _slot(value, slot, f"{path}.{key}", kind, found)
        if got is not None:
            values[key] = got
    if model is Fastener:
        values["parts"] = {key: values.pop(key) for key in ("a", "b") if key in values}
    return model.model_construct(**values)


def _slot(value: Any, slot: Slot, path: str, kind: SheetKind, found: _Problems) -> Any:
    if slot.role == "leaf":
        return _leaf(value, slot, path, found)
    model = cast(type[Table], slot.table)
    if slot.role == "table":
        return _table(value, model, path, kind, found)
    if slot.role == "rows":
        return _rows(value, model, path, kind, found)
    return _named(value, model, path, kind, found)


def _rows(
    value: Any, model: type[Table], path: str, kind: SheetKind, found: _Problems
) -> tuple[Table, ...]:
    if not isinstance(value, list):
        do = f"is {_what(value)} where rows belong: write [[{_inner(path)}]] once for each row"
        found.add(Problem("rows-wanted", path, do))
        return ()
    if len(value) > MOST_ROWS:
        do = f"has {len(value)} rows: {MOST_ROWS} are plenty, check which table this is"
        found.add(Problem("rows-too-many", path, do))
        return ()
    return tuple(
        _table(row, model, f"{path}[{number}]", kind, found) for number, row in enumerate(value, 1)
    )


def _named(
    value: Any, model: type[Table], path: str, kind: SheetKind, found: _Problems
) -> dict[str, Table]:
    if not isinstance(value, dict):
        do = f"is {_what(value)} where tables belong: write [{_inner(path)}.NAME] for each"
        found.add(Problem("table-wanted", path, do))
        return {}
    if len(value) > MOST_ROWS:
        do = f"has {len(value)} entries: {MOST_ROWS} are plenty, check which table this is"
        found.add(Problem("rows-too-many", path, do))
        return {}
    made: dict[str, Table] = {}
    for key, inner in value.items():
        try:
            made[key] = _table(inner, model, f"{path}.{good_name(key, path)}", kind, found)
        except InputError as error:
            found.add(error.problems[0])
    return made


def good_name(key: str, path: str) -> str:
    """A name of the writer's own choice, such as a pivot's or a fastener's."""
    if _NAME.fullmatch(key):
        return key
    do = "name it with letters, digits, - and _, beginning with a letter"
    raise InputError(Problem("bad-name", f"{path}.{_shown_key(key)}", do))


def _leaf(value: Any, slot: Slot, path: str, found: _Problems) -> Any:
    spec = cast(Spec, slot.spec)
    try:
        if not spec.many:
            return _one(value, slot, spec, path)
        if not isinstance(value, list):
            raise _error("list-wanted", path, value, "write a list, like [1, 2]", spec)
        if len(value) > MOST_ROWS:
            raise _error("rows-too-many", path, value, f"list at most {MOST_ROWS}", spec)
    except InputError as error:
        for problem in error.problems:
            found.add(problem)
        return None
    got = []
    for number, item in enumerate(value, 1):
        try:
            got.append(_one(item, slot, spec, f"{path}[{number}]"))
        except InputError as error:
            for problem in error.problems:
                found.add(problem)
    return tuple(got) if len(got) == len(value) else None


def _one(value: Any, slot: Slot, spec: Spec, path: str) -> Any:
    if isinstance(value, (dict, list, date, time)):
        raise _error("value-wanted", path, value, f"write {_wanted(slot, spec)}", spec)
    if spec.shape == "quantity":
        return in_range(_parsed(value, spec, path), spec, path)
    if spec.shape == "count":
        return _count(value, spec, path)
    if spec.shape == "flag":
        if not isinstance(value, bool):
            raise _error("yes-or-no", path, value, "write true or false, without quotes", spec)
        return value
    if spec.shape == "choice":
        return _choice(value, slot, spec, path)
    return _words(value, spec, path)


def _parsed(value: Any, spec: Spec, path: str) -> Quantity:
    if isinstance(value, float) and not math.isfinite(value):
        raise _error("not-a-quantity", path, value, "write a finite number", spec)
    if isinstance(value, int) and abs(value) > 10**15:
        raise _error("not-a-quantity", path, "a huge number", "write a number and its unit", spec)
    return units.parse(value, spec.dimension, path)


def in_range(quantity: Quantity, spec: Spec, path: str) -> Quantity:
    """The quantity itself when it can exist at all."""
    low, high = cast(float, spec.low), cast(float, spec.high)
    slack = 1e-9 * max(abs(low), abs(high))
    if not low - slack <= quantity.value <= high + slack:
        if quantity.value < 0 <= low:
            do = "cannot be negative: read it again"
        else:
            do = "cannot be: read it again, and its unit"
        raise InputError(
            Problem("out-of-range", path, do, quantity.text, spec.unit or None, allowed(spec))
        )
    if quantity.sigma is not None and quantity.sigma > (high - low) / 2:
        do = "the ± is wider than the value can be: write one standard deviation"
        raise InputError(Problem("sigma-too-wide", path, do, quantity.text, spec.unit or None))
    return quantity


def _count(value: Any, spec: Spec, path: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise _error("count-wanted", path, value, "write a whole number, without quotes", spec)
    low, high = cast(float, spec.low), cast(float, spec.high)
    if not low <= value <= high:
        shown = str(value) if abs(value) < 10**15 else "a huge number"
        raise InputError(
            Problem("out-of-range", path, "cannot be: count again", shown, None, allowed(spec))
        )
    return value


def _choice(value: Any, slot: Slot, spec: Spec, path: str) -> Any:
    if isinstance(value, str) and "front-left" in slot.allowed:
        value = units.typed.hand(value)
    if isinstance(value, bool) or value not in slot.allowed:
        near = _nearest(str(value), [str(item) for item in slot.allowed])
        do = f"did you mean {near}?" if near else "write one of these"
        words = ", ".join(str(item) for item in slot.allowed)
        raise InputError(Problem("not-a-choice", path, do, _shown(value), None, words))
    return value


def _words(value: Any, spec: Spec, path: str) -> str:
    if not isinstance(value, str):
        raise _error("text-wanted", path, value, "write it in quotes", spec)
    text = value.strip()
    if not text or len(text) > LONGEST_TEXT or not text.isprintable():
        do = f"write one line of 1 to {LONGEST_TEXT} printable characters, or leave it out"
        raise _error("text-wanted", path, value, do, spec)
    if spec.shape == "size":
        units.tyre_size(text, path)
    if spec.shape == "thread" and not _THREAD.fullmatch(text.replace("×", "x")):
        raise _error(
            "not-a-thread", path, value, 'write it like "M5", "M12x1.5" or "9/16x20"', spec
        )
    if spec.shape == "country":
        if not country.known(text):
            raise _error("not-a-country", path, value, country.what_to_write(text), spec)
        return text.upper()
    return text


def allowed(spec: Spec) -> str:
    """The range of a field in the unit it is written in.

    >>> from cyclewright.sheets.rider import Rider
    >>> allowed(Rider.specs()["mass"])
    '15 to 250 kg'
    """
    if spec.low is None or spec.high is None:
        return ""
    unit = spec.unit
    shown = "°C" if unit == "degC" else unit
    if spec.dimension in ("number", "") or not unit:
        return f"{spec.low:g} to {spec.high:g}"
    factor = DIMENSIONS[spec.dimension][2][unit.replace("^", "")]
    offset = 273.15 if unit == "degC" else 0.0
    ends = [(end - offset) / factor for end in (spec.low, spec.high)]
    digits = 6 if all(abs(end - round(end)) < 1e-9 for end in ends) else 4
    return f"{ends[0]:.{digits}g} to {ends[1]:.{digits}g} {shown}"


def unknown_field(path: str, kind: SheetKind, names: dict[str, Slot]) -> Problem:
    """What to say of a path that no sheet of this kind has; `names` are those of its table."""
    head, _, key = path.rpartition(".")
    return _unknown(key, head or kind, names, kind, None)


def _unknown(
    key: str, path: str, names: dict[str, Slot], kind: SheetKind, found: _Problems | None
) -> Problem:
    field = f"{path}.{_shown_key(key)}"
    if found is not None and found.full:
        return Problem("unknown-key", field, "no such field")
    close = _close(key, path, names, kind)
    if close:
        return Problem("unknown-key", field, f"no such field; did you mean {' or '.join(close)}?")
    do = "no such field: take it out, or see the list of sheet fields"
    return Problem("unknown-key", field, do)


def _close(key: str, path: str, names: dict[str, Slot], kind: SheetKind) -> list[str]:
    """The fields that were meant: almost this name here, this name elsewhere, or like it."""
    near = [f"{path}.{name}" for name in difflib.get_close_matches(key[:60], names, 1, 0.75)]
    paths = [leaf for leaf, _ in leaves(MODELS[kind])]
    same = [f"{kind}.{leaf}" for leaf in paths if leaf.rpartition(".")[2] == key][:3]
    whole = f"{path}.{key[:60]}".removeprefix(f"{kind}.")
    like = [f"{kind}.{leaf}" for leaf in difflib.get_close_matches(whole, paths, 1, 0.6)]
    return near or same or like


def _nearest(word: str, words: list[str]) -> str:
    close = difflib.get_close_matches(word[:60].lower(), words, 1, 0.6)
    return close[0] if close else ""


def _wanted(slot: Slot, spec: Spec) -> str:
    if spec.shape == "quantity":
        return f'a number and its unit, like "20 {spec.unit}"' if spec.unit else "a number"
    if spec.shape == "choice":
        return "one of " + ", ".join(str(item) for item in slot.allowed)
    return {"count": "a whole number", "flag": "true or false"}.get(spec.shape, "a text in quotes")


def _error(code: str, path: str, value: Any, do: str, spec: Spec) -> InputError:
    return InputError(Problem(code, path, do, _shown(value), spec.unit or None))


def _shown(value: Any) -> str:
    if isinstance(value, (dict, list)):
        return _what(value)
    if isinstance(value, int) and abs(value) > 10**15:
        return "a huge number"
    return str(value).lower() if isinstance(value, bool) else str(value)[:200]


def _what(value: Any) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, (date, time)):
        return "a date"
    return f'"{_shown_key(value)}"' if isinstance(value, str) else _shown(value)


def _shown_key(key: str) -> str:
    clean = "".join(char if char.isprintable() else "?" for char in key)
    return clean if len(clean) <= 40 else clean[:39] + "…"


def _inner(path: str) -> str:
    return re.sub(r"\[\d+\]", "", path.partition(".")[2])
