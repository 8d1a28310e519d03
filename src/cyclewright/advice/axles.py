"""Each axle against the fork or frame that it has to hold in: diameter, width, thread, length."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from cyclewright.knowledge import rules
from cyclewright.setting import Finding, Severity
from cyclewright.units import show

if TYPE_CHECKING:
    from cyclewright.sheets.bike import Axle, Fork, Frame
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.units import Quantity

End = Literal["front", "rear"]
_WORDS = {"diameter": "diameter", "width": "hub width", "pitch": "thread pitch", "length": "length"}
_FIT = {
    "diameter": ("diameter_fit", "An axle and its seat have the same diameter."),
    "width": ("width_fit", "A hub is as wide as the dropouts that hold it."),
    "pitch": ("pitch_fit", "Axle and thread have the same pitch: another one strips it."),
    "length": ("axle_length_fit", "An axle reaches through its thread and no further."),
}


def axles(sheets: Sheets) -> Iterator[Finding]:
    """Both axles against what holds them, and against the thread named with their torque."""
    bike = sheets.bike
    yield from _end("front", bike.axle.front, bike.fork, "fork")
    yield from _end("rear", bike.axle.rear, bike.frame, "frame")
    for end in ("front", "rear"):
        axle: Axle = getattr(bike.axle, end)
        joint = bike.fastener.get(f"{end}_axle")
        if joint is not None and joint.thread is not None:
            yield from _thread(end, axle, joint.thread)


def _end(end: End, axle: Axle, part: Fork | Frame, name: str) -> Iterator[Finding]:
    for what, (limit, rule) in _FIT.items():
        own: Quantity | None = getattr(axle, what)
        seat: Quantity | None = getattr(part, f"axle_{what}")
        if own is None or seat is None:
            continue
        if abs(own.value - seat.value) > rules.rule(limit).value + 1e-9:
            fields = (f"bike.axle.{end}.{what}", f"bike.{name}.axle_{what}")
            facts = (
                f"{end} axle: {_WORDS[what]} {_mm(own.value)}",
                f"the {name} is made for {_mm(seat.value)}",
            )
            yield _clash(f"axle-{what}", facts, rule, name, fields)
    if axle.head is not None and part.axle_head is not None and axle.head != part.axle_head:
        facts = (f"{end} axle: {axle.head} head", f"the {name}'s seat: {part.axle_head}")
        rule = "The axle's head bears on a seat of its own shape, or on its edge alone."
        fields = (f"bike.axle.{end}.head", f"bike.{name}.axle_head")
        yield _clash("axle-head", facts, rule, name, fields)


def _clash(
    code: str,
    facts: tuple[str, ...],
    rule: str,
    name: str,
    fields: tuple[str, ...],
    severity: Severity = "stop",
) -> Finding:
    do = f"Read both again, and fit the axle and hub that this {name}'s maker names."
    return Finding(code, severity, facts, rule, do, fields)


def _thread(end: str, axle: Axle, written: str) -> Iterator[Finding]:
    """The thread beside the torque is that of the axle."""
    match = re.fullmatch(r"M(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)", written, re.I)
    if match is None:
        return
    for what, text in (("diameter", match[1]), ("pitch", match[2])):
        own: Quantity | None = getattr(axle, what)
        if own is None or axle.kind not in ("tool", "lever"):
            continue
        if abs(own.value - float(text) / 1000) > rules.rule(_FIT[what][0]).value + 1e-9:
            yield _clash(
                f"axle-{what}",
                (f"{end} axle: {_WORDS[what]} {_mm(own.value)}", f"its thread: {written}"),
                _FIT[what][1],
                "frame" if end == "rear" else "fork",
                (f"bike.axle.{end}.{what}", f"bike.fastener.{end}_axle.thread"),
            )


def _mm(length: float) -> str:
    return show(length, "mm", 0.05)
