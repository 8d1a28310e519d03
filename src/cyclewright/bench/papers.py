"""Papers as PDF and the drawing as SVG."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from fastapi import APIRouter, Request
from starlette.responses import Response

from cyclewright.bench import visit
from cyclewright.bench.render import QUIET, bench_of, missing_page, page, shop_of, system_of
from cyclewright.workshop import carton, paper

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Paper:
    """A document that a bike's record makes."""

    what: str
    title: str
    note: str


PAPERS = (
    Paper(
        "hand-over",
        "Hand-over sheet",
        "For the rider: settings, torques, first re-check.",
    ),
    Paper("setting-card", "Setting card", "The size of a playing card, for the pocket."),
    Paper("sag-strip", "Sag strip", "1:1, to hold against stanchion and shock."),
    Paper("torque-card", "Torque card", "Sorted by tool, front to back."),
    Paper("brake-card", "Brake card", "Hands as delivered and as wanted, the way between."),
    Paper("plan", "Wall plan", "Every station, to tick with a pen."),
    Paper("tag", "Bike tag", "What was set, what is due; or that nobody may ride it."),
    Paper("marks", "Position marks", "To stick on before anything is loosened."),
    Paper("claim", "Claim note", "Damage and loss in carriage, with photos."),
)


@router.get("/bikes/{bike}/papers")
def show(request: Request, bike: int) -> Response:
    """Every paper of this bike."""
    seen = visit.of(shop_of(request), bike)
    claimable = carton.carton(shop_of(request), bike).claimable
    found = [item for item in PAPERS if item.what != "claim" or claimable]
    data = {"bike": bike, "papers": [asdict(item) for item in found]}
    return page(request, "papers.html", data, {"visit": seen, "papers": found})


@router.get("/bikes/{bike}/papers/{what}.pdf")
def pdf(request: Request, bike: int, what: str) -> Response:
    """One paper as PDF; asked for quietly it is made, and kept for who opens it next."""
    if all(item.what != what for item in PAPERS):
        return missing_page(request, "There is no such paper.")
    shop, system = shop_of(request), system_of(request)
    key = (bike, shop.state(bike).number, what, system)
    body = bench_of(request).printed.pop(key, None)
    if body is None:
        body = paper.print_document(shop, what, bike, system)
    if QUIET in request.headers:
        bench_of(request).printed[key] = body
        return Response(status_code=204)
    name = f'inline; filename="bike-{bike}-{what}.pdf"'
    return Response(body, 200, {"content-disposition": name}, "application/pdf")
