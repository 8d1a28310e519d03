"""Change what is on the sheets: what a change would do is told before it is made."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from cyclewright.errors import InputError, Problem
from cyclewright.setting import Finding, Question
from cyclewright.units import System
from cyclewright.workshop.acts import answered
from cyclewright.workshop.answers import RecordAnswer
from cyclewright.workshop.people import who
from cyclewright.workshop.readings import doubts, setting_drafts
from cyclewright.workshop.receive import follow, plan_data
from cyclewright.workshop.shop import Entry, Shop, own_uuid
from cyclewright.workshop.standing import FALLS, standing
from cyclewright.workshop.wanted import (
    Change,
    FieldLook,
    Wanted,
    entry,
    work_out,
)

if TYPE_CHECKING:
    from cyclewright.advice.torque import Tool
    from cyclewright.record.events import Draft, Event
    from cyclewright.record.state import BikeState
    from cyclewright.sheets.sheets import Sheets

By = str | int | None
TRIED = "trial"
"""Stands for the address of a rider sheet that is only being tried."""


@dataclass(frozen=True, slots=True)
class ChangeLook:
    """All that a change would do, found by making it on a copy of the record."""

    bike: int
    number: int
    """The newest event that it was found on."""
    fields: tuple[FieldLook, ...]
    findings: tuple[Finding, ...]
    """What the change brings up in the cross-check, gravest first."""
    refused: tuple[Problem, ...]
    """Why it would not be made; empty unless it breaks a limit."""
    questions: tuple[Question, ...]
    """What has to be looked up besides, once it is made."""
    come: tuple[str, ...]
    go: tuple[str, ...]
    reopened: tuple[str, ...]
    """Steps that come into the plan, leave it, and are to be done again."""
    falls: tuple[str, ...]
    """Gates that are passed and would not be; `released` for the release."""
    steps: Mapping[str, str] = field(default_factory=dict)
    """What each step named here says to do."""
    minutes: float = 0.0
    """What the steps that it opens and adds take, in minutes."""

    @property
    def grave(self) -> bool:
        """Whether a passed gate or a release would fall."""
        return bool(self.falls)

    @property
    def says(self) -> tuple[str, ...]:
        """What it does beyond the fields themselves, in a few words each."""
        told = []
        if self.reopened:
            told.append(f"opens {_count(self.reopened, 'step')} again")
        if self.come:
            told.append(f"adds {_count(self.come, 'step')}")
        if told:
            told[-1] += f" (about {_minutes(self.minutes)})"
        if self.go:
            told.append(f"takes {_count(self.go, 'step')} out")
        return (*told, *(FALLS[name] for name in self.falls))

    def line(self) -> str:
        """The same as one sentence: `opens 9 steps again, the ride gate falls`."""
        return ", ".join(self.says) or "nothing that was proved is opened again"

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The look as plain data."""
        return {
            "bike": self.bike,
            "number": self.number,
            "fields": [
                {"field": row.field, "before": row.before, "after": row.after}
                for row in self.fields
            ],
            "findings": [item.to_json() for item in self.findings],
            "refused": [item.to_json() for item in self.refused],
            "questions": [item.to_json() for item in self.questions],
            "come": list(self.come),
            "go": list(self.go),
            "reopened": list(self.reopened),
            "falls": list(self.falls),
            "minutes": self.minutes,
            "said": self.line(),
        }


class Trial(Shop):
    """The shop as it would be with one bike's events that are not recorded: every question that
    can be asked of a shop can be asked of it, and nothing of it is kept.
    """

    def __init__(self, shop: Shop, state: BikeState, sheets: Sheets, made: Sequence[Event]) -> None:
        super().__init__(shop.data, shop.store)
        self._of, self._after, self._new = state, sheets, tuple(made)

    def state(self, bike: int) -> BikeState:
        """The bike after the change; any other as it is."""
        return self._of if bike == self._of.bike else super().state(bike)

    def sheets(self, state: BikeState) -> Sheets:
        """The sheets after the change; those of any other state as they are."""
        return self._after if state is self._of else super().sheets(state)

    def events(self, bike: int) -> tuple[Event, ...]:
        """Every event of a bike with those that are tried."""
        listed = super().events(bike)
        return (*listed, *self._new) if bike == self._of.bike else listed

    def rider_text(self, address: str) -> str:
        """A rider sheet, also one that is only tried."""
        from cyclewright.sheets.write import dump

        if address == TRIED and self._after.rider is not None:
            return dump(self._after.rider)
        return super().rider_text(address)


def look(shop: Shop, bike: int, wanted: Wanted) -> ChangeLook:
    """What would happen, exactly, if this change were made now; nothing is recorded."""
    state = shop.state(bike)
    return shop.once(("look", bike, state.number, wanted), lambda: _look(shop, state, wanted))


