"""Undo: an act taken back whole and by its name, one's own unless said otherwise, or put back."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from cyclewright.errors import InputError, Refusal, input_error, refusal
from cyclewright.workshop.answers import RecordAnswer
from cyclewright.workshop.people import find, names, who, working
from cyclewright.workshop.shop import Entry, Shop, own_uuid
from cyclewright.workshop.told import ActView, called, view

if TYPE_CHECKING:
    from cyclewright.record.acts import Act
    from cyclewright.record.events import Draft, Event
    from cyclewright.record.state import BikeState
    from cyclewright.units import System

By = str | int | None
UNDOABLE = frozenset(
    {
        "planned",
        "step-done",
        "step-put-off",
        "step-problem",
        "joint-touched",
        "sheet-changed",
        "rider-changed",
        "reading-taken",
        "setting-made",
        "carton-arrived",
        "carton-damaged",
        "damage-settled",
        "parts-ticked",
        "part-expected",
        "part-arrived",
        "packing-kept",
        "claim-sent",
        "serial-read",
        "item-overridden",
        "part-fitted",
        "part-removed",
        "recall-cleared",
        "finding-made",
        "finding-quoted",
        "finding-put-right",
        "work-declined",
        "use-noted",
        "care-done",
        "care-booked",
        "packed",
    }
)
"""Kinds of events that can be taken back. Gates and releases are not: a gate is asked of the
present, and falls with what it rested on."""
OPENINGS = frozenset({"visit-opened", "pack-opened", "rebuild-opened"})
"""Kinds that begin a visit, or the second half of one: taken back while it holds nothing else."""
NOBODY = -1
"""Asks without being on record: none of the acts is their own."""
_CHANGES = frozenset({"sheet-changed", "rider-changed", "joint-touched", "planned"})


@dataclass(frozen=True, slots=True)
class UndoAnswer(RecordAnswer):
    """An act taken back or put back, by name: what is open again and what stands again."""

    act: ActView | None = None
    put_back: bool = False
    opens: tuple[str, ...] = ()
    """Ids of steps that were done and are no longer, its own among them."""
    stands: tuple[str, ...] = ()
    """Ids of steps that were not done and are again."""
    falls: tuple[str, ...] = ()
    """Gates that were passed and are no longer; `released` for the release."""
    rises: tuple[str, ...] = ()
    """Gates, and the release, that stood no more and stand again."""

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The act as plain data."""
        return RecordAnswer.to_json(self, system) | {
            "act": None if self.act is None else self.act.to_json(),
            "put_back": self.put_back,
            "opens": list(self.opens),
            "stands": list(self.stands),
            "falls": list(self.falls),
            "rises": list(self.rises),
        }


@dataclass(frozen=True, slots=True)
class _Chosen:
    """An act, the data of the event that would undo it, and the state that would leave."""

    act: Act
    """What of it still counts."""
    whole: Act
    put_back: bool
    data: Mapping[str, Any]
    after: BikeState


def undo(
    shop: Shop,
    bike: int,
    *,
    number: int | None = None,
    step: str | None = None,
    anyone: bool = False,
    put_back: bool = False,
    strict: bool = False,
    by: By = None,
    uuid: str | None = None,
    seen: int | None = None,
) -> UndoAnswer:
    """Take back one's newest act, one's newest of a step, or the act with that number.

    What is taken back was recorded in error: it stays readable and no longer counts. What was
    built upon it is open again. With `anyone` the newest counts, whoever recorded it; a number
    says so too, unless it is `strict`. The number of an undo, or `put_back` for one's newest,
    lets its act count again.
    """
    from cyclewright.record.events import Draft

    own, author = own_uuid(uuid), who(shop, by)
    before: BikeState | None = None

    def decide(state: BikeState) -> list[Draft]:
        nonlocal before
        before = state
        chosen = _choose(shop, state, author, number, step, anyone, put_back)
        if strict and not anyone and not _own(shop, chosen.act, author):
            raise _anothers(_view(shop, state, chosen.act, author), "this entry", _ON_PAGE)
        return [Draft("event-undone", chosen.act.first.subject, chosen.data, author, own, seen)]

    def same(data: Mapping[str, Any]) -> bool:
        return number is None or number in data["numbers"]

    events, state = shop.act(bike, decide, Entry([own], "event-undone", same=same))
    return _answer(shop, events, before, state, author)


