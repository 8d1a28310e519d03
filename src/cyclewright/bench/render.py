"""Pages out of templates, the same data as JSON, and errors as either."""

from __future__ import annotations

import re
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from http import HTTPStatus
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from cyclewright.bench import assets, views
from cyclewright.bench.security import Session
from cyclewright.errors import (
    Conflict,
    CyclewrightError,
    InputError,
    NotConverged,
    Problem,
    Refusal,
)
from cyclewright.units import told as turned
from cyclewright.workshop import undo

if TYPE_CHECKING:
    from cyclewright.units import System
    from cyclewright.workshop.shop import Shop

UNITS_COOKIE = "cyclewright_units"
SYSTEMS: tuple[System, ...] = ("trade", "metric", "imperial")
QUIET = "bench-quiet"


class Drawings:
    """The last drawings, kept because the same record always gives the same drawing."""

    def __init__(self, most: int = 48) -> None:
        self.most = most
        self._kept: OrderedDict[Hashable, str] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Hashable, make: Callable[[], str]) -> str:
        """The drawing of that key, made when it is not kept."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        made = make()
        with self._lock:
            self._kept[key] = made
            while len(self._kept) > self.most:
                self._kept.popitem(last=False)
        return made


class Shelf(OrderedDict[Hashable, bytes]):
    """Papers made ahead and not fetched yet; the oldest go first."""

    def __init__(self, most: int = 16) -> None:
        super().__init__()
        self.most = most

    def __setitem__(self, key: Hashable, body: bytes) -> None:
        super().__setitem__(key, body)
        while len(self) > self.most:
            del self[next(iter(self))]


@dataclass(frozen=True, slots=True)
class Bench:
    """What every page needs: the open shop, which threads may share, and the templates."""

    shop: Shop
    templates: Environment
    record: str
    """The random name of the shop's record."""
    drawings: Drawings = field(default_factory=Drawings)
    printed: Shelf = field(default_factory=Shelf)


