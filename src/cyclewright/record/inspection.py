"""Inspection of a used, crashed or returned bike: what to look at, and the plan made from it.

An inspection's plan is its points, then every step of the build that proves a gate item: a bike
without a fresh build passes the same gates, each item proved anew.
"""

from __future__ import annotations

from dataclasses import replace

from cyclewright.knowledge.conditions import Facts, holds
from cyclewright.knowledge.inspection import CAUSES, Point, points
from cyclewright.knowledge.steps import Record as StepRecord
from cyclewright.record.plan import Plan, PlannedStep

KIND = "inspection"
ITEM = "inspection"
"""Gate item that the points prove."""


def inspection_plan(facts: Facts, cause: str, build: Plan) -> Plan:
    """The plan of an inspection: points to look at, then the proofs of the gates from `build`."""
    looked = [
        _step(point)
        for point in points()
        if cause in (point.causes or CAUSES) and holds(point.applies, facts) is not False
    ]
    names = tuple(step.id for step in looked)
    kept = [step for step in build.steps if step.safety or _wants_word(step)]
    ids = {step.id for step in kept}
    proofs = [
        replace(
            step,
            needs=(*(need for need in step.needs if need in ids), *_first(step, names)),
            after=tuple(need for need in step.after if need in ids),
        )
        for step in kept
    ]
    care = [replace(s, needs=()) for s in build.steps if s.stage == "Care"]
    return Plan((*looked, *proofs, *care), build.questions, build.undecided)


def _wants_word(step: PlannedStep) -> bool:
    return step.torque is not None and step.torque.needs_word


def _first(step: PlannedStep, points: tuple[str, ...]) -> tuple[str, ...]:
    """Nobody rides a bike before all of it was looked at."""
    return points if step.stage == "Prove" else ()


def _step(point: Point) -> PlannedStep:
    text = StepRecord(point.what) if "text" in point.evidence else None
    return PlannedStep(
        id=point.id,
        stage="Receive",
        station=point.station,
        do=point.do,
        tool=point.tool,
        torque=None,
        compound="",
        cautions=point.cautions,
        evidence=tuple(kind for kind in ("tick", "text") if kind in point.evidence),
        needs=(),
        minutes=point.minutes,
        safety=ITEM,
        joints=(),
        why=point.why,
        group="",
        record=text,
        source=point.source,
    )
