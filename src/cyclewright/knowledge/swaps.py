"""Parts that are swapped: the joints that it opens, and the fields that say which one is on."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from cyclewright.knowledge.data import knowledge_error, table
from cyclewright.knowledge.fasteners import fasteners

FILE = "swaps.toml"


@dataclass(frozen=True, slots=True)
class Swap:
    """One part that can be swapped."""

    part: str
    words: tuple[str, ...]
    """What else it is called."""
    joints: tuple[str, ...]
    """Joints that are opened to take one off and put another on."""
    fields: tuple[str, ...]
    """Fields of the bike's sheet that say what is on."""


@lru_cache(maxsize=1)
def swaps() -> dict[str, Swap]:
    """Every part that can be swapped, by its name."""
    rows = {name: row for name, row in table(FILE).items() if name != "source"}
    found = {
        name: Swap(name, tuple(row["words"]), tuple(row["joints"]), tuple(row["fields"]))
        for name, row in rows.items()
    }
    for item in found.values():
        if strange := set(item.joints) - set(fasteners()):
            raise knowledge_error(FILE, f"name joints that exist, not {', '.join(sorted(strange))}")
    return found


def swap_of(text: str) -> Swap | None:
    """The part that a person means, however they spell it; None for one that nobody knows.

    >>> swap_of("Front-Disc").part
    'front rotor'
    """
    wanted = _plain(text)
    for item in swaps().values():
        if wanted in (_plain(item.part), *(_plain(word) for word in item.words)):
            return item
    return None


def _plain(text: str) -> str:
    return "".join(char for char in text.casefold() if char.isalnum())