def look(
    shop: Shop,
    bike: int,
    *,
    number: int | None = None,
    step: str | None = None,
    anyone: bool = False,
    put_back: bool = False,
    by: By = None,
) -> UndoAnswer:
    """What `undo` would take and open again, without taking it; refused as it would be."""
    state, author = shop.state(bike), _asking(shop, by)
    chosen = _choose(shop, state, author, number, step, anyone, put_back)
    return _told(shop, chosen, state, chosen.after, author, ())


def newest(shop: Shop, bike: int, by: By = None) -> ActView | None:
    """The act that an undo would take: one's own, else the newest of anybody; None for none."""
    state, author = shop.state(bike), _asking(shop, by)
    found = [act for act in _acts(shop, state) if _takes(state, act)]
    mine = _mine(shop, found, author)
    return None if not found or state.read_only else _view(shop, state, (mine or found)[-1], author)


def views(shop: Shop, bike: int, by: By = None) -> tuple[ActView, ...]:
    """The acts of this visit that can be taken back, and the undos that can be put back."""
    state, author = shop.state(bike), _asking(shop, by)
    return tuple(
        _view(shop, state, act, author)
        for act in _acts(shop, state)
        if not state.read_only and (_takes(state, act) or _puts(state, act, _acts(shop, state)))
    )


def said_of(shop: Shop, state: BikeState, event: Event) -> str:
    """An entry as the history tells it; an undo names what it took."""
    from cyclewright.record.telling import tell

    if event.kind != "event-undone" or not event.known:
        return tell(event)
    known = _acts(shop, state)
    act = next(act for act in known if event.number in act.numbers)
    taken = _taken(act, known)
    back = taken is not None and taken.first.kind == "event-undone"
    whole = _taken(taken, known) if taken is not None and back else taken
    if whole is None:
        return tell(event)
    verb = "put back" if back else "undone"
    return f"event {whole.number} {verb}: {called(whole)}"


def _asking(shop: Shop, by: By) -> int | None:
    """Who asks, without adding anybody."""
    if by is None or by == "":
        try:
            return who(shop, None)
        except (InputError, Refusal):
            return NOBODY
    found = find(shop, by)
    return NOBODY if found is None else found.id


def _acts(shop: Shop, state: BikeState) -> tuple[Act, ...]:
    """The acts of a bike up to its state, found once."""
    from cyclewright.record.acts import acts

    key = ("acts", state.bike, state.number, state.head)
    return shop.once(key, lambda: acts(shop.events(state.bike)[: state.number]))


def _mine(shop: Shop, acts: Sequence[Act], author: int | None) -> list[Act]:
    """The acts that are one's own; where one person works nothing is another's."""
    alone = len(working(shop)) <= 1
    return [act for act in acts if alone or act.first.by == author]


def _own(shop: Shop, act: Act, author: int | None) -> bool:
    """Whether an act is one's own."""
    return bool(_mine(shop, [act], author))


def _counts(state: BikeState, act: Act) -> Act | None:
    """What of an act of this visit counts."""
    return act.without(state.undone) if act.number >= state.visit_number else None


def _takes(state: BikeState, act: Act) -> bool:
    """Whether an act counts and can be taken back."""
    left = _counts(state, act)
    if left is None or not left.kinds <= UNDOABLE | OPENINGS:
        return False
    if act.number == state.visit_number:
        return state.visit > 1
    first_plan = act.number == state.visit_number + 1 and state.visit_kind != "pack"
    return not (first_plan and act.first.kind == "planned")


