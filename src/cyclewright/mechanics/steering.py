"""Steering geometry: how far the front tyre trails behind its steering axis."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.mechanics.bounds import FINITE, Array, Bound, arrays, positive

_HEAD_ANGLE: Final = Bound(0.0, math.pi / 2, "rad", low_open=True)
_OFFSET: Final = Bound(unit="m")


def mechanical_trail(wheel_radius: ArrayLike, head_angle: ArrayLike, offset: ArrayLike) -> Array:
    """Distance of the front contact behind the steering axis, square to the axis.

    ``c_m = R cos θ - o``

    Parameters
    ----------
    wheel_radius : axle to ground as loaded, R [m], above 0
    head_angle : steering axis from the ground, θ [rad], above 0 to π/2
    offset : axle ahead of the steering axis, square to it, o [m]
        All broadcast together.

    Returns
    -------
    mechanical trail [m], the lever of side forces on the steering

    Raises
    ------
    RangeError : radius or angle outside its range

    Notes
    -----
    Upright and straight ahead, a wheel of no width. A negative value means that the contact
    leads the axis, and the wheel would swing round.

    Examples
    --------
    >>> round(float(mechanical_trail(0.371, np.radians(65.5), 0.044)), 5)
    0.10985

    References
    ----------
    Cossalter, Motorcycle Dynamics, 2nd ed. 2006, chapter 1 (normal trail).
    """
    radius, angle, lead = _geometry(wheel_radius, head_angle, offset)
    return np.asarray(radius * np.cos(angle) - lead)


def trail(wheel_radius: ArrayLike, head_angle: ArrayLike, offset: ArrayLike) -> Array:
    """Distance of the front contact behind the point where the steering axis meets the ground.

    ``c = (R cos θ - o)/sin θ``

    Parameters
    ----------
    wheel_radius : axle to ground as loaded, R [m], above 0
    head_angle : steering axis from the ground, θ [rad], above 0 to π/2
    offset : axle ahead of the steering axis, square to it, o [m]
        All broadcast together.

    Returns
    -------
    trail, measured along the ground [m]

    Raises
    ------
    RangeError : radius or angle outside its range

    Notes
    -----
    Upright and straight ahead. A slacker axis, a larger wheel and less offset make more trail.

    Examples
    --------
    >>> round(float(trail(0.371, np.radians(65.5), 0.044)), 5)
    0.12072

    References
    ----------
    Cossalter, Motorcycle Dynamics, 2nd ed. 2006, chapter 1.
    """
    radius, angle, lead = _geometry(wheel_radius, head_angle, offset)
    return np.asarray((radius * np.cos(angle) - lead) / np.sin(angle))


def flop_factor(trail: ArrayLike, head_angle: ArrayLike) -> Array:
    """How strongly the front end wants to fall to the side as the bar is turned.

    ``f = c sin θ cos θ``

    Parameters
    ----------
    trail : along the ground, c [m]
    head_angle : steering axis from the ground, θ [rad], above 0 to π/2
        Both broadcast together.

    Returns
    -------
    flop factor [m]: a slope, per radian of steering, at the straight-ahead position

    Raises
    ------
    RangeError : angle outside its range

    Notes
    -----
    It is not the height by which the front end drops: that grows with the square of the
    steering angle.

    Examples
    --------
    >>> round(float(flop_factor(0.12072, np.radians(65.5))), 5)
    0.04555

    References
    ----------
    Cossalter, Motorcycle Dynamics, 2nd ed. 2006, chapter 1, for the trail; the product is the
    trade's usual measure (common practice, no source).
    """
    length, angle = arrays(trail=(trail, FINITE), head_angle=(head_angle, _HEAD_ANGLE))
    return np.asarray(length * np.sin(angle) * np.cos(angle))


def _geometry(
    wheel_radius: ArrayLike, head_angle: ArrayLike, offset: ArrayLike
) -> tuple[Array, ...]:
    return arrays(
        wheel_radius=(wheel_radius, positive("m")),
        head_angle=(head_angle, _HEAD_ANGLE),
        offset=(offset, _OFFSET),
    )
