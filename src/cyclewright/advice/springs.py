"""Fork and shock: the pressure to set or the coil to buy, and the sag to expect from it."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import Literal

import numpy as np

from cyclewright.advice import charts, limits, units_at_sag
from cyclewright.advice.case import ROWS, riding_mass, with_spacers
from cyclewright.advice.needed import given
from cyclewright.advice.spread import interval, setting
from cyclewright.errors import InputError
from cyclewright.knowledge.defaults import Filled
from cyclewright.knowledge.uncertainty import sigma as known_sigma
from cyclewright.setting import Basis, Finding, Limit, Question, Setting
from cyclewright.solve import coupled
from cyclewright.solve.case import Array, Spring, nominal
from cyclewright.solve.coupled import wheel_travel
from cyclewright.solve.solution import Solution
from cyclewright.solve.tables import deviates
from cyclewright.units import show, show_interval

Name = Literal["fork", "shock"]
NAMES: tuple[Name, Name] = ("fork", "shock")
PUMP_CAUTION = "High pressure: use a suspension pump only, and never open a charged chamber."
GRADUATION = {"fork": 1.0, "shock": 5.0}
SAME_FIGURE = 1e-6
"""How far a pressure may be from a vouched figure, relative, and still be that figure."""
PRELOAD_LIMITS = (0.0005, 0.002)
"""Between which a coil's preload holds it [m]: half a turn to two (common practice, no source)."""
RATE_STEP = 25 * 175.12683524647637
"""Step between coils that are sold where the sheet lists none [N/m] (common practice)."""


AIR_CURE = "a spring whose chart reaches this rider, or its maker's firmer kit,"
COIL_CURE = "a coil outside the list"


def settings(
    filled: Filled, solution: Solution, learned: Collection[Name] = ()
) -> tuple[Setting, ...]:
    """The pressure of each air spring, the rate of each coil; nothing for a rigid end.

    `learned` names the springs whose own rings, read on this bike, have moved the sums.
    """
    found = [
        _one(filled, solution, name, name in learned) for name in NAMES if _sprung(solution, name)
    ]
    return (*found, *_preload(solution))


def outcomes(filled: Filled, outcome: Solution) -> tuple[Setting, ...]:
    """The sag to expect at what was set, on each ring and at the rear wheel."""
    found = []
    if _sprung(outcome, "fork"):
        found.append(_sag(filled, outcome, "fork"))
    if _sprung(outcome, "shock"):
        found += [_sag(filled, outcome, "shock"), _wheel_sag(outcome)]
    found += [_reserve(filled, outcome, name) for name in NAMES if _sprung(outcome, name)]
    return tuple(found)


def findings(filled: Filled, solution: Solution) -> tuple[Finding, ...]:
    """Springs that cannot reach their goal inside their limit, and charts that end too soon."""
    found = []
    for name in NAMES:
        spring: Spring = getattr(solution.case, name)
        if spring.kind == "air":
            found += _air_findings(filled, solution, name)
        elif spring.kind == "coil":
            found += _coil_findings(filled, solution, name)
    return tuple(found)


def questions(filled: Filled, solution: Solution) -> tuple[Question, ...]:
    """Coil rates that nobody may guess."""
    if solution.case.shock.kind == "coil" and not filled.sheets.bike.shock.rates:
        return (
            Question(
                "bike.shock.rates",
                "Which coil rates are sold for this shock?",
                "Sag is set by choosing among rates that exist; preload only holds the coil.",
            ),
        )
    return ()


def chosen(filled: Filled, solution: Solution, name: Name) -> float | None:
    """What is set [Pa gauge or N/m]: the goal held inside its limit, or the nearest coil."""
    spring: Spring = getattr(solution.case, name)
    if spring.kind == "rigid":
        return None
    goal = float(_goal(solution, name)[0])
    if spring.kind == "coil":
        return _nearest_rate(filled, name, goal)
    vouched = _vouched(filled, solution, name).pressure
    wanted = vouched if abs(goal / vouched - 1.0) < SAME_FIGURE else goal
    inside, _ = limits.held(wanted, _limits(filled, name))
    return inside


