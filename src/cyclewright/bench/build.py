"""Station cards, and one step at a time."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.datastructures import UploadFile
from starlette.responses import HTMLResponse, Response

from cyclewright.bench import forms, views, visit
from cyclewright.bench.amounts import amount
from cyclewright.bench.forms import Form
from cyclewright.bench.render import (
    go,
    html,
    is_part,
    missing_page,
    page,
    person_of,
    session_of,
    shop_of,
    status_of,
    system_of,
    wants_json,
)
from cyclewright.errors import (
    CyclewrightError,
    InputError,
    NotConverged,
    Problem,
    Refusal,
    input_error,
)
from cyclewright.units import System, in_system
from cyclewright.workshop import advising, build, procedure
from cyclewright.workshop.standing import FALLS

if TYPE_CHECKING:
    from cyclewright.workshop.answers import RecordAnswer
    from cyclewright.workshop.procedure import Procedure
    from cyclewright.workshop.shop import Shop

router = APIRouter(include_in_schema=False)

REASONS = (
    "A part is damaged",
    "A part is missing",
    "It does not fit",
    "The thread feels wrong",
    "The torque is not reached",
    "Something else",
)
_SHEET_FIELD = re.compile(r" \(bike\.[^)]*\)")
"""A sheet's field as the command line names it; a page's own words say it."""
_LARGEST_PHOTO = 16 * 1024 * 1024


@router.get("/bikes/{bike}/build")
def plan(request: Request, bike: int) -> Response:
    """Every station card."""
    seen = visit.of(shop_of(request), bike)
    context = plan_context(seen, session_of(request).take())
    if "again" in request.query_params:
        opens, fallen = build.look_at_plan(shop_of(request), bike)
        falls = [views.sentence(FALLS[name]) for name in fallen]
        context["again"] = {"opens": seen.named(opens), "falls": falls}
    template = "part/plan.html" if is_part(request) else "build.html"
    return page(request, template, _data(seen), context)


@router.post("/bikes/{bike}/ticks")
def ticks(request: Request, bike: int, form: Form) -> Response:
    """The lines ticked on one station card, done together."""
    chosen = [name for line in forms.texts(form, "step") for name in line.split()]
    if not chosen:
        raise input_error("nothing-ticked", "", "tick the lines that are done, then press again")
    shop = shop_of(request)
    try:
        answer = build.record_steps(
            shop,
            bike,
            chosen,
            by=person_of(request),
            uuid=forms.optional(form, "uuid"),
            seen=forms.number_of(form, "seen"),
            device_time=forms.optional(form, "device_time"),
        )
    except (InputError, Refusal) as refused:
        raise _in_words(refused, visit.of(shop, bike)) from None
    return _after(request, bike, _count(request, bike, answer.reopened), answer)


@router.post("/bikes/{bike}/plan")
def plan_again(request: Request, bike: int, form: Form) -> Response:
    """The plan made again with today's steps and torque tools; what was done stays done."""
    shop, sure = shop_of(request), forms.text(form, "sure") or wants_json(request)
    if not sure and build.look_at_plan(shop, bike)[1]:
        return go(request, f"/bikes/{bike}/build?again=1#again")
    answer = build.plan_again(shop, bike, person_of(request), forms.optional(form, "uuid"))
    told = visit.Told(f"{answer.said[:1].upper()}{answer.said[1:]}.", answer.reopened)
    return _after(request, bike, told, answer)


def _count(request: Request, bike: int, reopened: tuple[str, ...]) -> visit.Told:
    """How far along the bike is now."""
    seen = visit.of(shop_of(request), bike)
    return visit.Told(f"{seen.done} of {seen.total} done.", reopened)


def _after(request: Request, bike: int, told: visit.Told, answer: RecordAnswer) -> Response:
    """The build page as it stands after an act."""
    if is_part(request):
        seen = visit.of(shop_of(request), bike)
        return HTMLResponse(html(request, "part/plan.html", plan_context(seen, told)))
    session_of(request).said = told
    return go(request, f"/bikes/{bike}/build", answer.to_json())


def plan_context(seen: visit.Visit, told: visit.Told | None = None) -> dict[str, Any]:
    """What the station cards show."""
    return {
        "visit": seen,
        "stations": visit.stations(seen),
        "said": "" if told is None else told.text,
        "reopened": seen.named(() if told is None else told.reopened),
        "again": None,
    }


def _data(seen: visit.Visit) -> dict[str, Any]:
    """The plan and how its steps stand, as JSON."""
    steps = [step.to_json() for step in seen.steps]
    return {"bike": seen.id, "steps": steps, "done": seen.done, "total": seen.total}


@router.get("/bikes/{bike}/steps/{step}")
def show_step(request: Request, bike: int, step: str, wrong: bool = False) -> Response:
    """One step."""
    return _step(request, bike, step, wrong=wrong)


ACTS = ("done", "wrong", "later", "touched")


