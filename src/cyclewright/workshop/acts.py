"""What the acts of all stages share: days, one event put on record, the answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from cyclewright.errors import input_error
from cyclewright.workshop.answers import RecordAnswer
from cyclewright.workshop.people import who
from cyclewright.workshop.receive import follow
from cyclewright.workshop.shop import Entry, Shop, own_uuid

if TYPE_CHECKING:
    from cyclewright.record.events import Draft, Event
    from cyclewright.record.state import BikeState

By = str | int | None
Day = str | date | None


def day_of(stamp: str) -> date:
    """The day of a moment by the workshop's calendar, this machine's; records hold it in UTC.

    West of Greenwich an evening's work has tomorrow's date there, and what was noted on the same
    evening would count as done before it.
    """
    return datetime.fromisoformat(stamp).astimezone().date()


def day(given: Day, field: str = "date") -> date:
    """A day as a date; None is today on this machine's clock."""
    if given is None or given == "":
        return date.today()
    if isinstance(given, date):
        return given
    try:
        return date.fromisoformat(str(given).strip())
    except ValueError:
        raise input_error(
            "not-a-date", field, "write the day like 2031-05-24", value=str(given)
        ) from None


def one(
    shop: Shop,
    bike: int,
    kind: str,
    subject: str,
    data: Callable[[BikeState], Mapping[str, Any]],
    by: By,
    *,
    uuid: str | None = None,
    seen: int | None = None,
    device_time: str | None = None,
    step: Callable[[BikeState], tuple[str, Mapping[str, Any]] | None] | None = None,
) -> tuple[tuple[Event, ...], BikeState]:
    """One event on a bike's record, decided on the newest state.

    `step` names the step of the plan that the same act proves, with its evidence, so that
    nobody enters one thing twice.
    """
    from cyclewright.record.events import Draft

    author = who(shop, by)
    own = own_uuid(uuid)
    also = [own] if step is None else [own, follow(own, "step")]

    def decide(state: BikeState) -> list[Draft]:
        drafts = [Draft(kind, subject[:200], data(state), author, own, seen, device_time)]
        proved = None if step is None else step(state)
        if proved is not None and _open(state, proved[0], proved[1]):
            done = {"step": proved[0], "evidence": proved[1]}
            drafts.append(Draft("step-done", f"step:{proved[0]}", done, author, also[1]))
        return drafts

    return shop.act(bike, decide, Entry(also, kind, subject[:200]))


def _open(state: BikeState, name: str, evidence: Mapping[str, Any]) -> bool:
    """Whether the plan has this step, its turn has come, and the evidence is all it asks for."""
    planned = state.planned_steps().get(name)
    if planned is None or state.step(name).status in ("done", "problem") or state.unmet(name):
        return False
    return set(planned.evidence) <= set(evidence)


def answered(state: BikeState, events: Sequence[Event], said: str) -> RecordAnswer:
    """The act with what it reopened, named in plan order."""
    gone = {name for event in events for name in state.reopened.get(event.number, ())}
    reopened = tuple(name for name in state.planned_steps() if name in gone)
    if reopened:
        again = "this step" if len(reopened) == 1 else f"these {len(reopened)}"
        said = f"{said}; do {again} again: {', '.join(reopened)}"
    numbers = tuple(event.number for event in events)
    return RecordAnswer(state.bike, numbers, said, reopened)