def _vouched(filled: Filled, solution: Solution, name: Name) -> charts.Anchor:
    """The figure that a maker or the trade vouches for, for this rider."""
    unit, leverage = getattr(filled.sheets.bike, name), float(solution.case.leverage_mean[0])
    return charts.anchor(unit, riding_mass(filled), leverage)


def _sprung(solution: Solution, name: Name) -> bool:
    spring: Spring = getattr(solution.case, name)
    return spring.kind != "rigid"


def _goal(solution: Solution, name: Name) -> Array:
    goal: Array = getattr(solution, f"{name}_setting")
    return goal


def _limits(filled: Filled, name: Name) -> tuple[Limit, ...]:
    unit = getattr(filled.sheets.bike, name)
    most = None if unit.pressure_max is None else unit.pressure_max.value
    return limits.spring_limits(f"the {name}'s maker", most)


def _one(filled: Filled, solution: Solution, name: Name, learned: bool) -> Setting:
    spring: Spring = getattr(solution.case, name)
    if spring.kind == "coil":
        return _rate(filled, solution, name, learned)
    vouched = _vouched(filled, solution, name)
    goal = float(_goal(solution, name)[0])
    basis, moved = _moved(filled, vouched, goal, learned)
    fitted = chosen(filled, solution, name)
    _, marked = limits.held(goal, _limits(filled, name))
    return setting(
        f"{name}_pressure",
        f"{name.capitalize()} pressure",
        _read_on_gauge(_goal(solution, name)),
        "Pa",
        "psi",
        GRADUATION[name],
        basis=basis,
        source=vouched.source,
        because=f"{_target_words(filled, name)}; {vouched.words}{moved}",
        value=fitted,
        limits=marked,
        cautions=(PUMP_CAUTION, _hose(solution, name)),
        wanted=goal if any(limit.binds for limit in marked) else None,
        cure=AIR_CURE,
    )


def _hose(solution: Solution, name: Name) -> str:
    """What connecting a pump costs at this pressure."""
    case = nominal(solution.case)
    spring: Spring = getattr(case, name)
    taken = units_at_sag.hose_takes(spring, _goal(solution, name)[:1], case.ambient)
    lost = show(float(taken[0]), "psi", 1)
    return (
        f"Set it with the pump on, unscrew, and leave it: each connecting fills the hose and costs "
        f"about {lost}; the hiss on removal is only the hose."
    )


def _moved(filled: Filled, vouched: charts.Anchor, goal: float, learned: bool) -> tuple[Basis, str]:
    """On what a pressure rests, and what moved it from the figure that someone vouches for."""
    rider = filled.sheets.rider
    if abs(goal / vouched.pressure - 1.0) < SAME_FIGURE:
        return ("maker" if vouched.maker and vouched.inside else "model"), ""
    if learned:
        return "measured", "; corrected by the sag read on this bike"
    if rider is not None and rider.sag_wish is not None:
        return "rider", "; carried over to the sag wished for"
    return "model", "; carried over to this position and sag"


def _rate(filled: Filled, solution: Solution, name: Name, learned: bool) -> Setting:
    sold = getattr(filled.sheets.bike, name).rates if name == "shock" else ()
    words = "nearest of the rates sold" if sold else "default: nearest step of 25 lb/in"
    if learned:
        words += "; corrected by the sag read on this bike"
    goal, fitted = float(_goal(solution, name)[0]), chosen(filled, solution, name)
    marked = _sold_limits(goal, [rate.value for rate in sold])
    beyond = any(limit.binds for limit in marked)
    return setting(
        f"{name}_rate",
        f"{name.capitalize()} coil to fit",
        _goal(solution, name),
        "N/m",
        "lb/in",
        1.0,
        basis="measured" if learned else "model",
        source="force over stroke at sag, docs/sums.md",
        because=f"{_target_words(filled, name)}; {words}",
        value=fitted,
        limits=marked,
        wanted=goal if beyond else None,
        cure=COIL_CURE,
        cautions=("Preload a coil by one turn or two only: sag is set by its rate.",),
    )