@router.post("/bikes/{bike}/steps/{step}")
def record(request: Request, bike: int, step: str, form: Form) -> Response:
    """Done, put off, or something is wrong."""
    act = forms.text(form, "act")
    if act not in ACTS:
        allowed = ", ".join(ACTS)
        raise input_error("act", "act", "say what was done", value=act, allowed=allowed)
    given = forms.kept(form, ("torque", "value", "day", "word", "note", "reason", "why", "at"))
    if said := forms.texts(form, "value"):
        given["value"] = said[-1]  # own words win over the word on offer
    shop, by = shop_of(request), person_of(request)
    resent: dict[str, Any] = {
        "uuid": forms.optional(form, "uuid"),
        "seen": forms.number_of(form, "seen"),
        "device_time": forms.optional(form, "device_time"),
    }
    try:
        if act == "touched":
            answer = build.touch(shop, bike, [step], given.get("why", ""), by, **resent)
        else:
            if act == "done":
                unit = _unit(shop, bike, step, system_of(request)) if "value" in given else ""
                extra = _evidence(given, _photo(form), unit, system_of(request))
            else:
                words = ": ".join(given[key] for key in ("reason", "note") if key in given)
                if not words:
                    raise input_error("empty", "what is wrong", "choose one, or write a few words")
                extra = {"problem" if act == "wrong" else "put_off": words}
            answer = build.record_step(shop, bike, step, by=by, **resent, **extra)
    except (InputError, Refusal) as refused:
        error = _in_words(refused, visit.of(shop, bike), step)
        noting = act in ("wrong", "later")
        return _step(request, bike, step, wrong=noting, given=given, error=error)
    seen = visit.of(shop, bike)
    text = {
        "done": f"{seen.done} of {seen.total} done.",
        "wrong": _held_up(seen),
        "touched": "Noted.",
    }
    told = text.get(act, "Put off.")
    if (reading := answer.reading) is not None:
        told = f"{views.sentence(reading.said)} {told}"
        if reading.kind.endswith("-sag") and not reading.stop:
            session_of(request).said = visit.Told(told, answer.reopened, answer=reading)
            return go(request, f"/bikes/{bike}/readings/{reading.kind}", answer.to_json())
    session_of(request).said = visit.Told(told, answer.reopened)
    after = _next(seen, step) if act == "done" else None
    path = f"/bikes/{bike}/steps/{after}" if after else f"/bikes/{bike}/build"
    return go(request, path, answer.to_json())


def _step(
    request: Request,
    bike: int,
    name: str,
    *,
    wrong: bool = False,
    given: dict[str, str] | None = None,
    error: CyclewrightError | None = None,
) -> Response:
    """The page of one step, with what was typed when something of it could not be."""
    seen = visit.of(shop_of(request), bike)
    step = seen.step(name)
    if step is None:
        return missing_page(request, "This bike's plan has no such step.")
    context = step_context(
        shop_of(request),
        seen,
        step,
        wrong=wrong,
        given=given or {},
        told=session_of(request).take(),
        problems=() if error is None else error.problems,
        system=system_of(request),
    )
    if not wrong:
        context["touch"] = _touch(shop_of(request), seen, step)
    status = 200 if error is None else status_of(error)
    data = {"bike": bike, "step": step.to_json()} if error is None else error.to_json()
    return page(request, "step.html", data, context, status)


def _in_words(error: InputError | Refusal, seen: visit.Visit, name: str = "") -> CyclewrightError:
    """What a step refuses, by what its page calls the fields, and steps by what they do."""
    step = seen.step(name)
    record = None if step is None else step.record
    asked, options = ("", ()) if record is None else (record.what, record.options)
    named = {
        "text": asked,
        "value": asked,
        "torque": "the torque",
        "photo": "the photo",
        "word": "whose figure it is",
    }
    lines = {one.id: f"“{views.clip(one.do, 64)}”" for one in seen.steps}

    def told(problem: Problem) -> Problem:
        if problem.code == "needs-first":
            field = "" if problem.field == name else lines.get(problem.field, problem.field)
            words = (lines.get(word, word) for word in problem.do.split(" "))
            return replace(problem, field=field, do=" ".join(words))
        found = "" if problem.field == name else named.get(problem.field.removeprefix(f"{name}."))
        value, allowed = (
            views.choice_words(text) if text in options else text
            for text in (problem.value, problem.allowed)
        )
        field = problem.field if found is None else views.sentence_start(found)
        do = _SHEET_FIELD.sub("", problem.do)
        return replace(problem, field=field, do=do, value=value, allowed=allowed)

    return type(error)(told(problem) for problem in error.problems)


