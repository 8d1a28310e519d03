"""The list of bikes, its search, and the name of who works here."""

from __future__ import annotations

from fastapi import APIRouter, Form, Query, Request
from starlette.responses import Response

from cyclewright.bench.render import (
    SYSTEMS,
    UNITS_COOKIE,
    back_of,
    go,
    own_path,
    page,
    session_of,
    shop_of,
)
from cyclewright.bench.security import Session
from cyclewright.errors import input_error
from cyclewright.workshop import people, pins, receive
from cyclewright.workshop.shop import Shop, checked_text

router = APIRouter(include_in_schema=False)

PAGE_SIZE = 60
_YEAR = 365 * 24 * 3600


@router.get("/")
def bikes(
    request: Request,
    query: str = Query("", max_length=100),
    page_number: int = Query(1, alias="page", ge=1, le=100_000),
) -> Response:
    """Every bike, newest first, or those that a search finds."""
    offset = PAGE_SIZE * (page_number - 1)
    rows = receive.list_bikes(shop_of(request), query.strip(), PAGE_SIZE + 1, offset)
    shown, more = rows[:PAGE_SIZE], len(rows) > PAGE_SIZE
    data = {"bikes": [row.to_json() for row in shown], "query": query, "page": page_number}
    return page(request, "list.html", data, {"bikes": shown, "more": more})


@router.post("/units")
def units(
    request: Request,
    system: str = Form("trade", max_length=20),
    back: str = Form("/", max_length=500),
) -> Response:
    """Keep the units that this device shows."""
    if system not in SYSTEMS:
        allowed = ", ".join(SYSTEMS)
        raise input_error("units", "system", "choose one", value=system, allowed=allowed)
    answer = go(request, own_path(back))
    secure = request.url.scheme == "https"
    answer.set_cookie(
        UNITS_COOKIE, system, max_age=_YEAR, httponly=True, samesite="strict", secure=secure
    )
    return answer


@router.get("/who")
def ask_who(request: Request) -> Response:
    """The form that asks for a name."""
    shop = shop_of(request)
    known = [person.name for person in people.working(shop) if person.has_pin]
    data = {"back": back_of(request), "pins": pins.used(shop), "people": known}
    return page(request, "who.html", data)


@router.post("/who")
def who(
    request: Request,
    name: str = Form("", max_length=80),
    pin: str = Form("", max_length=20),
    back: str = Form("/", max_length=500),
) -> Response:
    """Keep the name for this browser until the bench stops; with PINs until the shift is over."""
    session, shop = session_of(request), shop_of(request)
    named = checked_text(name, "name", 80) if name.strip() else ""
    if pins.used(shop):
        _shift(session, shop, named, pin.strip())
    else:
        session.becomes(named or None)
    return go(request, own_path(back))


def _shift(session: Session, shop: Shop, name: str, pin: str) -> None:
    """One shift gives way to the next; without a name nobody works here any more."""
    if name and not pin:
        raise input_error("pin-missing", "pin", "give your PIN: it opens your shift here")
    opened = pins.open_shift(shop, name, pin) if name else None
    if session.shift is not None:
        pins.close_shift(shop, session.shift)
    session.shift = None if opened is None else opened.token
    session.becomes(None if opened is None else people.names(shop)[opened.person])
