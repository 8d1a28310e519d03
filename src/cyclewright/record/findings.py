"""Findings on a bike: what is not as it should be, its quote, and what became of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from cyclewright.record.carton import photos
from cyclewright.record.events import Event

Severity = Literal["stop", "warn", "note"]
SEVERITIES: tuple[Severity, ...] = ("stop", "warn", "note")


@dataclass(frozen=True, slots=True)
class Found:
    """A finding on the bike for life, until it is put right or, where that may be, declined."""

    id: int
    text: str
    severity: Severity
    point: str
    photos: tuple[str, ...]
    number: int
    by: int | None
    at: str
    work: str = ""
    price: str = ""
    quoted: str = ""
    """When its work was quoted, empty while it was not."""
    status: Literal["open", "put-right", "declined"] = "open"
    settled: str = ""
    """What was done, or in whose hand it was declined."""
    settled_number: int = 0
    signature: str = ""

    @property
    def holds_up(self) -> bool:
        """Whether it keeps the bike from being released.

        A customer may decline work; a finding that stops the bike stops it all the same.
        """
        return self.status == "open" or (self.status == "declined" and self.severity == "stop")


Findings = Mapping[int, Found]


def _made(findings: Findings, event: Event) -> Findings:
    data = event.data
    found = Found(
        data["finding"],
        data["text"],
        data["severity"],
        data["point"],
        photos(data),
        event.number,
        event.by,
        event.server_time,
    )
    return {**findings, found.id: found}


def _quoted(findings: Findings, event: Event) -> Findings:
    data = event.data
    return _with(
        findings,
        [data["finding"]],
        work=data["work"],
        price=data["price"],
        quoted=event.server_time,
    )


def _put_right(findings: Findings, event: Event) -> Findings:
    data = event.data
    done = {"status": "put-right", "settled": data["what"], "settled_number": event.number}
    return _with(findings, [data["finding"]], **done)


def _declined(findings: Findings, event: Event) -> Findings:
    data = event.data
    done = {
        "status": "declined",
        "settled": "declined and signed",
        "settled_number": event.number,
        "signature": data["signature"]["attachment"],
    }
    return _with(findings, data["findings"], **done)


def _with(findings: Findings, chosen: Iterable[int], **changes: Any) -> Findings:
    changed = {n: replace(findings[n], **changes) for n in chosen if n in findings}
    return {**findings, **changed}


APPLIED: dict[str, Callable[[Findings, Event], Findings]] = {
    "finding-made": _made,
    "finding-quoted": _quoted,
    "finding-put-right": _put_right,
    "work-declined": _declined,
}
"""Kind of event to what it makes of the findings."""
