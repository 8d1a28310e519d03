"""The fit page: saddle, cockpit and levers of this rider, a fit carried over, a fit done again."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.responses import Response

from cyclewright.bench import changes as trying
from cyclewright.bench import views, visit
from cyclewright.bench.amounts import amount
from cyclewright.bench.render import page, shop_of, system_of, wants_json
from cyclewright.errors import InputError, Problem, input_error
from cyclewright.setting import Finding, Setting
from cyclewright.units import System
from cyclewright.workshop import as_set, choices, fitting, receive, sheets

if TYPE_CHECKING:
    from cyclewright.workshop.fitting import CarryAnswer, Dropper, FitAnswer, HandleRow
    from cyclewright.workshop.shop import Shop

router = APIRouter(include_in_schema=False)

MOST_BIKES = 60
"""Other bikes offered as the previous one; any other is reached by its number."""
_FIT_FIELDS = (
    "rider.", "bike.saddle.", "bike.post.", "bike.cockpit.", "bike.crank.", "bike.pedal.",
    "bike.frame.insertion", "bike.frame.seat", "bike.frame.stack", "bike.frame.headset",
)  # fmt: skip
"""A finding or question that names one of these is about the position."""


@dataclass(frozen=True, slots=True)
class Strip:
    """One method on the scale that all share, 100 wide."""

    setting: Setting
    low: float
    width: float
    at: float


@dataclass(frozen=True, slots=True)
class Heights:
    """Saddle heights side by side: their strips, what is wanted, and what the post holds."""

    strips: tuple[Strip, ...]
    wanted: float
    limits: tuple[float, ...]
    ends: tuple[float, float]
    """The scale's ends [m]."""


@dataclass(frozen=True, slots=True)
class Room:
    """One dropper's room to its nearest limit, on a strip 100 wide that starts at no room."""

    row: Dropper
    at: float
    width: float
    longest: bool


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a handle: what moves, in words ready to read, and where to try it."""

    row: HandleRow
    moved: tuple[tuple[str, str], ...]
    """Heading and difference; a dash below what is read, empty where there is no such thing."""
    address: str


MOVED = (
    ("Reach", "reach", "mm", 1.0),
    ("Grip height", "height", "mm", 1.0),
    ("Trunk", "trunk", "°", 0.1),
    ("Hip", "hip", "°", 0.1),
    ("Front, seated", "front_seated", "%", 0.1),
    ("Front, standing", "front_standing", "%", 0.1),
    ("Fork sag", "fork_sag", "mm", 0.1),
    ("Shock sag", "shock_sag", "mm", 0.1),
    ("Trail at sag", "trail", "mm", 0.1),
)
"""What a handle moves: heading, field of its row, unit and the step it is read in."""


NEW = (
    ("rider.inseam", "Inseam"),
    ("rider.height", "Height"),
    ("rider.mass", "Mass"),
    ("rider.shoe_stack", "Shoe's sole"),
    ("bike.crank.length", "Crank"),
    ("bike.post.travel", "Dropper's travel"),
    ("bike.cockpit.stem_length", "Stem"),
    ("bike.cockpit.bar_rise", "Bar rise"),
)
"""What most often changes of a rider or a bike."""
_UNIT = re.compile(r"[+-]?\d*\.?\d+\s*([^\W\d_]+)")


@dataclass(frozen=True, slots=True)
class Asked:
    """One field that may have changed: what stands in the sheet, and what was typed."""

    field: str
    label: str
    now: str
    typed: str

    @property
    def change(self) -> str:
        """What was typed as a change; a bare number is in the unit that stands in the sheet."""
        unit = _UNIT.match(self.now)
        return f"{self.field}={amount(self.typed, unit[1] if unit else '')}"


@router.get("/bikes/{bike}/fit")
def show(request: Request, bike: int) -> Response:
    """The fit of a bike's rider; with `change` done again, with `from` a bike carried over."""
    shop, system, query = shop_of(request), system_of(request), request.query_params
    seen = visit.of(shop, bike)
    typed = [text.strip() for text in query.getlist("change") if text.strip()]
    asked = _asked(visit.sheets_of(shop, seen), query)
    typed += [item.change for item in asked if item.typed]
    proved = fitting.proved(shop, bike)
    again, carried = None, None
    trouble: tuple[Problem, ...] = ()
    try:
        again = _again(shop, seen, typed) if typed else None
        carried = _carried(shop, bike, query.get("from", ""))
    except InputError as error:
        if wants_json(request):
            raise
        trouble = error.problems
    answer = fitted(shop, seen, proved) if again is None else again.fit
    data: dict[str, Any] = {
        "bike": bike,
        "proved": proved,
        **answer.to_json(system),
        "again": None if again is None else again.to_json(system),
        "carried": None if carried is None else carried.to_json(system),
    }
    tried = carried_changes(carried, system) if carried is not None else typed if again else ()
    set_to = answer.position if carried is None else carried.position
    context = {
        "visit": seen,
        "trouble": trouble,
        "fit": answer,
        "heights": heights(answer),
        "held": held(answer),
        "rooms": rooms(answer.droppers),
        "steps": [_step(bike, row, system) for row in answer.handles],
        "stands": as_set.rows(shop, bike, set_to, system),
        "position": [item for item in set_to if not item.name.startswith("lever_")],
        "angles": answer.angles if carried is None else carried.angles,
        "height": next(item for item in set_to if item.name == "saddle_height"),
        "levers": [item for item in set_to if item.name.startswith("lever_")],
        "found": views.once(list(_of_the_fit(answer.findings))),
        "again": again,
        "typed": typed,
        "carried": carried,
        "previous": query.get("from", ""),
        "bikes": _others(shop, seen),
        "misses": [] if carried is None else _misses(carried, system),
        "tried": tried,
        "query": f"?{urlencode([('change', text) for text in tried])}" if tried else "",
        "proves": seen.step(fitting.PROVED_BY),
        "fields": sheets.fields(),
        "asked": asked,
        "other": next((text for text in query.getlist("change") if text.strip()), ""),
    }
    return page(request, "fit.html", data, context)


