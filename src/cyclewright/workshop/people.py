"""Who works here: the first person made is the owner. Names are personal and kept apart.

A shop without PINs takes a name at its word. Once its owner has set a PIN, everybody who records
has one, proved once a shift and again at gates.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from cyclewright.errors import input_error, refusal
from cyclewright.workshop import pins
from cyclewright.workshop.shop import Shop, checked_text

if TYPE_CHECKING:
    from cyclewright.record.events import Draft
    from cyclewright.record.shop import Member, Role, ShopState

By = str | int | None
OWNER, CHECKER, MECHANIC = "owner", "checker", "mechanic"
GONE = "erased person"


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who records: a number in the events, a name, and a role."""

    id: int
    name: str
    role: str
    has_pin: bool = False
    erased: bool = False

    def to_json(self) -> dict[str, Any]:
        """The person as plain data."""
        return {name: getattr(self, name) for name in self.__slots__}


def people(shop: Shop) -> tuple[Person, ...]:
    """Everybody of this shop, in the order in which they were added."""
    return tuple(_person(shop, member) for member in shop.own().members.values())


def working(shop: Shop) -> tuple[Person, ...]:
    """Everybody who can record: those whose name was erased are left out."""
    return tuple(person for person in people(shop) if not person.erased)


def find(shop: Shop, by: str | int) -> Person | None:
    """The person of that name or number, or None; capitals and spaces make no other person."""
    if isinstance(by, int) and not isinstance(by, bool):
        return next((person for person in working(shop) if person.id == by), None)
    wanted = checked_text(str(by), "name", 80).casefold()
    return next((person for person in working(shop) if person.name.casefold() == wanted), None)


def ensure_person(shop: Shop, name: str) -> Person:
    """The person of that name, added when new; in a shop with PINs only the owner adds people."""
    known = find(shop, name)
    if known is not None:
        return known
    if pins.used(shop):
        raise refusal(
            "no-such-person", "by", "the owner adds new people: this shop uses PINs", value=name
        )
    return _add(shop, name, MECHANIC)


def add_person(
    shop: Shop, name: str, role: str = MECHANIC, by: By = None, pin: str | None = None
) -> Person:
    """A new person in a role; the first one is the owner, later ones are added by an owner."""
    _checked_role(role)
    if people(shop):
        _owner(shop, by, pin)
        if find(shop, name) is not None:
            raise input_error("known", "name", "this person is here already", value=name)
    return _add(shop, name, role)


def give_role(
    shop: Shop, person: str | int, role: str, by: By = None, pin: str | None = None
) -> Person:
    """An owner gives somebody a role; the last owner stays one."""
    from cyclewright.record.events import Draft

    wanted = _checked_role(role)
    author, chosen = _owner(shop, by, pin), _known(shop, person, "person")

    def decide(state: ShopState) -> list[Draft]:
        member = state.members[chosen.id]
        if member.role == wanted:
            return []
        still_led(state, replace(member, role=wanted))
        data = {"person": chosen.id, "role": wanted}
        return [Draft("role-given", f"person:{chosen.id}", data, author)]

    shop.own_act(decide)
    return _known(shop, chosen.id, "person")


def set_pin(
    shop: Shop, person: str | int, new: str | None, by: By = None, pin: str | None = None
) -> Person:
    """Set, change or (with None) take away a PIN; `pin` is that of `by`, who is asking.

    Everybody sets their own, an owner sets anybody's. The first PIN of a shop is its owner's;
    an owner's PIN goes last.
    """
    from cyclewright.record.events import Draft

    chosen = _known(shop, person, "person")
    author = chosen.id if by is None else _known(shop, by, "by").id
    asking = _known(shop, author, "by")
    if author != chosen.id and asking.role != OWNER:
        raise refusal("owner-only", "by", "only an owner sets another's PIN", value=asking.name)
    if asking.has_pin:
        pins.prove(shop, author, pin)
    elif pins.used(shop):
        raise refusal("pin-unset", "by", "an owner sets your first PIN", value=asking.name)
    if not pins.used(shop) and new is not None and chosen.role != OWNER:
        raise refusal("owner-first", "person", "the owner sets a PIN first", value=chosen.name)
    content = None if new is None else pins.hashed(new)

    def decide(state: ShopState) -> list[Draft]:
        data: dict[str, Any] = {"person": chosen.id, "pin": None}
        if content is None:
            still_led(state, replace(state.members[chosen.id], pin=""))
        else:
            data["pin"] = {"attachment": shop.store.attach(content, "application/argon2")}
        return [Draft("pin-set", f"person:{chosen.id}", data, author)]

    old = shop.own().members[chosen.id].pin
    shop.own_act(decide)
    if old:
        pins.forget(shop, chosen.id, old, author)
    return _known(shop, chosen.id, "person")


