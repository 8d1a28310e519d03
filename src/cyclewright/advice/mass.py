"""What the bike carries against the most that its maker allows."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from cyclewright.knowledge.defaults import fill
from cyclewright.setting import Finding, Question

if TYPE_CHECKING:
    from cyclewright.sheets.sheets import Sheets

Said = Iterator[Finding | Question]


def mass(sheets: Sheets) -> Said:
    """Rider, kit and, where the limit counts it, the bike under the maker's limit."""
    bike = sheets.bike
    carried = _carried(sheets)
    if bike.mass_limit is None:
        yield Question(
            "bike.mass_limit",
            "What is the most mass that the maker allows on the bike?",
            "A bike outside its mass limit is not released, and nobody may guess the limit.",
        )
        return
    if carried is None:
        return
    limit = bike.mass_limit.value
    riding, words = carried
    if riding > limit + 1e-9:
        yield _over(riding, words, limit)
    elif bike.mass_limit_includes_bike is not False:
        yield from _with_bike(sheets, riding, words, limit)


def too_heavy(sheets: Sheets) -> tuple[Finding, ...]:
    """What rider, kit and, where the limit counts it, the bike weigh beyond the maker's limit."""
    return tuple(item for item in mass(sheets) if isinstance(item, Finding))


def _with_bike(sheets: Sheets, riding: float, words: str, limit: float) -> Said:
    """The limit holds without the bike; with it, the bike's own mass may decide."""
    bike = sheets.bike
    if bike.mass is None:
        if bike.mass_limit_includes_bike:
            yield Question(
                "bike.mass",
                "What does the bike weigh, pedals on?",
                "The maker's mass limit counts the bike itself.",
            )
        elif riding + _HEAVY_BIKE > limit:
            yield _ask_includes()
        return
    total = riding + bike.mass.value
    if total <= limit + 1e-9:
        return
    if bike.mass_limit_includes_bike:
        yield _over(total, f"{words} and the bike's {bike.mass.value:.1f} kg", limit)
    else:
        yield _ask_includes()


_HEAVY_BIKE = 30.0


def _ask_includes() -> Question:
    return Question(
        "bike.mass_limit_includes_bike",
        "Does the maker's mass limit count the bike itself?",
        "With this rider it decides whether the bike may be released.",
        ("true", "false"),
    )


def _over(total: float, words: str, limit: float) -> Finding:
    return Finding(
        "mass-limit",
        "stop",
        (f"carried: {total:.1f} kg ({words})", f"the maker's limit: {limit:.1f} kg"),
        "A bike over its maker's mass limit is not released; nobody can override it.",
        f"Choose a bike with a limit of at least {math.ceil(total)} kg, or less kit.",
        ("bike.mass_limit", "bike.mass_limit_includes_bike", "rider.mass", "rider.kit_mass"),
    )


def _carried(sheets: Sheets) -> tuple[float, str] | None:
    """Mass on the bike [kg] and what it is made of."""
    rider = sheets.rider
    if rider is None or rider.mass is None:
        return None if sheets.mass is None else (sheets.mass.value, "the stated mass")
    if rider.mass_includes_kit:
        return rider.mass.value, "rider with kit"
    if rider.kit_mass is not None:
        return rider.mass.value + rider.kit_mass.value, "rider and kit"
    filled = fill(sheets)
    kit, taken = filled.sheets.rider, filled.default("rider.kit_mass")
    if kit is None or kit.kit_mass is None or taken is None:
        return rider.mass.value, "rider"
    return rider.mass.value + kit.kit_mass.value, f"rider and {taken.text} of kit ({taken.because})"
