"""Thousands of forks and shocks with a hidden truth, set by our method and by the bench habit.

Each build draws its own force, area, chambers and gauge from the spreads of
`knowledge/uncertainty.toml`; each sit-down its own posture, friction and ring. The method knows
the spreads and never the truth. The habit lets out or adds 5 psi at a time from the chart until
one ring reading is inside the tolerance.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from cyclewright.advice.case import ROWS
from cyclewright.advice.spread import interval
from cyclewright.knowledge.uncertainty import sigma
from cyclewright.measure import sag
from cyclewright.mechanics.airpair import pair_pressure_for, pair_stroke_for
from cyclewright.solve.tables import deviates

PSI = 6894.757293168361
SITS = 3
HABIT = 5.0 * PSI
MOST_HABITS = 12


@dataclass(frozen=True)
class Unit:
    """A nominal fork or shock and the spreads around it."""

    travel: float
    target: float
    force: float
    area: float
    air: float
    negative: float
    ring: float
    rider: float
    """One standard deviation of the force between riders of one mass [1]."""
    repeat: float
    """The same between sit-downs of one rider."""
    graduation: float


UNITS = {
    # Standing: ±50 mm of hip is ±11 % of fork load, ±20 mm between readings ±4.4 %.
    "fork": Unit(0.150, 0.25, 420.0, 6.5e-4, 1.40, 0.25, 0.0015, 0.11, 0.044, PSI),
    # Seated: ±25 mm of mass centre and the rider's mass; ±20 mm between readings.
    "shock": Unit(0.055, 0.30, 1450.0, 1.05e-3, 1.35, 0.25, 0.0007, 0.05, 0.027, 5.0 * PSI),
}


@dataclass
class Belief:
    """What the method holds of one build: draws of its unknowns, and the sit-downs so far."""

    draws: np.ndarray
    seen: list[tuple[tuple[float, ...], float]] = field(default_factory=list)


@dataclass(frozen=True)
class Outcome:
    """What came of all builds, by number of corrections."""

    inside: tuple[float, ...]
    """Share within 2 % of travel at the chart's pressure, and after 1, 2, 3 corrections."""
    covered: tuple[float, ...]
    """Share of 90 % intervals of the right pressure that hold it, after 1, 2, 3 readings."""
    readings: float
    """Sit-downs a build."""
    air: float
    """Air moved a build [Pa]."""
    stopped: float
    why: dict[str, float]
    habit_inside: float
    habit_readings: float
    habit_air: float


