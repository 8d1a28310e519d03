"""PINs: hashed with Argon2 and kept apart, guesses slowed down, shifts that prove who is there."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from cyclewright.errors import input_error, refusal

if TYPE_CHECKING:
    from cyclewright.workshop.shop import Shop

SHIFT = timedelta(hours=10)
"""A shift's length; common practice, no source."""
LENGTH = (4, 12)

_present: ContextVar[frozenset[tuple[str, int, int]]] = ContextVar("present", default=frozenset())
"""Who has proved who they are in this request: shop, person, number of their PIN's event."""


@dataclass(frozen=True, slots=True)
class Shift:
    """An open shift: the token a face keeps for its person, and when it ends."""

    token: str
    person: int
    until: str


def used(shop: Shop) -> bool:
    """Whether this shop uses PINs."""
    return any(member.pin for member in shop.own().members.values())


def hashed(pin: str) -> bytes:
    """The Argon2 hash of a PIN that is not too easy to guess."""
    from argon2 import PasswordHasher

    return PasswordHasher().hash(_checked(pin)).encode("ascii")


def prove(shop: Shop, person: int, pin: str | None, second: bool = False) -> None:
    """Refuse unless the PIN is this person's; without one an unattended command's is taken."""
    given = pin if pin is not None else (shop.second_pin if second else shop.pin)
    member = shop.own().members[person]
    name = shop.name_at(member.name)
    if not member.pin:
        raise refusal("pin-unset", "pin", f"an owner sets the first PIN of {name}")
    if given is None:
        variable = "CYCLEWRIGHT_SECOND_PIN" if second else "CYCLEWRIGHT_PIN"
        do = f"give the PIN of {name}, open a shift, or set {variable} for an unattended command"
        raise refusal("pin-wanted", "second_pin" if second else "pin", do)
    _try(shop, person, member.pin, given, name)


def open_shift(shop: Shop, by: str | int, pin: str, length: timedelta = SHIFT) -> Shift:
    """Open a shift with a PIN; whoever holds its token is this person until it ends."""
    from cyclewright.store import access
    from cyclewright.workshop.people import find

    chosen = find(shop, by)
    if chosen is None:
        raise input_error("no-such-person", "by", "name somebody of this shop", value=str(by))
    prove(shop, chosen.id, pin)
    token, now = secrets.token_urlsafe(32), _now()
    until = now + min(length, SHIFT)
    number = shop.own().members[chosen.id].pin_number
    access.open_shift(shop.store, token, chosen.id, number, now, until)
    return Shift(token, chosen.id, until.isoformat(timespec="seconds"))


def close_shift(shop: Shop, token: str) -> None:
    """End a shift before its time."""
    from cyclewright.store import access

    access.close_shift(shop.store, token)


def shift_person(shop: Shop, token: str) -> int | None:
    """Whose open shift the token is; None when it is over or the PIN was changed since."""
    from cyclewright.store import access

    found = access.shift(shop.store, token, _now())
    if found is None:
        return None
    member = shop.own().members.get(found[0])
    return found[0] if member is not None and member.pin and member.pin_number == found[1] else None


@contextmanager
def on_shift_with(shop: Shop, *tokens: str) -> Iterator[None]:
    """Everything done inside is done by people whose shifts these tokens are."""
    members = shop.own().members
    found = [person for token in tokens if (person := shift_person(shop, token)) is not None]
    here = {(str(shop.data), person, members[person].pin_number) for person in found}
    reset = _present.set(_present.get() | here)
    try:
        yield
    finally:
        _present.reset(reset)


def on_shift(shop: Shop) -> frozenset[int]:
    """Who has proved who they are in this request."""
    members, here = shop.own().members, str(shop.data)
    return frozenset(
        person
        for data, person, number in _present.get()
        if data == here and person in members and members[person].pin_number == number
    )


def forget(shop: Shop, person: int, address: str, author: int | None) -> None:
    """The hash of a PIN that was replaced: erased, like other personal facts that are over."""
    from cyclewright.store import access
    from cyclewright.workshop.erase import erase_addresses

    access.forgive(shop.store, person)
    erase_addresses(shop, 0, [address], "PIN replaced", author)


def _try(shop: Shop, person: int, address: str, given: str, name: str) -> None:
    from argon2 import PasswordHasher
    from argon2.exceptions import InvalidHashError, VerificationError

    from cyclewright.store import access

    left = access.reserve(shop.store, person, _now())
    if left > timedelta(0):
        seconds = int(left.total_seconds()) + 1
        do = f"too many wrong ones of {name}: try again in {seconds} s"
        raise refusal("pin-wait", "pin", do)
    stored = shop.store.attachment(address).payload.decode("ascii")
    try:
        PasswordHasher().verify(stored, given)
    except (VerificationError, InvalidHashError):
        raise refusal("pin-wrong", "pin", f"this is not the PIN of {name}") from None
    access.forgive(shop.store, person)


def _checked(pin: str) -> str:
    low, high = LENGTH
    if not (pin.isascii() and pin.isdigit() and low <= len(pin) <= high):
        raise input_error("pin", "pin", f"choose {low} to {high} digits")
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
    if steps in ({0}, {1}, {9}):
        raise input_error("pin-easy", "pin", "choose one that is no row of equal or counted digits")
    return pin


def _now() -> datetime:
    return datetime.now(UTC)
