"""What a single sum is: its inputs, its results, its source, and an example that runs."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from cyclewright import units
from cyclewright.errors import InputError, Problem, RangeError
from cyclewright.units import System

WORD: Final = "word"


@dataclass(frozen=True, slots=True)
class Input:
    """One input: a quantity of a dimension within its bounds, or a word."""

    key: str
    dimension: str
    meaning: str
    default: str | None = None
    optional: bool = False
    at_least: str | None = None
    above: str | None = None
    at_most: str | None = None
    below: str | None = None
    choices: tuple[str, ...] = ()
    read: Callable[[str], object] | None = None
    """Checks a word; raises an `InputError`."""

    @property
    def unit(self) -> str:
        """The unit that a result in this dimension has; empty for words."""
        return "" if self.dimension == WORD else units.DIMENSIONS[self.dimension][0]

    @property
    def needed(self) -> bool:
        """Whether the sum cannot do without it."""
        return self.default is None and not self.optional

    @property
    def allowed(self) -> str:
        """The values that can be, in words."""
        if self.choices:
            return " or ".join(self.choices)
        bounds = (
            ("at least", self.at_least),
            ("above", self.above),
            ("at most", self.at_most),
            ("below", self.below),
        )
        return ", ".join(f"{word} {end}" for word, end in bounds if end is not None)

    def value(self, text: str) -> Any:
        """What was written, as SI or as a word; anything that cannot be raises."""
        if self.dimension == WORD:
            return self._word(text)
        quantity = units.parse(text, self.dimension, self.key)
        if self.key.endswith("_gauge") and text.rstrip().endswith("abs"):
            do = "give the gauge pressure: what an absolute one reads depends on the altitude"
            raise InputError(Problem("absolute", self.key, do, text, self.unit))
        if quantity.sigma is not None:
            raise InputError(
                Problem(
                    "no-deviation",
                    self.key,
                    "leave the ± out: a single sum takes no deviation",
                    text,
                )
            )
        if not self._inside(quantity.value):
            raise RangeError(self._problem("out-of-range", text))
        return quantity.value

    def _word(self, text: str) -> str:
        word = text.strip()
        if self.choices and word not in self.choices:
            raise InputError(self._problem("choice", text))
        if self.read is not None:
            self.read(word)
        return word

    def _inside(self, value: float) -> bool:
        def end(text: str) -> float:
            return units.parse(text, self.dimension).value

        return (
            math.isfinite(value)
            and (self.at_least is None or value >= end(self.at_least))
            and (self.above is None or value > end(self.above))
            and (self.at_most is None or value <= end(self.at_most))
            and (self.below is None or value < end(self.below))
        )

    def _problem(self, code: str, text: str) -> Problem:
        do = f"give {self.meaning}; check the number and its unit"
        if self.choices:
            do = f"write one of these: {', '.join(self.choices)}"
        return Problem(
            code, self.key, do, value=text, unit=self.unit or None, allowed=self.allowed or None
        )


@dataclass(frozen=True, slots=True)
class Output:
    """One result: its SI unit, and the unit a person reads it in."""

    key: str
    unit: str
    meaning: str
    display: str = ""
    sometimes: bool = False
    """Whether some inputs have no such result."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a sum found, by key in SI, and what must be said beside it."""

    results: Mapping[str, float]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Calculation:
    """A sum with its inputs, its results, where it comes from and an example that runs."""

    name: str
    sentence: str
    inputs: tuple[Input, ...]
    results: tuple[Output, ...]
    source: str
    example: str
    compute: Callable[[Mapping[str, Any]], Outcome]
    combination: Callable[[Mapping[str, str]], Iterable[Problem]] | None = None
    """What is wrong with the inputs given together."""

    def input(self, key: str) -> Input | None:
        """The input of that key."""
        return next((item for item in self.inputs if item.key == key), None)

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The description as plain data."""
        return {
            "name": self.name,
            "sentence": self.sentence,
            "inputs": [
                {
                    "key": item.key,
                    "unit": item.unit,
                    "meaning": item.meaning,
                    "default": item.default,
                    "needed": item.needed,
                    "allowed": item.allowed,
                }
                for item in self.inputs
            ],
            "results": [
                {"key": item.key, "unit": item.unit, "meaning": item.meaning}
                for item in self.results
            ],
            "source": self.source,
            "example": self.example,
        }
