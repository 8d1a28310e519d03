"""The parts of a bicycle by what people call them, and what each holds up while it is not right.

Names are free text of people: they match by their words, whatever the order of the side, the
number and the spelling.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Set
from dataclasses import dataclass
from functools import cache
from typing import Any

from cyclewright.knowledge.data import knowledge_error, table

FILE = "parts.toml"
ENDS = ("front", "rear")
SIDES = (*ENDS, "left", "right")
UNKNOWN = "parts"
"""The gate item that a part holds which no row knows."""
ALL = "*"
"""Every joint of the bike."""
FIRST_RIDE = "car-park-ride"
"""The step that proves a part that is ridden on, last of all."""
_SPELLED = {
    "disk": "disc",
    "tire": "tyre",
    "calliper": "caliper",
    "back": "rear",
    "derailer": "derailleur",
}
_PARTED = re.compile(r"\s+and\s+|\s+with\s+|[,&+/;]")
_SPARE = ("spare", "extra")
_KEYS = {"id", "names", "joints", "rear_joints", "steps", "ride", "release", "covers", "source"}


@dataclass(frozen=True, slots=True)
class Kind:
    """A row: what a part is called, what it opens, and what it holds up."""

    id: str
    names: tuple[tuple[str, ...], ...]
    joints: tuple[str, ...]
    rear_joints: tuple[str, ...]
    steps: tuple[str, ...]
    ride: tuple[str, ...]
    release: tuple[str, ...]
    covers: tuple[str, ...]
    """Rows of what comes on with it."""
    source: str


@dataclass(frozen=True, slots=True)
class Part:
    """What a name means: the row and the side that was said; without a row nobody knows it."""

    words: tuple[str, ...]
    kind: Kind | None = None
    side: str = ""
    spare: bool = False

    @property
    def joints(self) -> tuple[str, ...]:
        """Joints that are opened as it comes off or on."""
        if self.kind is None or self.spare:
            return ()
        ends = (self.side,) if self.side in ENDS else ENDS
        named = [joint.format(end=end) for end in ends for joint in self.kind.joints]
        rear = self.kind.rear_joints if "rear" in ends else ()
        return tuple(dict.fromkeys((*named, *rear)))

    @property
    def place(self) -> str:
        """Where it sits: its row, and the end where one was said; empty for what nobody knows."""
        if self.kind is None or self.spare:
            return ""
        return f"{self.kind.id} {self.side}" if self.side in ENDS else self.kind.id

    @property
    def steps(self) -> tuple[str, ...]:
        """Steps to be done again that no joint reaches: the first ride with what is ridden on."""
        if self.kind is None or self.spare:
            return ()
        return (*self.kind.steps, *((FIRST_RIDE,) if self.kind.ride else ()))

    def items(self, gate: str) -> tuple[str, ...]:
        """Items that it holds at a gate: what nobody rides without is held at both."""
        if self.spare:
            return ()
        if self.kind is None:
            return (UNKNOWN,)
        return self.kind.ride if gate == "ride" else (*self.kind.ride, *self.kind.release)

    def takes_place_of(self, gone: Part) -> bool:
        """Whether this one, fitted, ends what was said of the other."""
        if self.kind is None or gone.kind is None:
            return self.words == gone.words
        fits = self.kind is gone.kind or gone.kind.id in self.kind.covers
        return fits and self.side in ("", gone.side)


def alike(one: str, other: str) -> bool:
    """Whether two names may mean one part: a side that was not said may be either.

    >>> alike("front disc", "Rotor, front"), alike("brake lever", "front brake lever")
    (True, True)
    >>> alike("front rotor", "rear rotor"), alike("rotor", "stem")
    (False, False)
    """
    for a in named(one):
        for b in named(other):
            ends = {side for side in (a.side, b.side) if side in ENDS}
            if a.kind is not None and a.kind is b.kind and a.kind.ride and len(ends) < 2:
                return True
    return False


def named(text: str) -> tuple[Part, ...]:
    """The parts that a line of a packing list names; one that nobody knows stands for itself.

    >>> [part.kind.id for part in named("frame and fork")]
    ['frame', 'fork']
    >>> named("Rotor (front)")[0].joints, named("flux thing")[0].items("ride")
    (('front_rotor',), ('parts',))
    """
    whole = _known(_words(text))
    if whole is not None:
        return (whole,)
    pieces = [words for piece in _PARTED.split(text.casefold()) if (words := _words(piece))]
    found = [_known(words) or _inside(words) or Part(tuple(words)) for words in pieces]
    return tuple(found) or (Part(()),)


def told(text: str) -> tuple[Part, ...]:
    """Every part that a sentence about damage names and that holds something."""
    words, found, at = _words(text), [], 0
    while at < len(words):
        fit = _longest(words, at)
        if fit is None:
            at += 1
            continue
        kind, length = fit
        near = words[max(0, at - 2) : at] + words[at + length : at + length + 1]
        side = next((word for word in near if word in SIDES), "")
        if kind.ride or kind.release:
            found.append(Part(kind.names[0], kind, side))
        at += length
    return tuple(dict.fromkeys(found))


def on_bike(joints: Set[str], steps: Set[str]) -> frozenset[str]:
    """The places of parts that a bike has, by the joints and steps of its plan.

    >>> places = on_bike({"front_rotor", "stem_pinch"}, set())
    >>> sorted(place for place in places if place.startswith(("rotor", "stem")))
    ['rotor', 'rotor front', 'stem', 'stem front', 'stem rear']
    """
    found = (Part(kind.names[0], kind, side) for kind in kinds() for side in ("", *ENDS))
    return frozenset(
        part.place
        for part in found
        if part.joints == (ALL,)
        or joints & set(part.joints)
        or (not part.joints and part.kind is not None and steps & set(part.kind.steps))
    )


@cache
def kinds() -> tuple[Kind, ...]:
    """Every row, in the file's order."""
    content = table(FILE)
    return tuple(_kind(row, content["source"]) for row in content["part"])


