"""Erase personal facts: their attachments go, the events that named them stay and still verify."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from cyclewright.errors import input_error, refusal
from cyclewright.units import System
from cyclewright.workshop.people import find, names, owner, still_led
from cyclewright.workshop.shop import Shop, checked_text, whole

if TYPE_CHECKING:
    from cyclewright.record.events import Draft, Event
    from cyclewright.record.shop import ShopState
    from cyclewright.record.state import BikeState

By = str | int | None
WHAT = ("rider", "signatures", "photos")
"""What of a bike's record is personal: a rider's sheets, signatures, and photos."""
_CLASS = {"rider": "rider", "signature": "signatures", "photo": "photos", "photos": "photos"}


@dataclass(frozen=True, slots=True)
class Tombstone:
    """One erasure on record: when, by whom, why, and how many attachments of which kind."""

    number: int
    at: str
    by: str
    reason: str
    what: dict[str, int]

    def to_json(self) -> dict[str, Any]:
        """The tombstone as plain data."""
        return {name: getattr(self, name) for name in self.__slots__}


@dataclass(frozen=True, slots=True)
class PersonalAnswer:
    """What a bike's record holds of persons, by kind, and what was erased from it before."""

    bike: int
    held: dict[str, int]
    erased: tuple[Tombstone, ...]

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The answer as plain data."""
        return {
            "bike": self.bike,
            "held": self.held,
            "erased": [row.to_json() for row in self.erased],
        }


@dataclass(frozen=True, slots=True)
class ErasedAnswer:
    """What was erased: how many attachments, by which event."""

    bike: int | None
    person: int | None
    number: int
    erased: int
    said: str

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The erasure as plain data."""
        return {name: getattr(self, name) for name in self.__slots__}


def personal(shop: Shop, bike: int) -> PersonalAnswer:
    """What could be erased from a bike's record, counted by kind, and its tombstones."""
    events = shop.events(whole(bike))
    counted = Counter(_held(shop, bike).values())
    stones = tuple(_tombstones(shop, events, _addresses(events)))
    return PersonalAnswer(bike, {kind: counted[kind] for kind in WHAT}, stones)


def erased_people(shop: Shop) -> dict[int, Tombstone]:
    """By number, whose name was erased, and by which erasure."""
    from cyclewright.record.events import SHOP

    events = shop.store.events(SHOP)
    added = (event.data for event in events if event.kind == "person-added")
    named = {data["name"]["attachment"]: int(data["person"]) for data in added}
    stones = _tombstones(shop, events, dict.fromkeys(named, "name"))
    rows = {row.number: row for row in stones}
    return {
        named[address]: rows[event.number]
        for event in events
        if event.kind == "erased"
        for address in event.data["addresses"]
        if address in named
    }


def erase_bike(
    shop: Shop,
    bike: int,
    what: Sequence[str] = ("rider", "signatures"),
    *,
    reason: str,
    by: By = None,
    pin: str | None = None,
) -> ErasedAnswer:
    """An owner erases a rider's facts, signatures or photos from a bike's record, for good.

    The record goes on: steps, torques and settings stay. The bike is then one without a rider.
    """
    if not what:
        raise input_error(
            "what", "what", "say what is to be erased", value="", allowed=", ".join(WHAT)
        )
    if unknown := [item for item in what if item not in WHAT]:
        raise input_error(
            "what",
            "what",
            "say what to erase",
            value=", ".join(unknown),
            allowed=", ".join(WHAT),
        )
    why, author = checked_text(reason, "reason", 300), owner(shop, by, pin)
    found = [address for address, kind in _held(shop, bike).items() if kind in what]
    if not found:
        raise refusal("nothing-to-erase", f"bike {bike}", f"it holds no {' or '.join(what)}")
    number = erase_addresses(shop, bike, found, why, author)
    count = len(found)
    said = f"{count} {'attachment' if count == 1 else 'attachments'} erased for good"
    return ErasedAnswer(bike, None, number, count, said)


def erase_person(
    shop: Shop, person: str | int, *, reason: str, by: By = None, pin: str | None = None
) -> ErasedAnswer:
    """An owner erases somebody's name and PIN; what they recorded stays under their number."""
    why, author = checked_text(reason, "reason", 300), owner(shop, by, pin)
    chosen = find(shop, person)
    if chosen is None:
        raise input_error(
            "no-such-person", "person", "name somebody of this shop", value=str(person)
        )
    member = shop.own().members[chosen.id]
    found = [address for address in (member.name, member.pin) if address]

    def led(state: ShopState) -> None:
        still_led(state, replace(state.members[chosen.id], name="", pin=""))

    number = erase_addresses(shop, 0, found, why, author, led)
    return ErasedAnswer(None, chosen.id, number, len(found), f"person {chosen.id} erased for good")


def erase_addresses(
    shop: Shop,
    stream: int,
    addresses: Sequence[str],
    reason: str,
    author: int | None,
    check: Callable[[ShopState], None] = lambda _: None,
) -> int:
    """The tombstone first, then the contents: cut short, erasing again does the rest."""
    from cyclewright.record.events import SHOP, Draft

    data = {"addresses": list(addresses), "reason": reason}

    def bike(state: BikeState) -> list[Draft]:
        return [Draft("erased", "erased", data, author)]

    def own(state: ShopState) -> list[Draft]:
        check(state)
        return [Draft("erased", "erased", data, author)]

    events: Sequence[Event]
    events, _ = shop.own_act(own) if stream == SHOP else shop.act(stream, bike)
    shop.store.erase(addresses)
    shop.forget()
    return events[0].number


def _held(shop: Shop, bike: int) -> dict[str, str]:
    """Every personal attachment that a bike's record holds, with its kind.

    One that was erased and is still there, after a crash, is held until it is erased again.
    """
    gone = shop.state(bike).erased
    return {
        address: kind
        for address, kind in _addresses(shop.events(whole(bike))).items()
        if address not in gone or shop.store.shelf.get(address) is not None
    }


def _addresses(events: Sequence[Event]) -> dict[str, str]:
    """Every personal attachment that events name, with its kind."""
    return {address: kind for event in events for kind, address in _personal(event.data)}


def _tombstones(
    shop: Shop, events: Sequence[Event], known: Mapping[str, str]
) -> Iterator[Tombstone]:
    called = names(shop)
    for event in events:
        if event.kind == "erased":
            what = Counter(known.get(address, "other") for address in event.data["addresses"])
            by = called.get(event.by or 0, "")
            reason = str(event.data["reason"])
            yield Tombstone(event.number, event.server_time, by, reason, dict(what))


def _personal(data: Any, kind: str = "") -> Iterator[tuple[str, str]]:
    """Class and address of every personal attachment in event data."""
    if isinstance(data, Mapping):
        address = data.get("attachment")
        if isinstance(address, str) and kind:
            yield kind, address
        for key, value in data.items():
            yield from _personal(value, _CLASS.get(str(key), kind))
    elif isinstance(data, (list, tuple)):
        for item in data:
            yield from _personal(item, kind)
