"""Settings solved together, and what one change moves in all of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

from cyclewright.advice import case as cases
from cyclewright.advice import (
    chain,
    cockpit,
    damping,
    fit,
    handling,
    levers,
    rear,
    riding,
    springs,
    steady,
    tyres,
)
from cyclewright.advice.case import Kept, set_to
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Finding, Question, Setting
from cyclewright.sheets.rider import Rider
from cyclewright.solve.case import Case
from cyclewright.solve.coupled import solve
from cyclewright.solve.solution import Solution

Learn = Callable[[Case], Case]
"""What readings taught about a case: the same case with its draws moved."""


@dataclass(frozen=True, slots=True)
class Advice:
    """Settings with what they rest on, and the bike as it is once they are set."""

    settings: tuple[Setting, ...]
    findings: tuple[Finding, ...]
    questions: tuple[Question, ...]
    rider: Rider | None
    """Who it is for."""
    kept: Kept
    """What is set, as numbers to keep when something changes."""
    goal: Solution
    """Every draw at its own goal."""
    outcome: Solution
    """Every draw at the one setting chosen."""


@dataclass(frozen=True, slots=True)
class Moved:
    """One setting before a change, with all else kept, and solved again; SI or None."""

    setting: Setting
    before: float | None
    kept: float | None
    resolved: float | None


def advise(
    filled: Filled,
    reference: Filled | None = None,
    learn: Learn | None = None,
    made: Kept | None = None,
) -> Advice:
    """Solve for every goal, choose inside every limit, then see what that gives.

    What is `made` already, such as a pressure that a rider insists on, is taken as it is.
    """
    made = made or Kept()
    built = cases.build(filled, reference, made)
    case = built if learn is None else learn(built)
    goal = solve(set_to(case, made))
    kept = _over(_chosen(filled, goal), made)
    outcome = solve(set_to(case, kept), like=goal)
    saddle = fit.saddle(filled)
    spring = springs.settings(filled, goal, learned=_learned(built, case))
    return Advice(
        settings=(
            *fit.settings(filled, saddle, outcome),
            *cockpit.settings(filled, outcome),
            *levers.levers(filled).settings,
            *tyres.settings(filled, goal),
            *spring,
            *tyres.outcomes(filled, outcome),
            *springs.outcomes(filled, outcome),
            *damping.settings(filled, _by_name(spring), outcome),
            *handling.settings(outcome),
            *steady.settings(outcome),
            *chain.settings(filled, outcome),
            *riding.settings(filled, kept, outcome),
        ),
        findings=(
            *fit.findings(filled, saddle),
            *cockpit.findings(goal, saddle),
            *tyres.findings(filled, goal),
            *rear.findings(filled.sheets.bike),
            *springs.findings(filled, goal),
        ),
        questions=(
            *tyres.questions(filled),
            *springs.questions(filled, goal),
            *damping.questions(filled, _by_name(spring)),
        ),
        rider=filled.sheets.rider,
        kept=kept,
        goal=goal,
        outcome=outcome,
    )


def compare(
    before: Advice,
    filled: Filled,
    reference: Filled,
    learn: Learn | None = None,
    made: Kept | None = None,
) -> tuple[Advice, tuple[Moved, ...]]:
    """The advice after a change, and every setting that it moved.

    *kept* leaves pressures and saddle as they were set and sees what becomes of sag, loads and
    geometry; *resolved* meets the goals again. With `made`, what is set by hand is so in both.
    """
    made = made or Kept()
    after = advise(filled, reference, learn, made)
    case, as_set = after.goal.case, _over(before.kept, made)
    if after.kept.saddle_height != as_set.saddle_height or filled.sheets.rider != before.rider:
        case = cases.build(filled, reference, as_set, before.rider)
        case = case if learn is None else learn(case)
    still = _over(_still(before, case), made)
    outcome = solve(set_to(case, still), like=after.goal)
    held = _by_name(_outcomes(filled, still, outcome))
    held |= _by_hand(made, after)
    was, now = _by_name(before.settings), _by_name(after.settings) | _by_hand(made, after)
    moved = []
    for name in dict.fromkeys((*was, *now)):
        old, new = was.get(name), now.get(name)
        kept = held.get(name, _position(name, old, new))
        one = Moved(
            now.get(name) or was[name],
            None if old is None else old.value,
            None if kept is None else kept.value,
            None if new is None else new.value,
        )
        if _differs(one):
            moved.append(one)
    return after, tuple(moved)


def _over(kept: Kept, made: Kept) -> Kept:
    """What is kept, with what was made by hand in its place."""
    stated = {item.name: getattr(made, item.name) for item in fields(made)}
    return replace(kept, **{name: value for name, value in stated.items() if value is not None})


def _by_hand(made: Kept, after: Advice) -> dict[str, Setting]:
    """The settings that were made by hand, at the value they were made."""
    names = {
        "fork": ("fork_pressure", "fork_rate"),
        "shock": ("shock_pressure", "shock_rate"),
        "front_tyre": ("front_tyre_pressure",),
        "rear_tyre": ("rear_tyre_pressure",),
        "saddle_height": ("saddle_height",),
    }
    return {
        setting.name: replace(setting, value=value)
        for item in fields(made)
        if (value := getattr(made, item.name)) is not None
        for setting in after.settings
        if setting.name in names[item.name]
    }


def _still(before: Advice, case: Case) -> Kept:
    """What stays as it was set; the figure of an air spring means nothing to a coil."""
    was = before.goal.case
    return replace(
        before.kept,
        fork=before.kept.fork if case.fork.kind == was.fork.kind else None,
        shock=before.kept.shock if case.shock.kind == was.shock.kind else None,
    )


def _outcomes(filled: Filled, kept: Kept, outcome: Solution) -> tuple[Setting, ...]:
    """What follows from what is set, rather than being set."""
    return (
        *cockpit.settings(filled, outcome),
        *tyres.outcomes(filled, outcome),
        *springs.outcomes(filled, outcome),
        *handling.settings(outcome),
        *steady.settings(outcome, spread=False),
        *chain.settings(filled, outcome),
        *riding.settings(filled, kept, outcome),
    )


def _learned(built: Case, case: Case) -> tuple[springs.Name, ...]:
    """The springs that rings read on them have moved, by more than rounding."""
    found = []
    for name in springs.NAMES:
        off = getattr(case, name).area / getattr(built, name).area - 1.0
        if abs(off).max() > springs.SAME_FIGURE:
            found.append(name)
    return tuple(found)


def _chosen(filled: Filled, goal: Solution) -> Kept:
    return Kept(
        fork=springs.chosen(filled, goal, "fork"),
        shock=springs.chosen(filled, goal, "shock"),
        front_tyre=float(goal.front_tyre_pressure[0]),
        rear_tyre=float(goal.rear_tyre_pressure[0]),
        saddle_height=float(goal.case.saddle_height[0]),
    )


def _position(name: str, old: Setting | None, new: Setting | None) -> Setting | None:
    """A setting that a change leaves where it was; the spacers are the change itself."""
    return new if name == "spacers_under" else old


def _differs(moved: Moved) -> bool:
    """Whether anything moved by more than a ten-thousandth of the tool's step."""
    numbers = (moved.before, moved.kept, moved.resolved)
    if any(number is None for number in numbers):
        return len(set(numbers)) > 1
    known = [number for number in numbers if number is not None]
    return max(known) - min(known) > 1e-6 * max(abs(number) for number in known)


def _by_name(settings: tuple[Setting, ...]) -> dict[str, Setting]:
    return {setting.name: setting for setting in settings}
