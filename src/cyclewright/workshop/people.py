"""Who works here: the first person made is the owner. Names are personal and kept apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from cyclewright.errors import input_error
from cyclewright.workshop.shop import Shop, checked_text


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who records: a number in the events, a name, and a role."""

    id: int
    name: str
    role: str

    def to_json(self) -> dict[str, Any]:
        """The person as plain data."""
        return {"id": self.id, "name": self.name, "role": self.role}


def people(shop: Shop) -> tuple[Person, ...]:
    """Everybody of this shop, in the order in which they were added."""
    from cyclewright.record.events import SHOP

    found = []
    for event in shop.store.events(SHOP):
        if event.kind == "person-added":
            name = shop.store.attachment(event.data["name"]["attachment"]).payload.decode("utf-8")
            found.append(Person(event.data["person"], name, event.data["role"]))
    return tuple(found)


def ensure_person(shop: Shop, name: str) -> Person:
    """The person of that name, added when new; capitals and spaces make no other person."""
    from cyclewright.record.events import SHOP, Draft
    from cyclewright.store.store import StaleError

    wanted = checked_text(name, "name", 80)
    while True:
        head = shop.store.head(SHOP)
        known = people(shop)
        for person in known:
            if person.name.casefold() == wanted.casefold():
                return person
        role = "mechanic" if known else "owner"
        added = Person(len(known) + 1, wanted, role)
        address = shop.store.attach(wanted.encode("utf-8"), "text/plain")
        data = {"person": added.id, "role": role, "name": {"attachment": address}}
        try:
            draft = Draft("person-added", f"person:{added.id}", data)
            shop.store.append(SHOP, [draft], after=head.number)
        except StaleError:
            continue
        return added


def who(shop: Shop, by: str | int | None) -> int | None:
    """The number recorded as author: a name is looked up or added, None stays nobody named."""
    if by is None:
        return None
    if isinstance(by, int) and not isinstance(by, bool):
        if all(person.id != by for person in people(shop)):
            raise input_error("no-such-person", "by", "give a name", value=str(by))
        return by
    return ensure_person(shop, str(by)).id


def names(shop: Shop) -> dict[int, str]:
    """Every person's name by number."""
    return {person.id: person.name for person in people(shop)}