def falls_with(shop: Shop, bike: int, draft: Draft) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Steps that an entry would open again, and what would fall with it; nothing is recorded."""
    from cyclewright.record.fold import further

    state = shop.state(bike)
    event = _unrecorded(state, draft, 1)
    after = further(state, [event])
    assert after is not None, "an entry that undoes nothing"
    trial = Trial(shop, after, shop.sheets(state), [event])
    gone = set(after.reopened.get(event.number, ()))
    opened = tuple(name for name in after.planned_steps() if name in gone)
    return opened, _fallen(_held(shop, state), _held(trial, after))


def make(
    shop: Shop,
    bike: int,
    wanted: Wanted,
    by: By = None,
    uuid: str | None = None,
    seen: int | None = None,
    made: Sequence[Mapping[str, Any]] = (),
) -> RecordAnswer:
    """Make a change: one act with all that belongs to it, refused where it breaks a limit.

    What is personal stays with the rider's sheet: the event names the field, not the value.
    Settings `made` by hand together with it are recorded with it, all or nothing.
    """
    own, author = own_uuid(uuid), who(shop, by)
    doubted = doubts(shop, bike, made)
    settings = setting_drafts(made, author, follow(own, "made"), doubted) if made else []
    held: tuple[str, ...] = ()
    told = ""

    def decide(state: BikeState) -> list[Draft]:
        nonlocal held, told
        change = work_out(shop, state, wanted)
        if refused := _refused(shop, change, wanted):
            raise InputError(refused)
        held, told = _held(shop, state), "; ".join((change.said, *_stops(shop, change)))
        return [*_drafts(shop, state, change, author, own, seen), *settings]

    uuids = [own, follow(own, "planned"), follow(own, "part")]
    uuids += [draft.uuid for draft in settings]
    events, state = shop.act(bike, decide, entry(wanted, uuids))
    return _with_falls(shop, state, answered(state, events, told or "recorded before"), held)


def change_sheet(
    shop: Shop,
    bike: int,
    changes: Sequence[str],
    by: By = None,
    uuid: str | None = None,
    seen: int | None = None,
    made: Sequence[Mapping[str, Any]] = (),
    as_found: bool = False,
) -> RecordAnswer:
    """Change fields of the sheets: the joints they stand for are touched, and the plan follows."""
    wanted = Wanted(changes=tuple(changes), as_found=as_found)
    return make(shop, bike, wanted, by, uuid, seen, made)


def plan_again(shop: Shop, bike: int, by: By = None, uuid: str | None = None) -> RecordAnswer:
    """Make the plan again from the sheets in force with what this version knows."""
    own, author = own_uuid(uuid), who(shop, by)
    held: tuple[str, ...] = ()

    def decide(state: BikeState) -> list[Draft]:
        nonlocal held
        held = _held(shop, state)
        return [_planned(shop, state, shop.sheets(state), author, own)]

    events, state = shop.act(bike, decide, Entry([own], "planned", "plan"))
    found = answered(state, events, f"planned again: {len(state.planned_steps())} steps")
    return _with_falls(shop, state, found, held)


def look_at_plan(shop: Shop, bike: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Steps that the plan made again would open, and what would fall with them."""
    state = shop.state(bike)
    draft = _planned(shop, state, shop.sheets(state), None, own_uuid(None))
    return falls_with(shop, bike, draft)


def _with_falls(
    shop: Shop, state: BikeState, answer: RecordAnswer, held: Sequence[str]
) -> RecordAnswer:
    """The answer with what stood before it and stands no more."""
    fallen = _fallen(held, _held(shop, state)) if held else ()
    words = ", ".join(FALLS[name] for name in fallen)
    return replace(answer, said=f"{answer.said}; {words}") if fallen else answer


def _drafts(
    shop: Shop, state: BikeState, change: Change, author: int | None, own: str, seen: int | None
) -> list[Draft]:
    """One act: what was changed, the plan that follows, and the part in its register."""
    from cyclewright.record.events import Draft

    data = dict(change.data)
    drafts = []
    if change.plans:
        another = change.kind == "rider-changed"
        planned = _planned(
            shop, state, change.after, author, follow(own, "planned"), change.kept, another
        )
        drafts.append(planned)
        if another:
            data["rider"] = planned.data["rider"]
    if change.part is not None:
        kind, told = change.part
        subject = f"fitted:{told['part'].casefold()}"[:200]
        drafts.append(Draft(kind, subject, told, author, follow(own, "part")))
    return [Draft(change.kind, change.subject, data, author, own, seen), *drafts]


def _planned(
    shop: Shop,
    state: BikeState,
    sheets: Sheets,
    author: int | None,
    uuid: str,
    kept: tuple[str, str] | None = None,
    another: bool = False,
) -> Draft:
    """The plan of the same kind of visit, made from these sheets; what moved lapses with it."""
    from cyclewright.record.events import Draft

    if kept is None and state.rider is not None:
        kept = (state.rider, shop.rider_text(state.rider))
    data = plan_data(
        shop,
        sheets,
        kept,
        visit=state.plan_kind,
        cause=state.cause,
        before=shop.sheets(state),
        another=another,
    )
    return Draft("planned", "plan", data, author, uuid)


