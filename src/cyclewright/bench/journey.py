"""Pack a bike for a journey, and rebuild it on arrival."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.responses import Response

from cyclewright.bench import forms, views, visit
from cyclewright.bench.forms import Form
from cyclewright.bench.render import go, page, person_of, session_of, shop_of
from cyclewright.workshop import pack
from cyclewright.workshop.answers import RecordAnswer

if TYPE_CHECKING:
    from cyclewright.workshop.pack import PackLine

router = APIRouter(include_in_schema=False)


@router.get("/bikes/{bike}/journey")
def show(request: Request, bike: int) -> Response:
    """The packing list, what is kept, and what is done again on arrival."""
    shop = shop_of(request)
    seen, answer = visit.of(shop, bike), pack.packing(shop, bike)
    said = session_of(request).take()
    context = {
        "visit": seen,
        "pack": answer,
        "stations": _together(answer.lines),
        "left": sum(not line.done for line in answer.lines),
        "again": seen.named(answer.again),
        "said": said,
    }
    return page(request, "journey.html", answer.to_json(), context)


@router.post("/bikes/{bike}/journey/begin")
def begin(request: Request, bike: int, form: Form) -> Response:
    """Begin to pack."""
    own = forms.optional(form, "uuid")
    return _told(request, bike, pack.open_pack(shop_of(request), bike, person_of(request), own))


@router.post("/bikes/{bike}/journey/ticks")
def tick(request: Request, bike: int, form: Form) -> Response:
    """Lines of the list are done."""
    answer = pack.pack(
        shop_of(request),
        bike,
        [step for line in forms.texts(form, "step") for step in line.split()],
        person_of(request),
        forms.optional(form, "uuid"),
        forms.number_of(form, "seen"),
    )
    return _told(request, bike, answer)


@router.post("/bikes/{bike}/journey/arrive")
def arrive(request: Request, bike: int, form: Form) -> Response:
    """Arrived: what was loosened is done again."""
    own, whole = forms.optional(form, "uuid"), bool(forms.text(form, "all"))
    answer = pack.open_rebuild(shop_of(request), bike, person_of(request), own, all_of_it=whole)
    return _told(request, bike, answer)


def _together(lines: Sequence[PackLine]) -> dict[str, list[PackLine]]:
    """The list by station, what is done alike at both wheels told and ticked once."""
    found: dict[str, list[PackLine]] = {}
    for station, rows in views.grouped(lines, lambda line: line.station).items():
        alike = views.grouped(rows, lambda row: f"{row.do}|{row.done}|{row.again}")
        found[station] = [
            replace(same[0], step=" ".join(row.step for row in same)) for same in alike.values()
        ]
    return found


def _told(request: Request, bike: int, answer: RecordAnswer) -> Response:
    said = answer.said.partition("; do ")[0]
    session_of(request).said = visit.Told(views.sentence(said), answer.reopened)
    return go(request, f"/bikes/{bike}/journey", answer.to_json())
