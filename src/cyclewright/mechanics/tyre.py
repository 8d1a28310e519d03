"""Tyres: sizes off the sidewall, how far they give under load, and the pressures they need.

Two models of the load that one depth of tyre carries stand side by side:

=============== ============================================ ======================= ========
where           law                                          holds for               1 sigma
=============== ============================================ ======================= ========
flat ground     ``F = 2π p √(R a) δ (1 + casing)``           drops to 25 % of width  20 %
sharp edge      ``F = 4√2 p a δ (1 + casing)``               one edge, to the rim    30 %
=============== ============================================ ======================= ========

with gauge pressure ``p``, wheel radius ``R``, half the section's width ``a`` and depth ``δ``.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.mechanics.bounds import Array, Bound, arrays, not_negative, positive

STIFFNESS_SPREAD: Final = 0.20
"""One standard deviation of `stiffness`, relative, until a drop has been measured (8 % then)."""

EDGE_SPREAD: Final = 0.30
"""One standard deviation of `edge_load` and `edge_pressure`, relative."""

ROLLOFF_SPREAD: Final = 0.40
"""One standard deviation of `rolloff_pressure`, relative."""

_NARROW: Final = 0.028
_NARROW_EXTRA: Final = 0.0025
_GROWTH: Final = 0.4
_WIDTH: Final = Bound(0.015, 0.150, "m")
_RIM_WIDTH: Final = Bound(0.008, 0.120, "m")
_CASING: Final = Bound(0.0, 1.0)


def section_height(width: ArrayLike) -> Array:
    """Nominal height of a tyre's section above its bead seat.

    ``h = w``, and ``h = w + 2.5 mm`` where ``w`` is below 28 mm

    Parameters
    ----------
    width : nominal section width, w [m], any shape, 0.015 to 0.150

    Returns
    -------
    section height [m] of that shape

    Raises
    ------
    RangeError : a width that no bicycle tyre has

    Notes
    -----
    A designation, not a measurement: a mounted tyre differs by a few millimetres.

    Examples
    --------
    >>> [round(float(height), 4) for height in section_height([0.060, 0.025])]
    [0.06, 0.0275]

    References
    ----------
    ISO 5775-1, overall diameter of designated sizes (section heights as printed there).
    """
    (section,) = arrays(width=(width, _WIDTH))
    return np.where(section < _NARROW - 1e-9, section + _NARROW_EXTRA, section)


def outside_diameter(width: ArrayLike, bead: ArrayLike) -> Array:
    """Outside diameter of a tyre by its designation.

    ``D = d + 2 h``, with the section height ``h`` of `section_height`

    Parameters
    ----------
    width : nominal section width [m], 0.015 to 0.150
    bead : diameter of the bead seat, d [m], 0.2 to 0.7
        Both broadcast together.

    Returns
    -------
    outside diameter [m], unloaded

    Raises
    ------
    RangeError : a width or bead seat that no bicycle tyre has

    Notes
    -----
    A designation, not a measurement; roll the wheel out where the figure matters.

    Examples
    --------
    >>> round(float(outside_diameter(0.060, 0.622)), 4)
    0.742

    References
    ----------
    ISO 5775-1, overall diameter of designated sizes.
    """
    (seat,) = arrays(bead=(bead, Bound(0.2, 0.7, "m")))
    return np.asarray(seat + 2.0 * section_height(width))


def circumference(diameter: ArrayLike) -> Array:
    """Way that a wheel of that diameter rolls in one turn without load.

    ``C = π D``

    Parameters
    ----------
    diameter : outside diameter, D [m], any shape, above 0

    Returns
    -------
    circumference [m] of that shape

    Raises
    ------
    RangeError : a diameter at or below zero

    Notes
    -----
    Under load a wheel rolls one or two percent less (common practice, no source).

    Examples
    --------
    >>> round(float(circumference(0.742)), 3)
    2.331

    References
    ----------
    Geometry of the circle.
    """
    (outside,) = arrays(diameter=(diameter, positive("m")))
    return np.asarray(math.pi * outside)


def measuring_rim_width(width: ArrayLike) -> Array:
    """Inside width of the rim on which a tyre's nominal section is measured.

    ``b_m = 9 mm + 0.32 w``, a line through the usual pairs

    Parameters
    ----------
    width : nominal section width, w [m], any shape, 0.015 to 0.150

    Returns
    -------
    inside width of the measuring rim [m] of that shape

    Raises
    ------
    RangeError : a width that no bicycle tyre has

    Notes
    -----
    Within about 3 mm of the tables' steps; a line, so that a width never jumps.

    Examples
    --------
    >>> round(float(measuring_rim_width(0.060)), 4)
    0.0282

    References
    ----------
    Pairs such as 25 on 17, 47 on 25, 61 on 30 mm after ISO 5775-1: values from memory.
    """
    (section,) = arrays(width=(width, _WIDTH))
    return np.asarray(0.009 + 0.32 * section)


def section_on_rim(
    width: ArrayLike, rim_width: ArrayLike, measuring_rim: ArrayLike | None = None
) -> Array:
    """Width that a tyre's section takes on a rim wider or narrower than its measuring rim.

    ``w' = w + 0.4 (b - b_m)``

    Parameters
    ----------
    width : nominal section width, w [m], 0.015 to 0.150
    rim_width : inside width of the rim, b [m], 0.008 to 0.120
    measuring_rim : inside width of the measuring rim, b_m [m], 0.008 to 0.120;
        left out, that of `measuring_rim_width`
        All broadcast together.

    Returns
    -------
    section width on this rim [m]

    Raises
    ------
    RangeError : a width that no bicycle tyre or rim has

    Notes
    -----
    From the inextensible casing: the arc keeps its length while its chord grows. Whether the
    tyre may be fitted on that rim at all is the maker's and ISO 5775-1's word, not this sum's.

    Examples
    --------
    >>> round(float(section_on_rim(0.061, 0.035, 0.030)), 4)
    0.063

    References
    ----------
    Common practice (0.4 mm a millimetre of rim), no source.
    """
    (section,) = arrays(width=(width, _WIDTH))
    reference = measuring_rim_width(section) if measuring_rim is None else measuring_rim
    inside, measured = arrays(
        rim_width=(rim_width, _RIM_WIDTH), measuring_rim=(reference, _RIM_WIDTH)
    )
    return np.asarray(section + _GROWTH * (inside - measured))


def stiffness(
    pressure_gauge: ArrayLike, radius: ArrayLike, width: ArrayLike, casing: ArrayLike
) -> Array:
    """Vertical stiffness of a tyre on flat ground.

    ``k = 2π p √(R a) (1 + casing)``: the flat plane cuts the torus in an ellipse of half axes
    ``√(2 R δ)`` and ``√(2 a δ)``, and the pressure bears on its area

    Parameters
    ----------
    pressure_gauge : p [Pa], above 0
    radius : unloaded outside radius of the wheel, R [m], above 0
    width : section width on this rim, 2a [m], 0.015 to 0.150
    casing : share that the casing adds to the membrane [1], 0 to 1; usual 0.10 to 0.25
        All broadcast together.

    Returns
    -------
    stiffness [N/m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    One standard deviation is 20 % (`STIFFNESS_SPREAD`) until a drop has been measured on this
    tyre. Measured curves stiffen a little with load (exponent between 1 and 1.5); this law is
    their straight member. There is no published check of the factor for mountain tyres.

    Examples
    --------
    >>> round(float(stiffness(1.6e5, 0.37, 0.060, 0.15)), -3)
    122000.0

    References
    ----------
    Flat-plate contact of an inflated membrane, after Rotta 1949 (citation from
    memory); derivation in the equation.
    """
    pressure, wheel, half, stiffer = _tyre(pressure_gauge, radius, width, casing)
    return np.asarray(2.0 * math.pi * pressure * np.sqrt(wheel * half) * stiffer)


def drop(
    load: ArrayLike,
    pressure_gauge: ArrayLike,
    radius: ArrayLike,
    width: ArrayLike,
    casing: ArrayLike,
) -> Array:
    """How far a loaded tyre lets its axle down on flat ground.

    ``δ = N/k``, with the stiffness ``k`` of `stiffness`

    Parameters
    ----------
    load : normal force under the wheel, N [N], 0 or more
    pressure_gauge : [Pa], above 0
    radius : unloaded outside radius of the wheel [m], above 0
    width : section width on this rim [m], 0.015 to 0.150
    casing : share that the casing adds to the membrane [1], 0 to 1
        All broadcast together.

    Returns
    -------
    drop [m]; the caller holds it against the section's height

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    As for `stiffness`. A drop of some 7 % of the section is usual on a mountain bike.

    Examples
    --------
    >>> round(float(drop(450.0, 1.6e5, 0.37, 0.060, 0.15)), 4)
    0.0037

    References
    ----------
    As for `stiffness`.
    """
    (normal,) = arrays(load=(load, not_negative("N")))
    return np.asarray(normal / stiffness(pressure_gauge, radius, width, casing))


def edge_load(
    pressure_gauge: ArrayLike,
    radius: ArrayLike,
    width: ArrayLike,
    height: ArrayLike,
    casing: ArrayLike,
) -> Array:
    """Load on one sharp edge across the tyre at which the rim strikes.

    ``F = 4√2 p a h (1 + casing)``, never more than flat ground would carry at that depth.
    The edge presses the crown in by ``δ``. Beside it a flattened band of width ``2√(2 a δ)``
    lifts the load by its pressure and hands it on by the casing's lengthwise tension, ``p a``
    per unit of width. Balance of the band, ``a (√δ δ')' = √δ``, gives the parabola
    ``δ = (l - x)²/(4a)`` that ends at ``l = 2√(a δ₀)``, and the pressure on both sides of the
    edge adds up to ``4√2 p a δ₀``; the rim strikes at ``δ₀ = h``

    Parameters
    ----------
    pressure_gauge : p [Pa], above 0
    radius : unloaded outside radius of the wheel [m], above 0
    width : section width on this rim, 2a [m], 0.015 to 0.150
    height : of the section above the rim's edge, h [m], above 0
    casing : share that the casing adds to the membrane [1], 0 to 1
        All broadcast together.

    Returns
    -------
    load [N], a peak and not a weight

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Assumes a lengthwise tension equal to that around the section (cords at 45°), a straight
    edge square to the wheel, constant pressure, and no thickness left between rim and edge. A
    tension half as large, as in a plain rubber tube, takes 29 % off; the band's width is some
    25 % too large just before the rim. One standard deviation is therefore 30 %
    (`EDGE_SPREAD`). There is no published check. An edge needs about a quarter of the load that
    flat ground needs for the same depth.

    Examples
    --------
    >>> round(float(edge_load(1.6e5, 0.37, 0.060, 0.050, 0.15)))
    1561

    References
    ----------
    Own derivation from a membrane's balance; the tests solve the band's equation by a second
    method.
    """
    pressure, wheel, half, stiffer = _tyre(pressure_gauge, radius, width, casing)
    (depth,) = arrays(height=(height, positive("m")))
    return np.asarray(pressure * _edge_area(wheel, half) * depth * stiffer)


def edge_pressure(
    load: ArrayLike,
    radius: ArrayLike,
    width: ArrayLike,
    height: ArrayLike,
    casing: ArrayLike,
) -> Array:
    """Gauge pressure at which the rim just strikes a sharp edge under that peak load.

    ``p = F/[4√2 a h (1 + casing)]``, the inverse of `edge_load`

    Parameters
    ----------
    load : peak load on the edge, F [N], 0 or more
    radius : unloaded outside radius of the wheel [m], above 0
    width : section width on this rim, 2a [m], 0.015 to 0.150
    height : of the section above the rim's edge, h [m], above 0
    casing : share that the casing adds to the membrane [1], 0 to 1
        All broadcast together.

    Returns
    -------
    gauge pressure [Pa]; a floor, so more than this keeps the rim off the edge

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    As for `edge_load`; one standard deviation is 30 % (`EDGE_SPREAD`).

    Examples
    --------
    >>> round(float(edge_pressure(1561.0, 0.37, 0.060, 0.050, 0.15)), -3)
    160000.0

    References
    ----------
    As for `edge_load`.
    """
    peak, depth = arrays(load=(load, not_negative("N")), height=(height, positive("m")))
    _, wheel, half, stiffer = _tyre(1.0, radius, width, casing)
    return np.asarray(peak / (_edge_area(wheel, half) * depth * stiffer))


def rolloff_pressure(
    load: ArrayLike,
    width: ArrayLike,
    rim_width: ArrayLike,
    side_force: ArrayLike = 0.7,
    spread_length: ArrayLike = 0.7,
) -> Array:
    """Gauge pressure below which hard cornering starts to lift the inner bead off the rim.

    ``p = N (1 + 2 μ h/b)/(b L)``: about the outer bead, the side force ``μ N`` at the height
    ``h`` of the section and half the load ``N`` against the pressure over the rim's width ``b``
    along a length ``L`` of the rim

    Parameters
    ----------
    load : normal force under the wheel, N [N], 0 or more
    width : section width on this rim, w = h [m], 0.015 to 0.150
    rim_width : inside width of the rim, b [m], 0.008 to 0.120
    side_force : over the load, μ [1], 0 to 1.5
    spread_length : of rim over which the casing spreads the side force, L [m], above 0
        All broadcast together.

    Returns
    -------
    gauge pressure [Pa], a floor

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The side force of 0.7 and the length of 0.7 m (about a wheel's diameter) are judgement
    (common practice, no source); bead friction, hooks and inserts are left out, all of which
    help. One standard deviation is 40 % (`ROLLOFF_SPREAD`). There is no published check.

    Examples
    --------
    >>> round(float(rolloff_pressure(450.0, 0.060, 0.030)), -3)
    81000.0

    References
    ----------
    Own balance of moments about the outer bead.
    """
    normal, section, rim, side, spread = arrays(
        load=(load, not_negative("N")),
        width=(width, _WIDTH),
        rim_width=(rim_width, _RIM_WIDTH),
        side_force=(side_force, Bound(0.0, 1.5)),
        spread_length=(spread_length, positive("m")),
    )
    return np.asarray(normal * (1.0 + 2.0 * side * section / rim) / (rim * spread))


def _tyre(
    pressure_gauge: ArrayLike, radius: ArrayLike, width: ArrayLike, casing: ArrayLike
) -> tuple[Array, ...]:
    """Pressure, wheel radius, half section width and casing factor, all checked."""
    pressure, wheel, section, share = arrays(
        pressure_gauge=(pressure_gauge, positive("Pa")),
        radius=(radius, positive("m")),
        width=(width, _WIDTH),
        casing=(casing, _CASING),
    )
    return pressure, wheel, section / 2.0, 1.0 + share


def _edge_area(wheel: Array, half: Array) -> Array:
    """Area that a sharp edge gains per depth [m], held under that of flat ground."""
    flat = 2.0 * math.pi * np.sqrt(wheel * half)
    return np.minimum(4.0 * math.sqrt(2.0) * half, flat)
