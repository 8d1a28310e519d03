"""What is known of a bike: every part of its state, and what can be asked of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from copy import copy
from dataclasses import dataclass, field, fields, replace
from typing import Any, Literal

from cyclewright.record import reopening
from cyclewright.record.care import Booked, Cared, Use
from cyclewright.record.carton import Carton
from cyclewright.record.findings import Findings
from cyclewright.record.recall import Cleared, Fitted
from cyclewright.record.steps import Step, closes, needed, steps_from

Status = Literal["open", "done", "put-off", "problem", "reopened"]

SETTING_OF_READING = {
    "fork-pressure": "fork_pressure",
    "shock-pressure": "shock_pressure",
    "front-tyre": "front_tyre_pressure",
    "rear-tyre": "rear_tyre_pressure",
}
"""Readings that say how something is set, and the setting they are."""


@dataclass(frozen=True, slots=True)
class StepState:
    """How one step stands: its status, the event that made it so, and the evidence it holds."""

    status: Status = "open"
    number: int = 0
    by: int | None = None
    at: str = ""
    evidence: Mapping[str, Any] = field(default_factory=dict)
    said: str = ""
    """Why it was put off, what the problem is, or what reopened it."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value [SI] and how it was read."""

    number: int
    kind: str
    value: float
    unit: str
    by: int | None
    at: str
    extra: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Made:
    """One setting as it was set on the bike [SI]."""

    name: str
    value: float
    unit: str
    number: int
    by: int | None
    at: str
    extra: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Passed:
    """A gate that was passed, by whom and when, and the steps it rests on."""

    gate: str
    number: int
    by: int | None
    at: str
    steps: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Overridden:
    """A gate item let pass with a reason and a second person."""

    gate: str
    item: str
    reason: str
    number: int
    by: int | None
    second: int
    at: str


@dataclass(frozen=True, slots=True)
class Released:
    """A release: who, with whom, when, and the signature over the head."""

    number: int
    by: int | None
    second: int | None
    at: str
    rider_fitted: bool
    signature: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class Planned:
    """The plan in force and all it was made from."""

    number: int
    steps: Mapping[str, Step]
    questions: tuple[Mapping[str, Any], ...]
    knowledge: str
    model: str
    at: str
    undecided: tuple[Mapping[str, Any], ...] = ()
    """Steps it leaves out while a fact that decides them is unknown."""
    rows: tuple[Mapping[str, Any], ...] = ()
    """Every row that was planned, those among them that wait for a joint to be opened."""
    reach: dict[tuple[str, ...], tuple[str, ...]] = field(
        default_factory=dict, compare=False, repr=False
    )
    """Steps that a step, or joints, can take away, found once: a plan does not change."""

    def with_opened(self, opened: Mapping[str, int]) -> Planned:
        """The plan with the steps that close what was opened."""
        steps = steps_from(needed(self.rows, opened))
        return self if len(steps) == len(self.steps) else replace(self, steps=steps, reach={})

    def closing(self, joint: str) -> frozenset[str]:
        """The steps that close and prove a joint once it was opened."""
        return frozenset(str(r["id"]) for r in self.rows if closes(str(r["id"])) == joint)

    def reached(self, key: tuple[str, ...], find: Callable[[], Iterable[str]]) -> tuple[str, ...]:
        """The steps that were found under this key, or are found now; in plan order."""
        known = self.reach.get(key)
        if known is None:
            known = self.reach[key] = reopening.ordered(self.steps, find())
        return known


@dataclass(frozen=True, slots=True)
class Pack:
    """A bike packed for a journey: its lines ticked, by step, and what was done before it."""

    number: int
    before: frozenset[str]
    lines: Mapping[str, int] = field(default_factory=dict)
    rebuilding: bool = False


@dataclass(frozen=True, slots=True)
class Setup:
    """A bike as it was set for whoever rode it before: kept to go back to."""

    id: int
    """Counts from 1 for the life of the bike."""
    number: int
    """The event that ended it."""
    at: str
    rider: str | None
    """Address of that rider's sheet, which may have been erased since."""
    sheets: Mapping[str, str]
    """The sheets of that time, and `mass` when it was stated."""
    settings: Mapping[str, Made]
    readings: tuple[Reading, ...]


