"""Jumps: how hard a landing is, as the height of a plain fall that would be as hard."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cyclewright.mechanics.bounds import Array, BoolArray, Bound, arrays, positive
from cyclewright.mechanics.constants import STANDARD_GRAVITY

_SLOPE: Final = Bound(-math.pi / 2, math.pi / 2, "rad", low_open=True, high_open=True)

NOT_BELOW_LIP: Final = "the landing point does not lie below the line of the take-off"
FROM_BENEATH: Final = "the flight would meet the landing from beneath"


@dataclass(frozen=True, slots=True)
class Landing:
    """A flight from the lip at the origin to a point on the landing."""

    equivalent_fall_height: Array
    """Height of a plain fall as hard as this landing [m]; 0 where not `reachable`."""
    impact_speed: Array
    """Speed normal to the landing [m/s]; 0 where not `reachable`."""
    takeoff_speed: Array
    """Speed at the lip that carries there [m/s]; 0 where not `reachable`."""
    reachable: BoolArray
    limit: NDArray[np.str_]
    """What rules the landing out, empty where it is reachable."""


def landing(
    x: ArrayLike, y: ArrayLike, takeoff_angle: ArrayLike, landing_slope: ArrayLike
) -> Landing:
    """Hardness of a landing at one point, for the speed that carries there.

    ``h = [x²/(4 (x tan θ - y) cos² θ) - y] sin²(φ - ψ)`` with the flight's slope at the landing
    ``tan φ = 2 y/x - tan θ``; normal speed ``v = √(2 g h)``

    Parameters
    ----------
    x : landing point ahead of the lip [m], above 0
    y : landing point above the lip [m], below negative
    takeoff_angle : θ [rad], upward positive, between -π/2 and π/2
    landing_slope : ψ [rad], down negative, between -π/2 and π/2
        All broadcast together.

    Returns
    -------
    Landing : with `reachable` false and the limit named where no flight lands there

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    No drag, no lift, no push from the rider, a point mass. About 1 m is judged hard and 1.5 m
    too hard for a usual landing (design practice for terrain parks, from memory).

    Examples
    --------
    >>> flight = landing(6.0, -1.5, np.radians(10.0), np.radians(-20.0))
    >>> round(float(flight.equivalent_fall_height), 4), bool(flight.reachable)
    (0.3031, True)
    >>> str(landing(6.0, 2.0, np.radians(10.0), 0.0).limit)
    'the landing point does not lie below the line of the take-off'

    References
    ----------
    Hubbard and Swedberg 2012, Design of terrain park jump landing surfaces for constant
    equivalent fall height, STP 1553.
    """
    ahead, above, start, slope = np.broadcast_arrays(
        *arrays(
            x=(x, positive("m")),
            y=(y, Bound(unit="m")),
            takeoff_angle=(takeoff_angle, _SLOPE),
            landing_slope=(landing_slope, _SLOPE),
        )
    )
    fall = ahead * np.tan(start) - above
    flight = np.arctan(2.0 * above / ahead - np.tan(start))
    below, from_above = fall > 0.0, flight <= slope
    reachable = np.asarray(below & from_above)
    square = ahead**2 / (4.0 * np.where(reachable, fall, 1.0) * np.cos(start) ** 2)
    height = np.where(reachable, (square - above) * np.sin(flight - slope) ** 2, 0.0)
    takeoff = np.where(reachable, np.sqrt(2.0 * STANDARD_GRAVITY * square), 0.0)
    limit = np.where(reachable, "", np.where(below, FROM_BENEATH, NOT_BELOW_LIP))
    return Landing(height, np.sqrt(2.0 * STANDARD_GRAVITY * height), takeoff, reachable, limit)


def equivalent_fall_height(
    x: ArrayLike, y: ArrayLike, takeoff_angle: ArrayLike, landing_slope: ArrayLike
) -> np.ma.MaskedArray[tuple[int, ...], np.dtype[np.float64]]:
    """Height of a plain fall as hard as a landing, masked where no flight lands there.

    ``h = [x²/(4 (x tan θ - y) cos² θ) - y] sin²(φ - ψ)``, as `landing` has it

    Parameters
    ----------
    x : landing point ahead of the lip [m], above 0
    y : landing point above the lip [m], below negative
    takeoff_angle : θ [rad], upward positive, between -π/2 and π/2
    landing_slope : ψ [rad], down negative, between -π/2 and π/2
        All broadcast together.

    Returns
    -------
    equivalent fall height [m], a masked array

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    As for `landing`, which also names what rules a masked landing out.

    Examples
    --------
    >>> float(np.ma.round(equivalent_fall_height(4.0, -1.0, 0.0, 0.0), 6))
    1.0

    References
    ----------
    As for `landing`.
    """
    flight = landing(x, y, takeoff_angle, landing_slope)
    return np.ma.masked_array(flight.equivalent_fall_height, mask=~flight.reachable)


def impact_speed(equivalent_fall_height: ArrayLike) -> Array:
    """Speed normal to the landing that belongs to an equivalent fall height.

    ``v = √(2 g h)``

    Parameters
    ----------
    equivalent_fall_height : h [m], any shape, 0 or more

    Returns
    -------
    speed [m/s] of that shape

    Raises
    ------
    RangeError : a height below zero

    Notes
    -----
    With standard gravity.

    Examples
    --------
    >>> round(float(impact_speed(1.0)), 3)
    4.429

    References
    ----------
    Free fall; Hubbard and Swedberg 2012 for the meaning.
    """
    (height,) = arrays(equivalent_fall_height=(equivalent_fall_height, Bound(0.0, unit="m")))
    return np.asarray(np.sqrt(2.0 * STANDARD_GRAVITY * height))
