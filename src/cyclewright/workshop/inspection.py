"""Inspect a used, crashed or returned bike: look, find, quote, decline in writing, put right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cyclewright.errors import input_error, refusal
from cyclewright.units import System
from cyclewright.workshop import holding
from cyclewright.workshop.acts import By, answered, one
from cyclewright.workshop.answers import Missing, RecordAnswer
from cyclewright.workshop.evidence import photo as kept_photo
from cyclewright.workshop.people import names, who
from cyclewright.workshop.receive import follow, name_of, new_bike, opened_by, plan_data
from cyclewright.workshop.shop import Entry, Shop, checked_text, own_uuid

if TYPE_CHECKING:
    from cyclewright.record.events import Draft
    from cyclewright.record.findings import Found
    from cyclewright.record.state import BikeState
    from cyclewright.sheets.sheets import Sheets

Photo = Path | str | bytes


@dataclass(frozen=True, slots=True)
class FindingRow:
    """A finding, the work quoted for it, and what became of it."""

    id: int
    text: str
    severity: str
    point: str
    photos: tuple[str, ...]
    by: str
    at: str
    work: str
    price: str
    status: str
    settled: str
    holds_up: bool
    """Whether it keeps the bike from being ridden or released."""


@dataclass(frozen=True, slots=True)
class PointRow:
    """One place to look at, and whether it was."""

    id: str
    station: str
    do: str
    status: str
    findings: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class InspectionAnswer:
    """An inspection as it stands."""

    bike: int
    name: str
    cause: str
    open: bool
    """Whether the visit on record now is an inspection."""
    points: tuple[PointRow, ...]
    findings: tuple[FindingRow, ...]
    to_look: int
    verdict: str

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The inspection as plain data."""
        return asdict(self)


def open_inspection(
    shop: Shop, bike: int | Sheets, cause: str, by: By = None, uuid: str | None = None
) -> int:
    """An inspection of a bike on record, or of one that comes with its sheets; gives its id.

    The bike is no longer released: its gates are passed again, by what is proved in this visit.
    """
    from cyclewright.knowledge.inspection import CAUSES
    from cyclewright.record.events import Draft
    from cyclewright.record.inspection import KIND

    if cause not in CAUSES:
        raise input_error(
            "cause", "cause", "say why it is looked at", value=cause, allowed=", ".join(CAUSES)
        )
    own = own_uuid(uuid)
    visit = {"visit": KIND, "cause": cause}
    also = [own, follow(own, "planned")]
    if not isinstance(bike, int):
        sheets = bike
        if uuid is not None and (known := opened_by(shop, own)) is not None:
            return known
        author, planned = who(shop, by), plan_data(shop, sheets, visit=KIND, cause=cause)
        visit["name"] = name_of(sheets)
        drafts = [
            Draft("visit-opened", "visit", visit, author, own),
            Draft("planned", "plan", planned, author, also[1]),
        ]
        return new_bike(shop, own, lambda _: drafts)
    author = who(shop, by)

    def decide(state: BikeState) -> list[Draft]:
        kept = None if state.rider is None else (state.rider, shop.rider_text(state.rider))
        planned = plan_data(shop, shop.sheets(state), kept, visit=KIND, cause=cause)
        return [
            Draft("visit-opened", "visit", {**visit, "name": state.name}, author, own),
            Draft("planned", "plan", planned, author, also[1]),
        ]

    shop.act(bike, decide, Entry(also, "visit-opened", "visit"))
    return bike


