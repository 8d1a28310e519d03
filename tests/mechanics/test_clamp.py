from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import clamp

TENSION, DIAMETER, FRICTION = st.floats(0, 5e4), st.floats(0.01, 0.1), st.floats(0, 1.0)


@given(TENSION, DIAMETER, FRICTION)
def test_the_evenly_pressed_clamp_holds_more(tension, diameter, friction):
    for law in (clamp.two_piece, clamp.slotted):
        low, high = law(tension, diameter, friction)
        assert 0.0 <= low <= high


@given(TENSION, DIAMETER, FRICTION)
def test_an_even_slotted_clamp_holds_twice_an_even_two_piece_one(tension, diameter, friction):
    _, halves = clamp.two_piece(tension, diameter, friction)
    _, slotted = clamp.slotted(tension, diameter, friction)
    evidence.identity("tension across the slot acts on both sides", slotted, 2.0 * halves)


def test_even_pressure_by_summing_the_contact():
    tension, diameter, friction = 9e3, 0.0318, 0.18
    step = np.pi / 10_000
    angle = (np.arange(10_000) + 0.5) * step  # one half of the clamp, per unit of its width
    # the pressure that balances the tension of both gaps across the parting line
    pressure = tension / np.sum(np.sin(angle) * diameter / 2 * step)
    summed = 2 * np.sum(friction * pressure * diameter / 2 * step * np.ones_like(angle))
    summed *= diameter / 2
    evidence.second_method(
        "two-piece clamp under even pressure",
        clamp.two_piece(tension, diameter, friction)[1],
        summed,
        "friction summed round the contact",
        rel=1e-6,
    )


def test_what_cannot_be():
    with pytest.raises(RangeError, match=r"tension is -1 .*at least 0 N") as caught:
        clamp.two_piece(-1.0, 0.0, -0.1)
    assert len(caught.value.problems) == 3
