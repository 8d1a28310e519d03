"""Settings solved together: of sheets, of a bike on record, after a change or made by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from cyclewright import units
from cyclewright.errors import InputError, Problem, RangeError, input_error, range_error
from cyclewright.workshop.answers import AdviceAnswer, Change
from cyclewright.workshop.known import known_of
from cyclewright.workshop.setups import then

if TYPE_CHECKING:
    from cyclewright.advice.advise import Advice, Moved
    from cyclewright.advice.case import Kept
    from cyclewright.setting import Setting
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.solve.solution import Solution
    from cyclewright.workshop.shop import Shop

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

Shares = tuple[float, float]
"""Shares of fork travel and of rear wheel travel that are used [1]."""


def advise(sheets: Sheets, changes: Sequence[str] = (), at: Sequence[Shares] = ()) -> AdviceAnswer:
    """Every setting of these sheets; with changes, also what each moved, kept and resolved.

    `at` asks for the geometry with these shares of each travel used, besides the usual rows.
    """
    from cyclewright.sheets.sheets import change

    if not changes:
        return _heavy(_answer(_advised(sheets), at=at), sheets)
    _, after, moved = _compared(sheets, changes)
    return _heavy(_answer(after, moved, at), change(sheets, changes))


def _heavy(answer: AdviceAnswer, sheets: Sheets) -> AdviceAnswer:
    """The answer, with what is carried beyond the maker's limit before all else."""
    from cyclewright.advice import mass

    return replace(answer, findings=(*mass.too_heavy(sheets), *answer.findings))


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
    return _advised(sheets).outcome


def solutions(sheets: Sheets, changes: Sequence[str]) -> tuple[Solution, Solution]:
    """Before and after a change, solved again, for an overlay."""
    before, after, _ = _compared(sheets, changes)
    return before.outcome, after.outcome


def _advised(sheets: Sheets) -> Advice:
    from cyclewright.advice.advise import advise as advised
    from cyclewright.knowledge.defaults import fill

    return advised(fill(sheets))


def _compared(sheets: Sheets, changes: Sequence[str]) -> tuple[Advice, Advice, tuple[Moved, ...]]:
    """Advice before and after a change, and what it moved."""
    from cyclewright.advice.advise import advise as advised
    from cyclewright.advice.advise import compare
    from cyclewright.knowledge.defaults import fill
    from cyclewright.sheets.sheets import change

    filled = fill(sheets)
    before = advised(filled)
    return before, *compare(before, fill(change(sheets, changes)), filled)


def advise_bike(
    shop: Shop, bike: int, changes: Sequence[str] = (), at: Sequence[Shares] = ()
) -> AdviceAnswer:
    """Settings of a bike on record, by its sheets in force and every reading so far."""
    known = known_of(shop, bike)
    from cyclewright.sheets.sheets import change

    advice, moved = known.tried(changes, None) if changes else (known.advice, None)
    answer = replace(_answer(advice, moved, at), then=then(shop, known.state))
    return _heavy(answer, change(known.sheets, changes) if changes else known.sheets)


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
    known = known_of(shop, bike)
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
    known = known_of(shop, bike)
    if not changes and not made:
        return known.advice.outcome
    by_hand = _made_by_hand(known.advice, made) if made else None
    return known.tried(changes, by_hand)[0].outcome


def change_of(moved: Moved) -> Change:
    """What one setting was, is when all else is kept, and becomes when it is solved again."""
    item = moved.setting
    return Change(
        item.name, item.label, item.unit, item.display, item.graduation,
        moved.before, moved.kept, moved.resolved,
    )  # fmt: skip


def _asked(both: Shares) -> str:
    fork, rear = (f"{share * 100:.0f} %" for share in both)
    return f"asked: fork {fork}, rear {rear}"


def _answer(
    advice: Advice, moved: Sequence[Moved] | None = None, at: Sequence[Shares] = ()
) -> AdviceAnswer:
    from cyclewright.advice import steady
    from cyclewright.advice.handling import at_travel, through_travel

    changes = None if moved is None else tuple(change_of(one) for one in moved)
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
