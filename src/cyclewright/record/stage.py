"""Where a bike stands: which of the seven stages its visit is in, and how far along."""

from __future__ import annotations

from dataclasses import dataclass

from cyclewright.record import gates
from cyclewright.record.state import BikeState

STAGES = ("Receive", "Build", "Fit", "Base", "Prove", "Release", "Care")


@dataclass(frozen=True, slots=True)
class Progress:
    """Steps done of all, and whether a problem or a reopened safety step stops the bike."""

    stage: str
    done: int
    total: int
    blocked: bool


def stage(state: BikeState) -> str:
    """The stage of the first step that is not done; `Care` only once it is released."""
    if state.released is not None:
        return "Care"
    for name, step in state.planned_steps().items():
        if state.step(name).status != "done" and step.stage.capitalize() != "Care":
            return step.stage.capitalize()
    return "Release"


def progress(state: BikeState) -> Progress:
    """How far along a visit is."""
    steps = state.planned_steps()
    problem = any(state.step(name).status == "problem" for name in steps)
    unsafe = state.released is not None and bool(
        gates.lacking(state, "ride") or gates.lacking(state, "release")
    )
    return Progress(stage(state), len(state.done()), len(steps), problem or unsafe)
