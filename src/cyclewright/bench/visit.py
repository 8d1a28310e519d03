"""One bike as its pages show it: head, steps and how they stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import TYPE_CHECKING, Any

from cyclewright.bench import views
from cyclewright.workshop import build, care, people, recall
from cyclewright.workshop.standing import AFTER_RIDE_GATE

if TYPE_CHECKING:
    from cyclewright.workshop.shop import Shop

_TICK_ONLY = frozenset({"tick", "torque"})
_PAPERS = {
    "hands-delivered": ("brake-card", "Brake card"),
    "fork-sag": ("sag-strip", "Sag strip"),
    "shock-sag": ("sag-strip", "Sag strip"),
    "explained-settings": ("setting-card", "Setting card"),
    "explained-first-recheck": ("hand-over", "Hand-over sheet"),
}
"""Papers that a step wants beside it."""
_KIND_WORDS = {
    "target": "Set exactly",
    "max": "Stay under the limit: set",
    "range": "Set",
}


@dataclass(frozen=True, slots=True)
class Torque:
    """A torque as the step page shows it."""

    big: str
    """The figure, biggest on the page; a dash when the figures leave nothing."""
    kind: str
    whose: str
    start: str
    """What the stepper starts at."""
    settable: bool = True
    """Whether the figures leave a setting."""
    needs_word: bool = False
    unreached: bool = False
    """Whether no tool of the shop reaches it."""


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution and its kind: stop, check or know."""

    kind: str
    text: str


@dataclass(frozen=True, slots=True)
class Asked:
    """What a step writes down: in which unit, what is expected, or words to choose from."""

    what: str
    unit: str
    expect: float | None
    setting: str
    """Name of the advised setting whose value is expected."""
    reading: str
    options: tuple[str, ...]
    day: bool
    """Whether a day is written down with it."""

    @property
    def own_words(self) -> bool:
        """Whether the one word on offer only saves typing, and others do as well."""
        return len(self.options) == 1


@dataclass(frozen=True, slots=True)
class WordAsked:
    """Whose word a step wants, and what for."""

    label: str
    hint: str


@dataclass(frozen=True, slots=True)
class BoltView:
    """One joint of the bolt round: what is done to it, with what, to which figure."""

    name: str
    verb: str
    """set, check or leave"""
    compound: str
    hand: str
    torque: Torque | None


