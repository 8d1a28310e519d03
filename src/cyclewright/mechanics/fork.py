"""The telescopic fork between wheel and frame: loads, travel and rates across its angle."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.mechanics.bounds import Array, Bound, arrays, not_negative
from cyclewright.mechanics.constants import STANDARD_GRAVITY

_HEAD_ANGLE: Final = Bound(0.0, math.pi / 2, "rad", low_open=True)


def fork_force(
    load: ArrayLike,
    head_angle: ArrayLike,
    unsprung_mass: ArrayLike = 0.0,
    brake_force: ArrayLike = 0.0,
) -> Array:
    """Force along the fork that its spring carries.

    ``F = (N - m g) sin θ + B cos θ``

    Parameters
    ----------
    load : under the front wheel, N [N], 0 or more
    head_angle : steering axis from the ground as sagged, θ [rad], above 0 to π/2
    unsprung_mass : wheel and what moves with it, m [kg], 0 or more
    brake_force : at the front contact, rearward, B [N], 0 or more
        All broadcast together.

    Returns
    -------
    force along the axis [N]; below 0 where the wheel hangs

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    At rest the wheel must be free to roll: a held brake takes up force along the ground and the
    reading is wrong. Friction comes on top, see `bushing_load`.

    Examples
    --------
    >>> round(float(fork_force(380.0, np.radians(64.0), 3.3)), 1)
    312.5

    References
    ----------
    Statics of the front wheel; Cossalter, Motorcycle Dynamics, 2nd ed. 2006, chapter 5.
    """
    normal, angle, mass, brake = _statics(load, head_angle, unsprung_mass, brake_force)
    hanging = normal - mass * STANDARD_GRAVITY
    return np.asarray(hanging * np.sin(angle) + brake * np.cos(angle))


def bushing_load(
    load: ArrayLike,
    head_angle: ArrayLike,
    unsprung_mass: ArrayLike = 0.0,
    brake_force: ArrayLike = 0.0,
) -> Array:
    """Force across the fork, which presses on its bushings and scales their friction.

    ``Q = (N - m g) cos θ - B sin θ``

    Parameters
    ----------
    load : under the front wheel, N [N], 0 or more
    head_angle : steering axis from the ground as sagged, θ [rad], above 0 to π/2
    unsprung_mass : wheel and what moves with it, m [kg], 0 or more
    brake_force : at the front contact, rearward, B [N], 0 or more
        All broadcast together.

    Returns
    -------
    force across the axis [N], pushing the wheel forward positive

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The bushings' own couple depends on their overlap; friction per force is found by readings.

    Examples
    --------
    >>> round(float(bushing_load(380.0, np.radians(64.0), 3.3)), 1)
    152.4

    References
    ----------
    Statics of the front wheel; Cossalter, Motorcycle Dynamics, 2nd ed. 2006, chapter 5.
    """
    normal, angle, mass, brake = _statics(load, head_angle, unsprung_mass, brake_force)
    hanging = normal - mass * STANDARD_GRAVITY
    return np.asarray(hanging * np.cos(angle) - brake * np.sin(angle))


def fork_wheel_travel(stroke: ArrayLike, head_angle: ArrayLike) -> Array:
    """Vertical travel of the front wheel for a stroke along the fork.

    ``z = s sin θ``

    Parameters
    ----------
    stroke : along the fork, s [m], 0 or more
    head_angle : steering axis from the ground, θ [rad], above 0 to π/2
        Both broadcast together.

    Returns
    -------
    vertical travel [m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The frame held level. The ring on a stanchion shows s, not z.

    Examples
    --------
    >>> round(float(fork_wheel_travel(0.040, np.radians(64.0))), 5)
    0.03595

    References
    ----------
    Geometry; no printed table is used.
    """
    moved, angle = arrays(stroke=(stroke, not_negative("m")), head_angle=(head_angle, _HEAD_ANGLE))
    return np.asarray(moved * np.sin(angle))


def fork_wheel_rate(rate: ArrayLike, head_angle: ArrayLike) -> Array:
    """Vertical stiffness at the front wheel, which also turns damping to the wheel.

    ``k_w = k/sin² θ``, from ``F_w = F/sin θ`` and ``s = z/sin θ``

    Parameters
    ----------
    rate : along the fork, k [N/m] (or damping [N·s/m]), 0 or more
    head_angle : steering axis from the ground, θ [rad], above 0 to π/2
        Both broadcast together.

    Returns
    -------
    vertical rate at the axle, in the unit given

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The wheel moves straight up, guided by the ground; the fork's direction holds it back along.

    Examples
    --------
    >>> round(float(fork_wheel_rate(5400.0, np.radians(64.0))))
    6685

    References
    ----------
    Cossalter, Motorcycle Dynamics, 2nd ed. 2006, chapter 5 (reduced front stiffness).
    """
    stiffness, angle = arrays(
        rate=(rate, not_negative("N/m")), head_angle=(head_angle, _HEAD_ANGLE)
    )
    return np.asarray(stiffness / np.sin(angle) ** 2)


def _statics(
    load: ArrayLike, head_angle: ArrayLike, unsprung_mass: ArrayLike, brake_force: ArrayLike
) -> tuple[Array, ...]:
    return arrays(
        load=(load, not_negative("N")),
        head_angle=(head_angle, _HEAD_ANGLE),
        unsprung_mass=(unsprung_mass, not_negative("kg")),
        brake_force=(brake_force, not_negative("N")),
    )
