from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import airpair, airspring, gas, spring

AMBIENT = 101325.0
FORK = {
    "piston_area": 7e-4, "volume": 1.6e-4, "negative_volume": 3e-5, "travel": 0.150,
    "shaft_area": 8e-5, "transfer_stroke": 0.005,
}  # fmt: skip
SHOCK = {
    "piston_area": 1.2e-3, "volume": 1.0e-4, "negative_volume": 2e-5, "travel": 0.055,
    "shaft_area": 1.5e-4, "transfer_stroke": 0.004, "rod_force": 90.0,
}  # fmt: skip
STOPS = {"top_out_rate": 4e4, "top_out_length": 0.008, "bump_rate": 9e4, "bump_length": 0.02}
AREA, LENGTH, BELOW = st.floats(3e-4, 1.5e-3), st.floats(0.12, 0.4), st.floats(0.01, 0.1)
GAUGE, SHARE = st.floats(1e5, 25e5), st.floats(0.0, 1.0)
SHAFT, TRANSFER = st.floats(0.0, 0.3), st.floats(0.0, 0.1)


@st.composite
def units(draw):
    area, length = draw(AREA), draw(LENGTH)
    travel = length * draw(st.floats(0.3, 0.85))
    more = STOPS if draw(st.booleans()) else {}
    return airspring.air_unit(
        area,
        area * length,
        area * draw(BELOW),
        travel,
        shaft_area=area * draw(SHAFT),
        transfer_stroke=travel * draw(TRANSFER),
        rod_force=draw(st.floats(0.0, 120.0)),
        **more,
    )


def even(area, length, below, travel):
    """Equal areas, levelled at full length, no stops: the closed forms' own case."""
    return airspring.air_unit(area, area * length, area * below, travel)


@given(AREA, LENGTH, BELOW, GAUGE, st.floats(0.01, 0.85))
def test_equal_areas_are_the_closed_forms_of_a_levelled_pair(area, length, below, gauge, share):
    unit, stroke = even(area, length, below, 0.9 * length), share * length
    charge = airspring.fill(unit, gauge)
    closed = airpair.pair_force(area, length, below, gauge, stroke)
    evidence.identity("force", airspring.slow_force(unit, charge, stroke), closed, within=1e-8)
    evidence.identity(
        "pressure", airspring.pressure_for(unit, closed, stroke), gauge, rel=1e-8, within=1e-3
    )
    evidence.identity(
        "stroke",
        airspring.rest(unit, charge, closed).stroke,
        airpair.pair_stroke_for(closed, area, length, below, gauge),
        rel=1e-8,
        within=1e-11,
    )


@given(AREA, LENGTH, GAUGE, st.floats(0.0, 0.85), st.floats(1.0, 1.6))
def test_an_endless_negative_chamber_leaves_one_chamber(area, length, gauge, share, exponent):
    unit = airspring.air_unit(area, area * length, 1e6, 0.9 * length)
    charge = airspring.fill_unlevelled(unit, gauge, 0.0)  # as large as the air outside
    stroke = share * length
    evidence.identity(
        "slow force",
        airspring.slow_force(unit, charge, stroke),
        spring.air_force(area, area * length, gauge, stroke),
        rel=1e-7,
        within=1e-3,
    )
    evidence.identity(
        "fast force from full length",
        airspring.fast_force(unit, charge, stroke, 0.0, exponent),
        spring.air_force(area, area * length, gauge, stroke, exponent),
        rel=1e-7,
        within=1e-3,
    )


@given(units(), GAUGE, SHARE, SHARE)
def test_rates_are_the_slopes_of_the_forces(unit, gauge, share, other):
    charge, step = airspring.fill(unit, gauge), 1e-6
    stroke = step + share * (float(unit.travel) - 2.0 * step)
    edges = np.array([unit.top_out_length, unit.travel - unit.bump_length])
    assume(np.abs(edges - stroke).min() > 2.0 * step or not unit.bump_rate)
    ends = np.array([stroke - step, stroke + step])
    slow = airspring.slow_force(unit, charge, ends)
    assert np.diff(slow)[0] / (2.0 * step) == pytest.approx(
        airspring.slow_rate(unit, charge, stroke), rel=1e-4
    )
    about = other * float(unit.travel)
    fast = airspring.fast_force(unit, charge, ends, about)
    assert np.diff(fast)[0] / (2.0 * step) == pytest.approx(
        airspring.fast_rate(unit, charge, stroke, about), rel=1e-4
    )


