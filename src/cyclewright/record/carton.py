"""The carton: what arrived, what was damaged or missing, what was promised, what is kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from cyclewright.record.events import Event

SERIAL_STEP = "serial-read"
"""The step of a plan whose words are the number stamped on the frame."""
PartStatus = Literal["here", "missing", "damaged"]
Settled = Literal["harmless", "put right", "replaced"]
SETTLED: tuple[Settled, ...] = ("harmless", "put right", "replaced")
PART_STATUS: tuple[PartStatus, ...] = ("here", "missing", "damaged")


@dataclass(frozen=True, slots=True)
class Damage:
    """Damage to the carton or to what is in it, as it was seen."""

    number: int
    where: str
    """`outside` of the carton, or `inside`."""
    text: str
    photos: tuple[str, ...]
    by: int | None
    at: str
    how: str = ""
    """How it was settled, one of `SETTLED`; empty while it is open."""
    what: str = ""
    """What was found or done about it."""

    @property
    def open(self) -> bool:
        """Whether it is damage to the bike that nothing was done about."""
        return self.where == "inside" and not self.how


@dataclass(frozen=True, slots=True)
class Part:
    """One line of the packing list: how it came, and when what is wrong is to be put right."""

    name: str
    status: PartStatus
    note: str
    photos: tuple[str, ...]
    number: int
    by: int | None
    at: str
    expected: str = ""
    """Promised date, empty for none."""
    promised_by: str = ""
    arrived: str = ""
    """Date on which the missing or damaged part came, empty while it has not."""
    broken_promises: tuple[str, ...] = ()
    """Dates that were promised before and put off."""

    @property
    def followed(self) -> bool:
        """Whether it is missing or damaged and nothing has come for it yet."""
        return self.status != "here" and not self.arrived


@dataclass(frozen=True, slots=True)
class Carton:
    """A carton as it was received; `number` 0 means that none is recorded."""

    number: int = 0
    arrived: str = ""
    carrier: str = ""
    carriage: str = ""
    country: str = ""
    unchecked: bool = False
    """Signed for as received unchecked."""
    days: int = 0
    days_source: str = ""
    deadline: str = ""
    by: int | None = None
    photos: tuple[str, ...] = ()
    serial: str = ""
    """As stamped on the frame."""
    serial_photo: str = ""
    damages: tuple[Damage, ...] = ()
    parts: Mapping[str, Part] = field(default_factory=dict)
    packing: tuple[str, ...] = ()
    claims: tuple[Mapping[str, Any], ...] = ()
    consignment: str = ""
    sender: str = ""
    value: str = ""
    """The carrier's number for it, who sent it, and what the goods are worth, as written."""

    def followed(self) -> tuple[Part, ...]:
        """Parts that are still awaited, those promised soonest first."""
        waiting = [part for part in self.parts.values() if part.followed]
        return tuple(sorted(waiting, key=lambda part: (part.expected or "9999", part.name)))


def photos(data: Mapping[str, Any]) -> tuple[str, ...]:
    """Addresses of the photos an event holds."""
    return tuple(str(item["attachment"]) for item in data.get("photos") or ())


def _arrived(carton: Carton, event: Event) -> Carton:
    data = event.data
    return Carton(
        event.number,
        data["arrived"],
        data["carrier"],
        data["carriage"],
        data["country"],
        data["unchecked"],
        data["days"],
        data["days_source"],
        data["deadline"],
        event.by,
        photos(data),
        consignment=data.get("consignment", ""),
        sender=data.get("sender", ""),
        value=data.get("value", ""),
    )


def _damaged(carton: Carton, event: Event) -> Carton:
    data = event.data
    seen = Damage(
        event.number, data["where"], data["text"], photos(data), event.by, event.server_time
    )
    return replace(carton, damages=(*carton.damages, seen))


def _settled(carton: Carton, event: Event) -> Carton:
    data = event.data
    return replace(
        carton,
        damages=tuple(
            replace(seen, how=data["how"], what=data["what"])
            if seen.number == data["damage"]
            else seen
            for seen in carton.damages
        ),
    )


def _ticked(carton: Carton, event: Event) -> Carton:
    data = event.data
    parts = dict(carton.parts)
    for line in data["parts"]:
        parts[line["part"]] = Part(
            line["part"],
            line["status"],
            line.get("note", ""),
            photos(line),
            event.number,
            event.by,
            event.server_time,
        )
    return replace(carton, parts=parts)


def _expected(carton: Carton, event: Event) -> Carton:
    part = carton.parts.get(event.data["part"])
    if part is None:
        return carton
    broken = (*part.broken_promises, part.expected) if part.expected else part.broken_promises
    later = replace(
        part,
        expected=event.data["date"],
        promised_by=event.data.get("whose", ""),
        broken_promises=broken,
        arrived="",
    )
    return replace(carton, parts={**carton.parts, part.name: later})


def _came(carton: Carton, event: Event) -> Carton:
    part = carton.parts.get(event.data["part"])
    if part is None:
        return carton
    here = replace(part, arrived=event.data["date"])
    return replace(carton, parts={**carton.parts, part.name: here})


def _kept(carton: Carton, event: Event) -> Carton:
    return replace(carton, packing=tuple(event.data["items"]))


def _claimed(carton: Carton, event: Event) -> Carton:
    return replace(carton, claims=(*carton.claims, {**event.data, "number": event.number}))


def _serial(carton: Carton, event: Event) -> Carton:
    picture = event.data.get("photo") or {}
    return replace(
        carton, serial=event.data["serial"], serial_photo=str(picture.get("attachment", ""))
    )


APPLIED: dict[str, Callable[[Carton, Event], Carton]] = {
    "carton-arrived": _arrived,
    "carton-damaged": _damaged,
    "damage-settled": _settled,
    "parts-ticked": _ticked,
    "part-expected": _expected,
    "part-arrived": _came,
    "packing-kept": _kept,
    "claim-sent": _claimed,
    "serial-read": _serial,
}
"""Kind of event to what it makes of the carton."""
