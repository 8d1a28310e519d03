"""A planned step as the record needs it: its order, its joints, its evidence and its gate."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from cyclewright.knowledge.steps import steps


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the plan in force; `place` is its position, `data` all that was planned."""

    id: str
    place: int
    stage: str
    station: str
    do: str
    needs: frozenset[str]
    """Steps that come before it."""
    rests: frozenset[str]
    """Those of them whose result it rests on."""
    joints: frozenset[str]
    evidence: tuple[str, ...]
    safety: str
    torque: Mapping[str, Any] | None
    data: Mapping[str, Any]

    @property
    def title(self) -> str:
        """What the step is called in a sentence."""
        return self.id.replace("-", " ").replace("_", " ")


def closes(name: str) -> str:
    """The joint that a step closes and proves once it was opened; empty for none."""
    return _closing().get(name, "")


@lru_cache(maxsize=1)
def _closing() -> dict[str, str]:
    return {step.id: step.if_opened for step in steps()}


def needed(
    planned: Sequence[Mapping[str, Any]], opened: Container[str]
) -> Sequence[Mapping[str, Any]]:
    """The rows of a plan that count: what closes a joint counts once it was opened."""
    return [
        row for row in planned if row.get("if_opened") in (None, "") or row["if_opened"] in opened
    ]


def steps_from(planned: Sequence[Mapping[str, Any]]) -> dict[str, Step]:
    """The steps of a plan by id, in plan order; a need may name a step or a joint."""
    rows = {str(item["id"]): (place, item) for place, item in enumerate(planned)}
    return {
        name: Step(
            id=name,
            place=place,
            stage=str(item.get("stage", "")),
            station=str(item.get("station", "")),
            do=str(item.get("do", "")),
            needs=(needs := _needed(item, place, planned, rows)),
            rests=needs - frozenset(item.get("after") or ()),
            joints=frozenset(item.get("joints") or ()),
            evidence=tuple(item.get("evidence") or ("tick",)),
            safety=str(item.get("safety") or _safety_now(name)),
            torque=item.get("torque"),
            data=item,
        )
        for name, (place, item) in rows.items()
    }


@lru_cache(maxsize=1)
def _safety() -> dict[str, str]:
    return {step.id: step.safety for step in steps()}


def _safety_now(name: str) -> str:
    """The gate item of a step that an older plan did not yet call one."""
    return _safety().get(name, "")


def _needed(
    item: Mapping[str, Any],
    place: int,
    planned: Sequence[Mapping[str, Any]],
    rows: Mapping[str, Any],
) -> frozenset[str]:
    """Ids of the steps that come first; those that are not in this plan are not needed."""
    needed: set[str] = set()
    for need in item.get("needs") or ():
        if need in rows:
            needed.add(need)
        else:
            needed |= {o["id"] for o in planned[:place] if need in (o.get("joints") or ())}
    return frozenset(needed - {str(item["id"])})


def torque_fits(window: Mapping[str, Any] | None, torque: float, word: bool = False) -> bool:
    """Whether a torque [N·m] lies in a planned window; a missing end leaves that end open.

    What a window leaves for the tool's error is no part of the makers' figure: with somebody's
    `word`, such as the maker's own key, the figure itself holds.
    """
    if window is None:
        return True
    low, high = window.get("low"), window.get("high")
    if low is None and high is None:
        return False
    if word and high is not None and window.get("most") is not None:
        low = None if low is None else min(low, window.get("least") or low)
        high = max(high, window["most"])
    return (low is None or torque >= low - 1e-6) and (high is None or torque <= high + 1e-6)
