from __future__ import annotations

import control
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import damper

MASS, RATE = st.floats(20.0, 120.0), st.floats(2e3, 4e4)
SLOPE, KNEE = st.floats(0.0, 5e3), st.floats(0.02, 1.0)


def test_the_ratio_by_the_poles():
    draw = np.random.default_rng(3)
    mass, rate, ratio = (draw.uniform(*ends, 60) for ends in ((20, 120), (2e3, 4e4), (0.05, 0.95)))
    damping = damper.damping_for(mass, rate, ratio)
    poles = [
        control.tf([1.0], [m, c, k]).poles()[0] for m, c, k in zip(mass, damping, rate, strict=True)
    ]
    evidence.second_method(
        "damping ratio of a mass on a spring, 60 cases",
        ratio,
        -np.real(poles) / np.abs(poles),
        "python-control: poles of the transfer function",
        rel=1e-6,
    )


@given(MASS, RATE, st.floats(0.0, 2.0))
def test_damping_and_ratio_are_inverse(mass, rate, ratio):
    damping = damper.damping_for(mass, rate, ratio)
    evidence.identity("ratio back", damper.damping_ratio(damping, mass, rate), ratio)


@given(SLOPE, SLOPE, KNEE, SLOPE, SLOPE, KNEE, st.floats(-4.0, 4.0))
def test_a_damper_only_ever_takes_energy(low, high, knee, out_low, out_high, out_knee, velocity):
    force = damper.damper_force(
        velocity, damper.circuit(low, high, knee), damper.circuit(out_low, out_high, out_knee)
    )
    assert force * velocity >= 0.0


@given(SLOPE, SLOPE, KNEE)
def test_slopes_and_the_knee(low, high, knee):
    side = damper.circuit(low, high, knee)
    speeds = np.array([0.5, 1.0, 2.0]) * knee
    force = damper.damper_force(speeds, side, damper.circuit(0.0, 0.0, 1.0))
    evidence.identity("below, at and beyond the knee", force, knee * np.array(
        [low / 2.0, low, low + high]
    ))  # fmt: skip
    mirrored = damper.damper_force(-speeds, damper.circuit(0.0, 0.0, 1.0), side)
    evidence.identity("rebound mirrors compression", mirrored, -force)


@given(
    st.integers(0, 8), st.integers(1, 10), st.floats(200.0, 3e3), st.floats(0.3, 0.95),
    st.floats(0.0, 20.0),
)  # fmt: skip
def test_clicks_and_damping_are_inverse(first, apart, damping, share, clicks):
    law = damper.click_law(first, damping, first + apart, damping * share)
    ends = damper.damping_at(law, np.array([first, first + apart]))
    evidence.identity("through both takes", ends, [damping, damping * share])
    found = damper.clicks_for(law, damper.damping_at(law, clicks), 20)
    evidence.identity("clicks of a damping", found.clicks, clicks, within=1e-8)
    swapped = damper.click_law(first + apart, damping * share, first, damping)
    evidence.identity("takes in any order", swapped.step, law.step)


def test_clicks_stay_within_the_counted_range_and_say_so():
    law = damper.click_law(2, 900.0, 12, 300.0)
    found = damper.clicks_for(law, [3000.0, 600.0, 50.0], 14)
    assert found.clicks.tolist()[::2] == [0.0, 14.0]
    assert found.limit.tolist() == ["closed", "", "open"]
    assert found.outside.tolist() == [True, False, True]


@given(st.floats(2e-6, 4e-5), st.floats(0.25, 0.6))
def test_viscosity_meets_both_catalogue_values_and_falls(at_40, share):
    at_100 = at_40 * share
    if at_100 < 2e-6:
        return
    ends = damper.oil_viscosity([313.15, 373.15], at_40, at_100)
    evidence.identity("viscosity at 40 and 100 °C", ends, [at_40, at_100])
    over = damper.oil_viscosity(np.linspace(250.0, 400.0, 31), at_40, at_100)
    assert (np.diff(over) < 0.0).all()


def test_damping_oil_about_halves_from_0_to_30_degrees():
    # the trade's rule for oils of high viscosity index; plain oil changes more
    cold, warm = damper.oil_viscosity([273.15, 303.15], 15e-6, 6e-6)
    assert 1.8 < cold / warm < 2.3
    plain = damper.oil_viscosity([273.15, 303.15], 15e-6, 3.4e-6)
    assert plain[0] / plain[1] > 4.0


@given(st.floats(10.0, 5e3), st.floats(5e-6, 1e-4), st.floats(0.0, 1.0))
def test_only_the_laminar_share_follows_the_oil(slope, viscosity, share):
    same = damper.slope_at_viscosity(slope, viscosity, viscosity, share)
    double = damper.slope_at_viscosity(slope, 2.0 * viscosity, viscosity, share)
    evidence.identity("same oil", same, slope)
    evidence.identity("twice as thick", double, slope * (1.0 + share))


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: damper.critical_damping(0.0, 1e4), "mass is 0"),
        (lambda: damper.damping_for(60.0, 1e4, -0.1), "damping_ratio is -0.1"),
        (lambda: damper.damping_ratio(-1.0, 60.0, 1e4), "damping is -1"),
        (lambda: damper.circuit(100.0, 100.0, 0.0), "knee is 0"),
        (lambda: damper.click_law(5, 600.0, 5, 500.0), "several clicks away"),
        (lambda: damper.click_law(5, 600.0, 9, 700.0), "cannot make it firmer"),
        (lambda: damper.damping_at(damper.click_law(2, 900.0, 12, 300.0), -1), "clicks is -1"),
        (lambda: damper.oil_viscosity(300.0, 5e-6, 6e-6), "thinner viscosity at 100"),
        (lambda: damper.oil_viscosity(20.0, 15e-6, 6e-6), "temperature is 20"),
        (lambda: damper.slope_at_viscosity(600.0, 1e-5, 1e-5, 1.2), "viscous_share is 1.2"),
    ],
)
def test_what_cannot_be(call, match):
    with pytest.raises(RangeError, match=match):
        call()