def _puts(state: BikeState, act: Act, known: Sequence[Act]) -> bool:
    """Whether an act is an undo that counts, of something that is no undo itself."""
    if act.first.kind != "event-undone" or _counts(state, act) is None:
        return False
    taken = _taken(act, known)
    return taken is not None and taken.first.kind != "event-undone"


def _taken(undo: Act, known: Sequence[Act]) -> Act | None:
    """The act that an undo took back."""
    wanted = undo.first.data["number"]
    return next((act for act in known if wanted in act.numbers), None)


def _choose(
    shop: Shop,
    state: BikeState,
    author: int | None,
    number: int | None,
    step: str | None,
    anyone: bool,
    put_back: bool,
) -> _Chosen:
    """The act that is meant, and what undoing it comes to; refused where it cannot be undone."""
    known = _acts(shop, state)
    if number is not None:
        return _numbered(shop, state, known, number)
    fits: Callable[[Act], bool] = (
        (lambda act: _puts(state, act, known)) if put_back else (lambda act: _takes(state, act))
    )
    found = [act for act in known if fits(act) and (step is None or step in act.steps)]
    if not found:
        what = step or "this bike"
        raise refusal("nothing-to-undo", what, _NOTHING_BACK if put_back else _NOTHING)
    mine = found if anyone else _mine(shop, found, author)
    if not mine:
        raise _anothers(_view(shop, state, found[-1], author))
    return _weighed(shop, state, known, mine[-1])


_ON_PAGE = "open it from the record's page"
_NOTHING = "only steps, readings and changes of this visit that count can be undone"
_NOTHING_BACK = "nothing was taken back in this visit that could be put back"


def _anothers(act: ActView, what: str = "the newest entry", way: str = "") -> Refusal:
    """The refusal to take another's act without a word, and the way to do it all the same."""
    whose = f"{act.by}'s" if act.by else "of somebody who gave no name"
    way = way or f"write --anyone or --number {act.number}"
    do = f"{what} is {whose}, {act.name}, {act.when}: to take it back all the same {way}"
    return refusal("anothers", "undo", do)


def _numbered(shop: Shop, state: BikeState, known: Sequence[Act], number: int) -> _Chosen:
    """The act of an event's number: taken back, or put back when it is an undo."""
    act = next((act for act in known if number in act.numbers), None)
    if act is None:
        raise input_error(
            "no-such-event", "number", "give an event of this bike", value=str(number)
        )
    if _takes(state, act) or _puts(state, act, known):
        return _weighed(shop, state, known, act)
    shown = _view(shop, state, act, NOBODY)
    if act.without(state.undone) is None:
        do = f"{shown.name}, {shown.when}, was taken back already: nothing was undone"
        raise refusal("taken-back", f"event {number}", do)
    raise refusal("nothing-to-undo", f"event {number}", _NOTHING)


def _weighed(shop: Shop, state: BikeState, known: Sequence[Act], act: Act) -> _Chosen:
    """What undoing an act comes to; refused where later work rests on it."""
    from cyclewright.record.fold import fold

    events = tuple(sorted((e for one in known for e in one.events), key=lambda e: e.number))
    put_back = act.first.kind == "event-undone"
    whole = (_taken(act, known) if put_back else act) or act
    left = act.without(state.undone) or act
    data: dict[str, Any] = {"number": left.number, "numbers": list(left.numbers)}
    if len(set(whole.steps)) == 1:
        data["step"] = whole.steps[0]
    _check_empty_visit(state, whole, left, events)
    _check_newest_plan(state, whole, left, events)
    bare = fold([*events, _event(state, left, data)])
    if moved := _moved(shop, state, bare, whole):
        data["moved"] = moved
    after = fold([*events, _event(state, left, data)]) if moved else bare
    _check_unbuilt(state, after, whole, left, events)
    _check_leaning(state, after, whole, left, events)
    return _Chosen(left, whole, put_back, data, after)


