"""Sag readings: what a ring says about the spring and the rider behind it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def assimilate(parameters: Array, predicted: Array, observed: float, spread: float) -> Array:
    """Draws of the uncertain parameters after one reading.

    The mean moves by K (y − ȳ) with K = C_xy / (C_yy + s²), and each draw's departure from it
    shrinks by α K (y_i − ȳ), α = 1 / (1 + √(s² / (C_yy + s²))): the square-root update for one
    observation, which needs no noise of its own. Exact where parameters and prediction are
    jointly normal and the prediction is linear in them.

    Parameters
    ----------
    parameters : array (k, n)
        Draws of k parameters, element 0 the nominal, 1 to n-1 the draws [any unit].
    predicted : array (n,)
        What each of them says the reading should be [any unit].
    observed : float
        The reading [the same unit].
    spread : float
        One standard deviation of the reading [the same unit], > 0.

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
    >>> moved = assimilate(draws, 10 + draws[0], 11.0, 0.01)
    >>> bool(abs(moved[0, 0] - 1.0) < 0.01)
    True

    References
    ----------
    Whitaker and Hamill (2002), Ensemble Data Assimilation without Perturbed Observations, Monthly
    Weather Review 130, eq. 13 (from memory).
    """
    draws, outcome = parameters[:, 1:], predicted[1:]
    centred = outcome - outcome.mean()
    variance = centred @ centred / (outcome.size - 1)
    total = variance + spread**2
    gain = (draws - draws.mean(axis=1, keepdims=True)) @ centred / (outcome.size - 1) / total
    shrink = 1.0 / (1.0 + spread / np.sqrt(total))
    step = np.concatenate(([observed - predicted[0]], observed - outcome.mean() - shrink * centred))
    moved: Array = parameters + gain[:, None] * step
    return moved


LEAST = 0.001
"""Smallest sag that a ring tells from none [m]."""
TOLERANCE = 0.02
"""A sag within this share of travel of its goal is good (common practice, no source)."""
SURE_ENOUGH = 0.88
"""Chance of being inside the tolerance at which there is nothing left to do."""
WORTH_IT = 0.05
"""Least gain in that chance that is worth letting air out for."""


def observe(parameters: Array, predicted: Array, observed: float, spread: float) -> Array:
    """Draws of the uncertain parameters after one sag reading, taken as a ratio.

    `assimilate` on the logarithm of the sag, which goes nearly straight with the logarithms of
    force, area and chamber lengths; the spread becomes relative.

    Parameters
    ----------
    parameters, predicted : as for `assimilate`
    observed : float
        The reading [m]; less than a millimetre counts as one.
    spread : float
        One standard deviation of the reading: ring, friction and posture together [m], > 0.

    Returns
    -------
    array (k, n)
        The parameters moved by the reading [same units].

    Notes
    -----
    How many readings it takes and how often the intervals hold the truth is measured over 2,000
    simulated builds in `tests/measure/corrections.py`.

    Examples
    --------
    >>> draws = np.log(np.array([[1.0, 0.9, 1.1, 0.95, 1.05]]))
    >>> moved = observe(draws, 0.03 * np.exp(draws[0]), 0.033, 1e-4)
    >>> round(float(np.exp(moved[0, 0])), 2)
    1.1

    References
    ----------
    As for `assimilate`.
    """
    read = max(observed, LEAST)
    ratio = np.log(np.maximum(predicted, LEAST))
    return assimilate(parameters, ratio, float(np.log(read)), spread / read)


MAY_BE_BAD = 0.15
"""Chance that a reading is a bad one: leaned on, another posture, a ring that moved (judgement)."""
BAD = 0.25
"""One standard deviation by which a bad reading is off, as a share of it (judgement)."""


def likelihood(predicted: Array, observed: float, spread: float) -> float:
    """Logarithm of how likely a reading is by what was predicted, taken as a ratio.

    Parameters
    ----------
    predicted : array (n,)
        What the draws say the reading should be [m], element 0 the nominal.
    observed, spread : float
        The reading and one standard deviation of it [m].

    Returns
    -------
    float
        Logarithm of the density of the logarithm of the sag [1].

    Examples
    --------
    >>> draws = np.array([0.03, 0.028, 0.032])
    >>> likelihood(draws, 0.03, 0.001) > likelihood(draws, 0.036, 0.001)
    True
    """
    read = max(observed, LEAST)
    ratio = np.log(np.maximum(predicted, LEAST))
    deviation = math.hypot(float(ratio[1:].std()), spread / read)
    off = (math.log(read) - float(ratio[0])) / deviation
    return -0.5 * off * off - math.log(deviation)


def blend(each: Sequence[Array], weights: Sequence[float]) -> Array:
    """Draws of several views of the same parameters as one set, each by its weight.

    The nominal is the weighted mean; every draw is that of one view, as many as its weight says.

    Parameters
    ----------
    each : sequence of arrays (k, n)
        Draws of k parameters by each view, element 0 the nominal [any unit].
    weights : sequence of float
        How much each view counts; they add up to one [1].

    Returns
    -------
    array (k, n)
        One set of draws [same units].

    Examples
    --------
    >>> one, two = np.zeros((1, 101)), np.ones((1, 101))
    >>> mixed = blend([one, two], [0.75, 0.25])
    >>> float(mixed[0, 0]), int(mixed[0, 1:].sum())
    (0.25, 25)
    """
    stacked, share = np.stack(each), np.asarray(weights)
    draws = stacked.shape[2] - 1
    place = (np.random.default_rng(0).permutation(draws) + 0.5) / draws
    view = np.searchsorted(np.cumsum(share)[:-1], place)
    mixed: Array = np.tensordot(share, stacked, 1)
    mixed[:, 1:] = stacked[view, :, np.arange(1, draws + 1)].T
    return mixed


TOLD = 6
"""How many sit-downs' worth the usual spread counts beside those that were seen (judgement)."""


