from __future__ import annotations

from dataclasses import fields, replace

import control
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import handling

SOURCE = "Meijaard, Papadopoulos, Ruina, Schwab 2007, Proc. R. Soc. A 463:1955, benchmark bicycle"
BENCHMARK = handling.BENCHMARKS["meijaard2007"]
EQUATIONS = handling.matrices(BENCHMARK)


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("M", [[80.81722, 2.31941332208709], [2.31941332208709, 0.29784188199686]]),
        ("K0", [[-80.95, -2.59951685249872], [-2.59951685249872, -0.80329488458618]]),
        ("K2", [[0.0, 76.59734589573222], [0.0, 2.65431523794604]]),
        ("C1", [[0.0, 33.86641391492494], [-0.85035641456978, 1.68540397397560]]),
    ],
)
def test_the_printed_matrices(name, printed):
    for place in np.ndindex(2, 2):
        evidence.published(
            f"{name} {place[0] + 1}{place[1] + 1}",
            float(getattr(EQUATIONS, name)[place]),
            printed[place[0]][place[1]],
            "1e-12",
            SOURCE,
            "memory",
        )


def test_the_printed_speeds():
    band = handling.stable_speeds(EQUATIONS)
    for name, ours, printed in (
        ("weave speed", band.weave_speed, 4.29238253634111),
        ("capsize speed", band.capsize_speed, 6.02426201538837),
    ):
        evidence.published(name, ours, printed, "1e-11", SOURCE, "memory", "m/s")
    # the merge speed: below it all roots are real
    low, high = 0.5, 1.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if handling.modes(EQUATIONS, middle).weaves else (middle, high)
    evidence.published("merge speed", low, 0.684283078892246, "1e-6", SOURCE, "memory", "m/s")


def test_the_roots_by_the_poles_of_the_state_space():
    speeds, theirs = np.linspace(0.0, 12.0, 61), []
    for speed in speeds:
        stiffness = EQUATIONS.g * EQUATIONS.K0 + speed**2 * EQUATIONS.K2
        right = -np.linalg.solve(EQUATIONS.M, np.hstack((stiffness, speed * EQUATIONS.C1)))
        state = np.vstack((np.hstack((np.zeros((2, 2)), np.eye(2))), right))
        system = control.ss(state, np.zeros((4, 1)), np.eye(4), np.zeros((4, 1)))
        theirs.append(np.sort(system.poles().real))
    evidence.second_method(
        "real parts of all roots, 0 to 12 m/s",
        np.sort(handling.modes(EQUATIONS, speeds).roots.real, axis=-1),
        theirs,
        "python-control: poles of the state space",
        within=1e-6,
    )


@given(st.floats(0.0, 12.0))
def test_the_roots_solve_the_determinant(speed):
    stiffness = EQUATIONS.g * EQUATIONS.K0 + speed**2 * EQUATIONS.K2
    for root in handling.modes(EQUATIONS, speed).roots:
        whole = EQUATIONS.M * root**2 + speed * EQUATIONS.C1 * root + stiffness
        size = np.abs(EQUATIONS.M).max() * max(abs(root), 1.0) ** 2
        assert abs(np.linalg.det(whole)) < 1e-9 * size**2


def test_the_band_is_where_every_root_dies_away():
    band = handling.stable_speeds(EQUATIONS)
    inside = np.linspace(band.weave_speed * 1.001, band.capsize_speed * 0.999, 20)
    assert (handling.modes(EQUATIONS, inside).roots.real < 0.0).all()
    for speed in (band.weave_speed * 0.999, band.capsize_speed * 1.001):
        assert handling.modes(EQUATIONS, speed).roots.real.max() > 0.0
    still = handling.modes(EQUATIONS, band.weave_speed)
    evidence.identity("weave at its speed", still.weave_real, 0.0, within=1e-9)
    still = handling.modes(EQUATIONS, band.capsize_speed)
    evidence.identity("capsize at its speed", still.capsize, 0.0, within=1e-9)


