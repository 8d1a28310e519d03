"""The carton at the door: damage with photos, parts ticked and followed, the claim."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from cyclewright.bench import forms, views, visit
from cyclewright.bench.forms import Form
from cyclewright.bench.pictures import photo, photos
from cyclewright.bench.render import go, missing_page, page, person_of, session_of, shop_of
from cyclewright.errors import input_error
from cyclewright.workshop import carton

router = APIRouter(include_in_schema=False)

USUAL = (
    *("frame", "fork", "front wheel", "rear wheel", "handlebar", "saddle and post"),
    *("left pedal", "right pedal", "front axle", "rear axle", "front rotor", "rear rotor"),
    *("small parts", "manuals"),
)
"""Lines of a packing list where the carton holds none."""
ELECTRIC = ("charger", "battery key")
_CARRIAGE = {
    "parcel": "Parcel",
    "freight": "Freight",
    "road-abroad": "By road from abroad",
    "air": "By air",
    "own": "Brought or fetched",
}


@router.get("/bikes/{bike}/carton")
def show(request: Request, bike: int) -> Response:
    """How the carton came, what follows, and the forms to record it."""
    shop = shop_of(request)
    seen, box = visit.of(shop, bike), carton.carton(shop, bike)
    ticked = {row.part.casefold(): row for row in box.parts}
    electric = shop.sheets(seen.state).bike.electric.motor is not None
    usual = (*USUAL, *ELECTRIC) if electric else USUAL
    said = session_of(request).take()
    context = {
        "visit": seen,
        "box": box,
        "lines": [
            *(row.part for row in box.parts),
            *(name for name in usual if name not in ticked),
        ],
        "carriages": _CARRIAGE,
        "packing": list(dict.fromkeys((*carton.PACKING, *box.packing))),
        "said": said,
        "reopened": () if said is None else seen.named(said.reopened),
    }
    return page(request, "carton.html", box.to_json(), context)


@router.post("/bikes/{bike}/carton/{what}")
def record(request: Request, bike: int, what: str, form: Form) -> Response:
    """One thing about the carton put on record."""
    act = _ACTS.get(what)
    if act is None:
        return missing_page(request)
    shop, by = shop_of(request), person_of(request)
    answer = act(shop, bike, form, {"by": by, "uuid": forms.optional(form, "uuid")})
    session_of(request).said = visit.Told(views.sentence(answer.said), answer.reopened)
    place = "damage" if what == "settle" else what
    return go(request, f"/bikes/{bike}/carton#{place}", answer.to_json())


def _arrive(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> Any:
    days = forms.text(form, "days")
    if days and not days.isdecimal():
        raise input_error("days", "days", "give the carrier's term in whole days", value=days)
    return carton.arrive(
        shop,
        bike,
        carrier=forms.text(form, "carrier"),
        carriage=forms.text(form, "carriage") or "parcel",
        consignment=forms.text(form, "consignment"),
        sender=forms.text(form, "sender"),
        value=forms.text(form, "value"),
        arrived=forms.optional(form, "arrived"),
        unchecked=bool(forms.text(form, "unchecked")),
        days=int(days) if days else None,
        damage=forms.optional(form, "damage"),
        photos=photos(form),
        **own,
    )


def _damage(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> Any:
    where = forms.text(form, "where") or "inside"
    return carton.damage(shop, bike, forms.text(form, "text"), photos(form), where=where, **own)


def _settle(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> Any:
    number = forms.number_of(form, "damage") or 0
    how, what = forms.text(form, "how"), forms.text(form, "what")
    return carton.settle_damage(shop, bike, number, how, what, **own)


def _parts(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> Any:
    """What was ticked anew: a line that stands as it was keeps its note and its photos."""
    known = {row.part: row.status for row in carton.carton(shop, bike).parts}
    said = {
        key.removeprefix("part:"): forms.text(form, key)
        for key in form
        if key.startswith("part:") and forms.text(form, key)
    }
    if other := forms.text(form, "other"):
        said[other] = forms.text(form, "other-state") or "here"
    finished = bool(forms.text(form, "all"))
    ticked = {part: state for part, state in said.items() if known.get(part) != state}
    return carton.tick_parts(
        shop, bike, ticked or (said if finished else {}), all_ticked=finished, **own
    )


def _wrong(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> Any:
    """What is wrong with one part, in words and photos."""
    part = forms.text(form, "part")
    return carton.tick_parts(
        shop,
        bike,
        {part: forms.text(form, "state")},
        notes={part: forms.text(form, "note")},
        photos={part: photos(form)},
        **own,
    )


def _expect(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> Any:
    day, whose = forms.text(form, "day"), forms.text(form, "whose")
    return carton.expect_part(shop, bike, forms.text(form, "part"), day, whose=whose, **own)


def _came(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> Any:
    return carton.part_arrived(shop, bike, forms.text(form, "part"), **own)


def _packing(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> Any:
    return carton.keep_packing(shop, bike, forms.texts(form, "item"), **own)


def _serial(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> Any:
    return carton.read_serial(shop, bike, forms.text(form, "serial"), photo(form), **own)


def _claim(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> Any:
    return carton.claim_sent(
        shop,
        bike,
        sent=forms.optional(form, "day"),
        to=forms.text(form, "to"),
        reference=forms.text(form, "reference"),
        **own,
    )


_ACTS = {
    "arrive": _arrive,
    "damage": _damage,
    "settle": _settle,
    "parts": _parts,
    "wrong": _wrong,
    "expect": _expect,
    "came": _came,
    "packing": _packing,
    "serial": _serial,
    "claim": _claim,
}
