"""The drive on paper: capacity, speeds, and a chain that reaches at its longest."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from cyclewright.knowledge import rules
from cyclewright.setting import Finding, Question

if TYPE_CHECKING:
    from cyclewright.sheets.bike import Bike
    from cyclewright.sheets.sheets import Sheets


Said = Iterator[Finding | Question]


def drive(sheets: Sheets) -> Said:
    """Derailleur capacity, sprockets against speeds, chain even and long enough."""
    given = sheets.bike.drive
    rings, sprockets = given.chainrings, given.sprockets
    if rings and sprockets and given.capacity is not None:
        asked = max(rings) - min(rings) + max(sprockets) - min(sprockets)
        if asked > given.capacity:
            yield Finding(
                "derailleur-capacity",
                "stop",
                (
                    f"chainrings and sprockets differ by {asked} teeth",
                    f"the derailleur takes up {given.capacity}",
                ),
                "The derailleur's capacity covers the teeth between largest and smallest.",
                "Fit a derailleur with more capacity, or sprockets that differ less.",
                ("bike.drive.capacity", "bike.drive.chainrings", "bike.drive.sprockets"),
            )
    if sprockets and given.speeds is not None and len(sprockets) != given.speeds:
        yield Finding(
            "speeds",
            "stop",
            (f"sprockets: {len(sprockets)}", f"the shifter knows: {given.speeds}"),
            "Shifter and sprockets have the same number of speeds.",
            "Find which of the two belongs to this bike before the cable is hooked in.",
            ("bike.drive.speeds", "bike.drive.sprockets"),
        )
    yield from _chain(sheets)


def _chain(sheets: Sheets) -> Said:
    given, chainstay = sheets.bike.drive, sheets.bike.frame.chainstay
    if given.chain_links is None:
        return
    if given.chain_links % 2:
        yield Finding(
            "chain-odd",
            "stop",
            (f"chain: {given.chain_links} pitches", "inner and outer links alternate"),
            "A chain has an even number of pitches, counting the joining link.",
            "Count again, the joining link included.",
            ("bike.drive.chain_links",),
        )
    if not given.chainrings or not given.sprockets or chainstay is None:
        return
    growth, how = chain_growth(sheets.bike)
    longest = chainstay.value + max(growth, 0.0)
    least = _pitches(max(given.chainrings), max(given.sprockets), longest)
    if given.chain_links >= least - 1e-9:
        return
    grows = sheets.bike.kind == "full-suspension"
    yield Finding(
        "chain-short",
        "stop",
        (
            f"chain: {given.chain_links} pitches",
            f"big to big at {_mm(longest)} of chain stay{how} needs {least:.1f}",
        ),
        "Around the largest ring and sprocket the chain reaches, at its longest"
        + (", and rear travel only lengthens it." if grows else "."),
        f"Fit a chain of {_even(least + rules.rule('chain_spare').value)} pitches or more"
        + (", measured with the spring out of action." if grows else "."),
        (
            "bike.drive.chain_links",
            "bike.drive.chainrings",
            "bike.drive.sprockets",
            "bike.frame.chainstay",
            *(("bike.rear.chain_growth",) if growth else ()),
        ),
    )


def chain_growth(bike: Bike) -> tuple[float, str]:
    """How much longer the chain stay gets in the travel [m], at its longest, and how that is known.

    Stated, or drawn: behind one main pivot the axle runs on a circle round it.
    """
    stated, travel = bike.rear.chain_growth, bike.rear.travel
    if stated is not None:
        return stated.value, f", {_mm(stated.value)} of growth included,"
    pivot = bike.rear.points.get("pivot")
    stay, drop = bike.frame.chainstay, bike.frame.bb_drop
    if bike.rear.linkage not in ("single-pivot", "rocker") or pivot is None:
        return 0.0, ""
    if None in (pivot.x, pivot.y, stay, drop, travel):
        return 0.0, ""
    x, y, length, fall, rise = (float(q) for q in (pivot.x, pivot.y, stay, drop, travel) if q)
    centre, axle = complex(x, y), complex(-math.sqrt(length**2 - fall**2), fall)
    arm = abs(axle - centre)
    heights = [axle.imag + rise * step / 40 for step in range(41)]
    if any(abs(height - y) >= arm for height in heights):
        return 0.0, ""
    path = [complex(x - math.sqrt(arm**2 - (h - y) ** 2), h) for h in heights]
    growth = max(abs(point) for point in path) - length
    return growth, f", {_mm(growth)} of growth round its pivot included,"


def _pitches(ring: int, sprocket: int, centres: float) -> float:
    """Open loop around two wheels: L = 2C + (N1+N2)/2 + ((N1−N2)/2π)²/C, in pitches."""
    c = centres / rules.rule("chain_pitch").value
    return 2 * c + (ring + sprocket) / 2 + ((ring - sprocket) / math.tau) ** 2 / c


def _even(pitches: float) -> int:
    whole = int(-(-pitches // 1))
    return whole + whole % 2


def _mm(length: float) -> str:
    return f"{length * 1000:.0f} mm"
