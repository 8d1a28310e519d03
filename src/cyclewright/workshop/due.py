"""Care: use noted, wear read, what is due when, and the calendar that reminds of it."""

from __future__ import annotations

import math
import uuid as uuids
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from cyclewright import units
from cyclewright.errors import InputError, input_error, range_error, refusal
from cyclewright.units import System
from cyclewright.workshop.acts import By, Day, answered, day, day_of, one
from cyclewright.workshop.answers import RecordAnswer
from cyclewright.workshop.readings import append_reading
from cyclewright.workshop.shop import Shop, checked_text

if TYPE_CHECKING:
    from cyclewright.knowledge.care import Wear
    from cyclewright.record.calendar import Entry
    from cyclewright.record.care import Due
    from cyclewright.record.state import BikeState, Reading

MOST_RIDES, MOST_HOURS = 1000, 2000.0
BOOKED = "booked"
"""The item under which a re-check that is booked stands in the list."""


@dataclass(frozen=True, slots=True)
class DueRow:
    """One item of care: what is left of it, and when it is due."""

    bike: int
    item: str
    name: str
    do: str
    since: str
    times: int
    rides_left: int | None
    hours_left: float | None
    days_left: int | None
    by: str
    """The day it is due, empty while nothing tells."""
    why: str
    overdue: bool
    source: str


@dataclass(frozen=True, slots=True)
class WearKind:
    """A reading of wear that can be taken."""

    kind: str
    name: str
    unit: str
    how: str


@dataclass(frozen=True, slots=True)
class WearRow:
    """A part that wears: its readings, the trend, and the day it is worn out with its interval."""

    kind: str
    name: str
    readings: tuple[dict[str, Any], ...]
    """`day`, `use` [h or d], `value` [SI] and `shown`, since the part was new."""
    counted_in: str
    """`hours` where use was noted in hours, else `days`."""
    rate: float | None
    """Wear [SI] an hour or a day."""
    limit: float | None
    shown_limit: str
    whose: str
    worn_out: bool
    by: str
    earliest: str
    latest: str
    """Ends of the 90 % interval of the day, empty where the readings leave it open."""
    said: str


@dataclass(frozen=True, slots=True)
class DueAnswer:
    """What is due on a bike."""

    bike: int
    name: str
    released: str
    """The day from which care counts; empty before the first release."""
    rides: int
    hours: float
    rows: tuple[DueRow, ...]
    wear: tuple[WearRow, ...]

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The answer as plain data."""
        return asdict(self)


def note_use(
    shop: Shop,
    bike: int,
    *,
    rides: int = 0,
    hours: float = 0.0,
    on: Day = None,
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """Rides and hours since they were last noted, as of a day."""
    when = day(on, "on")
    whole = isinstance(rides, int) and not isinstance(rides, bool)
    if not whole or not 0 <= rides <= MOST_RIDES:
        raise range_error(
            "rides", "rides", "give whole rides", value=str(rides), allowed="0 to 1000"
        )
    if not (math.isfinite(hours) and 0 <= hours <= MOST_HOURS):
        raise range_error("hours", "hours", "give hours", value=str(hours), allowed="0 to 2000")
    if rides == 0 and hours == 0:
        raise input_error("empty", "use", "give rides, hours or both")
    _not_ahead(when)
    data = {"date": when.isoformat(), "rides": rides, "hours": float(hours)}
    events, state = one(shop, bike, "use-noted", "use", lambda _: data, by, uuid=uuid)
    total = sum(use.hours for use in state.use)
    said = f"{rides} rides, {hours:g} h noted; {total:g} h in all"
    return answered(state, events, said)


def care_done(
    shop: Shop,
    bike: int,
    item: str,
    *,
    on: Day = None,
    note: str = "",
    by: By = None,
    uuid: str | None = None,
) -> RecordAnswer:
    """One item of care was done on a day; it counts from there. A re-check is a bolt round."""
    from cyclewright.knowledge.care import items
    from cyclewright.record.care import RECHECK

    known = {row.id: row for row in items()}
    item = RECHECK if item == BOOKED else item
    if item not in known:
        raise input_error(
            "no-such-item", "item", "name an item of care", value=item, allowed=", ".join(known)
        )
    when = day(on, "on")
    _not_ahead(when)
    told = checked_text(note, "note", 500) if note.strip() else ""
    data = {"date": when.isoformat(), "item": item, "note": told}
    events, state = one(shop, bike, "care-done", f"care:{item}", lambda _: data, by, uuid=uuid)
    return answered(state, events, f"{known[item].name}: done {when.isoformat()}")


def book(
    shop: Shop, bike: int, on: Day, *, note: str = "", by: By = None, uuid: str | None = None
) -> RecordAnswer:
    """Book the next re-check for a day that lies ahead; the last word counts."""
    when = day(on, "day")
    if when < date.today() - timedelta(days=1):
        raise range_error("day", "day", "book a day that lies ahead", value=when.isoformat())
    told = checked_text(note, "note", 500) if note.strip() else ""
    data = {"date": when.isoformat(), "note": told}
    events, state = one(shop, bike, "care-booked", "care:booked", lambda _: data, by, uuid=uuid)
    return answered(state, events, f"re-check booked for {when.isoformat()}")


def read_wear(
    shop: Shop, bike: int, kind: str, value: str, by: By = None, uuid: str | None = None
) -> WearRow:
    """One reading of wear with its unit, like `0.3 %` or `1.62 mm`; gives its trend."""
    from cyclewright.knowledge.care import wears

    known = {row.kind: row for row in wears()}
    if kind not in known:
        raise input_error(
            "kind", "kind", "name a reading of wear", value=kind, allowed=", ".join(known)
        )
    worn = _worn(known[kind], value)
    if not 0.0 <= worn <= known[kind].most:
        raise range_error("wear", kind, "read it again: no such part wears so", value=value)
    append_reading(shop, bike, kind, worn, known[kind].unit, by, {"text": value}, uuid=uuid)
    return next(row for row in wear(shop, bike) if row.kind == kind)


PITCHES, PITCH = 24, 0.0127
"""Pitches over which a rule reads a chain, and one of them when new [m]."""


def _worn(kind: Wear, value: str) -> float:
    """The reading [SI]; a chain's also as its length over 24 pitches."""
    if kind.unit != "1":
        return units.parse(value, "length", kind.kind).value
    if "%" in value:
        return units.parse(value, "ratio", kind.kind).value
    try:
        length = units.parse(value, "length", kind.kind).value
    except InputError:
        do = f"add the unit, for example %, or give the length of {PITCHES} pitches, like 306 mm"
        raise input_error("unit-missing", kind.kind, do, value=value) from None
    longer = length / (PITCHES * PITCH) - 1.0
    return 0.0 if -kind.spread <= longer < 0.0 else longer


