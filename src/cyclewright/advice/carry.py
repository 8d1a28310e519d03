"""A fit carried over from the previous bike: the same three contacts, and what had to give.

Measured on both bikes unloaded and level: saddle to pedal and saddle to grip, each along and
above. The saddle comes by post and rails, the grip by spacers, then by a bar or a stem that is
sold. Where a limit stops either, what is missing is told with whose limit it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from cyclewright.advice import case as cases
from cyclewright.advice import fit, handles, limits
from cyclewright.advice.fit import Saddle
from cyclewright.advice.needed import given
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Limit, Setting
from cyclewright.solve import chassis
from cyclewright.solve.case import Array, Case, nominal

CLOSE = 0.003
"""A contact nearer than this is the same place: nobody sets it finer [m]."""
_PER_PART = 0.004
"""How much nearer the grip has to come for a part to be bought [m] (judgement)."""
_SOURCE = "both bikes' sheets, unloaded and level"


@dataclass(frozen=True, slots=True)
class Match:
    """One distance between two contacts [m]: along and above, as it was and as it comes out."""

    what: str
    was: tuple[float, float]
    got: tuple[float, float]

    @property
    def miss(self) -> tuple[float, float]:
        """Got less was, along and above."""
        return self.got[0] - self.was[0], self.got[1] - self.was[1]

    @property
    def close(self) -> bool:
        """Whether nobody would feel the difference."""
        return math.hypot(*self.miss) <= CLOSE


@dataclass(frozen=True, slots=True)
class Carried:
    """Where to set the new bike so that it is the old one's place, and what had to give."""

    settings: tuple[Setting, ...]
    matches: tuple[Match, ...]
    gave: tuple[str, ...]
    parts: tuple[str, ...]
    """Parts to change, in words; empty where the mounted ones do."""
    changes: tuple[str, ...]
    """The same as FIELD=VALUE, to be tried on the sheets."""


@dataclass(frozen=True, slots=True)
class _Place:
    """A bike's contacts from its bottom bracket [m], along and above."""

    saddle: Array
    grip: Array
    foot: float
    """Sole at the bottom of the stroke, above; negative."""


@dataclass(frozen=True, slots=True)
class _Cockpit:
    """One choice of bar, stem and spacers [m], and how far its grip stays off the wish."""

    stem: float
    rise: float
    spacers: float
    grip: Array
    bought: tuple[str, ...]

    def off(self, wish: Array) -> float:
        return float(np.hypot(*(self.grip - wish)))


def carry_over(previous: Filled, filled: Filled) -> Carried:
    """The previous bike's contacts on this bike, as near as its limits allow."""
    old = _placed(_case(previous, _ridden(previous)))
    saddle = fit.saddle(filled)
    wish = old.saddle + np.array([0.0, _foot(filled) - old.foot])
    case, height, setback, held = _seat(filled, saddle, wish)
    now = _placed(case)
    chosen = _cockpit(filled, case, wish + old.grip - old.saddle)
    now = replace(now, grip=chosen.grip)
    matches = (
        Match("saddle to pedal", _span(old.saddle, old.foot), _span(now.saddle, now.foot)),
        Match("saddle to grip", _pair(old.grip - old.saddle), _pair(now.grip - now.saddle)),
    )
    return Carried(
        _settings(height, setback, chosen, held),
        matches,
        (*held, *_missed(filled, matches, chosen)),
        chosen.bought,
        _changes(filled, setback, chosen),
    )


def _ridden(filled: Filled) -> float:
    """The saddle height that the rider was used to [m], else the one that suits."""
    ridden = filled.sheets.bike.saddle.ridden_height
    return fit.saddle(filled).held if ridden is None else ridden.value


def _case(filled: Filled, height: float) -> Case:
    return replace(nominal(cases.build(filled)), saddle_height=np.array([height]))


def _placed(case: Case) -> _Place:
    parts = chassis.frame(case)
    bb = parts.bottom_bracket[0]
    foot = float(case.foot_stack[0] - case.crank_length[0])
    return _Place(parts.saddle[0] - bb, parts.grip[0] - bb, foot)


def _foot(filled: Filled) -> float:
    bike, rider = filled.sheets.bike, filled.sheets.rider
    assert rider is not None
    stack = given(bike.pedal.stack).value + given(rider.shoe_stack).value
    return stack - given(bike.crank.length).value


def _seat(filled: Filled, saddle: Saddle, wish: Array) -> tuple[Case, float, float, list[str]]:
    """Post and rails for this saddle place: the case, height, setback, and what held them."""
    half = given(filled.sheets.bike.saddle.rail_length).value / 2
    bounds = () if saddle.facts is None else saddle.facts.limits()
    case, setback, held = _case(filled, saddle.held), 0.0, []
    height = saddle.held
    for _ in range(8):  # height and setback settle one another at once: the post is nearly upright
        at = _placed(replace(case, saddle_setback=np.zeros(1), saddle_height=np.array([height])))
        height += float(wish[1] - at.saddle[1]) / math.sin(float(case.seat_angle_actual[0]))
        inside, _ = limits.held(height, bounds)
        height = height if inside is None else inside
        at = _placed(replace(case, saddle_setback=np.zeros(1), saddle_height=np.array([height])))
        setback = min(max(float(at.saddle[0] - wish[0]), -half), half)
    wanted = float(at.saddle[0] - wish[0])
    if abs(wanted - setback) > CLOSE:
        way = "back" if wanted > 0 else "forward"
        held.append(
            f"the rails' marks let the saddle {_mm(half)} {way}, {_mm(abs(wanted))} are wanted"
        )
    short = float(wish[1] - at.saddle[1])
    if abs(short) > CLOSE:
        side = "min" if short < 0 else "max"
        owner = next((x.owner for x in _tightest(bounds, side)), "the post")
        held.append(
            f"{owner} keeps the saddle {_mm(abs(short))} too {'high' if short < 0 else 'low'}"
        )
    placed = replace(case, saddle_height=np.array([height]), saddle_setback=np.array([setback]))
    return placed, height, setback, held


