"""Base: settings solved together, what a change moves, and what a reading says to do next."""

from __future__ import annotations

import math
import threading
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from cyclewright import units
from cyclewright.errors import InputError, Problem, RangeError, input_error, range_error
from cyclewright.workshop.answers import AdviceAnswer, Change, ReadingAnswer

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
    from cyclewright.solve.solution import Solution
    from cyclewright.workshop.readings import By
    from cyclewright.workshop.shop import Shop

    _Trial = tuple[Advice, tuple[Moved, ...]]

READINGS: dict[str, tuple[str, str]] = {
    "fork-sag": ("length", "fork_sag"),
    "shock-sag": ("length", "shock_sag"),
    "fork-pressure": ("pressure", "fork_pressure"),
    "shock-pressure": ("pressure", "shock_pressure"),
    "front-tyre": ("pressure", "front_tyre_pressure"),
    "rear-tyre": ("pressure", "rear_tyre_pressure"),
    "front-drop": ("length", "front_tyre_pressure"),
    "rear-drop": ("length", "rear_tyre_pressure"),
}
"""Kinds of reading: their dimension and the setting they are read against. A drop is how much
lower the axle stands with the rider standing on the bike than without."""
ENDS: dict[str, Literal["fork", "shock", "front", "rear"]] = {
    "fork-sag": "fork",
    "shock-sag": "shock",
    "front-drop": "front",
    "rear-drop": "rear",
}
"""The readings that teach the sums, and of which end."""
MOST_SITS = 9
"""How many sit-downs one reading may average."""
MOST_TRIED = 8
"""How many trials of one bike are kept."""
MOST_KNOWN = 8
"""How many solutions of bikes on record are kept in a process."""
_LOCK = threading.Lock()
_RECENT: dict[tuple[str, int, tuple[str, ...]], _Known] = {}


Shares = tuple[float, float]
"""Shares of fork travel and of rear wheel travel that are used [1]."""


def advise(sheets: Sheets, changes: Sequence[str] = (), at: Sequence[Shares] = ()) -> AdviceAnswer:
    """Every setting of these sheets; with changes, also what each moved, kept and resolved.

    `at` asks for the geometry with these shares of each travel used, besides the usual rows.
    """
    from cyclewright.advice.advise import advise as advised
    from cyclewright.advice.advise import compare
    from cyclewright.knowledge.defaults import fill
    from cyclewright.sheets.sheets import change

    filled = fill(sheets)
    advice = advised(filled)
    if not changes:
        return _answer(advice, at=at)
    after, moved = compare(advice, fill(change(sheets, changes)), filled)
    return _answer(after, moved, at)


def shares(text: str) -> Shares:
    """Shares of both travels as they are typed: `30 %, 25 %`; one alone holds for both."""
    parts = [part.strip() for part in text.split(",")]
    if not 1 <= len(parts) <= 2:
        do = "give the fork's share and the rear's: '30 %, 25 %'"
        raise input_error("share", "at", do, value=text)
    problems: list[Problem] = []
    found: list[float] = []
    for part in parts:
        try:
            share = units.parse(part, "ratio", "at").value
        except InputError as error:
            problems.extend(error.problems)
            continue
        if not 0.0 <= share <= 1.0:
            do = "give a share of the travel"
            problems.append(Problem("share", "at", do, value=part, allowed="0 to 100 %"))
        found.append(share)
    if problems:
        raise RangeError(problems)
    return found[0], found[-1]


def solution(sheets: Sheets) -> Solution:
    """The bike and rider of these sheets, everything set as advised, as the drawing wants it."""
    from cyclewright.advice.advise import advise as advised
    from cyclewright.knowledge.defaults import fill

    return advised(fill(sheets)).outcome


def solutions(sheets: Sheets, changes: Sequence[str]) -> tuple[Solution, Solution]:
    """Before and after a change, solved again, for an overlay."""
    from cyclewright.advice.advise import advise as advised
    from cyclewright.advice.advise import compare
    from cyclewright.knowledge.defaults import fill
    from cyclewright.sheets.sheets import change

    filled = fill(sheets)
    before = advised(filled)
    after, _ = compare(before, fill(change(sheets, changes)), filled)
    return before.outcome, after.outcome


