"""Acts as a person calls them: what was recorded in a few words, and when."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from cyclewright import units

if TYPE_CHECKING:
    from cyclewright.record.acts import Act
    from cyclewright.record.events import Event

LONGEST = 60
_PLANNED_AGAIN = "plan made again"


@dataclass(frozen=True, slots=True)
class ActView:
    """An act on record: what it is called, who recorded it when, and whether it counts."""

    number: int
    """Of its first event: the number that takes it back."""
    numbers: tuple[int, ...]
    kind: str
    name: str
    by: str
    at: str
    own: bool
    """Whether it is of the person who asks."""
    undone: bool = False

    @property
    def when(self) -> str:
        """The hour in this machine's zone, with the day when it is not today."""
        return clock(self.at)

    @property
    def line(self) -> str:
        """The act as a button says it: whose, if another's, what, when."""
        whose = "" if self.own else f"{self.by or 'nobody named'}: "
        return f"{whose}{self.name}, {self.when}"

    def to_json(self) -> dict[str, Any]:
        """The act as plain data."""
        plain = {name: getattr(self, name) for name in self.__slots__}
        return {**plain, "numbers": list(self.numbers), "when": self.when, "line": self.line}


def view(act: Act, whole: Act, people: Mapping[int, str], own: bool, undone: bool) -> ActView:
    """An act, or what of it still counts, as a person sees it; named by the `whole` of it."""
    first = act.first
    name, by = called(whole), people.get(first.by or 0, "")
    return ActView(
        first.number, act.numbers, whole.first.kind, name, by, first.server_time, own, undone
    )


def called(act: Act) -> str:
    """An act in a few words, with the value that was recorded.

    The lines of a card are counted; what follows from a change or a reading goes unsaid.
    """
    first = act.first
    words = _WORDS.get(first.kind, _told)(first)
    more = sum(event.kind == first.kind for event in act.events[1:])
    return f"{words} and {more} more" if more else words


def clock(stamp: str) -> str:
    """A server time as the hour, with the day when it is not today."""
    try:
        when = datetime.fromisoformat(stamp).astimezone()
    except ValueError:
        return stamp
    today = datetime.now().astimezone()
    if when.date() == today.date():
        return f"{when:%H:%M}"
    year = "" if when.year == today.year else f" {when.year}"
    return f"{when.day} {when:%B}{year}, {when:%H:%M}"


def clip(text: str) -> str:
    """A text that fits on a button.

    >>> clip("short"), clip("one word after another " * 4)
    ('short', 'one word after another one word after another one word after…')
    """
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1].rstrip()}…"


def _title(name: object) -> str:
    return str(name).replace("-", " ").replace("_", " ")


def _done(event: Event) -> str:
    evidence = event.data.get("evidence") or {}
    found = [str(evidence[kind]["text"]) for kind in ("torque", "value") if kind in evidence]
    told = ", ".join(found).replace("N.m", "N·m")
    return clip(f"{_title(event.data['step'])} {told}".strip())


def _reading(event: Event) -> str:
    data = event.data
    text = str((data.get("extra") or {}).get("text") or "")
    return clip(f"{_title(data['kind'])} {text or _shown(data, data['kind'])}")


def _setting(event: Event) -> str:
    data = event.data
    shown = str((data.get("extra") or {}).get("shown") or "")
    return clip(f"{_title(data['name'])} {shown or _shown(data, data['name'])}")


def _shown(data: Mapping[str, Any], name: str) -> str:
    from cyclewright.workshop.evidence import display_of

    return units.show(data["value"], *display_of(data["unit"], name))


def _told(event: Event) -> str:
    from cyclewright.record.telling import tell

    return clip(tell(event))


_WORDS: dict[str, Callable[[Event], str]] = {
    "step-done": _done,
    "step-put-off": lambda event: clip(
        f"{_title(event.data['step'])} put off, {event.data['reason']}"
    ),
    "step-problem": lambda event: clip(
        f"{_title(event.data['step'])}: problem, {event.data['problem']}"
    ),
    "reading-taken": _reading,
    "setting-made": _setting,
    "planned": lambda event: _PLANNED_AGAIN,
    "packed": lambda event: clip(f"{_title(event.data['step'])} loosened"),
}
"""Kind of event to the words for it; every other one is told as the history tells it."""