def _sold_limits(goal: float, rates: list[float]) -> tuple[Limit, ...]:
    """The softest and the stiffest coil sold; one binds where the goal lies beyond it."""
    if not rates:
        return ()
    owner, least, most = "the coils sold for it", min(rates), max(rates)
    return Limit(owner, "min", least, goal < least), Limit(owner, "max", most, goal > most)


def _preload(solution: Solution) -> tuple[Setting, ...]:
    """How far a shock's coil is wound on: it only holds the coil, inside a turn or two."""
    spring = solution.case.shock
    if spring.kind != "coil":
        return ()
    at_sag = solution.at(spring.posture)
    more = float(coupled.leverage(solution.case, at_sag.rear_travel)[0])
    return (
        Setting(
            "shock_preload",
            float(spring.preload[0]),
            "m",
            *PRELOAD_LIMITS,
            "practice",
            "common practice, no source",
            "default: about a turn past where the coil stops rattling; a turn of 1 mm more lifts "
            f"the wheel by about {more:.0f} mm and makes up for no wrong coil",
            "mm",
            0.5,
            "Shock coil preload",
            (Limit("a coil is held by a turn or two", "max", PRELOAD_LIMITS[1]),),
        ),
    )


def _target_words(filled: Filled, name: Name) -> str:
    unit, rider = getattr(filled.sheets.bike, name), filled.sheets.rider
    wish = None if rider is None else rider.sag_wish
    target = given(wish if wish is not None else unit.sag_target).value
    whose = ""
    if wish is not None:
        whose = "the rider's wish: "
    elif filled.default(f"bike.{name}.sag_target"):
        whose = "default: "
    of = "travel" if name == "fork" else "stroke"
    posture = unit.posture or ("standing" if name == "fork" else "seated")
    return f"{whose}{show(target, '%', 1)} of {of}, read {posture}"


def _read_on_gauge(goal: Array) -> Array:
    """The goal as this shop's pump would show it."""
    relative = known_sigma("gauge.relative").value
    offset = known_sigma("gauge.offset").value
    shift: Array = goal + np.hypot(relative * goal, offset) * deviates()[ROWS["gauge"]]
    return shift


def _nearest_rate(filled: Filled, name: Name, goal: float) -> float:
    sold = filled.sheets.bike.shock.rates if name == "shock" else ()
    if sold:
        return min((rate.value for rate in sold), key=lambda rate: abs(math.log(rate / goal)))
    return max(round(goal / RATE_STEP), 1) * RATE_STEP


def _sag(filled: Filled, outcome: Solution, name: Name) -> Setting:
    spring: Spring = getattr(outcome.case, name)
    state = outcome.at(spring.posture)
    draws = state.fork_compression if name == "fork" else state.shock_compression
    travel = float(spring.travel[0])
    share = _percents(float(draws[0]) / travel, *(end / travel for end in interval(draws)))
    of = "travel" if name == "fork" else "stroke"
    ring = "at the ring" if spring.kind == "air" else "eye to eye"
    return setting(
        f"{name}_sag",
        f"{name.capitalize()} sag {ring}",
        draws,
        "m",
        "mm",
        1.0,
        basis="model",
        source="coupled solve, docs/sums.md",
        because=f"{share} of {travel * 1000:.0f} mm {of}, {spring.posture}, "
        "counted from the length it tops out at",
    )


def _wheel_sag(outcome: Solution) -> Setting:
    state = outcome.at(outcome.case.shock.posture)
    travel = float(outcome.case.rear_travel[0])
    full = float(wheel_travel(outcome.case, outcome.case.shock.travel)[0])
    whole = travel or full
    share = _percents(
        float(state.rear_travel[0]) / whole, *(end / whole for end in interval(state.rear_travel))
    )
    leverage = (
        "default: leverage taken as travel over stroke"
        if not outcome.case.leverage_known
        else "not the share of stroke, as the leverage changes"
    )
    return setting(
        "rear_wheel_sag",
        "Rear sag at the wheel",
        state.rear_travel,
        "m",
        "mm",
        1.0,
        basis="model",
        source="coupled solve, docs/sums.md",
        because=f"{share} of {whole * 1000:.0f} mm wheel travel; {leverage}",
    )