@dataclass(frozen=True, slots=True)
class StepView:
    """A planned step and how it stands."""

    id: str
    stage: str
    station: str
    do: str
    why: str
    tool: str
    compound: str
    cautions: tuple[Caution, ...]
    evidence: tuple[str, ...]
    needs: tuple[str, ...]
    unmet: tuple[str, ...]
    minutes: float
    safety: str
    torque: Torque | None
    record: Asked | None
    group: str
    status: str
    said: str
    recorded: str
    plain: Mapping[str, Any]

    def to_json(self) -> dict[str, Any]:
        """The step as it was planned, and how it stands."""
        return {**self.plain, "status": self.status, "said": self.said, "unmet": list(self.unmet)}

    @property
    def joints(self) -> tuple[str, ...]:
        """The joints that it touches."""
        return tuple(self.plain["joints"])

    @property
    def bolts(self) -> dict[str, list[BoltView]]:
        """The joints of a bolt round by the tool that turns them, front to back."""
        rows = sorted(self.plain.get("bolts") or (), key=lambda row: row["place"])
        by_tool = views.grouped(rows, lambda row: row["tool"].removeprefix("torque wrench, "))
        return {tool: [_bolt(row) for row in found] for tool, found in by_tool.items()}

    @property
    def paper(self) -> tuple[str, str] | None:
        """The paper that is held in the hand here, and what it is called."""
        if self.plain.get("bolts"):
            return "torque-card", "Torque card"
        return _PAPERS.get(self.id)

    @property
    def finished(self) -> bool:
        """Whether nothing is left to do here."""
        return self.status == "done"

    @property
    def tickable(self) -> bool:
        """Whether a tick on the station card is all it takes."""
        settable = self.torque is None or (self.torque.settable and not self.torque.needs_word)
        return settable and not self.no_figure and set(self.evidence) <= _TICK_ONLY and self.todo

    @property
    def todo(self) -> bool:
        """Whether it is still to be done, for the first time or again."""
        return self.status in ("open", "put-off", "reopened")

    @property
    def ready(self) -> bool:
        """Whether it can be done now."""
        return self.status in ("open", "reopened") and not self.unmet

    @property
    def meta(self) -> str:
        """Tool and compound in one line."""
        return " · ".join(part for part in (self.tool, self.compound) if part)

    @property
    def ask_torque(self) -> bool:
        """Whether the torque that was set is recorded."""
        return "torque" in self.evidence

    @property
    def no_figure(self) -> bool:
        """Whether nobody's figure is known for the torque that it wants."""
        return "torque" in self.evidence and self.torque is None

    @property
    def needs_word(self) -> bool:
        """Whether it is done with somebody's word alone."""
        unsure = self.no_figure or (self.torque is not None and self.torque.needs_word)
        return unsure or self.status == "problem"

    @property
    def takes_word(self) -> bool:
        """Whether a value far from what is advised may stand on somebody's word."""
        return "value" in self.evidence and self.record is not None and bool(self.record.setting)

    @property
    def word_asked(self) -> WordAsked:
        """What somebody's word is wanted for here."""
        if self.status == "problem":
            return WordAsked(
                "What was done about it",
                "A problem stands on record here. What was worked on is proved again.",
            )
        if self.no_figure:
            return WordAsked(
                "Whose figure it is",
                "No figure is known here. Find it: the page of the maker's manual, or the mark on "
                "the part.",
            )
        if self.torque is None or not self.torque.needs_word:
            return WordAsked(
                "Whose word it is",
                "Who says that it is meant so, though it is far from what is advised or a mark is "
                "missing. It is kept with the value and printed.",
            )
        if self.torque.unreached:
            return WordAsked(
                "Which tool it was set with",
                "Its scale and its calibration: none of the shop's own tools reaches this figure.",
            )
        return WordAsked(
            "The maker's word on this joint",
            "Who said it, and what: the two parts' figures leave no setting of their own.",
        )

    @property
    def ask_value(self) -> bool:
        """Whether something measured or written is recorded."""
        return "value" in self.evidence or "text" in self.evidence

    @property
    def ask_photo(self) -> bool:
        """Whether a photo proves it."""
        return "photo" in self.evidence


@dataclass(frozen=True, slots=True)
class Visit:
    """A bike's current visit."""

    id: int
    name: str
    stage: str
    rider: str
    number: int
    plan: int
    """The number of the event that made the plan in force."""
    steps: tuple[StepView, ...]
    ride_gate_passed: bool
    released: Any
    read_only: bool
    questions: Sequence[Any]
    state: Any
    show: Any
    names: Mapping[int, str] = field(default_factory=dict)
    lapsed: str = ""
    """Why a passed gate, or a release, stands no more."""
    was_released: bool = False
    recalled: tuple[str, ...] = ()
    """What open recalls say of this bike."""

    @property
    def total(self) -> int:
        """How many steps the plan has."""
        return len(self.steps)

    @property
    def done(self) -> int:
        """How many are done and hold."""
        return sum(step.finished for step in self.steps)

    @property
    def next(self) -> StepView | None:
        """The first step that can be done now."""
        ready = (step for step in self.steps if step.ready)
        return next(ready, next((step for step in self.steps if step.todo), None))

    @property
    def gate_first(self) -> bool:
        """Whether nothing but the ride gate is left before the next step."""
        return bool(self.show.next_gate == "ride")

    @property
    def release_first(self) -> bool:
        """Whether all that is left comes after the release."""
        return bool(self.show.next_gate == "release")

    def waits_for_gate(self, step: StepView) -> bool:
        """Whether a step is done riding, or after it, and nobody may ride yet."""
        return step.stage in AFTER_RIDE_GATE and not self.ride_gate_passed

    def waits_for_release(self, step: StepView) -> bool:
        """Whether a step belongs to the time after a release that has not been."""
        return step.stage == "Care" and self.released is None

    @property
    def minutes_left(self) -> float:
        """Minutes that the open steps take."""
        return sum(step.minutes for step in self.steps if not step.finished)

    @property
    def plan_questions(self) -> Sequence[Any]:
        """Facts that decide whether a step belongs in the plan."""
        return self.questions

    def step(self, name: str) -> StepView | None:
        """The step of that id."""
        return next((step for step in self.steps if step.id == name), None)

    def named(self, ids: Sequence[str]) -> tuple[StepView, ...]:
        """The steps of those ids, in plan order."""
        wanted = set(ids)
        return tuple(step for step in self.steps if step.id in wanted)


