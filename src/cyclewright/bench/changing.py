"""Changes that are more than a field: the rider, a swapped part, a whole sheet; looked at first."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from starlette.datastructures import FormData, UploadFile
from starlette.responses import Response

from cyclewright.bench import forms, views, visit
from cyclewright.bench.amounts import amount
from cyclewright.bench.forms import Form
from cyclewright.bench.render import (
    go,
    missing_page,
    page,
    person_of,
    session_of,
    shop_of,
    status_of,
)
from cyclewright.errors import Conflict, CyclewrightError, InputError, Refusal, input_error
from cyclewright.workshop import changing, choices, sheets
from cyclewright.workshop.changing import ChangeLook
from cyclewright.workshop.wanted import MARKS, Wanted, swappable

router = APIRouter(include_in_schema=False)

RIDER = ("name", "mass", "kit_mass", "height", "inseam", "ride", "hands_wish")
"""What the form asks of a rider; a whole sheet says more."""
_RIDES = ("cross-country", "trail", "enduro", "park", "mixed")
_HANDS = ("front-left", "front-right")
FIELD = "field:"
"""What stands before a field of the swapped part in its form."""
_LONGEST_SHEET = 1_000_000
_VERBS = {
    "rider": ("Fit this rider", "Fit this rider"),
    "nobody": ("Take the rider off", "Take the rider off"),
    "earlier": ("Go back to it", "Go back to it"),
    "swap": ("The part is swapped", "It is swapped"),
    "sheet": ("Put the sheet right", "Put it right"),
}
"""What the button of each act says, alone and before what it opens."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One field of a swapped part as the form asks for it."""

    field: str
    label: str
    unit: str
    options: tuple[str, ...]
    now: str
    typed: str


@dataclass(frozen=True, slots=True)
class Tried:
    """A change that was looked at and waits for its button."""

    what: str
    look: ChangeLook
    given: Mapping[str, str]
    """Every field of its form, to be sent again."""
    plain: str
    verb: str


@router.get("/bikes/{bike}/changes")
def show(request: Request, bike: int) -> Response:
    """The forms: another rider, a part swapped, a sheet put right.

    With `?part=` the fields that say which one is on the bike.
    """
    part = request.query_params.get("part", "")
    return _page(request, bike, given={"part": part} if part else {})


@router.post("/bikes/{bike}/changes/{what}")
def act(request: Request, bike: int, what: str, form: Form) -> Response:
    """What the change would do, then, with its button pressed, the change itself."""
    if what not in _VERBS:
        return missing_page(request)
    given = _given(form)
    try:
        wanted = _wanted(what, given, bool(forms.text(form, "as_found")))
        if not forms.text(form, "sure"):
            plain, verb = _VERBS[what]
            found = changing.look(shop_of(request), bike, wanted)
            return _page(request, bike, Tried(what, found, given, plain, verb), given)
        answer = changing.make(
            shop_of(request),
            bike,
            wanted,
            person_of(request),
            forms.optional(form, "uuid"),
            forms.number_of(form, "seen"),
        )
    except (InputError, Conflict, Refusal) as error:
        return _page(request, bike, None, given, error)
    session_of(request).said = visit.Told(views.sentence(answer.said), answer.reopened)
    path = f"/bikes/{bike}/build" if answer.reopened else f"/bikes/{bike}"
    return go(request, path, answer.to_json())


def _page(
    request: Request,
    bike: int,
    tried: Tried | None = None,
    given: Mapping[str, str] | None = None,
    error: CyclewrightError | None = None,
) -> Response:
    """The page with what was typed, what it would do, or why it cannot be."""
    shop = shop_of(request)
    seen = visit.of(shop, bike)
    context = {
        "visit": seen,
        "tried": tried,
        "given": given or {},
        "problems": () if error is None else error.problems,
        "setups": [row for row in seen.show.setups if not row.erased],
        "erased_setups": [row for row in seen.show.setups if row.erased],
        "parts": swappable(),
        "rides": _RIDES,
        "hands": _HANDS,
        "asked": _asked(shop.sheets(seen.state), given or {}),
        "said": session_of(request).take(),
    }
    if error is not None:
        data: dict[str, Any] = error.to_json()
    elif tried is not None:
        data = tried.look.to_json()
    else:
        data = {
            "rider": seen.rider,
            "setups": [row.to_json() for row in seen.show.setups],
            "parts": list(context["parts"]),
        }
    return page(request, "changing.html", data, context, 200 if error is None else status_of(error))


