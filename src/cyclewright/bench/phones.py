"""The phones' side: asking to be let in, and what to install so that they trust the bench."""

from __future__ import annotations

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from cyclewright.bench.network import Network
from cyclewright.bench.pairing import Pairings
from cyclewright.bench.render import html, missing_page, session_of, shop_of
from cyclewright.bench.security import cookie_name
from cyclewright.workshop import devices

router = APIRouter(include_in_schema=False)

_TRUSTS = (("Android", "certificate"), ("iPhone", "profile"), ("iPad", "profile"))
"""What a phone's settings call an authority, by a word of its user agent."""


def network_of(request: Request) -> Network | None:
    """The phones' door, None when the bench answers only on its own machine."""
    found: Network | None = request.app.state.network
    return found


def pairings_of(request: Request) -> Pairings:
    """The pairing under way."""
    found: Pairings = request.app.state.pairings
    return found


def trusts_by(request: Request) -> str:
    """What the asking phone's settings call an authority, empty when it is none we know."""
    agent = request.headers.get("user-agent", "")
    return next((trusted for word, trusted in _TRUSTS if word in agent), "")


@router.get("/pair")
def ask(request: Request) -> Response:
    """The page that the code at the bench opens on a phone."""
    if not request.scope["phone_of_bench"]:
        return RedirectResponse("/devices", 303)
    status = 200 if session_of(request).device is not None else 401
    return HTMLResponse(html(request, "pair.html", {}), status)


@router.post("/pair")
def pair(request: Request, code: str = Form("", max_length=100)) -> Response:
    """Use a code: what the phone shows, and the secret with which it waits."""
    if not request.scope["phone_of_bench"]:
        return missing_page(request)
    shop, source = shop_of(request), request.client.host if request.client else ""
    devices.check_source(shop, source)
    claimed = pairings_of(request).claim(
        code.strip(), "a phone" if trusts_by(request) else "a browser"
    )
    devices.count_source(shop, source, claimed is not None)
    if claimed is None:
        do = "this code was used before or is over: ask for a new one at the bench"
        return JSONResponse({"errors": [{"code": "code", "field": "code", "do": do}]}, 403)
    return JSONResponse({"claim": claimed[0], "number": claimed[1]})


@router.post("/pair/wait")
def wait(request: Request, claim: str = Form("", max_length=100)) -> Response:
    """Whether the bench has let this phone in; with the cookie, once."""
    network = network_of(request)
    if not request.scope["phone_of_bench"] or network is None:
        return missing_page(request)
    state, cookie = pairings_of(request).collect(claim)
    answer = JSONResponse({"state": state})
    if cookie is not None:
        answer.set_cookie(
            cookie_name(network.port, phone=True),
            cookie,
            max_age=int(devices.LASTS.total_seconds()),
            secure=True,
            httponly=True,
            samesite="strict",
            path="/",
        )
    return answer


@router.get("/trust")
def trust(request: Request) -> Response:
    """How a phone comes to trust the bench for good, and what it is like without."""
    network = network_of(request)
    if network is None:
        return missing_page(request, "This bench answers only on its own machine.")
    context = {
        "system": trusts_by(request),
        "fingerprint": network.fingerprint,
        "called": session_of(request).called,
        "signed_in": request.scope.get("session_of_bench") is not None,
    }
    return HTMLResponse(html(request, "trust.html", context))


@router.get("/trust/authority.crt")
def authority(request: Request) -> Response:
    """The authority's certificate, as phones install it."""
    network = network_of(request)
    if network is None:
        return missing_page(request)
    headers = {"content-disposition": 'attachment; filename="cyclewright-authority.crt"'}
    kind = "application/x-x509-ca-cert"
    return Response(network.authority, headers=headers, media_type=kind)
