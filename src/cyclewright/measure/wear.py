"""Wear readings: the straight line through them and where it meets a limit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cyclewright.errors import range_error

Array = NDArray[np.float64]
Z90 = 1.6448536269514722
"""Standard normal deviate of a two-sided 90 % interval."""


@dataclass(frozen=True, slots=True)
class Projection:
    """A wear line: its rate, its value now, and the use at which it meets the limit.

    `low` and `high` bound that use at 90 %; each is None where the readings leave it open, `at`
    as well where the line does not run towards the limit.
    """

    rate: float
    now: float
    at: float | None
    low: float | None
    high: float | None


def projection(use: ArrayLike, worn: ArrayLike, limit: float, spread: float) -> Projection:
    """Where the line through wear readings meets a limit, with the interval of that use.

    `y = ȳ + b (x − x̄)` by least squares; it meets L at `x* = x̄ + (L − ȳ)/b`. The interval is
    Fieller's: all x for which `(ȳ + b (x − x̄) − L)² ≤ z² s² (1/n + (x − x̄)²/S_xx)`.

    Parameters
    ----------
    use : use at each reading, x [any unit], shape (n,), two different values at least
    worn : what each reading says, y [any unit], shape (n,)
    limit : the reading at which the part is worn out, L [as `worn`]
    spread : one standard deviation of a reading, s [as `worn`], above 0
        Raised to the scatter about the line where the readings scatter more.

    Returns
    -------
    Projection: rate [worn a unit of use], value at the last use, use at the limit and its bounds

    Raises
    ------
    RangeError : fewer than two different uses, a spread that is not above 0

    Notes
    -----
    Wear is taken as going straight with use. With two or three readings only `spread` speaks for
    their scatter; from four on the scatter about the line, with Student's t for z, counts where
    it reaches further.

    Examples
    --------
    >>> found = projection([0.0, 10.0, 20.0], [4.0, 3.5, 3.0], 1.5, 0.05)
    >>> round(found.rate, 3), round(found.at, 1), round(found.low, 1), round(found.high, 1)
    (-0.05, 50.0, 45.7, 55.4)

    References
    ----------
    Fieller, E. C. (1954), Some problems in interval estimation, J. R. Stat. Soc. B 16 (from
    memory); Draper and Smith, Applied Regression Analysis, inverse regression (from memory);
    Abramowitz and Stegun, 26.7.5, for Student's t.
    """
    x, y = np.asarray(use, dtype=float), np.asarray(worn, dtype=float)
    if not spread > 0.0 or not math.isfinite(spread):
        raise range_error(
            "spread", "spread", "give the reading's spread, above 0", value=str(spread)
        )
    centred = x - x.mean() if x.size else x
    sxx = float(centred @ centred)
    if x.size < 2 or sxx <= 0.0:
        raise range_error("use", "use", "read it again after some use: one point is no line")
    rate = _told(float(centred @ (y - y.mean())) / sxx, x, y)
    scatter = y - y.mean() - rate * centred
    freedom = x.size - 2
    rms = math.sqrt(float(scatter @ scatter) / freedom) if freedom >= 2 else 0.0
    reach = max(Z90 * spread, _student(freedom) * rms if rms else 0.0)
    now = float(y.mean() + rate * (x.max() - x.mean()))
    ahead = limit - now
    if rate == 0.0 or ahead * rate < 0.0:
        return Projection(rate, now, _passed(rate, now, limit, x, y), None, None)
    low, high = _fieller(rate, float(y.mean()) - limit, reach, x.size, sxx)
    centre = float(x.mean())
    at = centre + (limit - float(y.mean())) / rate
    return Projection(
        rate,
        now,
        at,
        None if low is None else centre + low,
        None if high is None else centre + high,
    )


def _told(rate: float, x: Array, y: Array) -> float:
    """The rate, none where all that the line rises is rounding: equal readings have no slope."""
    rounding = x.size * np.finfo(np.float64).eps * float(np.abs(y).max())
    return rate if abs(rate) * float(np.ptp(x)) > rounding else 0.0


def _student(freedom: int) -> float:
    """Student's t of a two-sided 90 % interval, within 2 % from two degrees of freedom on."""
    z, n = Z90, float(freedom)
    first = (z**3 + z) / 4
    second = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    third = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    return z + first / n + second / n**2 + third / n**3


def _passed(rate: float, now: float, limit: float, x: Array, y: Array) -> float | None:
    """The use at which a limit was met that the readings have gone past already."""
    start = float(y.mean() + rate * (x.min() - x.mean()))
    gone_past = rate != 0.0 and (start - limit) * (now - limit) <= 0.0
    return float(x.mean()) + (limit - float(y.mean())) / rate if gone_past else None


def _fieller(
    rate: float, off: float, reach: float, count: int, sxx: float
) -> tuple[float | None, float | None]:
    """Bounds from the mean use; None where the slope is not told from none."""
    steep = rate**2 - reach**2 / sxx
    if steep <= 0.0:
        return None, None
    root = reach * math.sqrt(steep / count + off**2 / sxx)
    ends = ((-off * rate - root) / steep, (-off * rate + root) / steep)
    return min(ends), max(ends)