def advise_bike(
    shop: Shop, bike: int, changes: Sequence[str] = (), at: Sequence[Shares] = ()
) -> AdviceAnswer:
    """Settings of a bike on record, by its sheets in force and every reading so far."""
    known = _known(shop, bike)
    if not changes:
        return _answer(known.advice, at=at)
    return _answer(*known.tried(changes, None), at)


MADE: dict[str, tuple[str, str]] = {
    "fork_pressure": ("fork", "pressure"),
    "fork_rate": ("fork", "rate"),
    "shock_pressure": ("shock", "pressure"),
    "shock_rate": ("shock", "rate"),
    "front_tyre_pressure": ("front_tyre", "pressure"),
    "rear_tyre_pressure": ("rear_tyre", "pressure"),
    "saddle_height": ("saddle_height", "length"),
}
"""Settings that can be made by hand to see what follows: what they keep, and their dimension."""


def what_if(
    shop: Shop,
    bike: int,
    made: Mapping[str, str],
    changes: Sequence[str] = (),
    at: Sequence[Shares] = (),
) -> AdviceAnswer:
    """What follows when these settings are made by hand, kept and resolved; nothing is recorded.

    *kept* leaves all other settings as advised, *resolved* meets their goals again around these.
    """
    known = _known(shop, bike)
    return _answer(*known.tried(changes, _made_by_hand(known.advice, made)), at)


def _made_by_hand(advice: Advice, made: Mapping[str, str]) -> Kept:
    """Typed settings as what to keep; all that cannot be are told at once."""
    from cyclewright.advice.case import Kept

    there = {item.name: item for item in advice.settings}
    problems: list[Problem] = []
    kept: dict[str, float] = {}
    for name, text in made.items():
        if name not in MADE or name not in there:
            known = ", ".join(item for item in MADE if item in there)
            problems.append(Problem("no-such-setting", name, f"set one of: {known}"))
            continue
        part, dimension = MADE[name]
        try:
            value = units.parse(text, dimension, name).value
            _inside(there[name], value)
        except InputError as error:
            problems.extend(error.problems)
        else:
            kept[part] = value
    if problems:
        raise InputError(problems)
    return Kept(**kept)


def _inside(setting: Setting, value: float) -> None:
    """Refuse what a limit forbids or what cannot be at all."""
    bounds = setting.limits
    least = max((item.value for item in bounds if item.kind == "min"), default=0.0)
    most = min((item.value for item in bounds if item.kind == "max"), default=float("inf"))
    if value > 0.0 and least - 1e-9 <= value <= most * 1.001:
        return
    owner = next((item.owner for item in bounds if item.value in (least, most)), "what can be")
    shown = [units.show(end, setting.display, setting.graduation) for end in (least, most)
             if end != float("inf")]  # fmt: skip
    raise range_error(
        "outside-limits",
        setting.name,
        f"stay inside the limit of {owner}",
        value=units.show(value, setting.display, setting.graduation),
        allowed=" to ".join(shown) if len(shown) == 2 else f"at least {shown[0]}",
    )


def bike_solution(
    shop: Shop, bike: int, changes: Sequence[str] = (), made: Mapping[str, str] | None = None
) -> Solution:
    """A bike on record set as advised, after these changes and with these settings by hand."""
    known = _known(shop, bike)
    if not changes and not made:
        return known.advice.outcome
    by_hand = _made_by_hand(known.advice, made) if made else None
    return known.tried(changes, by_hand)[0].outcome