def _event(state: BikeState, act: Act, data: Mapping[str, Any]) -> Event:
    """The event that undoing an act would be."""
    return replace(
        act.first,
        number=state.number + 1,
        uuid="",
        kind="event-undone",
        version=1,
        data=dict(data),
        hash=b"",
    )


def _check_empty_visit(state: BikeState, whole: Act, left: Act, events: Sequence[Event]) -> None:
    """A visit begun in error is taken back, or put back, while nothing else counts since."""
    if not whole.kinds & OPENINGS:
        return
    for later in events[max(whole.numbers) :]:
        if later.number not in state.undone and later.kind != "event-undone":
            do = f"event {later.number} was recorded since: undo that first, or finish the visit"
            raise refusal("built-upon", f"event {left.number}", do)


def _check_newest_plan(state: BikeState, whole: Act, left: Act, events: Sequence[Event]) -> None:
    """A plan is taken back, or put back, only under no later one."""
    if "planned" not in whole.kinds:
        return
    mine = max(event.number for event in whole.events if event.kind == "planned")
    for later in events[mine:]:
        if later.kind == "planned" and later.number not in state.undone:
            raise refusal(
                "changed-since",
                f"event {left.number}",
                f"undo the later change of the sheets first, event {later.number}",
            )


def _moved(shop: Shop, before: BikeState, after: BikeState, whole: Act) -> list[str]:
    """Steps whose proof was taken under facts, or asked for by a plan, that the undo moves."""
    from cyclewright.record import lapse
    from cyclewright.workshop.receive import known_facts

    told: set[str] = set()
    if "planned" in whole.kinds:
        told |= set(lapse.said(known_facts(shop.sheets(before)), known_facts(shop.sheets(after))))
    for event in whole.events:
        told |= set(event.data.get("lapsed") or ())
    now, then = before.planned_steps(), after.planned_steps()
    return [
        name
        for name in {**now, **then}
        if name in told or name not in now or name not in then or now[name].data != then[name].data
    ]


def _check_unbuilt(
    state: BikeState, after: BikeState, whole: Act, left: Act, events: Sequence[Event]
) -> None:
    """What was done again because of a change shows that the change was no mistake."""
    if not whole.kinds & _CHANGES:
        return
    put_back = left.first.kind == "event-undone"
    told = after.reopened if put_back else state.reopened
    again = {name for number in whole.numbers for name in told.get(number, ())}
    if "planned" in whole.kinds:
        again |= set(state.planned_steps()) - set(after.planned_steps())
    for later in events[left.number :]:
        if later.number in whole.numbers:
            continue
        done = later.kind == "step-done" and later.data["step"] in again
        if later.number not in state.undone and (done or later.kind in ("gate-passed", "released")):
            raise refusal(
                "built-upon",
                f"event {left.number}",
                f"work was recorded on it in event {later.number}: {_instead(whole, put_back)}",
            )


def _instead(whole: Act, put_back: bool) -> str:
    """The way on where a change is not undone."""
    if "rider-changed" in whole.kinds:
        return "fit the earlier rider again instead, and do again what that reopens"
    if "sheet-changed" not in whole.kinds:
        return "do again what is open, it stays opened" if not put_back else "touch it anew"
    word = "change the sheet anew" if put_back else "change the sheet back instead"
    return f"{word}, and do again what that reopens"


def _check_leaning(
    state: BikeState, after: BikeState, whole: Act, left: Act, events: Sequence[Event]
) -> None:
    """What later entries tell of must still be there, and its number must be its own."""
    for later in events[left.number :]:
        if later.number in after.undone or later.number in whole.numbers:
            continue
        if _lost(later, state, after) or _twice(later, whole):
            raise refusal(
                "leant-upon",
                f"event {left.number}",
                f"event {later.number} rests on how it stands: undo that first",
            )