def _asked(on_paper: Any, query: Mapping[str, str]) -> list[Asked]:
    """The fields that most often change, as the sheets have them or take them."""
    usual = {item.field: item.text for item in sheets.overview(on_paper).defaults}
    found = []
    for field, label in NEW:
        now = choices.written(on_paper, field) or usual.get(field)
        if now is not None:
            found.append(Asked(field, label, now, query.get(f"set:{field}", "").strip()))
    return found


def fitted(shop: Shop, seen: visit.Visit, proved: bool) -> FitAnswer:
    """The fit as it stands, worked out once for the sheets in force."""
    key = ("fit", *shop.sheet_key(seen.state), proved)
    return shop.once(key, lambda: fitting.fit_bike(shop, seen.id))


def _again(shop: Shop, seen: visit.Visit, typed: Sequence[str]) -> fitting.RefitAnswer:
    """The fit with these changes of the sheets, and what has to be set again."""
    on_paper = visit.sheets_of(shop, seen)
    changes, _ = trying.parted(trying.settle(typed))
    key = ("refit", *shop.sheet_key(seen.state), changes)
    after = choices.changed(on_paper, changes)
    return shop.once(key, lambda: fitting.refit(on_paper, after))


def _carried(shop: Shop, bike: int, chosen: str) -> CarryAnswer | None:
    """The chosen bike's fit on this one, None when none is chosen."""
    if not chosen:
        return None
    if not chosen.isdecimal() or len(chosen) > 9:
        raise input_error("bike-id", "from", "choose a bike from the list", value=chosen)
    if int(chosen) == bike:
        raise input_error("same-bike", "from", "choose another bike than this one", value=chosen)
    return fitting.carry_from(shop, bike, int(chosen))


def carried_changes(carried: CarryAnswer, system: System = "trade") -> tuple[str, ...]:
    """What to try on the setup page so that the bike takes the previous one's place."""
    height = next((item for item in carried.settings if item.name == "saddle_height"), None)
    by_hand: tuple[str, ...] = ()
    if height is not None and height.value is not None:
        by_hand = (f"{trying.BY_HAND}saddle_height={height.value * 1000:.0f} mm",)
    return (*carried.changes, *by_hand)


