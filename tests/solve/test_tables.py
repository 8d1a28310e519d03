"""The fixed draws: nominal first, standard normal, alike every time."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from cyclewright.body import segments
from cyclewright.solve.tables import DIMENSIONS, DRAWS, deviates
from evidence import identity


def test_the_nominal_is_exactly_in_the_middle() -> None:
    assert deviates().shape == (DIMENSIONS, DRAWS + 1)
    assert not deviates()[:, 0].any()


def test_every_dimension_is_a_standard_normal_and_none_leans_on_another() -> None:
    drawn = deviates()[:, 1:]
    middles = norm.ppf((np.arange(DRAWS) + 0.5) / DRAWS)
    identity(
        "one draw in every stratum of every dimension",
        np.sort(drawn, axis=1),
        np.tile(middles / middles.std(), (DIMENSIONS, 1)),
        within=1e-5,
    )
    likeness = np.corrcoef(drawn) - np.eye(DIMENSIONS)
    assert np.abs(likeness).max() < 0.005


def test_nobody_can_move_the_draws() -> None:
    with pytest.raises(ValueError, match="read-only"):
        deviates()[0, 0] = 1.0


def test_every_cause_has_its_own_row() -> None:
    from cyclewright.advice.case import _SEGMENT_ROWS, ROWS

    rows = [*ROWS.values(), *range(DIMENSIONS)[_SEGMENT_ROWS]]
    assert len(set(rows)) == len(rows) == len(ROWS) + segments.DEVIATES
    assert max(rows) < DIMENSIONS