@dataclass(frozen=True, slots=True)
class Line:
    """Steps of a station card that are ticked together; one step stands alone."""

    group: str
    steps: tuple[StepView, ...]

    @property
    def ticks(self) -> str:
        """Ids of the steps that one tick of this line would do."""
        return " ".join(step.id for step in self.steps if step.tickable)


@dataclass(frozen=True, slots=True)
class Station:
    """A station card: its lines and how far they are."""

    name: str
    lines: tuple[Line, ...]

    @property
    def steps(self) -> tuple[StepView, ...]:
        """Every step of the card."""
        return tuple(step for line in self.lines for step in line.steps)

    @property
    def done(self) -> int:
        """How many lines are done."""
        return sum(step.finished for step in self.steps)

    @property
    def finished(self) -> bool:
        """Whether every line is done."""
        return self.done == len(self.steps)

    @property
    def minutes(self) -> float:
        """Minutes that its open lines take."""
        return sum(step.minutes for step in self.steps if not step.finished)

    @property
    def tickable(self) -> bool:
        """Whether any line takes a tick."""
        return any(step.tickable for step in self.steps)


def stations(visit: Visit) -> list[Station]:
    """The station cards of a visit, in plan order."""
    groups = views.grouped(visit.steps, lambda step: step.station)
    return [Station(name, tuple(_lines(steps))) for name, steps in groups.items()]


def _lines(steps: Sequence[StepView]) -> Iterator[Line]:
    """Neighbours of one group share a line."""
    for _, run in groupby(steps, key=lambda step: step.group or step.id):
        held = tuple(run)
        yield Line(held[0].group if len(held) > 1 else "", held)


@dataclass(frozen=True, slots=True)
class Told:
    """What the next page says of the last act, and the steps that it reopened."""

    text: str
    reopened: tuple[str, ...] = ()
    answer: Any = None
    """What a reading that was just taken says, for the page of that reading."""


def of(shop: Shop, bike: int) -> Visit:
    """A bike's current visit."""
    show = care.show(shop, bike)
    state = shop.state(bike)
    steps = tuple(_step(step, state) for step in state.planned_steps().values())
    return Visit(
        id=bike,
        name=show.name,
        stage=show.stage,
        rider=show.rider,
        number=state.number,
        plan=0 if state.plan is None else state.plan.number,
        steps=steps,
        ride_gate_passed="ride" in show.passed,
        released=show.released,
        read_only=state.read_only,
        questions=build.plan_for(shop, bike).questions,
        state=state,
        show=show,
        names=people.names(shop),
        lapsed=show.lapsed,
        was_released=show.was_released,
        recalled=tuple(hit.line() for hit in recall.blocking(shop, state)),
    )


def sheets_of(shop: Shop, seen: Visit) -> Any:
    """The sheets in force for the bike."""
    return shop.sheets(seen.state)


def _step(step: Any, state: Any) -> StepView:
    """A planned step and how it stands, as the pages show it."""
    held, data = state.step(step.id), step.data
    return StepView(
        id=step.id,
        stage=step.stage,
        station=views.sentence_start(step.station),
        do=step.do,
        why=data.get("why") or "",
        tool=data.get("tool") or "",
        compound=data.get("compound") or "",
        cautions=tuple(Caution(item["kind"], item["text"]) for item in data.get("cautions") or ()),
        evidence=step.evidence,
        needs=tuple(step.needs),
        unmet=state.unmet(step.id),
        minutes=float(data.get("minutes") or 0),
        safety=step.safety,
        torque=None if step.torque is None else _torque(step.torque),
        record=_asked(data.get("record")),
        group=data.get("group") or "",
        status=held.status,
        said=views.plainly(held.said),
        recorded=_recorded(held.evidence),
        plain=data,
    )


