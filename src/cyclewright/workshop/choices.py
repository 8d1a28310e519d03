"""What a page offers to choose from, and the brake hands in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.workshop.answers import Missing


@dataclass(frozen=True, slots=True)
class HandsAnswer:
    """Which hand works the front brake: `left`, `right` or None, on what basis and by whom."""

    front: str | None
    basis: str | None
    source: str
    change_needed: bool | None


def countries() -> tuple[tuple[str, str], ...]:
    """Code and name of every country, by name."""
    from cyclewright.sheets.country import names

    return tuple(sorted(names().items(), key=lambda row: row[1]))


def hands(sheets: Sheets) -> HandsAnswer:
    """The hand that is to work the front brake of this bike, for this rider, in this place."""
    from cyclewright.advice.brakes import HAND_WORDS
    from cyclewright.advice.brakes import hands as decide

    found = decide(sheets)
    front = None if found.wanted is None else HAND_WORDS[found.wanted]
    return HandsAnswer(front, found.basis, found.source, found.change_needed)


def written(sheets: Sheets, path: str) -> str | None:
    """A field as it is written on its sheet, None where nothing is."""
    from cyclewright.sheets.sheets import value_at

    if path == "rider.mass" and sheets.rider is None:
        return None if sheets.mass is None else sheets.mass.text
    if path.startswith("rider.") and sheets.rider is None:
        return None
    found = value_at(sheets, path)
    return None if found is None else str(getattr(found, "text", found))


def changed(sheets: Sheets, changes: Sequence[str]) -> Sheets:
    """The sheets with changes of the form `FIELD=VALUE` or `FIELD+=VALUE` made."""
    from cyclewright.sheets.sheets import change

    return change(sheets, changes)


def missing_words(rows: Iterable[Missing]) -> tuple[str, ...]:
    """What a gate misses, an item at a time, by what people call it."""
    called = gate_words()
    return tuple(dict.fromkeys(called.get(row.item, row.item.replace("-", " ")) for row in rows))


def gate_words() -> dict[str, str]:
    """What each gate item is called, by its id, in the gates' order."""
    from cyclewright.record.gates import HELD, ITEMS

    own = {
        "ride-gate": "ride gate",
        "problem": "problem noted at a step",
        "packed": "packed for a journey",
    }
    return own | {item.id: item.text for item in (*ITEMS, *HELD)}
