"""Braking of a rigid two-wheeler: loads under the wheels, the pitch-over limit, stopping."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.mechanics.bounds import Array, Bound, arrays, not_negative, positive, refuse
from cyclewright.mechanics.constants import STANDARD_GRAVITY

_SLOPE: Final = Bound(-math.pi / 2, math.pi / 2, "rad", low_open=True, high_open=True)


def deceleration_limit(
    mass_to_front: ArrayLike,
    mass_height: ArrayLike,
    slope: ArrayLike = 0.0,
    friction: ArrayLike | None = None,
) -> Array:
    """Hardest steady braking before the rear wheel lifts, or before both tyres slide.

    ``a = g (l cos α - h sin α)/h``; with a friction coefficient the less of this and
    ``a = g (μ cos α - sin α)``

    Parameters
    ----------
    mass_to_front : mass centre to front contact along the ground, l [m], above 0
    mass_height : mass centre above the ground, square to it, h [m], above 0
    slope : of the ground, α [rad], downhill positive, between -π/2 and π/2
    friction : between tyres and ground, μ [1], 0 to 2; left out, the tyres hold
        All broadcast together.

    Returns
    -------
    deceleration along the ground [m/s²]; below zero where bike and rider cannot even stand
    still on that slope without tipping or sliding

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Rigid bike and rider: a fork that dives and a rider who slides back move ``l`` and ``h``.

    Examples
    --------
    >>> round(float(deceleration_limit(0.635, 1.143)), 3)
    5.448

    References
    ----------
    Wilson, Bicycling Science, 3rd ed. 2004, chapter on braking (0.56 g for a usual rider).
    """
    ahead, height, angle = arrays(
        mass_to_front=(mass_to_front, positive("m")),
        mass_height=(mass_height, positive("m")),
        slope=(slope, _SLOPE),
    )
    tipping = STANDARD_GRAVITY * (ahead * np.cos(angle) - height * np.sin(angle)) / height
    if friction is None:
        return np.asarray(tipping)
    (grip,) = arrays(friction=(friction, Bound(0.0, 2.0)))
    sliding = STANDARD_GRAVITY * (grip * np.cos(angle) - np.sin(angle))
    return np.asarray(np.minimum(tipping, sliding))


def axle_loads(
    mass: ArrayLike,
    wheelbase: ArrayLike,
    mass_to_front: ArrayLike,
    mass_height: ArrayLike,
    deceleration: ArrayLike = 0.0,
    slope: ArrayLike = 0.0,
) -> tuple[Array, Array]:
    """Normal forces under both wheels while braking, level or on a slope.

    ``N_f = m [g cos α (L - l) + (a + g sin α) h]/L`` and ``N_r = m g cos α - N_f``; a wheel that
    would pull at the ground carries 0 and the other one all

    Parameters
    ----------
    mass : of bike, rider and kit, m [kg], above 0
    wheelbase : L [m], above 0
    mass_to_front : mass centre to front contact along the ground, l [m], 0 to L
    mass_height : mass centre above the ground, square to it, h [m], above 0
    deceleration : along the ground, a [m/s²], slowing positive
    slope : of the ground, α [rad], downhill positive, between -π/2 and π/2
        All broadcast together.

    Returns
    -------
    front, rear : normal forces [N], never below 0

    Raises
    ------
    RangeError : an input outside its range, or a mass centre not between the wheels

    Notes
    -----
    Quasi-static and rigid. Beyond `deceleration_limit` the rear load is 0 and the bike pitches:
    the figures then hold only for the moment of lifting.

    Examples
    --------
    >>> [round(float(load)) for load in axle_loads(90.0, 1.0668, 0.635, 1.143, 2.4517)]
    [594, 289]

    References
    ----------
    Wilson, Bicycling Science, 3rd ed. 2004, chapter on braking.
    """
    total, base, ahead, height, slowing, angle = arrays(
        mass=(mass, positive("kg")),
        wheelbase=(wheelbase, positive("m")),
        mass_to_front=(mass_to_front, not_negative("m")),
        mass_height=(mass_height, positive("m")),
        deceleration=(deceleration, Bound(unit="m/s²")),
        slope=(slope, _SLOPE),
    )
    do = "give a mass centre between the wheels: at most the wheelbase"
    refuse("mass-centre", "mass_to_front", ahead > base, ahead, do)
    normal = np.asarray(total * STANDARD_GRAVITY * np.cos(angle))
    push = total * (slowing + STANDARD_GRAVITY * np.sin(angle)) * height
    front = np.clip((normal * (base - ahead) + push) / base, 0.0, normal)
    return front, np.asarray(normal - front)


def stopping_deceleration(speed: ArrayLike, distance: ArrayLike) -> Array:
    """Steady deceleration that stops within a distance.

    ``a = v²/(2 s)``

    Parameters
    ----------
    speed : at the start, v [m/s], 0 or more
    distance : s [m], above 0
        Both broadcast together.

    Returns
    -------
    deceleration [m/s²]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Reaction and the build-up of the brakes are left out.

    Examples
    --------
    >>> round(float(stopping_deceleration(6.7056, 4.572)), 3)
    4.917

    References
    ----------
    Uniform deceleration; test distances of 16 CFR 1512.5(b) and ISO 4210-2 use it.
    """
    start, way = arrays(speed=(speed, not_negative("m/s")), distance=(distance, positive("m")))
    return np.asarray(start**2 / (2.0 * way))


def stopping_distance(speed: ArrayLike, deceleration: ArrayLike) -> Array:
    """Distance in which a steady deceleration stops.

    ``s = v²/(2 a)``

    Parameters
    ----------
    speed : at the start, v [m/s], 0 or more
    deceleration : a [m/s²], above 0
        Both broadcast together.

    Returns
    -------
    distance [m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Reaction and the build-up of the brakes are left out.

    Examples
    --------
    >>> round(float(stopping_distance(6.7056, 4.917)), 2)
    4.57

    References
    ----------
    Uniform deceleration.
    """
    start, slowing = arrays(
        speed=(speed, not_negative("m/s")), deceleration=(deceleration, positive("m/s²"))
    )
    return np.asarray(start**2 / (2.0 * slowing))
