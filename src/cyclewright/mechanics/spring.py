"""Suspension springs at rest: an air chamber behind a piston, and a coil."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.mechanics.bounds import Array, Bound, arrays, not_negative, positive, refuse
from cyclewright.mechanics.constants import STANDARD_PRESSURE

_EXPONENT: Final = Bound(1.0, 1.7)


def air_gauge(
    piston_area: ArrayLike,
    volume: ArrayLike,
    pressure_gauge: ArrayLike,
    stroke: ArrayLike,
    exponent: ArrayLike = 1.0,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """Gauge pressure in an air chamber after its piston has moved in.

    ``p(s) = (p₀ + p_a) (V/(V - A s))ⁿ - p_a``

    Parameters
    ----------
    piston_area : A [m²], above 0
    volume : of the chamber at stroke 0, V [m³], above 0
    pressure_gauge : at stroke 0, p₀ [Pa], above minus the ambient pressure
    stroke : s [m], 0 to below V/A
    exponent : n [1], 1 (slow, as at sag) to 1.7
    ambient : air pressure outside, p_a [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    gauge pressure at that stroke [Pa]

    Raises
    ------
    RangeError : an input outside its range, or a stroke that fills the whole chamber

    Notes
    -----
    One positive chamber, ideal gas, no leakage. A fast stroke starts from the isothermal
    equilibrium, not from full extension: give the state at sag as stroke 0 for that.

    Examples
    --------
    >>> round(float(air_gauge(5e-4, 6e-5, 1e6, 0.025)))
    1289822

    References
    ----------
    p Vⁿ = const. with absolute pressure: any text on gas springs; no printed table is used.
    """
    _, _, absolute, _, _, outside = _compressed(
        piston_area, volume, pressure_gauge, stroke, exponent, ambient
    )
    return np.asarray(absolute - outside)


def air_force(
    piston_area: ArrayLike,
    volume: ArrayLike,
    pressure_gauge: ArrayLike,
    stroke: ArrayLike,
    exponent: ArrayLike = 1.0,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """Force of an air spring along its axis.

    ``F(s) = A [(p₀ + p_a) (V/(V - A s))ⁿ - p_a]``

    Parameters
    ----------
    piston_area : A [m²], above 0
    volume : of the chamber at stroke 0, V [m³], above 0
    pressure_gauge : at stroke 0, p₀ [Pa], above minus the ambient pressure
    stroke : s [m], 0 to below V/A
    exponent : n [1], 1 (slow, as at sag) to 1.7
    ambient : air pressure outside, p_a [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    force [N], pushing the unit out

    Raises
    ------
    RangeError : an input outside its range, or a stroke that fills the whole chamber

    Notes
    -----
    One positive chamber without friction. A negative chamber, a damper's rod charge (60 to 120 N
    on a shock) and the top-out spring add forces of their own.

    Examples
    --------
    >>> round(float(air_force(5e-4, 6e-5, 1e6, 0.025)), 1)
    644.9

    References
    ----------
    p Vⁿ = const. with absolute pressure: any text on gas springs; no printed table is used.
    """
    area, _, absolute, _, _, outside = _compressed(
        piston_area, volume, pressure_gauge, stroke, exponent, ambient
    )
    return np.asarray(area * (absolute - outside))


def air_rate(
    piston_area: ArrayLike,
    volume: ArrayLike,
    pressure_gauge: ArrayLike,
    stroke: ArrayLike,
    exponent: ArrayLike = 1.0,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """Stiffness of an air spring at one stroke.

    ``k(s) = dF/ds = n A² p_abs(s)/(V - A s)``

    Parameters
    ----------
    piston_area : A [m²], above 0
    volume : of the chamber at stroke 0, V [m³], above 0
    pressure_gauge : at stroke 0 [Pa], above minus the ambient pressure
    stroke : s [m], 0 to below V/A
    exponent : n [1], 1 (slow, as at sag) to 1.7
    ambient : air pressure outside [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    rate along the unit's axis [N/m]

    Raises
    ------
    RangeError : an input outside its range, or a stroke that fills the whole chamber

    Notes
    -----
    The exact derivative of `air_force`, under the same assumptions.

    Examples
    --------
    >>> round(float(air_rate(5e-4, 6e-5, 1e6, 0.025)))
    7322

    References
    ----------
    Derivative of p Vⁿ = const.; no printed table is used.
    """
    area, left, absolute, _, power, _ = _compressed(
        piston_area, volume, pressure_gauge, stroke, exponent, ambient
    )
    return np.asarray(power * area**2 * absolute / left)


def air_pressure_for(
    force: ArrayLike,
    piston_area: ArrayLike,
    volume: ArrayLike,
    stroke: ArrayLike,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """Gauge pressure to pump in at stroke 0 so that a load rests at the stroke wanted.

    ``p₀ = (F/A + p_a)(V - A s)/V - p_a``, the slow (isothermal) law solved for the filling

    Parameters
    ----------
    force : that the spring has to carry, F [N], 0 or more
    piston_area : A [m²], above 0
    volume : of the chamber at stroke 0, V [m³], above 0
    stroke : where it has to rest, s [m], 0 to below V/A
    ambient : air pressure outside, p_a [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    gauge pressure at stroke 0 [Pa]; below zero where even an open valve carries more than F,
    which no pump can set

    Raises
    ------
    RangeError : an input outside its range, or a stroke that fills the whole chamber

    Notes
    -----
    The inverse of `air_force` with exponent 1, exact.

    Examples
    --------
    >>> round(float(air_pressure_for(air_force(5e-4, 6e-5, 1e6, 0.025), 5e-4, 6e-5, 0.025)))
    1000000

    References
    ----------
    p V = const. with absolute pressure; no printed table is used.
    """
    load, area, chamber, moved, outside = arrays(
        force=(force, not_negative("N")),
        piston_area=(piston_area, positive("m²")),
        volume=(volume, positive("m³")),
        stroke=(stroke, not_negative("m")),
        ambient=(ambient, positive("Pa")),
    )
    left = _left(area, chamber, moved)
    return np.asarray((load / area + outside) * left / chamber - outside)


def air_stroke_for(
    force: ArrayLike,
    piston_area: ArrayLike,
    volume: ArrayLike,
    pressure_gauge: ArrayLike,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """Stroke at which an air spring carries a load at rest.

    ``s = (V/A) [1 - (p₀ + p_a)/(F/A + p_a)]``, and 0 while the load is less than the spring's
    force at full extension: the unit then stands on its top-out stop, which carries the rest

    Parameters
    ----------
    force : F [N], 0 or more
    piston_area : A [m²], above 0
    volume : of the chamber at stroke 0, V [m³], above 0
    pressure_gauge : at stroke 0, p₀ [Pa], above minus the ambient pressure
    ambient : air pressure outside, p_a [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    stroke [m], 0 to below V/A; the caller holds it against the unit's travel

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The inverse of `air_force` with exponent 1, in closed form.

    Examples
    --------
    >>> round(float(air_stroke_for(644.9, 5e-4, 6e-5, 1e6)), 4)
    0.025

    References
    ----------
    p V = const. with absolute pressure; no printed table is used.
    """
    load, area, chamber, gauge, outside = arrays(
        force=(force, not_negative("N")),
        piston_area=(piston_area, positive("m²")),
        volume=(volume, positive("m³")),
        pressure_gauge=(pressure_gauge, Bound(unit="Pa")),
        ambient=(ambient, positive("Pa")),
    )
    filled = _absolute(gauge, outside)
    return np.maximum(chamber / area * (1.0 - filled / (load / area + outside)), 0.0)


def coil_force(rate: ArrayLike, stroke: ArrayLike, preload: ArrayLike = 0.0) -> Array:
    """Force of a coil spring along its axis.

    ``F = k (s + s₀)``

    Parameters
    ----------
    rate : k [N/m], above 0
    stroke : s [m], 0 or more
    preload : how far the collar already compresses the coil at stroke 0, s₀ [m], 0 or more
        All broadcast together.

    Returns
    -------
    force [N]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    A linear coil; no coil bind, no friction.

    Examples
    --------
    >>> round(float(coil_force(80e3, 0.018, 0.002)))
    1600

    References
    ----------
    Hooke's law; ISO 26909 for the terms.
    """
    stiffness, moved, turned = arrays(
        rate=(rate, positive("N/m")),
        stroke=(stroke, not_negative("m")),
        preload=(preload, not_negative("m")),
    )
    return np.asarray(stiffness * (moved + turned))


def coil_rate_for(force: ArrayLike, stroke: ArrayLike, preload: ArrayLike = 0.0) -> Array:
    """Rate of the coil that carries a load at the stroke wanted.

    ``k = F/(s + s₀)``

    Parameters
    ----------
    force : F [N], 0 or more
    stroke : s [m], 0 or more
    preload : compression at stroke 0, s₀ [m], 0 or more; s + s₀ above 0
        All broadcast together.

    Returns
    -------
    rate [N/m]

    Raises
    ------
    RangeError : an input outside its range, or no compression at all to carry the load

    Notes
    -----
    Coils are sold in steps: choose among those, then tell the sag that results. Preload only
    holds the coil (a turn or two) and never makes up for a wrong rate.

    Examples
    --------
    >>> round(float(coil_rate_for(1600.0, 0.018, 0.002)))
    80000

    References
    ----------
    Hooke's law; ISO 26909 for the terms.
    """
    load, moved, turned = arrays(
        force=(force, not_negative("N")),
        stroke=(stroke, not_negative("m")),
        preload=(preload, not_negative("m")),
    )
    compression = moved + turned
    do = "give a stroke above 0 m, since an uncompressed coil carries nothing"
    refuse("no-compression", "stroke", compression <= 0.0, moved, do)
    return np.asarray(load / compression)


def coil_stroke_for(force: ArrayLike, rate: ArrayLike, preload: ArrayLike = 0.0) -> Array:
    """Stroke at which a coil carries a load at rest.

    ``s = F/k - s₀``, and 0 while the preload alone carries the load

    Parameters
    ----------
    force : F [N], 0 or more
    rate : k [N/m], above 0
    preload : compression at stroke 0, s₀ [m], 0 or more
        All broadcast together.

    Returns
    -------
    stroke [m]; the caller holds it against the unit's travel

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The inverse of `coil_force`: the sag that a rate from the shelf really gives.

    Examples
    --------
    >>> round(float(coil_stroke_for(1600.0, 80e3, 0.002)), 6)
    0.018

    References
    ----------
    Hooke's law; ISO 26909 for the terms.
    """
    load, stiffness, turned = arrays(
        force=(force, not_negative("N")),
        rate=(rate, positive("N/m")),
        preload=(preload, not_negative("m")),
    )
    return np.maximum(load / stiffness - turned, 0.0)


def coil_preload_for(force: ArrayLike, rate: ArrayLike, stroke: ArrayLike) -> Array:
    """Preload with which a coil carries a load at the stroke wanted.

    ``s₀ = F/k - s``

    Parameters
    ----------
    force : F [N], 0 or more
    rate : k [N/m], above 0
    stroke : s [m], 0 or more
        All broadcast together.

    Returns
    -------
    preload [m]; below 0 where the coil is too hard, which no collar can mend

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Hold it against the preload that the unit allows: beyond it take the next harder coil.

    Examples
    --------
    >>> round(float(coil_preload_for(1600.0, 80e3, 0.018)), 6)
    0.002

    References
    ----------
    Hooke's law; ISO 26909 for the terms.
    """
    load, stiffness, moved = arrays(
        force=(force, not_negative("N")),
        rate=(rate, positive("N/m")),
        stroke=(stroke, not_negative("m")),
    )
    return np.asarray(load / stiffness - moved)


def _absolute(gauge: Array, outside: Array) -> Array:
    """Absolute pressure; a perfect vacuum or less is refused."""
    absolute = np.asarray(gauge + outside)
    do = "give a gauge pressure above a perfect vacuum"
    refuse("below-vacuum", "pressure_gauge", absolute <= 0.0, gauge, do)
    return absolute


def _left(area: Array, chamber: Array, moved: Array) -> Array:
    """Volume left in the chamber; a piston at or beyond its end is refused."""
    left = np.asarray(chamber - area * moved)
    do = "give a stroke shorter than volume over piston area: the chamber ends there"
    refuse("chamber-full", "stroke", left <= 0.0, moved, do)
    return left


def _compressed(
    piston_area: ArrayLike,
    volume: ArrayLike,
    pressure_gauge: ArrayLike,
    stroke: ArrayLike,
    exponent: ArrayLike,
    ambient: ArrayLike,
) -> tuple[Array, ...]:
    """Area, volume left, absolute pressure there, stroke, exponent and ambient, all checked."""
    area, chamber, gauge, moved, power, outside = arrays(
        piston_area=(piston_area, positive("m²")),
        volume=(volume, positive("m³")),
        pressure_gauge=(pressure_gauge, Bound(unit="Pa")),
        stroke=(stroke, not_negative("m")),
        exponent=(exponent, _EXPONENT),
        ambient=(ambient, positive("Pa")),
    )
    left = _left(area, chamber, moved)
    absolute = _absolute(gauge, outside) * (chamber / left) ** power
    return area, left, absolute, moved, power, outside