@given(units(), GAUGE, st.floats(0.1, 1.0))
def test_pressure_for_a_load_gives_that_load(unit, gauge, share):
    stroke = share * float(unit.travel)
    assume(stroke > 1.2 * unit.transfer_stroke)
    force = airspring.slow_force(unit, airspring.fill(unit, gauge), stroke)
    assume(force >= 0.0)
    back = airspring.pressure_for(unit, force, stroke)
    evidence.identity("initial pressure", back, gauge, rel=1e-6, within=1.0)


@given(units(), GAUGE, SHARE)
def test_rest_is_where_the_forces_balance(unit, gauge, share):
    charge = airspring.fill(unit, gauge)
    stroke = share * float(unit.travel)
    force = airspring.slow_force(unit, charge, stroke)
    assume(force >= 0.0)
    back = airspring.rest(unit, charge, force).stroke
    evidence.identity("stroke of a load", back, stroke, within=1e-9)


@given(units(), GAUGE)
def test_hard_ends_hold_what_the_spring_does_not(unit, gauge):
    charge = airspring.fill(unit, gauge)
    past = airspring.slow_force(unit, charge, unit.travel) + 1.0
    assert airspring.rest(unit, charge, past).stroke == unit.travel
    top = airspring.rest(unit, charge)
    still = float(airspring.slow_force(unit, charge, 0.0))
    assert (top.stroke == 0.0) == (still >= 0.0)
    if still < 0.0:
        evidence.identity(
            "no force where it tops out",
            airspring.slow_force(unit, charge, top.stroke), 0.0, within=1e-5,
        )  # fmt: skip


@given(units(), GAUGE, st.floats(50.0, 1500.0), st.floats(0.0, 80.0), st.floats(0.0, 80.0))
def test_friction_widens_the_band_and_holds_the_middle(unit, gauge, load, one, other):
    small, large = sorted((one, other))
    charge = airspring.fill(unit, gauge)
    narrow, wide = (airspring.rest(unit, charge, load, held) for held in (small, large))
    assert wide.low <= narrow.low <= narrow.stroke <= narrow.high <= wide.high
    assert narrow.stroke == wide.stroke


@given(units(), GAUGE, SHARE, SHARE)
def test_deeper_is_never_softer_and_pressure_always_helps(unit, gauge, one, other):
    shallow, deep = np.sort([one, other]) * unit.travel
    charge = airspring.fill(unit, gauge)
    force = airspring.slow_force(unit, charge, np.array([shallow, deep]))
    assert force[0] <= force[1] + 1e-9
    loads = np.array([100.0, 300.0])
    softer = airspring.rest(unit, charge, loads).stroke
    harder = airspring.rest(unit, airspring.fill(unit, 1.2 * gauge), loads).stroke
    beyond = softer >= unit.transfer_stroke  # before it the negative chamber gains as well
    assert (harder <= softer + 1e-9)[beyond].all()


@given(units(), GAUGE, GAUGE)
def test_levelling_keeps_the_gas_and_evens_the_pressures(unit, gauge, negative):
    before = airspring.fill_unlevelled(unit, gauge, negative)
    after = airspring.level(unit, before)
    evidence.identity(
        "gas", after.positive + after.negative, before.positive + before.negative, rel=1e-12
    )
    at = unit.transfer_stroke
    above = after.positive / (unit.volume - unit.piston_area * at)
    below = after.negative / (unit.negative_volume + unit.negative_area * at)
    evidence.identity("pressures at the transfer point", above, below)
    again = airspring.fill(unit, airspring.gauge_at(unit, after, 0.0))
    evidence.identity("filling by the reading", again.negative, after.negative)


