"""One constructor for server and tests: guard, pages, API."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.responses import JSONResponse, Response
from starlette.routing import Match

from cyclewright.bench import (
    api,
    bike,
    build,
    care,
    carton,
    changing,
    checking,
    devices,
    fit,
    gates,
    history,
    inspect,
    journey,
    launch,
    level,
    listing,
    live,
    papers,
    people,
    phones,
    photo,
    pictures,
    pocket,
    readings,
    scan,
    start,
    tools,
    undo,
)
from cyclewright.bench.assets import Assets
from cyclewright.bench.checking import Checks
from cyclewright.bench.network import Network
from cyclewright.bench.pairing import Pairings
from cyclewright.bench.render import (
    Bench,
    environment,
    go,
    missing_page,
    problem_page,
    show_error,
    wants_json,
)
from cyclewright.bench.security import Guard, Keyring
from cyclewright.errors import CyclewrightError, InputError, Problem

if TYPE_CHECKING:
    from cyclewright.workshop.shop import Shop

_log = logging.getLogger("cyclewright.bench")


def create_app(shop: Shop, token: str, port: int, network: Network | None = None) -> FastAPI:
    """The bench for one shop, answering on `port` to whoever holds `token`.

    With a `network`, what comes encrypted is a phone, and answered when it was let in.
    """
    shop.pin = shop.second_pin = None  # an unattended command's PINs are nobody's on a bench
    app = FastAPI(
        title="Cyclewright bench",
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
    )
    app.state.bench = Bench(shop, environment(), shop.store.name())
    app.state.keyring = Keyring(token)
    app.state.port = port
    app.state.network = network
    app.state.pairings = Pairings()
    app.state.checks = Checks()
    app.state.leaving = lambda: False  # whether the bench is being stopped
    families = (
        launch,
        listing,
        start,
        bike,
        changing,
        fit,
        build,
        undo,
        readings,
        gates,
        papers,
        history,
        checking,
        carton,
        care,
        journey,
        inspect,
        pictures,
        tools,
        photo,
        level,
        pocket,
        scan,
        live,
        phones,
        devices,
        people,
        api,
    )
    for family in families:
        app.include_router(family.router)
    app.include_router(devices.api)
    app.mount("/static", Assets(), name="static")
    app.add_exception_handler(CyclewrightError, _known)
    app.add_exception_handler(RequestValidationError, _malformed)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(ClientDisconnect, _cut_off)
    app.add_middleware(
        Guard,
        shop=shop,
        keyring=app.state.keyring,
        port=port,
        network=network,
        fault=_our_fault,
    )
    return app


def _known(request: Request, error: Exception) -> Response:
    assert isinstance(error, CyclewrightError)
    return show_error(request, error)


def _malformed(request: Request, error: Exception) -> Response:
    """What the form or body could not be read as, in the house's shape."""
    assert isinstance(error, RequestValidationError)
    problems = [
        Problem("not-readable", ".".join(str(part) for part in item["loc"][1:]), item["msg"])
        for item in error.errors()
    ]
    return show_error(request, InputError(problems))


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 404:
        return missing_page(request)
    api = request.url.path.startswith("/api/")
    if error.status_code == 405 and request.method == "GET" and not (api or wants_json(request)):
        return go(request, _page_above(request))
    torn = error.status_code == 400
    do = "what was sent could not be read: load the page anew and send it again"
    other = "this address does not take that kind of request"
    problem = Problem("http", "", do if torn else other)
    if api or wants_json(request):
        return JSONResponse({"errors": [problem.to_json()]}, error.status_code, error.headers)
    return problem_page(request, (problem,), error.status_code, error.headers)


def _page_above(request: Request) -> str:
    """The nearest page above an address that only takes what is sent: where its form stands."""
    parts = request.url.path.strip("/").split("/")
    for length in range(len(parts) - 1, 0, -1):
        path = "/" + "/".join(parts[:length])
        scope = {**request.scope, "path": path, "raw_path": path.encode(), "method": "GET"}
        if any(route.matches(scope)[0] is Match.FULL for route in request.app.router.routes):
            return path
    return "/"


def _cut_off(request: Request, error: Exception) -> Response:
    """Whoever was sending has gone, or sent more than it may: no fault of ours."""
    return _http(request, HTTPException(400))


def _our_fault(request: Request, error: Exception) -> Response:
    _log.error("unexpected error on %r", request.url.path, exc_info=error)
    problem = Problem(
        "our-fault", "", "Something broke that is our fault. Nothing was recorded; try once more."
    )
    if wants_json(request) or request.url.path.startswith("/api/"):
        return JSONResponse({"errors": [problem.to_json()]}, 500)
    return problem_page(request, (problem,), 500)
