"""Labelled defaults and usual spreads: complete, sourced, told each time, and never too bold."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.errors import InputError, Integrity
from cyclewright.knowledge import defaults, uncertainty
from cyclewright.knowledge.data import table
from cyclewright.knowledge.defaults import fill
from cyclewright.sheets import closure
from cyclewright.sheets import path as paths
from cyclewright.sheets.build import allowed
from cyclewright.sheets.read import read
from cyclewright.sheets.sheets import Sheets, change, facts, load, value_at
from cyclewright.sheets.write import dump
from cyclewright.units import Quantity
from sheets.samples import LEAST, example

KINDS = {
    "full-suspension": (
        'kind = "full-suspension"\n[fork]\ntravel = "150 mm"\n[rear]\ntravel = "140 mm"\n'
        '[shock]\nstroke = "55 mm"\n[tyre.front]\nsize = "29x2.4"\n[tyre.rear]\nsize = "27.5x2.4"\n'
    ),
    "hardtail": LEAST["bike"],
    "rigid": 'kind = "rigid"\n[tyre.front]\nsize = "26x2.1"\n[tyre.rear]\nsize = "26x2.1"\n',
}
NEEDED = """
    frame.reach frame.stack frame.head_angle frame.seat_angle frame.seat_angle_actual
    frame.seat_tube frame.chainstay frame.bb_drop frame.wheelbase fork.kind
    fork.axle_to_crown fork.offset wheel.front.bead wheel.rear.bead
    wheel.front.rim_width wheel.rear.rim_width tyre.front.casing tyre.rear.casing
    cockpit.stem_length cockpit.stem_angle cockpit.stem_clamp_height
    cockpit.spacers_under cockpit.bar_width cockpit.bar_rise cockpit.bar_backsweep
    cockpit.grip_length cockpit.lever_blade post.kind saddle.height saddle.rail_length pedal.stack
    crank.length brake.front.kind mass
