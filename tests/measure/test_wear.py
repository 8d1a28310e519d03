"""Wear lines: exact on exact lines, intervals that hold what they promise."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.errors import RangeError
from cyclewright.measure.wear import _student, projection


@given(
    st.floats(0.5, 5.0),
    st.floats(0.001, 0.5),
    st.floats(1.0, 50.0),
    st.integers(2, 8),
    st.booleans(),
)
def test_an_exact_line_meets_its_limit_where_it_does(
    start: float, rate: float, step: float, count: int, grows: bool
) -> None:
    """Exact identity: readings on a line."""
    sign = 1.0 if grows else -1.0
    use = np.arange(count) * step
    worn = start + sign * rate * use
    limit = float(worn[-1] + sign * 0.3)
    found = projection(use, worn, limit, 1e-6)
    assert found.at == pytest.approx(use[-1] + 0.3 / rate, rel=1e-6)
    assert found.low is not None and found.high is not None
    assert found.low <= found.at <= found.high


@given(st.floats(1e-4, 5.0), st.lists(st.floats(0.0, 500.0), min_size=2, max_size=8, unique=True))
def test_equal_readings_run_towards_nothing(read: float, use: list[float]) -> None:
    """A mean of equal readings is not always the reading: its rounding is no wear."""
    if np.ptp(use) < 0.1:
        return
    found = projection(use, [read] * len(use), 2.0 * read, 0.02 * read)
    assert (found.rate, found.at, found.low, found.high) == (0.0, None, None, None)


def test_the_interval_holds_the_true_use_nine_times_in_ten() -> None:
    """Second method: ten thousand invented chains, each read with the spread that is stated."""
    chance = np.random.default_rng(4)
    use, limit, spread = np.array([0.0, 15.0, 30.0, 50.0]), 0.5, 0.02
    truth, held, count = 0.5 / 0.006, 0, 4000
    for _ in range(count):
        worn = 0.006 * use + chance.normal(0.0, spread, use.size)
        found = projection(use, worn, limit, spread)
        low = -np.inf if found.low is None else found.low
        high = np.inf if found.high is None else found.high
        held += low <= truth <= high
    # The scatter may only widen the interval, so it holds a little more than promised.
    assert 0.89 <= held / count <= 0.98


@pytest.mark.parametrize("count", [4, 6, 10])
def test_a_spread_stated_too_small_is_found_out_by_the_scatter(count: int) -> None:
    """Second method: readings four times as wild as stated, held nine times in ten all the same."""
    chance = np.random.default_rng(9)
    use = np.linspace(0.0, 60.0, count)
    truth, held, tries = 0.5 / 0.006, 0, 2000
    for _ in range(tries):
        found = projection(use, 0.006 * use + chance.normal(0.0, 0.04, count), 0.5, 0.01)
        low = -np.inf if found.low is None else found.low
        high = np.inf if found.high is None else found.high
        held += low <= truth <= high
    assert 0.86 <= held / tries <= 0.94


@pytest.mark.parametrize(
    ("freedom", "quantile"), [(2, 2.920), (3, 2.353), (4, 2.132), (8, 1.860), (30, 1.697)]
)
def test_students_t_is_that_of_the_tables(freedom: int, quantile: float) -> None:
    """Outside: any table of Student's t, two-sided 90 %."""
    assert _student(freedom) == pytest.approx(quantile, rel=0.02)


def test_more_readings_narrow_it() -> None:
    few = projection([0, 20], [4.0, 3.0], 1.5, 0.1)
    many = projection([0, 5, 10, 15, 20], [4.0, 3.75, 3.5, 3.25, 3.0], 1.5, 0.1)
    assert few.at == pytest.approx(many.at)
    assert few.high is not None and many.high is not None
    assert many.high < few.high


def test_what_cannot_be_told_is_left_open() -> None:
    flat = projection([0.0, 10.0], [3.0, 2.99], 1.5, 0.1)
    assert (flat.low, flat.high) == (None, None)
    assert flat.at is not None
    still = projection([0.0, 10.0], [3.0, 3.0], 1.5, 0.1)
    assert (still.rate, still.at) == (0.0, None)
    away = projection([0.0, 10.0], [3.0, 3.5], 1.5, 0.1)
    assert away.at is None


def test_scatter_beyond_the_spread_counts() -> None:
    use = [0.0, 10.0, 20.0, 30.0]
    calm = projection(use, [4.0, 3.5, 3.0, 2.5], 1.5, 0.02)
    wild = projection(use, [4.2, 3.3, 3.2, 2.4], 1.5, 0.02)
    assert calm.high is not None and wild.high is not None
    assert wild.high - wild.low > 3 * (calm.high - calm.low)  # type: ignore[operator]


def test_one_point_is_no_line() -> None:
    for use in ([], [5.0], [5.0, 5.0]):
        with pytest.raises(RangeError, match="one point is no line"):
            projection(use, [3.0] * len(use), 1.5, 0.1)
    with pytest.raises(RangeError, match="above 0"):
        projection([0.0, 1.0], [3.0, 2.0], 1.5, 0.0)