def _lost(event: Event, before: BikeState, after: BikeState) -> bool:
    """Whether an event tells of something that was there and would no longer be."""
    data = event.data
    if event.kind in ("finding-quoted", "finding-put-right", "work-declined"):
        wanted = data["findings"] if "findings" in data else [data["finding"]]
        return any(name in before.findings and name not in after.findings for name in wanted)
    if event.kind == "damage-settled":
        seen = data["damage"]
        return seen in _damages(before) and seen not in _damages(after)
    if event.kind in ("part-expected", "part-arrived"):
        part = data["part"]
        return part in before.carton.parts and part not in after.carton.parts
    if event.kind in ("parts-ticked", "carton-damaged", "packing-kept", "claim-sent"):
        return bool(before.carton.number) and not after.carton.number
    return False


def _damages(state: BikeState) -> set[int]:
    return {damage.number for damage in state.carton.damages}


def _twice(event: Event, whole: Act) -> bool:
    """Whether a finding has since been given the number of one that was taken back."""
    ids = {one.data["finding"] for one in whole.events if one.kind == "finding-made"}
    return event.kind == "finding-made" and event.data["finding"] in ids


def _view(shop: Shop, state: BikeState, act: Act, author: int | None) -> ActView:
    """An act as a person sees it; an undo goes by the name of what it took."""
    known = _acts(shop, state)
    whole = _taken(act, known) if act.first.kind == "event-undone" else None
    left = act.without(state.undone)
    own = _own(shop, act, author)
    shown = view(left or act, whole or act, names(shop), own, left is None)
    return replace(shown, kind=act.first.kind)


def _answer(
    shop: Shop,
    events: Sequence[Event],
    before: BikeState | None,
    state: BikeState,
    author: int | None,
) -> UndoAnswer:
    """What an undo that is on record took, by name; a resend tells the same."""
    known, target = _acts(shop, state), events[0].data
    entry = next(act for act in known if target["number"] in act.numbers)
    act = replace(entry, events=tuple(e for e in entry.events if e.number in target["numbers"]))
    put_back = act.first.kind == "event-undone"
    whole = (_taken(act, known) if put_back else entry) or act
    chosen = _Chosen(act, whole, put_back, target, state)
    return _told(shop, chosen, before, state, author, events)


def _told(
    shop: Shop,
    chosen: _Chosen,
    before: BikeState | None,
    after: BikeState,
    author: int | None,
    events: Sequence[Event],
) -> UndoAnswer:
    """The act by name, with how the steps and gates stand after it."""
    from cyclewright.workshop.standing import FALLS, RISES, standing

    own = _own(shop, chosen.act, author)
    act = view(chosen.act, chosen.whole, names(shop), own, bool(events))
    verb = "put back" if chosen.put_back else "undone"
    said = f"event {chosen.act.number} {verb if events else f'would be {verb}'}: {act.line}"
    last = events[0].number if events else after.number
    fresh = set(after.reopened.get(last, ()))
    reopened = tuple(name for name in after.planned_steps() if name in fresh)
    if reopened:
        again = "this step" if len(reopened) == 1 else f"these {len(reopened)}"
        said = f"{said}; do {again} again: {', '.join(reopened)}"
    was, stand = (after if before is None else before), after.done()
    held, stands = standing(shop, was).held, standing(shop, after).held
    falls = tuple(name for name in held if name not in stands)
    rises = tuple(name for name in stands if name not in held)
    said = "; ".join((said, *(FALLS[name] for name in falls), *(RISES[name] for name in rises)))
    return UndoAnswer(
        after.bike,
        tuple(event.number for event in events),
        said,
        reopened,
        act,
        chosen.put_back,
        tuple(name for name in was.planned_steps() if name in was.done() - stand),
        tuple(name for name in after.planned_steps() if name in stand - was.done()),
        falls,
        rises,
    )