def scatter(seen: Sequence[tuple[Sequence[float], float]]) -> float:
    """How much more than usual sit-downs fall apart [1].

    √((ν s₀² + Σ (x − x̄)²) / (ν + Σ (n − 1)) / s₀²): the usual spread s₀ counts as ν = 6 sit-downs
    of its own, so that a few alike or apart by chance do not decide.

    Parameters
    ----------
    seen : sequence of (sit-downs, usual spread)
        The sit-downs averaged by each reading of one spring, and one standard deviation that is
        usual for one of them [one unit].

    Returns
    -------
    float
        The factor on the usual spread [1]; 1 where no reading holds two sit-downs.

    Examples
    --------
    >>> scatter([((27.0,), 2.0)])
    1.0
    >>> scatter([((27.0, 27.0, 27.0), 2.0)]) < 1.0 < scatter([((20.0, 27.0, 34.0), 2.0)])
    True

    References
    ----------
    Gelman and others, Bayesian Data Analysis: scaled inverse chi-squared prior of a normal
    variance (from memory).
    """
    squares = sum(float(np.var(each)) * len(each) / usual**2 for each, usual in seen)
    freedom = sum(len(each) - 1 for each, _ in seen)
    return math.sqrt((TOLD + squares) / (TOLD + freedom))


def enough(now: float, then: float, change: float, graduation: float) -> str:
    """Why there is nothing left to set, or empty when the next setting is worth setting.

    `now` and `then` are the chances of being inside the tolerance before and after the change;
    `change` and `graduation` of the pump in one unit.

    >>> enough(0.4, 0.9, 3.0, 1.0)
    ''
    """
    if now >= SURE_ENOUGH:
        return "it is inside 2 % of travel with good confidence"
    if abs(change) < graduation / 2:
        return "the change is less than the pump can be read"
    if then - now < WORTH_IT:
        return "friction and posture hide any finer setting"
    return ""


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
