"""What readings teach: the draws of spring, tyre, posture and rider moved to agree with them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from cyclewright.advice import tyres
from cyclewright.advice.advise import Advice
from cyclewright.advice.case import Kept, set_to
from cyclewright.knowledge.uncertainty import sigma as known_sigma
from cyclewright.measure import sag
from cyclewright.solve.case import Array, Case, Spring, nominal
from cyclewright.solve.coupled import solve
from cyclewright.solve.solution import Solution

Name = Literal["fork", "shock", "front", "rear"]
"""A suspension end by its ring, or a tyre by how far it lets its axle down."""

ODD = 2.5
"""Standard deviations from what was expected at which something else is wrong."""


@dataclass(frozen=True, slots=True)
class SagReading:
    """A ring or eye-to-eye reading, or a tyre's drop [m], and what was set when it was taken."""

    name: Name
    each: tuple[float, ...]
    """The sit-downs, one or more; their mean counts."""
    kept: Kept
    case: Case
    """The bike and rider as they were when it was taken."""
    another: bool = False
    """Whether somebody else sat on it: it teaches of springs, and of no body."""

    @property
    def value(self) -> float:
        """The mean of the sit-downs."""
        return math.fsum(self.each) / len(self.each)


class Learner:
    """Moves a case's draws to agree with the readings, in order.

    What they teach depends on the draws of what is uncertain and on nothing else, so that a bike
    with another bar on it, but the same springs and rider, is not asked again.
    """

    def __init__(self, readings: Sequence[SagReading]) -> None:
        self._readings = tuple(readings)
        self._taught: dict[bytes, _Taught] = {}

    def __call__(self, case: Case) -> Case:
        """The case as the readings leave it; itself where they teach nothing."""
        after = self._asked(case).after
        return case if after is None else _with(case, after)

    def odd(self, case: Case) -> tuple[bool, ...]:
        """Which readings were too odd to be believed, by this case before them."""
        return self._asked(case).odd

    def _asked(self, case: Case) -> _Taught:
        key = _uncertain(case).tobytes()
        taught = self._taught.get(key)
        if taught is None:
            moved, odd = learned(case, self._readings)
            taught = _Taught(None if moved is case else _uncertain(moved), odd)
            while len(self._taught) >= MOST_TAUGHT:
                self._taught.pop(next(iter(self._taught)), None)
            self._taught[key] = taught
        return taught


@dataclass(frozen=True, slots=True)
class _Taught:
    """What is uncertain after the readings, None where they teach nothing, and which were odd."""

    after: Array | None
    odd: tuple[bool, ...]


MOST_TAUGHT = 4
"""Sets of draws whose lessons are kept."""


def learning(readings: Sequence[SagReading]) -> Learner:
    """What moves a case's draws to agree with these readings."""
    return Learner(readings)


@dataclass(frozen=True, slots=True)
class _View:
    """One view of the readings so far, which of them were bad among it, and how likely it is."""

    case: Case
    weight: float
    """Logarithm of how likely this view is, less that of the likeliest."""


MOST_VIEWS = 6
"""Views of the readings that are kept beside each other."""
LEAST_WEIGHT = math.log(0.02)
"""How likely a view is at least beside the likeliest to be kept."""


def learned(case: Case, readings: Sequence[SagReading]) -> tuple[Case, tuple[bool, ...]]:
    """The case after the readings, and which of them were too odd to be believed.

    Each reading may be a bad one, so views in which it is and is not go on beside each other, and
    later readings tell between them: a bad first turn is unlearned. An odd reading teaches nothing
    until the next one of its kind, taken after its three questions, says the same; what that
    contradicts is dropped then. How far sit-downs of one end fall apart tells how much a mean of
    them is worth.
    """
    doubted: dict[Name, float] = {}
    seen: dict[Name, list[tuple[Sequence[float], float]]] = {}
    views = [_View(case, 0.0)]
    odd = []
    for reading in readings:
        told = [_predicted(view.case, reading) for view in views]
        once = _once(views[0].case, reading, told[0])
        sat = seen.setdefault(reading.name, [])
        if reading.name not in TYRES:
            sat.append((reading.each, once))
        spread = once * sag.scatter(sat) / math.sqrt(len(reading.each))
        strange = abs(sag.surprise(told[0], reading.value, spread)) > ODD
        again = abs(doubted.get(reading.name, np.inf) - reading.value) <= 2.0 * spread
        odd.append(strange and not again)
        if odd[-1]:
            doubted[reading.name] = reading.value
        else:
            doubted.pop(reading.name, None)
            sure = strange or reading.name in TYRES
            views = _further(views, told, reading, spread, sure)
    return _blended(case, views), tuple(odd)


