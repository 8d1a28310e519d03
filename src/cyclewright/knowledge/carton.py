"""Terms for a claim on a carrier: how soon hidden damage is told, by country and carriage."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from cyclewright.knowledge.data import knowledge_error, table

FILE = "carton.toml"


@dataclass(frozen=True, slots=True)
class Term:
    """Days within which hidden damage is told to the carrier, and whose term that is."""

    country: str
    carriage: str
    days: int
    source: str


@cache
def terms() -> tuple[Term, ...]:
    """The labelled defaults, the most general first."""
    try:
        return tuple(Term(**row) for row in table(FILE)["term"])
    except TypeError as error:
        raise knowledge_error(FILE, f"put the rows right: {error}") from error


def term(country: str, carriage: str) -> Term:
    """The default that fits best: country and carriage, then either alone, then neither.

    >>> term("de", "parcel").days, term("", "own").days
    (7, 3)
    """
    fitting = [
        row
        for row in terms()
        if row.country in ("", country.upper()) and row.carriage in ("", carriage)
    ]
    return max(fitting, key=lambda row: (bool(row.country) + bool(row.carriage), bool(row.country)))