def reading(
    shop: Shop,
    bike: int,
    kind: str,
    text: str,
    by: By = None,
    *,
    uuid: str | None = None,
    seen: int | None = None,
    device_time: str | None = None,
) -> ReadingAnswer:
    """Record a reading and say what it means: the next setting, when to stop, what to suspect.

    Of several sit-downs, `27 mm, 28 mm, 26 mm`, the mean counts. A value that cannot be (longer
    than the travel, above the unit's limit) is refused and not recorded.
    """
    from cyclewright.workshop import level
    from cyclewright.workshop.readings import append_reading

    if kind in level.KINDS:
        return level.read(
            shop, bike, kind, text, by, uuid=uuid, seen=seen, device_time=device_time
        )  # fmt: skip
    if kind not in READINGS:
        do = f"use one of: {', '.join((*READINGS, *level.KINDS))}"
        raise input_error("reading-kind", "kind", do, value=kind)
    dimension, against = READINGS[kind]
    each = _each(text, dimension, kind)
    value = math.fsum(each) / len(each)
    known = _known(shop, bike)
    advice = known.advice
    setting = next((item for item in advice.settings if item.name == against), None)
    if setting is None:
        raise input_error(
            "no-such-part", "kind", "this bike has no such spring or tyre", value=kind
        )
    for one in each:
        _possible(advice, kind, one)
    extra = known.extra(kind, each) if dimension == "length" else {}
    unit = "m" if dimension == "length" else setting.unit
    numbers = append_reading(
        shop, bike, kind, value, unit, by, {**extra, "text": text}, complete=True,
        uuid=uuid, seen=seen, device_time=device_time,
    )  # fmt: skip
    if dimension == "pressure":
        return _pressure_answer(known, kind, value, setting, numbers)
    return _taught_answer(_known(shop, bike), kind, numbers)


def latest(shop: Shop, bike: int, kind: str) -> ReadingAnswer | None:
    """What the newest sag reading of this kind says, or None before the first."""
    known = _known(shop, bike)
    if not any(item.name == ENDS[kind] for item in known.readings):
        return None
    return _taught_answer(known, kind, ())


def _each(text: str, dimension: str, kind: str) -> tuple[float, ...]:
    """The values typed: several lengths are sit-downs to average, all that are wrong told."""
    parts = text.split(",") if dimension == "length" and isinstance(text, str) else [text]
    if len(parts) > MOST_SITS:
        do = f"average at most {MOST_SITS} sit-downs"
        raise input_error("too-many", kind, do, value=f"{len(parts)} of them")
    values: list[float] = []
    problems: list[Problem] = []
    for part in parts:
        try:
            values.append(units.parse(part, dimension, kind).value)
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    return tuple(values)


def _known(shop: Shop, bike: int) -> _Known:
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
        known = _Known(shop, state, sheets, events)
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


class _Known:
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
        self._cases: dict[int, Case] = {}
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
        setting = _named(self.advice, *names)
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
            self._cases[later] = build(filled, self.reference)
        each = tuple(item.extra.get("each") or (item.value,))
        return SagReading(ENDS[item.kind], each, _kept(held), self._cases[later])


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
        from cyclewright.record.state import fold

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


def _possible(advice: Advice, kind: str, value: float) -> None:
    """Refuse what cannot be read on this bike."""
    if kind.endswith("-drop"):
        _possible_drop(advice, kind, value)
        return
    if READINGS[kind][0] == "length":
        spring = getattr(advice.goal.case, ENDS[kind])
        travel = float(spring.travel[0])
        if not 0.0 <= value <= travel:
            whole = units.show(travel, "mm", 1)
            raise range_error(
                "longer-than-travel" if value > travel else "negative",
                kind,
                "read the ring again: it cannot have moved further than the unit's travel",
                value=units.show(value, "mm", 1),
                allowed=f"0 to {whole}",
            )
        return
    setting = next(item for item in advice.settings if item.name == READINGS[kind][1])
    ceilings = [limit for limit in setting.limits if limit.kind == "max"]
    least = min(ceilings, key=lambda limit: limit.value, default=None)
    if least is not None and value > least.value * 1.001:
        raise RangeError(
            range_error(
                "above-limit",
                kind,
                f"let air out now: {least.owner} allows less",
                value=units.show(value, "psi", setting.graduation),
                allowed=f"at most {units.show(least.value, 'psi', setting.graduation)}",
            ).problems
        )


