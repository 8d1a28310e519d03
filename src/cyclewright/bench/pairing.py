"""Letting one phone in: a code that works once for two minutes, confirmed at the bench."""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

LASTS = 120.0
"""Seconds in which the code is used, and then again in which the bench confirms."""

State = Literal["offered", "asked", "in", "refused", "over"]


@dataclass(frozen=True, slots=True)
class Seen:
    """A pairing as the bench shows it."""

    state: State
    left: int
    """Whole seconds that are left."""
    number: str
    """What the phone shows too, so that the right one is let in."""
    about: str
    """What kind of phone says that it is asking."""


@dataclass(slots=True)
class _Offer:
    code: str
    since: float
    state: State = "offered"
    claim: str = ""
    number: str = ""
    about: str = ""
    cookie: str | None = None


class Pairings:
    """The pairing under way, one at a time; a new code ends the one before."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._offer: _Offer | None = None

    def offer(self) -> str:
        """A new code of 128 bits, for the QR code that the bench shows."""
        code = secrets.token_urlsafe(16)
        with self._lock:
            self._offer = _Offer(code, self._clock())
        return code

    def code(self) -> str | None:
        """The code while it can still be used."""
        with self._lock:
            offer = self._current()
            return offer.code if offer is not None and offer.state == "offered" else None

    def seen(self) -> Seen | None:
        """How the pairing stands; None when nobody began one."""
        with self._lock:
            offer = self._current()
            if offer is None:
                return None
            left = max(0, round(offer.since + LASTS - self._clock()))
            return Seen(offer.state, left, offer.number, offer.about)

    def claim(self, code: str, about: str) -> tuple[str, str] | None:
        """Use the code: the phone's secret and the number that both show; None for a wrong one."""
        with self._lock:
            offer = self._current()
            if offer is None or offer.state != "offered" or not _same(offer.code, code):
                return None
            offer.state, offer.since, offer.about = "asked", self._clock(), about
            offer.claim = secrets.token_urlsafe(32)
            offer.number = f"{secrets.randbelow(10_000):04d}"
            return offer.claim, offer.number

    def confirm(self, number: str, let_in: Callable[[], str]) -> bool:
        """Let the phone in that shows this number; `let_in` makes its cookie."""
        with self._lock:
            offer = self._current()
            if offer is None or offer.state != "asked" or not _same(offer.number, number):
                return False
            offer.cookie, offer.state, offer.since = let_in(), "in", self._clock()
            return True

    def refuse(self) -> None:
        """End the pairing, whatever state it is in."""
        with self._lock:
            if self._offer is not None and self._offer.state in ("offered", "asked"):
                self._offer.state = "refused"

    def collect(self, claim: str) -> tuple[State, str | None]:
        """How it stands for the phone of this secret; its cookie, once."""
        with self._lock:
            offer = self._current()
            if offer is None or not offer.claim or not _same(offer.claim, claim):
                return "over", None
            cookie, offer.cookie = offer.cookie, None
            if offer.state == "in" and cookie is None:
                return "over", None
            return offer.state, cookie

    def _current(self) -> _Offer | None:
        offer = self._offer
        waits = offer is not None and (offer.state in ("offered", "asked") or offer.cookie)
        if offer is not None and waits and self._clock() >= offer.since + LASTS:
            offer.state, offer.cookie = "over", None
        return offer


def _same(one: str, other: str) -> bool:
    return secrets.compare_digest(one.encode(), other.encode())
