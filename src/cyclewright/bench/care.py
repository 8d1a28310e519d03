"""Care: what is due, what wears with its trend, parts on record, and recalls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from cyclewright.bench import forms, views, visit
from cyclewright.bench.amounts import amount
from cyclewright.bench.forms import Form
from cyclewright.bench.render import go, missing_page, page, person_of, session_of, shop_of
from cyclewright.errors import input_error
from cyclewright.workshop import due, holding, pins, recall

if TYPE_CHECKING:
    from cyclewright.workshop.due import DueRow, WearRow

router = APIRouter(include_in_schema=False)

ICAL = "text/calendar; charset=utf-8"


@router.get("/bikes/{bike}/care")
def show(request: Request, bike: int) -> Response:
    """What is due on a bike, and how what wears is wearing."""
    shop = shop_of(request)
    seen, answer = visit.of(shop, bike), due.due(shop, bike)
    rows = sorted(answer.rows, key=lambda row: (not row.overdue, row.by or "9999"))
    parts = recall.parts(shop, bike)
    said = session_of(request).take()
    context = {
        "visit": seen,
        "due": answer,
        "rows": rows,
        "soon": _soon(rows),
        "wear": [(row, trend(row)) for row in answer.wear],
        "wears": due.wear_kinds(),
        "parts": parts,
        "recalled": _recalled(shop, seen.state),
        "held": holding.on_page(shop, seen.state, "care"),
        "pins": pins.used(shop),
        "said": said,
    }
    data = answer.to_json() | {"parts": [row.to_json() for row in parts]}
    return page(request, "care.html", data, context)


@router.get("/bikes/{bike}/care.ics")
def calendar(request: Request, bike: int) -> Response:
    """What is due on a bike, for a diary."""
    name = f'attachment; filename="care-bike-{bike}.ics"'
    body = due.calendar(shop_of(request), bike)
    return Response(body, 200, {"content-disposition": name}, ICAL)


@router.get("/care")
def everything(request: Request) -> Response:
    """What is due on every bike in the days to come."""
    shop = shop_of(request)
    rows = due.due_all(shop)
    names = {bike: shop.state(bike).name for bike in {row.bike for row in rows}}
    data = {"due": [asdict(row) for row in rows]}
    return page(request, "care_all.html", data, {"rows": rows, "names": names})


@router.get("/care.ics")
def every_calendar(request: Request) -> Response:
    """What is due on every bike, for a diary."""
    name = 'attachment; filename="care.ics"'
    return Response(due.calendar(shop_of(request)), 200, {"content-disposition": name}, ICAL)


@router.post("/bikes/{bike}/care/{what}")
def record(request: Request, bike: int, what: str, form: Form) -> Response:
    """Use, care done, a reading of wear, a part as it is marked, a recall settled."""
    act = _ACTS.get(what)
    if act is None:
        return missing_page(request)
    own = {"by": person_of(request), "uuid": forms.optional(form, "uuid")}
    said = act(shop_of(request), bike, form, own)
    session_of(request).said = visit.Told(views.sentence(said))
    return go(request, f"/bikes/{bike}/care", {"said": said})


@router.get("/recalls")
def recalls(request: Request) -> Response:
    """Recalls that stand, with the bikes they block, and the form for a new one."""
    shop = shop_of(request)
    rows = recall.recalls(shop, all_of_them=True)
    bikes = {n for row in rows for n in (*row.carries, *row.may_carry, *row.not_recorded)}
    context = {
        "standing": [row for row in rows if not row.lifted],
        "lifted": [row for row in rows if row.lifted],
        "names": {bike: shop.state(bike).name for bike in bikes},
        "pins": pins.used(shop),
        "said": session_of(request).take(),
    }
    return page(request, "recalls.html", {"recalls": [row.to_json() for row in rows]}, context)


@router.post("/recalls")
def open_recall(request: Request, form: Form) -> Response:
    """A new recall: from here it blocks."""
    row = recall.open_recall(
        shop_of(request),
        forms.text(form, "part"),
        why=forms.text(form, "why"),
        do=forms.text(form, "do"),
        source=forms.text(form, "source"),
        maker=forms.text(form, "maker"),
        model=forms.text(form, "model"),
        batches=_listed(forms.text(form, "batches")),
        serials=_listed(forms.text(form, "serials")),
        by=person_of(request),
        uuid=forms.optional(form, "uuid"),
    )
    blocked = len(row.carries) + len(row.may_carry)
    bikes = views.count(blocked, "bike is", "bikes are")
    session_of(request).said = visit.Told(f"Recall {row.id} stands: {bikes} blocked.")
    return go(request, "/recalls", row.to_json())


@router.post("/recalls/{number}/lift")
def lift(request: Request, number: int, form: Form) -> Response:
    """An owner lifts a whole recall."""
    reason, pin = forms.text(form, "reason"), forms.optional(form, "pin")
    row = recall.lift_recall(shop_of(request), number, reason, person_of(request), pin=pin)
    session_of(request).said = visit.Told(f"Recall {row.id} is lifted.")
    return go(request, "/recalls", row.to_json())


@dataclass(frozen=True, slots=True)
class Trend:
    """A small drawing of wear over time: points, line, limit, and what is ahead."""

    points: tuple[tuple[float, float], ...]
    line: str
    ahead: str
    limit: float | None
    label: str


WIDE, HIGH, EDGE = 240.0, 72.0, 8.0


def trend(row: WearRow) -> Trend | None:
    """The readings along use, the limit across, and the way to it; None for one reading."""
    if len(row.readings) < 2:
        return None
    along = [float(item["use"]) for item in row.readings]
    values = [float(item["value"]) for item in row.readings]
    reach = max(along[-1] - along[0], 1.0)
    ahead = 0.0
    if row.by and row.limit is not None and row.rate:
        ahead = max((row.limit - values[-1]) / row.rate, 0.0)
    # Wear far ahead would press the readings together: its line then leaves the picture.
    end = along[-1] + min(ahead, 2 * reach)
    shown = [*values, *([] if row.limit is None else [row.limit])]
    low, high = min(shown), max(shown)
    span, wide = (high - low) or 1.0, max(end - along[0], reach)

    def at(use: float, value: float) -> tuple[float, float]:
        x = EDGE + (WIDE - 2 * EDGE) * (use - along[0]) / wide
        return round(x, 1), round(HIGH - EDGE - (HIGH - 2 * EDGE) * (value - low) / span, 1)

    points = tuple(at(use, value) for use, value in zip(along, values, strict=True))
    onward = ""
    if ahead and row.rate:
        onward = _path([points[-1], at(end, values[-1] + row.rate * (end - along[-1]))])
    limit = None if row.limit is None else at(along[0], row.limit)[1]
    first, newest = row.readings[0], row.readings[-1]
    label = (
        f"{row.name}: {first['shown']} on {first['day']} to {newest['shown']} on {newest['day']}"
    )
    return Trend(points, _path(points), onward, limit, label)


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + " L".join(f"{x} {y}" for x, y in points)


def _soon(rows: Sequence[DueRow]) -> int:
    """How many rows are shown at once: what is overdue or due within a month, three at least."""
    month = (date.today() + timedelta(days=30)).isoformat()
    return max(3, sum(row.overdue or (row.by or "9999") <= month for row in rows))


def _recalled(shop: Any, state: Any) -> list[tuple[int, str]]:
    """Recalls that block this bike, each once, and what they say."""
    found: dict[int, str] = {}
    for hit in recall.blocking(shop, state):
        found.setdefault(hit.recall, hit.line())
    return list(found.items())


def _use(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> str:
    rides, hours = forms.text(form, "rides") or "0", forms.text(form, "hours") or "0"
    hours = amount(hours, "h").removesuffix("h").strip()
    if not rides.isdecimal():
        raise input_error("rides", "rides", "give whole rides", value=rides)
    try:
        ridden = float(hours)
    except ValueError:
        raise input_error("hours", "hours", "give hours like 2.5", value=hours) from None
    return due.note_use(shop, bike, rides=int(rides), hours=ridden, **own).said


def _done(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> str:
    return due.care_done(shop, bike, forms.text(form, "item"), **own).said


def _book(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> str:
    return due.book(shop, bike, forms.text(form, "day"), note=forms.text(form, "note"), **own).said


def _wear(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> str:
    kind = forms.text(form, "kind")
    unit = next((row.unit for row in due.wear_kinds() if row.kind == kind), "mm")
    return due.read_wear(shop, bike, kind, amount(forms.text(form, "value"), unit), **own).said


def _part(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> str:
    marks = {key: forms.text(form, key) for key in ("maker", "model", "serial", "batch")}
    part, known = forms.text(form, "part"), bool(forms.text(form, "marks"))
    return recall.fit_part(shop, bike, part, marks_only=known, **marks, **own).said


def _off(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> str:
    return recall.remove_part(shop, bike, forms.text(form, "part"), **own).said


def _settle(shop: Any, bike: int, form: Form, own: dict[str, Any]) -> str:
    number, reason = forms.number_of(form, "recall") or 0, forms.text(form, "reason")
    pin = forms.optional(form, "pin")
    return recall.settle_recall(shop, bike, number, reason, pin=pin, **own).said


_ACTS = {
    "use": _use,
    "done": _done,
    "book": _book,
    "wear": _wear,
    "part": _part,
    "off": _off,
    "settle": _settle,
}


def _listed(text: str) -> list[str]:
    return [item.strip() for item in text.replace(";", ",").split(",") if item.strip()]
