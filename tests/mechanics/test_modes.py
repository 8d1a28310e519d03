from __future__ import annotations

import control
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import modes

RATE, DISTANCE = st.floats(2e3, 4e4), st.floats(0.2, 1.2)
METHOD = "python-control: poles of the state space"


def poles(mass, stiffness):
    """Natural frequencies [Hz] of M q̈ + K q = 0."""
    size = len(mass)
    lower = -np.linalg.solve(mass, stiffness)
    state = np.block([[np.zeros((size, size)), np.eye(size)], [lower, np.zeros((size, size))]])
    system = control.ss(state, np.zeros((2 * size, 1)), np.eye(2 * size), np.zeros((2 * size, 1)))
    return np.sort(np.abs(system.poles()))[::2] / (2.0 * np.pi)


def drawn(*ends):
    draw = np.random.default_rng(7)
    return [draw.uniform(*pair, 60) for pair in ends]


def test_one_end_by_its_poles():
    cases = drawn((10, 120), (1, 8), (2e3, 4e4), (5e4, 3e5))
    theirs = [
        poles(np.diag([sprung, unsprung]), np.array([[k, -k], [-k, k + tyre]]))
        for sprung, unsprung, k, tyre in zip(*cases, strict=True)
    ]
    evidence.second_method(
        "frequencies of body and wheel, 60 cases",
        modes.quarter_modes(*cases),
        theirs,
        METHOD,
        rel=1e-5,
    )


def test_the_whole_bike_by_its_poles():
    cases = drawn((40, 150), (3, 40), (0.2, 1.2), (0.2, 1.2), (2e3, 4e4), (2e3, 4e4))
    theirs = []
    for mass, inertia, ahead, behind, front, rear in zip(*cases, strict=True):
        across = front * ahead - rear * behind
        turn = front * ahead**2 + rear * behind**2
        theirs.append(
            poles(np.diag([mass, inertia]), np.array([[front + rear, across], [across, turn]]))
        )
    evidence.second_method(
        "frequencies of heave and pitch, 60 cases",
        modes.half_modes(*cases).frequency,
        theirs,
        METHOD,
        rel=1e-4,
    )


@given(st.floats(40.0, 150.0), st.floats(3.0, 40.0), DISTANCE, DISTANCE, RATE, RATE)
def test_the_nodes_are_conjugate(mass, inertia, ahead, behind, front, rear):
    # modes are orthogonal by mass: x₁ x₂ = -J/m wherever both have a node
    found = modes.half_modes(mass, inertia, ahead, behind, front, rear)
    if not found.has_node.all() or np.abs(found.node).max() > 1e4:
        return
    evidence.identity(
        "product of both nodes", found.node[0] * found.node[1], -inertia / mass, rel=1e-5
    )


@given(st.floats(40.0, 150.0), st.floats(3.0, 40.0), DISTANCE, RATE)
def test_an_even_bike_heaves_and_pitches_apart(mass, inertia, distance, rate):
    found = modes.half_modes(mass, inertia, distance, distance, rate, rate)
    apart = np.sqrt([2.0 * rate / mass, 2.0 * rate * distance**2 / inertia]) / (2.0 * np.pi)
    evidence.identity("frequencies", found.frequency, np.sort(apart))
    assert np.abs(found.node).max() == 0.0
    if abs(apart[0] / apart[1] - 1.0) > 1e-9:
        assert found.has_node.tolist() == [bool(apart[0] > apart[1]), bool(apart[0] < apart[1])]


def test_a_wheel_on_a_hard_tyre_is_two_separate_masses():
    low, high = modes.quarter_modes(60.0, 3.0, 5e3, 5e9)
    evidence.identity("body alone", low, np.sqrt(5e3 / 60.0) / (2.0 * np.pi), rel=1e-5)
    evidence.identity("wheel alone", high, np.sqrt(5e9 / 3.0) / (2.0 * np.pi), rel=1e-5)


def test_arrays_broadcast():
    assert modes.quarter_modes([40.0, 60.0], 4.0, [[5e3], [6e3], [7e3]], 1e5).shape == (3, 2, 2)
    assert modes.half_modes([80.0, 90.0], 12.0, 0.6, 0.5, 6e3, 7e3).node.shape == (2, 2)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: modes.quarter_modes(0.0, 4.0, 5e3, 1e5), "sprung_mass is 0"),
        (lambda: modes.quarter_modes(40.0, 4.0, np.nan, 1e5), "spring_rate is nan"),
        (lambda: modes.half_modes(80.0, -1.0, 0.6, 0.5, 6e3, 7e3), "pitch_inertia is -1"),
        (lambda: modes.half_modes(80.0, 12.0, 0.6, 0.0, 6e3, 0.0), "rear_distance is 0"),
    ],
)
def test_what_cannot_be(call, match):
    with pytest.raises(RangeError, match=match):
        call()
