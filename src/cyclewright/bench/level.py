"""Saddle and lever angles by the phone's own level, or typed: seen live, taken, kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import HTMLResponse, JSONResponse, Response

from cyclewright.bench import forms, views, visit
from cyclewright.bench.amounts import amount
from cyclewright.bench.forms import Form
from cyclewright.bench.render import (
    go,
    html,
    missing_page,
    page,
    person_of,
    session_of,
    shop_of,
    system_of,
    wants_json,
)
from cyclewright.errors import InputError, Problem
from cyclewright.workshop import level
from cyclewright.workshop.level import Take

router = APIRouter(include_in_schema=False)

Number = Annotated[float, Field(allow_inf_nan=False)]
Sample = tuple[Number, Number, Number]


@dataclass(frozen=True, slots=True)
class Kind:
    """One thing to lay the phone on: how, and what its two ways are called."""

    key: str
    label: str
    how: str
    up: str
    down: str
    unit_step: str


KINDS = (
    Kind(
        "saddle-tilt",
        "Saddle",
        "Bike unloaded on level ground. Lay a straight board along the saddle from the wings to "
        "the nose, the phone on it, its top end to the nose.",
        "nose up",
        "nose down",
        "0.5",
    ),
    Kind(
        "lever-left",
        "Left lever",
        "Lay the phone's back across grip and lever blade, its top end forward, its long side "
        "square to the bar.",
        "above level",
        "below level",
        "1",
    ),
    Kind(
        "lever-right",
        "Right lever",
        "Lay the phone's back across grip and lever blade, its top end forward, its long side "
        "square to the bar.",
        "above level",
        "below level",
        "1",
    ),
)


class Taken(BaseModel):
    """Samples of a phone held still [m/s²], and of the same phone turned end for end."""

    model_config = ConfigDict(extra="forbid")

    kind: Annotated[str, Field(max_length=20)]
    samples: list[Sample] = Field(max_length=level.MOST)
    turned: list[Sample] | None = Field(default=None, max_length=level.MOST)


@router.get("/bikes/{bike}/level")
def show(request: Request, bike: int) -> Response:
    """The level of one thing, with what is advised for it and what was read last."""
    return _show(request, bike, request.query_params.get("of", KINDS[0].key))


@router.post("/bikes/{bike}/level/take")
def take(request: Request, bike: int, body: Taken) -> Response:
    """The angle of a take, with its error and what it says; nothing is stored."""
    shop = shop_of(request)
    found = level.measured(body.kind, Take(body.samples, body.turned))
    said = level.told(shop, bike, body.kind, found.value or 0.0)
    if wants_json(request):
        return JSONResponse({"angle": found.to_json(system_of(request)), "said": list(said)})
    return HTMLResponse(html(request, "part/level.html", {"angle": found, "said": said}))


@router.post("/bikes/{bike}/level")
def keep(request: Request, bike: int, form: Form) -> Response:
    """Keep an angle in the record: a take's samples, or a typed number."""
    kind = forms.text(form, "kind")
    try:
        answer = level.read(
            shop_of(request),
            bike,
            kind,
            _given(form),
            by=person_of(request),
            uuid=forms.optional(form, "uuid"),
            device_time=forms.optional(form, "device_time"),
        )
    except InputError as wrong:
        return _show(request, bike, kind, wrong, forms.text(form, "value"))
    session_of(request).said = visit.Told(views.sentence(answer.said), answer=answer)
    return go(request, f"/bikes/{bike}/level?of={kind}", answer.to_json())


def _show(
    request: Request, bike: int, key: str, error: InputError | None = None, given: str = ""
) -> Response:
    shop = shop_of(request)
    seen = visit.of(shop, bike)
    kind = next((item for item in KINDS if item.key == key), None)
    if kind is None:
        return missing_page(request, "The level is for the saddle and both brake levers.")
    told = session_of(request).take()
    answer = None if told is None else told.answer
    past = [item for item in reversed(seen.show.readings) if item["kind"] == key]
    context: dict[str, Any] = {
        "visit": seen,
        "kinds": KINDS,
        "kind": kind,
        "advised": level.advised(shop, bike, key),
        "past": past,
        "answer": answer if answer and answer.kind == key else None,
        "given": given,
        "problems": error.problems if error else (),
    }
    data = error.to_json() if error else {"bike": bike, "kind": key, "readings": past}
    return page(request, "level.html", data, context, 422 if error else 200)


def _given(form: Form) -> Take | str:
    """What the form holds: a typed angle, else the samples of one take or two."""
    typed = forms.text(form, "value")
    if typed:
        return amount(typed, "deg").replace("°", " deg")
    turned = forms.text(form, "turned")
    return Take(_samples(form, "samples"), _samples(form, "turned") if turned else None)


def _samples(form: Form, key: str) -> list[tuple[float, ...]]:
    """Samples as the page writes them: `x,y,z;x,y,z`."""
    try:
        return [
            tuple(float(part) for part in row.split(","))
            for row in forms.text(form, key).split(";")
        ]
    except ValueError:
        do = "take it again, or type the angle"
        raise InputError(Problem("not-readable", key, do)) from None
