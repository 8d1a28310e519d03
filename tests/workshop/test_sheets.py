"""Sheets as use cases: overview, and writing without ever writing over."""

from __future__ import annotations

import pytest

from cyclewright.errors import InputError
from cyclewright.workshop import sheets as use
from sheets.samples import example

ANSWERS = {
    "kind": "hardtail",
    "country": "GB",
    "fork_travel": "120 mm",
    "tyre": "29x2.25",
    "tubeless": "yes",
    "hooked": "no",
    "height": "1.75 m",
    "mass": "82 kg",
}


def test_an_overview_names_defaults_and_what_to_look_up():
    made = use.quick_start(ANSWERS)
    found = use.overview(made.sheets())
    assert "bike.frame.reach" in {item.field for item in found.defaults}
    asked = {question.field for question in found.questions}
    assert {"bike.hands_delivered", "bike.mass_limit", "bike.tyre.front.hookless_ok"} <= asked
    assert found.to_json()["defaults"][0]["because"].startswith("default: ")
    assert found.rider == "1.75 m, 82 kg"


def test_a_complete_sheet_leaves_nothing_open():
    found = use.overview(use.read_sheets(*example()))
    assert found.defaults == ()
    assert (
        found.bike == "Tarnwick Wheelwrights Bracken Fourteen (full-suspension, 140 mm and 130 mm)"
    )


def test_a_bike_without_any_mass_still_has_an_overview():
    bike, _, place = example()
    found = use.overview(use.read_sheets(bike, None, place))
    assert found.rider == "rider not fitted"


def test_three_sheets_are_written_and_never_over_others(tmp_path):
    made = use.quick_start(ANSWERS)
    written = use.write_sheets(made, tmp_path / "new")
    assert [path.name for path in written] == ["bike.toml", "rider.toml", "place.toml"]
    assert use.read_sheets(*written).bike.kind == "hardtail"
    (tmp_path / "new" / "rider.toml").unlink()
    with pytest.raises(InputError, match="stands there already") as caught:
        use.write_sheets(made, tmp_path / "new")
    assert len(caught.value.problems) == 2
    assert not (tmp_path / "new" / "rider.toml").exists()


def test_a_folder_that_cannot_be_is_told(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputError, match="cannot be written"):
        use.write_sheets(use.quick_start(ANSWERS), tmp_path / "file" / "inside")