@dataclass(slots=True)
class BikeState:
    """What is known of one bike after its event `number`."""

    bike: int
    number: int = 0
    head: bytes = b""
    name: str = ""
    serial: str = ""
    visit: int = 0
    visit_kind: str = ""
    visit_number: int = 0
    sheets: dict[str, str] = field(default_factory=dict)
    """Text of the `bike` and `place` sheets, and `mass` when it was stated."""
    rider: str | None = None
    """Address of the rider sheet, which is personal and kept apart."""
    plan: Planned | None = None
    steps: dict[str, StepState] = field(default_factory=dict)
    readings: list[Reading] = field(default_factory=list)
    settings: dict[str, Made] = field(default_factory=dict)
    made: list[Made] = field(default_factory=list)
    """Every setting as it was made, for life, in order; `settings` holds the newest of each."""
    joints: dict[str, int] = field(default_factory=dict)
    """Joint to the number of the event that last touched it."""
    opened: dict[str, int] = field(default_factory=dict)
    """Joints that were opened beside the plan's own steps, and the event that last did."""
    removed: dict[str, int] = field(default_factory=dict)
    """Parts that were taken off, by the name they were given then, and the event that says so."""
    changes: list[Mapping[str, Any]] = field(default_factory=list)
    setups: list[Setup] = field(default_factory=list)
    """How it was set for each rider before, in order."""
    back_to: int | None = None
    """The earlier set-up that was gone back to with the newest change of rider."""
    gates: dict[str, Passed] = field(default_factory=dict)
    """Gates that were passed and still stand."""
    fallen: dict[str, str] = field(default_factory=dict)
    """Gates that were passed once, and what made them fall."""
    overrides: dict[str, Overridden] = field(default_factory=dict)
    """Gate items that were overridden in this visit, by item."""
    released: Released | None = None
    reopened: dict[int, tuple[str, ...]] = field(default_factory=dict)
    """Event number to the steps whose evidence it took away."""
    undone: frozenset[int] = frozenset()
    erased: frozenset[str] = frozenset()
    """Addresses of attachments that were erased on purpose."""
    parts: dict[str, Fitted] = field(default_factory=dict)
    """Parts on record, by where they sit."""
    cleared: dict[int, Cleared] = field(default_factory=dict)
    """Recalls that were settled on this bike."""
    cause: str = ""
    """Why an inspection was opened."""
    plan_kind: str = ""
    """The kind of visit whose plan is in force: a pack visit keeps the plan before it."""
    findings: Findings = field(default_factory=dict)
    """Findings on the bike, for life."""
    pack: Pack | None = None
    """The journey it was packed for, until a visit of another kind is opened."""
    in_use: str = ""
    """Moment of the release after the last build: care counts from its day."""
    use: list[Use] = field(default_factory=list)
    cared: list[Cared] = field(default_factory=list)
    booked: Booked | None = None
    """The re-check that is booked and has not been done."""
    carton: Carton = field(default_factory=Carton)
    unknown: tuple[str, ...] = ()
    """Kinds of events only a newer version understands: the bike is then read-only."""
    updated: str = ""

    @property
    def read_only(self) -> bool:
        """Whether a newer version wrote something this one cannot judge."""
        return bool(self.unknown)

    @property
    def packing(self) -> bool:
        """Whether it is packed for a journey, or being packed, and its rebuild has not begun."""
        return self.visit_kind == "pack" and self.pack is not None and not self.pack.rebuilding

    def step(self, name: str) -> StepState:
        """How a step stands."""
        return self.steps.get(name, StepState())

    def done(self) -> set[str]:
        """Ids of the steps that are done and hold."""
        steps = self.planned_steps()
        return {
            name for name, held in self.steps.items() if held.status == "done" and name in steps
        }

    def still_done(self, names: Iterable[str]) -> tuple[str, ...]:
        """Those of these steps that are done and hold, in the order given."""
        steps = self.steps
        return tuple(name for name in names if name in steps and steps[name].status == "done")

    def planned_steps(self) -> Mapping[str, Step]:
        """The steps of the plan in force, in order."""
        return {} if self.plan is None else self.plan.steps

    def overridden(self, item: str) -> Overridden | None:
        """The override of a gate item, as long as everything is as it was when it was given.

        A step of the item that moved on since, or is a problem, takes the override with it.
        """
        given = self.overrides.get(item)
        if given is None:
            return None
        proving = [step for step in self.planned_steps().values() if step.safety == item]
        held = [self.step(step.id) for step in proving]
        moved = any(
            one.status == "problem" or (one.status != "done" and one.number > given.number)
            for one in held
        )
        return None if moved else given

    def unmet(self, name: str) -> tuple[str, ...]:
        """Steps that must be done before this one and are not, in plan order.

        What was overridden at a gate holds nothing up.
        """
        steps = self.planned_steps()
        waiting = [
            steps[need]
            for need in steps[name].needs
            if self.step(need).status != "done"
            and not (steps[need].safety and self.overridden(steps[need].safety))
        ]
        return tuple(step.id for step in sorted(waiting, key=lambda item: item.place))

    def blocked(self) -> tuple[str, ...]:
        """Steps that a problem somewhere before them holds up, in plan order."""
        steps = self.planned_steps()
        wrong = {name for name in steps if self.step(name).status == "problem"}
        held = reopening.held_up(steps, wrong)
        return tuple(name for name in steps if name in held)

    def copy(self) -> BikeState:
        """A state that can be folded on without changing this one."""
        kept: dict[str, Any] = {}
        for one in fields(self):
            held = getattr(self, one.name)
            if isinstance(held, (dict, list)):
                kept[one.name] = copy(held)
        return replace(self, **kept)
