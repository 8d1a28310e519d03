"""What an event says, in one sentence without personal facts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cyclewright.record.events import Event


def tell(event: Event) -> str:
    """The event as a short sentence; measured values as they were written."""
    if not event.known:
        return f"{event.kind}: made by a newer version"
    return _TOLD[event.kind].format_map(event.data) + _evidence(event.data)


_TOLD = {
    "shop-made": "shop made",
    "person-added": "person added",
    "visit-opened": "visit opened: {visit}",
    "planned": "planned",
    "step-done": "{step}: done",
    "step-put-off": "{step}: put off, {reason}",
    "step-problem": "{step}: problem, {problem}",
    "joint-touched": "touched: {why}",
    "sheet-changed": "{why}",
    "reading-taken": "{kind} read",
    "setting-made": "{name} set",
    "event-undone": "event {number} undone",
    "gate-passed": "{gate} gate passed",
    "released": "released",
    "head-signed": "event {number} signed",
    "carton-arrived": "carton arrived {arrived}",
    "carton-damaged": "damage {where}",
    "damage-settled": "damage {damage} settled, {how}: {what}",
    "parts-ticked": "parts ticked",
    "part-expected": "{part}: promised for {date}",
    "part-arrived": "{part}: arrived {date}",
    "packing-kept": "packing kept",
    "claim-sent": "claim sent {date}",
    "serial-read": "serial {serial}",
    "role-given": "person {person} is {role}",
    "pin-set": "PIN of person {person} set",
    "item-overridden": "{item} overridden at the {gate} gate: {reason}",
    "erased": "personal facts erased: {reason}",
    "part-fitted": "{part} fitted",
    "part-removed": "{part} taken off",
    "recall-opened": "recall {recall} opened: {why}",
    "recall-lifted": "recall {recall} lifted: {reason}",
    "recall-cleared": "recall {recall} settled on this bike: {reason}",
    "tool-kept": "torque tool {name} kept",
    "tool-retired": "torque tool {tool} retired: {reason}",
    "finding-made": "finding {finding}, {severity}",
    "finding-quoted": "finding {finding}: {work} quoted",
    "finding-put-right": "finding {finding} put right: {what}",
    "work-declined": "work declined and signed: findings {findings}",
    "use-noted": "use noted, {date}",
    "care-done": "{item} done, {date}",
    "care-booked": "re-check booked for {date}",
    "pack-opened": "packing begun",
    "packed": "{step}: loosened for packing",
    "rebuild-opened": "rebuild begun",
    "rider-changed": "{why}",
}


def _evidence(data: Mapping[str, Any]) -> str:
    """The measured part of an event, in brackets."""
    evidence = data.get("evidence") or {}
    parts = [str(evidence[kind]["text"]) for kind in ("torque", "value") if kind in evidence]
    parts += [f"on the word of: {evidence['word']}"] if "word" in evidence else []
    parts += ["photo"] if "photo" in evidence or "photo" in data else []
    if isinstance(data.get("text"), str):
        parts.append(data["text"])
    told = f" ({', '.join(parts)})" if parts else ""
    return f"{told}, proves nothing: {data['unproved']}" if data.get("unproved") else told
