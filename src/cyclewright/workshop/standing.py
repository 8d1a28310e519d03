"""What a bike is worth now: its gates, release and stage. Every face asks this one function."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cyclewright.workshop.answers import Missing
from cyclewright.workshop.shop import Shop

if TYPE_CHECKING:
    from cyclewright.record.state import BikeState, Passed, Released


AFTER_RIDE_GATE = ("Prove", "Release", "Care")
"""Stages whose steps come after the ride gate."""


FALLS = {
    "ride": "the ride gate falls",
    "release": "the release gate falls",
    "released": "the release falls",
}
"""How each thing that stood and stands no more is told."""
RISES = {
    "ride": "the ride gate stands again",
    "release": "the release gate stands again",
    "released": "the release stands again",
}
"""How each thing that stood no more and stands again is told."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What is missing at each gate, which gates are passed, and the release that stands, now."""

    missing: Mapping[str, tuple[Missing, ...]]
    passed: Mapping[str, Passed]
    """Gates that were passed and want nothing now."""
    released: Released | None
    """The release, as long as both gates are passed and it was given after them."""
    lapsed: str
    """Why what was passed or released stands no more; empty where nothing fell."""
    was_released: bool
    """Whether it was ever released, standing or not."""
    stage: str

    @property
    def held(self) -> tuple[str, ...]:
        """What stands: gates, and `released` for the release."""
        return (*self.passed, *(("released",) if self.released is not None else ()))

    @property
    def may_ride(self) -> bool:
        """Whether the bike may be ridden: the ride gate is passed and wants nothing."""
        return "ride" in self.passed


def standing(shop: Shop, state: BikeState, *, recalls: bool = True) -> Standing:
    """The bike as it stands, asked of present sheets, findings, parts and evidence.

    Without `recalls` it is as if no recall were open, for a summary that outlives them.
    """
    from cyclewright.record import stage
    from cyclewright.record.gates import GATES
    from cyclewright.workshop.release import wanted as asked

    wanted = asked(shop, state, recalls=recalls)
    passed = {gate: held for gate in GATES if (held := state.gates.get(gate)) and not wanted[gate]}
    released = _released(state, passed)
    return Standing(
        wanted,
        passed,
        released,
        _lapsed(state, wanted, passed, released),
        state.released is not None or bool(state.in_use),
        stage.stage(state, released is not None),
    )


def _released(state: BikeState, passed: Mapping[str, Passed]) -> Released | None:
    given = state.released
    if given is None or len(passed) < 2:
        return None
    return given if all(gate.number < given.number for gate in passed.values()) else None


def _lapsed(
    state: BikeState,
    wanted: Mapping[str, tuple[Missing, ...]],
    passed: Mapping[str, Passed],
    released: Released | None,
) -> str:
    """The first reason why a release, or else a passed gate, stands no more."""
    was = [gate for gate in wanted if gate in state.gates or gate in state.fallen]
    if state.released is None and state.in_use and "ride" not in passed and not was:
        return "it is in a new visit: nobody rides it before its ride gate is passed again"
    if (state.released is None and not was) or released is not None:
        return ""
    fell = [gate for gate in (wanted if state.released is not None else was) if gate not in passed]
    for gate in fell:
        if gate in state.fallen:
            return state.fallen[gate]
        if wanted[gate]:
            return wanted[gate][0].why
    return "its gates were passed anew: release it again" if state.released is not None else ""
