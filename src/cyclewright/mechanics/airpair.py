"""An air spring with a negative chamber that levels with the positive one at full extension.

Both chambers share one piston area, and a transfer point lets their pressures level out at full
length: there the two forces cancel, so the unit starts from nothing and needs no push to move.
All forces are slow (isothermal), as at sag. The pressure is the one a pump shows at full length.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.mechanics.bounds import Array, Bound, arrays, not_negative, positive, refuse
from cyclewright.mechanics.constants import STANDARD_PRESSURE


def pair_force(
    piston_area: ArrayLike,
    air_length: ArrayLike,
    negative_length: ArrayLike,
    pressure_gauge: ArrayLike,
    stroke: ArrayLike,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """Force of a levelled pair of air chambers along its axis.

    ``F(s) = A (p₀ + p_a) [L/(L - s) - l/(l + s)]``

    Parameters
    ----------
    piston_area : A [m²], above 0
    air_length : positive chamber's volume over A at full length, L [m], above 0
    negative_length : negative chamber's volume over A at full length, l [m], above 0
    pressure_gauge : of both at full length, p₀ [Pa], above minus the ambient pressure
    stroke : s [m], 0 to below L
    ambient : air pressure outside, p_a [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    force [N]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Equal areas on both sides (a shaft takes a few percent off the negative side), levelled at
    full length after about ten strokes, ideal gas, no leakage. There is no published check; the
    tests compare with the work of both gases.

    Examples
    --------
    >>> round(float(pair_force(5e-4, 0.16, 0.035, 4e5, 0.030)))
    174
    >>> float(pair_force(5e-4, 0.16, 0.035, 4e5, 0.0))
    0.0

    References
    ----------
    p V = const. with absolute pressure, for each chamber; no printed table is used.
    """
    area, length, below, gauge, moved, outside = _inputs(
        piston_area,
        air_length,
        negative_length,
        ambient,
        pressure_gauge=pressure_gauge,
        stroke=stroke,
    )
    return np.asarray(area * (gauge + outside) * _swelling(length, below, moved))


def pair_pressure_for(
    force: ArrayLike,
    piston_area: ArrayLike,
    air_length: ArrayLike,
    negative_length: ArrayLike,
    stroke: ArrayLike,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """Gauge pressure at full length that carries a load at the stroke wanted.

    ``p₀ = F/(A [L/(L - s) - l/(l + s)]) - p_a``, the inverse of `pair_force`

    Parameters
    ----------
    force : F [N], 0 or more
    piston_area, air_length, negative_length : as for `pair_force`
    stroke : s [m], above 0 and below L
    ambient : p_a [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    gauge pressure [Pa]; below 0 where even an empty spring is too hard

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    As for `pair_force`.

    Examples
    --------
    >>> round(float(pair_pressure_for(173.6, 5e-4, 0.16, 0.035, 0.030)), -3)
    400000.0

    References
    ----------
    As for `pair_force`.
    """
    area, length, below, load, moved, outside = _inputs(
        piston_area, air_length, negative_length, ambient, force=force, stroke=stroke
    )
    refuse("no-stroke", "stroke", moved <= 0.0, moved, "give a stroke above 0 m")
    return np.asarray(load / (area * _swelling(length, below, moved)) - outside)


def pair_stroke_for(
    force: ArrayLike,
    piston_area: ArrayLike,
    air_length: ArrayLike,
    negative_length: ArrayLike,
    pressure_gauge: ArrayLike,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """Stroke at which a levelled pair of air chambers carries a load at rest.

    With ``φ = F/[A (p₀ + p_a)]`` the positive root of
    ``φ s² + [L + l - φ (L - l)] s - φ L l = 0``

    Parameters
    ----------
    force : F [N], 0 or more
    piston_area, air_length, negative_length : as for `pair_force`
    pressure_gauge : p₀ [Pa], above minus the ambient pressure
    ambient : p_a [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    stroke [m], 0 to below L; the caller holds it against the unit's travel

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    As for `pair_force`; the discriminant is never negative.

    Examples
    --------
    >>> round(float(pair_stroke_for(173.6, 5e-4, 0.16, 0.035, 4e5)), 4)
    0.03

    References
    ----------
    As for `pair_force`.
    """
    area, length, below, load, gauge, outside = _inputs(
        piston_area,
        air_length,
        negative_length,
        ambient,
        force=force,
        pressure_gauge=pressure_gauge,
    )
    share = load / (area * (gauge + outside))
    linear = length + below - share * (length - below)
    # The root in the form that stays exact as the load goes to zero.
    root = np.sqrt(linear**2 + 4.0 * share**2 * length * below)
    return np.asarray(2.0 * share * length * below / (linear + root))


def _swelling(length: Array, below: Array, moved: Array) -> Array:
    refuse("stroke-too-long", "stroke", moved >= length, moved, "stay inside the chamber's length")
    swelling: Array = length / (length - moved) - below / (below + moved)
    return swelling


def _inputs(
    piston_area: ArrayLike,
    air_length: ArrayLike,
    negative_length: ArrayLike,
    ambient: ArrayLike,
    **two: ArrayLike,
) -> tuple[Array, ...]:
    """Area, both lengths, the two named inputs in their order, and the ambient pressure."""
    bounds = {
        "force": not_negative("N"),
        "stroke": not_negative("m"),
        "pressure_gauge": Bound(unit="Pa"),
    }
    found = arrays(
        piston_area=(piston_area, positive("m²")),
        air_length=(air_length, positive("m")),
        negative_length=(negative_length, positive("m")),
        **{name: (value, bounds[name]) for name, value in two.items()},
        ambient=(ambient, positive("Pa")),
    )
    if "pressure_gauge" in two:
        gauge, outside = found[3 + list(two).index("pressure_gauge")], found[5]
        refuse("no-air", "pressure_gauge", gauge + outside <= 0.0, gauge, "give at least a vacuum")
    return found
