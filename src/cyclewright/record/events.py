"""Events: the only thing the record is made of, and the exact bytes they are hashed as.

A bike has one append-only stream; stream 0 is the shop's own (its people). `number` counts
within a stream and is the only order. The body holds everything a person or a clock said; it is
stored as the very bytes that were hashed, so nothing is ever written out a second time.
"""

from __future__ import annotations

import hashlib
import json
import re
import uuid as uuids
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from cyclewright.errors import InputError, Integrity, Problem

SHOP = 0
"""The stream that belongs to the shop itself."""

GENESIS = b"\0" * 32
"""What the first event of a stream, and the first of the shop-wide sequence, follow."""

BODY_CAP = 4_000_000
"""Bytes one event may hold: sheets are capped at 1 MB each; photos are attachments."""

LONGEST_SUBJECT = 200

KINDS: dict[str, int] = {
    "shop-made": 1,
    "person-added": 1,
    "visit-opened": 1,
    "planned": 1,
    "step-done": 1,
    "step-put-off": 1,
    "step-problem": 1,
    "joint-touched": 1,
    "sheet-changed": 1,
    "reading-taken": 1,
    "setting-made": 1,
    "event-undone": 1,
    "gate-passed": 1,
    "released": 1,
    "head-signed": 1,
    "carton-arrived": 1,
    "carton-damaged": 1,
    "damage-settled": 1,
    "parts-ticked": 1,
    "part-expected": 1,
    "part-arrived": 1,
    "packing-kept": 1,
    "claim-sent": 1,
    "serial-read": 1,
    "role-given": 1,
    "pin-set": 1,
    "item-overridden": 1,
    "erased": 1,
    "part-fitted": 1,
    "part-removed": 1,
    "recall-opened": 1,
    "recall-lifted": 1,
    "recall-cleared": 1,
    "tool-kept": 1,
    "tool-retired": 1,
    "finding-made": 1,
    "finding-quoted": 1,
    "finding-put-right": 1,
    "work-declined": 1,
    "use-noted": 1,
    "care-done": 1,
    "care-booked": 1,
    "pack-opened": 1,
    "packed": 1,
    "rebuild-opened": 1,
    "rider-changed": 1,
}
"""Every kind of event this version knows, and the version of its data it writes."""

_TIME = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(:[0-9]{2}([.][0-9]{1,9})?)?"
    r"(Z|[+-][0-9]{2}:[0-9]{2})?"
)
"""A moment as browsers write it (ISO 8601)."""

Raiser = Callable[[dict[str, Any]], dict[str, Any]]
RAISERS: dict[tuple[str, int], Raiser] = {}
"""(kind, version) to the pure function that raises its data to the next version."""


