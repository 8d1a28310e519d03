"""Nine answers make usable sheets; every wrong answer is told at once."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.errors import InputError
from cyclewright.knowledge.defaults import fill
from cyclewright.sheets.quickstart import ASKS, KEYS, check, quick_start
from cyclewright.sheets.sheets import facts, load

FULL = {
    "kind": "full-suspension",
    "country": "gb",
    "fork_travel": "150 mm",
    "rear_travel": "140 mm",
    "shock_stroke": "55 mm",
    "tyre": "29x2.4",
    "tubeless": "yes",
    "hooked": "true",
    "height": "175 cm",
    "mass": "82 kg ± 1",
    "inseam": "81 cm",
}
HARDTAIL = {key: text for key, text in FULL.items() if key not in ("rear_travel", "shock_stroke")}
HARDTAIL["kind"] = "hardtail"
RIGID = {key: text for key, text in HARDTAIL.items() if key != "fork_travel"} | {"kind": "rigid"}


def sheets_of(answers):
    return quick_start(answers).sheets()


def test_the_keys_are_the_agreed_ones():
    assert set(KEYS) == set(FULL)


def test_the_sheets_hold_what_was_answered_and_nothing_else():
    assert facts(sheets_of(FULL)) == {
        "bike.kind": "full-suspension",
        "bike.fork.travel": pytest.approx(0.15),
        "bike.rear.travel": pytest.approx(0.14),
        "bike.shock.stroke": pytest.approx(0.055),
        "bike.wheel.front.hooked": True,
        "bike.wheel.rear.hooked": True,
        "bike.tyre.front.size": "29x2.4",
        "bike.tyre.front.width": pytest.approx(0.06096),
        "bike.tyre.front.bead": 0.622,
        "bike.tyre.front.tubeless": True,
        "bike.tyre.rear.size": "29x2.4",
        "bike.tyre.rear.width": pytest.approx(0.06096),
        "bike.tyre.rear.bead": 0.622,
        "bike.tyre.rear.tubeless": True,
        "rider.mass": 82.0,
        "rider.mass_includes_kit": True,
        "rider.height": 1.75,
        "rider.inseam": 0.81,
        "place.country": "GB",
    }


@pytest.mark.parametrize("answers", [FULL, HARDTAIL, RIGID], ids=["full", "hardtail", "rigid"])
def test_every_kind_of_bike_can_be_filled(answers):
    filled = fill(sheets_of(answers))
    assert filled.sheets.bike.frame.wheelbase is not None
    assert "bike.frame.reach" in {item.field for item in filled.defaults}


@pytest.mark.parametrize("answers", [FULL, HARDTAIL], ids=["full", "hardtail"])
def test_every_other_field_stands_as_a_comment_with_its_policy(answers):
    made = quick_start(answers)
    assert '# mass_limit = "… kg"  # look up: ' in made.bike_toml
    assert '# reach = "… mm"  # usual: ' in made.bike_toml
    assert "# sex = " in made.rider_toml
    assert ("[shock]" in made.bike_toml) == (answers["kind"] == "full-suspension")


def test_a_comment_taken_away_is_a_field():
    made = quick_start(HARDTAIL)
    text = re.sub(r'# reach = "… mm".*', 'reach = "440 mm"', made.bike_toml)
    sheets = load(text, made.rider_toml, made.place_toml)
    assert sheets.bike.frame.reach.value == pytest.approx(0.44)


def test_the_inseam_may_be_left_out():
    assert sheets_of(FULL | {"inseam": ""}).rider.inseam is None


def test_every_wrong_answer_is_told_at_once():
    wrong = {
        "kind": "hardtal",
        "country": "Britain",
        "fork_travel": "150",
        "rear_travel": "14 psi",
        "tyre": "29er",
        "tubeless": "perhaps",
        "height": "-175 cm",
        "mas": "82 kg",
        "inseam": "3 m",
    }
    with pytest.raises(InputError, match="did you mean hardtail") as caught:
        quick_start(wrong)
    told = {problem.field for problem in caught.value.problems}
    assert told == {*wrong, "hooked", "mass"}


def test_nothing_answered_names_every_question():
    with pytest.raises(InputError, match="is missing") as caught:
        quick_start({})
    asked = {ask.key for ask in ASKS if not ask.optional and not ask.kinds}
    assert {problem.field for problem in caught.value.problems} == asked


def test_what_a_bike_has_not_is_refused():
    with pytest.raises(InputError, match="a hardtail has none") as caught:
        quick_start(HARDTAIL | {"rear_travel": "100 mm"})
    assert [problem.field for problem in caught.value.problems] == ["rear_travel"]
    with pytest.raises(InputError, match="a rigid has none"):
        quick_start(RIGID | {"fork_travel": "100 mm"})


def test_answers_that_clash_with_each_other():
    with pytest.raises(InputError, match=r"inseam is 1\.1 m"):
        quick_start(FULL | {"inseam": "1.1 m"})
    with pytest.raises(InputError, match="shock_stroke is 25 mm"):
        quick_start(FULL | {"shock_stroke": "25 mm"})


def test_one_answer_by_itself():
    assert check("mass", "82 kg") == ()
    assert check("kind", "rigid") == ()
    assert [problem.code for problem in check("mass", "82")] == ["unit-missing"]
    assert [problem.field for problem in check("tyre", "")] == ["tyre"]


@given(st.dictionaries(st.sampled_from([*KEYS, "other"]), st.text(max_size=20)))
def test_any_answers_make_sheets_or_are_refused(answers):
    try:
        sheets_of(FULL | answers)
    except InputError as error:
        assert {problem.field for problem in error.problems} <= {*KEYS, "other"}
        assert all(problem.line().isprintable() for problem in error.problems)
