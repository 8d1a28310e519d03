"""Evidence typed in or photographed at the bench, checked against what the step asks for."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cyclewright import units
from cyclewright.errors import InputError, Problem, RangeError
from cyclewright.workshop.shop import Shop, checked_text, printable

if TYPE_CHECKING:
    from cyclewright.record.state import StepState
    from cyclewright.record.steps import Step
    from cyclewright.workshop.worth import Span, Worth

Number = str | float | int
LEAST_OF_MAX = 0.3
"""Share of its setting under which a joint with a maximum alone was not tightened (judgement)."""


@dataclass(frozen=True, slots=True)
class Given:
    """What a person gave for one step; numbers without a unit are SI."""

    value: Number | None = None
    torque: Number | None = None
    photo: Path | str | bytes | None = None
    word: str | None = None
    """Whose word it is: the maker's where figures leave no setting or there is none, or whoever
    says that a value far from what is advised is meant."""
    as_set: bool = False
    """The tool stood at the step's setting and clicked: the tick of a card."""


def evidence(step: Step, given: Given, worth: Worth, held: StepState) -> dict[str, Any]:
    """The evidence as it is recorded, but for the photo; all that is wrong is told at once.

    A problem on record at the step wants a word of what was done about it.
    """
    problems: list[Problem] = list(worth.unfit(step, given.word))
    if held.status == "problem" and given.word is None:
        do = f"a problem is on record, {held.said}: say as a word what was done about it"
        problems.append(Problem("problem-open", f"{step.id}.word", do))
    found: dict[str, Any] = {"tick": True}
    if given.word is not None:
        _collect(problems, found, "word", lambda: checked_text(given.word or "", "word"))
    if given.torque is not None or (given.as_set and step.torque is not None):
        _collect(problems, found, "torque", lambda: _torque(step, given, worth))
    if given.value is not None:
        kind = "text" if "text" in step.evidence and "value" not in step.evidence else "value"
        _collect(problems, found, kind, lambda: _value(step, given, kind, worth))
    told = {problem.field for problem in problems}
    if "torque" in found and step.torque is None and "word" not in found:
        problems.append(_wanted(step, "word"))
    problems += [
        _wanted(step, kind)
        for kind in ("torque", "value", "text", "photo")
        if kind in step.evidence
        and kind not in found
        and not (kind == "photo" and given.photo is not None)
        and f"{step.id}.{kind}" not in told
    ]
    if problems:
        outside = all(problem.code.endswith("-outside") for problem in problems)
        raise (RangeError if outside else InputError)(problems)
    return found


def same(recorded: Mapping[str, Any], given: Given) -> bool:
    """Whether evidence on record is what is given now, by the words of it."""
    kept = [item.get("text") if isinstance(item, Mapping) else item for item in recorded.values()]
    told = {printable(text) for text in kept if isinstance(text, str)}
    words = (given.torque, given.value, given.word)
    return all(
        told & {printable(text), units.typed.hand(text)} for text in words if isinstance(text, str)
    )


def photo(shop: Shop, source: Path | str | bytes, field: str = "photo") -> dict[str, str]:
    """A photo kept as an attachment, without position data; what events refer to it by."""
    from cyclewright.store import photos

    content = source if isinstance(source, bytes) else _file(Path(source), field)
    address = shop.store.attach(photos.clean(content, field), photos.MEDIA)
    return {"attachment": address, "media": photos.MEDIA}


def _file(path: Path, field: str) -> bytes:
    from cyclewright.store.photos import LARGEST

    try:
        if not path.is_file():
            raise InputError(Problem("no-file", field, "there is no such file", str(path)))
        if path.stat().st_size > LARGEST:
            raise InputError(Problem("not-a-photo", field, "give at most 40 MB", str(path)))
        return path.read_bytes()
    except InputError:
        raise
    except (OSError, ValueError) as error:
        raise InputError(
            Problem("no-file", field, f"it cannot be read: {error}", str(path))
        ) from None


def _collect(problems: list[Problem], found: dict[str, Any], kind: str, made: Any) -> None:
    try:
        found[kind] = made()
    except InputError as error:
        problems.extend(error.problems)


