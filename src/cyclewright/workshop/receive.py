"""Receive: open a bike's record from its sheets, and the list of all bikes."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from cyclewright.errors import InputError
from cyclewright.record.acts import follow as follow
from cyclewright.workshop.people import who
from cyclewright.workshop.shop import Entry, Shop, own_uuid

if TYPE_CHECKING:
    from cyclewright.record.events import Draft
    from cyclewright.record.shop import Recall
    from cyclewright.record.state import BikeState
    from cyclewright.sheets.sheets import Sheets

NO_RIDER = "rider not fitted"
MOST_ROWS = 500
AT_ONCE = 100
"""Bikes whose line is made again in one go."""


@dataclass(frozen=True, slots=True)
class BikeRow:
    """One line of the list of bikes."""

    id: int
    name: str
    stage: str
    rider: str
    done: int
    total: int
    updated: str
    blocked: bool
    serial: str = ""
    read_only: bool = False
    recalls: tuple[str, ...] = ()
    """What open recalls say of its parts: it is then blocked."""
    lapsed: str = ""
    """Why a passed gate, or a release, stands no more."""

    def to_json(self) -> dict[str, Any]:
        """The line as plain data."""
        return asdict(self)


def open_bike(
    shop: Shop, sheets: Sheets, by: str | int | None = None, uuid: str | None = None
) -> int:
    """A new bike with its first visit planned from these sheets; gives its id."""
    from cyclewright.record.events import Draft

    first = own_uuid(uuid)
    if uuid is not None and (known := opened_by(shop, first)) is not None:
        return known
    author = who(shop, by)
    planned = plan_data(shop, sheets)

    def drafts(bike: int) -> list[Draft]:
        visit = {"visit": "build", "name": planned["name"]}
        return [
            Draft("visit-opened", "visit", visit, author, first),
            Draft("planned", "plan", planned, author, follow(first, "planned")),
        ]

    return new_bike(shop, first, drafts)


def new_bike(shop: Shop, first: str, drafts: Callable[[int], Sequence[Draft]]) -> int:
    """A bike opened with these drafts, or the one that the same entry has opened meanwhile."""
    try:
        return shop.store.new_stream(drafts)[0].stream
    except InputError:
        if (known := opened_by(shop, first)) is None:
            raise
        return known


def opened_by(shop: Shop, uuid: str) -> int | None:
    """The bike that an entry opened, None when it is new; one of another kind is refused."""
    if (known := shop.store.find(uuid)) is None:
        return None
    Entry([uuid], "visit-opened").check(known)
    return known.stream


def plan_data(
    shop: Shop,
    sheets: Sheets,
    rider: tuple[str, str] | None = None,
    *,
    visit: str = "build",
    cause: str = "",
    before: Sheets | None = None,
    another: bool = False,
) -> dict[str, Any]:
    """What a `planned` event holds; `rider` is the sheet kept already, as (address, text).

    `before` are the sheets that were in force until now: evidence that rests on what differs
    lapses with this plan. `another` says that another person is the rider.
    """
    from cyclewright import __version__
    from cyclewright.knowledge.data import digest
    from cyclewright.record.plain import to_plain
    from cyclewright.sheets.write import dump
    from cyclewright.workshop.check import plan
    from cyclewright.workshop.tools import for_sums

    made = plan(sheets, for_sums(shop), holding=True, spare=True)
    if visit == "inspection":
        from cyclewright.record.inspection import inspection_plan
        from cyclewright.sheets.sheets import facts

        made = inspection_plan(facts(sheets), cause, made)
    texts = {"bike": dump(sheets.bike), "place": dump(sheets.place)}
    if sheets.rider is None and sheets.mass is not None:
        texts["mass"] = sheets.mass.text or f"{sheets.mass.value!r} kg"
    return {
        "name": name_of(sheets),
        "serial": sheets.bike.serial or "",
        "sheets": texts,
        "rider": _rider(shop, sheets, rider),
        "steps": to_plain(made.steps),
        "questions": to_plain(made.questions),
        "undecided": to_plain(made.undecided),
        **({} if before is None else _moved(before, sheets, another)),
        "knowledge": digest(),
        "model": __version__,
    }


def _moved(before: Sheets, after: Sheets, another: bool) -> dict[str, Any]:
    """Names of the facts that changed, and the steps whose evidence lapses with them."""
    from cyclewright.knowledge import facts
    from cyclewright.record import lapse

    old, new = known_facts(before), known_facts(after)
    if another:
        old, new = old | {facts.RIDER: "before"}, new | {facts.RIDER: "after"}
    return {"moved": list(facts.changed(old, new)), "lapsed": lapse.said(old, new)}


def known_facts(sheets: Sheets) -> dict[str, object]:
    """The facts of the sheets, and those that follow from them, on which evidence rests."""
    from cyclewright.advice import brakes
    from cyclewright.knowledge.facts import DERIVED
    from cyclewright.sheets.sheets import facts

    follows = brakes.derived(sheets)
    named = (f"derived.{name}" for name in DERIVED)
    return facts(sheets) | {name: follows[name] for name in named if name in follows}


def _rider(shop: Shop, sheets: Sheets, kept: tuple[str, str] | None) -> dict[str, str] | None:
    """The rider sheet as an attachment; one that has not changed is not kept twice."""
    from cyclewright.sheets.write import dump

    if sheets.rider is None:
        return None
    text = dump(sheets.rider)
    if kept is not None and kept[1] == text:
        return {"attachment": kept[0]}
    return {"attachment": shop.store.attach(text.encode("utf-8"), "application/toml")}


def name_of(sheets: Sheets) -> str:
    """What a bike is called: maker and model, else its kind."""
    named = " ".join(part for part in (sheets.bike.maker, sheets.bike.model) if part)
    return named or f"{sheets.bike.kind or 'bike'}, maker unknown"


def list_bikes(
    shop: Shop, query: str = "", limit: int = 100, offset: int = 0
) -> tuple[BikeRow, ...]:
    """Bikes found by every word of the query in name, serial, stage, id or rider; newest first."""
    limit, offset = max(0, min(limit, MOST_ROWS)), max(0, offset)
    _refresh(shop)
    words = query.casefold().split()[:10]
    standing = shop.own().open_recalls()
    if not words:
        listed = _present(shop, shop.store.summaries(limit, offset))
        return tuple(_row(shop, text, standing) for text in listed)
    told = _haystacks(shop)
    found = [bike for bike, text in told.items() if all(word in text for word in words)]
    page = found[offset : offset + limit]
    texts = shop.store.summaries_of(page)
    listed = _present(shop, [texts[bike] for bike in page if bike in texts])
    return tuple(_row(shop, text, standing) for text in listed)


def _haystacks(shop: Shop) -> dict[int, str]:
    """What a search looks through, by bike, the newest first; only what is new is read."""
    order = shop.store.summary_order()
    with shop.lock:
        known = shop.listed
    new = [bike for bike, number in order if known.get(bike, (0, ""))[0] != number]
    texts = shop.store.summaries_of(new)
    made = {bike: _haystack(shop, json.loads(text)) for bike, text in texts.items()}
    found = {
        bike: (number, made[bike]) if bike in made else known[bike]
        for bike, number in order
        if bike in made or bike in known
    }
    with shop.lock:
        shop.listed = found
    return {bike: text for bike, (_, text) in found.items()}


def _haystack(shop: Shop, data: dict[str, Any]) -> str:
    rider = rider_name(shop, data["rider"])
    return f"{data['id']} {data['name']} {data['serial']} {data['stage']} {rider}".casefold()


def _refresh(shop: Shop) -> None:
    """Make the summaries of those bikes again that have moved on since, some at a time."""
    while behind := shop.store.behind(AT_ONCE):
        shop.store.summarise([_summary(shop, shop.state(bike)) for bike in behind])


def _present(shop: Shop, texts: Sequence[str]) -> list[str]:
    """Summaries as of the tools and the knowledge of now: the others are made again."""
    under = _under(shop)
    found = [json.loads(text) for text in texts]
    late = [data["id"] for data in found if data.get("under") != under]
    again = {bike: _summary(shop, shop.state(bike)) for bike in late}
    if again:
        shop.store.summarise(list(again.values()))
    return [
        again[data["id"]]["content"] if data["id"] in again else text
        for data, text in zip(found, texts, strict=True)
    ]


def _under(shop: Shop) -> str:
    """What a summary rests on besides its bike: the torque tools, the knowledge, the version."""
    import hashlib

    from cyclewright import __version__
    from cyclewright.knowledge.data import digest
    from cyclewright.workshop.tools import for_sums

    told = f"{__version__} {digest()} {for_sums(shop)!r}"
    return hashlib.sha256(told.encode()).hexdigest()[:16]


def _summary(shop: Shop, state: BikeState) -> dict[str, Any]:
    from cyclewright.record.stage import progress, stage
    from cyclewright.workshop.recall import carried, places
    from cyclewright.workshop.standing import standing

    stands, (done, total) = standing(shop, state, recalls=False), progress(state)
    stopped = any(found.holds_up and found.severity == "stop" for found in state.findings.values())
    problem = any(state.step(name).status == "problem" for name in state.planned_steps())
    content = {
        "id": state.bike,
        "name": state.name,
        "stage": stands.stage,
        "unreleased": stage(state, False),
        "done": done,
        "total": total,
        "updated": state.updated,
        "blocked": problem or stopped or bool(stands.lapsed),
        "lapsed": stands.lapsed,
        "passed": bool(state.gates or state.fallen or state.released),
        "serial": state.serial,
        "read_only": state.read_only,
        "rider": state.rider,
        "parts": [asdict(item) for item in carried(shop, state)],
        "places": sorted(places(state)),
        "cleared": {str(key): item.number for key, item in state.cleared.items()},
        "under": _under(shop),
    }
    return {
        "stream": state.bike,
        "number": state.number,
        "updated": state.updated,
        "content": json.dumps(content),
    }


def _row(shop: Shop, content: str, standing: Sequence[Recall]) -> BikeRow:
    data = json.loads(content)
    found = _recalled(standing, data)
    for key in ("parts", "places", "cleared", "under"):
        del data[key]
    unreleased, passed = data.pop("unreleased"), data.pop("passed")
    told: dict[str, Any] = {"rider": rider_name(shop, data["rider"]), "recalls": found}
    if found:
        lapsed = data["lapsed"] or (found[0] if passed else "")
        told |= {"blocked": True, "stage": unreleased, "lapsed": lapsed}
    return BikeRow(**{**data, **told})


def _recalled(standing: Sequence[Recall], summary: Mapping[str, Any]) -> tuple[str, ...]:
    if not standing:
        return ()
    from cyclewright.workshop.recall import hit_lines

    return hit_lines(standing, summary)


def rider_name(shop: Shop, address: str | None) -> str:
    """The rider's name off the sheet kept apart, or that no rider is fitted."""
    import tomllib

    if address is None:
        return NO_RIDER
    with shop.lock:
        known = shop.riders.get(address)
    if known is None:
        known = str(tomllib.loads(shop.rider_text(address)).get("name") or "rider without a name")
        with shop.lock:
            shop.riders[address] = known
    return known
