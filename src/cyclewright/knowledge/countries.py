"""What the law or custom of a country asks of a bicycle: brake hands and fittings."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, NamedTuple

from cyclewright.knowledge.data import knowledge_error, table

FILE = "countries.toml"
Hands = Literal["front-left", "front-right"]


class FrontHand(NamedTuple):
    """Which hand works the front brake, what that rests on, and the source."""

    hands: Hands
    basis: Literal["law", "practice"]
    source: str


@dataclass(frozen=True, slots=True)
class Fitting:
    """Something that a bicycle must carry in a country."""

    name: str
    text: str
    basis: Literal["law", "practice"]
    source: str


@dataclass(frozen=True, slots=True)
class Country:
    """One country's row; `code` is its two-letter ISO 3166 code."""

    code: str
    name: str
    front: FrontHand
    note: str
    fittings: tuple[Fitting, ...]


@lru_cache(maxsize=1)
def countries() -> dict[str, Country]:
    """Every country with a row, by code."""
    return {code: _country(code, row) for code, row in table(FILE).items()}


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


def _country(code: str, row: dict[str, Any]) -> Country:
    try:
        hands = row["front"]
        if hands not in ("front-left", "front-right"):
            raise knowledge_error(f"{FILE} [{code}]", "front is front-left or front-right")
        return Country(
            code,
            row["name"],
            FrontHand(hands, row["basis"], row["source"]),
            row.get("note", ""),
            tuple(Fitting(**item) for item in row.get("fitting", ())),
        )
    except (KeyError, TypeError) as error:
        raise knowledge_error(f"{FILE} [{code}]", f"put the row right: {error}") from error
