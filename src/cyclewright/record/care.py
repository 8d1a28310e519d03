"""Care: how much a bike was used, what was done to it, and what is due by rides, hours, days."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from cyclewright.knowledge.care import Item


@dataclass(frozen=True, slots=True)
class Use:
    """Rides and hours that were told of on one day."""

    day: str
    rides: int
    hours: float
    number: int


@dataclass(frozen=True, slots=True)
class Cared:
    """One item done on one day."""

    item: str
    day: str
    number: int
    note: str = ""


BOOKING_STEP = "explained-first-recheck"
"""The step of a plan whose words hold the day booked for the first re-check."""
RECHECK, RECHECK_STEP = "bolts", "first-recheck"
"""The item of care that a re-check is, and the step of a plan that does it."""
_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")


@dataclass(frozen=True, slots=True)
class Booked:
    """A re-check that was booked: the day, what was said with it, and the event that says so."""

    day: str
    note: str
    number: int


def day_in(text: str) -> str:
    """The first real day written in a text like 2031-05-24; empty where there is none.

    >>> day_in("2031-05-24, manuals handed over"), day_in("on 2031-13-01")
    ('2031-05-24', '')
    """
    for found in _DAY.findall(text):
        try:
            return date.fromisoformat(found).isoformat()
        except ValueError:
            continue
    return ""


@dataclass(frozen=True, slots=True)
class Due:
    """How one item stands: what is left by each measure, and the day it is due as far as known."""

    item: Item
    since: date
    """The day from which it counts: last done, else the release."""
    times: int
    """How often it was done since the release."""
    rides_left: int | None
    hours_left: float | None
    days_left: int | None
    by: date | None
    """The earliest day at which one of them runs out, by the use so far; None while unknown."""
    why: str
    overdue: bool


def due(
    listed: Iterable[Item],
    released: date,
    use: Iterable[Use],
    cared: Iterable[Cared],
    today: date,
) -> tuple[Due, ...]:
    """How every item stands today, the most pressing first."""
    uses = [item for item in use if item.day >= released.isoformat()]
    done = [item for item in cared if item.day >= released.isoformat()]
    rows = [_due(item, released, uses, done, today) for item in listed]
    return tuple(sorted(rows, key=lambda row: (row.by or date.max, row.item.id)))


def per_day(uses: Iterable[Use], start: date, today: date) -> tuple[float, float]:
    """Rides and hours a day since `start`; at least a week counts, so that one ride is no habit."""
    listed = list(uses)
    days = max((today - start).days, 7)
    return sum(use.rides for use in listed) / days, sum(use.hours for use in listed) / days


def _due(item: Item, released: date, uses: list[Use], cared: list[Cared], today: date) -> Due:
    times = sorted((one for one in cared if one.item == item.id), key=lambda o: (o.day, o.number))
    last = times[-1] if times else None
    since = released if last is None else date.fromisoformat(last.day)
    rides, hours = _since(uses, last)
    limit = _rides_limit(item, uses, len(times), last)
    rides_left = None if limit is None else limit - rides
    hours_left = None if item.every_hours is None else item.every_hours - hours
    days_left = None if item.every_days is None else item.every_days - (today - since).days
    pace = per_day(uses, released, today)
    ways = [
        (today + timedelta(days=days_left), f"every {item.every_days} days")
        if days_left is not None
        else None,
        _way(rides_left, pace[0], today, _rides(limit)),
        _way(hours_left, pace[1], today, f"{item.every_hours:g} h" if item.every_hours else ""),
    ]
    known = sorted((way for way in ways if way is not None), key=lambda way: way[0])
    by, why = known[0] if known else (None, f"after {_rides(limit)}" if limit else "")
    if known and not pace[0] and len(times) < len(item.at_rides):
        why = f"after {_rides(limit)}, else {why}"
    out = [left for left in (rides_left, hours_left, days_left) if left is not None]
    over = any(left <= 0 for left in out)
    return Due(item, since, len(times), rides_left, hours_left, days_left, by, why, over)


def _rides(count: int | None) -> str:
    return "1 ride" if count == 1 else f"{count} rides"


def _since(uses: list[Use], last: Cared | None) -> tuple[int, float]:
    """Rides and hours since an item was last done; what was told of before it does not count."""
    later = [
        use
        for use in uses
        if last is None or use.day > last.day or (use.day == last.day and use.number > last.number)
    ]
    return sum(use.rides for use in later), sum(use.hours for use in later)


def _rides_limit(item: Item, uses: list[Use], times: int, last: Cared | None) -> int | None:
    """Rides after which it is due, counted from the last time."""
    if times < len(item.at_rides):
        before = sum(use.rides for use in uses) - _since(uses, last)[0]
        return max(item.at_rides[times] - before, 1)
    return item.every_rides


def _way(left: float | None, pace: float, today: date, words: str) -> tuple[date, str] | None:
    """The day on which a count runs out at this pace; None where nothing tells."""
    if left is None:
        return None
    if left <= 0:
        return today, f"after {words}"
    if pace <= 0:
        return None
    days = min(math.ceil(left / pace - 1e-9), 36500)
    return today + timedelta(days=days), f"after {words}, at the pace so far"