def _asked(record: Mapping[str, Any] | None) -> Asked | None:
    """What a step writes down, as planned."""
    if record is None:
        return None
    return Asked(
        what=record.get("what") or "",
        unit=record.get("unit") or "",
        expect=record.get("expect"),
        setting=record.get("setting") or "",
        reading=record.get("reading") or "",
        options=tuple(record.get("options") or ()),
        day=bool(record.get("day")),
    )


def _bolt(row: Mapping[str, Any]) -> BoltView:
    """A joint of the bolt round as its step shows it."""
    window = row["torque"]
    torque = None if window is None else _torque(window)
    name = views.sentence_start(row["label"])
    return BoltView(name, row["verb"], build.short(row["compound"]), row["hand"], torque)


def _torque(window: Mapping[str, Any]) -> Torque:
    """A torque window in words: the figure, what kind it is, whose it is."""
    low, high, setting = window.get("low"), window.get("high"), window.get("set")
    if setting is None and (unreached := window.get("unreached")):
        whose = f"{views.sentence(window['whose'])} {views.sentence(unreached)}"
        big = f"{high:g}" if low is None or low == high else f"{low:g}–{high:g}"
        start = f"{high:g} N·m" if low == high else ""
        return Torque(big, "By the figure, with another tool", whose, start, False, True, True)
    if setting is None:
        return Torque("–", "No common setting", views.sentence(window["whose"]), "", False, True)
    kind = _KIND_WORDS.get(str(window["kind"]), "Set")
    kind = "Begin at" if window.get("begins") else kind
    if said := window.get("said"):
        figure, ours, rest = views.sentence_start(said).partition(";")
        whose = f"{figure}, {views.basis_words(window['basis'])}{ours}{rest}"
    else:
        whose = f"{views.sentence_start(window['whose'])}, {views.basis_words(window['basis'])}"
    if low is not None and high is not None and low != high and not said:
        whose = f"{whose}. Good from {low:g} to {high:g} N·m"
    elif low is None and high is not None:
        whose = f"{whose}. Set no tool above {high:g} N·m"
    start = f"{setting:g} N·m"
    return Torque(f"{setting:g}", kind, f"{whose}.", start, True, bool(window.get("needs_word")))


def _recorded(evidence: Mapping[str, Any]) -> str:
    """What was recorded with a step, as it was written."""
    parts = [str(evidence[key]["text"]) for key in ("torque", "value", "text") if key in evidence]
    parts += ["photo kept"] if "photo" in evidence else []
    return ", ".join(parts)


_RECORDED = {
    "step-done": "did",
    "step-problem": "noted a problem at",
    "step-put-off": "put off",
    "event-undone": "took back an entry",
    "sheet-changed": "changed the sheet",
    "rider-changed": "changed the rider",
    "joint-touched": "opened a joint again",
    "reading-taken": "took a reading",
    "setting-made": "set something",
    "gate-passed": "passed a gate",
    "released": "released the bike",
}


def recorded_since(shop: Shop, bike: int, after: int) -> str:
    """Who did what last on a bike since an event, and how much else there is."""
    state, called = shop.state(bike), people.names(shop)
    later = [event for event in shop.events(bike) if event.number > after]
    told = [event for event in later if event.kind in _RECORDED]
    if not told:
        return ""
    last = told[-1]
    by = called.get(last.by, "Somebody") if last.by is not None else "Somebody"
    steps = state.planned_steps()
    step = steps.get(last.data.get("step", "")) if last.kind.startswith("step-") else None
    what = f"{_RECORDED[last.kind]} {views.clip(step.do, 60)}" if step else _RECORDED[last.kind]
    more = f", and {views.count(len(told) - 1, 'entry', 'entries')} more" if len(told) > 1 else ""
    return f"{by} {what.rstrip('.')}{more}."
