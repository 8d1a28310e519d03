"""Changes being tried on the bike page: steps of one field added up, typed values on top."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

_CHANGE = re.compile(r"\s*([^=+\s]{1,200})\s*(\+=|=)\s*(.{1,200}?)\s*", re.S)
_NUMBER = re.compile(r"([+-]?\d*\.?\d+)\s*(.*)", re.S)
MOST = 60
"""Changes tried at once: as many as there can be facts to look up."""


@dataclass(frozen=True, slots=True)
class Tried:
    """One field's change: `FIELD=VALUE` or `FIELD+=VALUE`."""

    field: str
    adds: bool
    value: str

    @property
    def text(self) -> str:
        """The change as the use cases read it."""
        return f"{self.field}{'+=' if self.adds else '='}{self.value}"


def settle(texts: Sequence[str]) -> tuple[Tried, ...]:
    """One change a field, in order: steps add up, a typed value replaces, a sum of zero goes.

    >>> [item.text for item in settle(["bike.a+=5 mm", "bike.a+=5 mm", "bike.b=2 mm"])]
    ['bike.a+=10 mm', 'bike.b=2 mm']
    >>> settle(["bike.a+=5 mm", "bike.a+=-5 mm"])
    ()
    """
    found: dict[str, Tried] = {}
    for text in texts:
        match = _CHANGE.fullmatch(text)
        if match is None:
            found[text] = Tried(text, False, "")
            continue
        made = Tried(match[1], match[2] == "+=", match[3])
        found[made.field] = _joined(found.get(made.field), made)
    kept = (item for item in found.values() if not _nothing(item))
    return tuple(kept)[:MOST]


def texts(tried: Sequence[Tried]) -> tuple[str, ...]:
    """The changes as the use cases read them; what could not be read is passed on as it was."""
    return tuple(item.text if item.value else item.field for item in tried)


BY_HAND = "set."
"""What stands before a setting's name that is tried as made by hand, beside sheet fields."""


def parted(tried: Sequence[Tried]) -> tuple[tuple[str, ...], dict[str, str]]:
    """Changes of the sheets, and settings made by hand by name.

    >>> parted(settle(["bike.a=5 mm", "set.fork_pressure=60 psi"]))
    (('bike.a=5 mm',), {'fork_pressure': '60 psi'})
    """
    sheets = [item for item in tried if not item.field.startswith(BY_HAND)]
    made = {
        item.field.removeprefix(BY_HAND): item.value
        for item in tried
        if item.field.startswith(BY_HAND)
    }
    return texts(sheets), made


def _joined(before: Tried | None, after: Tried) -> Tried:
    """A step after a step or a typed value is their sum, when both carry the same unit."""
    if before is None or not after.adds:
        return after
    left, right = _NUMBER.fullmatch(before.value), _NUMBER.fullmatch(after.value)
    if left is None or right is None or left[2].strip() != right[2].strip():
        return after
    total = round(float(left[1]) + float(right[1]), 9)
    return Tried(before.field, before.adds, f"{total:.10g} {right[2]}".strip())


def _nothing(item: Tried) -> bool:
    """Whether a step adds nothing."""
    match = _NUMBER.fullmatch(item.value)
    return item.adds and match is not None and float(match[1]) == 0
