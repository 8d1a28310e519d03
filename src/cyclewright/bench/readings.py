"""Readings: fields that start empty beside what is expected, and what to set next."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
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
    system_of,
)
from cyclewright.errors import InputError, NotConverged
from cyclewright.setting import Setting
from cyclewright.units import System, in_system
from cyclewright.workshop import advising, procedure, readings

if TYPE_CHECKING:
    from cyclewright.workshop.answers import ReadingAnswer
    from cyclewright.workshop.history import HistoryRow
    from cyclewright.workshop.procedure import Procedure
    from cyclewright.workshop.shop import Shop

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of reading: the setting it reads, how to ask, and what to mind."""

    key: str
    setting: str
    label: str
    ask: str
    hint: str = ""
    cautions: tuple[visit.Caution, ...] = ()
    sits: bool = False
    """Whether three sit-downs are averaged."""


_PUMP = (
    visit.Caution("stop", "Only a suspension pump; never open a charged chamber."),
    visit.Caution("know", "The pump's hose fills from the spring: read with the pump on."),
)
_LIES = visit.Caution("check", "Fully extended before you begin? One that is held down lies.")
_DROP = "The difference of two heights of the axle, to half a millimetre."

KINDS = (
    Kind(
        "fork-sag",
        "fork_sag",
        "Fork ring",
        "How far is the ring from the fork's seal?",
        cautions=(_LIES,),
        sits=True,
    ),
    Kind(
        "shock-sag",
        "shock_sag",
        "Shock ring",
        "How far is the ring from the shock's seal?",
        cautions=(_LIES,),
        sits=True,
    ),
    Kind(
        "fork-pressure",
        "fork_pressure",
        "Fork pressure",
        "What does the pump on the fork say?",
        cautions=_PUMP,
    ),
    Kind(
        "shock-pressure",
        "shock_pressure",
        "Shock pressure",
        "What does the pump on the shock say?",
        cautions=_PUMP,
    ),
    Kind(
        "front-tyre",
        "front_tyre_pressure",
        "Front tyre",
        "What does the front tyre's gauge say?",
        "Always the same gauge.",
    ),
    Kind(
        "rear-tyre",
        "rear_tyre_pressure",
        "Rear tyre",
        "What does the rear tyre's gauge say?",
        "Always the same gauge.",
    ),
    Kind(
        "front-drop",
        "front_tyre_drop",
        "Front tyre under load",
        "How much lower is the front axle with the rider standing on the bike?",
        _DROP,
        sits=True,
    ),
    Kind(
        "rear-drop",
        "rear_tyre_drop",
        "Rear tyre under load",
        "How much lower is the rear axle with the rider standing on the bike?",
        _DROP,
        sits=True,
    ),
)
MORE = 2
"""Fields for further sit-downs."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A kind of reading on this bike, with what is expected and what was read last."""

    key: str
    label: str
    ask: str
    hint: str
    cautions: Sequence[visit.Caution]
    start: str
    step: str
    expected: str
    interval: str
    last: str
    sits: bool
    unit: str


@router.get("/bikes/{bike}/readings")
def show(request: Request, bike: int) -> Response:
    """Every reading this bike takes, and those already taken."""
    seen = visit.of(shop_of(request), bike)
    system = system_of(request)
    kinds = [
        _asked(kind, found, seen, system) for kind, found in settings_of(shop_of(request), bike)
    ]
    past = [_past(row, system) for row in reversed(seen.show.history)]
    data = {
        "bike": bike,
        "kinds": [kind.key for kind in kinds],
        "readings": list(seen.show.readings),
        "history": [row.to_json(system) for row in seen.show.history],
    }
    said = told.text if (told := session_of(request).take()) else ""
    context = {"visit": seen, "kinds": kinds, "past": past, "said": said}
    return page(request, "readings.html", data, context)


@router.get("/bikes/{bike}/readings/{kind}")
def ask(request: Request, bike: int, kind: str) -> Response:
    """One reading, empty beside what is expected; once what the last one said."""
    told = session_of(request).take()
    answer = None if told is None else told.answer
    return _ask(request, bike, kind, answer=answer if answer and answer.kind == kind else None)


@router.post("/bikes/{bike}/readings/{kind}")
def read(request: Request, bike: int, kind: str, form: Form) -> Response:
    """Take the reading; its page then says the next setting, or to stop."""
    given = forms.texts(form, "value")
    shop = shop_of(request)
    pairs = {key.key: (key, found) for key, found in settings_of(shop, bike)}
    if kind not in pairs:
        return missing_page(request, "This bike takes no such reading.")
    asked, setting = pairs[kind]
    unit = _unit(setting, system_of(request))
    try:
        answer = readings.read(
            shop,
            bike,
            kind,
            ", ".join(amount(each, unit) for each in _apart(given, asked)),
            by=person_of(request),
            uuid=forms.optional(form, "uuid"),
            device_time=forms.optional(form, "device_time"),
            at=forms.optional(form, "at"),
        )
    except InputError as wrong:
        return _ask(request, bike, kind, given, error=_in_words(wrong, asked, setting))
    session_of(request).said = visit.Told(views.sentence(answer.said), answer=answer)
    return go(request, f"/bikes/{bike}/readings/{kind}", answer.to_json())


_SIT_DOWNS = re.compile(r"\d{2,3}(?:\s*[,;]\s*\d{2,3})+")
"""Whole millimetres with commas between them: no ring is read to a hundredth."""


def _apart(given: Sequence[str], asked: Kind) -> list[str]:
    """What was typed, each sit-down by itself, also where several stand in one field."""
    return [
        each
        for text in given
        for each in (
            re.split(r"\s*[,;]\s*", text) if asked.sits and _SIT_DOWNS.fullmatch(text) else [text]
        )
    ]


