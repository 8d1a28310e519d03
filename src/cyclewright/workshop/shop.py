"""One shop's record opened: what every use case that records or remembers is given."""

from __future__ import annotations

import os
import threading
import unicodedata
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, TypeVar

from cyclewright.errors import InputError, input_error, refusal

if TYPE_CHECKING:
    from cyclewright.record.events import Draft, Event
    from cyclewright.record.shop import ShopState
    from cyclewright.record.state import BikeState
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.store.store import Maker, Store

T = TypeVar("T")
MOST_STATES = 128
"""Bikes whose state is held in memory: those in work, not a whole fleet."""
TRIES = 20
"""How often an act is decided again when other benches write at the same moment."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What somebody enters: the UUIDs of its events, and how the first of them is known again."""

    uuids: Sequence[str]
    kind: str
    subject: str = ""
    """Empty where only the state decides it."""
    same: Callable[[Mapping[str, Any]], bool] = lambda _: True
    """Whether the event's data is what is entered now."""

    def check(self, event: Event, stream: int | None = None) -> None:
        """A resend is the same event; its UUID under anything else is refused."""
        place = stream in (None, event.stream) and self.subject in ("", event.subject)
        if not (place and event.kind == self.kind and self.same(event.data)):
            raise uuid_used(event.uuid)


class Shop:
    """The record of one shop; `Shop.open()` gives one, and it is a context manager."""

    def __init__(self, data: Path, store: Store) -> None:
        self.data = data
        self.store = store
        self._states: OrderedDict[int, BikeState] = OrderedDict()
        self.lock = threading.Lock()
        self.riders: dict[str, str] = {}
        """Riders' names by the address of their sheet, read once."""
        self.listed: dict[int, tuple[int, str]] = {}
        """What a search looks through, by bike, and the event it was made at."""
        self.pin: str | None = None
        """PIN of an unattended command, from `CYCLEWRIGHT_PIN`; a bench for many leaves it None."""
        self.second_pin: str | None = None
        """PIN of its second person, from `CYCLEWRIGHT_SECOND_PIN`."""
        self._own: ShopState | None = None
        self._names: dict[str, str] = {}
        self._made: OrderedDict[Hashable, Any] = OrderedDict()
        self._making: dict[Hashable, threading.RLock] = {}
        self._sheets: dict[tuple[Hashable, ...], Sheets] = {}
        """Sheets read lately, by bike and the number of the event they stand in."""

    @classmethod
    def open(cls, data: Path | str | None = None) -> Shop:
        """The shop in a data folder; the folder and its record are made when not there.

        `CYCLEWRIGHT_DATABASE` names a PostgreSQL database, `CYCLEWRIGHT_FILES` the folder of
        its attachments.
        """
        from cyclewright.store.store import Store, data_folder

        folder = data_folder(data)
        url = os.environ.get("CYCLEWRIGHT_DATABASE") or None
        files = os.environ.get("CYCLEWRIGHT_FILES") or None
        shop = cls(folder, Store.open(folder, url, files))
        shop.pin = os.environ.get("CYCLEWRIGHT_PIN") or None
        shop.second_pin = os.environ.get("CYCLEWRIGHT_SECOND_PIN") or None
        return shop

    def close(self) -> None:
        """Let go of the record."""
        self.store.close()

    def __enter__(self) -> Shop:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def state(self, bike: int) -> BikeState:
        """What is known of a bike now; a bike that is not there is an InputError."""
        from cyclewright.record.fold import fold, further
        from cyclewright.store.store import Head

        bike = whole(bike)
        with self.lock:
            known = self._states.get(bike)
        after = None if known is None else Head(known.number, known.head)
        new = self.store.events(bike, after)
        state = known if known is not None and not new else None
        if state is None and known is not None:
            state = further(known, new)
        if state is None:
            listed = self.store.events(bike) if known is not None else new
            if not listed:
                raise no_such_bike(bike)
            state = fold(listed, bike)
        with self.lock:
            newer = self._states.get(bike)
            if newer is None or newer.number <= state.number:
                self._states[bike] = state
            self._states.move_to_end(bike)
            while len(self._states) > MOST_STATES:
                self._states.popitem(last=False)
        return state

    def own(self) -> ShopState:
        """What is known of the shop itself: its people, recalls and tools."""
        from cyclewright.record.events import SHOP
        from cyclewright.record.shop import fold_shop

        known = self._own
        if known is None or known.number != self.store.head(SHOP).number:
            known = fold_shop(self.store.events(SHOP))
            self._own = known
        return known

    def own_act(
        self,
        decide: Callable[[ShopState], Sequence[Draft | Maker]],
        entry: Entry | None = None,
    ) -> tuple[tuple[Event, ...], ShopState]:
        """Decide on the newest state of the shop and record it, as `act` does for a bike."""
        from cyclewright.record.events import SHOP
        from cyclewright.store.store import StaleError

        for _ in range(TRIES):
            if known := self._recorded(SHOP, entry):
                return known, self.own()
            state = self.own()
            drafts = decide(state)
            if not drafts:
                return (), state
            try:
                placed = self.store.append(SHOP, drafts, after=state.number)
            except StaleError:
                continue
            return placed, self.own()
        raise refusal("busy", "shop", "others are recording on it: try again")

    def events(self, bike: int) -> tuple[Event, ...]:
        """Every event of a bike, in order."""
        found = self.store.events(whole(bike))
        if not found:
            raise no_such_bike(bike)
        return found

    def act(
        self,
        bike: int,
        decide: Callable[[BikeState], Sequence[Draft | Maker]],
        entry: Entry | None = None,
    ) -> tuple[tuple[Event, ...], BikeState]:
        """Decide on the newest state and record it, or decide again when it has moved on.

        When the first event of the entry is already recorded, this act was: its events are given
        back and nothing is decided.
        """
        from cyclewright.store.store import StaleError

        for _ in range(TRIES):
            if known := self._recorded(bike, entry):
                return known, self.state(bike)
            state = self.state(bike)
            if state.read_only:
                raise refusal(
                    "newer-version",
                    f"bike {bike}",
                    "a newer Cyclewright has recorded on it: use that version, this one only "
                    "shows the bike",
                    value=", ".join(sorted(set(state.unknown))),
                )
            drafts = decide(state)
            if not drafts:
                return (), state
            try:
                placed = self.store.append(bike, drafts, after=state.number)
            except StaleError:
                continue
            return placed, self.state(bike)
        raise refusal("busy", f"bike {bike}", "others are recording on it: try again")

    def _recorded(self, bike: int, entry: Entry | None) -> tuple[Event, ...]:
        """The events of an act that was recorded before, none when it was not."""
        if entry is None or (first := self.store.find(entry.uuids[0])) is None:
            return ()
        entry.check(first, bike)
        rest = (self.store.find(uuid) for uuid in entry.uuids[1:])
        return (first, *(event for event in rest if event is not None))

    def sheets(self, state: BikeState) -> Sheets:
        """The sheets in force for a bike, the rider's from where personal facts are kept."""
        from cyclewright import units
        from cyclewright.sheets.read import read
        from cyclewright.sheets.sheets import Sheets

        if "bike" not in state.sheets:
            raise refusal("no-sheets", f"bike {state.bike}", "open a visit with its sheets first")
        key = self.sheet_key(state)
        with self.lock:
            known = self._sheets.get(key)
        if known is not None:
            return known
        mass = state.sheets.get("mass")
        found = Sheets(
            read(state.sheets["bike"], "bike"),
            None if state.rider is None else read(self.rider_text(state.rider), "rider"),
            read(state.sheets["place"], "place", stored=True),
            None if mass is None else units.parse(mass, "mass", "mass"),
        )
        with self.lock:
            self._sheets = dict(list(self._sheets.items())[-MOST_STATES:]) | {key: found}
        return found

    def sheet_key(self, state: BikeState) -> tuple[Hashable, ...]:
        """What the sheets in force for a bike hang on: another key, other sheets."""
        return (state.bike, 0 if state.plan is None else state.plan.number, state.rider)

    def once(self, key: Hashable, make: Callable[[], T]) -> T:
        """What was made under this key lately, or is made now: for what hangs on the key alone.

        Who asks while it is being made waits for it.
        """
        kept: T
        with self.lock:
            if key in self._made:
                kept = self._kept(key)
                return kept
            making = self._making.setdefault(key, threading.RLock())
        with making:
            with self.lock:
                if key in self._made:
                    kept = self._kept(key)
                    return kept
            try:
                made = make()
                with self.lock:
                    self._made[key] = made
                    while len(self._made) > 3 * MOST_STATES:
                        self._made.popitem(last=False)
            finally:
                with self.lock:
                    self._making.pop(key, None)
            return made

    def _kept(self, key: Hashable) -> Any:
        """What was made, counted as used; the lock is held."""
        self._made.move_to_end(key)
        return self._made[key]

    def forget(self) -> None:
        """Let go of everything personal that is held in memory."""
        with self.lock:
            self.riders, self.listed, self._names, self._sheets = {}, {}, {}, {}
            self._made.clear()

    def name_at(self, address: str) -> str:
        """A person's name by its attachment's address."""
        with self.lock:
            known = self._names.get(address)
        if known is None:
            known = self.store.attachment(address).payload.decode("utf-8")
            with self.lock:
                self._names[address] = known
        return known

    def rider_text(self, address: str) -> str:
        """A rider sheet by its attachment's address."""
        return self.store.attachment(address).payload.decode("utf-8")


