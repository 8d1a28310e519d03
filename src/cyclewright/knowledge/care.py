"""What comes due after a bike was handed over, and where its parts are worn out."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from cyclewright.knowledge.conditions import Condition, Facts, conditions_from, holds
from cyclewright.knowledge.data import knowledge_error, table

FILE = "care.toml"


@dataclass(frozen=True, slots=True)
class Item:
    """Something that comes due."""

    id: str
    name: str
    do: str
    at_rides: tuple[int, ...]
    every_rides: int | None
    every_hours: float | None
    every_days: int | None
    step: str
    """The step of a plan that does it too."""
    applies: tuple[Condition, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Wear:
    """A reading that wears towards a limit [SI], and how well it is read."""

    kind: str
    part: str
    name: str
    how: str
    """How it is measured."""
    unit: str
    display: str
    graduation: float
    limit: float | None
    """The labelled default; the least it can be where `share` is given."""
    share: float | None
    """The limit as a share of the first reading, taken as that of a new part."""
    field: str
    """Sheet field with the limit; it wins over the default."""
    most: float
    """More than this no such part ever reads."""
    grows: bool
    stop: bool
    """Whether nobody rides on it once it is worn out."""
    spread: float
    whose: str
    source: str
    variants: tuple[tuple[tuple[Condition, ...], float, str], ...]
    """Facts of the bike under which the default is another: they, limit, and whose."""
    item: str
    """The item of care that, done, says that a worn part was seen to."""


@cache
def items() -> tuple[Item, ...]:
    """Everything that comes due, in the file's order."""
    content = table(FILE)
    return tuple(_item(row, content["source"]) for row in content["item"])


@cache
def wears() -> tuple[Wear, ...]:
    """Every reading of wear."""
    content = table(FILE)
    return tuple(_wear(row, content["source"]) for row in content["wear"])


def chosen(facts: Facts) -> tuple[Item, ...]:
    """The items of a bike with these facts; an unknown fact leaves an item in."""
    return tuple(item for item in items() if holds(item.applies, facts) is not False)


def limit_of(wear: Wear, facts: Facts, first: float | None = None) -> tuple[float | None, str]:
    """The limit of a reading [SI] and whose it is: the sheet's, else the labelled default.

    `first` is the first reading since the part was new, for a limit that is a share of it.
    """
    stated = facts.get(wear.field) if wear.field else None
    if isinstance(stated, (int, float)):
        return float(stated), wear.whose
    limit, whose = wear.limit, wear.whose
    for when, other, told in wear.variants:
        if holds(when, facts):
            limit, whose = other, told
    if wear.share is not None and first is not None:
        limit = max(limit or 0.0, wear.share * first)
    return limit, f"{whose} ({wear.source})" if limit is not None else ""


def _item(row: dict[str, Any], source: str) -> Item:
    where = f"{FILE} [{row.get('id', '?')}]"
    try:
        return Item(
            row["id"],
            row["name"],
            row["do"],
            tuple(row.get("at_rides", ())),
            row.get("every_rides"),
            row.get("every_hours"),
            row.get("every_days"),
            row.get("step", ""),
            conditions_from(row.get("applies", []), where),
            row.get("source", source),
        )
    except KeyError as error:
        raise knowledge_error(where, f"put the row right: {error} is missing") from error


def _wear(row: dict[str, Any], source: str) -> Wear:
    where = f"{FILE} [{row.get('kind', '?')}]"
    try:
        return Wear(
            row["kind"],
            row["part"],
            row["name"],
            row["how"],
            row["unit"],
            row["display"],
            row["graduation"],
            row.get("limit"),
            row.get("share"),
            row.get("field", ""),
            row["most"],
            row["grows"],
            row.get("stop", False),
            row["spread"],
            row["whose"],
            row.get("source", source),
            tuple(
                (conditions_from(over["when"], where), over["limit"], over["whose"])
                for over in row.get("variant", ())
            ),
            row["item"],
        )
    except KeyError as error:
        raise knowledge_error(where, f"put the row right: {error} is missing") from error
