"""Clicks from the maker's table, from the damping wanted, and what cold oil does to them."""

from __future__ import annotations

import numpy as np
import pytest

from advice.builds import advised, setting, value
from cyclewright.advice import damping, units_at_sag
from cyclewright.mechanics import damper
from evidence import second_method

CLICKS = ("fork_rebound", "fork_compression", "shock_rebound", "shock_compression")


def test_the_makers_table_comes_back_word_for_word() -> None:
    told = setting(advised(), "fork_rebound")
    assert (told.value, told.basis) == (6.0, "maker")
    assert told.low is not None and told.high is not None
    assert told.low <= 6.0 <= told.high


@pytest.mark.parametrize("name", CLICKS)
def test_without_a_table_heavier_riders_close_it_and_lighter_ones_open_it(name: str) -> None:
    each = [setting(advised(f"rider.mass={m} kg", bike="longtravel"), name) for m in (50, 75, 105)]
    values = [item.value for item in each]
    assert values[0] > values[1] > values[2] >= 0.0
    for item in each:
        assert item.basis == "model"
        assert item.because.startswith("default: ")
        most = next(limit.value for limit in item.limits if limit.kind == "max")
        assert 0.0 <= item.low <= item.value <= item.high <= most
        assert item.high - item.low > 0.3 * most


def test_a_rider_of_the_mass_it_is_made_for_gets_the_middle() -> None:
    mass = damping.MADE_FOR - 6.0
    advice = advised(f"rider.mass={mass} kg", "rider.kit_mass=6 kg", bike="longtravel")
    assert value(advice, "fork_rebound") == 11.0
    # the coil that is sold is not quite the one wanted
    assert value(advice, "shock_rebound") == pytest.approx(7.0, abs=1.0)


def test_the_ratio_wanted_comes_back_from_the_clicks() -> None:
    advice = advised(bike="longtravel")
    here = units_at_sag.at_wheel(advice.outcome, "fork")
    lighter = damping.MADE_FOR / 104.0
    middle = damper.damping_for(here.sprung_mass[0] * lighter, here.rate[0] * lighter, 0.65)
    clicks = value(advice, "fork_rebound")
    slope = middle * damping.RANGE ** ((11.0 - clicks) / 22.0)
    second_method(
        "damping ratio at the rounded click",
        damper.damping_ratio(slope, here.sprung_mass[0], here.rate[0]),
        0.65,
        "law by hand: a fifth from closed to open in equal shares",
        rel=damping.RANGE ** (0.5 / 22.0) - 1.0,
    )


def test_cold_oil_opens_and_warm_oil_closes_and_a_like_trail_says_nothing() -> None:
    def said(degrees: float) -> tuple[str, ...]:
        at = ("place.workshop.temperature=20 degC", f"place.trail.temperature={degrees} degC")
        return setting(advised(*at), "fork_rebound").cautions

    assert said(15) == ()
    (cold,) = said(-10)
    assert cold.startswith("Set at 20 °C: with oil at -5 °C on the trail rebound is some")
    assert "firmer; there about 5 clicks further out" in cold
    (hot,) = said(38)
    assert "softer" in hot
    assert "further in" in hot


@pytest.mark.parametrize(("bike", "name"), [("trail", "fork"), ("trail", "shock"),
                                            ("longtravel", "shock")])  # fmt: skip
def test_rate_at_the_wheel_is_the_slope_of_load_over_travel(
    bike: str, name: units_at_sag.Name
) -> None:
    """The wheel's load by virtual work a little further in its travel, fast, against the rate."""
    from cyclewright.mechanics import airspring
    from cyclewright.solve.coupled import leverage, shock_travel

    outcome = advised(bike=bike).outcome
    case, spring = outcome.case, getattr(outcome.case, name)
    state = outcome.at(spring.posture)
    stroke = units_at_sag.compression(outcome, name)

    def force(at: np.ndarray) -> np.ndarray:
        if spring.kind == "coil":
            return outcome.shock_setting * (at + spring.preload) + spring.rod_force
        unit = units_at_sag.air_unit(spring)
        gas = units_at_sag.gas(outcome, name, unit)
        return airspring.fast_force(unit, gas, at, stroke, units_at_sag.EXPONENT, case.ambient)

    def load(travel: np.ndarray) -> np.ndarray:
        if name == "fork":
            sine = np.sin(state.geometry.head_angle)
            return force(travel / sine) / sine
        return force(shock_travel(case, travel)) / leverage(case, travel)

    z = stroke * np.sin(state.geometry.head_angle) if name == "fork" else state.rear_travel
    step = 5e-4
    slope = (load(z + step) - load(z - step)) / (2 * step)
    mine = units_at_sag.at_wheel(outcome, name).rate
    second_method(f"{bike} {name}: wheel rate", mine[:1], slope[:1], "differences", rel=0.01)
