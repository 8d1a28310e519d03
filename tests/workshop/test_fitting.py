"""The fit as a use case: the whole answer, a re-fit, a fit carried over, and plain data."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from cyclewright.sheets.sheets import Sheets, change, load
from cyclewright.workshop import fitting
from cyclewright.workshop.fitting import FitAnswer

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def sheets(bike: str = "trail", rider: str = "heavy", *changes: str) -> Sheets:
    read = load(
        EXAMPLES / f"bikes/{bike}.toml",
        EXAMPLES / f"riders/{rider}.toml",
        EXAMPLES / "places/left.toml",
    )
    return change(read, list(changes))


@cache
def fitted(bike: str = "trail", rider: str = "heavy") -> FitAnswer:
    return fitting.fit(sheets(bike, rider))


@pytest.mark.parametrize("bike", ["trail", "hardtail", "longtravel"])
def test_every_part_of_the_fit_is_there_as_plain_data(bike):
    answer = fitted(bike)
    data = json.loads(json.dumps(answer.to_json(), allow_nan=False))
    assert len(data["methods"]) == 4
    assert {row["name"] for row in data["position"]} >= {
        "saddle_height", "saddle_setback", "saddle_tilt", "spacers_under", "lever_angle",
        "lever_inboard", "lever_reach",
    }  # fmt: skip
    assert data["handles"] and data["droppers"]
    assert [one["way"] for one in data["tilt"]][:3] == ["level", "nose up", "nose down"]
    assert (data["rough"] is not None) is (bike == "hardtail")
    assert data["steerer"] == []


def test_the_short_rider_is_told_the_dropper_and_how_far_off_the_next_one_is():
    answer = fitted("trail", "light")
    assert answer.dropper_said.startswith("Up to 150 mm of travel fits with")
    assert "170 mm is" in answer.dropper_said and "too long" in answer.dropper_said
    (long, *_) = [item for item in answer.findings if item.code == "dropper-too-long"]
    assert long.severity == "stop"


def test_handles_may_be_left_out_and_are_typed_as_changes():
    assert fitting.fit(sheets(), with_handles=False).handles == ()
    for row in fitted().handles:
        changed = change(sheets(), list(row.changes))
        assert changed != sheets()


def test_a_proved_position_gets_its_cut():
    answer = fitting.fit(sheets(), proved=True, with_handles=False)
    assert [item.name for item in answer.steerer] == ["steerer_cut"]
    assert "cannot be undone" in answer.steerer_said
    assert any(item.field == "bike.frame.headset_height" for item in answer.questions)


def test_another_rider_on_the_same_bike_is_told_what_to_do_again():
    answer = fitting.refit(sheets("trail", "heavy"), sheets("trail", "light"))
    told = " ".join(answer.redo)
    assert all(word in told for word in ("Saddle height", "Fork pressure", "Brake levers"))
    assert {item.code for item in answer.new} >= {"dropper-too-long"}
    assert answer.gone == ()
    back = fitting.refit(sheets("trail", "light"), sheets("trail", "heavy"))
    assert {item.code for item in back.gone} == {item.code for item in answer.new}


def test_a_part_that_moves_nothing_asks_for_nothing():
    answer = fitting.refit(sheets(), sheets("trail", "heavy", "bike.brake.front.rotor_min=1.6 mm"))
    assert answer.changes == answer.redo == answer.new == answer.gone == ()


def test_other_shoes_are_a_new_saddle_height():
    thick = sheets("trail", "heavy", "rider.shoe_stack=40 mm")
    answer = fitting.refit(sheets(), thick)
    height = next(one for one in answer.changes if one.name == "saddle_height")
    assert height.resolved is not None and height.before is not None
    assert height.resolved > height.before
    assert height.kept == height.before
    json.dumps(answer.to_json(), allow_nan=False)


def test_carrying_over_says_where_to_set_it_and_what_gave():
    answer = fitting.carry_over(sheets("hardtail"), sheets("trail"))
    data = json.loads(json.dumps(answer.to_json(), allow_nan=False))
    assert [row["what"] for row in data["matches"]] == ["saddle to pedal", "saddle to grip"]
    assert data["said"].startswith(("What had to give", "All three contacts"))
    carried, position = (
        {row["name"]: row for row in data[key]} for key in ("settings", "position")
    )
    assert position["saddle_height"] == carried["saddle_height"]
    assert position["spacers_under"] == carried["spacers_under"]
    own = fitting.fit(sheets("trail"), with_handles=False)
    deeper = position["post_insertion"]["value"] - next(
        item.value for item in own.position if item.name == "post_insertion"
    )
    lower = own.recommended.value - carried["saddle_height"]["value"]
    assert deeper == pytest.approx(lower) and abs(lower) > 1e-3
    knee = {item["name"]: item["value"] for item in data["angles"]}["knee_at_bottom"]
    bent = next(item.value for item in own.angles if item.name == "knee_at_bottom")
    assert (knee > bent) is (lower > 0)
    same = fitting.carry_over(sheets(), sheets())
    assert same.said.startswith("All three contacts come out where they were")
