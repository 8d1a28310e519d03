"""Two figures that disagree: which wins and why, or the test that decides.

Every owner's limit holds, so of two ceilings the lowest and of two floors the deepest binds. Where
only one figure can be true, the mark on the part goes before the maker's booklet, that before a
standard, and that before a habit; where it can be measured on this bike, the measure goes first.
A habit never loosens a maker's figure, and never tightens it unseen: it is told and passed over.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from fnmatch import fnmatchcase
from functools import cache
from typing import Any, Literal

from cyclewright.errors import input_error
from cyclewright.knowledge.data import knowledge_error, table
from cyclewright.units import Quantity

FILE = "disputes.toml"
Whose = Literal["part", "law", "maker", "standard", "measured", "practice"]
Rule = Literal["lowest", "deepest", "rank", "test"]
Value = Quantity | int | str | bool

WHOSE_WORDS: dict[str, str] = {
    "part": "the mark on the part",
    "law": "the country's law",
    "maker": "the maker's booklet",
    "standard": "a published standard",
    "measured": "measured on this bike",
    "practice": "a habit",
}
_RANK: dict[str, int] = {
    "part": 0,
    "law": 1,
    "maker": 2,
    "standard": 3,
    "measured": 4,
    "practice": 5,
}


@dataclass(frozen=True, slots=True)
class Row:
    """What the knowledge says of disputes over some fields."""

    fields: tuple[str, ...]
    rule: Rule
    why: str
    source: str
    test: str = ""
    until: str = ""
    measured: bool = False


@dataclass(frozen=True, slots=True)
class Claim:
    """One figure and whose word it is."""

    value: Value
    whose: Whose

    @property
    def text(self) -> str:
        """The figure and its owner, in words."""
        value = self.value
        shown = value.text or f"{value.value:g}" if isinstance(value, Quantity) else str(value)
        return f"{shown} ({WHOSE_WORDS[self.whose]})"


@dataclass(frozen=True, slots=True)
class Verdict:
    """Which of two figures holds; `winner` is None while only the test can say."""

    field: str
    winner: Literal["a", "b", "both"] | None
    holds: str
    """The figure to work with, in words; empty while there is none."""
    rule: str
    because: str
    test: str
    source: str

    def to_json(self) -> dict[str, Any]:
        """The verdict as plain data."""
        return asdict(self)


RULE_WORDS: dict[str, str] = {
    "same": "the two agree",
    "habit": "a maker's figure goes before a habit",
    "lowest": "of two ceilings the lowest holds",
    "deepest": "of two floors the deepest holds",
    "rank": "the mark on the part, then the maker, then a standard, then a habit",
    "measured": "what is measured on this bike goes before paper",
    "test": "a test on this bike decides",
}


@cache
def rows() -> tuple[Row, ...]:
    """Every row, in the order in which they are tried."""
    found = []
    for row in table(FILE)["row"]:
        made = Row(**row | {"fields": tuple(row["fields"])})
        if made.rule == "test" and not made.test:
            raise knowledge_error(FILE, f"{made.fields[0]} names no test")
        found.append(made)
    return tuple(found)


def row(field: str) -> Row | None:
    """The row for a field, or None where only the rank of the words can say."""
    return next((r for r in rows() if any(_fits(field, name) for name in r.fields)), None)


def settle(field: str, a: Claim, b: Claim) -> Verdict:
    """Which of two claims on one field holds, and why.

    >>> mark, habit = Claim(Quantity(3.5e5, None, "3.5 bar"), "part"), Claim(
    ...     Quantity(3e5, None, "3 bar"), "practice")
    >>> settle("bike.wheel.front.pressure_max", mark, habit).holds
    '3.5 bar (the mark on the part)'
    """
    if type(a.value) is not type(b.value):
        raise input_error("two-kinds", field, "give both figures in the same way")
    found = row(field)
    test = found.test if found else _FALLBACK
    if _same(a, b):
        return _verdict(field, "both", a, "same", "Nothing has to be decided.", "", found)
    habit = _habit(a, b)
    if habit is not None and (found is None or found.rule != "test"):
        loser = b if habit == "a" else a
        because = f"{WHOSE_WORDS[loser.whose].capitalize()} yields to {_one(habit, a, b)}."
        return _verdict(field, habit, a if habit == "a" else b, "habit", because, test, found)
    if found is None or found.rule == "rank":
        return _by_rank(field, a, b, found, test)
    if found.rule == "test":
        return _by_test(field, a, b, found)
    winner = _extreme(a, b, found.rule)
    return _verdict(field, winner, a if winner == "a" else b, found.rule, found.why, test, found)


_FALLBACK = "Read both again on the part and in the maker's newest booklet; if they stand, ask it."


def _by_rank(field: str, a: Claim, b: Claim, found: Row | None, test: str) -> Verdict:
    why = found.why if found else "Only one of them can be true, and one of them is nearer to it."
    measured = {"a": a.whose == "measured", "b": b.whose == "measured"}
    if found is not None and found.measured and measured["a"] != measured["b"]:
        winner: Literal["a", "b"] = "a" if measured["a"] else "b"
        return _verdict(field, winner, a if measured["a"] else b, "measured", why, test, found)
    if a.whose == b.whose:
        because = f"Both are {WHOSE_WORDS[a.whose]}, so neither goes before the other."
        return _verdict(field, None, None, "test", because, test, found)
    winner = "a" if _RANK[a.whose] < _RANK[b.whose] else "b"
    return _verdict(field, winner, a if winner == "a" else b, "rank", why, test, found)


def _by_test(field: str, a: Claim, b: Claim, found: Row) -> Verdict:
    """The test decides; until it is done the safer figure may be named."""
    if not found.until:
        return _verdict(field, None, None, "test", found.why, found.test, found)
    safer = _extreme(a, b, "lowest" if found.until == "lowest" else "deepest")
    claim = a if safer == "a" else b
    verdict = _verdict(field, None, None, "test", found.why, found.test, found)
    holds = f"until then no more than {claim.text}"
    return Verdict(
        verdict.field, None, holds, verdict.rule, verdict.because, verdict.test, verdict.source
    )


def _verdict(
    field: str,
    winner: Literal["a", "b", "both"] | None,
    claim: Claim | None,
    rule: str,
    because: str,
    test: str,
    found: Row | None,
) -> Verdict:
    return Verdict(
        field,
        winner,
        "" if claim is None else claim.text,
        RULE_WORDS[rule],
        because,
        test,
        found.source if found else "common practice, no source",
    )


def _habit(a: Claim, b: Claim) -> Literal["a", "b"] | None:
    """The claim that is no habit, where the other one is."""
    if (a.whose == "practice") == (b.whose == "practice"):
        return None
    return "b" if a.whose == "practice" else "a"


def _one(winner: str, a: Claim, b: Claim) -> str:
    return WHOSE_WORDS[(a if winner == "a" else b).whose]


def _extreme(a: Claim, b: Claim, rule: str) -> Literal["a", "b"]:
    first, second = _number(a), _number(b)
    if rule == "lowest":
        return "a" if first <= second else "b"
    return "a" if first >= second else "b"


def _number(claim: Claim) -> float:
    if isinstance(claim.value, str):
        raise knowledge_error(FILE, "only numbers have a lowest and a deepest")
    return float(claim.value)


def _same(a: Claim, b: Claim) -> bool:
    if isinstance(a.value, Quantity) and isinstance(b.value, Quantity):
        return abs(a.value.value - b.value.value) <= 1e-9 * max(1.0, abs(a.value.value))
    return a.value == b.value


def _fits(field: str, pattern: str) -> bool:
    """Whether a field fits a pattern whose `*` stands inside one name."""
    own, wanted = field.split("."), pattern.split(".")
    pairs = zip(own, wanted, strict=True) if len(own) == len(wanted) else ()
    return len(own) == len(wanted) and all(fnmatchcase(name, part) for name, part in pairs)
