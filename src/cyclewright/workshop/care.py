"""Care: what is known of a bike, and whether its record is as it was written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cyclewright import units
from cyclewright.units import System
from cyclewright.workshop import as_set, history
from cyclewright.workshop.answers import Missing, OverrideRow
from cyclewright.workshop.choices import missing_words
from cyclewright.workshop.history import HistoryRow
from cyclewright.workshop.people import names
from cyclewright.workshop.recall import PartRow, blocking, parts
from cyclewright.workshop.receive import rider_name
from cyclewright.workshop.release import overridden
from cyclewright.workshop.setups import SetupRow, setups
from cyclewright.workshop.shop import Shop, no_such_bike, whole
from cyclewright.workshop.standing import AFTER_RIDE_GATE, Standing, standing
from cyclewright.workshop.undo import said_of

if TYPE_CHECKING:
    from cyclewright.record.state import BikeState, Made, Reading, Released

_NAMED = 4
"""Items of a gate that a line names, before the rest are counted."""


@dataclass(frozen=True, slots=True)
class ShowStep:
    """How one planned step stands."""

    id: str
    stage: str
    station: str
    do: str
    status: str
    """open, done, put-off, problem or reopened."""
    said: str
    by: str
    at: str
    number: int
    evidence: dict[str, Any]
    waits_for: tuple[str, ...]
    """Steps that must be done first and are not."""

    def to_json(self) -> dict[str, Any]:
        """The step as plain data."""
        return {name: getattr(self, name) for name in self.__slots__} | {
            "waits_for": list(self.waits_for)
        }


@dataclass(frozen=True, slots=True)
class ShowEvent:
    """One line of the history."""

    number: int
    kind: str
    subject: str
    said: str
    by: str
    at: str
    device_time: str | None
    clock_set_back: bool
    undone: bool
    reopened: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """The line as plain data."""
        return {name: getattr(self, name) for name in self.__slots__} | {
            "reopened": list(self.reopened)
        }


@dataclass(frozen=True, slots=True)
class ShowAnswer:
    """Everything the record knows of a bike now."""

    id: int
    name: str
    serial: str
    stage: str
    visit: int
    visit_kind: str
    rider: str
    number: int
    head: str
    updated: str
    events: tuple[ShowEvent, ...]
    steps: tuple[ShowStep, ...]
    next_step: str | None
    """The first step that can be done now; None where a gate comes first, or nothing is left."""
    next_gate: str
    """The gate that comes before every step that is left; empty where a step comes next."""
    settings: tuple[dict[str, Any], ...]
    readings: tuple[dict[str, Any], ...]
    changes: tuple[dict[str, Any], ...]
    history: tuple[HistoryRow, ...]
    """What was set and read, oldest first: each sag beside the setting that gave it."""
    gates: dict[str, tuple[Missing, ...]]
    passed: dict[str, dict[str, Any]]
    released: dict[str, Any] | None
    read_only: bool
    lapsed: str = ""
    """Why a passed gate, or a release, stands no more; empty where nothing fell."""
    was_released: bool = False
    """Whether it was released in this visit, standing or not."""
    overridden: tuple[OverrideRow, ...] = ()
    """Gate items that were let pass in this visit with a reason and a second person."""
    parts: tuple[PartRow, ...] = ()
    """Parts on record with the recalls that are about them."""
    recalls: tuple[str, ...] = ()
    """What blocks this bike: open recalls about its parts."""
    erased: tuple[str, ...] = ()
    """Addresses of attachments, photos among them, that an owner erased."""
    setups: tuple[SetupRow, ...] = ()
    """How it was set for each rider before, to go back to."""

    def step(self, name: str) -> ShowStep | None:
        """The step of that id, or None."""
        return next((step for step in self.steps if step.id == name), None)

    @property
    def done(self) -> int:
        """How many steps are done."""
        return sum(step.status == "done" for step in self.steps)

    @property
    def gate_line(self) -> str:
        """The gate that comes next and what it wants, in a sentence; empty where a step does."""
        if not self.next_gate:
            return ""
        wants = missing_words(self.gates[self.next_gate])
        listed = f"{', '.join(wants[:_NAMED])} and {len(wants) - _NAMED} more"
        named = ", ".join(wants) if len(wants) <= _NAMED else listed
        return f"{self.next_gate} gate: {named or 'nothing is missing, pass it'}"

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The contract's `show` document, and what the pages need besides."""
        return {
            "id": self.id,
            "stage": self.stage,
            "head": self.head,
            "events": [event.to_json() for event in self.events],
            "settings": [_in_system(item, system) for item in self.settings],
            "gates": {name: [item.to_json() for item in rows] for name, rows in self.gates.items()},
            "name": self.name,
            "serial": self.serial,
            "visit": {"number": self.visit, "kind": self.visit_kind},
            "rider": self.rider,
            "number": self.number,
            "updated": self.updated,
            "steps": [step.to_json() for step in self.steps],
            "next_step": self.next_step,
            "next_gate": self.next_gate,
            "readings": list(self.readings),
            "changes": list(self.changes),
            "history": [row.to_json(system) for row in self.history],
            "passed": self.passed,
            "released": self.released,
            "lapsed": self.lapsed,
            "was_released": self.was_released,
            "read_only": self.read_only,
            "overridden": [row.to_json() for row in self.overridden],
            "parts": [row.to_json() for row in self.parts],
            "recalls": list(self.recalls),
            "erased": list(self.erased),
            "setups": [row.to_json() for row in self.setups],
        }


