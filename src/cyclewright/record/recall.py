"""Parts a bike carries, by serial and batch, and which of them a recall is about."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import SequenceMatcher

from cyclewright.knowledge.parts import alike, named
from cyclewright.record.shop import Recall

PAIRS = (("front", "rear"), ("left", "right"))


@dataclass(frozen=True, slots=True)
class Fitted:
    """A part on a bike as it is marked; `part` says where it sits, like `front brake lever`."""

    part: str
    maker: str = ""
    model: str = ""
    serial: str = ""
    batch: str = ""
    number: int = 0
    """Event that recorded it; 0 for what only the sheet says."""
    fitted: int = 0
    """Event that says it was fitted; 0 for what was on the bike when its marks were read."""

    @property
    def words(self) -> str:
        """The part in a sentence."""
        named = " ".join(item for item in (self.maker, self.model) if item)
        return f"{self.part} ({named})" if named else self.part


@dataclass(frozen=True, slots=True)
class Cleared:
    """A recall settled on one bike: why, and by which event."""

    reason: str
    number: int
    by: int | None
    at: str


@dataclass(frozen=True, slots=True)
class Hit:
    """A part that a recall is about; not `sure` where a mark that decides was not recorded."""

    recall: int
    part: Fitted
    sure: bool
    why: str
    do: str

    def line(self) -> str:
        """The hit as one sentence."""
        if self.sure:
            return f"recall {self.recall}, {self.part.words}: {self.why}; {self.do}"
        return (
            f"recall {self.recall} may be about the {self.part.words}: {self.why}; its marks are "
            "not all recorded, or almost the recalled ones: read them off the part"
        )


def hits(
    recalls: Iterable[Recall], parts: Iterable[Fitted], cleared: Mapping[int, Cleared]
) -> tuple[Hit, ...]:
    """Parts that open recalls are about; what was settled counts until a part comes later."""
    listed = tuple(parts)
    found = []
    for recall in recalls:
        for part in listed:
            carries = _carries(recall, part)
            settled = cleared.get(recall.id)
            if carries is False or (settled is not None and part.number <= settled.number):
                continue
            found.append(Hit(recall.id, part, carries is True, recall.why, recall.do))
    return tuple(found)


def unmarked(
    recalls: Iterable[Recall], parts: Iterable[Fitted], has: Container[str]
) -> tuple[Fitted, ...]:
    """Parts that open recalls are about and that sit on the bike though nobody wrote them down.

    `has` are the places of its parts. One side on record says nothing of the other.
    """
    listed = [part for one in parts for part in named(one.part)]
    found: dict[str, Fitted] = {}
    for recall in recalls:
        for part in named(recall.part):
            known = {other.side for other in listed if other.kind is part.kind}
            if part.kind is None or "" in known or part.place not in has:
                continue
            both = next((pair for pair in PAIRS if known & set(pair)), ("",))
            for side in (part.side,) if part.side else both:
                if side not in known and replace(part, side=side).place in has:
                    name = recall.part if side == part.side else f"{side} {recall.part}"
                    found.setdefault(name, Fitted(name))
    return tuple(found.values())


def about(recall: Recall, part: Fitted) -> bool:
    """Whether a part is of the kind that the recall is about, whatever its marks."""
    return not recall.part or same(recall.part, part.part) or alike(recall.part, part.part)


def _carries(recall: Recall, part: Fitted) -> bool | None:
    """Whether it is one of the recalled parts; None where what was recorded cannot tell."""
    if not about(recall, part):
        return False
    named = [
        None if not mark or (near(wanted, mark) and not same(wanted, mark)) else same(wanted, mark)
        for wanted, mark in ((recall.maker, part.maker), (recall.model, part.model))
        if wanted
    ]
    if False in named:
        return False
    marks = [
        None if not mark else any(same(one, mark) for one in listed)
        for listed, mark in ((recall.batches, part.batch), (recall.serials, part.serial))
        if listed
    ]
    if marks and True not in marks:
        return None if None in marks else False
    return None if None in named and True not in marks else True


ALMOST = 0.8
"""Likeness of two names from which one may be the other misspelt (judgement)."""


def near(one: str, other: str) -> bool:
    """Whether one name may be the other misspelt.

    >>> near("Grellforks", "Grel forks"), near("Grellforks", "Hollow Forks")
    (True, False)
    """
    a, b = _plain(one), _plain(other)
    return min(len(a), len(b)) > 3 and SequenceMatcher(None, a, b).ratio() >= ALMOST


def same(one: str, other: str) -> bool:
    """Whether two marks are the same but for capitals, spaces and hyphens."""
    return _plain(one) == _plain(other)


def _plain(text: str) -> str:
    return "".join(char for char in text.casefold() if char.isalnum())
