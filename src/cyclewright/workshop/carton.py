"""Receive a carton: damage, the carrier's slip, parts ticked and followed, and the claim."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cyclewright.errors import InputError, Problem, input_error, range_error, refusal
from cyclewright.units import System
from cyclewright.workshop import holding
from cyclewright.workshop.acts import By, Day, answered, day, one
from cyclewright.workshop.answers import RecordAnswer
from cyclewright.workshop.evidence import photo as kept_photo
from cyclewright.workshop.people import names
from cyclewright.workshop.shop import Shop, checked_text

if TYPE_CHECKING:
    from cyclewright.record.carton import Carton, Damage, Part
    from cyclewright.record.state import BikeState

Photo = Path | str | bytes
CARRIAGES = ("parcel", "freight", "road-abroad", "air", "own")
"""How a carton travelled: the days for a claim hang on it."""
PACKING = (
    "carton",
    "fork block",
    "axle blocks",
    "pad spacers",
    "frame wraps",
    "straps",
    "small parts box",
)
"""What is worth keeping of the packing, to choose from."""
OUTSIDE_STEP, OPEN_STEP, FRAME_STEP = "carton-outside", "carton-open", "frame-looked-over"
_MOST_DAYS = 60
OWN_TERM = "the carrier's own term, given"


def arrive(
    shop: Shop,
    bike: int,
    *,
    carrier: str = "",
    carriage: str = "parcel",
    arrived: Day = None,
    unchecked: bool = False,
    days: int | None = None,
    damage: str | None = None,
    photos: Sequence[Photo] = (),
    consignment: str = "",
    sender: str = "",
    value: str = "",
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """A carton at the door: who brought it, how it looks, and until when a claim can be made.

    `consignment` is the carrier's number for it, `sender` who sent it and from where, `value` what
    the goods are worth: a claim names all three. `days` is the carrier's own term where it is
    known. With a photo the plan's look at the
    outside of the carton is done. `damage` says what is wrong with the carton in a few words.
    """
    from cyclewright.knowledge.carton import term

    on = day(arrived, "arrived")
    _checked(carriage, on, days)
    held = _photos(shop, photos)
    said = None if damage is None else checked_text(damage, "damage", 1000)

    def data(state: BikeState) -> dict[str, Any]:
        country = _country(shop, state)
        default = term(country, carriage)
        within = default.days if days is None else days
        source = f"default: {default.source}" if days is None else OWN_TERM
        named = (("consignment", consignment, 60), ("sender", sender, 200), ("value", value, 40))
        extra = {key: checked_text(text, key, most) for key, text, most in named if text.strip()}
        return extra | {
            "arrived": on.isoformat(),
            "carrier": checked_text(carrier, "carrier", 120) if carrier.strip() else "",
            "carriage": carriage,
            "country": country,
            "unchecked": bool(unchecked),
            "days": within,
            "days_source": source,
            "deadline": (on + timedelta(days=within)).isoformat(),
            "photos": held,
        }

    def step(state: BikeState) -> tuple[str, dict[str, Any]] | None:
        return (OUTSIDE_STEP, {"tick": True, "photo": held[0]}) if held else None

    events, state = one(shop, bike, "carton-arrived", "carton", data, by, uuid=uuid, step=step)
    numbers = [event.number for event in events]
    if said is not None:
        more = _damaged(shop, bike, "outside", said, held, by, events[0].uuid)
        numbers += more.numbers
    words = f"carton received {on.isoformat()}; tell the carrier of hidden damage by "
    words += f"{state.carton.deadline} ({state.carton.days_source})"
    return RecordAnswer(bike, tuple(numbers), words)


def damage(
    shop: Shop,
    bike: int,
    text: str,
    photos: Sequence[Photo] = (),
    *,
    where: str = "inside",
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """Damage seen on the carton (`outside`) or on what was in it (`inside`), with photos."""
    if where not in ("outside", "inside"):
        raise input_error("where", "where", "say outside or inside", value=where)
    said = checked_text(text, "damage", 1000)
    return _damaged(shop, bike, where, said, _photos(shop, photos), by, None, uuid)


def settle_damage(
    shop: Shop,
    bike: int,
    number: int,
    how: str,
    what: str,
    *,
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """Damage inside a carton is settled: it is harmless, was put right, or the part was replaced.

    `what` says who found it harmless, or what was done. What was worked on is proved anew.
    """
    from cyclewright.knowledge.parts import told
    from cyclewright.record.carton import SETTLED

    if how not in SETTLED:
        raise input_error(
            "how", "how", "say how it was settled", value=how, allowed=", ".join(SETTLED)
        )
    said = checked_text(what, "what", 500)

    def data(state: BikeState) -> dict[str, Any]:
        seen = _open_damage(state, number)
        found = {"damage": seen.number, "how": how, "what": said}
        if how == "harmless":
            return found
        parts = told(seen.text)
        return found | {"lapse": holding.lapse(state, parts, f"damage {seen.number} {how}")}

    events, state = one(shop, bike, "damage-settled", f"damage:{number}", data, by, uuid=uuid)
    return answered(state, events, f"damage {number} settled, {how}: {said}")


def _open_damage(state: BikeState, number: int) -> Damage:
    """Damage inside the carton of that number that nothing was done about."""
    inside = {seen.number: seen for seen in state.carton.damages if seen.where == "inside"}
    seen = inside.get(number)
    if seen is None:
        listed = ", ".join(str(n) for n, one in inside.items() if one.open) or "none"
        do = "give the number of damage that was seen inside"
        raise input_error("no-such-damage", "damage", do, value=str(number), allowed=listed)
    if not seen.open:
        raise refusal("settled", f"damage {number}", f"it is settled, {seen.how}: {seen.what}")
    return seen


def tick_parts(
    shop: Shop,
    bike: int,
    parts: Mapping[str, str],
    *,
    notes: Mapping[str, str] | None = None,
    photos: Mapping[str, Sequence[Photo]] | None = None,
    all_ticked: bool = False,
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """Lines of the packing list as `here`, `missing` or `damaged`.

    With `all_ticked` the list is finished and the plan's unpacking step is done with it.
    """
    lines = _lines(shop, parts, notes or {}, photos or {})

    def data(state: BikeState) -> dict[str, Any]:
        known = state.carton.parts
        turned = [
            line["part"]
            for line in lines
            if (line["status"] != "here")
            != (line["part"] in known and known[line["part"]].followed)
        ]
        told: dict[str, Any] = {"parts": lines}
        if turned:
            status = {line["part"]: line["status"] for line in lines}
            named = {part: holding.named_parts([part]) for part in turned}
            moving = [part for part in turned if any(p.joints or p.steps for p in named[part])]
            why = ", ".join(f"{part} {status[part]}" for part in moving)
            told["lapse"] = holding.lapse(state, holding.named_parts(moving), why)
        return told

    def step(state: BikeState) -> tuple[str, dict[str, Any]] | None:
        return (OPEN_STEP, {"tick": True}) if all_ticked else None

    events, state = one(shop, bike, "parts-ticked", "parts", data, by, uuid=uuid, step=step)
    wrong = [line["part"] for line in lines if line["status"] != "here"]
    said = f"{len(lines)} parts ticked"
    if wrong:
        said += f"; to follow: {', '.join(wrong)}"
    return answered(state, events, said)


def expect_part(
    shop: Shop,
    bike: int,
    part: str,
    promised: Day,
    *,
    whose: str = "",
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """The date that was promised for a missing or damaged part, and by whom."""
    if promised is None or promised == "":
        raise input_error("date-missing", "promised", "write the day like 2031-05-24")
    when, name = day(promised, "promised"), checked_text(part, "part", 120)

    def data(state: BikeState) -> dict[str, Any]:
        found = _followed(state, name)
        promiser = checked_text(whose, "whose", 120) if whose.strip() else ""
        return {"part": found.name, "date": when.isoformat(), "whose": promiser}

    events, state = one(shop, bike, "part-expected", f"part:{name.casefold()}", data, by, uuid=uuid)
    return answered(state, events, f"{name}: promised for {when.isoformat()}")


def part_arrived(
    shop: Shop,
    bike: int,
    part: str,
    arrived: Day = None,
    *,
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """A missing part, or the new one for a damaged part, has come."""
    when, name = day(arrived, "arrived"), checked_text(part, "part", 120)

    def data(state: BikeState) -> dict[str, Any]:
        found = _followed(state, name).name
        back = holding.lapse(state, holding.named_parts([found]), f"{found} came")
        return {"part": found, "date": when.isoformat(), "lapse": back}

    events, state = one(shop, bike, "part-arrived", f"part:{name.casefold()}", data, by, uuid=uuid)
    left = [item.name for item in state.carton.followed()]
    tail = f"; still to follow: {', '.join(left)}" if left else "; nothing is left to follow"
    return answered(state, events, f"{name}: arrived {when.isoformat()}{tail}")


def keep_packing(
    shop: Shop, bike: int, items: Sequence[str], *, by: By = None, uuid: str | None = None
) -> RecordAnswer:
    """What of the packing is kept for the next journey; the list replaces an earlier one."""
    kept = [checked_text(item, "packing", 120) for item in items]
    kept = list(dict.fromkeys(kept))
    events, state = one(
        shop, bike, "packing-kept", "packing", lambda _: {"items": kept}, by, uuid=uuid
    )
    said = f"kept for re-use: {', '.join(kept)}" if kept else "no packing is kept"
    return answered(state, events, said)


def read_serial(
    shop: Shop,
    bike: int,
    serial: str,
    photo: Photo | None = None,
    *,
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """The number as stamped on the frame; where the sheet says another, both are named."""
    stamped = checked_text(serial, "serial", 60)
    picture = None if photo is None else kept_photo(shop, photo, "serial.photo")

    def data(state: BikeState) -> dict[str, Any]:
        found: dict[str, Any] = {"serial": stamped}
        return found if picture is None else {**found, "photo": picture}

    def step(state: BikeState) -> tuple[str, dict[str, Any]]:
        from cyclewright.record.carton import SERIAL_STEP

        proof: dict[str, Any] = {"tick": True, "text": {"text": stamped}}
        return SERIAL_STEP, proof if picture is None else {**proof, "photo": picture}

    events, state = one(shop, bike, "serial-read", "serial", data, by, uuid=uuid, step=step)
    listed = shop.sheets(state).bike.serial
    said = f"serial {stamped}"
    if listed and listed.casefold() != stamped.casefold():
        said += f"; the sheet says {listed}: the frame's own mark wins, put the sheet right"
    return answered(state, events, said)


def claim_sent(
    shop: Shop,
    bike: int,
    *,
    sent: Day = None,
    to: str = "",
    reference: str = "",
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """A claim was sent; one that goes out after the deadline says so."""
    when = day(sent, "sent")
    told = {
        "date": when.isoformat(),
        "to": checked_text(to, "to", 120) if to.strip() else "",
        "reference": checked_text(reference, "reference", 120) if reference.strip() else "",
    }

    def data(state: BikeState) -> dict[str, Any]:
        _received(state)
        return told

    events, state = one(shop, bike, "claim-sent", "claim", data, by, uuid=uuid)
    late = when.isoformat() > state.carton.deadline
    tail = f"; that is after the deadline of {state.carton.deadline}" if late else ""
    return answered(state, events, f"claim sent {when.isoformat()}{tail}")


@dataclass(frozen=True, slots=True)
class PartLine:
    """One part as it came, and what is promised for it."""

    part: str
    status: str
    note: str
    photos: tuple[str, ...]
    expected: str
    promised_by: str
    arrived: str
    broken_promises: tuple[str, ...]
    overdue: bool
    """Promised for a day that has passed, and not here."""


@dataclass(frozen=True, slots=True)
class DamageLine:
    """Damage as it was seen."""

    number: int
    where: str
    text: str
    photos: tuple[str, ...]
    by: str
    at: str
    open: bool
    """Whether it is on what was inside and holds the bike up."""
    how: str
    what: str
    """How it was settled, and what was found or done."""


@dataclass(frozen=True, slots=True)
class CartonAnswer:
    """All that is known of a carton, ready for a page, a claim note or the carrier's slip."""

    bike: int
    name: str
    serial: str
    received: bool
    arrived: str
    carrier: str
    carriage: str
    country: str
    unchecked: bool
    slip: tuple[str, ...]
    """Lines to write on the carrier's slip before signing it."""
    days: int
    days_source: str
    deadline: str
    days_left: int | None
    by: str
    photos: tuple[str, ...]
    """Photos of the carton as it came."""
    damages: tuple[DamageLine, ...]
    parts: tuple[PartLine, ...]
    packing: tuple[str, ...]
    claims: tuple[dict[str, str], ...]
    serial_photo: str
    consignment: str = ""
    sender: str = ""
    value: str = ""

    @property
    def followed(self) -> tuple[PartLine, ...]:
        """Missing and damaged parts that nothing has come for."""
        return tuple(row for row in self.parts if row.status != "here" and not row.arrived)

    @property
    def claimable(self) -> bool:
        """Whether there is anything to claim for."""
        return bool(self.damages) or any(row.status != "here" for row in self.parts)

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The carton as plain data."""
        return asdict(self) | {"claimable": self.claimable}


def carton(shop: Shop, bike: int, today: Day = None) -> CartonAnswer:
    """What is known of a bike's carton, and how many days are left for a claim."""
    state, now = shop.state(bike), day(today, "today")
    box, people = state.carton, names(shop)
    left = (date.fromisoformat(box.deadline) - now).days if box.deadline else None
    return CartonAnswer(
        bike=state.bike,
        name=state.name,
        serial=state.serial,
        received=box.number > 0,
        arrived=box.arrived,
        carrier=box.carrier,
        carriage=box.carriage,
        country=box.country,
        unchecked=box.unchecked,
        slip=slip_words(box),
        days=box.days,
        days_source=box.days_source,
        deadline=box.deadline,
        days_left=left,
        by=people.get(box.by or 0, ""),
        photos=box.photos,
        damages=tuple(
            DamageLine(
                d.number,
                d.where,
                d.text,
                d.photos,
                people.get(d.by or 0, ""),
                d.at,
                d.open,
                d.how,
                d.what,
            )
            for d in box.damages
        ),
        parts=tuple(_line(part, now) for part in box.parts.values()),
        packing=box.packing,
        claims=tuple(
            {key: str(item[key]) for key in ("date", "to", "reference")} for item in box.claims
        ),
        serial_photo=box.serial_photo,
        consignment=box.consignment,
        sender=box.sender,
        value=box.value,
    )


