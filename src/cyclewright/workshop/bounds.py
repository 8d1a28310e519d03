"""How far a value recorded as set may go: the sheets' own limits, each with its owner."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from cyclewright import units
from cyclewright.setting import Limit

if TYPE_CHECKING:
    from cyclewright.sheets.bike import Fork, Shock
    from cyclewright.sheets.sheets import Sheets


_TYRE = ("any tyre", 0.2e5, 9e5)
_SEATING = ("any bead", 0.3e5, 5e5)
_SPRING, _COIL = ("any air spring", 0.0, 40e5), ("any coil", 1e3, 3e5)
_SAG, _DIAL = ("any ring", 0.0, 0.3), ("any dial", 0.0, 60.0)
POSSIBLE: dict[str, tuple[str, float, float]] = {
    "front_tyre_pressure": _TYRE,
    "rear_tyre_pressure": _TYRE,
    "saddle_height": ("any saddle", 0.25, 1.1),
    "post_insertion": ("any post", 0.02, 0.6),
    "front_tyre_seating": _SEATING,
    "rear_tyre_seating": _SEATING,
    **{
        f"{end}_{what}": ends
        for end in ("fork", "shock")
        for what, ends in (
            ("pressure", _SPRING),
            ("rate", _COIL),
            ("sag", _SAG),
            ("rebound", _DIAL),
            ("compression", _DIAL),
        )
    },
}
"""Between which a setting can be at all on a bike that is to be ridden, marked or not [SI]; a tyre
below its least is flat (judgement, as wide as the sheets' own ranges)."""


def bounds(sheets: Sheets) -> dict[str, tuple[Limit, ...]]:
    """Limits [SI] by setting name, makers' first; a setting without any limit has no key."""
    from cyclewright.advice.limits import tyre_limits
    from cyclewright.knowledge.defaults import fill

    nobody = sheets.rider is None and sheets.mass is None
    # No limit of a part rests on a mass, but the defaults want one.
    filled = fill(replace(sheets, mass=units.Quantity(80.0)) if nobody else sheets)
    found: dict[str, tuple[Limit, ...]] = {
        "front_tyre_pressure": tyre_limits(filled, "front"),
        "rear_tyre_pressure": tyre_limits(filled, "rear"),
        "front_tyre_seating": _seating(sheets, "front"),
        "rear_tyre_seating": _seating(sheets, "rear"),
        "post_insertion": _insertion(sheets),
    }
    bike = sheets.bike
    found |= _unit("fork", bike.fork, bike.fork.travel)
    found |= _unit("shock", bike.shock, bike.shock.stroke)
    for name, (owner, least, most) in POSSIBLE.items():
        ends = Limit(owner, "min", least), Limit(owner, "max", most)
        found[name] = (*found.get(name, ()), *ends)
    return found


def outside(name: str, value: float, limits: tuple[Limit, ...]) -> Limit | None:
    """The first limit that a value [SI] breaks by more than rounding, or None."""
    slack = 1e-6 * max(1.0, abs(value)) if "pressure" in name else 1e-9
    for limit in limits:
        over = value - limit.value if limit.kind == "max" else limit.value - value
        if over > slack:
            return limit
    return None


def told(limit: Limit, display: str, graduation: float) -> str:
    """The limit as a person reads it, rounded to the safe side of it.

    >>> told(Limit("the tyre's maker", "min", 139_900.0), "psi", 0.5)
    "at least 20.5 psi, the tyre's maker"
    """
    steps = units.convert(limit.value, display) / graduation
    whole = math.floor(steps + 1e-9) if limit.kind == "max" else math.ceil(steps - 1e-9)
    inside = whole * graduation / units.convert(1.0, display)
    word = "at most" if limit.kind == "max" else "at least"
    return f"{word} {units.show(inside, display, graduation)}, {limit.owner}"


UNMARKED_SEAT = 4e5
"""Most pressure to seat a bead by while neither tyre nor rim says its own [Pa] (judgement)."""


def _seating(sheets: Sheets, end: Literal["front", "rear"]) -> tuple[Limit, ...]:
    """The lowest of tyre, rim and, without hooks, the standard's: cold, on the bench."""
    from cyclewright.knowledge import rules

    tyre, wheel = getattr(sheets.bike.tyre, end), getattr(sheets.bike.wheel, end)
    stated = ((f"the {end} tyre's maker", tyre), (f"the {end} rim's maker", wheel))
    marked = [
        Limit(owner, "max", part.pressure_max.value)
        for owner, part in stated
        if part.pressure_max is not None
    ]
    if not marked:
        marked = [Limit("neither tyre nor rim marked", "max", UNMARKED_SEAT)]
    if wheel.hooked is False:
        hookless = rules.rule("hookless_pressure").value
        marked.append(Limit("ISO 5775-1, rims without hooks", "max", hookless))
    return tuple(sorted(marked, key=lambda limit: limit.value))


def _insertion(sheets: Sheets) -> tuple[Limit, ...]:
    """The deeper of the two marks, the frame's most, and no more than there is of the post."""
    frame, post = sheets.bike.frame, sheets.bike.post
    stated = (
        ("the frame's maker", "min", frame.insertion_min),
        ("the post's maker", "min", post.insertion_min),
        ("the frame's maker", "max", frame.insertion_max),
        ("the post's own length", "max", post.length),
    )
    return tuple(
        Limit(owner, "min" if kind == "min" else "max", value.value)
        for owner, kind, value in stated
        if value is not None
    )


def _unit(
    name: str, unit: Fork | Shock, travel: units.Quantity | None
) -> dict[str, tuple[Limit, ...]]:
    """Most pressure, most sag and most clicks of a fork or shock."""
    found: dict[str, tuple[Limit, ...]] = {}
    if unit.pressure_max is not None:
        limit = Limit(f"the {name}'s maker", "max", unit.pressure_max.value)
        found[f"{name}_pressure"] = (limit,)
    if travel is not None:
        found[f"{name}_sag"] = (Limit(f"all the {name} can move", "max", travel.value),)
    for dial in ("rebound", "compression"):
        counted = getattr(unit, f"{dial}_clicks")
        if counted is not None:
            owner = f"the {name}'s counted {dial} clicks"
            found[f"{name}_{dial}"] = (Limit(owner, "max", float(counted)),)
    return found
