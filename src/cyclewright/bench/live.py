"""A bike open on several benches: each is told when another has recorded on it."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response, StreamingResponse

from cyclewright.bench import visit
from cyclewright.bench.render import shop_of

if TYPE_CHECKING:
    from cyclewright.workshop.shop import Shop

router = APIRouter(include_in_schema=False)

BEAT = 0.4
"""Seconds between two looks at the record."""
LIFE = 60.0
"""Seconds that a stream lasts before its browser asks, and the guard looks at it, again."""
QUIET = 15.0
"""Seconds after which a stream says that it is still there."""


@router.get("/bikes/{bike}/events", response_model=None)
async def events(request: Request, bike: int, after: int = Query(0, ge=0, lt=2**31)) -> Response:
    """A stream of what is recorded on a bike after an event; for JSON how far it is now."""
    shop = shop_of(request)
    now = await run_in_threadpool(_since, shop, bike, after)
    if "text/event-stream" not in request.headers.get("accept", ""):
        return JSONResponse(now)
    headers = {"x-accel-buffering": "no"}
    return StreamingResponse(
        _stream(request, shop, bike, after), headers=headers, media_type="text/event-stream"
    )


async def _stream(request: Request, shop: Shop, bike: int, after: int) -> AsyncIterator[str]:
    """Events as the browser reads them, until it or the bench leaves or its time is up."""
    yield "retry: 1000\n\n"
    clock = asyncio.get_running_loop().time
    start = heard = clock()
    leaving = request.app.state.leaving
    while clock() - start < LIFE and not leaving() and not await request.is_disconnected():
        found = await run_in_threadpool(_since, shop, bike, after)
        if found["number"] > after:
            after, heard = found["number"], clock()
            yield f"id: {after}\nevent: recorded\ndata: {json.dumps(found)}\n\n"
        elif clock() - heard > QUIET:
            heard = clock()
            yield ": still here\n\n"
        await asyncio.sleep(BEAT)


def _since(shop: Shop, bike: int, after: int) -> dict[str, Any]:
    """How far a bike's record is, and in words who did what since."""
    number = shop.state(bike).number
    told = visit.recorded_since(shop, bike, after) if 0 < after < number else ""
    return {"number": number, "said": told}