def show(shop: Shop, bike: int) -> ShowAnswer:
    """What is known of a bike: where it stands, what is set, what its gates still want."""
    state, people = shop.state(bike), names(shop)
    stands = standing(shop, state)
    following = _next(state, stands)
    return ShowAnswer(
        id=state.bike,
        name=state.name,
        serial=state.serial,
        stage=stands.stage,
        visit=state.visit,
        visit_kind=state.visit_kind,
        rider=rider_name(shop, state.rider),
        number=state.number,
        head=state.head.hex(),
        updated=state.updated,
        events=_history(shop, state, people),
        steps=_steps(state, people),
        next_step=following,
        next_gate="" if following else _next_gate(stands),
        settings=tuple(_made(shop, state, item, people) for item in state.settings.values()),
        readings=tuple(_reading(shop, state, item, people) for item in state.readings),
        changes=tuple(dict(item) for item in state.changes),
        history=history.rows(state, people),
        gates=dict(stands.missing),
        passed={
            name: {"number": gate.number, "by": people.get(gate.by or 0, ""), "at": gate.at}
            for name, gate in stands.passed.items()
        },
        released=_released(stands.released, people),
        lapsed=stands.lapsed,
        was_released=stands.was_released,
        read_only=state.read_only,
        overridden=overridden(shop, state),
        parts=parts(shop, bike),
        recalls=tuple(hit.line() for hit in blocking(shop, state)),
        erased=tuple(sorted(state.erased)),
        setups=setups(shop, state),
    )


def _history(shop: Shop, state: BikeState, people: dict[int, str]) -> tuple[ShowEvent, ...]:
    return tuple(
        ShowEvent(
            event.number,
            event.kind,
            event.subject,
            said_of(shop, state, event),
            people.get(event.by or 0, ""),
            event.server_time,
            event.device_time,
            event.clock_set_back,
            event.number in state.undone,
            state.reopened.get(event.number, ()),
        )
        for event in shop.events(state.bike)[: state.number]
    )


def _steps(state: BikeState, people: dict[int, str]) -> tuple[ShowStep, ...]:
    found = []
    for name, step in state.planned_steps().items():
        held = state.step(name)
        found.append(
            ShowStep(
                name,
                step.stage,
                step.station,
                step.do,
                held.status,
                held.said,
                people.get(held.by or 0, ""),
                held.at,
                held.number,
                dict(held.evidence),
                state.unmet(name),
            )
        )
    return tuple(found)


def _next(state: BikeState, stands: Standing) -> str | None:
    """The first step in plan order that is not done and waits for nothing, a gate neither."""
    late: tuple[str, ...] = () if stands.released else ("Care",)
    late = late if stands.may_ride else AFTER_RIDE_GATE
    for name, step in state.planned_steps().items():
        is_open = state.step(name).status in ("open", "reopened")
        if is_open and step.stage not in late and not state.unmet(name):
            return name
    return None


