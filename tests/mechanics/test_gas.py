from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import gas

ALTITUDE = st.floats(-400.0, 5000.0)
TEMPERATURE = st.floats(243.0, 333.0)
GAUGE = st.floats(0.0, 25e5)


@pytest.mark.parametrize(
    ("altitude", "pressure", "temperature"),
    # ISO 2533 / ICAO Doc 7488 tables, from memory
    [(11000.0, 22632.0, 216.65), (20000.0, 5474.9, 216.65), (32000.0, 868.02, 228.65)],
)
def test_layers_of_the_atmosphere(altitude, pressure, temperature):
    air = gas.standard_atmosphere(altitude)
    source = "ISO 2533 / ICAO Doc 7488 tables"
    evidence.published(
        f"pressure at {altitude:g} m",
        float(air.pressure),
        pressure,
        "0.01%",
        source,
        "memory",
        "Pa",
    )
    evidence.published(
        f"temperature at {altitude:g} m",
        float(air.temperature),
        temperature,
        "0.01%",
        source,
        "memory",
        "K",
    )


def test_the_layers_join():
    for base in (11e3, 20e3, 32e3, 47e3, 51e3, 71e3):
        below, above = (gas.standard_atmosphere(base + step) for step in (-1e-6, 1e-6))
        evidence.identity("pressure across a layer's base", below.pressure, above.pressure)


@given(ALTITUDE, ALTITUDE)
def test_higher_is_thinner(one, other):
    low, high = sorted((one, other))
    air = gas.standard_atmosphere(np.array([low, high]))
    assert air.pressure[0] >= air.pressure[1]
    assert air.density[0] >= air.density[1]


@given(GAUGE, TEMPERATURE, TEMPERATURE, ALTITUDE, ALTITUDE)
def test_there_and_back(gauge, start, end, low, high):
    there = gas.shifted_gauge(gauge, start, end, low, high)
    back = gas.shifted_gauge(there, end, start, high, low)
    evidence.identity("gauge pressure there and back", back, gauge, within=1e-6)


def test_2000_m_add_what_the_air_outside_loses():
    rise = gas.shifted_gauge(2e5, 293.15, 293.15, 0.0, 2000.0) - 2e5
    lost = gas.standard_atmosphere(0.0).pressure - gas.standard_atmosphere(2000.0).pressure
    evidence.identity("altitude at constant temperature", rise, lost)
    assert rise == pytest.approx(0.22e5, abs=0.005e5)


def test_a_warm_spring_reads_higher():
    # 25 K is about 9 % of the gauge pressure (common practice, no source)
    warm = gas.shifted_gauge(12e5, 293.15, 318.15)
    assert warm / 12e5 == pytest.approx(1.09, abs=0.01)


def test_what_cannot_be():
    with pytest.raises(RangeError, match="altitude is 90000"):
        gas.standard_atmosphere(90000.0)
    with pytest.raises(RangeError, match="above a perfect vacuum"):
        gas.shifted_gauge(-1.1e5, 293.15, 293.15)
    with pytest.raises(RangeError, match="temperature_to is 0"):
        gas.shifted_gauge(1e5, 293.15, 0.0)
