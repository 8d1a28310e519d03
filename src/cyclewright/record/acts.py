"""Acts: the events that were recorded in one go, found again by their UUIDs, and what undo takes.

The first event of an act carries the entry's own UUID; every other one a UUID that follows from
it. So an act is found again in every record, however old, without a word in any body.
"""

from __future__ import annotations

import uuid as uuids
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from cyclewright.record.events import Event

FOLLOWING = ("step", "planned", "part", "made", "gate", "signed", "damage", "quote")
"""Names by which an event follows from the first of its act."""
MOST_LINES = 200
"""Lines of a card that are recorded in one go at most."""


def follow(uuid: str, name: str) -> str:
    """A UUID that belongs to another: the same act resent gives the same events."""
    return str(uuids.uuid5(uuids.UUID(uuid), name))


@dataclass(frozen=True, slots=True)
class Act:
    """Everything that one person recorded in one go, in order of its numbers."""

    events: tuple[Event, ...]

    @property
    def first(self) -> Event:
        """The event that the act is named by."""
        return self.events[0]

    @property
    def number(self) -> int:
        """The number of its first event."""
        return self.first.number

    @property
    def numbers(self) -> tuple[int, ...]:
        """The numbers of all its events."""
        return tuple(event.number for event in self.events)

    @property
    def kinds(self) -> frozenset[str]:
        """The kinds of its events."""
        return frozenset(event.kind for event in self.events)

    @property
    def steps(self) -> tuple[str, ...]:
        """The steps it tells of."""
        return tuple(str(event.data["step"]) for event in self.events if "step" in event.data)

    def without(self, gone: frozenset[int]) -> Act | None:
        """What of it still counts; None when nothing does."""
        kept = tuple(event for event in self.events if event.number not in gone)
        return Act(kept) if kept else None


def acts(events: Sequence[Event]) -> tuple[Act, ...]:
    """The acts of a stream, in order of their first events."""
    place = {event.uuid: index for index, event in enumerate(events)}
    root = list(range(len(events)))

    def origin(index: int) -> int:
        while root[index] != index:
            root[index] = root[root[index]]
            index = root[index]
        return index

    for index, other in _ties(events, place):
        if events[index].by == events[other].by:
            one, two = sorted((origin(index), origin(other)))
            root[two] = one
    found: dict[int, list[Event]] = {}
    for index, event in enumerate(events):
        found.setdefault(origin(index), []).append(event)
    return tuple(Act(tuple(listed)) for listed in found.values())


def _ties(events: Sequence[Event], place: Mapping[str, int]) -> Iterator[tuple[int, int]]:
    """Pairs of events of which one follows from the other."""
    for index, event in enumerate(events):
        for name in FOLLOWING:
            other = place.get(follow(event.uuid, name))
            if other is not None:
                yield index, other
    for kind, run in groupby(range(len(events)), lambda index: events[index].kind):
        if kind in ("step-done", "packed", "setting-made"):
            yield from _lines(events, list(run))


def _lines(events: Sequence[Event], run: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Lines of one card: any of them may carry the UUID that the others follow from."""
    names = {index: str(events[index].data.get("step") or events[index].data["name"])
             for index in run}  # fmt: skip
    for at, index in enumerate(run):
        for other in run[max(0, at - MOST_LINES) : at + MOST_LINES]:
            if other != index and events[other].uuid == follow(events[index].uuid, names[other]):
                yield index, other


def undone(events: Iterable[Event]) -> frozenset[int]:
    """The numbers of the events that do not count: taken back by an undo that itself counts."""
    gone: set[int] = set()
    for event in sorted(events, key=lambda event: -event.number):
        if event.kind == "event-undone" and event.known and event.number not in gone:
            gone.update(int(number) for number in event.data["numbers"])
    return frozenset(gone)