def claim(shop: Shop, bike: int, today: Day = None) -> CartonAnswer:
    """The carton for a claim note; refused while there is nothing to claim for."""
    found = carton(shop, bike, today)
    if not found.received:
        raise refusal("no-carton", f"bike {bike}", "record first how and when the carton came")
    if not found.claimable:
        raise refusal("nothing-to-claim", f"bike {bike}", "no damage and no missing part is known")
    return found


def slip_words(box: Carton) -> tuple[str, ...]:
    """What to write on the carrier's slip, above the signature."""
    seen = [item.text for item in box.damages if item.where == "outside"]
    lines = ["Received unchecked: the contents were not looked at."] if box.unchecked else []
    if seen:
        lines.append(f"Carton damaged when it was handed over: {'; '.join(seen)}.")
    if lines:
        lines.append("All claims for loss and hidden damage are reserved.")
    return tuple(lines)


def _line(part: Part, now: date) -> PartLine:
    overdue = part.followed and bool(part.expected) and part.expected < now.isoformat()
    return PartLine(
        part.name,
        part.status,
        part.note,
        part.photos,
        part.expected,
        part.promised_by,
        part.arrived,
        part.broken_promises,
        overdue,
    )


def _damaged(
    shop: Shop,
    bike: int,
    where: str,
    said: str,
    held: Sequence[Mapping[str, str]],
    by: By,
    first: str | None,
    uuid: str | None = None,
) -> RecordAnswer:
    from cyclewright.workshop.receive import follow

    data: dict[str, Any] = {"where": where, "text": said, "photos": list(held)}
    if where == "inside":
        data["lapse"] = {"joints": [], "steps": [FRAME_STEP], "why": f"damage inside: {said}"}
    own = uuid if first is None else follow(first, "damage")

    def step(state: BikeState) -> tuple[str, dict[str, Any]] | None:
        outside = where == "outside" and held
        return (OUTSIDE_STEP, {"tick": True, "photo": held[0]}) if outside else None

    events, state = one(
        shop, bike, "carton-damaged", f"damage:{where}", lambda _: data, by, uuid=own, step=step
    )
    return answered(state, events, f"damage {where} recorded: {said}")