@given(st.floats(1.0, 11.0))
def test_free_motion_in_time(speed):
    # the energy-free check: integrate the equations and compare with the modes' own growth
    found = handling.modes(EQUATIONS, speed)
    root = complex(found.weave_real, found.weave_imag)
    whole = (
        EQUATIONS.M * root**2
        + speed * EQUATIONS.C1 * root
        + EQUATIONS.g * EQUATIONS.K0
        + speed**2 * EQUATIONS.K2
    )
    shape = np.array([-whole[0, 1], whole[0, 0]])
    state = np.concatenate((shape, root * shape))
    stiffness = EQUATIONS.g * EQUATIONS.K0 + speed**2 * EQUATIONS.K2
    right = -np.linalg.solve(EQUATIONS.M, np.hstack((stiffness, speed * EQUATIONS.C1)))
    matrix = np.vstack((np.hstack((np.zeros((2, 2)), np.eye(2))), right)).astype(complex)
    start, step = state.copy(), 1e-3
    for _ in range(100):
        one = matrix @ state
        two = matrix @ (state + step / 2 * one)
        three = matrix @ (state + step / 2 * two)
        four = matrix @ (state + step * three)
        state = state + step / 6 * (one + 2 * two + 2 * three + four)
    assert state == pytest.approx(start * np.exp(0.1 * root), rel=1e-6)


def test_names_follow_the_roots():
    found = handling.modes(EQUATIONS, [0.3, 2.0, 5.0, 9.0])
    assert found.weaves.tolist() == [False, True, True, True]
    assert found.falls.tolist() == [False, True, True, True]
    assert (found.capsize > found.caster)[1:].all()
    assert found.capsize[3] > 0.0 > found.capsize[2]
    assert np.isfinite(found.weave_real).all()


@given(st.floats(0.8, 1.25))
def test_a_bicycle_of_another_size_is_the_same_at_the_speed_of_its_size(scale):
    # lengths by s, masses by s³, inertias by s⁵: speeds scale by √s, rates by 1/√s
    power = {"m": 3, "I": 5, "g": 0, "l": 0}
    scaled = replace(
        BENCHMARK,
        **{
            item.name: getattr(BENCHMARK, item.name) * scale ** power.get(item.name[0], 1)
            for item in fields(BENCHMARK)
        },
    )
    band = handling.stable_speeds(handling.matrices(scaled))
    own = handling.stable_speeds(EQUATIONS)
    evidence.identity("weave speed", band.weave_speed, own.weave_speed * scale**0.5)
    evidence.identity("capsize speed", band.capsize_speed, own.capsize_speed * scale**0.5)


def test_a_bicycle_without_a_band_says_so():
    # no trail and no tilt: nothing turns the front wheel into the fall
    stiff = handling.matrices(replace(BENCHMARK, c=-0.05, lam=0.0))
    band = handling.stable_speeds(stiff)
    assert None in (band.weave_speed, band.capsize_speed)
    speeds = np.linspace(0.1, 15.0, 100)
    unstable = handling.modes(stiff, speeds).roots.real.max(axis=-1) > 0.0
    assert unstable.all()


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"w": 0.0}, "w is 0"),
        ({"mB": -1.0, "rF": 0.0}, "(?s)mB is -1.*rF is 0"),
        ({"zB": 0.9}, "zB is 0.9"),
        ({"IBxz": 9.0}, "product of inertia"),
        ({"lam": 1.6}, "lam is 1.6"),
        ({"xB": 1e200}, r"xB is 1e\+200"),
        ({"xB": 1e6, "mB": 1e6, "zB": -1e6}, "no bicycle has these"),
    ],
)
def test_what_cannot_be(change, match):
    with pytest.raises(RangeError, match=match):
        handling.matrices(replace(BENCHMARK, **change))


def test_a_speed_that_cannot_be():
    with pytest.raises(RangeError, match="speed is -1"):
        handling.modes(EQUATIONS, -1.0)
