from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import RangeError
from cyclewright.mechanics import tyre

PRESSURE, RADIUS = st.floats(0.5e5, 4e5), st.floats(0.28, 0.4)
WIDTH, CASING, LOAD = st.floats(0.03, 0.11), st.floats(0.0, 0.3), st.floats(0.0, 3000.0)


def test_a_mountain_tyre_is_as_stiff_as_the_trade_finds():
    # about 1e5 N/m, and 450 N is some 7 % of the section: common practice, no source
    assert tyre.stiffness(1.6e5, 0.37, 0.06, 0.15) == pytest.approx(1.1e5, rel=0.25)
    assert tyre.drop(450.0, 1.4e5, 0.37, 0.06, 0.15) / 0.06 == pytest.approx(0.07, abs=0.015)


@given(LOAD, PRESSURE, RADIUS, WIDTH, CASING)
def test_drop_carries_the_load(load, pressure, radius, width, casing):
    drop = tyre.drop(load, pressure, radius, width, casing)
    carried = drop * tyre.stiffness(pressure, radius, width, casing)
    evidence.identity("load of a drop", carried, load)


@given(PRESSURE, RADIUS, WIDTH, st.floats(0.02, 0.09), CASING)
def test_edge_pressure_is_the_inverse_of_edge_load(pressure, radius, width, height, casing):
    load = tyre.edge_load(pressure, radius, width, height, casing)
    back = tyre.edge_pressure(load, radius, width, height, casing)
    evidence.identity("edge pressure of an edge load", back, pressure)


@given(PRESSURE, RADIUS, WIDTH, st.floats(0.02, 0.09), CASING)
def test_an_edge_never_carries_more_than_flat_ground(pressure, radius, width, height, casing):
    flat = tyre.stiffness(pressure, radius, width, casing) * height
    assert tyre.edge_load(pressure, radius, width, height, casing) <= flat * (1 + 1e-12)


def test_a_small_wheel_is_held_to_flat_ground():
    flat = tyre.stiffness(2e5, 0.02, 0.1, 0.1) * 0.05
    evidence.identity("edge on a tiny wheel", tyre.edge_load(2e5, 0.02, 0.1, 0.05, 0.1), flat)


@given(LOAD, WIDTH, st.floats(0.015, 0.05), st.floats(0.001, 0.02))
def test_a_wider_rim_holds_the_tyre_at_less_pressure(load, width, rim, wider):
    assert tyre.rolloff_pressure(load, width, rim + wider) <= tyre.rolloff_pressure(
        load, width, rim
    )


@given(WIDTH, st.floats(0.017, 0.045))
def test_the_section_grows_four_tenths_with_the_rim(width, rim):
    grown = tyre.section_on_rim(width, rim + 0.001) - tyre.section_on_rim(width, rim)
    evidence.identity("growth per millimetre of rim", grown, 0.0004, rel=1e-6)


def test_the_section_on_its_measuring_rim_is_nominal():
    rim = tyre.measuring_rim_width(0.061)
    evidence.identity("section on the measuring rim", tyre.section_on_rim(0.061, rim), 0.061)


def test_narrow_sections_are_higher_than_wide():
    heights = tyre.section_height([0.025, 0.0279, 0.028, 0.06])
    evidence.identity("section heights", heights, [0.0275, 0.0304, 0.028, 0.06])


def test_growth_by_bending_an_arc():
    # an arc of fixed length over a wider chord: its own width, without the rounding to 0.4
    def section(length: float, chord: float) -> float:
        half = np.linspace(1e-3, 3.1, 200_000)  # half the arc's angle
        misfit = length * np.sin(half) / half - chord
        angle = half[np.argmin(np.abs(misfit))]
        radius = length / (2 * angle)
        return 2 * radius if angle > np.pi / 2 else chord

    length, rim = 0.150, 0.030
    growth = (section(length, rim + 0.004) - section(length, rim - 0.004)) / 0.008
    evidence.second_method(
        "growth of the section per width of rim",
        (tyre.section_on_rim(0.06, rim + 0.004) - tyre.section_on_rim(0.06, rim - 0.004)) / 0.008,
        growth,
        "arc of fixed length over its chord",
        rel=0.25,
    )


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: tyre.stiffness(0.0, 0.37, 0.06, 0.1), r"pressure_gauge is 0 .*above 0 Pa"),
        (lambda: tyre.drop(-1.0, 1e5, 0.37, 0.06, 0.1), "load is -1"),
        (lambda: tyre.outside_diameter(0.3, 0.622), "width is 0.3"),
        (lambda: tyre.outside_diameter(0.06, 6.22), "bead is 6.22"),
        (lambda: tyre.section_on_rim(0.06, np.nan), "rim_width is nan"),
        (lambda: tyre.edge_load(1e5, 0.37, 0.06, 0.0, 0.1), "height is 0"),
        (lambda: tyre.rolloff_pressure(500.0, 0.06, 0.0), "rim_width is 0"),
        (lambda: tyre.circumference(-1.0), "diameter is -1"),
    ],
)
def test_what_cannot_be(call, match):
    with pytest.raises(RangeError, match=match):
        call()