def _possible_drop(advice: Advice, kind: str, value: float) -> None:
    """Refuse a drop of nothing, or of more than the section has above its rim."""
    tyre = getattr(advice.goal.case, f"{ENDS[kind]}_tyre")
    most = float(tyre.height[0])
    if not 0.0005 <= value <= most:
        raise range_error(
            "no-such-drop",
            kind,
            "measure the axle above the ground again, with the rider standing and without",
            value=units.show(value, "mm", 0.5),
            allowed=f"0.5 to {units.show(most, 'mm', 1)}",
        )


def _pressure_answer(
    known: _Known, kind: str, value: float, setting: Setting, numbers: tuple[int, ...]
) -> ReadingAnswer:
    shown = units.show(value, setting.display, setting.graduation)
    step = units.convert(1.0, setting.display)
    close = setting.value is not None and abs(value - setting.value) * step < setting.graduation
    said = (
        f"{shown}: as advised, leave it"
        if close
        else f"{shown} recorded; advised is {setting.show()}"
    )
    said += _before_the_hose(known, kind, value, setting)
    return ReadingAnswer(kind, value, setting.unit, said, close, setting, None, (), numbers)


def _before_the_hose(known: _Known, kind: str, value: float, setting: Setting) -> str:
    """What a spring held before this pump was screwed on, where that is worth a mark."""
    from cyclewright.advice import units_at_sag
    from cyclewright.solve.case import nominal

    if kind not in ("fork-pressure", "shock-pressure"):
        return ""
    case = nominal(known.advice.goal.case)
    spring = case.fork if kind == "fork-pressure" else case.shock
    held = units_at_sag.before_the_hose(spring, value, case.ambient)
    if held - value < 0.5 * _step(setting):
        return ""
    was = units.show(held, setting.display, 1.0)
    return f" (if just screwed on: its hose took some, it held about {was})"


def _taught_answer(known: _Known, kind: str, numbers: tuple[int, ...]) -> ReadingAnswer:
    """What the newest ring or drop of a kind says: the next setting, stop, or look elsewhere."""
    from cyclewright.advice import readings, suspects

    name = ENDS[kind]
    newest, odd = next(
        pair
        for pair in reversed(tuple(zip(known.readings, known.odd, strict=True)))
        if pair[0].name == name
    )
    after = known.advice
    if name in ("front", "rear"):
        return _drop_answer(known, kind, newest, odd, numbers)
    shown = units.show(newest.value, "mm", 1) + _sits(known, newest)
    if odd:
        expected = readings.expected(after.goal.case, newest)
        usual = units.show(expected, "mm", 1)
        what = "coil" if getattr(after.goal.case, name).kind == "coil" else "air"
        said = f"{shown} where about {usual} was expected: change no {what} yet, check these first"
        asked = suspects.findings(after.goal.case, newest)
        return ReadingAnswer(kind, newest.value, "m", said, False, None, None, asked, numbers)
    setting = _named(after, f"{name}_pressure", f"{name}_rate")
    ring = _named(after, f"{name}_sag")
    verdict = readings.verdict(after, after.goal.case, newest, _step(setting))
    coil = setting is not None and setting.name.endswith("_rate")
    same = getattr(newest.kept, name) == getattr(after.kept, name)
    if verdict.stop:
        why = "no coil that is sold comes nearer" if coil and same else verdict.why
        said = f"{shown}: stop here, {why}"
    elif setting is not None and ring is not None:
        what = f"fit a coil of {setting.show()}" if coil else f"set {setting.show()}"
        said = f"{shown}: {what} next and expect {ring.show()}; read again, then stop"
    else:
        said = f"{shown} recorded"
    return ReadingAnswer(kind, newest.value, "m", said, verdict.stop, setting, ring, (), numbers)