def _reserve(filled: Filled, outcome: Solution, name: Name) -> Setting:
    """How much harder the spring pushes at full travel than at sag, and what a spacer does."""
    case = outcome.case
    spring: Spring = getattr(case, name)
    stroke = units_at_sag.compression(outcome, name)
    at = units_at_sag.setting(outcome, name)
    words = "a coil has the same at any rate, its bump stop besides"
    if spring.kind == "air":
        words = _by_spacers(filled, outcome, name) or "no room for another volume spacer"
    return setting(
        f"{name}_reserve",
        f"{name.capitalize()} force at full travel",
        units_at_sag.reserve(spring, at, stroke, case.ambient),
        "1",
        "×",
        0.1,
        basis="model",
        source="fast stroke about the ridden place, docs/sums.md",
        because=f"times that at sag, in a fast stroke; {words}",
    )


def _by_spacers(filled: Filled, outcome: Solution, name: Name) -> str:
    """The reserve with one volume spacer more and one fewer, at the same sag."""
    unit, case = getattr(filled.sheets.bike, name), nominal(outcome.case)
    spring: Spring = getattr(case, name)
    stroke = units_at_sag.compression(outcome, name)[:1]
    at = units_at_sag.setting(outcome, name)[:1]
    fitted, most = unit.spacers, getattr(unit, "spacers_max", None)
    told = []
    for added, word in ((1, "more"), (-1, "fewer")):
        if (added < 0 and not fitted) or (added > 0 and most is not None and (fitted or 0) >= most):
            continue
        try:
            other = with_spacers(name, spring, added)
        except InputError:
            continue
        there = units_at_sag.same_sag(spring, other, at, stroke, case.ambient)
        ratio = units_at_sag.reserve(other, there, stroke, case.ambient)
        pressure = show(float(there[0]), "psi", 1)
        told.append(f"one spacer {word}: about {float(ratio[0]):.1f} × at {pressure}")
    return ", ".join(told)


def _percents(middle: float, low: float, high: float) -> str:
    return show_interval(middle, low, high, "%", 1)


def _air_findings(filled: Filled, solution: Solution, name: Name) -> list[Finding]:
    found = []
    goal = float(_goal(solution, name)[0])
    unit = getattr(filled.sheets.bike, name)
    if unit.pressure_max is not None and goal > unit.pressure_max.value:
        found.append(
            Finding(
                f"{name}-pressure-limit",
                "warn",
                (
                    f"the sag asked for wants {show(goal, 'psi', GRADUATION[name])}",
                    f"the {name}'s maker allows {show(unit.pressure_max.value, 'psi', 1)}",
                ),
                "The maker's limit always binds.",
                "Accept the deeper sag shown, or ask the maker for another spring.",
                (f"bike.{name}.pressure_max",),
            )
        )
    mass = riding_mass(filled)
    if unit.chart and not charts.anchor(unit, mass, 1.0).inside:
        found.append(
            Finding(
                f"{name}-off-chart",
                "note",
                (f"rider with kit {mass:.0f} kg", f"the {name}'s chart does not reach that mass"),
                "A maker's chart holds inside its rows.",
                "Take the figure as a start, read the sag, and ask the maker.",
                (f"bike.{name}.chart", "rider.mass"),
            )
        )
    return found


def _coil_findings(filled: Filled, solution: Solution, name: Name) -> list[Finding]:
    goal, fitted = float(_goal(solution, name)[0]), chosen(filled, solution, name)
    if fitted is None or abs(math.log(fitted / goal)) <= COIL_TOLERANCE:
        return []
    return [
        Finding(
            f"{name}-no-coil",
            "warn",
            (
                f"the sag asked for wants {show(goal, 'lb/in', 1)}",
                f"the nearest coil sold is {show(fitted, 'lb/in', 1)}",
            ),
            "Sag is set by the coil's rate; preload may not make up for it.",
            "Accept the sag shown, or find a coil outside the list.",
            (f"bike.{name}.rates",),
        )
    ]


COIL_TOLERANCE = math.log(1.08)
"""How far the nearest coil may be from the goal before it is said: 8 % (judgement)."""