def _further(
    views: Sequence[_View],
    told: Sequence[Array],
    reading: SagReading,
    spread: float,
    sure: bool,
) -> list[_View]:
    """Every view after a reading, in which it is good or, unless it is sure, bad."""
    bad = math.hypot(spread, sag.BAD * reading.value)
    found = []
    for view, predicted in zip(views, told, strict=True):
        good = math.log1p(-sag.MAY_BE_BAD) + sag.likelihood(predicted, reading.value, spread)
        moved = _moved(view.case, reading, predicted, spread)
        found.append(_View(moved, view.weight + good))
        if not sure:
            wide = math.log(sag.MAY_BE_BAD) + sag.likelihood(predicted, reading.value, bad)
            found.append(_View(view.case, view.weight + wide))
    best = max(view.weight for view in found)
    kept = [replace(view, weight=view.weight - best) for view in found]
    kept = [view for view in kept if view.weight > LEAST_WEIGHT]
    return sorted(kept, key=lambda view: -view.weight)[:MOST_VIEWS]


def _blended(case: Case, views: Sequence[_View]) -> Case:
    """All that the views say of what is uncertain, each by how likely it is."""
    if len(views) == 1:
        return views[0].case
    shares = np.exp([view.weight for view in views])
    shares /= shares.sum()
    return _with(case, sag.blend([_uncertain(view.case) for view in views], shares.tolist()))


def expected(case: Case, reading: SagReading) -> float:
    """What the ring should have shown, nominally, by what `case` knows [m]."""
    return float(_predicted(case, reading)[0])


def enough(advice: Advice, case: Case, reading: SagReading, graduation: float) -> str:
    """Why to stop here, or "" to go on, from the case as the readings left it and what is next.

    Of a ring: a tyre's drop has no goal of its own. Nothing stops while the ring that was read
    last is outside, whatever the sums make of the others.
    """
    spring: Spring = getattr(case, reading.name)
    goal = float(spring.sag_target[0] * spring.travel[0])
    width = sag.TOLERANCE * float(spring.travel[0])
    if abs(reading.value - goal) > width + MARK / 2:
        return ""
    shows, would = _predicted(case, reading), compression(advice.outcome, reading.name)
    now, then = (sag.chance_inside(one, goal, width) for one in (shows, would))
    was, will = getattr(reading.kept, reading.name), getattr(advice.kept, reading.name)
    change = np.inf if was is None or will is None else will - was
    why = sag.enough(now, then, float(change), graduation)
    if not why and abs(float(would[0] - shows[0])) < MARK:
        return "the change is less than the ring can show"
    return why


def one_sit_down(case: Case, reading: SagReading) -> float:
    """Usual standard deviation of one sit-down of this reading [m]."""
    return _once(case, reading, _predicted(case, reading))


def compression(solution: Solution, name: Name) -> Array:
    """What the ring shows in the posture its maker reads it in, or a tyre's drop standing [m]."""
    if name == "front" or name == "rear":
        return tyres.axle_drop(solution, name)
    spring: Spring = getattr(solution.case, name)
    state = solution.at(spring.posture)
    return state.fork_compression if name == "fork" else state.shock_compression


def as_it_was(case: Case, reading: SagReading) -> Case:
    """The bike and what was set when it was read, by what `case` knows of springs and rider."""
    then = _with(reading.case, _uncertain(case))
    if reading.another:
        body = {name: getattr(reading.case, name) for name in _BODY}
        then = replace(then, segments=reading.case.segments, **body)
    return set_to(then, reading.kept)


def _predicted(case: Case, reading: SagReading) -> Array:
    """What the ring should have shown, by what `case` knows of springs and rider."""
    return compression(solve(as_it_was(case, reading)), reading.name)


def _uncertain(case: Case) -> Array:
    """Every uncertain input that moves the sag, shape (k, n); factors as their logarithm."""
    fork, shock, body = case.fork, case.shock, case.segments
    return np.stack(
        (
            np.log(case.front_tyre.stiffness_factor),
            np.log(case.rear_tyre.stiffness_factor),
            *(np.log(getattr(unit, name)) for unit in (fork, shock) for name in _FACTORS),
            np.log(case.leverage_factor),
            fork.friction,
            shock.friction,
            *(getattr(case, name) for name in _PLAIN),
            *(getattr(body, item.name) for item in fields(body)),
        )
    )


