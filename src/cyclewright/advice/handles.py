"""What each handle of the cockpit does, within the steerer's and the maker's limits.

Every row is one change by one step, pressures as they were set and the saddle where it suits the
rider then: where hands and trunk go, what the wheels carry, what the rings show and how the bike
steers. Differences are of nominal values, so that each row solves one bike without its draws.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from cyclewright.advice import case as cases
from cyclewright.advice.advise import Advice
from cyclewright.advice.needed import given
from cyclewright.knowledge.defaults import Filled, fill
from cyclewright.sheets.bike import Bike
from cyclewright.sheets.sheets import Sheets, change
from cyclewright.solve.case import Posture, Spring, nominal
from cyclewright.solve.coupled import solve
from cyclewright.solve.solution import Solution

ROLL_RANGE = math.radians(10.0)
"""How far a bar may be rolled from its mark before its sweep points wrongly (judgement)."""
STEM_LENGTHS = (0.031, 0.035, 0.040, 0.045, 0.050, 0.060, 0.070, 0.080, 0.090, 0.100)
"""Stems that are sold for these bikes [m] (common practice, no source)."""
BAR_RISES = (0.0, 0.005, 0.010, 0.015, 0.020, 0.025, 0.030, 0.035, 0.040, 0.050)
"""Bar rises that are sold [m] (common practice, no source)."""
_LEAST = 0.0005


@dataclass(frozen=True, slots=True)
class Handle:
    """One thing to turn: where it stands, and between what it may stand, in SI."""

    name: str
    label: str
    field: str
    now: float
    low: float
    high: float
    step: float
    """What one row of the table moves it by; shortened where a limit is nearer, 0 for none."""
    unit: str
    """The unit it is written in."""
    scale: float
    """SI for one of these units."""
    stop: str = ""
    """Whose limit shortened the step or left none."""
    also: tuple[tuple[str, float], ...] = ()
    """Fields that move with it, and where they then stand."""

    def changes(self) -> tuple[str, ...]:
        """The step as FIELD=VALUE."""
        moved = ((self.field, self.now + self.step), *self.also)
        return tuple(f"{field}={value / self.scale:.2f} {self.unit}" for field, value in moved)

    def words(self) -> str:
        """The step in words."""
        return f"{self.step / self.scale:+.3g} {self.unit}" if self.step else "no room"


@dataclass(frozen=True, slots=True)
class Effect:
    """What one handle's step moves, each as a difference in SI; None where there is no such end."""

    handle: Handle
    reach: float
    """Saddle to grip along the ground."""
    height: float
    """Grip over the saddle."""
    trunk: float
    """Trunk from level, upright positive."""
    hip: float
    """Smallest angle between trunk and thigh, open positive."""
    front_seated: float
    """Share of the weight on the front wheel."""
    front_standing: float
    fork_sag: float | None
    """Along the fork, pressures as they were."""
    shock_sag: float | None
    trail: float
    """Trail at sag, pressures as they were."""


def handles(sheets: Sheets) -> tuple[Handle, ...]:
    """Every handle of filled sheets with one step that its limits allow."""
    bike = sheets.bike
    return (
        _spacers(bike),
        *_parts(bike),
        _handle("bar_roll", "Bar roll, forward positive", bike.cockpit.bar_roll, 5.0, "deg",
                -ROLL_RANGE, ROLL_RANGE, "a usual bar's sweep"),
        _handle("bar_width", "Bar width", bike.cockpit.bar_width, -20.0, "mm",
                0.66, given(bike.cockpit.bar_width).value, "the bar as it is cut"),
        _saddle(bike),
        _crank(bike),
    )  # fmt: skip


def effects(before: Advice, filled: Filled, sheets: Sheets) -> tuple[Effect, ...]:
    """The table: what every handle's step moves."""
    return tuple(
        _effect(before, filled, sheets, handle)
        for handle in handles(filled.sheets)
        if abs(handle.step) > _LEAST
    )


def _effect(before: Advice, filled: Filled, sheets: Sheets, handle: Handle) -> Effect:
    changed = fill(change(sheets, list(handle.changes())))
    case = nominal(cases.build(changed, filled))
    was, now = before.outcome, solve(cases.set_to(case, before.kept))
    return Effect(
        handle,
        reach=_reach(now)[0] - _reach(was)[0],
        height=_reach(now)[1] - _reach(was)[1],
        trunk=_angle(now, "trunk") - _angle(was, "trunk"),
        hip=_angle(now, "hip") - _angle(was, "hip"),
        front_seated=_share(now, "seated") - _share(was, "seated"),
        front_standing=_share(now, "standing") - _share(was, "standing"),
        fork_sag=_sag(was, now, "fork"),
        shock_sag=_sag(was, now, "shock"),
        trail=float(now.standing.geometry.trail[0] - was.standing.geometry.trail[0]),
    )