def _ask(
    request: Request,
    bike: int,
    key: str,
    given: Sequence[str] = (),
    *,
    answer: ReadingAnswer | None = None,
    error: InputError | None = None,
) -> Response:
    """The page of one reading, with what was typed when it could not be."""
    seen = visit.of(shop_of(request), bike)
    pairs = {kind.key: (kind, found) for kind, found in settings_of(shop_of(request), bike)}
    if key not in pairs:
        return missing_page(request, "This bike takes no such reading.")
    steps = procedure.procedure(shop_of(request), bike, key)
    context = reading_context(seen, *pairs[key], steps, given, answer, error, system_of(request))
    data = error.to_json() if error else answer.to_json() if answer else {"bike": bike, "kind": key}
    return page(request, "reading.html", data, context, 422 if error else 200)


def reading_context(
    seen: visit.Visit,
    kind: Kind,
    setting: Setting | None,
    steps: Procedure,
    given: Sequence[str] = (),
    answer: ReadingAnswer | None = None,
    error: InputError | None = None,
    system: System = "trade",
) -> dict[str, Any]:
    """What the page of one reading shows."""
    return {
        "visit": seen,
        "kind": _asked(kind, setting, seen, system),
        "answer": answer,
        "steps": steps,
        "given": list(given),
        "more": range(1, MORE + 1) if kind.sits else (),
        "then": _then(answer),
        "next": _shown(answer.next_setting if answer else None, system),
        "next_words": _next_words(answer.next_setting if answer else None),
        "expected": _shown(answer.expected if answer else None, system),
        "problems": error.problems if error else (),
        "at_which": views.pressures(error.problems if error else ()),
    }


def _in_words(error: InputError, kind: Kind, setting: Setting | None) -> InputError:
    """What a reading refuses, by what its page calls it."""
    label = _of_coil(kind, setting).label
    return type(error)(
        replace(problem, field=label) if problem.field == kind.key else problem
        for problem in error.problems
    )


def _next_words(setting: Setting | None) -> str:
    """How a setting is asked for: air is set, a coil is fitted."""
    if setting is None:
        return ""
    if setting.name.endswith("_rate"):
        return f"Next, fit a {setting.name.partition('_')[0]} coil of"
    return f"Next, set the {setting.label.lower()} to"


@dataclass(frozen=True, slots=True)
class Then:
    """The reading that follows from what the last one said."""

    key: str
    words: str


_SET_BY = {
    "fork_pressure": "fork-pressure",
    "shock_pressure": "shock-pressure",
    "front_tyre_pressure": "front-tyre",
    "rear_tyre_pressure": "rear-tyre",
}
_READ_AFTER = {"fork-pressure": "fork-sag", "shock-pressure": "shock-sag"}


def _then(answer: ReadingAnswer | None) -> Then | None:
    """After a new setting the gauge is typed; once a spring is at it the ring is read."""
    if answer is None or answer.suspects:
        return None
    if answer.stop and answer.kind in _READ_AFTER:
        return Then(_READ_AFTER[answer.kind], "Then read its sag")
    setting = answer.next_setting
    if answer.stop or setting is None or setting.name not in _SET_BY:
        return None
    return Then(_SET_BY[setting.name], "Set it, and type what it reads")


def settings_of(shop: Shop, bike: int) -> list[tuple[Kind, Setting | None]]:
    """The kinds of reading this bike has, each with its expected setting."""
    try:
        advice = advising.advise_bike(shop, bike)
    except (InputError, NotConverged):
        return [(kind, None) for kind in KINDS]
    pairs = [(kind, advice.setting(kind.setting)) for kind in KINDS]
    return [(kind, found) for kind, found in pairs if found is not None]


def _of_coil(kind: Kind, setting: Setting | None) -> Kind:
    """A coil has no ring: it is measured eye to eye."""
    if setting is None or not setting.label.endswith("eye to eye"):
        return kind
    unit = kind.key.partition("-")[0]
    ask = f"By how much is the {unit} shorter, eye to eye, with the rider on?"
    return replace(kind, label=f"{unit.capitalize()}, eye to eye", ask=ask, cautions=())


def _asked(kind: Kind, setting: Setting | None, seen: visit.Visit, system: System) -> Asked:
    kind = _of_coil(kind, setting)
    shown = _shown(setting, system)
    expected = f"{shown.value} {shown.unit}" if shown and shown.value != "none" else ""
    last = next((item for item in reversed(seen.show.readings) if item["kind"] == kind.key), None)
    return Asked(
        kind.key,
        kind.label,
        kind.ask,
        kind.hint,
        kind.cautions,
        start=expected,
        step=f"{in_system(setting.display, setting.graduation, system)[1]:g}" if setting else "1",
        expected=expected,
        interval=shown.interval if shown else "",
        last=_last(last) if last else "",
        sits=kind.sits,
        unit=_unit(setting, system),
    )


def _last(read: Mapping[str, Any]) -> str:
    """What was read last, and why it no longer holds where it does not."""
    why = f"; {views.plainly(read['why'])}" if read["why"] else ""
    return f"{read['shown']}{why}"


def _past(row: HistoryRow, system: System) -> dict[str, str]:
    """What was set, and what it gave, as the list shows it."""
    return {
        "label": row.part,
        "at": row.at,
        "by": row.by,
        "set": row.shown(system),
        "read": row.shown_read(system),
        "how": row.how,
    }


def _shown(setting: Setting | None, system: System) -> views.Shown | None:
    return None if setting is None else views.shown(setting, system)


def _unit(setting: Setting | None, system: System) -> str:
    """The unit that a bare number is meant in: the one the page shows."""
    return in_system(setting.display, setting.graduation, system)[0] if setting else ""