def _wanted(step: Step, kind: str) -> Problem:
    field = f"{step.id}.{kind}"
    if kind == "torque":
        do = f"give the torque it was set to, {_set_to(step)}"
        return Problem("torque-missing", field, f"{do}{_and_whose(step)}")
    if kind == "word":
        do = "no figure is known for this joint: find it, and say whose it is with the torque"
        return Problem("word-missing", field, f"{do} (the maker's page, the mark on the part)")
    if kind == "photo":
        return Problem("photo-missing", field, "take one, it is the proof of this step")
    if kind == "text":
        return Problem("text-missing", field, "say in a few words what was found")
    what, unit = _asked(step)
    unit = f" in {unit}" if unit else ""
    return Problem("value-missing", field, f"give the {what}{unit}")


def _asked(step: Step) -> tuple[str, str]:
    """What a step wants read, and in which unit."""
    record = step.data.get("record")
    if isinstance(record, Mapping):
        return str(record.get("what") or "value"), str(record.get("unit") or "")
    return str(record or "value"), ""


def _set_to(step: Step) -> str:
    window = step.torque or {}
    if window.get("set") is None:
        return "in N.m"
    return f'like "{window["set"]:g} N.m"'


def _and_whose(step: Step) -> str:
    return "" if step.torque is not None else ", and whose figure it is: none is known here"


def _torque(step: Step, given: Given, worth: Worth) -> dict[str, Any]:
    """The torque that was set, inside its figures, or one that such a joint can have at all."""
    from cyclewright.record.steps import torque_fits

    field, window = f"{step.id}.torque", step.torque or {}
    if given.torque is None:
        if window.get("set") is None:
            none = window.get("unreached") or "its figures leave no setting"
            do = f"{none}; give the torque that it was set to, and with which tool or whose word"
            raise InputError(Problem("torque-missing", field, do))
        value, text = float(window["set"]), f"{window['set']:g} N·m, tool at its setting"
    else:
        value, text = _number(given.torque, "torque", field, "N·m")
        value = _at_a_mark(value, window, text)
    if value <= 0:
        raise RangeError(Problem("torque-outside", field, "give what the tool was set to", text))
    if step.torque is None and "torque" not in step.evidence:
        do = "leave the torque out: this step tightens nothing to a figure"
        raise RangeError(Problem("torque-outside", field, do, text))
    empty = window.get("low") is None and window.get("high") is None
    if step.torque is not None and empty and given.word is None:
        raise RangeError(
            Problem(
                "torque-outside",
                field,
                "the makers' figures leave no setting: do not tighten it, ask them, and record "
                "their word with it",
                text,
            )
        )
    worded = given.word is not None
    if step.torque is not None and not empty and not torque_fits(window, value, worded):
        raise RangeError(_outside(field, window, value, text))
    if (span := worth.span(step)) is not None and (slip := _slip(span, window, value)):
        raise RangeError(Problem("torque-outside", field, slip, text, "N·m"))
    return {"value": value, "unit": "N·m", "text": text}


def _at_a_mark(value: float, window: Mapping[str, Any], text: str) -> float:
    """An end of a window [N·m] for a torque in inch or foot pounds that is its nearest mark.

    A wrench may have whole marks only, so one of these is near enough to a single figure. The
    ends of a range hold to the last digit that is told: a tenth, from 20 N·m a whole one.
    """
    unit = units.unit_written(text, "torque")
    if isinstance(text, str) and ("lb" in unit.lower() or "pound" in unit.lower()):
        one = units.parse("1 in.lbf", "torque").value
        low, high = window.get("low"), window.get("high")
        single = low is not None and low == high
        for end in (float(end) for end in (low, high) if end is not None):
            mark = one if single or end >= 20 else 0.1 * one
            if abs(value - end) <= 0.5 * mark + 1e-9:
                return end
    return value


def _slip(span: Span, window: Mapping[str, Any], value: float) -> str:
    """What to do about a torque that no such joint has; a figure's own ends were asked before."""
    least, most = span.least, span.most
    if window.get("set") is not None:
        least = min(least, LEAST_OF_MAX * float(window["set"]))
    above = window.get("high") is None and value > most + 1e-6
    if not above and (window.get("low") is not None or value >= least - 1e-6):
        return ""
    joint = span.joint.replace("_", " ")
    article = "an" if joint[:1] in "aeiou" else "a"
    far = "more" if above else "less"
    again = "stop: loosen it, look at both parts" if above else "tighten it again"
    return (
        f"{far} than {article} {joint} can have: {again}, read the tool and its unit again; if its "
        f"maker really says so, put it on the sheet (bike.fastener.{span.joint})"
    )


