"""Clamps: the turning moment that a clamped tube holds by friction."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.mechanics.bounds import Array, Bound, arrays, not_negative, positive

_FRICTION: Final = Bound(0.0, 1.5)


def two_piece(tension: ArrayLike, diameter: ArrayLike, friction: ArrayLike) -> tuple[Array, Array]:
    """Moment that a clamp of two halves holds, as a stem's faceplate on a bar.

    ``M = μ D F`` where the halves touch along two lines, ``M = (π/2) μ D F`` where they press
    evenly all round

    Parameters
    ----------
    tension : of all bolts together, F [N], 0 or more
    diameter : of the clamped tube, D [m], above 0
    friction : between clamp and tube, μ [1], 0 to 1.5
        All broadcast together.

    Returns
    -------
    low, high : moments about the tube's axis [N·m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Bolts equally tight, both gaps alike, a tube that does not give. Assembly paste raises the
    friction; there is no published coefficient for it.

    Examples
    --------
    >>> [round(float(moment), 1) for moment in two_piece(20e3, 0.0318, 0.15)]
    [95.4, 149.9]

    References
    ----------
    Clamp hubs in Decker, Maschinenelemente, and Roloff and Matek, Maschinenelemente.
    """
    held = _friction_moment(tension, diameter, friction)
    return held, np.asarray(math.pi / 2.0 * held)


def slotted(tension: ArrayLike, diameter: ArrayLike, friction: ArrayLike) -> tuple[Array, Array]:
    """Moment that a slotted clamp holds, as a stem on its steerer or a seat collar.

    ``M = 2 x 0.7 μ D F`` along lines with 30 % of the tension lost in bending the clamp shut,
    to ``M = π μ D F`` with even pressure and nothing lost

    Parameters
    ----------
    tension : of all bolts across the slot together, F [N], 0 or more
    diameter : of the clamped tube, D [m], above 0
    friction : between clamp and tube, μ [1], 0 to 1.5
        All broadcast together.

    Returns
    -------
    low, high : moments about the tube's axis [N·m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Bending the clamp shut takes 5 to 30 % of the tension, more in a stiff clamp with a loose
    fit (judgement). Hold the low figure against what the rider can put in.

    Examples
    --------
    >>> [round(float(moment), 1) for moment in slotted(10e3, 0.0286, 0.15)]
    [60.1, 134.8]

    References
    ----------
    Clamp hubs in Decker, Maschinenelemente, and Roloff and Matek, Maschinenelemente.
    """
    held = _friction_moment(tension, diameter, friction)
    return np.asarray(1.4 * held), np.asarray(math.pi * held)


def _friction_moment(tension: ArrayLike, diameter: ArrayLike, friction: ArrayLike) -> Array:
    force, tube, grip = arrays(
        tension=(tension, not_negative("N")),
        diameter=(diameter, positive("m")),
        friction=(friction, _FRICTION),
    )
    return np.asarray(grip * tube * force)