@cache
def _by_name() -> dict[tuple[str, ...], Kind]:
    return {name: kind for kind in kinds() for name in kind.names}


def _known(words: list[str]) -> Part | None:
    """The part of exactly this name, its side said anywhere in it."""
    plain = [word for word in words if word not in _SPARE]
    spare = len(plain) < len(words)
    if (kind := _by_name().get(tuple(plain))) is not None:
        return Part(tuple(words), kind, "", spare)
    sides = [word for word in plain if word in SIDES]
    rest = tuple(word for word in plain if word not in SIDES)
    kind = _by_name().get(rest)
    if kind is None:
        return Part(tuple(words), None, "", True) if spare else None
    end = next((side for side in sides if side in ENDS), sides[0] if sides else "")
    return Part(tuple(words), kind, end, spare)


def _inside(words: list[str]) -> Part | None:
    """The last part named in a longer name: what stands last is what it is."""
    rest = [word for word in words if word not in SIDES]
    ends = [(at + fit[1], fit[1], fit[0]) for at in range(len(rest)) if (fit := _longest(rest, at))]
    if not ends:
        return None
    kind = max(ends, key=lambda end: end[:2])[2]
    sides = [word for word in words if word in SIDES]
    end = next((side for side in sides if side in ENDS), sides[0] if sides else "")
    return Part(tuple(words), kind, end)


def _longest(words: list[str], at: int) -> tuple[Kind, int] | None:
    """The longest name that begins at this word, and how many words it has."""
    for length in range(min(4, len(words) - at), 0, -1):
        if (kind := _by_name().get(tuple(words[at : at + length]))) is not None:
            return kind, length
    return None


def _words(text: str) -> list[str]:
    """The words of a name in one spelling, in the singular, without the small ones."""
    plain = (_singular(word) for word in re.findall(r"[^\W_]+", text.casefold()))
    return [
        word
        for word in (_SPELLED.get(word, word) for word in plain)
        if word not in ("the", "a", "of", "set")
    ]


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _kind(row: dict[str, Any], source: str) -> Kind:
    where = f"{FILE} [{row.get('id', '?')}]"
    if unknown := set(row) - _KEYS:
        raise knowledge_error(where, f"unknown keys: {', '.join(sorted(unknown))}")
    try:
        return Kind(
            row["id"],
            tuple(_split(row["names"])),
            tuple(row.get("joints", ())),
            tuple(row.get("rear_joints", ())),
            tuple(row.get("steps", ())),
            tuple(row.get("ride", ())),
            tuple(row.get("release", ())),
            tuple(row.get("covers", ())),
            row.get("source", source),
        )
    except KeyError as error:
        raise knowledge_error(where, f"put the row right: {error} is missing") from error


def _split(names: Iterable[str]) -> list[tuple[str, ...]]:
    """Names as they are compared."""
    return [tuple(_words(name)) for name in names]
