"""Leverage of a rear suspension: wheel travel against shock stroke, whatever it is known from.

A curve comes from pivots, from a table, or from travel and stroke alone (the mean). Between
rows the ratio is linear in wheel travel, so that stroke is its exact logarithmic integral and
both directions invert to rounding.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.errors import Problem, RangeError
from cyclewright.mechanics.bounds import FINITE, Array, Bound, arrays, not_negative, positive
from cyclewright.mechanics.constants import STANDARD_GRAVITY
from cyclewright.mechanics.linkage import Motion

_RATIO = Bound(0.2, 12.0)


@dataclass(frozen=True, slots=True)
class Leverage:
    """Rows of a leverage curve: `travel` (k,) [m], `ratio` (..., k) [1], `stroke` (..., k) [m]."""

    travel: Array
    ratio: Array
    stroke: Array


def from_table(travel: ArrayLike, ratio: ArrayLike) -> Leverage:
    """A leverage curve from rows of travel and ratio.

    ``s_i = Σ Δz ln(LR_b/LR_a)/(LR_b - LR_a)``, the integral of ``dz/LR`` over linear pieces

    Parameters
    ----------
    travel : vertical wheel travel of the rows, (k,) ascending, the first 0 [m]
    ratio : leverage ratio there, (..., k) [1], 0.2 to 12

    Returns
    -------
    Leverage

    Raises
    ------
    RangeError : a ratio outside its range, or travels that do not ascend from 0

    Notes
    -----
    Read off a printed curve, a table is good to about 2 % (judgement).

    Examples
    --------
    >>> curve = from_table([0.0, 0.065, 0.13], [2.86, 2.60, 2.36])
    >>> round(float(curve.stroke[-1]), 5)
    0.05006

    References
    ----------
    Definition of the ratio; no printed table is used.
    """
    rows, slope = arrays(travel=(travel, not_negative("m")), ratio=(ratio, _RATIO))
    ascending = rows.ndim == 1 and rows.size > 1 and bool(np.all(np.diff(rows) > 0.0))
    if not ascending or rows[0] != 0.0 or slope.shape[-1:] != rows.shape:
        do = "give rows of rising travel that start at 0 m, one ratio to each"
        raise RangeError(Problem("leverage-rows", "travel", do, unit="m"))
    pieces = np.diff(rows) * _mean_inverse(slope[..., :-1], slope[..., 1:])
    start = np.zeros((*slope.shape[:-1], 1))
    return Leverage(rows, slope, np.concatenate((start, np.cumsum(pieces, axis=-1)), axis=-1))


def from_motion(motion: Motion) -> Leverage:
    """The leverage curve of a linkage that was moved through its travel.

    ``LR = dz/ds`` at each row of the motion

    Parameters
    ----------
    motion : of `linkage.move`, its travels from 0, every one reached

    Returns
    -------
    Leverage

    Raises
    ------
    RangeError : a travel that the linkage does not reach, or rows that do not start at 0

    Notes
    -----
    With rows at most 5 mm apart the integral meets the shock's true stroke within 20 µm on
    strongly bent curves, 1 µm on usual ones.

    Examples
    --------
    >>> from cyclewright.mechanics.linkage import linkage, move
    >>> bike = linkage("single-pivot", {"pivot": (0.01, 0.07), "axle": (-0.44, 0.03),
    ...     "shock_frame": (0.185, 0.26), "shock_arm": (-0.02, 0.235)})
    >>> motion = move(bike, np.linspace(0.0, 0.13, 40))
    >>> bool(abs(from_motion(motion).stroke - motion.shock_stroke).max() < 1e-6)
    True

    References
    ----------
    Definition of the ratio; no printed table is used.
    """
    if not motion.reached.all():
        first = motion.travel[~motion.reached.reshape(-1, motion.travel.size).all(axis=0)][0]
        words = str(motion.limit[~motion.reached].flat[0])
        do = f"check the pivots: {words} before the whole travel"
        raise RangeError(
            Problem("travel-not-reached", "travel", do, value=f"{first:.6g}", unit="m")
        )
    return from_table(motion.travel, motion.leverage_ratio)


def mean(travel: ArrayLike, stroke: ArrayLike) -> Leverage:
    """The leverage curve that is known from whole travel and whole stroke alone.

    ``LR = z_max/s_max`` throughout

    Parameters
    ----------
    travel : vertical wheel travel, z_max [m], above 0
    stroke : of the shock, s_max [m], above 0
        Both broadcast together.

    Returns
    -------
    Leverage : two rows of the same ratio

    Raises
    ------
    RangeError : an input outside its range, or a ratio outside 0.2 to 12

    Notes
    -----
    The ratio of a true linkage at sag lies 5 to 15 % from its mean (common practice, no
    source): give answers from it a wide interval.

    Examples
    --------
    >>> float(mean(0.13, 0.05).ratio[0])
    2.6

    References
    ----------
    Definition of the ratio; no printed table is used.
    """
    whole, shock = arrays(travel=(travel, positive("m")), stroke=(stroke, positive("m")))
    rows = np.array([0.0, float(np.max(whole))])
    return from_table(rows, np.repeat((whole / shock)[..., None], 2, axis=-1))


def ratio_at(leverage: Leverage, wheel_travel: ArrayLike) -> Array:
    """Leverage ratio at a wheel travel.

    ``LR(z)``, linear between rows

    Parameters
    ----------
    leverage : Leverage with k rows, (..., k)
    wheel_travel : z, (...) broadcasting with the curve's leading shape [m]

    Returns
    -------
    leverage ratio [1]; beyond the rows that of the end row

    Raises
    ------
    RangeError : a travel that is no number

    Notes
    -----
    The caller holds travel against the bike's own.

    Examples
    --------
    >>> round(float(ratio_at(from_table([0.0, 0.1], [3.0, 2.5]), 0.04)), 6)
    2.8

    References
    ----------
    Definition of the ratio; no printed table is used.
    """
    (z,) = arrays(wheel_travel=(wheel_travel, FINITE))
    rows, ratio, _ = _spread(leverage, z)
    here = np.clip(z, rows[..., 0], rows[..., -1])
    piece = _piece(rows, here)
    low, high = _pick(rows, piece), _pick(rows, piece + 1)
    share = (here - low) / (high - low)
    start = _pick(ratio, piece)
    return np.asarray(start + share * (_pick(ratio, piece + 1) - start))


def stroke_at(leverage: Leverage, wheel_travel: ArrayLike) -> Array:
    """Shock stroke at a wheel travel.

    ``s(z) = s_a + (z - z_a) ln(LR/LR_a)/(LR - LR_a)``

    Parameters
    ----------
    leverage : Leverage with k rows, (..., k)
    wheel_travel : z, (...) broadcasting with the curve's leading shape [m]

    Returns
    -------
    shock stroke [m]; beyond the rows along the end row's ratio

    Raises
    ------
    RangeError : a travel that is no number

    Notes
    -----
    The exact inverse of `travel_at`.

    Examples
    --------
    >>> round(float(stroke_at(from_table([0.0, 0.1], [2.5, 2.5]), 0.04)), 6)
    0.016

    References
    ----------
    Definition of the ratio; no printed table is used.
    """
    (z,) = arrays(wheel_travel=(wheel_travel, FINITE))
    rows, ratio, stroke = _spread(leverage, z)
    here = np.clip(z, rows[..., 0], rows[..., -1])
    piece = _piece(rows, here)
    there = ratio_at(leverage, here)
    inside = _pick(stroke, piece) + (here - _pick(rows, piece)) * _mean_inverse(
        _pick(ratio, piece), there
    )
    return np.asarray(inside + (z - here) / there)


def travel_at(leverage: Leverage, stroke: ArrayLike) -> Array:
    """Wheel travel at a shock stroke.

    ``z(s) = z_a + (LR_a/b)(exp(b (s - s_a)) - 1)`` with ``b = dLR/dz``

    Parameters
    ----------
    leverage : Leverage with k rows, (..., k)
    stroke : s, (...) broadcasting with the curve's leading shape [m]

    Returns
    -------
    vertical wheel travel [m]; beyond the rows along the end row's ratio

    Raises
    ------
    RangeError : a stroke that is no number

    Notes
    -----
    The exact inverse of `stroke_at`. Sag in percent of stroke is not sag in percent of wheel
    travel where the ratio changes: the ring shows the first.

    Examples
    --------
    >>> curve = from_table([0.0, 0.065, 0.13], [2.86, 2.60, 2.36])
    >>> round(float(travel_at(curve, 0.3 * curve.stroke[-1]) / 0.13), 4)
    0.3207

    References
    ----------
    Definition of the ratio; no printed table is used.
    """
    (s,) = arrays(stroke=(stroke, FINITE))
    rows, ratio, strokes = _spread(leverage, s)
    here = np.clip(s, strokes[..., 0], strokes[..., -1])
    piece = _piece(strokes, here)
    start = _pick(ratio, piece)
    low = _pick(rows, piece)
    bend = (_pick(ratio, piece + 1) - start) / (_pick(rows, piece + 1) - low)
    way = here - _pick(strokes, piece)
    flat = np.abs(bend) < 1e-9
    grown = np.expm1(bend * way) / np.where(flat, 1.0, bend)
    inside = low + start * np.where(flat, way, grown)
    return np.asarray(inside + (s - here) * ratio_at(leverage, inside))


def shock_force(
    load: ArrayLike,
    leverage_ratio: ArrayLike,
    unsprung_mass: ArrayLike = 0.0,
    link_force: ArrayLike = 0.0,
    chain_tension: ArrayLike = 0.0,
    growth_slope: ArrayLike = 0.0,
) -> Array:
    """Force on the shock at rest, or while pedalling steadily.

    ``F = LR (N - m g - T dG/dz) - Σ m_i g dz_i/ds``

    Parameters
    ----------
    load : under the rear wheel, N [N], 0 or more
    leverage_ratio : LR [1], 0.2 to 12
    unsprung_mass : wheel and what rises with the axle, m [kg], 0 or more
    link_force : of the moving links' weight on the shock, Σ m_i g dz_i/ds [N]
    chain_tension : of the upper run, T [N], 0 or more; 0 at rest
    growth_slope : of the upper run, dG/dz [1]
        All broadcast together.

    Returns
    -------
    force along the shock [N]; below 0 where the wheel hangs

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Quasi-static; at constant speed the drive force against drag is left out. The links' weight
    is some 5 to 15 N on the shock.

    Examples
    --------
    >>> round(float(shock_force(520.0, 2.6, 4.0)), 1)
    1250.0

    References
    ----------
    Virtual work on wheel, links and chain; no printed table is used.
    """
    normal, ratio, mass, links, tension, slope = arrays(
        load=(load, not_negative("N")),
        leverage_ratio=(leverage_ratio, _RATIO),
        unsprung_mass=(unsprung_mass, not_negative("kg")),
        link_force=(link_force, FINITE),
        chain_tension=(chain_tension, not_negative("N")),
        growth_slope=(growth_slope, FINITE),
    )
    sprung = normal - mass * STANDARD_GRAVITY - tension * slope
    return np.asarray(ratio * sprung - links)


def wheel_rate(
    rate: ArrayLike, force: ArrayLike, leverage_ratio: ArrayLike, leverage_slope: ArrayLike
) -> Array:
    """Stiffness at the rear wheel of a shock behind a linkage.

    ``k_w = k/LR² - F LR'/LR²``, from ``F_w = F/LR`` and ``ds = dz/LR``

    Parameters
    ----------
    rate : of the shock's spring there, k [N/m], 0 or more
    force : of the shock there, F [N], 0 or more
    leverage_ratio : LR [1], 0.2 to 12
    leverage_slope : dLR/dz, falling ratios negative [1/m]
        All broadcast together.

    Returns
    -------
    vertical rate at the axle [N/m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    A falling ratio stiffens the wheel by its second term even on a soft spring.

    Examples
    --------
    >>> round(float(wheel_rate(90e3, 1500.0, 2.6, -4.0)))
    14201

    References
    ----------
    Virtual work on the wheel and its derivative; no printed table is used.
    """
    stiffness, load, ratio, slope = arrays(
        rate=(rate, not_negative("N/m")),
        force=(force, not_negative("N")),
        leverage_ratio=(leverage_ratio, _RATIO),
        leverage_slope=(leverage_slope, FINITE),
    )
    return np.asarray((stiffness - load * slope) / ratio**2)


def _mean_inverse(one: Array, other: Array) -> Array:
    """Mean of 1/LR over a piece where LR runs linearly from one to the other."""
    rise = (other - one) / one
    small = np.abs(rise) < 1e-6
    series = 1.0 - rise / 2.0 + rise**2 / 3.0
    return np.asarray(np.where(small, series, np.log1p(rise) / np.where(small, 1.0, rise)) / one)


def _spread(leverage: Leverage, at: Array) -> tuple[Array, Array, Array]:
    """Rows, ratio and stroke, each (..., k) over the common leading shape."""
    lead = np.broadcast_shapes(at.shape, leverage.ratio.shape[:-1])
    shape = (*lead, leverage.travel.size)
    rows, ratio, stroke = (
        np.broadcast_to(array, shape)
        for array in (leverage.travel, leverage.ratio, leverage.stroke)
    )
    return rows, ratio, stroke


def _piece(rows: Array, at: Array) -> np.ndarray[tuple[int, ...], np.dtype[np.intp]]:
    """Index of the piece that a value lies in; the end pieces beyond the rows."""
    piece: np.ndarray[tuple[int, ...], np.dtype[np.intp]] = np.sum(
        rows[..., 1:-1] <= at[..., None], axis=-1
    )
    return piece


def _pick(rows: Array, piece: np.ndarray[tuple[int, ...], np.dtype[np.intp]]) -> Array:
    return np.take_along_axis(rows, piece[..., None], axis=-1)[..., 0]