def heights(answer: FitAnswer) -> Heights:
    """Methods and what is wanted on one scale, with the post's limits that fall on it."""
    shown = (*answer.methods, answer.wanted)
    deciding = [limit.value for limit in answer.recommended.limits if limit.binds]
    ends = [end for item in shown for end in (item.low, item.value, item.high) if end is not None]
    ends += deciding
    edge = 0.04 * (max(ends) - min(ends)) or 0.01
    left, right = min(ends) - edge, max(ends) + edge

    def along(point: float) -> float:
        return round(100.0 * (point - left) / (right - left), 2)

    strips = []
    for item in shown:
        if item.value is None:
            continue
        low = item.value if item.low is None else item.low
        high = item.value if item.high is None else item.high
        strips.append(
            Strip(item, along(low), round(along(high) - along(low), 2), along(item.value))
        )
    wanted = answer.wanted.value
    return Heights(
        tuple(strips),
        along(wanted if wanted is not None else left),
        tuple(along(limit) for limit in sorted(set(deciding))),
        (left, right),
    )


def held(answer: FitAnswer) -> float | None:
    """How much higher the post holds the saddle than suits this rider [m]; None when it does not.

    Below zero it keeps the saddle too low.
    """
    value, deciding = answer.recommended.value, [x.binds for x in answer.recommended.limits]
    if value is None or answer.wanted.value is None or not any(deciding):
        return None
    return value - answer.wanted.value


def rooms(rows: Sequence[Dropper]) -> tuple[Room, ...]:
    """Each dropper's room as a bar right of the middle, what it lacks left of it."""
    most = max((abs(row.spare) for row in rows), default=0.0) or 1.0
    longest = max((row.travel for row in rows if row.fits), default=-1.0)
    found = []
    for row in rows:
        width = round(48.0 * abs(row.spare) / most, 2)
        at = 50.0 if row.spare >= 0 else round(50.0 - width, 2)
        found.append(Room(row, at, width, row.travel == longest))
    return tuple(found)


def _step(bike: int, row: HandleRow, system: System) -> Step:
    query = urlencode([("change", text) for text in row.changes])
    moved = tuple(
        (head, difference(getattr(row, name), display, graduation, system))
        for head, name, display, graduation in MOVED
    )
    return Step(row, moved, f"/bikes/{bike}?{query}" if row.changes else "")


def difference(
    value: float | None, display: str, graduation: float, system: System = "trade"
) -> str:
    """A difference with its sign; a dash below what is read, nothing where there is none.

    >>> difference(-0.0041, "mm", 1.0), difference(1e-6, "mm", 1.0), difference(None, "mm", 1.0)
    ('−4 mm', '–', '')
    """
    if value is None:
        return ""
    text = views.in_unit(value, display, graduation, system)
    if not any(char in "123456789" for char in text):
        return "–"
    return f"−{text[1:]}" if text.startswith("-") else f"+{text}"


@dataclass(frozen=True, slots=True)
class Miss:
    """One distance between contacts as it was, and how far off it comes out."""

    what: str
    along: str
    above: str
    off: str
    close: bool


def _misses(carried: CarryAnswer, system: System) -> list[Miss]:
    """The distances of the previous bike and how near this one comes."""

    def told(length: float) -> str:
        return views.in_unit(length, "mm", 1.0, system).replace("-", "−")

    return [
        Miss(row.what, told(row.was[0]), told(row.was[1]), told(math.hypot(*row.miss)), row.close)
        for row in carried.matches
    ]


def _of_the_fit(findings: Iterable[Finding]) -> Iterator[Finding]:
    """The findings about the position; tyres and springs have theirs on the setup page."""
    for item in findings:
        if any(field.startswith(_FIT_FIELDS) for field in item.fields):
            yield item


def _others(shop: Shop, seen: visit.Visit) -> dict[str, list[Any]]:
    """Bikes to carry over from: those of this rider before all others, the newest first."""
    rows = receive.list_bikes(shop, limit=MOST_BIKES)
    own = receive.list_bikes(shop, seen.rider, limit=MOST_BIKES) if seen.state.rider else ()
    ids = {row.id for row in own if row.rider == seen.rider}
    groups = {
        f"Of {seen.rider}": [row for row in own if row.id in ids and row.id != seen.id],
        "Other bikes": [row for row in rows if row.id not in ids and row.id != seen.id],
    }
    return {group: found for group, found in groups.items() if found}
