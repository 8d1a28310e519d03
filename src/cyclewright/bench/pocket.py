"""What a phone keeps of a bike so that its steps and readings go on without the network."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import FileResponse, JSONResponse, Response

from cyclewright.bench import build, readings, visit
from cyclewright.bench.assets import STATIC
from cyclewright.bench.render import html, page, shop_of, system_of
from cyclewright.workshop import procedure

router = APIRouter(include_in_schema=False)


@router.get("/bikes/{bike}/pocket")
def pocket(request: Request, bike: int) -> Response:
    """Every step, reading and station card of a bike, as pages for its phone.

    A phone keeps them until it fetches newer ones, and so they do not name the rider.
    """
    shop = shop_of(request)
    seen = replace(visit.of(shop, bike), rider="")
    system = system_of(request)
    root = f"/bikes/{bike}"
    pages = {f"{root}/build": _bare(request, "build.html", build.plan_context(seen))}
    for step in seen.steps:
        path = f"{root}/steps/{step.id}"
        for tail, wrong in (("", False), ("?wrong=1", True)):
            context = build.step_context(shop, seen, step, wrong=wrong, system=system)
            pages[path + tail] = _bare(request, "step.html", context)
    for kind, setting in readings.settings_of(shop, bike):
        steps = procedure.procedure(shop, bike, kind.key)
        context = readings.reading_context(seen, kind, setting, steps, system=system)
        pages[f"{root}/readings/{kind.key}"] = _bare(request, "reading.html", context)
    data = {
        "bike": bike,
        "name": seen.name,
        "number": seen.number,
        "plan": seen.plan,
        "steps": [_line(step) for step in seen.steps],
        "pages": pages,
    }
    return JSONResponse(data)


@router.get("/offline")
def offline(request: Request) -> Response:
    """The page that shows what a phone has kept, when the network is gone."""
    return page(request, "offline.html", {})


@router.get("/bring")
def bring(request: Request) -> Response:
    """The page that takes in what waited at another address of the bench; it reads the file."""
    return page(request, "bring.html", {})


@router.get("/worker.js")
def worker() -> Response:
    """The script that answers for the bench when the network is gone, for every page."""
    headers = {"cache-control": "no-cache"}
    return FileResponse(STATIC / "worker.js", headers=headers, media_type="text/javascript")


def _bare(request: Request, template: str, context: dict[str, Any]) -> str:
    """A page without the shop's head and foot."""
    return html(request, template, {**context, "layout": "part/bare.html"})


def _line(step: visit.StepView) -> dict[str, Any]:
    """What decides which step comes next."""
    return {"id": step.id, "needs": list(step.needs), "done": step.finished, "todo": step.todo}
