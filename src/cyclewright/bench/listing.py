"""The list of bikes, its search, and the name of who works here."""

from __future__ import annotations

from fastapi import APIRouter, Form, Query, Request
from starlette.responses import Response

from cyclewright.bench.render import go, page, session_of, shop_of
from cyclewright.workshop import receive

router = APIRouter(include_in_schema=False)

PAGE_SIZE = 60


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


@router.get("/who")
def ask_who(request: Request) -> Response:
    """The form that asks for a name."""
    referer = request.headers.get("referer", "")
    origin = f"{request.url.scheme}://{request.headers['host']}"
    back = referer.removeprefix(origin) if referer.startswith(f"{origin}/") else "/"
    return page(request, "who.html", {"back": back})


@router.post("/who")
def who(
    request: Request, name: str = Form("", max_length=80), back: str = Form("/", max_length=500)
) -> Response:
    """Keep the name for this browser until the bench stops."""
    session_of(request).person = " ".join(name.split()) or None
    return go(request, back if back.startswith("/") and not back.startswith("//") else "/")
