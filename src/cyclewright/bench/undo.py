"""Undo: the act that a button names is taken back or put back.

Another's act, and one whose undo lets a gate fall, is looked at first.
"""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import HTMLResponse, Response

from cyclewright.bench import build, forms, views, visit
from cyclewright.bench.forms import Form
from cyclewright.bench.render import (
    go,
    html,
    is_part,
    page,
    person_of,
    session_of,
    shop_of,
    wants_json,
)
from cyclewright.errors import CyclewrightError, Refusal
from cyclewright.workshop import undo as undoing
from cyclewright.workshop.standing import FALLS, RISES

router = APIRouter(include_in_schema=False)

Number = Annotated[int, Query(ge=1, lt=2**31)]
PLACES = {
    "readings": "/readings",
    "record": "/record",
    "setup": "",
    "inspection": "/inspection",
    "journey": "/journey",
}
"""Pages that a button may stand on besides the steps, and where each lies."""


@router.get("/bikes/{bike}/undo")
def ask(request: Request, bike: int, number: Number | None = None, to: str = "record") -> Response:
    """What an undo would take, by default the newest act: whose it is, and what it would open."""
    shop = shop_of(request)
    newest = undoing.newest(shop, bike, person_of(request)) if number is None else None
    number = newest.number if newest else number
    look = undoing.look(shop, bike, number=number, by=person_of(request))
    seen = visit.of(shop, bike)
    context = {
        "visit": seen,
        "look": look,
        "act": look.act,
        "opens": seen.named(look.opens),
        "stands": seen.named(look.stands),
        "moves": _moves(look),
        "to": to if to in PLACES else "record",
        "path": f"/bikes/{bike}{PLACES.get(to, '/record')}",
    }
    return page(request, "undo.html", look.to_json(), context)


@router.post("/bikes/{bike}/undo")
def undo(request: Request, bike: int, form: Form) -> Response:
    """Take back the act that the button named, or put back what an undo took."""
    shop, to = shop_of(request), forms.text(form, "to")
    number, sure = forms.number_of(form, "number"), bool(forms.text(form, "sure"))
    if number is not None and not (sure or wants_json(request)) and _falls(request, bike, number):
        return go(request, _asked(bike, number, to))
    before = {step.id: step.status for step in visit.of(shop, bike).steps}
    try:
        answer = undoing.undo(
            shop,
            bike,
            number=number,
            anyone=sure,
            strict=True,
            by=person_of(request),
            uuid=forms.optional(form, "uuid"),
        )
    except Refusal as refused:
        anothers = any(problem.code == "anothers" for problem in refused.problems)
        if number is None or not anothers or wants_json(request):
            raise
        return go(request, _asked(bike, number, to))
    told = visit.Told(_words(answer), answer.reopened)
    if is_part(request):
        seen = visit.of(shop, bike)
        return HTMLResponse(html(request, "part/plan.html", build.plan_context(seen, told)))
    session_of(request).said = told
    return go(request, _back(shop, bike, to, before), answer.to_json())


def _asked(bike: int, number: int, to: str) -> str:
    """The page that asks before the undo."""
    return f"/bikes/{bike}/undo?number={number}" + (f"&to={to}" if to in PLACES else "")


def _falls(request: Request, bike: int, number: int) -> bool:
    """Whether a gate that is passed would fall; what cannot be undone is told by the undo."""
    try:
        look = undoing.look(shop_of(request), bike, number=number, by=person_of(request))
    except CyclewrightError:
        return False
    return bool(look.falls)


def _words(answer: undoing.UndoAnswer) -> str:
    """What was taken, by name."""
    line = "" if answer.act is None else views.plainly(answer.act.line)
    verb = "Put back" if answer.put_back else "Taken back"
    return " ".join((f"{verb}: {line}.", *_moves(answer)))


def _moves(answer: undoing.UndoAnswer) -> list[str]:
    """What falls, and what stands again, in sentences."""
    told = (*(FALLS[name] for name in answer.falls), *(RISES[name] for name in answer.rises))
    return [views.sentence(line) for line in told]


def _back(shop: Any, bike: int, to: str, before: dict[str, str]) -> str:
    """The page to go on with: of a step, the one whose standing changed."""
    if to in PLACES:
        return f"/bikes/{bike}{PLACES[to]}"
    steps = visit.of(shop, bike).steps if to == "step" else ()
    back = next((step.id for step in steps if step.status != before.get(step.id)), None)
    return f"/bikes/{bike}/steps/{back}" if back else f"/bikes/{bike}/build"
