"""Physical bounds of inputs, and the check that names every one that is crossed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cyclewright.errors import Problem, RangeError

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Bound:
    """An interval of SI values; an open end, and an infinite one, excludes its own value."""

    low: float = -math.inf
    high: float = math.inf
    unit: str = ""
    low_open: bool = False
    high_open: bool = False

    def holds(self, values: Array) -> BoolArray:
        """Where the values lie inside; a NaN lies nowhere."""
        low_open = self.low_open or math.isinf(self.low)
        high_open = self.high_open or math.isinf(self.high)
        above = values > self.low if low_open else values >= self.low
        below = values < self.high if high_open else values <= self.high
        return np.asarray(above & below)

    def words(self) -> str:
        """The interval as a person says it: `above 0 m`, `0.1 to 1`."""
        unit = f" {self.unit}" if self.unit else ""
        low = "above" if self.low_open else "at least"
        high = "below" if self.high_open else "at most"
        if math.isinf(self.low) and math.isinf(self.high):
            return f"a finite number{' of' + unit if unit else ''}"
        if math.isinf(self.high):
            return f"{low} {self.low:g}{unit}"
        if math.isinf(self.low):
            return f"{high} {self.high:g}{unit}"
        if self.low_open or self.high_open:
            return f"{low} {self.low:g} and {high} {self.high:g}{unit}"
        return f"{self.low:g} to {self.high:g}{unit}"


FINITE = Bound()
SHARE = Bound(0.0, 1.0)


def positive(unit: str = "") -> Bound:
    """Above zero."""
    return Bound(0.0, unit=unit, low_open=True)


def not_negative(unit: str = "") -> Bound:
    """Zero or more."""
    return Bound(0.0, unit=unit)


def arrays(**inputs: tuple[ArrayLike, Bound]) -> tuple[Array, ...]:
    """The inputs as SI arrays in the order given; all that cross their bound are told at once."""
    found: list[Array] = []
    problems: list[Problem] = []
    for name, (value, bound) in inputs.items():
        array = np.asarray(value, dtype=np.float64)
        inside = bound.holds(array)
        if not inside.all():
            problems.append(_problem(name, float(array[~inside].flat[0]), bound))
        found.append(array)
    if problems:
        raise RangeError(problems)
    return tuple(found)


def refuse(code: str, field: str, where: BoolArray | bool, value: Array, do: str) -> None:
    """Raise a `RangeError` with the first offending value wherever `where` is true."""
    bad = np.broadcast_to(where, np.broadcast_shapes(np.shape(where), value.shape))
    if bad.any():
        first = float(np.broadcast_to(value, bad.shape)[bad].flat[0])
        raise RangeError(Problem(code, field, do, value=f"{first:.6g}"))


def _problem(name: str, value: float, bound: Bound) -> Problem:
    words = bound.words()
    return Problem(
        "out-of-range",
        name,
        f"give {words}",
        value=f"{value:.6g}",
        unit=bound.unit or None,
        allowed=words,
    )
