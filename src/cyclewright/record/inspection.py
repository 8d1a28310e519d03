"""Inspection of a used, crashed or returned bike: what to look at, and the plan made from it.

An inspection's plan is its points, then every step of the build that proves a gate item, and all
that puts together again what a look takes apart: a bike without a fresh build passes the same
gates, each item proved anew.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import replace

from cyclewright.knowledge.conditions import Facts, holds
from cyclewright.knowledge.inspection import CAUSES, Point, points
from cyclewright.knowledge.steps import Record as StepRecord
from cyclewright.record.gates import LOOKED_OVER
from cyclewright.record.plan import Plan, PlannedStep
from cyclewright.record.steps import closes

KIND = "inspection"
ITEM = "inspection"
"""Gate item that the points prove."""
CHANGE_OF_HANDS = ("hands-changed-", "hoses-opened", "headset-hoses-laid", "order-signed")


def inspection_plan(facts: Facts, cause: str, build: Plan) -> Plan:
    """The plan of an inspection: points to look at, then the proofs of the gates from `build`."""
    has = {joint for step in build.steps for joint in _opened_by(step)}
    looked = [
        _step(point, has)
        for point in points()
        if cause in (point.causes or CAUSES) and holds(point.applies, facts) is not False
    ]
    again = _together(looked, build) | _named(looked, "checks")
    kept = [
        replace(step, if_opened=closes(step.id))
        for step in build.steps
        if _proves(step) or step.id in again or closes(step.id)
    ]
    ids = {step.id for step in kept}
    proofs = [
        replace(
            step,
            needs=(*(need for need in step.needs if need in ids), *_first(step, looked)),
            after=(*(need for need in step.after if need in ids), *_first(step, looked)),
        )
        for step in kept
    ]
    care = [replace(s, needs=()) for s in build.steps if s.stage == "Care"]
    return Plan((*looked, *proofs, *care), build.questions, build.undecided)


def _proves(step: PlannedStep) -> bool:
    """Whether a gate asks for it, or its joint for the maker's word."""
    wants_word = step.torque is not None and step.torque.needs_word
    return wants_word or step.safety not in ("", LOOKED_OVER)


def _together(looked: Sequence[PlannedStep], build: Plan) -> set[str]:
    """Steps that set what a look takes apart, what comes before them, and what rests on them.

    The brakes are on their hands: a change of hands that the build made is not made again, and no
    hose is bled that nobody opens.
    """
    opened = {joint for step in looked for joint in step.joints}
    named = _named(looked, "again")
    setting = {step.id for step in build.steps if step.id in named or opened & _opened_by(step)}
    found = set(setting)
    for step in build.steps:
        if found & (set(step.needs) - set(step.after)) and not step.may_wait:
            found.add(step.id)
    for step in reversed(build.steps):
        if step.id in setting:
            setting |= set(step.needs)
    return (found | setting) - {
        step.id for step in build.steps if step.id.startswith(CHANGE_OF_HANDS)
    }


def _named(looked: Sequence[PlannedStep], key: str) -> set[str]:
    """Steps of the build that the points to look at name under a key."""
    ids = {step.id for step in looked}
    return {name for point in points() if point.id in ids for name in getattr(point, key)}


def _opened_by(step: PlannedStep) -> set[str]:
    """The joints that a step sets by itself: a round goes over what other steps have set."""
    return set() if step.bolts else set(step.joints)


def _first(step: PlannedStep, looked: Sequence[PlannedStep]) -> tuple[str, ...]:
    """Nobody rides a bike before all of it was looked at, nor closes what a look opens again."""
    return tuple(
        point.id
        for point in looked
        if step.stage == "Prove" or (set(point.joints) & set(step.joints) and not step.reads)
    )


def _step(point: Point, has: Container[str]) -> PlannedStep:
    """A look as a step; it takes apart those of its joints that this bike has."""
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
        joints=tuple(joint for joint in point.opens if joint in has),
        why=point.why,
        group="",
        record=text,
        source=point.source,
    )
