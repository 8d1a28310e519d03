"""Joint angles off a side photo: the picture stays in the browser, only points are sent."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import HTMLResponse, JSONResponse, Response

from cyclewright.bench import visit
from cyclewright.bench.render import html, page, shop_of, wants_json
from cyclewright.workshop.photo import measure_photo

router = APIRouter(include_in_schema=False)

Pair = tuple[Annotated[float, Field(allow_inf_nan=False)], float]

POINTS = (
    ("rear_axle", "Rear axle", "The middle of the rear hub."),
    ("front_axle", "Front axle", "The middle of the front hub."),
    ("hip", "Hip", "The bump of bone at the side, where the thigh turns."),
    ("knee", "Knee", "The middle of the joint at the side, level with the crease."),
    ("ankle", "Ankle", "The bump of bone on the outside."),
    ("shoulder", "Shoulder", "A thumb's width under the corner of the shoulder blade's roof."),
    ("elbow", "Elbow", "The bump of bone on the outside."),
    ("wrist", "Wrist", "The middle of the joint."),
)
"""The points in the order in which they are set: name, label, where it is."""


class Marked(BaseModel):
    """Points on a photo [px, y downward], its size, how it was taken and from how far [m]."""

    model_config = ConfigDict(extra="forbid")

    points: dict[Annotated[str, Field(max_length=40)], Pair] = Field(max_length=40)
    size: Pair
    taken: Literal["static", "pedalling"] = "static"
    distance: float = 4.0


@router.get("/bikes/{bike}/photo")
def show(request: Request, bike: int) -> Response:
    """The page on which points are set on a photo."""
    seen = visit.of(shop_of(request), bike)
    names = [name for name, _, _ in POINTS]
    return page(
        request, "photo.html", {"bike": bike, "points": names}, {"visit": seen, "marks": POINTS}
    )


@router.post("/bikes/{bike}/photo")
def measure(request: Request, bike: int, body: Marked) -> Response:
    """The angles between the points; nothing is stored."""
    shop = shop_of(request)
    on_paper = shop.sheets(shop.state(bike))
    answer = measure_photo(on_paper, body.points, body.size, body.taken, body.distance)
    if wants_json(request):
        return JSONResponse(answer.to_json())
    return HTMLResponse(html(request, "part/angles.html", {"answer": answer}))
