"""The first sums of a run, done before anybody asks: whoever opens the first page waits less."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from cyclewright.errors import CyclewrightError

if TYPE_CHECKING:
    from cyclewright.workshop.shop import Shop

ANSWERS = {
    "kind": "full-suspension",
    "country": "GB",
    "fork_travel": "140 mm",
    "rear_travel": "130 mm",
    "shock_stroke": "50 mm",
    "tyre": "29x2.4",
    "tubeless": "true",
    "hooked": "true",
    "height": "175 cm",
    "mass": "80 kg",
}
"""A usual bike, where there is none on record yet."""


@contextmanager
def warming(shop: Shop) -> Iterator[None]:
    """Work ahead in the background; what is under way when the bench stops is waited for."""
    over = threading.Event()
    thread = threading.Thread(target=work_ahead, args=(shop, over.is_set), daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def work_ahead(shop: Shop, over: Callable[[], bool] = lambda: False) -> None:
    """Load what pages need, with the newest bike's figures, drawing and fit, or a usual bike's.

    What a record is refused for is told by the page that needs it, not here.
    """
    with suppress(CyclewrightError):
        for work in _works(shop):
            if over():
                return
            work()


def _works(shop: Shop) -> Iterator[Callable[[], object]]:
    from cyclewright.bench import fit, visit
    from cyclewright.workshop import advising, choices, fitting, paper, receive, release, sheets

    newest = receive.list_bikes(shop, limit=1)
    if not newest:
        read = sheets.quick_start(ANSWERS).sheets()
        yield lambda: (advising.advise(read), choices.hands(read), sheets.overview(read))
        return
    bike = newest[0].id
    seen = visit.of(shop, bike)
    yield lambda: advising.advise_bike(shop, bike)
    yield lambda: release.papers(shop, bike, visit.sheets_of(shop, seen))
    yield lambda: paper.draw_bike(shop, bike, labels="page")
    yield lambda: fit.fitted(shop, seen, fitting.proved(shop, bike))