def step_context(
    shop: Shop,
    seen: visit.Visit,
    step: visit.StepView,
    *,
    wrong: bool = False,
    given: Mapping[str, str] = MappingProxyType({}),
    told: visit.Told | None = None,
    problems: Sequence[Problem] = (),
    system: System = "trade",
) -> dict[str, Any]:
    """What the page of one step shows."""
    place = seen.steps.index(step)
    before = seen.steps[place - 1].id if place else None
    following = _next(seen, step.id)
    build = f"/bikes/{seen.id}/build"
    return {
        "visit": seen,
        "step": step,
        "unmet": seen.named(step.unmet),
        **_expected(shop, seen, step, system),
        "how": _how(shop, seen, step),
        "touch": "",
        "position": place + 1,
        "back": f"/bikes/{seen.id}/steps/{before}" if before else build,
        "after": f"/bikes/{seen.id}/steps/{following}" if following else None,
        "wrong": wrong,
        "reasons": REASONS,
        "given": given,
        "at_which": views.pressures(problems),
        "ask_word": step.needs_word or "word" in given or any(map(_asks_word, problems)),
        "said": "" if told is None else told.text,
        "reopened": seen.named(() if told is None else told.reopened),
        "problems": problems,
    }


def _asks_word(problem: Problem) -> bool:
    """Whether somebody's word would do what the value alone does not."""
    return problem.code in ("word-outside", "word-missing")


def _held_up(seen: visit.Visit) -> str:
    """What a problem that was just noted holds up."""
    held = len(seen.state.blocked())
    tail = f" It holds up {views.count(held, 'step', 'steps')}." if held else ""
    return f"Noted.{tail}"


def _next(seen: visit.Visit, name: str) -> str | None:
    """The step to go on with after this one: the next open one, else the first open one."""
    ids = [step.id for step in seen.steps]
    behind = seen.steps[ids.index(name) + 1 :] if name in ids else ()
    later = next((step.id for step in behind if step.ready), None)
    return later or (None if seen.next is None or seen.next.id == name else seen.next.id)


def _expected(
    shop: Shop, seen: visit.Visit, step: visit.StepView, system: System
) -> dict[str, str]:
    """What a step is expected to read, and by how much its stepper steps."""
    asked = step.record
    if asked is None or step.finished:
        return {"value_start": "", "value_step": "1"}
    if asked.setting:
        try:
            found = advising.advise_bike(shop, seen.id).setting(asked.setting)
        except (InputError, NotConverged):
            found = None
        if found is not None and found.value is not None:
            shown = views.shown(found, system)
            mark = in_system(found.display, found.graduation, system)[1]
            start = f"{shown.value} {shown.unit}".strip()
            return {"value_start": start, "value_step": f"{mark:g}"}
    start = "" if asked.expect is None else f"{asked.expect:g} {asked.unit}".strip()
    return {"value_start": start, "value_step": "1"}


def _touch(shop: Shop, seen: visit.Visit, step: visit.StepView) -> str:
    """What opening a done step's joints would take away, in a sentence; empty for nothing."""
    if step.status != "done" or not step.joints:
        return ""
    opens, falls = build.look_at_touch(shop, seen.id, [step.id])
    words = [f"opens {views.count(len(opens), 'step', 'steps')} again"] if opens else []
    return ", ".join((*words, *(FALLS[name] for name in falls)))


def _how(shop: Shop, seen: visit.Visit, step: visit.StepView) -> Procedure | None:
    """How a sag is read, with the posture of its target; None for a step that reads none."""
    asked = step.record
    if asked is None or not asked.reading.endswith("-sag"):
        return None
    try:
        return procedure.procedure(shop, seen.id, asked.reading)
    except (InputError, NotConverged):
        return None


def _unit(shop: Shop, bike: int, name: str, system: System) -> str:
    """The unit that a step's page shows beside what it asks for, empty for words."""
    seen = visit.of(shop, bike)
    step = seen.step(name)
    if step is None or step.record is None or not step.record.unit:
        return ""
    start = _expected(shop, seen, step, system)["value_start"]
    return start.partition(" ")[2] or step.record.unit


def _evidence(
    given: dict[str, str], photo: bytes | None, unit: str, system: System
) -> dict[str, Any]:
    """Evidence as the use case takes it: units that the page shows added to bare numbers."""
    found: dict[str, Any] = {}
    if "torque" in given:
        found["torque"] = amount(given["torque"], in_system("N·m", 0.1, system)[0])
    found |= {key: given[key] for key in ("value", "word", "at") if key in given}
    if unit:
        found["value"] = amount(given["value"], unit)
    if "day" in given:
        found["value"] = ", ".join(given[key] for key in ("day", "value") if key in given)
    if photo is not None:
        found["photo"] = photo
    return found


def _photo(form: Form) -> bytes | None:
    """The photo that was taken, None when there is none."""
    found = form.get("photo")
    if not isinstance(found, UploadFile) or not found.filename:
        return None
    body = found.file.read(_LARGEST_PHOTO + 1)
    if len(body) > _LARGEST_PHOTO:
        raise InputError(Problem("photo-size", "photo", "send a photo of at most 16 MB"))
    return body