def _sag(was: Solution, now: Solution, name: str) -> float | None:
    """By how much the ring moves, in the posture in which it is read."""
    spring: Spring = getattr(now.case, name)
    if spring.kind == "rigid":
        return None
    before, after = (getattr(one.at(spring.posture), f"{name}_compression") for one in (was, now))
    return float(after[0] - before[0])


def _reach(solution: Solution) -> tuple[float, float]:
    """Saddle to grip, along and over, on the unloaded bike [m]."""
    span = solution.unloaded.grip[0] - solution.unloaded.saddle[0]
    return float(span[0]), float(span[1])


def _angle(solution: Solution, name: str) -> float:
    return float(solution.seated.pose.angles[name][0])


def _share(solution: Solution, posture: Posture) -> float:
    state = solution.at(posture)
    return float(state.front_load[0] / (state.front_load[0] + state.rear_load[0]))


def steerer_bounds(bike: Bike) -> tuple[float, float, str, str]:
    """Least and most spacers under the stem [m], and whose limit each is."""
    cockpit = bike.cockpit
    over = 0.0 if cockpit.spacers_over is None else cockpit.spacers_over.value
    most = [(given(cockpit.spacers_under).value + over, "the steerer as it is cut")]
    for limit, owner in (
        (bike.frame.steerer_stack_max, "the frame's maker"),
        (bike.fork.steerer_stack_max, "the fork's maker"),
    ):
        if limit is not None:
            most.append((limit.value, owner))
    least = bike.fork.steerer_stack_min
    high, high_owner = min(most)
    if least is None:
        return 0.0, high, "the head tube", high_owner
    return least.value, high, "the fork's maker", high_owner


def _spacers(bike: Bike) -> Handle:
    """Spacers change places over and under the stem; no steerer is cut for it."""
    now = given(bike.cockpit.spacers_under).value
    over = 0.0 if bike.cockpit.spacers_over is None else bike.cockpit.spacers_over.value
    low, high, low_owner, high_owner = steerer_bounds(bike)
    up, down = high - now, now - low
    step = min(0.010, up) if up >= min(0.005, down) else -min(0.010, down)
    turned = step < 0.0
    stop = high_owner if turned or step < 0.010 else ""
    if turned and step > -0.010:
        stop = low_owner
    return Handle(
        "spacers_under",
        "Spacers under the stem",
        "bike.cockpit.spacers_under",
        now,
        low,
        high,
        step,
        "mm",
        1e-3,
        stop,
        (("bike.cockpit.spacers_over", max(over - step, 0.0)),),
    )


def _parts(bike: Bike) -> Iterator[Handle]:
    """Parts that are sold longer or shorter."""
    cockpit = bike.cockpit
    yield _handle("stem_length", "Stem length", cockpit.stem_length, 10.0, "mm",
                  STEM_LENGTHS[0], STEM_LENGTHS[-1], "stems that are sold")  # fmt: skip
    yield _handle("stem_angle", "Stem angle, rising positive", cockpit.stem_angle, 6.0, "deg",
                  math.radians(-20.0), math.radians(35.0), "stems that are sold")  # fmt: skip
    yield _handle("bar_rise", "Bar rise", cockpit.bar_rise, 10.0, "mm",
                  BAR_RISES[0], BAR_RISES[-1], "bars that are sold")  # fmt: skip


def _saddle(bike: Bike) -> Handle:
    half = given(bike.saddle.rail_length).value / 2
    return _handle("saddle_setback", "Saddle back in its rails", bike.saddle.setback, 10.0, "mm",
                   -half, half, "the rails' marks", "saddle.setback")  # fmt: skip


def _crank(bike: Bike) -> Handle:
    return _handle("crank_length", "Crank length", bike.crank.length, -5.0, "mm",
                   0.155, 0.180, "cranks that are sold", "crank.length")  # fmt: skip


def _handle(
    name: str,
    label: str,
    quantity: object,
    step: float,
    unit: str,
    low: float,
    high: float,
    owner: str,
    path: str = "",
) -> Handle:
    """A handle stepped by `step` units, the other way round or shorter where a limit is near."""
    scale = math.radians(1.0) if unit == "deg" else 1e-3
    now = float(getattr(quantity, "value", 0.0))
    wanted = step * scale
    room = high - now if wanted > 0 else now - low
    other = now - low if wanted > 0 else high - now
    sign = math.copysign(1.0, wanted)
    if room >= 0.5 * abs(wanted):
        taken = sign * min(abs(wanted), room)
    else:
        taken = -sign * min(abs(wanted), max(other, 0.0))
    stop = owner if abs(taken) < abs(wanted) - 1e-9 or taken * wanted < 0 else ""
    field = f"bike.{path}" if path else f"bike.cockpit.{name}"
    return Handle(name, label, field, now, low, high, taken, unit, scale, stop)
