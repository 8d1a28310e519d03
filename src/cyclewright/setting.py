"""Setting, Finding and Question: the shapes of every answer.

The page, the command line, the PDF and the JSON render these same objects. Values are SI; the
rounded text a person reads is `Setting.shown`.
"""

from __future__ import annotations

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
    value that would exactly meet the goal, before limits. `display` names the unit of the tool
    it is set with, `graduation` the tool's step in that unit.
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
            self._inward(),
        )

    def _inward(self) -> units.Rounding:
        """How the value rounds: never past a limit that holds it."""
        binding = {limit.kind for limit in self.limits if limit.binds}
        if len(binding) != 1:
            return "nearest"
        return "down" if "max" in binding else "up"

    def to_json(self, system: units.System = "trade") -> dict[str, Any]:
        """The setting as plain data; `shown` is the rounded text."""
        data = asdict(self)
        data["limits"] = [asdict(limit) for limit in self.limits]
        data["cautions"] = list(self.cautions)
        data["beside"] = list(self.beside)
        data["shown"] = self.show(system)
        return data


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