def wear_kinds() -> tuple[WearKind, ...]:
    """What wears and is read, in which unit, and how."""
    from cyclewright.knowledge.care import wears

    return tuple(WearKind(row.kind, row.name, row.display, row.how) for row in wears())


def due(shop: Shop, bike: int, today: Day = None) -> DueAnswer:
    """What is due on a bike by rides, hours and days, the most pressing first."""
    from cyclewright.knowledge.care import chosen
    from cyclewright.record.care import due as reckoned
    from cyclewright.sheets.sheets import facts

    state, now = shop.state(bike), day(today, "today")
    rows: tuple[DueRow, ...] = ()
    in_use = day_of(state.in_use).isoformat() if state.in_use else ""
    if in_use:
        since = date.fromisoformat(in_use)
        known = facts(shop.sheets(state))
        found = reckoned(chosen(known), since, state.use, _cared(state), now)
        reckoned_rows = (_row(bike, item) for item in found)
        rows = tuple(sorted((*_booked(state, now), *reckoned_rows), key=lambda r: r.by or "9999"))
    counted = [use for use in state.use if use.day >= in_use] if in_use else []
    return DueAnswer(
        state.bike,
        state.name,
        in_use,
        sum(use.rides for use in counted),
        sum(use.hours for use in counted),
        rows,
        wear(shop, bike, now),
    )


def due_all(shop: Shop, within_days: int = 30, today: Day = None) -> tuple[DueRow, ...]:
    """What is due on any bike in the days to come, or overdue, the most pressing first."""
    now = day(today, "today")
    last = (now + timedelta(days=within_days)).isoformat()
    rows = [
        row
        for bike in sorted(shop.store.heads())
        for row in due(shop, bike, now).rows
        if row.overdue or (row.by and row.by <= last)
    ]
    return tuple(sorted(rows, key=lambda row: (not row.overdue, row.by or "9999", row.bike)))


def calendar(shop: Shop, bike: int | None = None, today: Day = None) -> str:
    """What is due as an iCalendar file, of one bike or of all; the same record, the same bytes.

    What is overdue stands on today.
    """
    from cyclewright.record.calendar import icalendar

    now = day(today, "today")
    bikes = sorted(shop.store.heads()) if bike is None else [bike]
    entries = [entry for number in bikes for entry in _entries(shop, number, now)]
    name = "Care of all bikes" if bike is None else f"Care of {shop.state(bike).name}"
    return icalendar(entries, name)


