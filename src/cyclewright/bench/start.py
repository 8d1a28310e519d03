"""Quick start: nine answers, the first figures, and the bike put on the bench."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.datastructures import FormData, UploadFile
from starlette.responses import Response

from cyclewright.bench import forms, views
from cyclewright.bench.amounts import amount, tyre
from cyclewright.bench.forms import Form
from cyclewright.bench.render import go, page, person_of, shop_of
from cyclewright.errors import InputError, Problem
from cyclewright.setting import Setting
from cyclewright.workshop import advising, choices, receive, sheets

if TYPE_CHECKING:
    from cyclewright.workshop.answers import AdviceAnswer

router = APIRouter(include_in_schema=False)

UNITS = {
    "fork_travel": "mm",
    "rear_travel": "mm",
    "shock_stroke": "mm",
    "height": "cm",
    "mass": "kg",
    "inseam": "cm",
}
"""The unit that a form's field shows, added to a bare number."""

KEYS = ("kind", "country", "tyre", "tubeless", "hooked", *UNITS)

_SHOWN = (
    ("fork_sag", "Fork ring at", "From the seal, rider on."),
    ("shock_sag", "Shock ring at", "From the seal, rider on."),
    ("front_tyre_pressure", "Front tyre", "Never above what tyre or rim is marked."),
    ("rear_tyre_pressure", "Rear tyre", "Never above what tyre or rim is marked."),
    ("saddle_height", "Saddle height", "Bottom bracket to saddle top."),
)

_HOOKLESS = "None without hooks before both makers allow this tyre on this rim."


@dataclass(frozen=True, slots=True)
class FirstAnswer:
    """One of the first figures, what it is called there, and where it is read."""

    setting: Setting
    what: str
    note: str


@router.get("/start")
def ask(request: Request) -> Response:
    """The nine questions."""
    return _form(request, {})


@router.post("/start")
def answer(request: Request, form: Form) -> Response:
    """The first figures of the nine answers; nothing is stored."""
    given = forms.kept(form, KEYS)
    try:
        read = sheets.quick_start(_answers(given)).sheets()
    except InputError as error:
        return _form(request, given, error)
    advice = advising.advise(read)
    hands = choices.hands(read)
    overview = sheets.overview(read)
    questions = views.once((*overview.questions, *advice.questions))
    data = {"answers": given, "hands": views.plain(hands), **advice.to_json()}
    context = {
        "given": given,
        "hands": {"word": _hand_word(hands), "note": _hand_note(hands)},
        "answers": _first(advice, questions),
        "questions": questions,
        "stops": [item for item in advice.findings if item.severity == "stop"],
        "defaults": overview.defaults,
    }
    return _at("/start?answered", page(request, "start_answers.html", data, context))


@router.post("/start/edit")
def edit(request: Request, form: Form) -> Response:
    """The nine questions again, with what was answered."""
    return _at("/start", _form(request, forms.kept(form, KEYS)))


@router.post("/start/open")
def open_from_answers(request: Request, form: Form) -> Response:
    """Put the bike of the nine answers on the bench."""
    given = forms.kept(form, KEYS)
    try:
        read = sheets.quick_start(_answers(given)).sheets()
    except InputError as error:
        return _form(request, given, error)
    uuid = forms.optional(form, "uuid")
    number = receive.open_bike(shop_of(request), read, by=person_of(request), uuid=uuid)
    return go(request, f"/bikes/{number}")


@router.post("/start/sheets")
def open_from_sheets(request: Request, form: Form) -> Response:
    """Put a bike on the bench from its sheets."""
    try:
        files = {key: _file(form, key) for key in ("bike", "rider", "place")}
        missing = [
            Problem("missing", key, f"choose the {key} sheet")
            for key in ("bike", "place")
            if files[key] is None
        ]
        if missing:
            raise InputError(missing)
        mass = amount(stated, "kg") if (stated := forms.text(form, "mass")) else None
        read = sheets.read_text(files["bike"] or b"", files["rider"], files["place"] or b"", mass)
        uuid = forms.optional(form, "uuid")
        number = receive.open_bike(shop_of(request), read, by=person_of(request), uuid=uuid)
    except InputError as error:
        return _form(request, {}, error, sheets_open=True)
    return go(request, f"/bikes/{number}")


def _form(
    request: Request,
    given: Mapping[str, str],
    error: InputError | None = None,
    sheets_open: bool = False,
) -> Response:
    """The form with every problem at its field and nothing lost."""
    problems = () if error is None else error.problems
    bad: dict[str, list[Problem]] = {}
    for problem in problems:
        bad.setdefault(problem.field, []).append(problem)
    elsewhere = tuple(problem for problem in problems if problem.field not in KEYS or sheets_open)
    data: dict[str, Any] = {"questions": list(KEYS)} if error is None else error.to_json()
    context = {
        "given": given,
        "bad": bad,
        "problems": elsewhere,
        "countries": choices.countries(),
        "sheets_open": sheets_open,
    }
    return page(request, "start.html", data, context, 200 if error is None else 422)


def _answers(given: Mapping[str, str]) -> dict[str, str]:
    """The answers as the quick start reads them: units added, what does not apply left out."""
    answers = {
        key: amount(value, UNITS[key]) if key in UNITS else value for key, value in given.items()
    }
    answers["tyre"] = tyre(answers.get("tyre", ""))
    if answers.get("kind") != "full-suspension":
        answers.pop("rear_travel", None)
        answers.pop("shock_stroke", None)
    if answers.get("kind") == "rigid":
        answers.pop("fork_travel", None)
    return answers


def _at(address: str, answer: Response) -> Response:
    """A page that can be left and come back to: an address that is asked for, never sent to."""
    answer.headers["HX-Push-Url"] = address
    return answer


def _file(form: FormData, key: str) -> bytes | None:
    """An uploaded sheet, None when none was chosen."""
    found = form.get(key)
    if not isinstance(found, UploadFile) or not found.filename:
        return None
    return found.file.read()


def _first(advice: AdviceAnswer, questions: Sequence[Any]) -> list[FirstAnswer]:
    """The figures that a bike has, in the order in which they are wanted."""
    asked = any(item.field.endswith("hookless_ok") for item in questions)
    found = []
    for name, what, note in _SHOWN:
        setting = advice.setting(name)
        if setting is not None:
            missing = _HOOKLESS if asked else setting.because
            found.append(FirstAnswer(setting, what, missing if setting.value is None else note))
    return found


def _hand_word(hands: choices.HandsAnswer) -> str:
    return "ask" if hands.front is None else f"{hands.front} hand"


def _hand_note(hands: choices.HandsAnswer) -> str:
    if hands.front is None:
        return (
            "Nothing is on file for this country: ask the importer or the national standards "
            "body, and the rider."
        )
    if hands.basis == "rider":
        return "By the rider's signed order."
    basis = {"law": "The law", "standard": "A standard"}.get(hands.basis or "", "Custom")
    return f"{basis} there has it so ({hands.source}). The other lever works the rear brake."
