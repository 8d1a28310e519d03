"""Pack a bike for travel and rebuild it: settings stay, only what was loosened is done again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from cyclewright.errors import InputError, Problem, input_error, refusal
from cyclewright.units import System
from cyclewright.workshop import as_set
from cyclewright.workshop.acts import By, answered, one
from cyclewright.workshop.answers import RecordAnswer
from cyclewright.workshop.people import who
from cyclewright.workshop.receive import follow
from cyclewright.workshop.shop import Entry, Shop, own_uuid

if TYPE_CHECKING:
    from cyclewright.record.events import Draft
    from cyclewright.record.state import BikeState
    from cyclewright.record.steps import Step


@dataclass(frozen=True, slots=True)
class PackLine:
    """One thing to do before the bike goes into its carton: the counterpart of a step."""

    step: str
    station: str
    do: str
    loosens: tuple[str, ...]
    """Joints it opens."""
    again: bool
    """Whether its step is done again on arrival."""
    done: bool


@dataclass(frozen=True, slots=True)
class KeptSetting:
    """A setting as it was made, to be found again on arrival."""

    name: str
    value: float
    unit: str
    shown: str
    stands: str = ""
    """How it stands: set, or set before and why."""


@dataclass(frozen=True, slots=True)
class PackAnswer:
    """A journey as it stands: what to undo, what is kept, and what is to be done again."""

    bike: int
    name: str
    open: bool
    rebuilding: bool
    lines: tuple[PackLine, ...]
    settings: tuple[KeptSetting, ...]
    packing: tuple[str, ...]
    """Packing that was kept from its own carton."""
    again: tuple[str, ...]
    """Ids of steps to do on arrival, in plan order."""

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The journey as plain data."""
        return asdict(self)


def open_pack(shop: Shop, bike: int, by: By = None, uuid: str | None = None) -> RecordAnswer:
    """Begin to pack: a visit of its own that keeps plan, evidence and settings.

    Until it is rebuilt and released again the bike counts as not released.
    """

    def data(state: BikeState) -> dict[str, Any]:
        if state.pack is not None and not state.pack.rebuilding:
            raise refusal("packing", f"bike {bike}", "packing has begun: tick its lines")
        if not lines_of(state):
            raise refusal(
                "nothing-to-pack", f"bike {bike}", "no step that is done has to be undone for it"
            )
        return {}

    events, state = one(shop, bike, "pack-opened", "visit", data, by, uuid=uuid)
    return answered(state, events, f"packing begun: {len(lines_of(state))} things to undo")


def pack(
    shop: Shop,
    bike: int,
    steps: Sequence[str],
    by: By = None,
    uuid: str | None = None,
    seen: int | None = None,
) -> RecordAnswer:
    """Tick lines of the packing list: what they loosen is open again, and what rests on it."""
    from cyclewright.record.events import Draft

    if not steps:
        raise input_error("empty", "steps", "tick at least one line")
    names = list(dict.fromkeys(steps))
    base, author = own_uuid(uuid), who(shop, by)
    own = {name: base if n == 0 else follow(base, name) for n, name in enumerate(names)}

    def decide(state: BikeState) -> list[Draft]:
        if state.pack is None or state.pack.rebuilding:
            raise refusal("not-packing", f"bike {bike}", "begin to pack first")
        lines = lines_of(state)
        wrong = [
            Problem("no-such-line", name, "tick a line of the packing list")
            for name in names
            if name not in lines or name in state.pack.lines
        ]
        if wrong:
            raise InputError(wrong)
        return [
            Draft("packed", f"step:{name}", _undone(lines[name]), author, own[name], seen)
            for name in names
        ]

    entry = Entry(list(own.values()), "packed", f"step:{names[0]}")
    events, state = shop.act(bike, decide, entry)
    left = len(lines_of(state)) - len(state.pack.lines if state.pack else ())
    return answered(state, events, f"{len(events)} undone for the journey, {left} left")


