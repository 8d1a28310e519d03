"""A small invented plan and its events, for tests of the record."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cyclewright.record.events import Draft, Event, decode, encode, link

WINDOW = {"kind": "range", "low": 5.0, "high": 6.0, "set": 5.5, "whose": "stem", "unit": "N·m"}
TORQUE = {"value": 5.5, "unit": "N·m", "text": "5.5 N.m"}


def step(name: str, *needs: str, joints: tuple[str, ...] = (), **more: Any) -> dict[str, Any]:
    """A planned step as plain data."""
    return {
        "id": name,
        "stage": "Build",
        "station": "front end",
        "do": f"do {name}",
        "needs": list(needs),
        "joints": list(joints),
        "evidence": ["tick"],
        "safety": "",
        "torque": None,
    } | more


STEPS = [
    step("fork-forward", safety="fork-direction"),
    step("bar-in-stem", "fork-forward", joints=("faceplate",), torque=WINDOW, evidence=["torque"]),
    step("headset-preload", "fork-forward", joints=("top_cap",)),
    step("stem-pinch", "headset-preload", joints=("stem_pinch",), evidence=["torque"]),
    step("pedals", safety="pedals", joints=("pedal_left", "pedal_right")),
    step(
        "bar-holds",
        "stem-pinch",
        "bar-in-stem",
        joints=("faceplate", "stem_pinch"),
        safety="bar-and-stem",
    ),
    step("hoses-slack", "stem-pinch", safety="hose-slack"),
]


def planned(steps: list[dict[str, Any]] | None = None) -> dict[str, Any]:
    """What a `planned` event holds."""
    return {
        "name": "Invented Trail",
        "serial": "X1",
        "sheets": {"bike": 'kind = "rigid"', "place": 'country = "GB"'},
        "rider": None,
        "steps": STEPS if steps is None else steps,
        "questions": [],
        "knowledge": "k",
        "model": "m",
    }


class Stream:
    """Events numbered and linked as the store does, without one."""

    def __init__(self, steps: list[dict[str, Any]] | None = None) -> None:
        self.events: list[Event] = []
        self.add("visit-opened", "visit", {"visit": "build", "name": "Invented Trail"})
        self.add("planned", "plan", planned(steps))

    def add(self, kind: str, subject: str, data: Mapping[str, Any]) -> int:
        """One more event; gives its number."""
        number = len(self.events) + 1
        previous = self.events[-1].hash if self.events else b"\0" * 32
        draft = Draft(kind, subject, data, by=1)
        body = encode(draft, number - 1, f"2030-01-01T00:00:{number:02d}.000+00:00", False)
        self.events.append(decode(1, number, body, link(previous, 1, number, body)))
        return number

    def done(self, name: str, **evidence: Any) -> int:
        """A step done."""
        return self.add("step-done", f"step:{name}", {"step": name, "evidence": evidence})

    def all_done(self) -> None:
        """Every step of the small plan, in order."""
        for item in STEPS:
            self.done(item["id"], **({"torque": TORQUE} if "torque" in item["evidence"] else {}))
