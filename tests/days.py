"""Tests speak of today, and a run may begin just before midnight: then today is kept elsewhere."""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime, timedelta

WEST = timedelta(hours=3)
"""How far away the day is kept; from eleven at night on, it is then eight."""

DAY = 24 * 3600


def elsewhere(now: datetime) -> str:
    """The zone (as `TZ` has it) in which this day goes on; empty where it does so here."""
    offset = now.utcoffset()
    if offset is None or now.hour < 23:
        return ""
    minutes = round((WEST - offset).total_seconds() / 60)  # POSIX counts west of Greenwich
    sign, (hours, rest) = "-" if minutes < 0 else "", divmod(abs(minutes), 60)
    return f"WEST{sign}{hours}:{rest:02d}"


def keep_the_day() -> None:
    """For this process and all that it starts."""
    if zone := elsewhere(datetime.now().astimezone()):
        os.environ["TZ"] = zone
        time.tzset()


def other_day(ahead: bool) -> str:
    """A zone, as `TZ` has it, in which the calendar is now a day ahead of UTC's or behind it."""
    while not 2 < (second := _second()) < DAY - 2:
        time.sleep(1)  # no zone is a whole day away
    # far enough into that day that what this run recorded lately lies in it too
    away = min(DAY - second + 1800 if ahead else second + 3600, DAY - 1)
    return f"{'AHEAD-' if ahead else 'BEHIND'}{timedelta(seconds=away)}"


def _second() -> int:
    now = datetime.now(UTC)
    return 3600 * now.hour + 60 * now.minute + now.second
