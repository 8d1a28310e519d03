"""Change what is on the sheets: what a change would do is told before it is made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cyclewright.errors import InputError, Problem, input_error, refusal
from cyclewright.setting import Finding, Question
from cyclewright.units import System
from cyclewright.workshop.acts import answered
from cyclewright.workshop.answers import RecordAnswer
from cyclewright.workshop.people import who
from cyclewright.workshop.readings import setting_drafts
from cyclewright.workshop.receive import follow, plan_data
from cyclewright.workshop.shop import Entry, Shop, checked_text, own_uuid

if TYPE_CHECKING:
    from cyclewright.advice.torque import Tool
    from cyclewright.knowledge.swaps import Swap
    from cyclewright.record.events import Draft, Event
    from cyclewright.record.state import BikeState, Setup
    from cyclewright.sheets.sheets import Sheets

By = str | int | None
MARKS = ("maker", "model", "serial", "batch")
RIDER = "sheet:rider"
"""The subject of everything that changes the rider's sheet."""
TRIED = "trial"
"""Stands for the address of a rider sheet that is only being tried."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What somebody wants to change in one act; one of fields, a sheet, a rider or a part."""

    changes: tuple[str, ...] = ()
    """Each `FIELD=VALUE` or `FIELD+=VALUE`."""
    sheet: Path | str | bytes | None = None
    """The bike's sheet as it should have been: its text, or where it lies."""
    rider: Path | str | bytes | None = None
    """The sheet of whoever rides it from now on, alike."""
    mass: str | None = None
    """The stated mass of a bike that nobody is fitted to from now on."""
    earlier: int | None = None
    """The kept set-up whose rider rides it again."""
    part: str | None = None
    """The part that was swapped, together with `changes`."""
    marks: tuple[tuple[str, str], ...] = ()
    """Maker, model, serial and batch of the new part, as far as it is marked."""
    as_found: bool = False
    """The bike is like that, though it breaks a limit: record it, the gates then hold."""


@dataclass(frozen=True, slots=True)
class FieldLook:
    """One field of the sheets before and after; empty where nothing is written."""

    field: str
    before: str
    after: str


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
        if self.go:
            told.append(f"takes {_count(self.go, 'step')} out")
        return (*told, *(_FALLS[name] for name in self.falls))

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
            "said": self.line(),
        }


