"""Signing in: the launch token, out of the address's fragment, for a cookie."""

from __future__ import annotations

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from cyclewright.bench.render import html, wants_json
from cyclewright.bench.security import Keyring, cookie_name

router = APIRouter(include_in_schema=False)


@router.get("/launch")
def ask(request: Request) -> Response:
    """The page that reads the token from the address, or lets it be pasted."""
    return HTMLResponse(html(request, "launch.html", {"wrong": False}), 401)


@router.post("/launch")
def launch(request: Request, token: str = Form("", max_length=200)) -> Response:
    """Exchange the token for a cookie."""
    keyring: Keyring = request.app.state.keyring
    cookie = keyring.exchange(token.strip().rpartition("#")[2])
    if cookie is None:
        if wants_json(request):
            return JSONResponse({"errors": [{"code": "token", "field": "token", "do": _DO}]}, 403)
        return HTMLResponse(html(request, "launch.html", {"wrong": True}), 403)
    answer: Response
    answer = JSONResponse({"ok": True}) if wants_json(request) else RedirectResponse("/", 303)
    name = cookie_name(request.app.state.port)
    answer.set_cookie(name, cookie, httponly=True, samesite="strict", path="/")
    return answer


_DO = "open the address that this run of the bench printed: an older one no longer works"
