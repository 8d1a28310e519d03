"""What the use cases return: plain dataclasses that every face renders and `to_json` prints."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from cyclewright.setting import Finding, Question, Setting
from cyclewright.units import System

if TYPE_CHECKING:
    from cyclewright.advice.handling import AtTravel as AtTravel
    from cyclewright.advice.steady import Motion as Motion
    from cyclewright.advice.torque import TorqueWindow as TorqueWindow
    from cyclewright.record.plan import Plan as Plan
    from cyclewright.record.plan import PlannedStep as PlannedStep
    from cyclewright.sheets.sheets import Sheets as Sheets
    from cyclewright.workshop.setups import SetupRow as SetupRow


def _list(items: tuple[Any, ...]) -> list[Any]:
    return [item.to_json() for item in items]


def per_second(rate: float | None) -> str:
    """Growth of a motion as a person reads it; negative dies away."""
    return "–" if rate is None else f"{round(rate, 2) + 0.0:+.2f} /s".replace("-", "−")


@dataclass(frozen=True, slots=True)
class CheckAnswer:
    """Papers cross-checked: what clashes and what still has to be looked up."""

    findings: tuple[Finding, ...]
    questions: tuple[Question, ...]

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The contract's `check` document."""
        return {"findings": _list(self.findings), "questions": _list(self.questions)}


@dataclass(frozen=True, slots=True)
class Change:
    """What one setting was, is when all else is kept, and becomes when it is solved again."""

    name: str
    label: str
    unit: str
    display: str
    graduation: float
    before: float | None
    kept: float | None
    resolved: float | None

    def to_json(self) -> dict[str, Any]:
        """The contract's row of `changes`."""
        return {
            "name": self.name,
            "unit": self.unit,
            "before": self.before,
            "kept": self.kept,
            "resolved": self.resolved,
        }


@dataclass(frozen=True, slots=True)
class AdviceAnswer:
    """Settings solved together, with findings, questions and what a change moved."""

    settings: tuple[Setting, ...]
    findings: tuple[Finding, ...]
    questions: tuple[Question, ...]
    changes: tuple[Change, ...] | None = None
    geometry: tuple[AtTravel, ...] = ()
    """The bike's geometry through its travel, for a table."""
    motions: tuple[Motion, ...] = ()
    """How lean and steer move hands off over a range of speeds, for a table."""
    then: SetupRow | None = None
    """The kept set-up that the bike went back to: values to set again, never as set."""

    def setting(self, name: str) -> Setting | None:
        """The setting of that name, or None when this bike has no such thing."""
        return next((item for item in self.settings if item.name == name), None)

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The contract's `advise` document."""
        data: dict[str, Any] = {
            "settings": [item.to_json(system) for item in self.settings],
            "findings": _list(self.findings),
            "questions": _list(self.questions),
        }
        if self.changes is not None:
            data["changes"] = _list(self.changes)
        if self.then is not None:
            data["then"] = self.then.to_json()
        return data

    def tables(self) -> dict[str, Any]:
        """Geometry through the travel and the motions over speeds, as plain data in SI."""
        return {
            "geometry": [asdict(row) for row in self.geometry],
            "motions": [asdict(row) for row in self.motions],
        }


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing a gate still wants: which gate item, why, and the step that proves it."""

    item: str
    why: str
    step: str | None = None
    never_override: bool = False
    page: str = ""
    """The page of the bike where it is settled, where no step does that."""

    def to_json(self) -> dict[str, Any]:
        """The missing item as plain data."""
        return {
            "item": self.item,
            "why": self.why,
            "step": self.step,
            "never_override": self.never_override,
        }


@dataclass(frozen=True, slots=True)
class OverrideRow:
    """A gate item that was let pass: why, by whom and with whom."""

    gate: str
    item: str
    label: str
    reason: str
    by: str
    second: str
    at: str
    number: int

    def line(self) -> str:
        """The override as the sheet prints it."""
        return f"{self.label}: overridden, {self.reason} ({self.by} with {self.second})"

    def to_json(self) -> dict[str, Any]:
        """The override as plain data."""
        return {name: getattr(self, name) for name in self.__slots__}


@dataclass(frozen=True, slots=True)
class GateAnswer:
    """A gate asked: passed, or what is missing by name; and what was overridden at it."""

    gate: str
    passed: bool
    missing: tuple[Missing, ...]
    overridden: tuple[OverrideRow, ...] = ()

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The gate as plain data."""
        return {
            "gate": self.gate,
            "passed": self.passed,
            "missing": _list(self.missing),
            "overridden": _list(self.overridden),
        }


@dataclass(frozen=True, slots=True)
class ReadingAnswer:
    """A reading taken: what it says, the next setting, and whether to stop."""

    kind: str
    value: float
    unit: str
    said: str
    stop: bool
    next_setting: Setting | None
    expected: Setting | None
    """What the ring should show at the next setting."""
    suspects: tuple[Finding, ...] = ()
    numbers: tuple[int, ...] = ()
    above: bool = False
    """Whether a pressure lies above a limit: it is kept, and air has to be let out."""

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The reading as plain data."""
        return {
            "kind": self.kind,
            "value": self.value,
            "unit": self.unit,
            "said": self.said,
            "stop": self.stop,
            "next": None if self.next_setting is None else self.next_setting.to_json(system),
            "expected": None if self.expected is None else self.expected.to_json(system),
            "suspects": _list(self.suspects),
            "numbers": list(self.numbers),
        }


@dataclass(frozen=True, slots=True)
class RecordAnswer:
    """An act recorded: its event numbers, and the steps whose evidence it reopened."""

    bike: int
    numbers: tuple[int, ...]
    said: str
    reopened: tuple[str, ...] = field(default=())
    """Ids of steps to do again, in plan order."""
    reading: ReadingAnswer | None = field(default=None, kw_only=True)
    """What a step that was a reading says."""

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The act as plain data."""
        return {
            "bike": self.bike,
            "numbers": list(self.numbers),
            "said": self.said,
            "reopened": list(self.reopened),
            "reading": None if self.reading is None else self.reading.to_json(system),
        }