def _next_gate(stands: Standing) -> str:
    """The first gate that does not stand, before a release that is still to come."""
    if stands.released is not None:
        return ""
    return next((gate for gate in stands.missing if gate not in stands.passed), "release")


def shown_setting(item: Made) -> str:
    """A setting as a person reads it, in the unit of the tool it is set with."""
    from cyclewright.workshop.evidence import display_of

    shown = item.extra.get("shown")
    return str(shown) if shown else units.show(item.value, *display_of(item.unit, item.name))


def _made(shop: Shop, state: BikeState, item: Made, people: dict[int, str]) -> dict[str, Any]:
    """A setting as it was made, and whether it still stands."""
    from cyclewright.workshop.evidence import display_of

    now = as_set.stands(shop, state, item.name)
    display, graduation = display_of(item.unit, item.name)
    return {
        **item.extra,
        "name": item.name,
        "value": item.value,
        "unit": item.unit,
        "shown": item.extra.get("shown") or units.show(item.value, display, graduation),
        "display": item.extra.get("display", display),
        "graduation": item.extra.get("graduation", graduation),
        "by": people.get(item.by or 0, ""),
        "at": item.at,
        "number": item.number,
        "stands": now.how,
        "was": now.was,
        "why": as_set.plain(now.why),
        "words": as_set.words(now),
    }


def _in_system(item: dict[str, Any], system: System) -> dict[str, Any]:
    if system == "trade":
        return item
    return item | {"shown": units.show(item["value"], item["display"], item["graduation"], system)}


def _reading(shop: Shop, state: BikeState, item: Reading, people: dict[int, str]) -> dict[str, Any]:
    """A reading, and why it is no longer so where it is not."""
    from cyclewright.workshop.evidence import display_of

    display, graduation = display_of(item.unit, item.kind)
    return {
        "number": item.number,
        "kind": item.kind,
        "value": item.value,
        "unit": item.unit,
        "shown": units.show(item.value, display, graduation),
        "by": people.get(item.by or 0, ""),
        "at": item.at,
        "extra": dict(item.extra),
        "why": as_set.plain(as_set.reading_lapsed(shop, state, item)),
    }


def _released(done: Released | None, people: dict[int, str]) -> dict[str, Any] | None:
    if done is None:
        return None
    return {
        "number": done.number,
        "by": people.get(done.by or 0, ""),
        "second": people.get(done.second or 0, ""),
        "at": done.at,
        "rider_fitted": done.rider_fitted,
        "signature": None if done.signature is None else dict(done.signature),
    }


@dataclass(frozen=True, slots=True)
class FaultRow:
    """One thing that is not as it was written."""

    code: str
    bike: int
    event: int
    what: str

    def to_json(self) -> dict[str, Any]:
        """The fault as plain data."""
        return {name: getattr(self, name) for name in self.__slots__}


@dataclass(frozen=True, slots=True)
class VerifyAnswer:
    """Whether the record is as it was written, as far as a local record can say."""

    ok: bool
    events: int
    attachments: int
    signatures: int
    faults: tuple[FaultRow, ...]
    notes: tuple[str, ...]
    erased: int = 0
    """Attachments that are gone because an owner erased them."""

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The answer as plain data."""
        return {
            "ok": self.ok,
            "events": self.events,
            "attachments": self.attachments,
            "signatures": self.signatures,
            "erased": self.erased,
            "faults": [fault.to_json() for fault in self.faults],
            "notes": list(self.notes),
        }


def verify(
    shop: Shop, bike: int | None = None, tell: Callable[[int, int], None] | None = None
) -> VerifyAnswer:
    """Check every hash, link, attachment and signature; names each event that was changed.

    `tell` hears how many events of how many are checked; what it raises ends the check.
    """
    from cyclewright.store import verifying

    if bike is not None and shop.store.head(whole(bike)).number == 0:
        raise no_such_bike(bike)
    report = verifying.verify(shop.store, bike, tell)
    return VerifyAnswer(
        ok=not report.faults,
        events=report.events,
        attachments=report.attachments,
        signatures=report.signatures,
        faults=tuple(FaultRow(f.code, f.stream, f.number, f.what) for f in report.faults),
        notes=tuple(report.notes),
        erased=report.erased,
    )
