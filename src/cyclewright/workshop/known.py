"""What the record holds for the sums of one bike: its sheets, and what every reading taught."""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from cyclewright.advice.advise import Advice, Moved
    from cyclewright.advice.case import Kept
    from cyclewright.advice.readings import Learner, SagReading
    from cyclewright.knowledge.defaults import Filled
    from cyclewright.record.events import Event
    from cyclewright.record.state import BikeState, Reading
    from cyclewright.setting import Setting
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.solve.case import Case
    from cyclewright.workshop.shop import Shop

    _Trial = tuple[Advice, tuple[Moved, ...]]

ENDS: dict[str, Literal["fork", "shock", "front", "rear"]] = {
    "fork-sag": "fork",
    "shock-sag": "shock",
    "front-drop": "front",
    "rear-drop": "rear",
}
"""The readings that teach the sums, and of which end."""
MOST_TRIED = 8
"""How many trials of one bike are kept."""
MOST_KNOWN = 8
"""How many solutions of bikes on record are kept in a process."""
_LOCK = threading.Lock()
_RECENT: dict[tuple[str, int, tuple[str, ...]], Known] = {}


APART = 0.002
"""How far two rings [m] have to lie apart for one reading to tell them."""


def known_of(shop: Shop, bike: int) -> Known:
    """What the record holds for the sums of one bike, kept while nothing that bears on it comes.

    A tick or a gate moves no sum, so pages and commands that follow one another in a process
    share one solution; every event that can move one makes a new key.
    """
    state = shop.state(bike)
    sheets = shop.sheets(state)
    events = tuple(event for event in shop.events(bike) if event.number <= state.number)
    key = (str(shop.data), bike, tuple(event.uuid for event in events if _moves(event)))
    with _LOCK:
        known = _RECENT.pop(key, None)
    if known is None:
        known = Known(shop, state, sheets, events)
    with _LOCK:
        _RECENT[key] = known
        while len(_RECENT) > MOST_KNOWN:
            del _RECENT[next(iter(_RECENT))]
    return known


def _moves(event: Event) -> bool:
    """Whether an event can bear on the sums: all can but ticks and gates."""
    if event.kind == "step-done":
        return "value" in event.data.get("evidence", ())
    return event.kind not in ("step-put-off", "gate-passed", "head-signed")


class Known:
    """What the record holds for the sums of one bike: sheets, reference position, readings."""

    def __init__(
        self, shop: Shop, state: BikeState, sheets: Sheets, events: tuple[Event, ...]
    ) -> None:
        from cyclewright.knowledge.defaults import fill

        self.state = state
        self.sheets = sheets
        self.filled: Filled = fill(sheets)
        past = _Past(shop, events, sheets, state.erased)
        self.reference: Filled = fill(past.sheets(past.first_plan(state)))
        self._cases: dict[int, tuple[Case, bool]] = {}
        self._tried: dict[tuple[tuple[str, ...], Kept | None], _Trial] = {}
        self.readings: tuple[SagReading, ...] = tuple(
            self._sag(item, past)
            for item in state.readings
            if _usable(item, state) and not past.nameless(item.number)
        )

    @cached_property
    def learn(self) -> Learner:
        """What moves a case to agree with every reading so far."""
        from cyclewright.advice.readings import learning

        return learning(self.readings)

    @cached_property
    def advice(self) -> Advice:
        """Settings by the sheets in force and every reading so far."""
        from cyclewright.advice.advise import advise as advised

        return advised(self.filled, self.reference, self.learn)

    @cached_property
    def odd(self) -> tuple[bool, ...]:
        """Which readings were too odd to be believed."""
        from cyclewright.advice.case import build

        return self.learn.odd(build(self.filled, self.reference))

    def strange(self, kind: str, value: float) -> float | None:
        """What was expected [m] where a ring [m] would be too odd to be believed, else None."""
        from cyclewright.advice.case import build
        from cyclewright.advice.readings import SagReading, expected, learning

        case = build(self.filled, self.reference)
        reading = SagReading(ENDS[kind], (value,), _kept(self.extra(kind, (value,))), case)
        if not learning((*self.readings, reading)).odd(case)[-1]:
            return None
        return expected(self.advice.goal.case, reading)

    def obeyed(self, kind: str, each: tuple[float, ...]) -> tuple[Setting, float] | None:
        """The pressure as advised and the one on record [Pa gauge], where a ring fits the first.

        None where there is nothing to ask: no ring was read at what is on record, both would
        give nearly the same ring, or this one does not lie near what the advice promised.
        """
        from cyclewright.advice.case import build
        from cyclewright.advice.readings import SagReading, expected

        end = ENDS[kind]
        held = _made(self.state).get(end)
        before = any(one.name == end and getattr(one.kept, end) == held for one in self.readings)
        if not before or held is None:
            return None
        told, ring = self.setting(f"{end}_pressure"), self.setting(f"{end}_sag")
        if told is None or told.value is None or ring is None or ring.value is None:
            return None
        case = build(self.filled, self.reference)
        now = SagReading(end, each, _kept(self.extra(kind, each)), case)
        usual = expected(self.advice.goal.case, now)
        apart = abs(usual - ring.value) >= APART
        fits = abs(now.value - ring.value) <= abs(now.value - usual) / 2
        return (told, held) if apart and fits else None

    def setting(self, *names: str) -> Setting | None:
        """The advised setting of any of these names, or None when this bike has no such thing."""
        return next((item for item in self.advice.settings if item.name in names), None)

    def tried(self, changes: Sequence[str], made: Kept | None) -> _Trial:
        """What follows from changes and settings made by hand; the last few are kept.

        A page asks for the settings and then for the drawing of one and the same trial.
        """
        from cyclewright.advice.advise import compare
        from cyclewright.knowledge.defaults import fill
        from cyclewright.sheets.sheets import change

        key = (tuple(changes), made)
        if key not in self._tried:
            filled = fill(change(self.sheets, changes)) if changes else self.filled
            found = compare(self.advice, filled, self.reference, self.learn, made)
            while len(self._tried) >= MOST_TRIED:
                self._tried.pop(next(iter(self._tried)), None)
            self._tried[key] = found
        return self._tried[key]

    def extra(self, kind: str, each: tuple[float, ...]) -> dict[str, Any]:
        """What is stored beside a sag or drop: what was set then, the posture, each sit-down."""
        kept, made = self.advice.kept, _made(self.state)
        advised = {
            "fork": kept.fork,
            "shock": kept.shock,
            "front": kept.front_tyre,
            "rear": kept.rear_tyre,
        }
        end = ENDS[kind]
        spring = end in ("fork", "shock")
        posture = getattr(self.advice.goal.case, end).posture if spring else "standing"
        names = (f"{end}_pressure", f"{end}_rate", f"{end}_tyre_pressure")
        setting = self.setting(*names)
        told = {"posture": posture, "each": list(each)}
        return {**advised, **made, **told, "setting": setting.name if setting else None}

    def _sag(self, item: Reading, past: _Past) -> SagReading:
        from cyclewright.advice.case import build
        from cyclewright.advice.readings import SagReading
        from cyclewright.knowledge.defaults import fill

        held = item.extra if "fork" in item.extra else _made(past.state(item.number))
        later = sum(change["number"] > item.number for change in self.state.changes)
        if later not in self._cases:
            filled = fill(past.sheets(item.number)) if later else self.filled
            another = filled.sheets.rider != self.filled.sheets.rider
            self._cases[later] = (build(filled, self.reference), another)
        each = tuple(item.extra.get("each") or (item.value,))
        return SagReading(ENDS[item.kind], each, _kept(held), *self._cases[later])