def _tried(shop: Shop, state: BikeState, change: Change) -> tuple[Trial, BikeState]:
    """The shop after a change that is folded on a copy and not recorded."""
    from cyclewright.record.fold import further
    from cyclewright.sheets.write import dump

    rider = change.after.rider
    if rider is not None and (change.kept is None or change.kept[1] != dump(rider)):
        change = replace(change, kept=(TRIED, dump(rider)))
    drafts = _drafts(shop, state, change, None, own_uuid(None), None)
    events = [_unrecorded(state, draft, place) for place, draft in enumerate(drafts, 1)]
    after = further(state, events)
    assert after is not None, "no change undoes anything"
    return Trial(shop, after, change.after, events), after


def _unrecorded(state: BikeState, draft: Draft, place: int) -> Event:
    """The event that a draft would become."""
    from cyclewright.record.events import decode, encode

    body = encode(draft, state.number, state.updated, False)
    return decode(state.bike, state.number + place, body)


def _look(shop: Shop, state: BikeState, wanted: Wanted) -> ChangeLook:
    change = work_out(shop, state, wanted)
    trial, after = _tried(shop, state, change)
    before_steps, after_steps = state.planned_steps(), after.planned_steps()
    gone = {
        name for number, names in after.reopened.items() if number > state.number for name in names
    }
    come = tuple(name for name in after_steps if name not in before_steps)
    go = tuple(name for name in before_steps if name not in after_steps)
    reopened = tuple(name for name in after_steps if name in gone)
    told = {**before_steps, **after_steps}
    new, questions = _new(shop, change)
    return ChangeLook(
        state.bike,
        state.number,
        change.fields,
        new,
        _refused(shop, change, replace(wanted, as_found=False)),
        questions,
        come,
        go,
        reopened,
        _fallen(_held(shop, state), _held(trial, after)),
        {name: told[name].do for name in (*come, *go, *reopened)},
        sum(float(told[name].data.get("minutes") or 0.0) for name in {*come, *reopened}),
    )


def _held(shop: Shop, state: BikeState) -> tuple[str, ...]:
    return standing(shop, state).held


def _fallen(before: Sequence[str], after: Sequence[str]) -> tuple[str, ...]:
    return tuple(name for name in before if name not in after)


def _new(shop: Shop, change: Change) -> tuple[tuple[Finding, ...], tuple[Question, ...]]:
    """Findings and questions of the cross-check that were not there before the change."""
    from cyclewright.workshop.check import check

    if not change.plans:
        return (), ()
    tools = _tools(shop)
    before, after = check(change.before, tools), check(change.after, tools)
    asked = {item.field for item in before.questions}
    return (
        tuple(item for item in after.findings if item not in before.findings),
        tuple(item for item in after.questions if item.field not in asked),
    )


def _stops(shop: Shop, change: Change) -> tuple[str, ...]:
    """What the change makes the cross-check stop at, as the answer to it repeats."""
    found, _ = _new(shop, change)
    return tuple(f"stop: {'; '.join(one.facts)}" for one in found if one.severity == "stop")


def _tools(shop: Shop) -> tuple[Tool, ...]:
    from cyclewright.workshop.tools import for_sums

    return tuple(for_sums(shop))


def _refused(shop: Shop, change: Change, wanted: Wanted) -> tuple[Problem, ...]:
    """Limits that what was mounted or set would break; nothing when it is recorded as found."""
    if wanted.as_found or not change.by_hand:
        return ()
    found, _ = _new(shop, change)
    return tuple(
        problem
        for finding in found
        if finding.severity == "stop" and (problem := _breaks(finding, change)) is not None
    )


def _breaks(finding: Finding, change: Change) -> Problem | None:
    """Why a finding refuses the change: it names what was changed by hand, or only that was."""
    named = [row for row in change.fields if row.field in change.by_hand & set(finding.fields)]
    if not named:
        if {row.field for row in change.fields} - change.by_hand:
            return None
        named = list(change.fields)
    fields = ", ".join(row.field for row in named)
    values = ", ".join(row.after or "left out" for row in named)
    told = "; ".join(finding.facts)
    do = (
        f"{told}. {_sentence(finding.rule)} {_sentence(finding.do)} If the bike is like that now, "
        "record it as found: the gates then hold"
    )
    return Problem(finding.code, fields, do, values)


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _minutes(total: float) -> str:
    """Minutes to the next five, from an hour on as hours and minutes.

    >>> _minutes(12.0), _minutes(62.0)
    ('15 min', '1 h 5 min')
    """
    hours, rest = divmod(5 * max(1, math.ceil(total / 5)), 60)
    return f"{hours} h {rest} min" if hours and rest else f"{hours} h" if hours else f"{rest} min"


def _count(names: Sequence[str], word: str) -> str:
    return f"{len(names)} {word}{'' if len(names) == 1 else 's'}"
