"""Who works here, in which role, and their PINs; only at the bench itself, not from a phone."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request
from starlette.responses import Response

from cyclewright.bench import forms, visit
from cyclewright.bench.forms import Form
from cyclewright.bench.render import go, page, person_of, session_of, shop_of
from cyclewright.errors import input_error
from cyclewright.workshop import erase, people, pins

router = APIRouter(include_in_schema=False)

Person = Annotated[int, Path(ge=1, lt=2**31)]

ROLES = {
    people.MECHANIC: "records",
    people.CHECKER: "also second at gates",
    people.OWNER: "also people and erasing",
}


@router.get("/people")
def show(request: Request) -> Response:
    """Everybody, and the forms by which an owner changes that."""
    shop = shop_of(request)
    found = people.working(shop)
    data = {"people": [person.to_json() for person in found], "pins": pins.used(shop)}
    stones = erase.erased_people(shop)
    gone = [(one, stones[one.id]) for one in people.people(shop) if one.id in stones]
    said = session_of(request).take()
    context = {"people": found, "gone": gone, "roles": ROLES, "said": said}
    return page(request, "people.html", data, context)


@router.post("/people")
def add(request: Request, form: Form) -> Response:
    """A new person; the first one is the owner."""
    role = forms.text(form, "role") or people.MECHANIC
    pin = forms.optional(form, "pin")
    name = forms.text(form, "name")
    made = people.add_person(shop_of(request), name, role, by=person_of(request), pin=pin)
    return _told(request, f"{made.name} works here as {made.role}.")


@router.post("/people/{person}/role")
def role(request: Request, person: Person, form: Form) -> Response:
    """Another role for somebody."""
    wanted, pin = forms.text(form, "role"), forms.optional(form, "pin")
    made = people.give_role(shop_of(request), person, wanted, by=person_of(request), pin=pin)
    return _told(request, f"{made.name} is {made.role} now.")


@router.post("/people/{person}/pin")
def pin(request: Request, person: Person, form: Form) -> Response:
    """A new PIN, or none any more."""
    new, again = forms.optional(form, "new"), forms.text(form, "again")
    if new is not None and new != again:
        raise input_error("pin-again", "again", "write the new PIN twice, the same both times")
    given = forms.optional(form, "pin")
    made = people.set_pin(shop_of(request), person, new, by=person_of(request), pin=given)
    return _told(request, f"{made.name} has {'a new PIN' if made.has_pin else 'no PIN any more'}.")


def _told(request: Request, text: str) -> Response:
    session_of(request).said = visit.Told(text)
    return go(request, "/people")