def test_a_spring_pumped_without_strokes_is_too_firm():
    # why a reading before about ten strokes is invalid
    unit = airspring.air_unit(**FORK)
    fresh = airspring.fill_unlevelled(unit, 5e5, 0.0)
    stuck = airspring.rest(unit, fresh, 260.0).stroke
    true = airspring.rest(unit, airspring.fill(unit, 5e5), 260.0).stroke
    assert stuck < 0.65 * true


def test_the_negative_chamber_can_hold_a_unit_short_of_full_length():
    unit = airspring.air_unit(**FORK)
    assert 0.0 < airspring.rest(unit, airspring.fill(unit, 5e5)).stroke < FORK["transfer_stroke"]
    over = airspring.fill_unlevelled(unit, 2e5, 8e5)
    assert airspring.rest(unit, over).stroke > 0.01


def test_the_work_of_a_slow_stroke_is_the_work_on_both_gases():
    draw = np.random.default_rng(11)
    area, length, below, gauge, shaft, rod = (
        draw.uniform(*ends, 60)
        for ends in ((3e-4, 1.5e-3), (0.12, 0.4), (0.01, 0.1), (1e5, 25e5), (0, 0.3), (0, 120))
    )
    unit = airspring.air_unit(
        area, area * length, area * below, 0.8 * length, shaft_area=shaft * area,
        transfer_stroke=0.004, rod_force=rod,
    )  # fmt: skip
    charge = airspring.fill(unit, gauge)
    s = np.linspace(0.0, 1.0, 8001)[:, None] * unit.travel
    work = np.trapezoid(airspring.slow_force(unit, charge, s), s, axis=0)
    squeezed = np.log(unit.volume / (unit.volume - area * unit.travel))
    opened = np.log1p(unit.negative_area * unit.travel / unit.negative_volume)
    outside = (area * shaft * AMBIENT - rod) * unit.travel
    evidence.second_method(
        "work of a slow stroke, two chambers, 60 units",
        work,
        charge.positive * squeezed - charge.negative * opened - outside,
        "isothermal work on both gases",
        rel=1e-4,
    )


@given(units(), GAUGE, SHARE)
def test_a_fast_stroke_starts_from_the_slow_equilibrium(unit, gauge, share):
    about = share * unit.travel
    charge = airspring.fill(unit, gauge)
    evidence.identity(
        "force at the equilibrium",
        airspring.fast_force(unit, charge, about, about),
        airspring.slow_force(unit, charge, about),
        within=1e-6,
    )
    s = np.linspace(0.0, 1.0, 21) * unit.travel
    fast, slow = (
        airspring.fast_force(unit, charge, s, about), airspring.slow_force(unit, charge, s)
    )  # fmt: skip
    assert (np.sign(s - about) * (fast - slow) >= -1e-6).all()


@given(units(), GAUGE, st.floats(250.0, 330.0), st.floats(250.0, 330.0))
def test_warmth_follows_the_absolute_pressure(unit, gauge, cold, hot):
    charge = airspring.warmed(airspring.fill(unit, gauge), cold, hot)
    evidence.identity(
        "gauge after warming",
        airspring.gauge_at(unit, charge, 0.0),
        gas.shifted_gauge(gauge, cold, hot),
        rel=1e-8,
    )


def test_25_kelvin_are_about_nine_percent_of_gauge():
    unit = airspring.air_unit(**SHOCK)
    warm = airspring.warmed(airspring.fill(unit, 12e5), 293.15, 318.15)
    assert 0.085 < airspring.gauge_at(unit, warm, 0.0) / 12e5 - 1.0 < 0.095


def test_altitude_moves_the_gauge_and_the_shaft_only():
    unit, high = airspring.air_unit(**FORK), float(gas.standard_atmosphere(2200.0).pressure)
    charge = airspring.fill(unit, 5e5)
    risen = airspring.gauge_at(unit, charge, 0.0, high) - 5e5
    evidence.identity("gauge", risen, AMBIENT - high)
    more = airspring.slow_force(unit, charge, 0.04, high) - airspring.slow_force(unit, charge, 0.04)
    evidence.identity("force", more, FORK["shaft_area"] * (AMBIENT - high), within=1e-9)