def _outside(field: str, window: Mapping[str, Any], value: float, text: str) -> Problem:
    low, high, setting = window.get("low"), window.get("high"), window.get("set")
    again = f"set the tool to {setting:g} N·m" if setting is not None else "ask its maker"
    if high is not None and high < value <= (window.get("most") or high) + 1e-6:
        do = (
            f"{again}, as the tool may be off; if it is the maker's own key that clicks at its "
            "figure, say so as the word"
        )
    elif high is not None and value > high:
        do = (
            f"stop: loosen it and look at both parts, record a problem if one is marked, else "
            f"{again} and tighten again"
        )
    else:
        do = f"{again} and tighten again"
    whose = f", {window['whose']}" if window.get("whose") else ""
    top = "" if high is None else f"to {high:g} N·m"
    allowed = f"{low:g} {top}{whose}" if low is not None else f"up {top}{whose}"
    return Problem("torque-outside", field, do, text, "N·m", allowed)


def _value(step: Step, given: Given, kind: str, worth: Worth) -> dict[str, Any]:
    field, number = f"{step.id}.{kind}", given.value
    what, unit = _asked(step)
    if kind == "text" or (not unit and not _is_number(number)):
        return {"text": _words(step, checked_text(str(number), field), field)}
    dimension = dimension_of(unit)
    value, text, each = _measured(step, number, dimension, field, unit)
    if unit == "clicks" and value != round(value):
        do = "count whole clicks out from closed"
        raise RangeError(Problem("value-outside", field, do, text, unit))
    record = step.data.get("record")
    if isinstance(record, Mapping):
        _check_record(field, what, unit, record, value, text)
        _check_worth(field, what, unit, record, value, text, worth, given.word)
    told = {"value": value, "unit": units.DIMENSIONS[dimension][0], "text": text}
    return told | ({"extra": worth.beside(sag_of(step), each)} if each else {})


def sag_of(step: Step) -> str:
    """The kind of reading that a step is, where it reads a ring or a shock's length."""
    record = step.data.get("record")
    kind = str(record.get("reading") or "") if isinstance(record, Mapping) else ""
    return kind if kind.endswith("-sag") else ""


def _measured(
    step: Step, number: Number | None, dimension: str, field: str, unit: str
) -> tuple[float, str, tuple[float, ...]]:
    """A value [SI] and its words; of a sag the mean of its sit-downs, and each of them."""
    from cyclewright.workshop.readings import sit_downs

    if sag_of(step) and isinstance(number, str):
        each = sit_downs(number, dimension, field)
        return math.fsum(each) / len(each), number, each
    value, text = _number(number if number is not None else "", dimension, field, unit)
    return value, text, (value,) if sag_of(step) else ()


FEWEST = 2
"""Letters and digits without which nothing was said."""


def _words(step: Step, text: str, field: str) -> str:
    """Words that a step takes as proof; where only one answer proves it, no other does."""
    asked = step.data.get("record")
    record: Mapping[str, Any] = asked if isinstance(asked, Mapping) else {}
    what, _ = _asked(step)
    options = tuple(record.get("options") or ())
    if len(options) > 1 or record.get("must_be"):
        return _option(record, text, field, what, options)
    fewest = max(int(record.get("letters") or 0), FEWEST)
    if sum(char.isalnum() for char in text) < fewest:
        do = f"write the {what} in full, at least {fewest} letters or digits"
        raise InputError(Problem("too-short", field, do, text))
    named = str(record.get("names") or "")
    if named and named not in text.casefold():
        do = f"the order is for the {named} hand: write which hand it says, or plan again by it"
        raise RangeError(Problem("value-outside", field, do, text, None, named))
    if record.get("day"):
        _check_day(text, field)
    return text


def _option(
    record: Mapping[str, Any], text: str, field: str, what: str, options: tuple[str, ...]
) -> str:
    """One of the words on offer, and the one that alone proves the step where there is one."""
    must_be = str(record.get("must_be") or "")
    if "front-left" in (*options, must_be) or "front-right" in (*options, must_be):
        text = units.typed.hand(text)
    said = text.casefold().replace(" ", "-")
    found = next((word for word in options if word.casefold() == said), None)
    if options and found is None and said != must_be.casefold():
        do = f"give the {what}"
        raise RangeError(Problem("value-outside", field, do, text, None, " or ".join(options)))
    if must_be and said != must_be.casefold():
        do = f"put it right and look again, or record a problem: the {what} proves this step"
        if sheet := record.get("sheet"):
            do = (
                f"put it right and look again, or record a problem; if it is so, correct the sheet "
                f"first ({sheet}={said})"
            )
        raise RangeError(Problem("value-outside", field, do, text, None, must_be))
    return text