def simulate(
    kind: Literal["fork", "shock"],
    builds: int,
    friction: float,
    *,
    seed: int = 5,
    leak: float = 0.0,
    posture: float = 1.0,
) -> Outcome:
    """Correct `builds` units three times each, from the chart.

    `friction` is the most that seals hold, as a share of the force; `leak` is the pressure lost
    between setting and reading and `posture` widens the spread between sit-downs, both of which
    the method is not told.
    """
    unit, rng = UNITS[kind], np.random.default_rng(seed)
    nominal = np.array([unit.force, unit.area, unit.air * unit.travel, unit.negative * unit.travel])
    spreads = np.array(
        [
            unit.rider,
            sigma("spring.area_chart").value,
            sigma("spring.chamber_guessed").value,
            sigma("spring.negative_volume").value,
        ]
    )
    truth = nominal[:, None] * np.exp(spreads[:, None] * rng.standard_normal((4, builds)))
    gauge = 1.0 + sigma("gauge.relative").value * rng.standard_normal(builds)
    gauge_zero = sigma("gauge.offset").value * rng.standard_normal(builds)
    goal, width = unit.target * unit.travel, sag.TOLERANCE * unit.travel
    start = float(pair_pressure_for(*nominal, goal))
    exact = (pair_pressure_for(*truth, goal) - gauge_zero) / gauge

    def rests(index: int, pressure: float, force: float | np.ndarray) -> np.ndarray:
        inside = pressure * gauge[index] + gauge_zero[index]
        return np.minimum(pair_stroke_for(force, *truth[1:, index], inside), unit.travel)

    def sits(index: int, pressure: float, times: int) -> tuple[float, ...]:
        swayed = 1.0 + posture * unit.repeat * rng.standard_normal(times)
        held = 1.0 + friction * rng.uniform(-1.0, 1.0, times)
        shown = rests(index, pressure * (1.0 - leak), truth[0, index] * swayed * held)
        return tuple((shown + unit.ring * rng.standard_normal(times)).tolist())

    def good(index: int, pressure: float) -> bool:
        return abs(float(rests(index, pressure, truth[0, index])) - goal) <= width

    inside, covered = np.zeros(4), np.zeros(3)
    readings = air = stopped = 0.0
    why: dict[str, float] = {}
    habit = np.zeros(3)
    prior = np.log(nominal)[:, None] + _draws(spreads)
    for index in range(builds):
        belief, pressure, done = Belief(prior), start, False
        inside[0] += good(index, pressure)
        low, high = -np.inf, np.inf
        for turn in range(3):
            if not done:
                each = sits(index, pressure, SITS)
                readings += SITS
                low, high, after, said = _learn(unit, belief, pressure, each)
                done = bool(said)
                if said:
                    why[said] = why.get(said, 0.0) + 1.0
                else:
                    air += abs(after - pressure)
                    pressure = after
            covered[turn] += low <= exact[index] <= high
            inside[turn + 1] += good(index, pressure)
        stopped += done
        habit += _habit(
            lambda p, i=index: sits(i, p, 1)[0], lambda p, i=index: good(i, p), start, goal, width
        )
    return Outcome(
        tuple(inside / builds),
        tuple(covered / builds),
        readings / builds,
        air / builds,
        stopped / builds,
        {word: count / builds for word, count in why.items()},
        *(habit / builds),
    )


def _draws(spreads: np.ndarray) -> np.ndarray:
    """The method's own draws: posture, area with the gauge in it, chamber, negative chamber."""
    rows = [ROWS[name] for name in ("posture.standing", "fork.area", "fork.chamber")]
    rows.append(ROWS["spring.negative"])
    told = spreads.copy()
    told[1] = np.hypot(told[1], sigma("gauge.relative").value)
    return told[:, None] * deviates()[rows]


def _learn(
    unit: Unit, belief: Belief, pressure: float, each: tuple[float, ...]
) -> tuple[float, float, float, str]:
    """Interval of the right pressure, the next pressure and why to stop; the belief moves."""
    goal, width = unit.target * unit.travel, sag.TOLERANCE * unit.travel
    draws = belief.draws
    predicted = pair_stroke_for(*np.exp(draws), pressure)
    lean, stick = (
        float(pair_stroke_for(np.exp(draws[0, 0]) * (1.0 + share), *np.exp(draws[1:, 0]), pressure))
        - float(predicted[0])
        for share in (unit.repeat, sigma("friction.settling").value)
    )
    once = float(np.linalg.norm((unit.ring, lean, stick)))
    belief.seen.append((each, once))
    spread = once * sag.scatter(belief.seen) / np.sqrt(len(each))
    belief.draws = draws = sag.observe(draws, predicted, float(np.mean(each)), spread)
    goals = pair_pressure_for(*np.exp(draws), goal)
    after = float(np.round(goals[0] / unit.graduation) * unit.graduation)
    chances = [
        sag.chance_inside(pair_stroke_for(*np.exp(draws), at), goal, width)
        for at in (pressure, after)
    ]
    return *interval(goals), after, sag.enough(*chances, after - pressure, unit.graduation)


def _habit(sits, good, start: float, goal: float, width: float) -> np.ndarray:
    """Five psi at a time until one reading is inside: good at the end, readings, air moved."""
    pressure, moved, count = start, 0.0, 0
    while count < MOST_HABITS:
        count += 1
        shown = sits(pressure)
        if abs(shown - goal) <= width:
            break
        pressure += HABIT * np.sign(shown - goal)
        moved += HABIT
    return np.array([good(pressure), count, moved])
