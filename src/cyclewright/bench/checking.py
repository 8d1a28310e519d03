"""The whole shop's record checked: how far it is, how long it takes yet, and calling it off."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from cyclewright.bench.render import go, page, shop_of
from cyclewright.errors import CyclewrightError
from cyclewright.workshop import care

if TYPE_CHECKING:
    from cyclewright.workshop.shop import Shop

router = APIRouter(include_in_schema=False)

SOON = 1.5
"""Seconds that a page waits for the end before it shows how far the check is."""


class _CalledOffError(Exception):
    """Somebody did not want to wait any longer."""


@dataclass(slots=True)
class Check:
    """One check of every bike, in a thread of its own; one at a time."""

    number: int
    done: int = 0
    total: int = 0
    answer: care.VerifyAnswer | None = None
    error: CyclewrightError | None = None
    off: bool = False
    over: threading.Event = field(default_factory=threading.Event)
    begun: tuple[float, int] | None = None
    """When the first bike was done, and how many entries that was."""

    @property
    def left(self) -> int | None:
        """Seconds that it takes yet, None before that can be told."""
        if self.begun is None or self.done == self.begun[1]:
            return None
        pace = (time.monotonic() - self.begun[0]) / (self.done - self.begun[1])
        return max(1, round(pace * (self.total - self.done)))

    def run(self, shop: Shop) -> None:
        """Check, and keep what was found or why it could not be."""
        try:
            self.answer = care.verify(shop, tell=self._tell)
        except CyclewrightError as error:
            self.error = error
        except _CalledOffError:
            self.off = True
        finally:
            self.over.set()

    def _tell(self, done: int, total: int) -> None:
        self.begun = self.begun or (time.monotonic(), done)
        self.done, self.total = done, total
        if self.off:
            raise _CalledOffError


class Checks:
    """The check that runs or ran last."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self.last: Check | None = None

    def begin(self, shop: Shop) -> Check:
        """The check that is under way, or a new one."""
        with self._lock:
            if self.last is None or self.last.over.is_set():
                self.last = Check(1 if self.last is None else self.last.number + 1)
                threading.Thread(target=self.last.run, args=(shop,), daemon=True).start()
            return self.last


@router.get("/verify")
def check_all(request: Request, at: int | None = Query(None, ge=1, lt=2**31)) -> Response:
    """Whether the whole shop's record is as it was written, or how far the check of it is."""
    checks: Checks = request.app.state.checks
    known = checks.last
    check = known if known and known.number == at else checks.begin(shop_of(request))
    check.over.wait(SOON)
    if check.error is not None:
        raise check.error
    if check.answer is not None:
        found = {"answer": check.answer, "bike": None}
        return page(request, "verify.html", check.answer.to_json(), found)
    data: dict[str, Any] = {
        "check": check.number,
        "off": check.off,
        "done": check.done,
        "total": check.total,
        "left": check.left,
    }
    return page(request, "checking.html", data, status=200 if check.off else 202)


@router.post("/verify/cancel")
def cancel(request: Request) -> Response:
    """Call the check off; what was recorded is not touched by it either way."""
    checks: Checks = request.app.state.checks
    check = checks.last
    if check is None:
        return go(request, "/")
    check.off = check.answer is None
    check.over.wait(SOON)
    return go(request, f"/verify?at={check.number}")
