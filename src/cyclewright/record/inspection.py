"""Inspection of a used, crashed or returned bike: what to look at, and the plan made from it.

An inspection's plan is its points, then every step of the build that proves a gate item: a bike
without a fresh build passes the same gates, each item proved anew.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from cyclewright.knowledge.conditions import Condition, Facts, conditions_from, holds
from cyclewright.knowledge.steps import Caution
from cyclewright.knowledge.steps import Record as StepRecord
from cyclewright.record.plan import Plan, PlannedStep

KIND = "inspection"
ITEM = "inspection"
"""Gate item that the points prove."""
CAUSES = ("used", "crashed", "returned", "hired", "stored")


@dataclass(frozen=True, slots=True)
class Point:
    """One place to look at."""

    id: str
    station: str
    do: str
    why: str
    tool: str
    minutes: float
    evidence: tuple[str, ...]
    what: str
    causes: tuple[str, ...]
    applies: tuple[Condition, ...]
    cautions: tuple[Caution, ...]
    source: str


@cache
def points() -> tuple[Point, ...]:
    """Every point, front to back."""
    file = Path(__file__).parent / "inspection.toml"
    content = tomllib.loads(file.read_text(encoding="utf-8"))
    return tuple(
        Point(
            row["id"],
            row["station"],
            row["do"],
            row["why"],
            row["tool"],
            float(row["minutes"]),
            tuple(row.get("evidence", ("tick",))),
            row.get("what", ""),
            tuple(row.get("causes", ())),
            conditions_from(row.get("applies", []), row["id"]),
            tuple(Caution(**caution) for caution in row.get("cautions", ())),
            row.get("source", content["source"]),
        )
        for row in content["point"]
    )


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
        replace(step, needs=(*(need for need in step.needs if need in ids), *_first(step, names)))
        for step in kept
    ]
    care = [replace(s, needs=()) for s in build.steps if s.stage == "Care"]
    return Plan((*looked, *proofs, *care), build.questions)


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