def environment() -> Environment:
    """Templates with autoescape on and no undefined names."""
    loader = PackageLoader("cyclewright.bench", "templates")
    made = Environment(
        loader=loader,
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(views.TEMPLATE_GLOBALS)
    made.globals["static"] = assets.root()
    made.filters.update(views.TEMPLATE_FILTERS)
    return made


def bench_of(request: Request) -> Bench:
    """The bench that serves this request."""
    found: Bench = request.app.state.bench
    return found


def shop_of(request: Request) -> Shop:
    """The shop whose record this bench shows."""
    return bench_of(request).shop


def session_of(request: Request) -> Session:
    """The signed-in session; the guard lets no page run without one.

    A page fetched in the background takes nothing that the next page has to tell.
    """
    session: Session | None = request.scope.get("session_of_bench")
    if session is None:
        return Session()
    return replace(session, said=None) if QUIET in request.headers else session


def person_of(request: Request) -> str | None:
    """The name of who is working on this browser, if given."""
    return session_of(request).person


def system_of(request: Request) -> System:
    """The units that this device shows."""
    wanted = request.cookies.get(UNITS_COOKIE)
    return next((system for system in SYSTEMS if system == wanted), "trade")


def wants_json(request: Request) -> bool:
    """Whether the caller asked for the page's data."""
    accept = request.headers.get("accept", "")
    return "application/json" in accept and "text/html" not in accept


def is_part(request: Request) -> bool:
    """Whether only the moving part of a page is wanted."""
    return request.headers.get("hx-request") == "true"


def page(
    request: Request,
    template: str,
    data: Mapping[str, Any],
    context: Mapping[str, Any] | None = None,
    status: int = 200,
) -> Response:
    """A page from its template, or its `data` as JSON when that was asked for."""
    if wants_json(request):
        return JSONResponse(dict(data), status)
    return HTMLResponse(html(request, template, {**data, **(context or {})}), status)


def html(request: Request, template: str, context: Mapping[str, Any]) -> str:
    """A template rendered with what every page knows."""
    system = system_of(request)
    shared = {
        "person": person_of(request),
        "problems": (),
        "layout": "base.html",
        "record": bench_of(request).record if request.scope.get("session_of_bench") else "",
        "system": system,
        "shown": partial(views.shown, system=system),
        "in_unit": partial(views.in_unit, system=system),
        "turned": partial(turned.told, system=system),
        "phone": session_of(request).device is not None,
        "undo_of": partial(undo.newest, shop_of(request), by=person_of(request)),
    }
    made = bench_of(request).templates.get_template(template).render({**shared, **context})
    return turned.page(made, system)


def go(request: Request, path: str, told: Mapping[str, Any] | None = None) -> Response:
    """On to another page after something was recorded; as data, with what is `told` of it."""
    if wants_json(request):
        return JSONResponse({"go": path, **(told or {})})
    if is_part(request):
        headers = {"HX-Redirect": path} | (
            {"HX-Refresh": "true"} if _is_open(request, path) else {}
        )
        return Response(status_code=204, headers=headers)
    return RedirectResponse(path, HTTPStatus.SEE_OTHER)


def _is_open(request: Request, path: str) -> bool:
    """Whether the browser shows that page, and would only scroll to a place on it."""
    here, there = urlsplit(request.headers.get("HX-Current-URL", "")), urlsplit(path)
    return bool(there.fragment) and (here.path, here.query) == (there.path, there.query)


def status_of(error: CyclewrightError) -> int:
    """The HTTP status that says the same as the command line's exit code."""
    if isinstance(error, Refusal | Conflict):
        return 409
    if isinstance(error, InputError | NotConverged):
        return 422
    return 500


def show_error(request: Request, error: CyclewrightError) -> Response:
    """Every problem at once, as JSON, as a part of a page, or as a page."""
    status = status_of(error)
    if wants_json(request) or request.url.path.startswith("/api/"):
        return JSONResponse(error.to_json(), status)
    if is_part(request):
        headers = {"HX-Retarget": "#messages", "HX-Reswap": "innerHTML show:#messages:top"}
        context = {"problems": error.problems}
        return HTMLResponse(html(request, "part/problems.html", context), status, headers)
    bike = _massless(request, error)
    return problem_page(request, error.problems, status, back=back_of(request), massless=bike)


def problem_page(
    request: Request,
    problems: Sequence[Problem],
    status: int,
    headers: Mapping[str, str] | None = None,
    *,
    back: str = "/",
    massless: int | None = None,
) -> Response:
    """A page that says what is wrong, with a way on."""
    context = {"problems": problems, "back": back, "status": status, "massless": massless}
    return HTMLResponse(html(request, "problems.html", context), status, headers)


def _massless(request: Request, error: CyclewrightError) -> int | None:
    """The bike of this page, when all that is missing for its sums is a mass to set it up for."""
    found = re.match(r"/bikes/(\d+)\b", request.url.path)
    wanted = {(problem.code, problem.field) for problem in error.problems}
    return int(found[1]) if found and wanted == {("missing", "mass")} else None


def missing_page(request: Request, what: str = "There is no such page.") -> Response:
    """A clear not-found."""
    if wants_json(request) or request.url.path.startswith("/api/"):
        problem = {"code": "not-found", "field": "", "do": what}
        return JSONResponse({"errors": [problem]}, 404)
    return HTMLResponse(html(request, "missing.html", {"what": what}), 404)


def back_of(request: Request) -> str:
    """The page the reader came from, if it is one of ours."""
    origin = f"{request.url.scheme}://{request.headers.get('host', '')}"
    referer = request.headers.get("referer", "")
    return own_path(referer.removeprefix(origin)) if referer.startswith(origin) else "/"


def own_path(path: str) -> str:
    r"""A path of this bench that a browser names; anything else is the first page.

    >>> own_path("/bikes/1?open=tyres#front"), own_path("//a.example"), own_path(r"/\a.example")
    ('/bikes/1?open=tyres#front', '/', '/')
    """
    return path if re.fullmatch(r"/(?!/)[!-\[\]-~]*", path) else "/"