class _Past:
    """A bike as it was after an event, each looked up once.

    A rider who was erased since is not known in the past either: who it is set up for now takes
    that place, and what was read with the other teaches nothing.
    """

    def __init__(
        self, shop: Shop, events: tuple[Event, ...], now: Sheets, erased: frozenset[str]
    ) -> None:
        self._shop = shop
        self._events = events
        self._now = now
        self._erased = erased
        self._states: dict[int, BikeState] = {}

    def first_plan(self, state: BikeState) -> int:
        """The number of the first plan of this visit: the position the charts are pinned to."""
        start = state.visit_number
        planned = (e.number for e in self._events if e.kind == "planned" and e.number >= start)
        return next(planned, state.number)

    def state(self, number: int) -> BikeState:
        """What was known of the bike after that event."""
        from cyclewright.record.fold import fold

        if number not in self._states:
            self._states[number] = fold(event for event in self._events if event.number <= number)
        return self._states[number]

    def sheets(self, number: int) -> Sheets:
        """The sheets in force after that event."""
        state = self.state(number)
        if not self.nameless(number):
            return self._shop.sheets(state)
        left = self._shop.sheets(replace(state, rider=None))
        return replace(left, rider=self._now.rider, mass=self._now.mass)

    def nameless(self, number: int) -> bool:
        """Whether the rider of that time was erased since."""
        return self.state(number).rider in self._erased


def _made(state: BikeState) -> dict[str, float]:
    """Pressures [Pa gauge] and coil rates [N/m] as set on the bike, by end."""
    names = {
        "fork": ("fork_pressure", "fork_rate"),
        "shock": ("shock_pressure", "shock_rate"),
        "front": ("front_tyre_pressure",),
        "rear": ("rear_tyre_pressure",),
    }
    return {
        end: state.settings[name].value
        for end, settings in names.items()
        for name in settings
        if name in state.settings
    }


def _kept(held: Mapping[str, Any]) -> Kept:
    """What was set when a reading was taken."""
    from cyclewright.advice.case import Kept

    return Kept(held.get("fork"), held.get("shock"), held.get("front"), held.get("rear"))


def _usable(item: Reading, state: BikeState) -> bool:
    """A sag or drop of this visit that was not set aside as odd or undone."""
    return (
        item.kind in ENDS and item.number >= state.visit_number and item.number not in state.undone
    )
