"""Look over a used, crashed or returned bike: points, findings, quotes, what is declined."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from cyclewright.bench import forms, views, visit
from cyclewright.bench.forms import Form
from cyclewright.bench.pictures import photo, photos
from cyclewright.bench.render import go, page, person_of, session_of, shop_of
from cyclewright.errors import input_error
from cyclewright.workshop import inspection
from cyclewright.workshop.answers import RecordAnswer

router = APIRouter(include_in_schema=False)

CAUSES = {
    "used": "Bought or sold used",
    "crashed": "It crashed",
    "returned": "Returned",
    "hired": "Back from hire",
    "stored": "Long in store",
}
SEVERITIES = {
    "stop": "Stop: nobody rides it",
    "warn": "Put right or declined before release",
    "note": "Told, no more",
}


@router.get("/bikes/{bike}/inspection")
def show(request: Request, bike: int) -> Response:
    """Where to look, what was found, and what was quoted or declined."""
    shop = shop_of(request)
    seen, answer = visit.of(shop, bike), inspection.inspection(shop, bike)
    said = session_of(request).take()
    context = {
        "visit": seen,
        "look": answer,
        "stations": views.grouped(answer.points, lambda point: point.station),
        "causes": CAUSES,
        "severities": SEVERITIES,
        "quoted": [row for row in answer.findings if row.work and row.status == "open"],
        "said": said,
    }
    return page(request, "inspection.html", answer.to_json(), context)


@router.post("/bikes/{bike}/inspection")
def begin(request: Request, bike: int, form: Form) -> Response:
    """Begin an inspection; the bike is not released until its gates pass anew."""
    cause, own = forms.text(form, "cause"), forms.optional(form, "uuid")
    inspection.open_inspection(shop_of(request), bike, cause, person_of(request), own)
    session_of(request).said = visit.Told("The inspection has begun. Look front to back.")
    return go(request, f"/bikes/{bike}/inspection")


@router.post("/bikes/{bike}/findings")
def find(request: Request, bike: int, form: Form) -> Response:
    """Something found."""
    answer = inspection.find(
        shop_of(request),
        bike,
        forms.text(form, "text"),
        forms.text(form, "severity") or "warn",
        point=forms.text(form, "point"),
        photos=photos(form),
        work=forms.text(form, "work"),
        price=forms.text(form, "price"),
        by=person_of(request),
        uuid=forms.optional(form, "uuid"),
    )
    return _told(request, bike, answer)


@router.post("/bikes/{bike}/findings/decline")
def decline(request: Request, bike: int, form: Form) -> Response:
    """Quoted work is declined under a name and a signature."""
    numbers = [int(text) for text in forms.texts(form, "finding") if text.isdecimal()]
    answer = inspection.decline(
        shop_of(request),
        bike,
        numbers,
        forms.text(form, "name"),
        photo(form, "signature"),
        by=person_of(request),
        uuid=forms.optional(form, "uuid"),
    )
    return _told(request, bike, answer)


@router.post("/bikes/{bike}/findings/{finding}")
def settle(request: Request, bike: int, finding: int, form: Form) -> Response:
    """Work quoted for a finding, or the finding put right."""
    shop, text = shop_of(request), forms.text(form, "text")
    by, own, act = person_of(request), forms.optional(form, "uuid"), forms.text(form, "act")
    if act == "quote":
        price = forms.text(form, "price")
        answer = inspection.quote(shop, bike, finding, text, price, by=by, uuid=own)
    elif act == "right":
        answer = inspection.put_right(shop, bike, finding, text, by=by, uuid=own)
    else:
        raise input_error("act", "act", "say quote or right", value=act)
    return _told(request, bike, answer)


def _told(request: Request, bike: int, answer: RecordAnswer) -> Response:
    session_of(request).said = visit.Told(views.sentence(answer.said), answer.reopened)
    return go(request, f"/bikes/{bike}/inspection", answer.to_json())
