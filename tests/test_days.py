"""A run over midnight: the day goes on three hours further west."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta, timezone

import pytest

from days import WEST, elsewhere

TELL = "import datetime as d; print(d.datetime.fromtimestamp({}).isoformat())"


@pytest.mark.parametrize("hours", [-11, -3.5, 0, 3, 5.75, 14])
def test_the_day_goes_on(hours: float) -> None:
    zone = timezone(timedelta(hours=hours))
    late = datetime(2031, 5, 14, 23, 59, 30, tzinfo=zone)
    told = subprocess.run(
        [sys.executable, "-c", TELL.format(late.timestamp())],
        env=os.environ | {"TZ": elsewhere(late)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert datetime.fromisoformat(told.stdout.strip()) == (late - WEST).replace(tzinfo=None)


def test_most_runs_stay_where_they_are() -> None:
    assert elsewhere(datetime(2031, 5, 14, 22, 59, tzinfo=UTC)) == ""
    assert elsewhere(datetime(2031, 5, 14, 0, 1, tzinfo=UTC)) == ""