def wear(shop: Shop, bike: int, today: Day = None) -> tuple[WearRow, ...]:
    """Every part whose wear was read since it was new: trend, limit, and the day it is worn out."""
    from cyclewright.knowledge.care import wears
    from cyclewright.sheets.sheets import facts

    state, now = shop.state(bike), day(today, "today")
    if not any(reading.kind == row.kind for row in wears() for reading in state.readings):
        return ()
    known = facts(shop.sheets(state))
    found = (_wear(state, row, known, now) for row in wears())
    return tuple(row for row in found if row is not None)


@dataclass(frozen=True, slots=True)
class Worn:
    """A part that was read beyond its limit and not replaced since."""

    part: str
    said: str
    number: int
    """Event of the reading."""
    stop: bool
    """Whether nobody rides on it."""


def worn(shop: Shop, state: BikeState) -> tuple[Worn, ...]:
    """Parts read beyond their limit, until one is fitted, or seen to and read inside it again."""
    from cyclewright.knowledge.care import wears
    from cyclewright.sheets.sheets import facts

    kinds = {row.kind: row for row in wears()}
    taken = {reading.kind for reading in state.readings if reading.kind in kinds}
    if not taken:
        return ()
    known = facts(shop.sheets(state))
    found = (_beyond(state, kinds[kind], known) for kind in kinds if kind in taken)
    return tuple(row for row in found if row is not None)


def _beyond(state: BikeState, kind: Wear, known: dict[str, object]) -> Worn | None:
    from cyclewright.knowledge.care import limit_of

    read = _since_fitted(state, kind)
    limit = limit_of(kind, known, read[0].value)[0] if read else None
    beyond = [one for one in read if limit is not None and _is_worn(kind, one.value, limit)]
    if limit is None or not beyond:
        return None
    last = beyond[-1]
    seen_to = any(o.item == kind.item and o.number > last.number for o in _cared(state))
    if seen_to and read[-1] is not last:
        return None
    shown, top = (units.show(one, kind.display, kind.graduation) for one in (last.value, limit))
    return Worn(kind.part, _wear_said(kind, shown, top, True, _Trend()), last.number, kind.stop)


def _is_worn(kind: Wear, value: float, limit: float) -> bool:
    return value >= limit if kind.grows else value <= limit


def _wear(state: BikeState, kind: Wear, known: dict[str, object], now: date) -> WearRow | None:
    from cyclewright.knowledge.care import limit_of

    series = _series(state, kind)
    if not series:
        return None
    limit, whose = limit_of(kind, known, series[0].value)
    hours = [_hours_at(state, reading) for reading in series]
    days = [(day_of(reading.at) - day_of(series[0].at)).days for reading in series]
    in_hours = len(set(hours)) > 1
    use = hours if in_hours else [float(count) for count in days]
    rows = tuple(
        {
            "day": day_of(reading.at).isoformat(),
            "use": amount,
            "value": reading.value,
            "shown": units.show(reading.value, kind.display, kind.graduation),
        }
        for reading, amount in zip(series, use, strict=True)
    )
    last = series[-1].value
    worn = limit is not None and _is_worn(kind, last, limit)
    trend = _trend(state, kind, series, use, limit, in_hours, now)
    shown = "" if limit is None else units.show(limit, kind.display, kind.graduation)
    return WearRow(
        kind.kind,
        kind.name,
        rows,
        "hours" if in_hours else "days",
        trend.rate,
        limit,
        shown,
        whose,
        worn,
        "" if worn else trend.by,
        "" if worn else trend.earliest,
        "" if worn else trend.latest,
        _wear_said(kind, str(rows[-1]["shown"]), shown, worn, trend),
    )


@dataclass(frozen=True, slots=True)
class _Trend:
    rate: float | None = None
    by: str = ""
    earliest: str = ""
    latest: str = ""


def _trend(
    state: BikeState,
    kind: Wear,
    series: Sequence[Reading],
    use: Sequence[float],
    limit: float | None,
    in_hours: bool,
    now: date,
) -> _Trend:
    if limit is None or len(set(use)) < 2:
        return _Trend()
    from cyclewright.measure.wear import projection
    from cyclewright.record.care import per_day

    found = projection(use, [reading.value for reading in series], limit, kind.spread)
    if found.at is None or (found.rate > 0) != kind.grows:
        return _Trend(found.rate)
    first, last = day_of(series[0].at), day_of(series[-1].at)
    pace, start = 1.0, first
    if in_hours:
        noted = [item for item in state.use if item.day >= first.isoformat()]
        pace = per_day(noted, first, max(now, last))[1]
        start = last
    if pace <= 0:
        return _Trend(found.rate)
    zero = use[-1] if in_hours else 0.0

    def on(amount: float | None) -> str:
        if amount is None:
            return ""
        ahead = (amount - zero) / pace
        return (start + timedelta(days=math.floor(min(max(ahead, 0.0), 36500.0)))).isoformat()

    return _Trend(found.rate, on(found.at), on(found.low), on(found.high))