def _undone(step: Step) -> dict[str, Any]:
    """What a line of the packing list takes away."""
    joints = list(step.data.get("loosens") or ())
    return {"step": step.id, "joints": joints, "again": _again(step)}


def open_rebuild(
    shop: Shop,
    bike: int,
    by: By = None,
    uuid: str | None = None,
    *,
    all_of_it: bool = False,
) -> RecordAnswer:
    """Arrived: from here the steps that were loosened are done again, then the gates.

    `all_of_it` says that every line of the packing list was undone, ticked or not. Where none
    was ticked that is asked for: a bike that travelled is not ridden because nobody wrote down
    what was loosened.
    """

    def data(state: BikeState) -> dict[str, Any]:
        if state.pack is None or state.pack.rebuilding:
            raise refusal("not-packed", f"bike {bike}", "it was not packed")
        lines, ticked = lines_of(state), state.pack.lines
        if lines and not ticked and not all_of_it:
            raise refusal(
                "nothing-ticked",
                f"bike {bike}",
                "no line is ticked: tick what was loosened, say that all of it was, or take the "
                "packing back if it never began",
            )
        left = [name for name in lines if name not in ticked] if all_of_it else []
        return {"lines": [_undone(lines[name]) for name in left]} if left else {}

    events, state = one(shop, bike, "rebuild-opened", "visit", data, by, uuid=uuid)
    again = _reopened(state)
    said = f"do {len(again)} steps again: {', '.join(again)}" if again else "nothing was loosened"
    numbers = tuple(event.number for event in events)
    return RecordAnswer(bike, numbers, f"rebuild begun; {said}", again)


def packing(shop: Shop, bike: int) -> PackAnswer:
    """The packing list of a bike, last built first, and where the journey stands."""
    from cyclewright.workshop.care import shown_setting

    state = shop.state(bike)
    packed: Mapping[str, int] = {} if state.pack is None else state.pack.lines

    def told(name: str) -> str:
        found = as_set.stands(shop, state, name)
        why = f"; {as_set.plain(found.why)}" if found.why else ""
        return f"{as_set.words(found)}{why}"

    return PackAnswer(
        bike=state.bike,
        name=state.name,
        open=state.pack is not None,
        rebuilding=state.pack is not None and state.pack.rebuilding,
        lines=tuple(
            PackLine(
                name,
                step.station,
                str(step.data["packing"]),
                tuple(step.data.get("loosens") or ()),
                _again(step),
                name in packed,
            )
            for name, step in lines_of(state).items()
        ),
        settings=tuple(
            KeptSetting(made.name, made.value, made.unit, shown_setting(made), told(made.name))
            for made in state.settings.values()
        ),
        packing=state.carton.packing,
        again=_reopened(state),
    )


def lines_of(state: BikeState) -> dict[str, Step]:
    """Steps with a packing counterpart that are done, or were when packing began; last first."""
    packed: Mapping[str, int] = {} if state.pack is None else state.pack.lines
    found = [
        (name, step)
        for name, step in state.planned_steps().items()
        if step.data.get("packing")
        and (
            state.step(name).status == "done"
            or name in packed
            or (state.pack is not None and name in state.pack.before)
        )
    ]
    return dict(reversed(found))


def _again(step: Step) -> bool:
    """Whether packing takes the step's own evidence.

    A step that sets a joint loses it only where the joint is opened; a direction, a pressure or
    a spacer sets none and is set anew.
    """
    return bool(step.data.get("loosens") or step.data.get("reads")) or not step.joints


def _reopened(state: BikeState) -> tuple[str, ...]:
    """Steps of the plan that the journey opened and that are not done again."""
    if state.pack is None:
        return ()
    begun = state.pack.number
    gone = {name for number, names in state.reopened.items() if number > begun for name in names}
    return tuple(
        name
        for name in state.planned_steps()
        if name in gone and state.step(name).status == "reopened"
    )
