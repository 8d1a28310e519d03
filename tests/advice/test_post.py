from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advice.clean import clean, planted, without
from cyclewright.advice.height import Height, saddle_height
from cyclewright.advice.post import PostFacts, check, facts_of, longest_fitting, questions
from cyclewright.knowledge import rules
from cyclewright.knowledge.defaults import fill
from cyclewright.setting import Finding
from cyclewright.sheets.sheets import Sheets


def said(sheets: Sheets, height: Height) -> list[Finding]:
    return list(check(sheets, fill(sheets).sheets, height))


FACTS = PostFacts(0.40, 0.045, 0.04, 0.20, 0.53, 0.10, 0.26, 0.09)


def test_the_bounds_of_a_dropper_by_hand():
    bounds = {limit.owner: round(limit.value, 3) for limit in FACTS.limits()}
    assert bounds == {
        "the dropper's travel and head": 0.685,  # 400 + 45 + 200 + 40
        "the frame's greatest insertion": 0.715,  # 400 + 45 + 530 - 260
        "the frame's least insertion": 0.875,
        "the post's least insertion": 0.885,
    }
    assert FACTS.lowest().owner == "the frame's greatest insertion"


def test_insertion_and_saddle_height_invert():
    for limit, depth in zip(FACTS.limits()[1:], (0.26, 0.10, 0.09), strict=True):
        assert FACTS.insertion(limit.value) == pytest.approx(depth, abs=1e-12)


lengths = st.floats(0.02, 0.3)


@given(st.floats(0.30, 0.55), st.floats(0.1, 0.24), st.floats(0.5, 0.9), lengths)
def test_the_travel_named_fits_and_the_next_longer_does_not(seat_tube, travel, height, depth):
    facts = replace(FACTS, seat_tube=seat_tube, travel=travel, frame_insertion_max=0.1 + depth)
    facts = replace(facts, length=2 * travel + 0.14)
    found = longest_fitting(facts, height)
    longer = [t for t in rules.dropper_travels() if (found or 0) < t < travel - 1e-9]
    if found is not None:
        assert facts.shorter(found).suits(height)
    assert not any(facts.shorter(t).suits(height) for t in longer)


@given(lengths, lengths)
def test_less_travel_never_raises_the_saddle(one, other):
    low, high = sorted((one, other))
    facts = replace(FACTS, travel=high, length=2 * high + 0.14)
    assert facts.shorter(low).lowest().value <= facts.lowest().value + 1e-12


def test_a_dropper_too_long_names_the_limit_by_how_much_and_which_fits():
    height = Height(0.66, 0.01, "by hand")
    (finding,) = said(planted("bike.post.travel=200 mm", "bike.post.length=530 mm"), height)
    # 410 + 48 + 530 - 250 = 738 mm: 78 mm over
    assert (finding.code, finding.severity) == ("dropper-too-long", "stop")
    assert "the frame's greatest insertion" in finding.facts[-1]
    assert "738 mm" in finding.facts[-1] and "78 mm" in finding.facts[-1]
    # 150 mm: 410 + 48 + 430 - 250 = 638 mm; 170 mm: 678 mm
    assert "150 mm travel" in finding.do and "430 mm long" in finding.do


def test_a_clash_inside_the_interval_warns():
    near = Height(0.675, 0.01, "by hand")
    (finding,) = said(clean(), near)
    assert finding.severity == "warn"


def test_a_post_too_short_is_measured_against_the_deeper_mark():
    (finding,) = said(clean(), Height(0.86, 0.005, "by hand"))
    assert finding.code == "post-too-short"
    assert "the frame's least insertion" in finding.facts[-1]
    assert "32 mm" in finding.do  # 860 - (410 + 48 + 470 - 100)


def test_no_dropper_fits_a_very_short_rider():
    (finding,) = said(clean(), Height(0.52, 0.005, "by hand"))
    assert "plain post" in finding.do


def test_a_plain_post_has_its_own_words():
    sheets = planted("bike.post.length=350 mm")
    sheets = replace(
        sheets,
        bike=sheets.bike.model_copy(
            update={"post": sheets.bike.post.model_copy(update={"kind": "plain", "travel": None})}
        ),
    )
    (finding,) = said(sheets, Height(0.48, 0.005, "by hand"))
    assert finding.code == "post-too-long"


@pytest.mark.parametrize(
    "field",
    [
        "bike.frame.insertion_min",
        "bike.frame.insertion_max",
        "bike.frame.seat_tube",
        "bike.post.insertion_min",
        "bike.post.length",
    ],
)
def test_a_missing_limit_is_asked_and_never_guessed(field):
    asked = list(questions(without(field)))
    assert [getattr(item, "field", None) for item in asked] == [field]


def test_the_saddle_height_follows_the_inseam_and_its_spread():
    told = saddle_height(fill(clean()).sheets)
    guessed = saddle_height(fill(without("rider.inseam")).sheets)
    assert told is not None and guessed is not None
    assert told.value == pytest.approx(0.883 * 0.82, abs=0.02)
    assert guessed.sigma > 2 * told.sigma
    assert "measure the inseam" in guessed.because
    taller = saddle_height(fill(planted("rider.inseam=860 mm")).sheets)
    assert taller is not None and taller.value > told.value


def test_a_seat_tube_that_is_only_a_default_makes_no_finding():
    assert said(without("bike.frame.seat_tube"), Height(0.52, 0.005, "by hand")) == []


def test_a_post_that_is_part_of_the_frame_has_no_facts():
    sheets = clean()
    bike = sheets.bike.model_copy(
        update={"post": sheets.bike.post.model_copy(update={"kind": "integrated"})}
    )
    assert facts_of(replace(sheets, bike=bike)) is None