def _wear_said(kind: Wear, shown: str, limit: str, worn: bool, trend: _Trend) -> str:
    if worn:
        when = " before the next ride" if kind.stop else ""
        return f"{kind.name}: {shown}, worn out at {limit}: replace it{when}"
    if not limit:
        return f"{kind.name}: {shown}; its limit is not known: read it off the part"
    if not trend.by:
        return f"{kind.name}: {shown}, limit {limit}; no trend yet, read it again after some use"
    ends = f"{trend.earliest} to {trend.latest}"
    if not trend.latest:
        ends = "too few readings to say until when"
        if trend.earliest:
            ends = f"not before {trend.earliest}, {ends}"
    return f"{kind.name}: {shown}, limit {limit}, at the pace so far about {trend.by} ({ends})"


def _series(state: BikeState, kind: Wear) -> list[Reading]:
    """Readings since the part was new: since one was fitted, or since it was less worn again."""
    found: list[Reading] = []
    for reading in _since_fitted(state, kind):
        back = 0.0 if not found else found[-1].value - reading.value
        if (back if kind.grows else -back) > 4 * kind.spread:
            found = []
        found.append(reading)
    return found


def _since_fitted(state: BikeState, kind: Wear) -> list[Reading]:
    """Readings since such a part was last fitted."""
    from cyclewright.knowledge.parts import named

    (meant,) = named(kind.part)
    fitted = [
        part.fitted
        for part in state.parts.values()
        if any(one.takes_place_of(meant) for one in named(part.part))
    ]
    after = max(fitted, default=0)
    return [one for one in state.readings if one.kind == kind.kind and one.number > after]


def _hours_at(state: BikeState, reading: Reading) -> float:
    """Hours that were noted before a reading."""
    return sum(use.hours for use in state.use if use.number < reading.number)


def _cared(state: BikeState) -> list[Any]:
    """Items done, and steps of the plan that do one too."""
    from cyclewright.knowledge.care import items
    from cyclewright.record.care import Cared

    found = list(state.cared)
    for item in items():
        held = state.step(item.step) if item.step else None
        if held is not None and held.status == "done":
            found.append(Cared(item.id, day_of(held.at).isoformat(), held.number))
    return found


def _row(bike: int, found: Due) -> DueRow:
    return DueRow(
        bike,
        found.item.id,
        found.item.name,
        found.item.do,
        found.since.isoformat(),
        found.times,
        found.rides_left,
        found.hours_left,
        found.days_left,
        "" if found.by is None else found.by.isoformat(),
        found.why,
        found.overdue,
        found.item.source,
    )


def _booked(state: BikeState, now: date) -> tuple[DueRow, ...]:
    """The re-check that is booked, as a row of its own before all that is reckoned."""
    from cyclewright.knowledge.care import items
    from cyclewright.record.care import RECHECK

    if state.booked is None:
        return ()
    booked, item = state.booked, next(row for row in items() if row.id == RECHECK)
    times = sum(one.item == RECHECK for one in _cared(state))
    left = (date.fromisoformat(booked.day) - now).days
    row = DueRow(
        state.bike,
        BOOKED,
        "Re-check, as booked",
        item.do,
        day_of(state.in_use).isoformat() if state.in_use else "",
        times,
        None,
        None,
        left,
        booked.day,
        f"booked: {booked.note}" if booked.note else "booked",
        left < 0,
        "the day agreed with the rider",
    )
    return (row,)


def _entries(shop: Shop, bike: int, now: date) -> list[Entry]:
    from cyclewright.record.calendar import Entry

    found = due(shop, bike, now)
    made = datetime.fromisoformat(shop.state(bike).updated).astimezone(UTC)
    space = uuids.UUID(shop.store.name())
    rows = [
        (f"{row.item}:{row.times}", row.by, row.name, f"{row.do} ({row.why}; {row.source})")
        for row in found.rows
        if row.by
    ]
    rows += [
        (f"wear:{row.kind}", row.by or now.isoformat(), f"{row.name} worn out", row.said)
        for row in found.wear
        if row.by or row.worn_out
    ]
    return [
        Entry(
            str(uuids.uuid5(space, f"{bike}:{key}")),
            max(date.fromisoformat(by), now),
            f"{title}: {found.name}, bike {bike}",
            text,
            made,
        )
        for key, by, title, text in rows
    ]


def _not_ahead(when: date) -> None:
    if when > date.today() + timedelta(days=1):
        raise refusal("later", "on", "record it when it has happened")
