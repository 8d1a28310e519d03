"""The figures of the tests of faults."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict

import pytest

from faults.tally import Tally


@pytest.fixture
def tally(record_property: Callable[[str, object], None]) -> Iterator[Tally]:
    """Counted by the test, told in the summary of the run."""
    counted = Tally()
    yield counted
    record_property("faults", asdict(counted))
