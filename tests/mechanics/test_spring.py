from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import spring

AREA, LENGTH = st.floats(3e-4, 1.5e-3), st.floats(0.08, 0.4)
GAUGE, SHARE, EXPONENT = st.floats(0.0, 25e5), st.floats(0.0, 0.9), st.floats(1.0, 1.6)


@given(AREA, LENGTH, GAUGE, SHARE)
def test_pressure_for_a_load_gives_that_load(area, length, gauge, share):
    volume, stroke = area * length, length * share
    force = spring.air_force(area, volume, gauge, stroke)
    assume(force >= 0.0)
    back = spring.air_pressure_for(force, area, volume, stroke)
    evidence.identity("initial pressure of a force", back, gauge, within=1e-5)


@given(AREA, LENGTH, GAUGE, SHARE)
def test_stroke_for_a_load_gives_that_stroke(area, length, gauge, share):
    volume, stroke = area * length, length * share
    force = spring.air_force(area, volume, gauge, stroke)
    back = spring.air_stroke_for(force, area, volume, gauge)
    evidence.identity("stroke of a force", back, stroke, within=1e-9)


@given(AREA, LENGTH, GAUGE, SHARE, EXPONENT)
def test_force_is_gauge_pressure_on_the_piston(area, length, gauge, share, exponent):
    case = (area, area * length, gauge, length * share, exponent)
    evidence.identity(
        "force and gauge pressure", spring.air_force(*case), area * spring.air_gauge(*case)
    )


@given(AREA, LENGTH, GAUGE, SHARE, EXPONENT)
def test_the_rate_is_the_slope_of_the_force(area, length, gauge, share, exponent):
    volume, stroke, step = area * length, length * share, 1e-6 * length
    ends = spring.air_force(area, volume, gauge, np.array([stroke, stroke + step]), exponent)
    middle = spring.air_rate(area, volume, gauge, stroke + step / 2, exponent)
    assert (ends[1] - ends[0]) / step == pytest.approx(middle, rel=1e-4)


@given(AREA, LENGTH, GAUGE, SHARE, SHARE)
def test_deeper_is_never_softer(area, length, gauge, one, other):
    shallow, deep = sorted((one * length, other * length))
    force = spring.air_force(area, area * length, gauge, np.array([shallow, deep]))
    rate = spring.air_rate(area, area * length, gauge, np.array([shallow, deep]))
    assert force[0] <= force[1]
    assert rate[0] <= rate[1]


def test_a_load_below_the_top_out_force_leaves_it_extended():
    topped = spring.air_force(5e-4, 6e-5, 8e5, 0.0)
    assert spring.air_stroke_for(topped * np.array([0.0, 0.99]), 5e-4, 6e-5, 8e5).max() == 0.0


def test_the_work_of_a_slow_stroke():
    area, volume, gauge, stroke = 7e-4, 1.1e-4, 6e5, 0.11
    s = np.linspace(0.0, stroke, 20001)
    work = np.trapezoid(spring.air_force(area, volume, gauge, s), s)
    absolute = gauge + 101325.0
    closed = absolute * volume * np.log(volume / (volume - area * stroke)) - 101325 * area * stroke
    evidence.second_method(
        "work of a slow stroke", work, closed, "isothermal work in closed form", rel=1e-7
    )


@given(st.floats(1e4, 3e5), st.floats(0.001, 0.08), st.floats(0.0, 0.01))
def test_coil_rate_for_a_load_gives_that_rate(rate, stroke, preload):
    back = spring.coil_rate_for(spring.coil_force(rate, stroke, preload), stroke, preload)
    evidence.identity("coil rate of a force", back, rate)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: spring.air_force(5e-4, 6e-5, 1e6, 0.12), "the chamber ends there"),
        (lambda: spring.air_rate(5e-4, 6e-5, -2e5, 0.01), "above a perfect vacuum"),
        (lambda: spring.air_gauge(0.0, 6e-5, 1e6, 0.01), r"piston_area is 0 .*above 0 m²"),
        (lambda: spring.air_force(5e-4, 6e-5, 1e6, 0.01, 0.9), r"exponent is 0.9 .*1 to 1.7"),
        (lambda: spring.air_pressure_for(-5.0, 5e-4, 6e-5, 0.01), "force is -5"),
        (lambda: spring.air_stroke_for(np.inf, 5e-4, 6e-5, 1e6), "force is inf"),
        (lambda: spring.coil_force(0.0, 0.01), "rate is 0"),
        (lambda: spring.coil_rate_for(100.0, 0.0), "an uncompressed coil carries nothing"),
    ],
)
def test_what_cannot_be(call, match):
    with pytest.raises(RangeError, match=match):
        call()