def _photos(shop: Shop, photos: Sequence[Photo]) -> list[dict[str, str]]:
    if len(photos) > 20:
        raise input_error("too-many", "photos", "give at most 20 photos at once")
    return [kept_photo(shop, item, f"photo {n}") for n, item in enumerate(photos, 1)]


def _checked(carriage: str, on: date, days: int | None) -> None:
    if carriage not in CARRIAGES:
        raise input_error(
            "carriage",
            "carriage",
            "say how it travelled",
            value=carriage,
            allowed=", ".join(CARRIAGES),
        )
    if on > date.today() + timedelta(days=1):
        raise range_error("later", "arrived", "give the day it came", value=on.isoformat())
    if days is not None and not 0 <= days <= _MOST_DAYS:
        raise range_error(
            "days",
            "days",
            "give the carrier's term in days",
            value=str(days),
            allowed=f"0 to {_MOST_DAYS}",
        )


def _lines(
    shop: Shop,
    parts: Mapping[str, str],
    notes: Mapping[str, str],
    photos: Mapping[str, Sequence[Photo]],
) -> list[dict[str, Any]]:
    """Every line checked before any photo is kept; all that is wrong is told at once."""
    from cyclewright.record.carton import PART_STATUS

    if not parts:
        raise input_error("empty", "parts", "tick at least one part")
    wrong = [
        Problem("part-status", part, "say how it came", status, None, ", ".join(PART_STATUS))
        for part, status in parts.items()
        if status not in PART_STATUS
    ]
    wrong += [
        Problem("no-such-part", part, "tick the part that this note or photo is for")
        for part in (*notes, *photos)
        if part not in parts
    ]
    if wrong:
        raise InputError(wrong)
    lines = []
    for part, status in parts.items():
        line: dict[str, Any] = {"part": checked_text(part, "part", 120), "status": status}
        if notes.get(part):
            line["note"] = checked_text(notes[part], f"{part}.note", 500)
        if photos.get(part):
            line["photos"] = _photos(shop, photos[part])
        lines.append(line)
    return lines


def _followed(state: BikeState, name: str) -> Part:
    """The part of that name which is missing or damaged."""
    by_name = {key.casefold(): part for key, part in state.carton.parts.items()}
    part = by_name.get(name.casefold())
    if part is None or part.status == "here":
        waiting = ", ".join(item.name for item in state.carton.followed()) or "none"
        raise input_error(
            "no-such-part",
            "part",
            "name a part that was ticked as missing or damaged",
            value=name,
            allowed=waiting,
        )
    return part


def _received(state: BikeState) -> None:
    if not state.carton.number:
        raise refusal(
            "no-carton", f"bike {state.bike}", "record first how and when the carton came"
        )


def _country(shop: Shop, state: BikeState) -> str:
    return (shop.sheets(state).place.country or "").upper()
