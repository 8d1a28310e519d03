"""Before a bolt is turned: the papers checked against each other, and the plan made from them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cyclewright.workshop.answers import CheckAnswer

if TYPE_CHECKING:
    from cyclewright.advice.disputes import Value, Verdict, Whose
    from cyclewright.advice.torque import Tool
    from cyclewright.record.plan import Plan
    from cyclewright.setting import Finding
    from cyclewright.sheets.sheets import Sheets


def check(sheets: Sheets, tools: Sequence[Tool] = ()) -> CheckAnswer:
    """What clashes on the sheets, gravest first, and what still has to be looked up."""
    from cyclewright.advice import crosscheck, holding, torque

    findings, questions = crosscheck.crosscheck(sheets)
    windows, clashes = torque.windows(sheets, tools)
    slips = holding.findings(holding.holdings(sheets, windows))
    return CheckAnswer(crosscheck.gravest_first((*findings, *clashes, *slips)), questions)


def plan(
    sheets: Sheets, tools: Sequence[Tool] = (), *, holding: bool = False, spare: bool = False
) -> Plan:
    """Only the steps that this bike needs, in a right order, each with its torque.

    With `holding` each joint of the bolt round also says what its torque is worth in preload and
    moment: sums that a plan asked for on the command line does not wait for. With `spare` it holds
    what a joint wants that is opened later, for the record.
    """
    from cyclewright.advice import brakes, torque
    from cyclewright.advice import holding as sums
    from cyclewright.record.plan import make_plan
    from cyclewright.sheets.sheets import facts

    windows, _ = torque.windows(sheets, tools)
    worth = sums.holdings(sheets, windows) if holding else None
    if spare:
        windows = torque.windows(sheets, tools, opened=True)[0] | windows
    return make_plan(facts(sheets), windows, brakes.derived(sheets), worth, spare)


def too_heavy(sheets: Sheets) -> tuple[Finding, ...]:
    """What rider, kit and, where the limit counts it, the bike weigh beyond the maker's limit."""
    from cyclewright.advice import mass

    return mass.too_heavy(sheets)


def settle(
    field: str, figure_a: str, figure_b: str, whose_a: str = "part", whose_b: str = "maker"
) -> Verdict:
    """Two figures for one field of the sheets: which holds and why, or the test that decides.

    Figures are written as on the sheet. Whose they are: part, law, maker, standard, measured or
    practice.

    >>> settle("bike.frame.insertion_min", "80 mm", "100 mm").holds
    "100 mm (the maker's booklet)"
    """
    from cyclewright.advice import disputes
    from cyclewright.errors import InputError, Problem

    problems: list[Problem] = []
    claims: list[disputes.Claim] = []
    for name, figure, whose in (("a", figure_a, whose_a), ("b", figure_b, whose_b)):
        try:
            claims.append(disputes.Claim(_figure(field, figure), _owner(name, whose)))
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(list(dict.fromkeys(problems)))
    return disputes.settle(field, *claims)


def _owner(name: str, whose: str) -> Whose:
    from typing import cast

    from cyclewright.advice.disputes import WHOSE_WORDS
    from cyclewright.errors import input_error

    if whose not in WHOSE_WORDS:
        allowed = ", ".join(WHOSE_WORDS)
        do = "say whose figure it is"
        raise input_error("whose", f"whose_{name}", do, value=whose, allowed=allowed)
    return cast("Whose", whose)


def _figure(field: str, text: str) -> Value:
    """A figure as the field has it: a quantity, a count, a word; a row of a chart as text."""
    from cyclewright import units
    from cyclewright.errors import input_error
    from cyclewright.sheets import path
    from cyclewright.sheets.build import in_range
    from cyclewright.sheets.fields import allowed_words
    from cyclewright.sheets.raw import from_text

    slot = path.find(field).slot
    if slot.spec is None:
        return text
    if slot.spec.shape == "quantity" and not slot.spec.many:
        return in_range(units.parse(text, slot.spec.dimension, field), slot.spec, field)
    value: Value = text if slot.spec.many else from_text(text, slot)
    kinds = {"flag": bool, "count": int}
    fits = slot.spec.many or isinstance(value, kinds.get(slot.spec.shape, object))
    if not fits or (slot.allowed and str(value) not in {str(item) for item in slot.allowed}):
        allowed = allowed_words(slot)
        raise input_error("not-a-choice", field, "write what may be", value=text, allowed=allowed)
    return value
