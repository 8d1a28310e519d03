"""Where a bike stands: which of the seven stages its visit is in, and how far along."""

from __future__ import annotations

from cyclewright.record.state import BikeState

STAGES = ("Receive", "Build", "Fit", "Base", "Prove", "Release", "Care")


def stage(state: BikeState, released: bool) -> str:
    """The stage of the first step that is not done; `Care` only while its release stands."""
    if released:
        return "Care"
    for name, step in state.planned_steps().items():
        if state.step(name).status != "done" and step.stage.capitalize() != "Care":
            return step.stage.capitalize()
    return "Release"


def progress(state: BikeState) -> tuple[int, int]:
    """Steps done, of all."""
    return len(state.done()), len(state.planned_steps())
