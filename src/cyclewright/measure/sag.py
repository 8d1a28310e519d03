"""Sag readings: what a ring says about the spring and the rider behind it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def assimilate(
    parameters: Array, predicted: Array, observed: float, spread: float, noise: Array
) -> Array:
    """Draws of the uncertain parameters after one reading.

    x_i' = x_i + C_xy / (C_yy + s²) · (y + s e_i − y_i), the stochastic ensemble update for one
    observation; exact where parameters and prediction are jointly normal and the prediction is
    linear in them, and close to it for sag, which bends by a few percent over the spread.

    Parameters
    ----------
    parameters : array (k, n)
        Draws of k parameters, element 0 the nominal, 1 to n-1 the draws [any unit].
    predicted : array (n,)
        What each of them says the reading should be [m].
    observed : float
        The reading [m].
    spread : float
        One standard deviation of the reading: ring, friction and posture together [m], > 0.
    noise : array (n,)
        Standard normal deviates, 0 for the nominal.

    Returns
    -------
    array (k, n)
        The parameters moved by the reading [same units].

    Notes
    -----
    Friction, negative chamber and posture that the draws do not hold are left to `spread`.

    Examples
    --------
    >>> draws = np.array([[0.0, -1.0, 1.0, -0.5, 0.5]])
    >>> moved = assimilate(draws, 10 + draws[0], 11.0, 0.01, np.zeros(5))
    >>> bool(abs(moved[0, 0] - 1.0) < 0.01)
    True

    References
    ----------
    Evensen, G. (2003), The Ensemble Kalman Filter, Ocean Dynamics 53, eq. 20 (from memory).
    """
    draws, outcome = parameters[:, 1:], predicted[1:]
    centred = outcome - outcome.mean()
    covariance = (draws - draws.mean(axis=1, keepdims=True)) @ centred / (outcome.size - 1)
    variance = centred @ centred / (outcome.size - 1)
    gain = covariance / (variance + spread**2)
    moved: Array = parameters + gain[:, None] * (observed + spread * noise - predicted)
    return moved


def chance_inside(outcome: Array, target: float, tolerance: float) -> float:
    """Share of the draws (element 0, the nominal, left out) within `tolerance` of `target`.

    >>> chance_inside(np.array([0.0, 1.0, 2.0, 3.0]), 2.0, 1.0)
    1.0
    """
    return float(np.mean(np.abs(outcome[1:] - target) <= tolerance))


def surprise(predicted: Array, observed: float, spread: float) -> float:
    """How many standard deviations a reading lies from what was predicted [1].

    >>> surprise(np.array([0.0, -1.0, 1.0]), 3.0, 0.0)
    3.0
    """
    variance = float(np.var(predicted[1:])) + spread**2
    return float((observed - predicted[0]) / np.sqrt(variance))
