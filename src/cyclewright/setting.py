"""Setting, Finding and Question: the shapes of every answer.

The page, the command line, the PDF and the JSON render these same objects. Values are SI; the
rounded text a person reads is `Setting.shown`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal

from cyclewright import units

Basis = Literal["maker", "law", "standard", "measured", "model", "practice", "rider"]
Severity = Literal["stop", "warn", "note"]

BASIS_WORDS: dict[str, str] = {
    "maker": "the maker's figure",
    "law": "the law of the country",
    "standard": "a published standard",
    "measured": "measured on this bike",
    "model": "our own sums",
    "practice": "common practice, no source",
    "rider": "the rider's wish",
}
BASIS_WORD: dict[str, str] = {
    "maker": "maker",
    "law": "law",
    "standard": "standard",
    "measured": "measured",
    "model": "our sums",
    "practice": "practice",
    "rider": "rider",
}
"""The same in a word, where there is room for no more."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A bound on a setting and who set it; `binds` when it is the one that decides."""

    owner: str
    kind: Literal["min", "max"]
    value: float
    binds: bool = False


@dataclass(frozen=True, slots=True)
class Setting:
    """One number a mechanic can set or read, with its 90 % interval and what it rests on.

    `value`, `low`, `high` are SI (pressures gauge at the workshop); `value` is None when limits
    leave nothing, and a Finding then names both limits. `low` to `high` is the interval of the
    value that would exactly meet the goal, cut where a limit stands, for nobody may set what lies
    beyond it; it always holds the value, and there is none without one. `wanted` is what would
    meet the goal where a limit moved the value. `display` names the unit of the tool it is set
    with, `graduation` the tool's step in that unit.

    >>> most = Limit("the fork's maker", "max", 100.0)
    >>> name, whose, why = "fork_pressure", "our sums", "a sag of 25 %"
    >>> Setting(name, 95.0, "Pa", 80.0, 130.0, "model", whose, why, "", 1.0, name, (most,)).high
    100.0
    """

    name: str
    value: float | None
    unit: str
    low: float | None
    high: float | None
    basis: Basis
    source: str
    because: str
    display: str
    graduation: float
    label: str = ""
    limits: tuple[Limit, ...] = ()
    cautions: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    """What habit or rule of thumb would say, for comparison only: never advice."""
    wanted: float | None = None
    cure: str = ""
    """What other part would let it be as wanted."""

    def __post_init__(self) -> None:
        """Cut the interval at the limits; no value, no interval."""
        low, high = _cut(self.value, self.low, self.high, self.within)
        object.__setattr__(self, "low", low)
        object.__setattr__(self, "high", high)

    @property
    def within(self) -> units.Within:
        """The highest floor and the lowest ceiling of its limits."""
        return tightest(self.limits)

    @property
    def near_limit(self) -> bool:
        """Whether the interval comes within a step of the tool of any limit."""
        if self.low is None or self.high is None:
            return False
        least, most = self.within
        step = self.graduation / units.convert(1.0, self.display)
        return self.low - least < step or most - self.high < step

    def show(self, system: units.System = "trade") -> str:
        """Rounded text as a person reads it: `78 (74 to 82) psi`."""
        if self.value is None:
            return "none"
        return units.show_interval(
            self.value,
            self.low,
            self.high,
            self.display,
            self.graduation,
            system,
            self.within,
        )

    def moved(self, system: units.System = "trade") -> str:
        """What a limit made of what was wanted, by how much, and what other part cures it.

        Empty where nothing moved by half a step of the tool.

        >>> name, floor = "saddle_height", (Limit("the dropper", "min", 0.665, True),)
        >>> Setting(name, 0.665, "m", 0.575, 0.612, "model", "", "", "mm", 1.0, "", floor,
        ...     wanted=0.594, cure="a shorter dropper").moved()
        'wanted 594 mm, possible 665 mm, 71 mm too high: a shorter dropper cures it'
        """
        if self.value is None or self.wanted is None:
            return ""
        away = self.value - self.wanted
        if abs(units.convert(away, self.display)) < self.graduation / 2:
            return ""
        wanted, off = (
            units.show(one, self.display, self.graduation, system)
            for one in (self.wanted, abs(away))
        )
        ways = ("low", "high") if self.name == "saddle_height" else ("little", "much")
        told = f"wanted {wanted}, possible {self.show_value(self.value, system)}"
        told += f", {off} too {ways[away > 0.0]}"
        return f"{told}: {self.cure} cures it" if self.cure else told

    def show_value(self, value: float | None, system: units.System = "trade") -> str:
        """Any value of this setting, rounded as the one advised is: `78 psi`."""
        if value is None:
            return "none"
        return units.show(value, self.display, self.graduation, system, self.within)

    def to_json(self, system: units.System = "trade") -> dict[str, Any]:
        """The setting as plain data; `shown` is the rounded text."""
        data = asdict(self)
        data["limits"] = [asdict(limit) for limit in self.limits]
        data["cautions"] = list(self.cautions)
        data["beside"] = list(self.beside)
        data["shown"] = self.show(system)
        data["moved"] = self.moved(system)
        return data


def tightest(limits: Sequence[Limit]) -> units.Within:
    """The highest floor and the lowest ceiling; infinite where nobody sets one."""
    floors = [limit.value for limit in limits if limit.kind == "min"]
    ceilings = [limit.value for limit in limits if limit.kind == "max"]
    return max(floors, default=-math.inf), min(ceilings, default=math.inf)


def _cut(
    value: float | None, low: float | None, high: float | None, within: units.Within
) -> tuple[float | None, float | None]:
    """An interval inside its limits that holds the value."""
    if value is None or low is None or high is None:
        return None, None
    least, most = within
    ends = [min(max(end, least), most) for end in (low, high)]
    return min(value, *ends), max(value, *ends)


@dataclass(frozen=True, slots=True)
class Finding:
    """Facts that clash, the rule they break, what to do, and how grave it is."""

    code: str
    severity: Severity
    facts: tuple[str, ...]
    rule: str
    do: str
    fields: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """The finding as plain data."""
        return {
            "code": self.code,
            "severity": self.severity,
            "facts": list(self.facts),
            "rule": self.rule,
            "do": self.do,
            "fields": list(self.fields),
        }


@dataclass(frozen=True, slots=True)
class Question:
    """A fact nobody may guess: which sheet field, what to ask, why it matters."""

    field: str
    ask: str
    why: str
    options: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """The question as plain data."""
        return {
            "field": self.field,
            "ask": self.ask,
            "why": self.why,
            "options": list(self.options),
        }