def _with(case: Case, parameters: Array) -> Case:
    """The case with the uncertain inputs in the order of `_uncertain`."""
    rows = iter(parameters)
    front, rear = (
        replace(tyre, stiffness_factor=np.exp(next(rows)))
        for tyre in (case.front_tyre, case.rear_tyre)
    )
    fork, shock = (
        replace(unit, **{name: np.exp(next(rows)) for name in _FACTORS})
        for unit in (case.fork, case.shock)
    )
    leverage = np.exp(next(rows))
    fork, shock = replace(fork, friction=next(rows)), replace(shock, friction=next(rows))
    plain: dict[str, Any] = {name: _bodily(next(rows), name, case) for name in _PLAIN}
    body = replace(
        case.segments,
        **{
            item.name: np.maximum(next(rows), LEAST * getattr(case.segments, item.name)[0])
            for item in fields(case.segments)
        },
    )
    return replace(
        case, front_tyre=front, rear_tyre=rear, fork=fork, shock=shock, leverage_factor=leverage,
        segments=body, **plain,
    )  # fmt: skip


def _bodily(values: Array, name: str, case: Case) -> Array:
    """Draws as a reading leaves them, cut where no rider, kit or bike is: masses are positive."""
    if not name.endswith("_mass"):
        return values
    least = 0.0 if name == "kit_mass" else LEAST * getattr(case, name)[0]
    kept: Array = np.maximum(values, least)
    return kept


LEAST = 0.2
"""Share of itself that a reading leaves of a mass or of a body's part at least (judgement)."""
TYRES: tuple[Name, Name] = ("front", "rear")
MARK = 0.001
"""A ring is read to a millimetre [m]."""
DROP = 0.0005
"""How far readings of one tyre's drop fall apart at least, with a person on top [m] (judgement)."""
_FACTORS = ("area", "air_length", "negative_length")
_BODY = ("hip_shift", "seated_shift", "rider_mass", "kit_mass")
_PLAIN = ("hip_shift", "seated_shift", "rider_mass", "kit_mass", "bike_mass")


def _once(case: Case, reading: SagReading, predicted: Array) -> float:
    """Usual standard deviation of one sit-down [m]: ring, how the rider sits, friction.

    All three fall elsewhere at each sit-down, so that several average them.
    """
    if reading.name in TYRES:
        return max(known_sigma("tyre.stiffness.measured").of(float(predicted[0])), DROP)
    ring = known_sigma(f"ring.{reading.name}").value
    step = known_sigma("posture.standing.repeat").value
    middle, then = nominal(case), replace(reading, case=nominal(reading.case))
    leaned = replace(
        middle, hip_shift=middle.hip_shift + step, seated_shift=middle.seated_shift + step
    )
    swing = float(_predicted(leaned, then)[0] - predicted[0])
    return float(np.linalg.norm((ring, swing, _settling(middle, then, float(predicted[0])))))


def _settling(middle: Case, reading: SagReading, predicted: float) -> float:
    """How much the sag moves with a share of the force that friction may hold [m]."""
    share = known_sigma("friction.settling").value
    unit: Spring = getattr(middle, reading.name)
    if unit.kind != "air":
        return share * predicted
    # A share more force on an air spring is the same as a share less area under it.
    eased = replace(unit, area=unit.area / (1.0 + share))
    stuck = replace(middle, fork=eased) if reading.name == "fork" else replace(middle, shock=eased)
    return float(_predicted(stuck, reading)[0]) - predicted


def _moved(case: Case, reading: SagReading, predicted: Array, spread: float) -> Case:
    """The case with its draws moved by one reading."""
    before = _uncertain(case)
    after = sag.observe(before, predicted, reading.value, spread)
    return _with(case, np.where(_touched(case, reading)[:, None], after, before))


def _touched(case: Case, reading: SagReading) -> NDArray[np.bool_]:
    """Which inputs bear on this reading at all: chance likeness between draws moves no other."""
    name = reading.name
    fork, shock = name == "fork", name == "shock"
    standing = name in TYRES or getattr(reading.case, name).posture == "standing"
    pressed = [name == "front", name == "rear"]
    ends = [fork] * len(_FACTORS) + [shock] * len(_FACTORS) + [shock, fork, shock]
    own = not reading.another
    plain = [standing and own, not standing and own, own, own, True]
    return np.array(pressed + ends + plain + [own] * len(fields(case.segments)))
