"""Makers' charts and clicks, word for word, and what stands in where there is none."""

from __future__ import annotations

import pytest

from advice.builds import advised, filled, setting, sheets, value
from cyclewright.advice import charts
from cyclewright.sheets.bike import Fork, Shock
from evidence import identity

PSI = 6894.757293168361


def rows(bike: str, end: str) -> list[tuple[float, float]]:
    """Middle mass [kg] and pressure [Pa] of every row of an example's chart."""
    chart = getattr(sheets(bike=bike).bike, end).chart
    return [((row.mass_min.value + row.mass_max.value) / 2, row.pressure.value) for row in chart]


CHARTS = [
    (bike, end, mass, pressure)
    for bike, end in (("trail", "fork"), ("trail", "shock"), ("hardtail", "fork"))
    for mass, pressure in rows(bike, end)
]


@pytest.mark.parametrize(("bike", "end", "mass", "pressure"), CHARTS)
def test_every_row_of_the_charts_comes_out_as_printed(
    bike: str, end: str, mass: float, pressure: float
) -> None:
    """The maker's figure wins to the last digit, whatever our own spring would have said."""
    advice = advised(f"rider.mass={mass - 6} kg", bike=bike)
    ours = value(advice, f"{end}_pressure")
    identity(f"{bike} {end} chart at {mass:.0f} kg", ours, pressure, rel=0.0, within=0.0)
    told = setting(advice, f"{end}_pressure")
    assert told.basis == "maker"
    assert told.source == "maker's chart"
    assert not any(finding.code.endswith("off-chart") for finding in advice.findings)


def test_a_wish_for_other_sag_leaves_the_makers_figure_behind() -> None:
    plain = advised()
    deeper, shallower = (advised(f"rider.sag_wish={wish} %") for wish in (28, 15))
    assert value(deeper, "fork_pressure") < value(plain, "fork_pressure")
    assert value(shallower, "fork_pressure") > value(plain, "fork_pressure")
    told = setting(deeper, "fork_pressure")
    assert told.basis == "rider"
    assert "the rider's wish: 28 % of travel" in told.because


@pytest.mark.parametrize(("mass", "edge"), [(20, 0), (170, -1)])
def test_off_the_chart_is_said_and_carried_on_in_proportion(mass: float, edge: int) -> None:
    unit = sheets().bike.fork
    found = charts.anchor(unit, mass, 1.0)
    row = unit.chart[edge]
    bound = row.mass_min if edge == 0 else row.mass_max
    assert not found.inside
    assert not found.maker
    assert bound is not None and row.pressure is not None
    identity("in proportion to mass", found.pressure, row.pressure.value * mass / bound.value)
    advice = advised(f"rider.mass={mass} kg", "rider.kit_mass=0 kg")
    assert "fork-off-chart" in {finding.code for finding in advice.findings}
    assert setting(advice, "fork_pressure").basis == "model"
    assert "off the maker's chart" in setting(advice, "fork_pressure").because


def test_without_a_chart_the_habits_of_the_trade_are_labelled() -> None:
    fork, shock = charts.anchor(Fork(), 83.9, 1.0), charts.anchor(Shock(), 80.0, 2.6)
    identity("80 psi at 84 kg", fork.pressure, 80 * PSI)
    identity("a psi a pound", shock.pressure, 80 / 0.45359237 * PSI)
    for found in (fork, shock):
        assert not found.maker
        assert "default" in found.words
        assert found.source == "common practice, no source"


def test_the_row_of_clicks_is_the_one_of_the_pressure() -> None:
    table = sheets().bike.fork.clicks
    for row in table:
        assert row.pressure_min is not None and row.pressure_max is not None
        middle = (row.pressure_min.value + row.pressure_max.value) / 2
        assert charts.click_row(table, middle) is row
    assert charts.click_row(table, 0.0) is table[0]
    assert charts.click_row(table, 1e9) is table[-1]
    assert charts.click_row([], 1e5) is None


def test_clicks_come_from_the_table_or_else_from_a_labelled_default() -> None:
    maker = setting(advised(rider="light"), "fork_rebound")
    row = charts.click_row(
        sheets().bike.fork.clicks, value(advised(rider="light"), "fork_pressure")
    )
    assert row is not None
    assert maker.basis == "maker"
    assert maker.value == row.rebound
    wanted = setting(advised(bike="longtravel"), "fork_rebound")
    assert wanted.basis == "model"
    assert 0 <= wanted.value <= sheets(bike="longtravel").bike.fork.rebound_clicks
    assert "default" in wanted.because


def test_a_stand_in_rider_is_read_off_the_chart_with_kit() -> None:
    from cyclewright.advice.case import riding_mass

    identity("mass with kit", riding_mass(filled("rider.mass=80 kg", "rider.kit_mass=5 kg")), 85.0)
    inside = filled("rider.mass=85 kg", "rider.kit_mass=5 kg", "rider.mass_includes_kit=true")
    identity("mass that includes kit", riding_mass(inside), 85.0)