@pytest.mark.parametrize("volume", [6e-5, 9e-5, 13e-5])
def test_connecting_a_pump_costs_two_to_five_percent(volume):
    # common practice, no source: 3 cm³ of hose into 60 to 130 cm³
    unit = airspring.air_unit(5e-4, volume, 2e-5, 0.055, transfer_stroke=0.004)
    on = airspring.connect(unit, airspring.fill(unit, 10e5), 3e-6)
    assert 0.02 < on.lost < 0.05


@given(units(), GAUGE, st.floats(0.0, 8e-6))
def test_a_pump_takes_gas_into_its_hose_and_nothing_else(unit, gauge, hose):
    charge = airspring.fill(unit, gauge)
    on = airspring.connect(unit, charge, hose)
    absolute = on.reading_gauge + AMBIENT
    held = charge.positive + charge.negative + AMBIENT * hose
    evidence.identity("gas", on.charge.positive + on.charge.negative + absolute * hose, held)
    evidence.identity(
        "reading with the pump on", airspring.gauge_at(unit, on.charge, 0.0), on.reading_gauge,
        within=1e-4,
    )  # fmt: skip
    before = airspring.before_connecting(unit, on.reading_gauge, hose)
    evidence.identity("before", before, gauge, rel=1e-9, within=1e-4)
    assert on.reading_gauge <= gauge + 1e-6


def test_spacers_take_volume_and_stiffen_the_end():
    none, two = (
        airspring.air_unit(**FORK, spacers=count, spacer_volume=8e-6) for count in (0, 2)
    )  # fmt: skip
    evidence.identity("volume", none.volume - two.volume, 16e-6)
    force = [
        airspring.slow_force(unit, airspring.fill(unit, 5e5), np.array([0.04, 0.15]))
        for unit in (none, two)
    ]
    assert force[1][1] / force[0][1] > force[1][0] / force[0][0] > 1.0


def test_draws_broadcast_through_everything():
    area = 7e-4 * np.linspace(0.95, 1.05, 513)
    unit = airspring.air_unit(**(FORK | {"piston_area": area}), **STOPS)
    pressure = airspring.pressure_for(unit, 260.0, 0.0375)
    rest = airspring.rest(unit, airspring.fill(unit, pressure), 260.0, 20.0)
    assert rest.low.shape == rest.stroke.shape == rest.high.shape == (513,)
    evidence.identity("stroke of every draw", rest.stroke, 0.0375, within=1e-9)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: airspring.air_unit(**(FORK | {"shaft_area": 7e-4})), "thinner than the piston"),
        (lambda: airspring.air_unit(**(FORK | {"transfer_stroke": 0.2})), "inside the travel"),
        (lambda: airspring.air_unit(**(FORK | {"volume": 1e-4})), "fewer spacers"),
        (lambda: airspring.air_unit(**FORK, spacers=8, spacer_volume=8e-6), "fewer spacers"),
        (lambda: airspring.air_unit(**FORK, bump_length=0.2), "shorter than the travel"),
        (lambda: airspring.air_unit(**(FORK | {"travel": 0.0})), "travel is 0"),
        (lambda: airspring.fill(airspring.air_unit(**FORK), -2e5), "perfect vacuum"),
        (
            lambda: airspring.slow_force(
                airspring.air_unit(**FORK), airspring.fill(airspring.air_unit(**FORK), 5e5), 0.151
            ),
            "inside the unit's travel",
        ),
        (
            lambda: airspring.pressure_for(
                airspring.air_unit(**(FORK | {"shaft_area": 0.0})), 260.0, 0.001
            ),
            "chambers cancel",
        ),
        (
            lambda: airspring.warmed(airspring.fill(airspring.air_unit(**FORK), 5e5), 20.0, 300.0),
            "temperature_from is 20",
        ),
        (
            lambda: airspring.fill_unlevelled(airspring.air_unit(**FORK), 5e5, -2e5),
            "negative_gauge is -200000",
        ),
    ],
)
def test_what_cannot_be(call, match):
    with pytest.raises(RangeError, match=match):
        call()
