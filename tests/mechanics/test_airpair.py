"""A levelled pair of air chambers: inverses, the work of both gases, and its limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cyclewright.errors import RangeError
from cyclewright.mechanics import spring
from cyclewright.mechanics.airpair import pair_force, pair_pressure_for, pair_stroke_for
from evidence import identity, second_method

areas, gauges = st.floats(3e-4, 2e-3), st.floats(5e4, 2e6)
lengths, below = st.floats(0.05, 0.3), st.floats(0.01, 0.08)
shares = st.floats(0.01, 0.85)


@settings(max_examples=40)
@given(area=areas, length=lengths, negative=below, gauge=gauges, share=shares)
def test_force_pressure_and_stroke_invert_each_other(
    area: float, length: float, negative: float, gauge: float, share: float
) -> None:
    force = pair_force(area, length, negative, gauge, share * length)
    identity(
        "pressure back", pair_pressure_for(force, area, length, negative, share * length), gauge
    )
    identity(
        "stroke back",
        pair_stroke_for(force, area, length, negative, gauge),
        share * length,
        rel=1e-7,
    )


@settings(max_examples=20)
@given(area=areas, length=lengths, negative=below, gauge=gauges, share=shares)
def test_force_over_the_stroke_is_the_work_of_both_gases(
    area: float, length: float, negative: float, gauge: float, share: float
) -> None:
    """Isothermal work of each gas is p V ln(V1/V2)."""
    absolute, end = gauge + 101325.0, share * length
    stroke = np.linspace(0.0, end, 2001)
    work = np.trapezoid(pair_force(area, length, negative, gauge, stroke), stroke)
    gases = (
        absolute
        * area
        * (
            length * np.log(length / (length - end))
            - negative * np.log((negative + end) / negative)
        )
    )
    second_method("work of a levelled pair", work, gases, "p V ln of both chambers", rel=1e-4)


def test_a_long_negative_chamber_takes_a_constant_off() -> None:
    """As l grows the negative side stays at its pressure: a plain spring less p A."""
    plain = spring.air_force(5e-4, 5e-4 * 0.16, 4e5, 0.05)
    pair = pair_force(5e-4, 0.16, 1e6, 4e5, 0.05)
    second_method("endless negative chamber", pair, plain - 4e5 * 5e-4, "single chamber", rel=1e-6)


def test_it_starts_from_nothing_and_only_stiffens_with_pressure() -> None:
    identity("no push at full length", pair_force(5e-4, 0.16, 0.035, 4e5, 0.0), 0.0)
    identity("no load, no stroke", pair_stroke_for(0.0, 5e-4, 0.16, 0.035, 4e5), 0.0)
    gauges = np.linspace(1e5, 1e6, 20)
    assert (np.diff(pair_stroke_for(300.0, 5e-4, 0.16, 0.035, gauges)) < 0).all()
    assert float(pair_stroke_for(1e9, 5e-4, 0.16, 0.035, 4e5)) < 0.16


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: pair_force(-1e-4, 0.16, 0.03, 4e5, 0.02), "piston_area"),
        (lambda: pair_force(5e-4, 0.16, 0.03, 4e5, 0.16), "stay inside the chamber's length"),
        (lambda: pair_force(5e-4, 0.16, 0.03, -2e5, 0.02), "give at least a vacuum"),
        (lambda: pair_pressure_for(100.0, 5e-4, 0.16, 0.03, 0.0), "give a stroke above 0 m"),
        (lambda: pair_stroke_for(-1.0, 5e-4, 0.16, 0.03, 4e5), "force"),
        (lambda: pair_stroke_for(float("nan"), 5e-4, 0.16, 0.03, 4e5), "force"),
    ],
)
def test_what_cannot_be_is_refused(call, message: str) -> None:
    with pytest.raises(RangeError, match=message):
        call()