def _tightest(bounds: tuple[Limit, ...], kind: str) -> list[Limit]:
    sign = -1.0 if kind == "min" else 1.0
    return sorted((x for x in bounds if x.kind == kind), key=lambda x: sign * x.value)


def _cockpit(filled: Filled, case: Case, wish: Array) -> _Cockpit:
    """The choice nearest to the wished grip, a part only where it brings it clearly nearer."""
    return min(
        _choices(filled, case, wish),
        key=lambda one: (one.off(wish) + _PER_PART * len(one.bought), one.off(wish)),
    )


def _choices(filled: Filled, case: Case, wish: Array) -> Iterator[_Cockpit]:
    """Every bar and stem that is sold, each with the spacers that bring the grip nearest."""
    bike = filled.sheets.bike
    low, high, _, _ = handles.steerer_bounds(bike)
    stem, rise = float(case.stem_length[0]), float(case.bar_rise[0])
    axis = chassis.frame(case).axis[0]
    stems = sorted({stem, *handles.STEM_LENGTHS})
    rises = sorted({rise, *handles.BAR_RISES})
    for length, up in product(stems, rises):
        one = replace(case, stem_length=np.array([length]), bar_rise=np.array([up]))
        bare = _placed(replace(one, spacers_under=np.zeros(1))).grip
        wanted = float(np.dot(wish - bare, axis))
        spacers = min(max(round(wanted / 0.0025) * 0.0025, low), max(high, low))
        bought = []
        if abs(length - stem) > 1e-9:
            bought.append(f"stem {_mm(length)} instead of {_mm(stem)}")
        if abs(up - rise) > 1e-9:
            bought.append(f"bar of {_mm(up)} rise instead of {_mm(rise)}")
        yield _Cockpit(length, up, spacers, bare + spacers * axis, tuple(bought))


def _missed(filled: Filled, matches: tuple[Match, ...], chosen: _Cockpit) -> Iterator[str]:
    """What the grip had to give, and to whose limit."""
    match = matches[1]
    if match.close:
        return
    along, above = match.miss
    low, high, low_owner, high_owner = handles.steerer_bounds(filled.sheets.bike)
    whose = ""
    if above < 0 and chosen.spacers >= high - 1e-6:
        whose = f" ({high_owner})"
    elif above > 0 and chosen.spacers <= low + 1e-6:
        whose = f" ({low_owner})"
    if abs(above) > CLOSE:
        yield f"the grip stands {_mm(abs(above))} too {'high' if above > 0 else 'low'}{whose}"
    if abs(along) > CLOSE:
        yield f"the grip is {_mm(abs(along))} too {'far' if along > 0 else 'near'}"


def _settings(
    height: float, setback: float, chosen: _Cockpit, held: list[str]
) -> tuple[Setting, ...]:
    because = "; ".join(("the previous bike's place", *held))

    def one(name: str, label: str, value: float) -> Setting:
        return Setting(
            name, value, "m", None, None, "rider", _SOURCE, because, "mm", 1.0, label
        )  # fmt: skip

    return (
        one("saddle_height", "Saddle height", height),
        one("saddle_setback", "Saddle behind the middle of its rails", setback),
        one("spacers_under", "Spacers under the stem", chosen.spacers),
        one("stem_length", "Stem", chosen.stem),
        one("bar_rise", "Bar rise", chosen.rise),
    )


def _changes(filled: Filled, setback: float, chosen: _Cockpit) -> tuple[str, ...]:
    cockpit = filled.sheets.bike.cockpit
    under, over = given(cockpit.spacers_under).value, given(cockpit.spacers_over).value
    wanted = (
        ("bike.saddle.setback", 0.0, setback),
        ("bike.cockpit.spacers_under", under, chosen.spacers),
        ("bike.cockpit.spacers_over", over, max(over + under - chosen.spacers, 0.0)),
        ("bike.cockpit.stem_length", given(cockpit.stem_length).value, chosen.stem),
        ("bike.cockpit.bar_rise", given(cockpit.bar_rise).value, chosen.rise),
    )
    return tuple(
        f"{field}={value * 1000:.1f} mm" for field, was, value in wanted if abs(value - was) > 2e-4
    )


def _span(saddle: Array, foot: float) -> tuple[float, float]:
    """Pedal's sole at the bottom of the stroke to the saddle: along and above."""
    return float(saddle[0]), float(saddle[1] - foot)


def _pair(vector: Array) -> tuple[float, float]:
    return float(vector[0]), float(vector[1])


def _mm(length: float) -> str:
    return f"{length * 1000:.0f} mm"