def who(shop: Shop, by: By, pin: str | None = None, fresh: bool = False) -> int | None:
    """The number recorded as author: a name is looked up or added, None stays nobody named.

    In a shop with PINs the author is on shift, or gives the PIN; `fresh` asks for it again, as
    gates do. Nobody named is then the one person on shift.
    """
    if not pins.used(shop):
        return _named(shop, by)
    chosen = _on_shift(shop) if by is None or by == "" else _known(shop, by, "by").id
    if fresh or pin is not None or chosen not in pins.on_shift(shop):
        pins.prove(shop, chosen, pin)
    return chosen


def second(shop: Shop, by: By, first: int | None, pin: str | None = None) -> int:
    """The second person of an override: a checker or an owner, and not the first.

    Nobody is added for it: who may be second was settled before by an owner.
    """
    if len(working(shop)) < 2:
        raise refusal(
            "one-person", "second", "with one person in the shop there is no override: do the step"
        )
    if by is None or by == "":
        raise input_error("second-missing", "second", "say who the second person is")
    chosen = _known(shop, by, "second")
    if chosen.id == first:
        raise refusal("same-person", "second", "the second person is somebody else")
    if chosen.role not in (CHECKER, OWNER):
        raise refusal(
            "not-a-checker",
            "second",
            "the second person is a checker or an owner: an owner gives that role",
            value=chosen.name,
        )
    if pins.used(shop):
        pins.prove(shop, chosen.id, pin, second=True)
    return chosen.id


def witness(shop: Shop, by: By, pin: str | None = None) -> int | None:
    """The second name under a release; in a shop with PINs it is proved like the first."""
    if by is None or by == "":
        return None
    if not pins.used(shop):
        return _named(shop, by)
    chosen = _known(shop, by, "second")
    pins.prove(shop, chosen.id, pin, second=True)
    return chosen.id


def owner(shop: Shop, by: By, pin: str | None = None) -> int:
    """The number of the owner who asks; anybody else is refused."""
    return _owner(shop, by, pin)


def names(shop: Shop) -> dict[int, str]:
    """Every person's name by number."""
    return {person.id: person.name for person in people(shop)}


def _owner(shop: Shop, by: By, pin: str | None) -> int:
    owners = [person for person in working(shop) if person.role == OWNER]
    alone = len(working(shop)) == 1 and bool(owners)
    if (by is None or by == "") and pins.used(shop):
        by = who(shop, None)
    if by is None or by == "":
        if not alone:
            raise input_error("by-missing", "by", "say which owner asks for it")
        by = owners[0].id
    chosen = _known(shop, by, "by")
    if chosen.role != OWNER:
        raise refusal("owner-only", "by", "only an owner may do this", value=chosen.name)
    if pins.used(shop):
        pins.prove(shop, chosen.id, pin)
    return chosen.id


def _named(shop: Shop, by: By) -> int | None:
    if by is None:
        return None
    if isinstance(by, int) and not isinstance(by, bool):
        if find(shop, by) is None:
            raise input_error("no-such-person", "by", "give a name", value=str(by))
        return by
    return ensure_person(shop, str(by)).id


def _known(shop: Shop, by: str | int | None, field: str) -> Person:
    found = None if by is None else find(shop, by)
    if found is None:
        raise input_error("no-such-person", field, "name somebody of this shop", value=str(by))
    return found


def _on_shift(shop: Shop) -> int:
    """The one person on shift, or the only one there is, when nobody was named."""
    present = pins.on_shift(shop)
    if len(present) == 1:
        return next(iter(present))
    everybody = working(shop)
    if len(everybody) == 1:
        return everybody[0].id
    raise input_error("by-missing", "by", "say who you are: this shop uses PINs")


def _add(shop: Shop, name: str, role: str) -> Person:
    from cyclewright.record.events import Draft

    wanted = checked_text(name, "name", 80)
    address = shop.store.attach(wanted.encode("utf-8"), "text/plain")

    def decide(state: ShopState) -> list[Draft]:
        if find(shop, wanted) is not None:
            return []
        number = max(state.members, default=0) + 1
        given = role if state.members else OWNER
        data = {"person": number, "role": given, "name": {"attachment": address}}
        return [Draft("person-added", f"person:{number}", data)]

    shop.own_act(decide)
    return _known(shop, wanted, "name")


def _person(shop: Shop, member: Member) -> Person:
    if member.erased:
        return Person(member.id, f"{GONE} {member.id}", member.role, False, True)
    name = shop.name_at(member.name)
    return Person(member.id, name, member.role, bool(member.pin))


def _checked_role(role: str) -> Role:
    from cyclewright.record.shop import ROLES

    for known in ROLES:
        if known == role:
            return known
    raise input_error("role", "role", "give a role", value=role, allowed=", ".join(ROLES))


def still_led(state: ShopState, after: Member) -> None:
    """Refuse to leave the shop without an owner, or without one who can prove it."""
    left = [one for one in (state.members | {after.id: after}).values() if not one.erased]
    owners = [one for one in left if one.role == OWNER]
    if not owners:
        raise refusal("last-owner", "person", "make somebody else an owner first")
    if any(one.pin for one in left) and not any(one.pin for one in owners):
        do = "give another owner a PIN, or take the others' PINs away first"
        raise refusal("owner-last", "person", do)
