"""Out on the trail: warmed gas, thinner air, and the usual descent."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from advice.builds import advised, setting, value
from cyclewright.advice.case import set_to
from cyclewright.advice.riding import WARMING
from cyclewright.solve.coupled import solve
from evidence import identity, second_method

KELVIN = 273.15


def names(advice):
    return {item.name for item in advice.settings}


def test_gas_that_ends_up_as_warm_as_it_was_filled_changes_nothing():
    """A trail colder than the workshop by just what use warms the gas."""
    same = advised(
        "place.workshop.temperature=20 degC",
        f"place.trail.temperature={20 - WARMING} degC",
        "place.workshop.altitude=500 m",
        "place.trail.altitude=500 m",
    )
    for end in ("fork", "shock"):
        identity(
            f"{end} sag unchanged",
            value(same, f"{end}_sag_ridden_in"),
            value(same, f"{end}_sag"),
            rel=1e-6,
        )


def test_warm_gas_holds_the_rider_higher_and_cold_gas_lower():
    cold, warm = (
        advised("place.workshop.temperature=20 degC", f"place.trail.temperature={at} degC")
        for at in (-10, 35)
    )
    for end in ("fork", "shock"):
        assert value(cold, f"{end}_sag_ridden_in") > value(cold, f"{end}_sag")
        assert value(warm, f"{end}_sag_ridden_in") < value(warm, f"{end}_sag")


def test_the_gauge_out_there_is_gay_lussac_less_the_thinner_air():
    advice = advised(
        "place.workshop.temperature=20 degC",
        "place.workshop.altitude=0 m",
        "place.trail.temperature=10 degC",
        "place.trail.altitude=2000 m",
    )
    pressure = value(advice, "fork_pressure")
    there = (pressure + 101325.0) * (10 + WARMING + KELVIN) / (20 + KELVIN) - 79495.2
    told = setting(advice, "fork_sag_ridden_in").because
    shown = float(told.split(": ")[1].split(" psi")[0])
    second_method("gauge on the trail [psi]", shown, there / 6894.757, "by hand, ICAO", rel=0.01)


def test_a_descent_moves_load_forward_and_a_level_trail_says_nothing_of_it():
    level = advised("place.trail.slope=0 %")
    assert "front_load_descending" not in names(level)
    gentle, steep = advised("place.trail.slope=8 %"), advised("place.trail.slope=25 %")
    for name in ("front_load_descending", "fork_sag_descending", "head_angle_descending"):
        assert value(steep, name) > value(gentle, name)
    assert value(gentle, "front_load_descending") > value(gentle, "front_load_standing")


def test_load_on_the_descent_by_moments():
    """N = m g (x cos a + y sin a) / wheelbase, the bike as it then stands."""
    advice = advised("place.trail.slope=15 %")
    slope = math.atan(0.15)
    case = set_to(advice.outcome.case, advice.kept)
    down = solve(replace(case, slope=np.full_like(case.slope, slope))).standing
    mass = float((case.rider_mass + case.kit_mass + case.bike_mass)[0])
    x, y = down.mass_centre[0]
    by_hand = (
        mass * 9.80665 * (x * math.cos(slope) + y * math.sin(slope))
        / float(down.geometry.wheelbase[0])
    )  # fmt: skip
    second_method(
        "front load descending [N]", value(advice, "front_load_descending"), by_hand,
        "moments about the rear contact", rel=1e-6,
    )  # fmt: skip


@pytest.mark.parametrize("bike", ["longtravel", "hardtail"])
def test_only_air_is_warmed(bike):
    found = names(advised(bike=bike))
    assert "fork_sag_ridden_in" in found
    assert "shock_sag_ridden_in" not in found