def find(
    shop: Shop,
    bike: int,
    text: str,
    severity: str = "warn",
    *,
    point: str = "",
    photos: Sequence[Photo] = (),
    work: str = "",
    price: str = "",
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """Something that is not as it should be; the point it was found at is then looked at.

    `severity`: stop (nobody rides it), warn (put right or declined before release), note (told).
    `work` and `price` are the quote for it, in words. A finding can be made in any visit.
    """
    from cyclewright.record.findings import SEVERITIES

    if severity not in SEVERITIES:
        raise input_error(
            "severity",
            "severity",
            "say how grave it is",
            value=severity,
            allowed=", ".join(SEVERITIES),
        )
    said, own = checked_text(text, "finding", 1000), own_uuid(uuid)
    quoted = _quote(work, price) if work.strip() else None
    held = [kept_photo(shop, item, f"photo {n}") for n, item in enumerate(photos, 1)]

    def data(state: BikeState) -> dict[str, Any]:
        if point and point not in state.planned_steps():
            raise input_error("no-such-point", "point", "name a step of this visit", value=point)
        number = max(state.findings, default=0) + 1
        return {
            "finding": number,
            "text": said,
            "severity": severity,
            "point": point,
            "photos": held,
        }

    def step(state: BikeState) -> tuple[str, dict[str, Any]] | None:
        looked = state.planned_steps().get(point)
        return (point, {"tick": True}) if looked and looked.safety == "inspection" else None

    events, _ = one(shop, bike, "finding-made", f"finding:{own}", data, by, uuid=own, step=step)
    number = events[0].data["finding"]
    numbers = [event.number for event in events]
    if quoted is not None:
        numbers += quote(shop, bike, number, work, price, by=by, uuid=follow(own, "quote")).numbers
    return RecordAnswer(bike, tuple(numbers), f"finding {number} ({severity}): {said}")


def quote(
    shop: Shop,
    bike: int,
    finding: int,
    work: str,
    price: str = "",
    *,
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """The work that would put a finding right, and what it would cost, as told to the customer."""
    told = _quote(work, price)

    def data(state: BikeState) -> dict[str, Any]:
        _unsettled(state, finding)
        return {"finding": finding, **told}

    events, state = one(shop, bike, "finding-quoted", f"finding:{finding}", data, by, uuid=uuid)
    return answered(state, events, f"finding {finding}: {told['work']} quoted")


def put_right(
    shop: Shop,
    bike: int,
    finding: int,
    what: str,
    *,
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """A finding was put right; work declined before can still be done.

    The parts that finding, quote or work name were worked on: what fastens them is proved anew.
    """
    said = checked_text(what, "what", 500)

    def data(state: BikeState) -> dict[str, Any]:
        found = _known(state, finding)
        if found.status == "put-right":
            raise refusal("settled", f"finding {finding}", f"it was put right: {found.settled}")
        return {"finding": finding, "what": said, "lapse": _worked_on(state, found, said)}

    events, state = one(shop, bike, "finding-put-right", f"finding:{finding}", data, by, uuid=uuid)
    return answered(state, events, f"finding {finding} put right: {said}")


def _worked_on(state: BikeState, found: Found, what: str) -> dict[str, Any]:
    """What putting a finding right takes away: joints of its parts, and the look at its place.

    Work on the frame itself opens every joint only where the finding stopped the bike.
    """
    from cyclewright.knowledge.parts import ALL, told

    stops = found.severity == "stop"
    parts = told(". ".join((found.text, found.work, what)))
    moved = [part for part in parts if stops or ALL not in part.joints]
    data = holding.lapse(state, moved, f"finding {found.id} was put right")
    looked = found.point in state.planned_steps() and stops
    return {**data, "steps": [*data["steps"], *([found.point] if looked else ())]}


def decline(
    shop: Shop,
    bike: int,
    findings: Sequence[int],
    name: str,
    signature: Photo | None = None,
    *,
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """The customer declines quoted work and signs: a name, and the signature as a picture.

    Name and signature are personal and kept apart. Work on a finding that stops the bike may be
    declined too; the bike is then handed back as it is, not released.
    """
    signed = checked_text(name, "name", 120)
    if not findings:
        raise input_error("empty", "findings", "say which findings are declined")
    picture = None if signature is None else kept_photo(shop, signature, "signature")
    written = {"attachment": shop.store.attach(signed.encode("utf-8"), "text/plain")}

    def data(state: BikeState) -> dict[str, Any]:
        for number in findings:
            if not _unsettled(state, number).work:
                raise refusal(
                    "not-quoted", f"finding {number}", "quote its work first: that is declined"
                )
        return {
            "findings": list(findings),
            "signature": picture or written,
            "signed": {"signature": written},
        }

    events, state = one(shop, bike, "work-declined", "declined", data, by, uuid=uuid)
    stops = [n for n in findings if state.findings[n].severity == "stop"]
    said = f"declined and signed: {', '.join(f'finding {n}' for n in findings)}"
    if stops:
        said += "; the bike is not released: print its do-not-ride tag"
    return answered(state, events, said)


def inspection(shop: Shop, bike: int) -> InspectionAnswer:
    """The points, the findings and what they mean for riding."""
    from cyclewright.record.inspection import ITEM, KIND

    state, people = shop.state(bike), names(shop)
    rows = tuple(_row(found, people) for found in state.findings.values())
    points = tuple(
        PointRow(
            step.id,
            step.station,
            step.do,
            state.step(step.id).status,
            tuple(row.id for row in rows if row.point == step.id),
        )
        for step in state.planned_steps().values()
        if step.safety == ITEM
    )
    left = sum(row.status != "done" for row in points)
    return InspectionAnswer(
        state.bike,
        state.name,
        state.cause,
        state.visit_kind == KIND,
        points,
        rows,
        left,
        _verdict(rows, left),
    )


def lacking(state: BikeState, gate: str) -> tuple[Missing, ...]:
    """Findings that hold a gate up: what stops the bike at both, what is open at the release."""
    return tuple(
        Missing("findings", _why(found), None, True)
        for found in state.findings.values()
        if found.holds_up and (found.severity == "stop" or gate == "release")
    )


def _why(found: Found) -> str:
    if found.status == "declined":
        return f"finding {found.id}, {found.text}: declined, but it stops the bike"
    do = "put it right" if found.severity == "stop" else "put it right, or have it declined"
    return f"finding {found.id}, {found.text}: {do}"


def _verdict(rows: Sequence[FindingRow], left: int) -> str:
    stops = [row for row in rows if row.severity == "stop" and row.holds_up]
    if stops:
        return f"not to be ridden: {'; '.join(row.text for row in stops)}"
    if left:
        return f"{left} places still to look at"
    waiting = [row for row in rows if row.holds_up]
    if waiting:
        return f"{len(waiting)} findings to put right or to be declined"
    return "all looked at; the gates decide"


def _row(found: Found, people: dict[int, str]) -> FindingRow:
    return FindingRow(
        found.id,
        found.text,
        found.severity,
        found.point,
        found.photos,
        people.get(found.by or 0, ""),
        found.at,
        found.work,
        found.price,
        found.status,
        found.settled,
        found.holds_up,
    )


def _quote(work: str, price: str) -> dict[str, str]:
    return {
        "work": checked_text(work, "work", 500),
        "price": checked_text(price, "price", 60) if price.strip() else "",
    }


def _known(state: BikeState, finding: int) -> Found:
    found = state.findings.get(finding)
    if found is None:
        listed = ", ".join(str(number) for number in state.findings) or "none"
        raise input_error(
            "no-such-finding", "finding", "give its number", value=str(finding), allowed=listed
        )
    return found


def _unsettled(state: BikeState, finding: int) -> Found:
    found = _known(state, finding)
    if found.status != "open":
        raise refusal("settled", f"finding {finding}", f"it is settled: {found.settled}")
    return found
