"""Amounts as people type them; what could mean two things is left to be refused."""

from __future__ import annotations

import pytest

from cyclewright import units
from cyclewright.bench.amounts import amount


@pytest.mark.parametrize(
    ("typed", "unit", "dimension", "meant"),
    [
        ("5 ft 9 in", "cm", "length", 69 * 0.0254),
        ("5’9”", "cm", "length", 69 * 0.0254),
        ("5'9", "cm", "length", 69 * 0.0254),
        ("5.9 ft", "cm", "length", 5.9 * 0.3048),
        ('31,5"', "cm", "length", 31.5 * 0.0254),
        ("12st", "kg", "mass", 168 * 0.45359237),
        ("12 stone 8 lbs", "kg", "mass", 176 * 0.45359237),
        ("75,25", "kg", "mass", 75.25),
        ("80 Kg", "kg", "mass", 80.0),
        ("0,125", "mm", "length", 0.000125),
        ("−2,5", "mm", "length", -0.0025),
        ("5.5 nm", "N.m", "torque", 5.5),
        ("84 kg ± 1", "kg", "mass", 84.0),
    ],
)
def test_what_can_be_meant_in_one_way_only_is_read_so(
    typed: str, unit: str, dimension: str, meant: float
) -> None:
    assert units.parse(amount(typed, unit), dimension).value == pytest.approx(meant)


@pytest.mark.parametrize("typed", ["1,500", "1.234,5", "28,29,28", "5'9\" tall", "14O", ""])
def test_what_could_mean_two_things_is_left_to_be_refused(typed: str) -> None:
    assert amount(typed, "mm") == typed


def test_a_length_is_no_mass() -> None:
    assert amount("5'9", "kg") == "5'9"
    assert amount("12 st", "cm") == "12 st"