"""


def bare(kind: str) -> Sheets:
    return load(KINDS[kind], LEAST["rider"], LEAST["place"])


@pytest.mark.parametrize("kind", KINDS)
def test_what_the_sums_need_is_filled(kind):
    filled = fill(bare(kind)).sheets
    for name in NEEDED.split():
        assert value_at(filled, f"bike.{name}") is not None, name
    for name in ("kit_mass", "mass_includes_kit", "shoe_stack", "ride", "ground"):
        assert value_at(filled, f"rider.{name}") is not None, name
    for name in ("workshop.altitude", "workshop.temperature", "trail.altitude",
                 "trail.temperature", "trail.slope"):  # fmt: skip
        assert value_at(filled, f"place.{name}") is not None, name
    sprung = ["fork"] * (kind != "rigid") + ["shock"] * (kind == "full-suspension")
    for end in sprung:
        assert value_at(filled, f"bike.{end}.sag_target") is not None
        assert value_at(filled, f"bike.{end}.posture") is not None


@pytest.mark.parametrize("kind", KINDS)
def test_every_default_is_told_with_reason_and_source(kind):
    sheets = bare(kind)
    filled = fill(sheets)
    before, after = facts(sheets), facts(filled.sheets)
    told = {item.field for item in filled.defaults}
    assert len(told) == len(filled.defaults)
    assert set(after) - set(before) == told - {"rider.inseam"}
    for item in filled.defaults:
        assert item.because.startswith("default: ")
        assert item.source
        assert item.text
        assert filled.default(item.field) is item
    assert filled.default("bike.kind") is None


def test_what_is_on_paper_is_never_changed():
    sheets = load(*example("trail"))
    assert fill(sheets).sheets == sheets
    bolder = change(bare("hardtail"), ["bike.frame.reach=410 mm", "bike.crank.length=175 mm"])
    filled = fill(bolder)
    assert filled.sheets.bike.frame.reach.text == "410 mm"
    assert filled.sheets.bike.crank.length.text == "175 mm"
    assert filled.default("bike.crank.length") is None


def test_filling_twice_changes_nothing():
    once = fill(bare("full-suspension")).sheets
    again = fill(once)
    assert again.sheets == once
    assert {item.field for item in again.defaults} <= {"rider.inseam"}


def test_filled_geometry_closes():
    bike = fill(bare("full-suspension")).sheets.bike
    assert closure.of_bike(bike).wheelbase == pytest.approx(bike.frame.wheelbase.value, abs=0.001)
    assert 0.08 < closure.of_bike(bike).head_tube < 0.16


@given(
    st.sampled_from(sorted(KINDS)),
    st.floats(1.0, 2.3),
    st.floats(0.04, 0.24),
    st.sampled_from(["26x2.1", "27.5x2.6", "29x2.4", "29x1.9"]),
)
def test_no_default_leaves_what_can_exist(kind, height, travel, size):
    """For any rider and travel, what is filled in would be read back from a sheet."""
    changes = [f"rider.height={height:.3f} m", f"bike.tyre.front.size={size}"]
    if kind != "rigid":
        changes.append(f"bike.fork.travel={travel * 1000:.0f} mm")
    filled = fill(change(bare(kind), changes))
    for item in filled.defaults:
        value = value_at(filled.sheets, item.field)
        spec = paths.find(item.field).slot.spec
        if isinstance(value, Quantity):
            assert spec.low <= value.value <= spec.high, (item.field, item.text, allowed(spec))
            assert math.isfinite(value.value)
    assert read(dump(filled.sheets.rider), "rider") == filled.sheets.rider


def test_longer_travel_makes_a_longer_fork_and_a_slacker_head_angle():
    short, long = (
        fill(change(bare("hardtail"), [f"bike.fork.travel={travel} mm"])).sheets.bike
        for travel in (100, 160)
    )
    assert long.fork.axle_to_crown.value - short.fork.axle_to_crown.value == pytest.approx(0.06)
    assert long.frame.head_angle.value < short.frame.head_angle.value
    assert short.fork.axle_to_crown.sigma == pytest.approx(0.006)


def test_a_taller_rider_is_taken_to_have_a_larger_frame():
    small, large = (
        fill(change(bare("hardtail"), [f"rider.height={height} m"])).sheets.bike.frame
        for height in (1.55, 1.95)
    )
    assert small.reach.value < large.reach.value
    assert small.seat_tube.value < large.seat_tube.value


def test_the_trail_is_as_high_and_warm_as_the_workshop_unless_it_says():
    sheets = change(
        bare("hardtail"),
        ["place.workshop.altitude=900 m", "place.workshop.temperature=5 degC"],
    )
    trail = fill(sheets).sheets.place.trail
    assert trail.altitude.value == pytest.approx(900)
    assert trail.temperature.value == pytest.approx(278.15)


def test_a_bike_without_a_rider_gets_one_who_stands_in():
    sheets = load(LEAST["bike"], None, LEAST["place"], "80 kg")
    filled = fill(sheets)
    assert filled.sheets.rider.mass.value == 80.0
    assert filled.sheets.rider.mass_includes_kit is True
    assert "no rider is fitted" in filled.default("rider.height").because
    with pytest.raises(InputError, match="state the mass with kit"):
        fill(load(LEAST["bike"], None, LEAST["place"]))


def test_the_inseam_is_left_to_the_body_survey_and_said_so():
    filled = fill(bare("hardtail"))
    assert filled.sheets.rider.inseam is None
    assert "ANSUR" in filled.default("rider.inseam").source


def test_an_entry_that_is_not_whole_is_a_fault_of_the_knowledge(monkeypatch):
    good = {"field": "bike.crank.length", "value": "170 mm", "because": "b", "source": "s"}
    for bad in (
        {"source": ""},
        {"because": ""},
        {"derive": "wheelbase"},
        {"other": 1},
        {"field": "bike.pedal.kind", "value": "magnetic"},
    ):
        with pytest.raises(Integrity, match=r"knowledge/defaults\.toml"):
            defaults._entry(good | bad)
    derived = {key: text for key, text in good.items() if key != "value"} | {"derive": "magic"}
    with pytest.raises(Integrity, match="names no sum"):
        defaults._entry(derived)


def test_every_row_of_uncertainty_is_sourced_and_above_zero():
    rows = uncertainty.rows()
    assert len(rows) == len(table("uncertainty.toml"))
    for row in rows.values():
        assert row.source
        assert row.meaning
        assert 0 < row.value < math.inf
        assert row.kind in ("absolute", "relative")
        assert dataclasses.is_dataclass(row)


@pytest.mark.parametrize(
    ("name", "value", "kind"),
    [
        ("rider.mass", 2.0, "absolute"),
        ("rider.mass.weighed", 0.5, "absolute"),
        ("rider.kit_mass", 1.5, "absolute"),
        ("bike.mass", 0.05, "relative"),
        ("rider.inseam", 0.010, "absolute"),
        ("rider.inseam.by_shop", 0.006, "absolute"),
        ("posture.seated", 0.025, "absolute"),
        ("posture.standing", 0.050, "absolute"),
        ("gauge.relative", 0.01, "relative"),
        ("gauge.offset", 3447.4, "absolute"),
        ("gauge.dial", 27579.0, "absolute"),
        ("leverage.table", 0.02, "relative"),
        ("tyre.stiffness", 0.20, "relative"),
        ("gas.warming", 10.0, "absolute"),
    ],
)
def test_usual_spreads(name, value, kind):
    row = uncertainty.sigma(name)
    assert (row.value, row.kind) == (pytest.approx(value, rel=1e-4), kind)


def test_a_spread_on_the_sheet_wins():
    assert uncertainty.spread(Quantity(80.0, 0.4), "rider.mass") == 0.4
    assert uncertainty.spread(Quantity(80.0), "rider.mass") == 2.0
    assert uncertainty.spread(Quantity(14.0), "bike.mass") == pytest.approx(0.7)
    with pytest.raises(Integrity, match=r"add a row for rider\.mood"):
        uncertainty.sigma("rider.mood")


def test_the_spread_of_inseam_from_height_is_that_of_the_survey():
    """Measured: residual spread of crotch height on stature in the survey that body carries."""
    import numpy as np

    from cyclewright.body import segments

    _, spread = segments.crotch_height_from_stature(np.array([1.75]), None)
    row = uncertainty.sigma("rider.inseam.from_height")
    assert row.value == pytest.approx(float(np.ravel(spread)[0]), abs=0.003)