def _check_day(text: str, field: str) -> None:
    """A day that is booked stands in the words, and lies ahead."""
    from cyclewright.record.care import day_in

    found = day_in(text)
    if not found:
        do = "write the day that was booked into it, like 2031-05-24"
        raise InputError(Problem("day-missing", field, do, text))
    if found < (date.today() - timedelta(days=1)).isoformat():
        raise RangeError(Problem("day-outside", field, "book a day that lies ahead", found))


def _check_record(
    field: str, what: str, unit: str, record: Mapping[str, Any], value: float, text: str
) -> None:
    """A reading outside the step's own limits is not done, it is a problem to look at."""
    shown = value / _si(1.0, unit)
    low, high = record.get("low"), record.get("high")
    if (low is not None and shown < low - 1e-9) or (high is not None and shown > high + 1e-9):
        ends = [f"at least {low:g}" if low is not None else "", f"at most {high:g}" if high else ""]
        allowed = f"{' and '.join(end for end in ends if end)} {unit}".strip()
        do = f"put the {what} right and read it again, or record a problem"
        raise RangeError(Problem("value-outside", field, do, text, unit or None, allowed))


def _check_worth(
    field: str,
    what: str,
    unit: str,
    record: Mapping[str, Any],
    value: float,
    text: str,
    worth: Worth,
    word: str | None,
) -> None:
    """A value beyond a limit is not done; one far from what is advised wants somebody's word."""
    doubt = worth.doubt(str(record.get("setting") or record.get("limit") or ""), value)
    if doubt is None or (word is not None and not doubt.final):
        return
    if doubt.final:
        do = f"put the {what} right and read it again, or record a problem"
        raise RangeError(Problem("value-outside", field, do, text, unit or None, doubt.allowed))
    do = f"{doubt.allowed}: read it and its unit again; if it is meant so, say whose word that is"
    raise RangeError(Problem("word-outside", field, do, text, unit or None))


def _is_number(given: Number | None) -> bool:
    if isinstance(given, (int, float)):
        return True
    try:
        float(given or "")
    except ValueError:
        return False
    return True


def dimension_of(unit: str) -> str:
    """The dimension of a unit as steps and readings spell it; counts are numbers.

    >>> dimension_of("psi"), dimension_of("mm"), dimension_of("clicks")
    ('pressure', 'length', 'number')
    """
    if unit in ("", "1"):
        return "number"
    plain = unit.replace("^", "")
    for dimension, (_, _, table) in units.DIMENSIONS.items():
        if plain in table and plain != "":
            return dimension
    return "number"


def _si(number: float, unit: str) -> float:
    dimension = dimension_of(unit)
    if dimension in ("number", "temperature"):
        return number
    return number * units.DIMENSIONS[dimension][2][unit.replace("^", "")]


def _number(given: Number, dimension: str, field: str, unit: str) -> tuple[float, str]:
    """SI value and the text that was given; a bare number from a program is SI already."""
    if isinstance(given, (int, float)) and not isinstance(given, bool):
        if not abs(given) < 1e12:
            raise InputError(Problem("not-a-quantity", field, "give a finite number", str(given)))
        si = units.DIMENSIONS[dimension][0]
        return float(given), f"{given:g} {si if si != '1' else unit}".strip()
    written = str(given).strip()
    if dimension == "number" and unit:
        written = written.removesuffix(unit).strip()
    return units.parse(written, dimension, field).value, str(given).strip()


def display_of(unit: str, name: str = "") -> tuple[str, float]:
    """The tool's unit and step in which a value of an SI unit is usually shown."""
    if unit == "Pa" and "tyre" in name:
        return "psi", 0.5
    if unit == "m" and name.endswith("-drop"):
        return "mm", 0.5
    return _SHOWN.get(unit, (unit if unit != "1" else "", 1.0))


_SHOWN = {
    "Pa": ("psi", 1.0),
    "m": ("mm", 1.0),
    "rad": ("°", 0.5),
    "N·m": ("N·m", 0.1),
    "N/m": ("N/mm", 1.0),
    "kg": ("kg", 0.1),
    "K": ("°C", 1.0),
}
