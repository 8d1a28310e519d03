"""Before a bolt is turned: the papers checked against each other, and the plan made from them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cyclewright.workshop.answers import CheckAnswer

if TYPE_CHECKING:
    from cyclewright.advice.torque import Tool
    from cyclewright.record.plan import Plan
    from cyclewright.sheets.sheets import Sheets


def check(sheets: Sheets, tools: Sequence[Tool] = ()) -> CheckAnswer:
    """What clashes on the sheets, gravest first, and what still has to be looked up."""
    from cyclewright.advice import crosscheck, torque

    findings, questions = crosscheck.crosscheck(sheets)
    _, clashes = torque.windows(sheets, tools)
    return CheckAnswer(crosscheck.gravest_first((*findings, *clashes)), questions)


def plan(sheets: Sheets, tools: Sequence[Tool] = ()) -> Plan:
    """Only the steps that this bike needs, in a right order, each with its torque."""
    from cyclewright.advice import brakes, torque
    from cyclewright.record.plan import make_plan
    from cyclewright.sheets.sheets import facts

    windows, _ = torque.windows(sheets, tools)
    return make_plan(facts(sheets), windows, brakes.derived(sheets))
