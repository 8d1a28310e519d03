"""Settings of sheets and of a bike on record: their shapes, and what is made by hand."""

from __future__ import annotations

import json

import pytest

from cyclewright.errors import InputError
from cyclewright.sheets.sheets import load
from cyclewright.workshop import advising
from sheets.samples import example
from workshop.shops import opened


def test_answers_have_the_shapes_that_others_rely_on():
    answer = advising.advise(
        load(*example("trail", "heavy")), ["bike.cockpit.spacers_under+=20 mm"]
    )
    data = answer.to_json()
    assert set(data) == {"settings", "findings", "questions", "changes"}
    assert set(data["changes"][0]) == {"name", "unit", "before", "kept", "resolved"}
    assert set(advising.advise(load(*example("trail", "heavy"))).to_json()) == {
        "settings",
        "findings",
        "questions",
    }
    json.dumps(data, allow_nan=False)
    before, after = advising.solutions(
        load(*example("trail", "heavy")), ["bike.cockpit.spacers_under+=20 mm"]
    )
    assert after.seated.front_load[0] < before.seated.front_load[0]


def test_what_is_made_by_hand_is_kept_and_everything_follows(shop):
    bike = opened(shop)
    advised = advising.advise_bike(shop, bike).setting("fork_pressure")
    assert advised is not None
    rows = {
        row.name: row for row in advising.what_if(shop, bike, {"fork_pressure": "50 psi"}).changes
    }
    made = rows["fork_pressure"]
    assert made.before == pytest.approx(advised.value)
    assert made.kept == made.resolved == pytest.approx(50 * 6894.757, rel=1e-6)
    sag = rows["fork_sag"]
    assert sag.kept > sag.before
    assert rows["head_angle_at_sag"].kept > rows["head_angle_at_sag"].before
    assert advising.advise_bike(shop, bike).setting("fork_pressure").value == advised.value


def test_what_if_refuses_what_a_limit_forbids_and_tells_all_at_once(shop):
    bike = opened(shop)
    with pytest.raises(InputError, match="fork's maker") as caught:
        advising.what_if(
            shop, bike, {"fork_pressure": "400 psi", "mud": "1 mm", "rear_tyre_pressure": "5"}
        )
    assert {problem.field for problem in caught.value.problems} == {
        "fork_pressure", "mud", "rear_tyre_pressure",
    }  # fmt: skip
