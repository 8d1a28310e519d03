"""What somebody wants to change, worked out on the sheets: the fields, the words, what follows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cyclewright.errors import input_error, refusal
from cyclewright.workshop.shop import Entry, Shop, checked_text

if TYPE_CHECKING:
    from cyclewright.knowledge.swaps import Swap
    from cyclewright.record.state import BikeState, Setup
    from cyclewright.sheets.sheets import Sheets

MARKS = ("maker", "model", "serial", "batch")
RIDER = "sheet:rider"
"""The subject of everything that changes the rider's sheet."""


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
class Change:
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


def work_out(shop: Shop, state: BikeState, wanted: Wanted) -> Change:
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


def _field_change(before: Sheets, kept: tuple[str, str] | None, wanted: Wanted) -> Change:
    """Fields of the sheets, each as it was given."""
    after, told, fields = _changed_fields(before, wanted.changes)
    if not _says_more(before, after):
        do = "stands so already: nothing is changed; record as touched what was opened all the same"
        raise input_error("same-value", ", ".join(fields), do)
    data = _changed_data(told, fields, f"{' and '.join(told)} changed", wanted.as_found)
    looks = _looks(before, after, fields)
    said = f"{', '.join(told)} recorded"
    return Change(
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
) -> Change:
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
    return Change(
        "sheet-changed", _subject(fields), data, words, before, after, kept, looks,
        by_hand=_by_hand(fields),
    )  # fmt: skip


def _swap_change(
    shop: Shop, state: BikeState, before: Sheets, kept: tuple[str, str] | None, wanted: Wanted
) -> Change:
    """A part taken off and another put on: its joints, its fields, its place in the register."""
    from cyclewright.record.recall import same
    from cyclewright.workshop.recall import checked_marks, fitted_data

    found, name = _swap(wanted.part or "")
    after, told, fields = _changed_fields(before, wanted.changes)
    why = f"{name} swapped" + (f": {' and '.join(told)}" if told else "")
    joints = _opened(state, before, found)
    data = _changed_data(told, fields, why, wanted.as_found)
    data["joints"] = list(dict.fromkeys([*joints, *data["joints"]]))
    old = next((row for row in state.parts if same(row, name)), None)
    marks = checked_marks(dict(wanted.marks))
    if wanted.marks and not any(marks.values()):
        raise input_error("no-marks", "part", "give its maker, model, serial or batch")
    part = ("part-fitted", fitted_data(state, old or name, marks, f"{name} swapped"))
    by_hand = _by_hand(fields) | (set(fields) & set(found.fields))
    return Change(
        "sheet-changed", f"swapped:{name}", {**data, "swapped": name}, why, before, after, kept,
        _looks(before, after, fields), part, frozenset(by_hand),
    )  # fmt: skip


def _opened(state: BikeState, sheets: Sheets, part: Swap) -> list[str]:
    """The joints of a part that this bike has; a part that it has not cannot be swapped."""
    from cyclewright.knowledge.fasteners import applying
    from cyclewright.sheets.sheets import facts

    known = {joint.name for joint in applying(facts(sheets))}
    known |= {joint for step in state.planned_steps().values() for joint in step.joints}
    joints = [joint for joint in part.joints if joint in known]
    if not joints:
        do = "this bike has no such part by its sheet: correct the sheet first"
        raise input_error("not-on-it", "part", do, value=part.part)
    return joints


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


def _rider_change(shop: Shop, state: BikeState, wanted: Wanted) -> Change:
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
    said = data["why"]
    if earlier is not None:
        said += "; what was set then counts as advice: set it and read it again"
    heavy = frozenset(fields) & _MASSES
    return Change("rider-changed", RIDER, data, said, before, after, kept, looks, by_hand=heavy)


_MASSES = frozenset({"rider.mass", "rider.kit_mass", "mass"})
"""Fields of whoever rides that a limit of the bike may be broken by."""


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
    why += ", as found" if as_found else ""
    data = {"changes": list(told), "fields": list(fields), "joints": joints, "why": why}
    return data | ({"as_found": True} if as_found else {})


def _by_hand(fields: Iterable[str]) -> frozenset[str]:
    from cyclewright.knowledge.roles import by_hand

    return frozenset(name for name in fields if by_hand(name))


def _moved_fields(before: Sheets, after: Sheets) -> list[str]:
    """Every field whose words on the sheets are not the same in both, in the order of the sheet."""
    one, other = _written(before), _written(after)
    return [name for name in dict.fromkeys((*one, *other)) if one.get(name) != other.get(name)]


def _says_more(before: Sheets, after: Sheets) -> bool:
    """Whether anything is said that was not; the same amount in another unit is not."""
    from cyclewright.sheets.sheets import facts

    one, other = facts(before), facts(after)
    moved = _moved_fields(before, after)
    return any(name not in other or one.get(name) != other[name] for name in moved)


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


def entry(wanted: Wanted, uuids: Sequence[str]) -> Entry:
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
