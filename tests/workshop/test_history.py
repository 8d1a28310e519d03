"""What was set and read, in order, by whom: on screen, at the command line, on the card."""

from __future__ import annotations

import pytest

from cyclewright.sheets.sheets import load
from cyclewright.workshop import advising, build, care, printed, readings, receive
from cyclewright.workshop.readings import append_settings
from workshop.shops import EXAMPLES, opened

COIL = ("bikes/longtravel", "riders/heavy", "places/left")
PSI = 6894.757293168361


def told(shop, bike=1):
    return [
        (row.part, row.shown(), row.shown_read(), row.by) for row in care.show(shop, bike).history
    ]


def test_each_sag_stands_beside_the_pressure_that_gave_it(shop):
    opened(shop)
    assert told(shop) == []
    readings.read(shop, 1, "fork-pressure", "52 psi", by="Mara Quill")
    readings.read(shop, 1, "shock-pressure", "120 psi", by="Mara Quill")
    readings.read(shop, 1, "fork-sag", "29 mm, 31 mm, 30 mm", by="Ada Lind")
    readings.read(shop, 1, "fork-pressure", "58 psi", by="Mara Quill")
    readings.read(shop, 1, "fork-sag", "28 mm", by="Mara Quill")
    readings.read(shop, 1, "fork-sag", "27 mm", by="Mara Quill")
    assert told(shop) == [
        ("Fork", "52 psi", "30 mm", "Ada Lind"),
        ("Shock", "120 psi", "", "Mara Quill"),
        ("Fork", "58 psi", "28 mm", "Mara Quill"),
        ("Fork", "58 psi", "27 mm", "Mara Quill"),
    ]
    first, *_ = care.show(shop, 1).history
    assert first.how == "standing, mean of 29, 31, 30"
    assert first.value == pytest.approx(52 * PSI)
    assert care.show(shop, 1).to_json("metric")["history"][0]["shown"] == "3.60 bar"


def test_a_sag_before_anything_was_set_says_that_nobody_read_the_pump(shop):
    opened(shop)
    readings.read(shop, 1, "fork-sag", "27 mm")
    (row,) = care.show(shop, 1).history
    assert row.how.endswith("as advised, not noted")
    assert row.value is not None and row.read == pytest.approx(0.027)


def test_what_a_step_wrote_down_stands_once(built):
    readings.read(built, 1, "fork-pressure", "56 psi")
    readings.read(built, 1, "fork-sag", "24 mm")
    parts = [part for part, *_ in told(built)]
    assert {"Fork", "Shock", "Fork rebound", "Saddle height", "Lever angle"} <= set(parts)
    assert "Fork sag" not in parts
    settings = [part for part in parts if part not in ("Fork", "Shock")]
    assert len(settings) == len(set(settings))


def test_what_was_undone_is_gone_and_what_was_set_by_hand_stands(shop):
    opened(shop)
    numbers = readings.read(shop, 1, "fork-pressure", "52 psi").numbers
    append_settings(shop, 1, [{"name": "fork_rebound", "value": 7.0, "unit": "1"}])
    assert told(shop)[-1][:2] == ("Fork rebound", "7")
    assert build.undo(shop, 1, number=numbers[0]).act.numbers == numbers
    assert [row[0] for row in told(shop)] == ["Fork rebound"]


def test_the_card_has_the_newest_first_with_initials(shop):
    opened(shop)
    for pressure, sag in ((52, 30), (58, 28)):
        readings.read(shop, 1, "fork-pressure", f"{pressure} psi", by="Mara Quill")
        readings.read(shop, 1, "fork-sag", f"{sag} mm", by="Mara Quill")
    lines = list(printed.history(printed.Printed(shop, 1, "trade")))
    assert [(line.part, line.set, line.read, line.by) for line in lines] == [
        ("Fork", "58 psi", "28 mm", "MQ"),
        ("Fork", "52 psi", "30 mm", "MQ"),
    ]


def test_a_coil_is_told_by_its_rate(shop):
    rough = load(*(EXAMPLES / f"{name}.toml" for name in COIL), None)
    receive.open_bike(shop, rough)
    append_settings(shop, 1, [{"name": "shock_rate", "value": 78807.0, "unit": "N/m"}])
    readings.read(shop, 1, "shock-sag", "19 mm")
    (row,) = care.show(shop, 1).history
    assert (row.name, row.part, row.value) == ("shock_rate", "Shock coil", 78807.0)
    assert row.read == pytest.approx(0.019)
    assert row.shown() == "450 lb/in"


def test_a_coil_that_stays_is_told_as_such_and_never_by_the_pump(shop):
    rough = load(*(EXAMPLES / f"{name}.toml" for name in COIL), None)
    receive.open_bike(shop, rough)
    sag = advising.advise_bike(shop, 1).setting("shock_sag")
    assert sag is not None and sag.value is not None
    said = readings.read(shop, 1, "shock-sag", f"{sag.value * 1000:.1f} mm")
    assert said.stop and "pump" not in said.said