def _drop_answer(
    known: _Known, kind: str, newest: SagReading, odd: bool, numbers: tuple[int, ...]
) -> ReadingAnswer:
    """What a tyre's drop says of its stiffness, and the pressure that follows."""
    from cyclewright.advice import readings

    after = known.advice
    shown = units.show(newest.value, "mm", 0.5)
    setting = _named(after, f"{newest.name}_tyre_pressure")
    if odd:
        usual = units.show(readings.expected(after.goal.case, newest), "mm", 0.5)
        said = (
            f"{shown} where about {usual} was expected: not believed; read the gauge, stand on "
            "the bike off the saddle, measure at the axle and measure again"
        )
        return ReadingAnswer(kind, newest.value, "m", said, False, None, None, (), numbers)
    tyre = getattr(after.goal.case, f"{newest.name}_tyre")
    factor = float(tyre.stiffness_factor[0]) - 1.0
    words = "as stiff as taken"
    if abs(factor) >= 0.01:
        words = f"{abs(factor) * 100:.0f} % {'stiffer' if factor > 0 else 'softer'} than taken"
    was = getattr(newest.kept, f"{newest.name}_tyre")
    if setting is None or setting.value is None:
        said = f"{shown}: the tyre is {words}"
        return ReadingAnswer(kind, newest.value, "m", said, True, setting, None, (), numbers)
    if was is not None and abs(setting.value - was) < _step(setting) / 2:
        said = f"{shown}: the tyre is {words}; leave it at {setting.show()}"
        return ReadingAnswer(kind, newest.value, "m", said, True, setting, None, (), numbers)
    said = f"{shown}: the tyre is {words}; set {setting.show()}"
    return ReadingAnswer(kind, newest.value, "m", said, False, setting, None, (), numbers)


RANGE_95 = (0.0, 0.0, 2.77, 3.31, 3.63, 3.86, 4.03, 4.17, 4.29, 4.39)
"""Range that 95 % of so many normal values stay inside, in standard deviations (tables of the
studentised range with known deviation; from memory)."""


MARK = 0.001
"""A ring is read to a millimetre [m]."""


def _sits(known: _Known, newest: SagReading) -> str:
    """That several sit-downs were averaged, and whether they lie further apart than they should."""
    from cyclewright.advice import readings

    sits = len(newest.each)
    if sits < 2:
        return ""
    apart = max(newest.each) - min(newest.each)
    usual = RANGE_95[sits] * readings.one_sit_down(known.advice.goal.case, newest)
    most = math.ceil(usual / MARK) * MARK
    told = f", the mean of {sits} sit-downs"
    if apart < most + MARK / 2:
        return told
    far, allowed = units.show(apart, "mm", 1), units.show(most, "mm", 1)
    return f"{told} that lie {far} apart (more than {allowed} is not chance: sit alike each time)"


def _named(advice: Advice, *names: str) -> Setting | None:
    return next((item for item in advice.settings if item.name in names), None)


def _step(setting: Setting | None) -> float:
    """The tool's step in SI."""
    return 0.0 if setting is None else setting.graduation / units.convert(1.0, setting.display)


def _asked(both: Shares) -> str:
    fork, rear = (f"{share * 100:.0f} %" for share in both)
    return f"asked: fork {fork}, rear {rear}"


def _answer(
    advice: Advice, moved: Sequence[Moved] | None = None, at: Sequence[Shares] = ()
) -> AdviceAnswer:
    from cyclewright.advice import steady
    from cyclewright.advice.handling import at_travel, through_travel

    changes = None
    if moved is not None:
        changes = tuple(
            Change(
                one.setting.name,
                one.setting.label,
                one.setting.unit,
                one.setting.display,
                one.setting.graduation,
                one.before,
                one.kept,
                one.resolved,
            )
            for one in moved
        )
    return AdviceAnswer(
        advice.settings,
        advice.findings,
        advice.questions,
        changes,
        (
            *through_travel(advice.outcome),
            *(at_travel(advice.outcome, *both, _asked(both)) for both in at),
        ),
        steady.table(advice.outcome),
    )