_FALLS = {
    "ride": "the ride gate falls",
    "release": "the release gate falls",
    "released": "the release falls",
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
    settings = setting_drafts(made, author, follow(own, "made")) if made else []
    held: tuple[str, ...] = ()
    told = ""

    def decide(state: BikeState) -> list[Draft]:
        nonlocal held, told
        change = _change(shop, state, wanted)
        if refused := _refused(shop, change, wanted):
            raise InputError(refused)
        held, told = _held(shop, state), change.said
        return [*_drafts(shop, state, change, author, own, seen), *settings]

    uuids = [own, follow(own, "planned"), follow(own, "part")]
    uuids += [draft.uuid for draft in settings]
    events, state = shop.act(bike, decide, _entry(wanted, uuids))
    found = answered(state, events, told or "recorded before")
    if held and (fallen := _fallen(held, _held(shop, state))):
        words = ", ".join(_FALLS[name] for name in fallen)
        return replace(found, said=f"{found.said}; {words}")
    return found


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

    def decide(state: BikeState) -> list[Draft]:
        return [_planned(shop, state, shop.sheets(state), author, own)]

    events, state = shop.act(bike, decide, Entry([own], "planned", "plan"))
    return answered(state, events, f"planned again: {len(state.planned_steps())} steps")


@dataclass(frozen=True, slots=True)
class _Change:
    """A change worked out on a state: what is recorded, and the sheets that follow."""

    kind: str
    subject: str
    data: Mapping[str, Any]
    said: str
    before: Sheets
    after: Sheets
    kept: tuple[str, str] | None
    """The rider sheet that is kept already: address and text."""
    fields: tuple[FieldLook, ...] = ()
    part: tuple[str, Mapping[str, Any]] | None = None
    """What the register of parts is told: the kind of event and its data."""
    by_hand: frozenset[str] = frozenset()
    """Fields of the change that somebody mounted or set."""

    @property
    def plans(self) -> bool:
        """Whether the sheets move, so that the plan is made again."""
        return self.before != self.after


def _change(shop: Shop, state: BikeState, wanted: Wanted) -> _Change:
    """The change on the sheets in force; a combination that cannot be is told."""
    _one_only(wanted)
    if any(item is not None for item in (wanted.rider, wanted.mass, wanted.earlier)):
        return _rider_change(shop, state, wanted)
    before = shop.sheets(state)
    kept = None if state.rider is None else (state.rider, shop.rider_text(state.rider))
    if wanted.sheet is not None:
        return _sheet_change(before, kept, wanted, wanted.sheet)
    if wanted.part is not None:
        return _swap_change(shop, state, before, kept, wanted)
    return _field_change(before, kept, wanted)


def swappable() -> Mapping[str, Swap]:
    """Parts that can be swapped, by name, with their joints and fields."""
    from cyclewright.knowledge.swaps import swaps

    return swaps()


def _one_only(wanted: Wanted) -> None:
    """A sheet, a rider or a part at a time; fields may stand with a part."""
    given = {
        "sheet": wanted.sheet is not None,
        "rider": wanted.rider is not None,
        "mass": wanted.mass is not None,
        "earlier": wanted.earlier is not None,
        "part": wanted.part is not None,
    }
    chosen = [name for name, is_given in given.items() if is_given]
    if len(chosen) > 1 or (chosen and chosen != ["part"] and wanted.changes):
        named = ", ".join([*chosen, *(["change"] if wanted.changes else [])])
        do = "one change at a time: fields, a whole sheet, the rider, or a part with its fields"
        raise input_error("one-change", "change", do, value=named)
    if not chosen and not wanted.changes:
        raise input_error("empty", "change", "give at least one change, FIELD=VALUE")
    if wanted.marks and wanted.part is None:
        raise input_error("marks-alone", "part", "say which part these marks are on")


def _field_change(before: Sheets, kept: tuple[str, str] | None, wanted: Wanted) -> _Change:
    """Fields of the sheets, each as it was given."""
    after, told, fields = _changed_fields(before, wanted.changes)
    data = _changed_data(told, fields, f"{' and '.join(told)} changed", wanted.as_found)
    looks = _looks(before, after, fields)
    said = f"{', '.join(told)} recorded"
    return _Change(
        "sheet-changed", _subject(fields), data, said, before, after, kept, looks,
        by_hand=_by_hand(fields),
    )  # fmt: skip


def _changed_fields(before: Sheets, changes: Sequence[str]) -> tuple[Sheets, list[str], list[str]]:
    """The sheets after these changes, the changes as events may hold them, and their fields."""
    from cyclewright.sheets.sheets import change

    after = change(_with_mass(before, changes), list(changes))
    return after, [_public(text) for text in changes], [_field(text) for text in changes]


def _sheet_change(
    before: Sheets, kept: tuple[str, str] | None, wanted: Wanted, given: Path | str | bytes
) -> _Change:
    """A whole sheet of the bike put right, field by field."""
    from cyclewright.sheets.read import read

    after = replace(before, bike=read(given, "bike"))
    fields = _moved_fields(before, after)
    if before.bike.serial and after.bike.serial not in (None, before.bike.serial):
        do = "is another bike's sheet by its serial: open that bike, or change bike.serial first"
        raise input_error("other-serial", "sheet", do, value=after.bike.serial)
    if not fields:
        do = "says what is on record already: nothing is changed"
        raise input_error("same-sheet", "sheet", do)
    looks = _looks(before, after, fields)
    told = [f"{row.field}={row.after}" if row.after else f"{row.field} left out" for row in looks]
    words = f"sheet put right: {' and '.join(told[:3])}"
    words += f" and {len(told) - 3} more" if len(told) > 3 else ""
    data = _changed_data(told, fields, words, wanted.as_found)
    return _Change(
        "sheet-changed", _subject(fields), data, words, before, after, kept, looks,
        by_hand=_by_hand(fields),
    )  # fmt: skip


def _swap_change(
    shop: Shop, state: BikeState, before: Sheets, kept: tuple[str, str] | None, wanted: Wanted
) -> _Change:
    """A part taken off and another put on: its joints, its fields, its place in the register."""
    from cyclewright.record.recall import same
    from cyclewright.workshop.recall import checked_marks

    found, name = _swap(wanted.part or "")
    after, told, fields = _changed_fields(before, wanted.changes)
    why = f"{name} swapped" + (f": {' and '.join(told)}" if told else "")
    planned = {joint for step in state.planned_steps().values() for joint in step.joints}
    joints = [joint for joint in found.joints if joint in planned]
    data = _changed_data(told, fields, why, wanted.as_found)
    data["joints"] = list(dict.fromkeys([*joints, *data["joints"]]))
    part: tuple[str, Mapping[str, Any]] | None = None
    old = next((row for row in state.parts if same(row, name)), None)
    if wanted.marks:
        part = ("part-fitted", {"part": old or name, **checked_marks(dict(wanted.marks))})
    elif old is not None:
        part = ("part-removed", {"part": old})
    by_hand = _by_hand(fields) | (set(fields) & set(found.fields))
    return _Change(
        "sheet-changed", f"swapped:{name}", {**data, "swapped": name}, why, before, after, kept,
        _looks(before, after, fields), part, frozenset(by_hand),
    )  # fmt: skip


def _swap(text: str) -> tuple[Swap, str]:
    """The part that is meant, and what it is called."""
    from cyclewright.knowledge.swaps import swap_of, swaps

    found = swap_of(checked_text(text, "part", 80))
    if found is None:
        raise input_error(
            "no-such-part",
            "part",
            "name the part that was swapped; for any other say which joints were opened and "
            "change its fields",
            value=text,
            allowed=", ".join(swaps()),
        )
    return found, found.part


def _rider_change(shop: Shop, state: BikeState, wanted: Wanted) -> _Change:
    """Somebody else, nobody, or somebody from before rides it from now on."""
    from cyclewright.sheets.sheets import stated_mass

    before = shop.sheets(state)
    kept = None if state.rider is None else (state.rider, shop.rider_text(state.rider))
    mass = stated_mass(wanted.mass)
    earlier = None
    rider = None
    if wanted.earlier is not None:
        earlier = _kept_setup(state, wanted.earlier)
        kept, rider, mass = _of_setup(shop, earlier)
    elif wanted.rider is not None:
        kept, rider, earlier = _new_rider(shop, state, wanted.rider, kept)
    after = replace(before, rider=rider, mass=None if rider is not None else mass)
    if after == before and (kept is None or kept[0] == state.rider):
        do = "is who rides it already: nothing is changed"
        raise input_error("same-rider", "rider", do)
    fields = _moved_fields(before, after)
    data: dict[str, Any] = {"fields": fields, "why": _who(state, after, earlier)}
    if earlier is not None:
        data["earlier"] = earlier.id
    looks = _looks(before, after, fields)
    return _Change(
        "rider-changed", RIDER, data, data["why"], before, after, kept, looks
    )  # fmt: skip


def _new_rider(
    shop: Shop, state: BikeState, given: Path | str | bytes, kept: tuple[str, str] | None
) -> tuple[tuple[str, str] | None, Any, Setup | None]:
    """A rider from a sheet; one who rode it before comes back with what was kept of that time."""
    from cyclewright.sheets.read import read
    from cyclewright.sheets.write import dump

    rider = read(given, "rider")
    written = dump(rider)
    for item in reversed(state.setups):
        if item.rider is None or item.rider in state.erased or item.rider == state.rider:
            continue
        if shop.rider_text(item.rider) == written:
            return (item.rider, written), rider, item
    return kept, rider, None


def _kept_setup(state: BikeState, number: int) -> Setup:
    """A set-up of before, by the number that `show` gives it."""
    found = next((item for item in state.setups if item.id == number), None)
    if found is None:
        listed = ", ".join(str(item.id) for item in state.setups) or "none is kept"
        do = "give the number of a set-up that is kept, as the bike shows them"
        raise input_error("no-such-setup", "earlier", do, value=str(number), allowed=listed)
    if found.rider is not None and found.rider in state.erased:
        do = "that rider's sheet was erased: give the sheet anew, the settings of then stay listed"
        raise refusal("rider-erased", "earlier", do, value=str(number))
    return found


def _of_setup(shop: Shop, item: Setup) -> tuple[tuple[str, str] | None, Any, Any]:
    """The rider sheet of a set-up, or the mass that was stated."""
    from cyclewright.sheets.read import read
    from cyclewright.sheets.sheets import stated_mass

    if item.rider is None:
        mass = item.sheets.get("mass")
        if mass is None:
            do = "nobody was fitted then and no mass was stated: give a rider or a mass"
            raise refusal("nobody-then", "earlier", do, value=str(item.id))
        return None, None, stated_mass(mass)
    text = shop.rider_text(item.rider)
    return (item.rider, text), read(text, "rider"), None


def _who(state: BikeState, after: Sheets, earlier: Setup | None) -> str:
    """Who rides it from now on, without a personal word."""
    if earlier is not None:
        return f"back to set-up {earlier.id}, kept on {earlier.at[:10]}"
    if after.rider is None:
        stated = "" if after.mass is None else f": set for {after.mass.text}"
        return f"rider taken off the bike{stated}" if state.rider else f"another mass{stated}"
    return "another rider" if state.rider is not None else "a rider fitted"


def _changed_data(
    told: Sequence[str], fields: Sequence[str], why: str, as_found: bool
) -> dict[str, Any]:
    """What a change of the sheets records of itself."""
    from cyclewright.knowledge.fasteners import joints_of_field

    joints = list(dict.fromkeys(joint for name in fields for joint in joints_of_field(name)))
    data = {"changes": list(told), "fields": list(fields), "joints": joints, "why": why}
    return data | ({"as_found": True} if as_found else {})


def _drafts(
    shop: Shop, state: BikeState, change: _Change, author: int | None, own: str, seen: int | None
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


def _tried(shop: Shop, state: BikeState, change: _Change) -> tuple[Trial, BikeState]:
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
    change = _change(shop, state, wanted)
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
    )


def _held(shop: Shop, state: BikeState) -> tuple[str, ...]:
    """What is passed and stands: gates, and the release."""
    from cyclewright.workshop.standing import standing

    stands = standing(shop, state)
    return (*stands.passed, *(["released"] if stands.released is not None else []))


def _fallen(before: Sequence[str], after: Sequence[str]) -> tuple[str, ...]:
    return tuple(name for name in before if name not in after)


def _new(shop: Shop, change: _Change) -> tuple[tuple[Finding, ...], tuple[Question, ...]]:
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


def _tools(shop: Shop) -> tuple[Tool, ...]:
    from cyclewright.workshop.tools import for_sums

    return tuple(for_sums(shop))


def _refused(shop: Shop, change: _Change, wanted: Wanted) -> tuple[Problem, ...]:
    """Limits that what was mounted or set would break; nothing when it is recorded as found."""
    if wanted.as_found or not change.by_hand:
        return ()
    found, _ = _new(shop, change)
    return tuple(
        problem
        for finding in found
        if finding.severity == "stop" and (problem := _breaks(finding, change)) is not None
    )


def _breaks(finding: Finding, change: _Change) -> Problem | None:
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


def _by_hand(fields: Iterable[str]) -> frozenset[str]:
    from cyclewright.knowledge.roles import by_hand

    return frozenset(name for name in fields if by_hand(name))


def _moved_fields(before: Sheets, after: Sheets) -> list[str]:
    """Every field whose words on the sheets are not the same in both, in the order of the sheet."""
    one, other = _written(before), _written(after)
    return [name for name in dict.fromkeys((*one, *other)) if one.get(name) != other.get(name)]


def _looks(before: Sheets, after: Sheets, fields: Sequence[str]) -> tuple[FieldLook, ...]:
    """These fields before and after, as they are written."""
    one, other = _written(before), _written(after)
    return tuple(
        FieldLook(name, one.get(name, ""), other.get(name, "")) for name in dict.fromkeys(fields)
    )


def _written(sheets: Sheets) -> dict[str, str]:
    """Every field that is written, by its path, in the words of its sheet."""
    from cyclewright.sheets.raw import raw

    found: dict[str, str] = {}
    for kind in ("bike", "rider", "place"):
        sheet = getattr(sheets, kind)
        if sheet is not None:
            _flatten(raw(sheet), kind, found)
    if sheets.mass is not None:
        found["rider.mass"] = sheets.mass.text or f"{sheets.mass.value:g} kg"
    return found


def _flatten(value: Any, path: str, found: dict[str, str]) -> None:
    if isinstance(value, Mapping):
        for name, inner in value.items():
            _flatten(inner, f"{path}.{name}", found)
    elif isinstance(value, list) and value and isinstance(value[0], Mapping):
        for place, row in enumerate(value, 1):
            _flatten(row, f"{path}[{place}]", found)
    elif isinstance(value, list):
        found[path] = ", ".join(str(item) for item in value)
    else:
        found[path] = str(value).lower() if isinstance(value, bool) else str(value)


def _with_mass(sheets: Sheets, changes: Sequence[str]) -> Sheets:
    """A bike whose rider was erased gets a stated mass by `rider.mass=`."""
    from cyclewright import units

    if sheets.rider is not None or sheets.mass is not None:
        return sheets
    given = [text.split("=", 1)[1] for text in changes if text.startswith("rider.mass=")]
    if not given:
        return sheets
    return replace(sheets, mass=units.parse(given[-1].strip(), "mass", "rider.mass"))


def _entry(wanted: Wanted, uuids: Sequence[str]) -> Entry:
    """How the act is known again when it is sent twice."""
    if any(item is not None for item in (wanted.rider, wanted.mass, wanted.earlier)):
        return Entry(uuids, "rider-changed", RIDER)
    if wanted.sheet is not None:
        return Entry(uuids, "sheet-changed")
    told = [_public(text) for text in wanted.changes]
    if wanted.part is not None:
        subject = f"swapped:{_swap(wanted.part)[1]}"
    else:
        subject = _subject([_field(text) for text in wanted.changes])
    return Entry(uuids, "sheet-changed", subject, lambda data: data.get("changes") == told)


def _subject(fields: Sequence[str]) -> str:
    kinds = {name.split(".")[0] for name in fields}
    return f"sheet:{'+'.join(sorted(kinds))}"[:200]


def _field(text: str) -> str:
    return text.split("=", 1)[0].rstrip("+ ").strip()


def _public(text: str) -> str:
    """A change as events may hold it: a rider's figures stay with the rider's sheet."""
    name = _field(text)
    return name if name.split(".")[0] == "rider" else checked_text(text, "change", 300)


def _count(names: Sequence[str], word: str) -> str:
    return f"{len(names)} {word}{'' if len(names) == 1 else 's'}"
