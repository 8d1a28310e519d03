"""A bike's record as it stands: every entry, whether it is as it was written, and what is personal.

Erasing is an owner's, and only at the bench itself: a phone that is let in erases nobody.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request
from starlette.responses import Response

from cyclewright.bench import forms, views, visit
from cyclewright.bench.forms import Form
from cyclewright.bench.render import go, missing_page, page, person_of, session_of, shop_of
from cyclewright.errors import input_error
from cyclewright.workshop import care, erase, people, pins, undo

router = APIRouter(include_in_schema=False)

Person = Annotated[int, Path(ge=1, lt=2**31)]
Before = Annotated[int | None, Query(ge=1, lt=2**31)]

AT_ONCE = 60
"""Entries on one page."""
KINDS = {
    "rider": ("sheet of the rider", "sheets of the rider, one for each change", "Name, body, kit."),
    "signatures": ("signature", "signatures", "Of the customer, under work that was declined."),
    "photos": ("photo", "photos", "Of the carton, of steps and of findings."),
    "name": ("name", "names", ""),
    "other": ("attachment", "attachments", ""),
}
"""What of a person is kept: one, several, and what is in it."""


@router.get("/bikes/{bike}/record")
def show(request: Request, bike: int, before: Before = None) -> Response:
    """The entries of a bike, the newest first, and what is personal in them."""
    shop = shop_of(request)
    seen = visit.of(shop, bike)
    known: care.ShowAnswer = seen.show
    lines = [_named(seen, line) for line in reversed(known.events)]
    older = [line for line in lines if before is None or line.number < before]
    shown = older[:AT_ONCE]
    further = shown[-1].number if len(older) > len(shown) else None
    held = erase.personal(shop, bike)
    acts = {act.number: act for act in undo.views(shop, bike, person_of(request))}
    context = {
        "visit": seen,
        "lines": shown,
        "newest": before is None,
        "acts": acts,
        "said": told.text if (told := session_of(request).take()) else "",
        "personal": held,
        "kinds": KINDS,
    }
    data = {
        "bike": bike,
        "head": known.head,
        "events": [line.to_json() for line in shown],
        "older": further,
        "acts": [act.to_json() for act in acts.values()],
        "personal": held.to_json(),
    }
    return page(request, "record.html", data, context)


@router.get("/bikes/{bike}/verify")
def check(request: Request, bike: int) -> Response:
    """Whether a bike's record is as it was written; shown also when it cannot be read any more."""
    answer = care.verify(shop_of(request), bike)
    return page(request, "verify.html", answer.to_json(), {"answer": answer, "bike": bike})


@router.get("/erase/bikes/{bike}")
def ask_bike(request: Request, bike: int) -> Response:
    """What an erasure takes from a bike's record and what it leaves."""
    shop = shop_of(request)
    known = erase.personal(shop, bike)
    rows = [(kind, number) for kind, number in known.held.items() if number]
    context = {"visit": visit.of(shop, bike), "rows": rows, **_asking(request)}
    return page(request, "erase_bike.html", known.to_json(), {**context, "personal": known})


@router.post("/erase/bikes/{bike}")
def erase_bike(request: Request, bike: int, form: Form) -> Response:
    """A rider's facts, signatures or photos go for good."""
    _sure(form)
    answer = erase.erase_bike(
        shop_of(request),
        bike,
        forms.texts(form, "what"),
        reason=forms.text(form, "reason"),
        by=person_of(request),
        pin=forms.optional(form, "pin"),
    )
    session_of(request).said = visit.Told(views.sentence(answer.said))
    return go(request, f"/erase/bikes/{bike}", answer.to_json())


@router.get("/erase/people/{person}")
def ask_person(request: Request, person: Person) -> Response:
    """Whose name and PIN an erasure takes, and what of theirs it leaves."""
    shop = shop_of(request)
    chosen = next((one for one in people.people(shop) if one.id == person), None)
    if chosen is None:
        return missing_page(request, "Nobody of this number works here.")
    stone = erase.erased_people(shop).get(person)
    data = chosen.to_json() | {"tombstone": None if stone is None else stone.to_json()}
    context = {"chosen": chosen, "stone": stone, **_asking(request)}
    return page(request, "erase_person.html", data, context)


@router.post("/erase/people/{person}")
def erase_person(request: Request, person: Person, form: Form) -> Response:
    """A name and a PIN go for good."""
    _sure(form)
    shop = shop_of(request)
    answer = erase.erase_person(
        shop,
        person,
        reason=forms.text(form, "reason"),
        by=person_of(request),
        pin=forms.optional(form, "pin"),
    )
    session_of(request).said = visit.Told(views.sentence(answer.said))
    return go(request, f"/erase/people/{person}", answer.to_json())


def _asking(request: Request) -> dict[str, Any]:
    """Who asks, whether an owner is needed yet, and what was said last."""
    shop, name = shop_of(request), person_of(request)
    working = people.working(shop)
    asking = next((one for one in working if one.name == name), None)
    owners = [one.name for one in working if one.role == people.OWNER]
    return {
        "owners": owners,
        "may": len(working) == 1 or (asking is not None and asking.role == people.OWNER),
        "pins": pins.used(shop),
        "said": session_of(request).take(),
        "kinds": KINDS,
    }


def _sure(form: Form) -> None:
    if not forms.text(form, "sure"):
        raise input_error("sure", "sure", "tick that you know it cannot be taken back")


def _named(seen: visit.Visit, line: care.ShowEvent) -> care.ShowEvent:
    """A step by what is done there instead of its id."""
    said = views.plainly(line.said)
    step = seen.step(said.partition(":")[0])
    if step is None:
        return replace(line, said=views.sentence(said))
    told = said.partition(":")[2].strip()
    return replace(line, said=f"{views.clip(step.do, 90)} {views.sentence(told)}")
