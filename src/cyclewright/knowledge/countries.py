"""What a country asks of a bicycle: brake hands, fittings, electric drive and marks, each sourced.

What nobody read has no entry and is asked of an authority that is named; it is never guessed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, NamedTuple, get_args

from cyclewright import units
from cyclewright.knowledge.data import knowledge_error, table

FILE = "countries.toml"
Hands = Literal["front-left", "front-right"]
Basis = Literal["law", "standard", "practice"]
Sure = Literal["text", "summary", "told"]
When = Literal["sold", "ridden", "dark"]
Topic = Literal["hand", "fittings", "electric", "mark"]
TOPICS: tuple[Topic, ...] = get_args(Topic)
SURE_WORDS: Mapping[Sure, str] = {
    "text": "read in the rule's own words",
    "summary": "read in an authority's account of it",
    "told": "read second-hand, so have the rule itself looked at",
}
"""How well a rule was read, for a person."""
WHEN_WORDS: Mapping[When, str] = {
    "sold": "on a bicycle sold new",
    "ridden": "wherever it is ridden on the road",
    "dark": "in the dark",
}


class FrontHand(NamedTuple):
    """Which hand works the front brake, what that rests on, and the source."""

    hands: Hands
    basis: Basis
    source: str
    sure: Sure | None = None
    read: str = ""

    @property
    def words(self) -> str:
        """What the hand rests on, and how well that is known."""
        if self.basis == "practice":
            return "custom there" + ("" if self.sure else ", no rule read")
        return self.source + ("" if self.sure is None else f"; {SURE_WORDS[self.sure]}")


@dataclass(frozen=True, slots=True)
class Stated:
    """What a rule says, whose it is, how well and where it was read."""

    text: str
    source: str
    sure: Sure
    read: str

    @property
    def words(self) -> str:
        """The rule by its own name, and how well it was read."""
        return f"{self.source}; {SURE_WORDS[self.sure]}"


@dataclass(frozen=True, slots=True)
class Fitting(Stated):
    """Something that a bicycle must carry in a country."""

    name: str
    when: When


@dataclass(frozen=True, slots=True)
class Assist(Stated):
    """A class of electric drive that is a bicycle there: speed [m/s], power [W] where bounded."""

    name: str
    speed: float | None = None
    power: float | None = None
    throttle: bool = False
    """Whether the motor may drive it alone beyond walking speed."""


@dataclass(frozen=True, slots=True)
class Mark(Stated):
    """What is marked on a bicycle, or only on one with an electric drive."""

    drive: bool = False


@dataclass(frozen=True, slots=True)
class Country:
    """One country's row; `code` is its two-letter ISO 3166 code."""

    code: str
    name: str
    front: FrontHand | None
    note: str
    fittings: tuple[Fitting, ...]
    electric: tuple[Assist, ...]
    marks: tuple[Mark, ...]
    asks: Mapping[Topic, str]
    """Of whom each topic is asked that has no entry, or that an entry leaves open."""

    def stated(self, topic: Topic) -> bool:
        """Whether anything is on file on a topic."""
        entries: Mapping[Topic, object] = {
            "hand": self.front,
            "fittings": self.fittings,
            "electric": self.electric,
            "mark": self.marks,
        }
        return bool(entries[topic])


@lru_cache(maxsize=1)
def countries() -> dict[str, Country]:
    """Every country with a row, by code."""
    return {code: _country(code, row) for code, row in table(FILE).items() if len(code) == 2}


def country(code: object) -> Country | None:
    """The row of a country code, upper or lower case; None means ask."""
    return countries().get(code.strip().upper()) if isinstance(code, str) else None


def front_hand(code: object) -> FrontHand | None:
    """Which hand works the front brake there; None means ask.

    >>> front_hand("GB").hands
    'front-right'
    """
    found = country(code)
    return None if found is None else found.front


def whom_to_ask(code: object, topic: Topic) -> str:
    """Who knows what is not on file.

    >>> whom_to_ask("KE", "electric")
    'the authority that approves vehicles'
    """
    found = country(code)
    return found.asks[topic] if found is not None else _asks({})[topic]


@lru_cache(maxsize=1)
def tightest_speed() -> float:
    """The lowest speed at which help ends in any country on file [m/s]."""
    return min(
        one.speed for row in countries().values() for one in row.electric if one.speed is not None
    )


def _country(code: str, row: dict[str, Any]) -> Country:
    try:
        shared = table(FILE)["shared"].get(row.get("shared"), {})
        marks = row.get("mark", ())
        # What a union asks of every product stands beside a country's own mark.
        common = [shared["mark"]] if "mark" in shared else []
        drives = row.get("electric") or ([shared["electric"]] if "electric" in shared else ())
        return Country(
            code=code,
            name=row["name"],
            front=_front(code, row["front"]) if "front" in row else None,
            note=row.get("note", ""),
            fittings=tuple(Fitting(**item) for item in row.get("fitting", ())),
            electric=tuple(_assist(item) for item in drives),
            marks=tuple(Mark(**item) for item in (*marks, *common)),
            asks=_asks(row.get("ask", {})),
        )
    except (KeyError, TypeError) as error:
        raise knowledge_error(f"{FILE} [{code}]", f"put the row right: {error}") from error


def _front(code: str, row: dict[str, Any]) -> FrontHand:
    if row["hand"] not in get_args(Hands):
        raise knowledge_error(f"{FILE} [{code}]", "front is front-left or front-right")
    return FrontHand(row["hand"], row["basis"], row["source"], row.get("sure"), row.get("read", ""))


def _assist(row: dict[str, Any]) -> Assist:
    bounds: dict[str, Any] = {
        name: units.parse(row[name], name, name).value for name in ("speed", "power") if name in row
    }
    return Assist(**(row | bounds))


def _asks(own: Mapping[str, str]) -> dict[Topic, str]:
    general = table(FILE)["ask"]
    return {topic: own.get(topic, general[topic]) for topic in TOPICS}