def _given(form: FormData) -> dict[str, str]:
    """What the form holds, a sheet's file as its text."""
    found: dict[str, str] = {}
    for key, value in form.multi_items():
        if isinstance(value, UploadFile):
            if value.filename:
                found[key] = _sheet_text(value)
        elif key not in ("uuid", "seen", "sure", "as_found") and value.strip():
            longest = _LONGEST_SHEET if key == "sheet" else forms.LONGEST + 1
            found[key] = value.strip()[: longest + 1]
    return found


def _sheet_text(file: UploadFile) -> str:
    body = file.file.read(_LONGEST_SHEET + 1)
    if len(body) > _LONGEST_SHEET:
        raise input_error("sheet-too-large", "sheet", "a sheet has at most 1 MB: which file is it?")
    try:
        return body.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:
        do = "is not UTF-8 text: save the file as UTF-8 text"
        raise input_error("sheet-encoding", "sheet", do) from None


def _wanted(what: str, given: Mapping[str, str], as_found: bool) -> Wanted:
    """The change that a form means."""
    if what == "rider":
        return Wanted(rider=given.get("sheet") or _rider(given), as_found=as_found)
    if what == "nobody":
        return Wanted(mass=amount(given.get("mass", ""), "kg"), as_found=as_found)
    if what == "earlier":
        text = given.get("earlier", "")
        if not text.isdecimal() or len(text) > 9:
            raise input_error("no-such-setup", "earlier", "choose one of the set-ups", value=text)
        return Wanted(earlier=int(text), as_found=as_found)
    if what == "sheet":
        return Wanted(sheet=given.get("sheet", ""), as_found=as_found)
    marks = tuple((key, given[key]) for key in MARKS if key in given)
    part = given.get("part", "")
    return Wanted(part=part, changes=_changes(given), marks=marks, as_found=as_found)


def _changes(given: Mapping[str, str]) -> tuple[str, ...]:
    """What is different on the new part; fields left empty are as they were."""
    unit_of = {info.path: info.unit for info in sheets.fields("bike")}
    typed = {key.removeprefix(FIELD): text for key, text in given.items() if key.startswith(FIELD)}
    return tuple(
        f"{name}={amount(text, unit_of.get(name, ''))}" if unit_of.get(name) else f"{name}={text}"
        for name, text in typed.items()
    )


def _asked(now: Any, given: Mapping[str, str]) -> list[Asked]:
    """The fields of the part that is chosen, each with what is on the bike now."""
    found = swappable().get(given.get("part", ""))
    if found is None:
        return []
    known = {info.path: info for info in sheets.fields("bike")}
    asked = []
    for name in found.fields:
        info = known[name]
        choice = info.shape in ("choice", "flag")
        options = tuple(info.allowed.split(", ")) if choice else ()
        text = given.get(f"{FIELD}{name}", "")
        before = (choices.written(now, name) or "").strip("()")
        asked.append(Asked(name, views.field_words(name), info.unit, options, before, text))
    return asked


def _rider(given: Mapping[str, str]) -> str:
    """The rider's sheet that the form's answers make."""
    unit_of = {info.path.removeprefix("rider."): info.unit for info in sheets.fields("rider")}
    lines = []
    for key in RIDER:
        if key in given:
            usual = "cm" if key in ("height", "inseam") else unit_of.get(key, "")
            value = amount(given[key], usual) if usual else given[key]
            lines.append(f"{key} = {json.dumps(value, ensure_ascii=False)}")
    if "mass_includes_kit" in given:
        lines.append("mass_includes_kit = true")
    return "\n".join(lines)
