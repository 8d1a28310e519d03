"""Many people on one bike at once: who fits, by how much the methods differ, what limits them.

One vectorised call places every person, each as a nominal of its own without draws. What cannot
be is kept finite and named: the limit of the body's reach, or of the post.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cyclewright.advice import case as cases
from cyclewright.advice import charts, fit
from cyclewright.body import posture, segments
from cyclewright.body.posture import SaddleHeights
from cyclewright.body.segments import Segments
from cyclewright.errors import Problem, RangeError
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Limit
from cyclewright.sheets.bike import Fork, Shock
from cyclewright.solve import seat
from cyclewright.solve.case import TABLE, Array, Case, Spring, nominal
from cyclewright.solve.coupled import solve
from cyclewright.solve.solution import Solution

BoolArray = NDArray[np.bool_]
TextArray = NDArray[np.str_]


@dataclass(frozen=True, slots=True)
class People:
    """People by what the survey measured of each, every field an array of shape (n,)."""

    stature: Array
    """Without shoes [m]."""
    crotch_height: Array
    """By the survey's definition [m]."""
    mass: Array
    """Body [kg]."""
    male: BoolArray

    def __post_init__(self) -> None:
        if len({np.shape(item) for item in (self.stature, self.crotch_height, self.mass)}) > 1:
            raise RangeError(Problem("shapes", "people", "give every person each measure"))

    def rows(self, index: ArrayLike) -> People:
        """Some of them."""
        at = np.atleast_1d(np.asarray(index))
        return People(self.stature[at], self.crotch_height[at], self.mass[at], self.male[at])


@dataclass(frozen=True, slots=True)
class Crowd:
    """What becomes of every person on one bike; arrays (n,)."""

    heights: SaddleHeights
    """Saddle height by every method [m]."""
    recommended: Array
    """The saddle height that each wants [m]."""
    held: Array
    """The one that post and frame allow [m]."""
    holder: TextArray
    """Whose limit holds the saddle off the recommended height, "" for nobody's."""
    solution: Solution

    @property
    def limit(self) -> TextArray:
        """The limit that makes a fit impossible, "" where nothing does."""
        seated, standing = self.solution.seated.pose, self.solution.standing.pose
        found = [
            _prefixed("post: ", self.holder),
            _prefixed("seated: ", seated.limit),
            _prefixed("standing: ", standing.limit),
        ]
        limit: TextArray = np.select([part != "" for part in found], found, "")
        return limit

    @property
    def impossible(self) -> BoolArray:
        """Whom the bike does not fit as its sheet has it."""
        wrong: BoolArray = self.limit != ""
        return wrong


def crowd(filled: Filled, people: People) -> Crowd:
    """Everybody on this bike, settings solved for each; the rider on the sheets lends the kit.

    Raises NotConverged when the sums do not settle for somebody.
    """
    body = _bodies(people)
    stand_in = _for_each(nominal(cases.build(filled)), people.stature.size)
    inseam = segments.inseam_of(people.crotch_height)
    heights = posture.saddle_heights(
        body,
        inseam,
        stand_in.crank_length,
        stand_in.foot_stack,
        seat.line_angle(
            stand_in.stack,
            stand_in.seat_angle,
            stand_in.seat_angle_actual,
            posture.by_inseam(inseam),
        ),
        stand_in.saddle_setback,
    )
    saddle = fit.saddle(filled)
    wanted = posture.recommended(heights) - saddle.lower
    held, holder = _held(() if saddle.facts is None else saddle.facts.limits(), wanted)
    case = replace(
        stand_in,
        segments=body,
        sex=None,
        rider_mass=np.asarray(people.mass, np.float64),
        saddle_height=held,
    )
    return Crowd(heights, wanted, held, holder, solve(_sprung(filled, case)))


def _bodies(people: People) -> Segments:
    """Segments of everybody, each by the survey's group of their sex."""
    parts: dict[str, Array] = {}
    for sex, those in (("M", people.male), ("F", ~people.male)):
        if not those.any():
            continue
        body = segments.predict(
            people.stature[those], people.crotch_height[those], "M" if sex == "M" else "F"
        )
        for name in Segments.__dataclass_fields__:
            values = parts.setdefault(name, np.empty(people.stature.shape))
            values[those] = getattr(body, name)
    return Segments(**parts)


def _for_each(part: Any, count: int) -> Any:
    """The same nominal for every person: arrays of one element repeated, tables left whole."""
    changes: dict[str, Any] = {}
    for item in fields(part):
        if item.name in TABLE:
            continue
        value = getattr(part, item.name)
        if isinstance(value, np.ndarray) and value.shape == (1,):
            changes[item.name] = np.full(count, value[0])
        elif is_dataclass(value):
            changes[item.name] = _for_each(value, count)
    return replace(part, **changes)


def _held(bounds: Sequence[Limit], wanted: Array) -> tuple[Array, TextArray]:
    """The saddle heights inside the post's limits, and whose limit holds each."""
    held, holder = wanted.copy(), np.full(wanted.shape, "", dtype="<U40")
    for bound in sorted(bounds, key=lambda one: one.kind):
        past = held > bound.value if bound.kind == "max" else held < bound.value
        held = np.where(past, bound.value, held)
        holder = np.where(past, bound.owner, holder)
    return held, holder


def _sprung(filled: Filled, case: Case) -> Case:
    """Every person's springs pinned by the chart's own pressure for that person's mass."""
    goal = solve(case)
    bike, mass = filled.sheets.bike, case.rider_mass + case.kit_mass

    def one(spring: Spring, unit: Fork | Shock, pressure: Array) -> Spring:
        if spring.kind != "air":
            return spring
        ratio = float(case.leverage_mean[0])
        vouched = np.array([charts.anchor(unit, each, ratio).pressure for each in mass])
        area = spring.area * (pressure + case.ambient) / (vouched + case.ambient)
        return replace(spring, area=area)

    return replace(
        case,
        fork=one(case.fork, bike.fork, goal.fork_setting),
        shock=one(case.shock, bike.shock, goal.shock_setting),
    )


def _prefixed(head: str, words: TextArray) -> TextArray:
    return np.where(words == "", "", np.char.add(head, words.astype("<U60")))