def whole(bike: object) -> int:
    """A bike's id as a whole number from 1 on."""
    if isinstance(bike, bool) or not isinstance(bike, int) or not 1 <= bike < 2**31:
        raise input_error(
            "bike-id", "bike", "give the number that `cyclewright open` printed", value=str(bike)
        )
    return bike


def no_such_bike(bike: int) -> InputError:
    """The error for an id that this record does not hold."""
    return input_error(
        "no-such-bike",
        "bike",
        "this record has no such bike: `cyclewright list` shows those it has",
        value=str(bike),
    )


def uuid_used(uuid: str) -> InputError:
    """The error for an entry whose UUID stands on record for another one."""
    do = "something else is on record under it: load the page anew, or give every new entry a UUID"
    return input_error("uuid-used", "uuid", f"{do} of its own", value=uuid)


def own_uuid(text: str | None) -> str:
    """An entry's UUID in its usual spelling, a new one for None; anything else is an InputError."""
    import uuid

    if text is None:
        return str(uuid.uuid4())
    try:
        return str(uuid.UUID(text))
    except (ValueError, AttributeError, TypeError):
        raise input_error(
            "not-a-uuid", "uuid", "send a UUID, like one from crypto.randomUUID()", value=str(text)
        ) from None


def printable(text: str) -> str:
    r"""Text in one spelling (Unicode NFC): a space for each gap and for what cannot be printed.

    >>> printable(" Jose\u0301\u202e  n ")
    'José n'
    """
    whole = unicodedata.normalize("NFC", text)
    return " ".join("".join(char if char.isprintable() else " " for char in whole).split())


def checked_text(text: str, field: str, longest: int = 2000) -> str:
    """A note a person wrote, trimmed; empty or endless notes are InputErrors."""
    clean = printable(text)
    if not clean:
        raise input_error("empty", field, "write a few words")
    if len(clean) > longest:
        raise input_error("too-long", field, f"write at most {longest} characters")
    return clean
