"""What the pivots of each kind of linkage are called on a sheet, and which must be there.

The sums have the same names; a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from cyclewright.errors import Problem
from cyclewright.sheets.bike import Rear

PIVOTS: Final = {
    "single-pivot": ("pivot",),
    "rocker": ("pivot", "link_arm", "link_rocker", "rocker_pivot"),
    "four-bar": ("pivot", "stay_pivot", "rocker_stay", "rocker_pivot"),
    "twin-link": ("lower_frame", "lower_rear", "upper_rear", "upper_frame"),
}
SHOCK_ENDS: Final = {
    "single-pivot": ("shock_frame", "shock_arm"),
    "rocker": ("shock_frame", "shock_arm", "shock_rocker"),
    "four-bar": ("shock_frame", "shock_arm", "shock_stay", "shock_rocker"),
    "twin-link": ("shock_frame", "shock_lower", "shock_rear", "shock_upper"),
}
AXLE: Final = "axle"
"""May be left out: chain stay and drop of the bottom bracket place it too."""


def problems(rear: Rear, path: str = "bike.rear") -> Iterator[Problem]:
    """Every pivot that is missing, misnamed or too many for the kind of linkage on the sheet."""
    if not rear.points:
        return
    if rear.linkage not in PIVOTS:
        do = f"name the kind of linkage that the pivots belong to: {', '.join(PIVOTS)}"
        yield Problem("points-without-kind", f"{path}.linkage", do, rear.linkage)
        return
    needed, ends = PIVOTS[rear.linkage], SHOCK_ENDS[rear.linkage]
    for name in needed:
        if name not in rear.points:
            do = f"is missing and wanted of a {rear.linkage} linkage: give its x and y"
            yield Problem("missing", f"{path}.points.{name}", do, unit="mm")
    for name in rear.points:
        if name not in (*needed, *ends, AXLE):
            do = f"a {rear.linkage} linkage has: {', '.join((*needed, *ends, AXLE))}"
            yield Problem("unknown-point", f"{path}.points.{name}", do)
    given = [name for name in ends if name in rear.points]
    if len(given) != 2:
        do = f"give the two points that hold the shock, out of: {', '.join(ends)}"
        yield Problem("shock-ends", f"{path}.points", do, ", ".join(given) or "none of them")
