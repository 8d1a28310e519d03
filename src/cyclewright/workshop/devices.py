"""Phones that work on the bench: let in by somebody there, listed, and revoked at any time."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from cyclewright.errors import input_error, refusal
from cyclewright.workshop import people
from cyclewright.workshop.shop import Shop, checked_text

if TYPE_CHECKING:
    from cyclewright.store.devices import Kept

LASTS = timedelta(days=90)
"""How long a phone stays let in; then it is paired again."""
_SEEN_EVERY = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Device:
    """A phone: its number, what it was called when it was let in, and whether it still is."""

    id: int
    name: str
    person: str | None
    paired: str
    seen: str
    until: str
    revoked: str | None
    state: str
    """allowed, revoked or over"""

    @property
    def allowed(self) -> bool:
        """Whether it is let in."""
        return self.state == "allowed"

    def to_json(self) -> dict[str, Any]:
        """The phone as plain data."""
        return {name: getattr(self, name) for name in self.__slots__}


def devices(shop: Shop) -> tuple[Device, ...]:
    """Every phone that was ever let in, the newest first."""
    from cyclewright.store import devices as store

    named = _named(shop)
    return tuple(_device(kept, named) for kept in store.listed(shop.store))


def let_in(shop: Shop, name: str) -> tuple[Device, str]:
    """A new phone under a name, and the cookie that is its key; only the hash is kept."""
    from cyclewright.store import devices as store

    called = checked_text(name, "name", 40)
    token, now = secrets.token_urlsafe(32), _now()
    kept = store.add(shop.store, token, called, now, now + LASTS)
    return _device(kept, {}), token


def of_cookie(shop: Shop, token: str) -> Device | None:
    """The phone that holds a cookie, as long as it is let in; notes that it was here."""
    from cyclewright.store import devices as store

    kept = store.holding(shop.store, token)
    if kept is None or not (found := _device(kept, _named(shop))).allowed:
        return None
    now = _now()
    if now - datetime.fromisoformat(kept.seen) >= _SEEN_EVERY:
        store.seen(shop.store, kept.id, now)
    return found


def revoke(shop: Shop, device: int) -> Device:
    """Let a phone in no more, from its next request on."""
    from cyclewright.store import devices as store

    known = {found.id: found for found in devices(shop)}
    if device not in known:
        raise input_error(
            "no-such-device", "device", "`cyclewright devices` lists them", value=str(device)
        )
    if not store.revoke(shop.store, device, _now()):
        raise refusal("revoked", f"device {device}", "it was revoked before")
    return next(found for found in devices(shop) if found.id == device)


def carry(shop: Shop, device: int, name: str | None) -> None:
    """Remember who works with a phone, when it is somebody of this shop."""
    from cyclewright.store import devices as store

    person = None if name is None else people.find(shop, name)
    store.carried_by(shop.store, device, None if person is None else person.id)


def check_source(shop: Shop, source: str) -> None:
    """Refuse an address that has sent too many wrong pairing codes to be listened to now."""
    from cyclewright.store import devices as store

    left = store.hold_off(shop.store, source, _now())
    if left > timedelta(0):
        seconds = int(left.total_seconds()) + 1
        raise refusal("pair-wait", "code", f"too many wrong codes: try again in {seconds} s")


def count_source(shop: Shop, source: str, right: bool) -> None:
    """Count a wrong pairing code of an address, or forget the earlier ones."""
    from cyclewright.store import devices as store

    if right:
        store.forgive(shop.store, source)
    else:
        store.failed(shop.store, source, _now())


def _named(shop: Shop) -> dict[int, str]:
    """Who may carry a phone: a name that was erased is nobody's."""
    return {person.id: person.name for person in people.working(shop)}


def _device(kept: Kept, named: dict[int, str]) -> Device:
    over = datetime.fromisoformat(kept.until) <= _now()
    state = "revoked" if kept.revoked else "over" if over else "allowed"
    person = None if kept.person is None else named.get(kept.person)
    return Device(
        kept.id, kept.name, person, kept.paired, kept.seen, kept.until, kept.revoked, state
    )


def _now() -> datetime:
    return datetime.now(UTC)
