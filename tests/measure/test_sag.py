"""What one reading teaches: against the exact answer for jointly normal draws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cyclewright.measure.sag import assimilate, chance_inside, surprise
from evidence import identity, second_method

rng = np.random.default_rng(11)
DRAWS = np.concatenate(([0.0], rng.standard_normal(4000)))


@settings(max_examples=20)
@given(
    slope=st.floats(0.2, 3.0),
    prior=st.floats(0.5, 4.0),
    spread=st.floats(0.2, 4.0),
    seen=st.floats(-5.0, 5.0),
)
def test_a_linear_reading_gives_the_exact_posterior(
    slope: float, prior: float, spread: float, seen: float
) -> None:
    """Normal prior, reading y = slope x + noise: the textbook product of two normals."""
    moved = assimilate(prior * DRAWS[None, :], slope * prior * DRAWS, seen, spread)[0]
    precision = 1.0 / prior**2 + slope**2 / spread**2
    mean = slope * seen / spread**2 / precision
    second_method(
        "posterior mean", moved[0], mean, "product of two normals", rel=0.05, within=0.05 * prior
    )
    second_method(
        "posterior spread",
        moved[1:].std(),
        precision**-0.5,
        "product of two normals",
        rel=0.08,
    )


def test_a_reading_as_expected_moves_no_nominal_and_narrows_the_draws() -> None:
    moved = assimilate(DRAWS[None, :], 2.0 * DRAWS, 0.0, 0.5)[0]
    identity("nominal stays", moved[0], 0.0)
    assert moved[1:].std() < 0.3 * DRAWS[1:].std()


def test_what_the_reading_does_not_depend_on_barely_moves() -> None:
    other = np.concatenate(([0.0], rng.standard_normal(4000)))
    moved = assimilate(np.stack((DRAWS, other)), DRAWS, 2.0, 0.5)
    assert moved[0, 0] == pytest.approx(1.6, rel=0.05)
    assert abs(moved[1, 0]) < 0.08


def test_chances_and_surprise_by_counting() -> None:
    outcome = np.array([99.0, 1.0, 2.0, 3.0, 4.0])
    identity("chance inside", chance_inside(outcome, 2.0, 1.0), 0.75)
    identity("chance outside", chance_inside(outcome, 20.0, 1.0), 0.0)
    identity("surprise", surprise(np.array([0.0, -3.0, 3.0]), 10.0, 4.0), 2.0)
    assert surprise(np.array([0.0, -3.0, 3.0]), -10.0, 4.0) == -2.0
