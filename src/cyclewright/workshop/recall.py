"""Parts with their serials and batches, and recalls: a bike that carries one is blocked."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from cyclewright.errors import input_error, refusal
from cyclewright.units import System
from cyclewright.workshop import holding
from cyclewright.workshop.acts import answered, one
from cyclewright.workshop.answers import Missing, RecordAnswer
from cyclewright.workshop.people import names, owner, who
from cyclewright.workshop.shop import Entry, Shop, checked_text, own_uuid

if TYPE_CHECKING:
    from cyclewright.record.events import Draft
    from cyclewright.record.recall import Cleared, Fitted, Hit
    from cyclewright.record.shop import Recall, ShopState
    from cyclewright.record.state import BikeState

By = str | int | None
FRAME = "frame"


@dataclass(frozen=True, slots=True)
class RecallRow:
    """A recall, and which bikes it is about as far as their parts are recorded."""

    id: int
    part: str
    maker: str
    model: str
    batches: tuple[str, ...]
    serials: tuple[str, ...]
    why: str
    do: str
    source: str
    opened: str
    by: str
    lifted: str
    carries: tuple[int, ...] = ()
    """Bikes that carry a recalled part."""
    may_carry: tuple[int, ...] = ()
    """Bikes with such a part whose marks are not all recorded, or not at all."""
    not_recorded: tuple[int, ...] = ()
    """Bikes of which nobody knows whether they have such a part: it blocks none of them."""
    settled: tuple[int, ...] = ()
    """Bikes on which it was settled."""

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The recall as plain data."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class PartRow:
    """A part on a bike as it is marked."""

    part: str
    maker: str
    model: str
    serial: str
    batch: str
    number: int
    recalls: tuple[str, ...] = field(default=())

    def to_json(self) -> dict[str, Any]:
        """The part as plain data."""
        return asdict(self)


def fit_part(
    shop: Shop,
    bike: int,
    part: str,
    *,
    maker: str = "",
    model: str = "",
    serial: str = "",
    batch: str = "",
    marks_only: bool = False,
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """A part as it is marked, fitted where `part` says; it takes the place of an earlier one.

    What it is fastened by is done again, unless it was on the bike all along: `marks_only`.
    """
    told = checked_marks({"maker": maker, "model": model, "serial": serial, "batch": batch})
    name = checked_text(part, "part", 80)

    before: tuple[Hit, ...] = ()

    def data(state: BikeState) -> dict[str, Any]:
        nonlocal before
        before = blocking(shop, state)
        held = holding.gone(state, name)
        if not any(told.values()) and not (held or holding.worn_out(shop, state, name)):
            raise input_error("no-marks", "part", "give its maker, model, serial or batch")
        if not marks_only:
            return fitted_data(state, name, told, f"{name} fitted")
        if held:
            do = "it was taken off or is awaited: record the one that was fitted, not only marks"
            raise refusal("not-there", "part", do, value=name)
        instead = _in_place_of(state, name)
        _check_same(state, instead, told)
        return {"part": name, **told, "instead": instead, "marks_only": True}

    events, state = one(
        shop,
        bike,
        "part-fitted",
        f"fitted:{name.casefold()}",
        data,
        by,
        uuid=uuid,
    )
    said = f"{name} recorded"
    now = blocking(shop, state)
    for number in sorted({hit.recall for hit in before} - {hit.recall for hit in now}):
        said += f"; its marks rule recall {number} out"
    if found := [hit.line() for hit in now]:
        said += f"; stop: {'; '.join(found)}"
    return answered(state, events, said)


def checked_marks(given: Mapping[str, str]) -> dict[str, str]:
    """Maker, model, serial and batch as they are marked; empty where one is not."""
    keys = ("maker", "model", "serial", "batch")
    return {key: _optional(given.get(key, ""), key) for key in keys}


def fitted_data(state: BikeState, name: str, told: Mapping[str, str], why: str) -> dict[str, Any]:
    """What the register is told of a part that was fitted, and what that takes away."""
    from cyclewright.knowledge.parts import named

    back = holding.lapse(state, named(name), why)
    return {"part": name, **told, "instead": _in_place_of(state, name), "lapse": back}


def _in_place_of(state: BikeState, name: str) -> list[str]:
    """Parts on record that sit where this one does, by the names they have there."""
    from cyclewright.knowledge.parts import named

    return [
        other
        for other in state.parts
        if any(new.takes_place_of(old) for new in named(name) for old in named(other))
    ]


def remove_part(
    shop: Shop, bike: int, part: str, *, by: By = None, uuid: str | None = None
) -> RecordAnswer:
    """A part was taken off and nothing recorded has taken its place: it holds its gate items.

    A part that a bicycle has need not be on record.
    """
    from cyclewright.knowledge.parts import named
    from cyclewright.record.recall import same

    name = checked_text(part, "part", 80)

    def data(state: BikeState) -> dict[str, Any]:
        found = next((other for other in state.parts if same(other, name)), None)
        meant = named(found or name)
        if found is None and any(one.kind is None for one in meant):
            listed = ", ".join(state.parts) or "none"
            raise input_error(
                "no-such-part", "part", "name a part on record", value=name, allowed=listed
            )
        instead = _in_place_of(state, found or name)
        back = holding.lapse(state, meant, f"{found or name} taken off")
        return {"part": found or name, "instead": instead, "lapse": back}

    subject = f"fitted:{name.casefold()}"
    events, state = one(shop, bike, "part-removed", subject, data, by, uuid=uuid)
    return answered(state, events, f"{events[0].data['part']} taken off")


def _check_same(state: BikeState, on_record: Sequence[str], told: Mapping[str, str]) -> None:
    """Marks written down anew fit those on record: other marks are another part."""
    from cyclewright.record.recall import same

    for name in on_record:
        for key, text in told.items():
            known = getattr(state.parts[name], key)
            if known and text and not same(known, text):
                do = f"{name} is on record with {key} {known}: record this one as fitted"
                raise refusal("another-part", key, do, value=text)


def parts(shop: Shop, bike: int) -> tuple[PartRow, ...]:
    """Every part on record with the recalls that are about it, the frame by its sheet."""
    state = shop.state(bike)
    found = blocking(shop, state)
    return tuple(
        PartRow(
            item.part,
            item.maker,
            item.model,
            item.serial,
            item.batch,
            item.number,
            tuple(hit.line() for hit in found if hit.part == item),
        )
        for item in carried(shop, state)
    )


def open_recall(
    shop: Shop,
    part: str,
    *,
    why: str,
    do: str,
    source: str,
    maker: str = "",
    model: str = "",
    batches: Sequence[str] = (),
    serials: Sequence[str] = (),
    by: By = None,
    uuid: str | None = None,
) -> RecallRow:
    """Block every bike that carries this part of these batches or serials, or of all of them.

    `source` says where the recall was published, `do` what its maker wants done. Any mechanic
    may open one: stopping a bike is never the mistake.
    """
    from cyclewright.record.events import Draft

    own, author = own_uuid(uuid), who(shop, by)
    told: dict[str, Any] = {
        "part": checked_text(part, "part", 80),
        "maker": _optional(maker, "maker"),
        "model": _optional(model, "model"),
        "batches": [checked_text(text, "batch", 80) for text in batches],
        "serials": [checked_text(text, "serial", 80) for text in serials],
        "why": checked_text(why, "why", 500),
        "do": checked_text(do, "do", 500),
        "source": checked_text(source, "source", 300),
    }

    def decide(state: ShopState) -> list[Draft]:
        number = max(state.recalls, default=0) + 1
        data = {"recall": number, **told}
        return [Draft("recall-opened", f"recall:{number}", data, author, own)]

    entry = Entry([own], "recall-opened", same=lambda data: told.items() <= data.items())
    events, _ = shop.own_act(decide, entry)
    return recall(shop, events[0].data["recall"])


def lift_recall(
    shop: Shop,
    number: int,
    reason: str,
    by: By = None,
    *,
    pin: str | None = None,
    uuid: str | None = None,
) -> RecallRow:
    """An owner lifts a whole recall with a reason: it blocks nothing any more."""
    from cyclewright.record.events import Draft

    own, why = own_uuid(uuid), checked_text(reason, "reason", 500)
    author = owner(shop, by, pin)

    def decide(state: ShopState) -> list[Draft]:
        _open(state, number)
        data = {"recall": number, "reason": why}
        return [Draft("recall-lifted", f"recall:{number}", data, author, own)]

    shop.own_act(decide, Entry([own], "recall-lifted", f"recall:{number}"))
    return recall(shop, number)


def settle_recall(
    shop: Shop,
    bike: int,
    number: int,
    reason: str,
    by: By,
    *,
    pin: str | None = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """Lift a recall on one bike with what was done about it; a part fitted later counts anew."""
    from cyclewright.record.events import Draft

    if by is None or by == "":
        raise input_error("by-missing", "by", "say who settled it: --by NAME")
    own, why = own_uuid(uuid), checked_text(reason, "reason", 500)
    author = who(shop, by, pin, fresh=True)

    def decide(state: BikeState) -> list[Draft]:
        _open(shop.own(), number)
        if all(hit.recall != number for hit in blocking(shop, state)):
            raise refusal("not-recalled", f"bike {bike}", f"recall {number} does not block it")
        data = {"recall": number, "reason": why}
        return [Draft("recall-cleared", f"recall:{number}", data, author, own)]

    events, state = shop.act(bike, decide, Entry([own], "recall-cleared", f"recall:{number}"))
    return answered(state, events, f"recall {number} settled on this bike: {why}")


def recalls(shop: Shop, all_of_them: bool = False) -> tuple[RecallRow, ...]:
    """Recalls that stand, or all there ever were, each with its bikes."""
    own = shop.own()
    chosen = own.recalls.values() if all_of_them else own.open_recalls()
    return tuple(_row(shop, item) for item in chosen)


def recall(shop: Shop, number: int) -> RecallRow:
    """One recall with its bikes."""
    return _row(shop, _known(shop.own(), number))


def blocking(shop: Shop, state: BikeState) -> tuple[Hit, ...]:
    """Parts of a bike that an open recall is, or may be, about, on record or not."""
    standing = shop.own().open_recalls()
    if not standing:
        return ()
    return _hits(standing, carried(shop, state), places(state), state.cleared)


def _hits(
    recalls: Sequence[Recall],
    listed: Sequence[Fitted],
    has: Container[str],
    cleared: Mapping[int, Cleared],
) -> tuple[Hit, ...]:
    from cyclewright.record.recall import hits, unmarked

    return hits(recalls, (*listed, *unmarked(recalls, listed, has)), cleared)


def places(state: BikeState) -> frozenset[str]:
    """The places of the parts that a bike has, as far as its plan tells."""
    from cyclewright.knowledge.parts import on_bike

    steps = state.planned_steps()
    return on_bike({joint for step in steps.values() for joint in step.joints}, set(steps))


def lacking(shop: Shop, state: BikeState) -> tuple[Missing, ...]:
    """What recalls hold up at either gate; nobody overrides them."""
    return tuple(Missing("recall", hit.line(), None, True) for hit in blocking(shop, state))


def carried(shop: Shop, state: BikeState) -> tuple[Fitted, ...]:
    """Every part on record; the frame is what the sheet says unless it was recorded itself."""
    from cyclewright.record.recall import Fitted, same

    listed = tuple(state.parts.values())
    if "bike" not in state.sheets or any(same(item.part, FRAME) for item in listed):
        return listed
    bike = shop.sheets(state).bike
    return (Fitted(FRAME, bike.maker or "", bike.model or "", state.serial), *listed)


def _row(shop: Shop, item: Recall) -> RecallRow:
    """Every bike is looked at: a recall is rare and has to be complete."""
    from cyclewright.record.recall import about

    found: dict[str, list[int]] = {key: [] for key in ("sure", "may", "none", "settled")}
    for bike in sorted(shop.store.heads()):
        state = shop.state(bike)
        listed = carried(shop, state)
        has = places(state)
        got, ever = _hits([item], listed, has, state.cleared), _hits([item], listed, has, {})
        if any(hit.sure for hit in got):
            found["sure"].append(bike)
        elif got:
            found["may"].append(bike)
        elif ever:
            found["settled"].append(bike)
        elif not any(about(item, part) for part in listed):
            found["none"].append(bike)
    return RecallRow(
        item.id,
        item.part,
        item.maker,
        item.model,
        item.batches,
        item.serials,
        item.why,
        item.do,
        item.source,
        item.opened,
        names(shop).get(item.by or 0, ""),
        item.lifted,
        tuple(found["sure"]),
        tuple(found["may"]),
        tuple(found["none"]),
        tuple(found["settled"]),
    )


def hit_lines(standing: Sequence[Recall], summary: Mapping[str, Any]) -> tuple[str, ...]:
    """What open recalls say of a bike whose parts a summary holds as plain data."""
    from cyclewright.record.recall import Cleared, Fitted

    cleared = summary["cleared"].items()
    settled = {int(key): Cleared("", number, None, "") for key, number in cleared}
    listed = [Fitted(**row) for row in summary["parts"]]
    found = _hits(standing, listed, frozenset(summary["places"]), settled)
    return tuple(hit.line() for hit in found)


def _known(state: ShopState, number: int) -> Recall:
    found = state.recalls.get(number)
    if found is None:
        listed = ", ".join(str(item) for item in state.recalls) or "none"
        raise input_error(
            "no-such-recall", "recall", "give its number", value=str(number), allowed=listed
        )
    return found


def _open(state: ShopState, number: int) -> None:
    found = _known(state, number)
    if found.lifted:
        raise refusal("lifted", f"recall {number}", f"it was lifted: {found.lifted}")


def _optional(text: str, field_name: str) -> str:
    return checked_text(text, field_name, 80) if text.strip() else ""
