"""A tag scanned or its number typed: to the bike, or a plain word why not to ride it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from fastapi import APIRouter, Query, Request
from starlette.responses import RedirectResponse, Response

from cyclewright.bench import views, visit
from cyclewright.bench.render import page, session_of, shop_of
from cyclewright.errors import InputError
from cyclewright.workshop import recall
from cyclewright.workshop.shop import Shop
from cyclewright.workshop.standing import standing

router = APIRouter(include_in_schema=False)

_CODE = re.compile(r"CYCLEWRIGHT:BIKE:(\d{1,9})(?::HEAD:([0-9A-F]{8,64}))?", re.I)


@dataclass(frozen=True, slots=True)
class Tag:
    """What a code says: the bike's number, and the record's head when it was printed."""

    bike: int
    head: str


def read_tag(text: str) -> Tag | None:
    """A tag out of what was scanned or typed, None when it is neither.

    >>> read_tag("CYCLEWRIGHT:BIKE:12:HEAD:00AA11BB")
    Tag(bike=12, head='00aa11bb')
    >>> read_tag(" 7 ").bike
    7
    """
    clean = text.strip().removeprefix("#")
    if clean.isascii() and clean.isdecimal() and len(clean) < 10:
        return Tag(int(clean), "")
    found = _CODE.fullmatch(clean)
    return None if found is None else Tag(int(found[1]), (found[2] or "").lower())


@router.get("/scan")
def scan(request: Request, code: str = Query("", max_length=300)) -> Response:
    """The scanner; with a code, on to its bike."""
    if not code.strip():
        return page(request, "scan.html", {"code": ""}, {"trouble": "", "stops": ()})
    tag = read_tag(code)
    trouble = "" if tag else "This code is not one of this shop's tags: type the bike's number."
    stops: tuple[str, ...] = ()
    if tag is not None:
        try:
            stops = _stops(shop_of(request), tag.bike)
        except InputError:
            trouble = f"This shop has no bike {tag.bike}: read the number on the tag again."
    if tag is not None and not trouble and not stops:
        session_of(request).said = visit.Told(_said(shop_of(request), tag))
        return RedirectResponse(f"/bikes/{tag.bike}", 303)
    data = {"code": code, "trouble": trouble, "stops": list(stops)}
    return page(request, "scan.html", data, {"bike": tag.bike if tag else None}, 200)


def _stops(shop: Shop, bike: int) -> tuple[str, ...]:
    """Why nobody rides this bike: a recall, a finding that stops it, or a release that lapsed."""
    state = shop.state(bike)
    recalled = tuple(hit.line() for hit in recall.blocking(shop, state))
    stands = standing(shop, state)
    found = tuple(row.why for row in stands.missing["ride"] if row.item == "findings")
    if recalled or found or not stands.lapsed:
        return (*recalled, *found)
    return (views.plainly(stands.lapsed),)


def _said(shop: Shop, tag: Tag) -> str:
    """How the printed tag stands to the record, and whether the bike may be ridden."""
    rides = standing(shop, shop.state(tag.bike)).may_ride
    return _age(shop, tag) + ("" if rides else " Not to be ridden: its ride gate is not passed.")


def _age(shop: Shop, tag: Tag) -> str:
    """How the printed tag stands to the record."""
    if not tag.head:
        return f"Bike {tag.bike}."
    events = shop.events(tag.bike)
    at = next((e.number for e in events if e.hash.hex().startswith(tag.head)), None)
    if at is None:
        return "This tag is not of this record: hold its number and name against the bike."
    later = len(events) - at
    if not later:
        return "The tag is of the record as it stands."
    return f"{views.count(later, 'entry was', 'entries were')} recorded since this tag was printed."
