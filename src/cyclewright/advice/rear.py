"""The rear end from its sheet: one leverage curve and the axle's path in the frame."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from cyclewright.advice.needed import given
from cyclewright.errors import InputError, Problem, RangeError
from cyclewright.mechanics import leverage, linkage
from cyclewright.mechanics.leverage import Leverage
from cyclewright.mechanics.linkage import Kind, Linkage
from cyclewright.setting import Finding
from cyclewright.sheets.bike import Bike
from cyclewright.solve.case import Array
from cyclewright.units import show

Places = tuple[tuple[str, tuple[float, float]], ...]
"""Points of a linkage by name, x and y from the bottom bracket [m]."""

_ROWS = 41
_STEPS = 257
"""Rows between which straight lines stay within 0.1 µm of the curve."""
STROKE_APART = 0.04
"""How far the pivots' stroke may be from the sheet's before it is said (judgement)."""


@dataclass(frozen=True, slots=True)
class RearEnd:
    """What the sums need of the rear suspension."""

    leverage: Leverage
    axle_path: Array | None
    spread: str
    """Name of the row that says how far the ratios may be off; empty where there is no shock."""


def rear_end(bike: Bike) -> RearEnd:
    """Leverage from the maker's table, else the pivots, else the mean; the path from the pivots."""
    if bike.kind != "full-suspension":
        return RearEnd(leverage.mean(1.0, 1.0), None, "")
    travel, stroke = given(bike.rear.travel).value, given(bike.shock.stroke).value
    led = _moved(bike)
    path = None if led is None else led.axle_path
    if bike.rear.leverage:
        rows = tuple(
            (given(row.travel).value, given(row.ratio).value) for row in bike.rear.leverage
        )
        return RearEnd(_table(rows, travel), path, "leverage.table")
    if led is not None:
        return RearEnd(led.leverage, path, "leverage.traced")
    return RearEnd(leverage.mean(travel, stroke), None, "leverage.mean")


def findings(bike: Bike) -> tuple[Finding, ...]:
    """Pivots whose shock moves otherwise than the sheet says."""
    led = _moved(bike)
    if led is None:
        return ()
    told, found = given(bike.shock.stroke).value, float(led.leverage.stroke[-1])
    if abs(found / told - 1.0) <= STROKE_APART:
        return ()
    return (
        Finding(
            "pivots-stroke",
            "warn",
            (
                f"the pivots move the shock by {show(found, 'mm', 0.1)} over the whole travel",
                f"its stroke is {show(told, 'mm', 0.1)}",
            ),
            "Pivots, travel and stroke must tell of one linkage.",
            "Measure the pivots again, or take them out: travel and stroke then count.",
            ("bike.rear.points", "bike.shock.stroke"),
        ),
    )


def pivots(bike: Bike) -> Linkage | None:
    """The linkage of the pivots on a filled sheet, None where it has none.

    An axle that the sheet leaves out lies where chain stay and drop put it.
    """
    places = _places(bike)
    return None if places is None else linkage.linkage(places[0], dict(places[1]))


def _places(bike: Bike) -> tuple[Kind, Places] | None:
    """Kind of linkage and its points from the bottom bracket [m]."""
    kind, points = bike.rear.linkage, bike.rear.points
    if bike.kind != "full-suspension" or not points or kind is None:
        return None
    if kind == "table" or kind == "mean":
        return None
    places = {name: (given(point.x).value, given(point.y).value) for name, point in points.items()}
    stay, drop = given(bike.frame.chainstay).value, given(bike.frame.bb_drop).value
    places.setdefault("axle", (-math.sqrt(stay**2 - drop**2), drop))
    return kind, tuple(places.items())


def _moved(bike: Bike) -> RearEnd | None:
    """Curve and path of the pivots on the sheet, None where it has none."""
    places = _places(bike)
    return None if places is None else _through(*places, given(bike.rear.travel).value)


@lru_cache(maxsize=32)
def _through(kind: Kind, places: Places, travel: float) -> RearEnd:
    try:
        of = linkage.linkage(kind, dict(places))
        motion = linkage.move(of, np.linspace(0.0, travel, _ROWS))
        curve = leverage.from_motion(motion)
    except (InputError, RangeError) as error:
        raise InputError(
            [Problem(one.code, "bike.rear.points", one.do) for one in error.problems]
        ) from error
    fine = _fine(curve)
    return RearEnd(
        fine, np.interp(fine.travel, motion.travel, motion.axle_x - motion.axle_x[0]), ""
    )


@lru_cache(maxsize=32)
def _table(rows: tuple[tuple[float, float], ...], travel: float) -> Leverage:
    """The maker's rows over the whole travel, level before the first and after the last."""
    within = np.array(sorted(rows))
    ends = np.union1d(within[:, 0], (0.0, travel))
    return _fine(leverage.from_table(ends, np.interp(ends, *within.T)))


def _fine(curve: Leverage) -> Leverage:
    even = np.linspace(0.0, curve.travel[-1], _STEPS)
    travel = np.unique(np.round(np.concatenate((even, curve.travel)), 7))
    return leverage.from_table(travel, leverage.ratio_at(curve, travel))