@dataclass(frozen=True, slots=True)
class Draft:
    """What an author wants recorded; the store gives it a number, a time and a hash.

    `seen` is the last number the author had seen of this stream; None means the newest.
    """

    kind: str
    subject: str
    data: Mapping[str, Any]
    by: int | None = None
    uuid: str = field(default_factory=lambda: str(uuids.uuid4()))
    seen: int | None = None
    device_time: str | None = None


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened, as recorded."""

    stream: int
    number: int
    uuid: str
    kind: str
    version: int
    subject: str
    seen: int
    server_time: str
    device_time: str | None
    clock_set_back: bool
    by: int | None
    data: dict[str, Any]
    hash: bytes = b""

    @property
    def known(self) -> bool:
        """Whether this version of the program understands the event."""
        return self.version <= KINDS.get(self.kind, -1)


def fits_subject(subject: str) -> bool:
    """Whether every database can keep a subject: printable, and not endless."""
    return 0 < len(subject) <= LONGEST_SUBJECT and subject.isprintable()


def check(draft: Draft) -> None:
    """A subject that some database could not keep, and a time that is none, are InputErrors."""
    if not fits_subject(draft.subject):
        raise InputError(Problem("subject", draft.kind, "this cannot be recorded: name it shortly"))
    if draft.device_time is not None and not _TIME.fullmatch(draft.device_time):
        do = "send the phone's own time like 2031-05-24T09:00:00Z, or leave it out"
        raise InputError(Problem("device-time", "device_time", do, draft.device_time[:60]))


def encode(draft: Draft, seen: int, server_time: str, clock_set_back: bool) -> bytes:
    """The body of an event as the exact UTF-8 bytes that are hashed and stored."""
    content: dict[str, Any] = {
        "uuid": draft.uuid,
        "kind": draft.kind,
        "version": KINDS[draft.kind],
        "subject": draft.subject,
        "seen": seen,
        "server_time": server_time,
        "device_time": draft.device_time,
        "by": draft.by,
        "data": draft.data,
    }
    if clock_set_back:
        content["clock_set_back"] = True
    body = to_bytes(content, draft.kind)
    if len(body) > BODY_CAP:
        raise InputError(
            Problem("too-large", draft.kind, "record less text at once", f"{len(body)} bytes")
        )
    return body


def to_bytes(content: Any, field: str) -> bytes:
    """Canonical JSON bytes: keys sorted, no NaN, no lone surrogates."""
    try:
        text = json.dumps(
            content, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
        )
        return text.encode("utf-8")
    except (ValueError, TypeError) as error:
        raise InputError(
            Problem("not-recordable", field, f"this cannot be recorded: {error}")
        ) from None


def decode(stream: int, number: int, body: bytes, digest: bytes = b"") -> Event:
    """The event a stored body holds, its data raised to the newest version."""
    try:
        content = json.loads(body.decode("utf-8"))
        kind, version = str(content["kind"]), int(content["version"])
        data, version = raised(kind, version, content["data"])
        return Event(
            stream=stream,
            number=number,
            uuid=content["uuid"],
            kind=kind,
            version=version,
            subject=content["subject"],
            seen=content["seen"],
            server_time=content["server_time"],
            device_time=content["device_time"],
            clock_set_back=bool(content.get("clock_set_back", False)),
            by=content["by"],
            data=data,
            hash=digest,
        )
    except (ValueError, KeyError, TypeError, RecursionError):
        raise Integrity(
            Problem(
                "event-unreadable",
                _name(stream, number),
                "it is not as it was written: run `cyclewright verify` and restore a backup",
            )
        ) from None


def raised(kind: str, version: int, data: dict[str, Any]) -> tuple[dict[str, Any], int]:
    """Event data raised step by step to the newest version known here."""
    while (raiser := RAISERS.get((kind, version))) is not None:
        data, version = raiser(data), version + 1
    return data, version


def link(previous: bytes, stream: int, number: int, body: bytes) -> bytes:
    """SHA-256 over previous hash, stream, number and body, each with its length before it."""
    return _digest(previous, str(stream).encode(), str(number).encode(), body)


def chain(previous: bytes, sequence: int, event_hash: bytes) -> bytes:
    """The shop-wide chain: SHA-256 over the previous link, the sequence and the event's hash."""
    return _digest(previous, str(sequence).encode(), event_hash)


def signed_message(shop: str, stream: int, number: int, head: bytes) -> bytes:
    """What a release signs: which shop, which bike, how far, and the hash of it all."""
    return _digest(b"cyclewright release 1", shop.encode(), f"{stream}/{number}".encode(), head)


def attachments(data: Any) -> list[str]:
    """Addresses of all attachments that event data refers to, in order."""
    found: list[str] = []
    left = [data]
    while left:
        part = left.pop()
        if isinstance(part, str):
            continue
        if isinstance(part, Mapping):
            if isinstance(part.get("attachment"), str):
                found.append(part["attachment"])
            left.extend(reversed([*part.values()]))
        elif isinstance(part, (list, tuple)):
            left.extend(reversed(part))
    return found


def _digest(*parts: bytes) -> bytes:
    digest = hashlib.sha256()
    for part in parts:
        digest.update(len(part).to_bytes(8, "big"))
        digest.update(part)
    return digest.digest()


def _name(stream: int, number: int) -> str:
    return f"bike {stream} event {number}" if stream != SHOP else f"shop event {number}"
