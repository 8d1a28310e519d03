"""The bike page: the drawing, the settings beside it, and changes tried before they are made."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.datastructures import FormData, QueryParams
from starlette.responses import HTMLResponse, Response

from cyclewright import units
from cyclewright.bench import changes as trying
from cyclewright.bench import forms, views, visit
from cyclewright.bench.amounts import amount
from cyclewright.bench.forms import Form
from cyclewright.bench.render import (
    bench_of,
    go,
    html,
    is_part,
    page,
    person_of,
    session_of,
    shop_of,
    status_of,
    system_of,
)
from cyclewright.errors import (
    Conflict,
    CyclewrightError,
    InputError,
    NotConverged,
    input_error,
)
from cyclewright.setting import Setting
from cyclewright.units import System, in_system
from cyclewright.units.told import page as turned
from cyclewright.workshop import advising, as_set, changing, choices, paper, release, sheets
from cyclewright.workshop.answers import per_second
from cyclewright.workshop.readings import append_settings
from cyclewright.workshop.wanted import Wanted

if TYPE_CHECKING:
    from cyclewright.workshop.answers import AdviceAnswer, AtTravel, Change, Motion, SetupRow
    from cyclewright.workshop.shop import Shop

router = APIRouter(include_in_schema=False)

Posture = Literal["seated", "standing"]
Labels = Literal["page", "phone"]

_NUMBER = re.compile(r"\s*([+-]?\d+\.?\d*)")

GROUPS = {
    "Fit": (
        "saddle_height",
        "saddle_setback",
        "saddle_tilt",
        "post_insertion",
        "spacers_under",
        "bar_height",
        "lever_angle",
        "lever_inboard",
        "lever_reach",
        "lever_gain",
    ),
    "Tyres": (
        "front_tyre_pressure",
        "rear_tyre_pressure",
        "front_tyre_drop",
        "rear_tyre_drop",
    ),
    "Fork": (
        "fork_pressure",
        "fork_rate",
        "fork_sag",
        "fork_sag_ridden_in",
        "fork_sag_descending",
        "fork_reserve",
        "fork_rebound",
        "fork_compression",
    ),
    "Shock": (
        "shock_pressure",
        "shock_rate",
        "shock_preload",
        "shock_sag",
        "rear_wheel_sag",
        "shock_sag_ridden_in",
        "rear_sag_climbing",
        "shock_reserve",
        "anti_squat_at_sag",
        "chain_growth",
        "pedal_kick_back",
        "shock_rebound",
        "shock_compression",
    ),
    "Weight and geometry": (),
}
"""Settings by where they are on the bike; what is named nowhere comes last."""


ON_PHONE = "balance"
"""What the drawing shows on a phone, where everything at once would cover the bike."""


@dataclass(frozen=True, slots=True)
class Movable:
    """A sheet field that the page offers to step: what it is called and by how much."""

    field: str
    label: str
    step: float
    unit: str


MOVABLE = (
    Movable("bike.cockpit.spacers_under", "Spacers under the stem", 5, "mm"),
    Movable("bike.cockpit.bar_rise", "Bar rise", 5, "mm"),
    Movable("bike.cockpit.stem_length", "Stem length", 5, "mm"),
    Movable("bike.cockpit.bar_roll", "Bar roll", 1, "deg"),
    Movable("bike.fork.sag_target", "Fork sag wanted", 1, "%"),
    Movable("bike.shock.sag_target", "Shock sag wanted", 1, "%"),
    Movable("rider.mass", "Rider's mass", 1, "kg"),
    Movable("rider.kit_mass", "Kit", 0.5, "kg"),
)


@dataclass(frozen=True, slots=True)
class Mover:
    """A movable field as the page shows it."""

    field: str
    label: str
    step: str
    text: str
    down: str
    up: str
    changed: bool


@dataclass(frozen=True, slots=True)
class Moved:
    """One row of what moves, rounded to its tool."""

    label: str
    before: str
    kept: str
    resolved: str
    kept_moved: bool
    resolved_moved: bool

    @property
    def shows(self) -> bool:
        """Whether anything moved by as much as the tool can set."""
        return self.kept_moved or self.resolved_moved


@router.get("/bikes/{bike}")
def show(request: Request, bike: int) -> Response:
    """The bike page, or its moving part."""
    query = request.query_params
    texts = [*query.getlist("change"), *_typed(query.multi_items())]
    posture: Posture = "standing" if query.get("posture") == "standing" else "seated"
    return _page(request, bike, texts, posture)


def _page(
    request: Request,
    bike: int,
    texts: Sequence[str],
    posture: Posture,
    error: CyclewrightError | None = None,
) -> Response:
    """The bike page with what is tried on it, and why it could not be kept if it could not."""
    shop, query = shop_of(request), request.query_params
    seen = visit.of(shop, bike)
    on_paper = visit.sheets_of(shop, seen)
    tried = trying.settle([text for text in texts if text.strip()])
    at, asked = _asked(query)
    data, context = _setup(shop, seen, on_paper, tried, posture, system_of(request), asked)
    context |= {
        "visit": seen,
        "said": told.text if (told := session_of(request).take()) else "",
        "questions": _questions((*context["questions"], *seen.questions)),
        "lookups_open": query.get("open") == "lookups",
        "posture": posture,
        "at": at,
        "here_with": partial(_address, bike, tried, posture),
        "problems": () if error is None else error.problems,
    }
    template = "part/setup.html" if is_part(request) else "bike.html"
    data = {"bike": views.plain(seen.show), **data} if error is None else error.to_json()
    return page(request, template, data, context, 200 if error is None else status_of(error))


@router.get("/bikes/{bike}/drawing")
def drawing(request: Request, bike: int) -> Response:
    """The drawing as a part of the bike page."""
    try:
        return HTMLResponse(turned(_drawn(request, bike, style=False), system_of(request)))
    except (InputError, NotConverged) as error:
        said = {"problems": error.problems}
        return HTMLResponse(html(request, "part/no_drawing.html", said))


@router.get("/bikes/{bike}/drawing.svg")
def drawing_file(request: Request, bike: int) -> Response:
    """The drawing as a file of its own."""
    body = turned(_drawn(request, bike, style=True), system_of(request))
    headers = {"content-security-policy": "default-src 'none'; style-src 'unsafe-inline'"}
    return Response(body, 200, headers, "image/svg+xml")


def _drawn(request: Request, bike: int, style: bool) -> str:
    """The drawing of the bike as it stands, or of what is tried with the bike behind it."""
    shop, query = shop_of(request), request.query_params
    changes, made = trying.parted(trying.settle(query.getlist("change")))
    posture: Posture = "standing" if query.get("posture") == "standing" else "seated"
    labels: Labels = "phone" if query.get("labels") == "phone" else "page"
    usual = [] if style else [ON_PHONE if labels == "phone" else "all"]
    show = paper.layers(query.getlist("show") or usual)
    drawings = bench_of(request).drawings
    key = (bike, shop.state(bike).number, posture, labels, show, changes, *made.items(), style)
    return drawings.get(
        key,
        lambda: paper.draw_bike(
            shop,
            bike,
            posture=posture,
            changes=changes,
            made=made,
            show=show,
            labels=labels,
            style=style,
            ident=labels,
        ),
    )


@router.post("/bikes/{bike}/change")
def change(request: Request, bike: int, form: Form) -> Response:
    """Make the changes that were tried; the build page names the steps they reopened.

    When the sheet was changed elsewhere meanwhile, or a limit forbids them, they stay tried, on
    the bike as it is now.
    """
    texts = forms.texts(form, "change")
    try:
        return _changed(request, bike, texts, form)
    except (Conflict, InputError) as error:
        standing = forms.text(form, "posture") == "standing"
        posture: Posture = "standing" if standing else "seated"
        return _page(request, bike, texts, posture, error)


@router.post("/bikes/{bike}/answers")
def answers(request: Request, bike: int, form: Form) -> Response:
    """Keep the facts that had to be looked up; those left empty stay open.

    What they would open again, or break, is shown before they are kept.
    """
    unit_of = {info.path: info.unit for info in sheets.fields()}
    found = []
    for key in form:
        field, value = key.removeprefix("q:"), forms.text(form, key)
        if key.startswith("q:") and value:
            found.append(f"{field}={amount(value, unit_of.get(field, ''))}")
    if not found:
        raise input_error("nothing-answered", "", "answer at least one, then press again")
    seen = changing.look(shop_of(request), bike, Wanted(changes=tuple(found)))
    if seen.reopened or seen.falls or seen.refused:
        return go(request, f"/bikes/{bike}{_query(found, 'seated')}#moved")
    return _changed(request, bike, found, form)


def _changed(request: Request, bike: int, texts: Sequence[str], form: FormData) -> Response:
    changes, made = trying.parted(trying.settle(texts))
    shop, by, uuid = shop_of(request), person_of(request), forms.optional(form, "uuid")
    reopened: tuple[str, ...] = ()
    if made:
        advising.what_if(shop, bike, made, changes)
    rows = [_made_row(name, text) for name, text in made.items()]
    if changes:
        seen = forms.number_of(form, "seen")
        answer = changing.change_sheet(
            shop, bike, changes, by, uuid, seen, rows, as_found=bool(forms.text(form, "as_found"))
        )
        reopened = answer.reopened
    elif rows:
        append_settings(shop, bike, rows, by=by, uuid=uuid)
    words = "; ".join(_words(text) for text in texts) if len(texts) < 4 else f"{len(texts)} facts"
    session_of(request).said = visit.Told(f"Kept. {words}.", reopened)
    return go(request, f"/bikes/{bike}/build" if reopened else f"/bikes/{bike}")


def _made_row(name: str, text: str) -> dict[str, Any]:
    """A setting as it was made on the bike, for the record."""
    dimension = advising.MADE[name][1]
    value = units.parse(text, dimension, name).value
    return {"name": name, "value": value, "unit": units.DIMENSIONS[dimension][0], "shown": text}


def _setup(
    shop: Shop,
    seen: visit.Visit,
    on_paper: Any,
    tried: Sequence[trying.Tried],
    posture: str,
    system: System,
    at: Sequence[advising.Shares] | InputError = (),
) -> tuple[dict[str, Any], dict[str, Any]]:
    """The settings with what a change moves; a change that cannot be is told, not made."""
    problems: tuple[Any, ...] = ()
    if isinstance(at, InputError):
        problems, at = at.problems, ()
    advice = None
    try:
        advice = _advised(shop, seen.id, tried, at)
    except InputError as error:
        if not tried:
            raise
        problems, tried = error.problems, ()
        advice = advising.advise_bike(shop, seen.id, at=at)
    changes, _ = trying.parted(tried)
    after = choices.changed(on_paper, changes) if changes else on_paper
    papers = release.papers(shop, seen.id, after)
    stands = as_set.rows(shop, seen.id, advice.settings, system)
    pairs = [(item.name, _moved(item, system)) for item in advice.changes or ()]
    moved = [row for _, row in pairs if row.shows]
    names = {name for name, row in pairs if row.shows}
    context = {
        "drawing": _query(trying.texts(tried), posture),
        "trouble": problems,
        "tried": [{"text": text, "words": _words(text)} for text in trying.texts(tried)],
        "changes": moved,
        "moved": names,
        "look": _look(shop, seen.id, changes),
        "then": None if advice.then is None else _then(advice.then, advice.settings, system),
        "findings": views.once((*papers.findings, *advice.findings)),
        "questions": (*papers.questions, *advice.questions),
        "groups": _grouped(advice.settings),
        "stands": stands,
        "movers": [*_movers(after, tried), *_by_hand(advice.settings, tried, system)],
        "others": trying.texts(tried),
        "fields": sheets.fields(),
        "geometry": [_at_travel(row, system) for row in advice.geometry],
        "motions": [_motion(row, system) for row in advice.motions],
    }
    told = {name: row.to_json() for name, row in stands.items()}
    return advice.to_json() | advice.tables() | {"stands": told}, context


def _look(shop: Shop, bike: int, changes: Sequence[str]) -> changing.ChangeLook | None:
    """What the changes of the sheets that are tried would open, add and let fall."""
    if not changes:
        return None
    return changing.look(shop, bike, Wanted(changes=tuple(changes)))


def _then(
    then: SetupRow, settings: Sequence[Setting], system: System
) -> tuple[SetupRow, list[tuple[str, str, str, str]]]:
    """The set-up that the bike went back to: what was set then, is advised now, and is now."""
    advised = {item.name: item.show(system) for item in settings}
    rows = [
        (views.words(row.name), row.shown, advised.get(row.name, "–"), row.now or "–")
        for row in (*then.settings, *then.readings)
    ]
    rows += [
        (views.field_words(row.name), row.shown or "–", "–", row.now or "–") for row in then.places
    ]
    return then, rows


def _advised(
    shop: Shop, bike: int, tried: Sequence[trying.Tried], at: Sequence[advising.Shares]
) -> AdviceAnswer:
    """What follows from what is tried, on the sheets or made by hand."""
    changes, made = trying.parted(tried)
    if made:
        return advising.what_if(shop, bike, made, changes, at)
    return advising.advise_bike(shop, bike, changes, at)


def _asked(query: QueryParams) -> tuple[dict[str, str], Sequence[advising.Shares] | InputError]:
    """Shares of both travels whose geometry is asked for, as typed and read, or why they cannot."""
    typed = {end: query.get(f"at_{end}", "").strip() for end in ("fork", "rear")}
    if not any(typed.values()):
        return typed, ()
    text = ", ".join(amount(value or "0", "%") for value in typed.values())
    try:
        return typed, (advising.shares(text),)
    except InputError as error:
        return typed, error


def _at_travel(row: AtTravel, system: System) -> tuple[str, ...]:
    """One row of the geometry through the travel, as its table shows it."""
    lengths = (row.fork_travel, row.rear_travel, row.trail, row.bb_height, row.wheelbase)
    fork, rear, trail, bb, base_line = (units.show(one, "mm", 1, system) for one in lengths)
    return row.words, fork, rear, units.show(row.head_angle, "°", 0.1, system), trail, bb, base_line


def _motion(row: Motion, system: System) -> tuple[str, ...]:
    """One row of lean and steer hands off, as its table shows it."""
    swing = "–" if row.weave_frequency is None else f"{row.weave_frequency:.2f} Hz"
    return (
        units.show(row.speed, "km/h", 0.1, system),
        per_second(row.weave_growth),
        swing,
        per_second(row.capsize),
    )


def _by_hand(
    settings: Sequence[Setting], tried: Sequence[trying.Tried], system: System
) -> list[Mover]:
    """The steppers of settings that can be made by hand: pressures, coils, saddle height."""
    typed = {item.field: item.value for item in tried}
    found = []
    for setting in settings:
        shown = views.shown(setting, system)
        if setting.name not in advising.MADE or setting.value is None:
            continue
        field, usual = f"{trying.BY_HAND}{setting.name}", f"{shown.value} {shown.unit}"
        step = in_system(setting.display, setting.graduation, system)[1]
        item = Movable(field, setting.label or views.words(setting.name), step, shown.unit)
        text = typed.get(field, usual)
        down, up = (_stepped(item, text, sign, False) for sign in (-1, 1))
        found.append(Mover(field, item.label, f"{step:g}", text, down, up, field in typed))
    return found


@dataclass(frozen=True, slots=True)
class Lookup:
    """A fact that nobody may guess, as the page asks for it."""

    field: str
    ask: str
    why: str
    options: tuple[str, ...]
    unit: str


def _questions(items: Sequence[Any]) -> list[Lookup]:
    """Every question once a field, with the unit that its field shows."""
    unit_of = {info.path: info.unit for info in sheets.fields()}
    found: dict[str, Lookup] = {}
    for item in items:
        unit = "" if item.options else unit_of.get(item.field, "")
        lookup = Lookup(item.field, item.ask, item.why, tuple(item.options), unit)
        found.setdefault(item.field, lookup)
    return list(found.values())


def _typed(items: Sequence[tuple[str, str]]) -> list[str]:
    """Values typed into a field that differ from what stood there, as changes."""
    shown = {key.removeprefix("was:"): value for key, value in items if key.startswith("was:")}
    found = []
    for key, value in items:
        field = key.removeprefix("set:")
        if key == field or not value.strip() or value.strip() == shown.get(field, "").strip():
            continue
        unit = next((item.unit for item in MOVABLE if item.field == field), "")
        if field.startswith(trying.BY_HAND):
            unit = shown.get(field, "").rpartition(" ")[2]
        found.append(f"{field}={amount(value.strip(), unit)}")
    return found


def _movers(after: Any, tried: Sequence[trying.Tried]) -> list[Mover]:
    """The steppers of the fields this bike has, at their value after what is tried."""
    fields = {item.field for item in tried}
    usual = {item.field: item.text for item in sheets.overview(after).defaults}
    found = []
    for item in MOVABLE:
        text, adds = choices.written(after, item.field), True
        if text is None:
            text, adds = usual.get(item.field), False
        if text is None or not _NUMBER.match(text):
            continue
        down, up = (_stepped(item, text, sign, adds) for sign in (-1, 1))
        changed = item.field in fields
        found.append(Mover(item.field, item.label, f"{item.step:g}", text, down, up, changed))
    return found


def _stepped(item: Movable, text: str, sign: int, adds: bool) -> str:
    """The change that one press of a stepper makes."""
    if adds:
        return f"{item.field}+={sign * item.step:g} {item.unit}"
    match = _NUMBER.match(text)
    number = (float(match[1]) if match else 0.0) + sign * item.step
    return f"{item.field}={number:g} {item.unit}"


def _moved(item: Change, system: System) -> Moved:
    before, kept, resolved = (
        views.in_unit(value, item.display, item.graduation, system)
        for value in (item.before, item.kept, item.resolved)
    )
    label = item.label or views.words(item.name)
    return Moved(label, before, kept, resolved, kept != before, resolved != before)


def _grouped(settings: Sequence[Setting]) -> dict[str, list[Setting]]:
    """Settings under the part of the bike they are made at, empty groups left out."""
    place = {name: group for group, names in GROUPS.items() for name in names}
    groups: dict[str, list[Setting]] = {group: [] for group in GROUPS}
    for setting in settings:
        groups[place.get(setting.name, "Weight and geometry")].append(setting)
    return {group: found for group, found in groups.items() if found}


def _words(text: str) -> str:
    """A change in words: `Spacers under the stem: 20 mm more`."""
    item = trying.settle([text])
    if not item or not item[0].value:
        return text
    made = item[0]
    named = views.words(made.field.removeprefix(trying.BY_HAND))
    usual = named if made.field.startswith(trying.BY_HAND) else views.field_words(made.field)
    label = next((row.label for row in MOVABLE if row.field == made.field), usual)
    if not made.adds:
        return f"{label}: {made.value}"
    less = made.value.startswith("-")
    return f"{label}: {made.value.lstrip('+-')} {'less' if less else 'more'}"


def _address(
    bike: int,
    tried: Sequence[trying.Tried],
    posture: str,
    changes: Sequence[str] | None = None,
    chosen: str | None = None,
) -> str:
    """This page's address with something else chosen."""
    texts = trying.texts(tried) if changes is None else changes
    return f"/bikes/{bike}{_query(texts, chosen or posture)}"


def _query(texts: Sequence[str], posture: str) -> str:
    """The part of an address that says what is tried and how the rider sits."""
    pairs = [("change", text) for text in texts]
    pairs += [("posture", posture)] if posture != "seated" else []
    return f"?{urlencode(pairs)}" if pairs else ""
