"""What goes between two materials, by the table and as a plan says it."""

from __future__ import annotations

import pytest

from cyclewright.knowledge.compounds import USES, WORDS, between, pairs
from cyclewright.record.plan import make_plan

KNOWN = {
    "bike.kind": "hardtail", "bike.post.kind": "plain", "bike.post.material": "alloy",
    "bike.frame.material": "steel",
}  # fmt: skip


def test_every_row_is_sourced_and_every_use_ends_in_a_row_for_all() -> None:
    for row in pairs():
        assert row.compound in WORDS and row.because and row.source
    for use in USES:
        assert [row for row in pairs() if row.use == use][-1].a == "any"


@pytest.mark.parametrize(
    ("use", "one", "other", "compound"),
    [
        ("tube", "alloy", "steel", "grease"),
        ("tube", "carbon", "alloy", "paste"),
        ("tube", "alloy", "carbon", "paste"),
        ("tube", "titanium", "alloy", "anti-seize"),
        ("tube", "titanium", "carbon", "paste"),
        ("clamp", "alloy", "alloy", "dry"),
        ("clamp", "carbon", "alloy", "paste"),
        ("thread", "titanium", "alloy", "anti-seize"),
        ("thread", "steel", "alloy", "grease"),
    ],
)
def test_pairs_of_the_trade(use, one, other, compound) -> None:
    assert between(use, one, other).compound == compound
    assert between(use, other, one).compound == compound


def test_what_is_not_known_is_not_guessed_unless_it_cannot_matter() -> None:
    assert between("tube", None, None) is None
    assert between("tube", "alloy", None) is None
    assert between("tube", None, "carbon").compound == "paste"


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({}, "grease"),
        ({"bike.frame.material": "carbon"}, "assembly paste"),
        ({"bike.post.material": "titanium"}, "anti-seize"),
    ],
)
def test_the_post_goes_in_with_what_its_pair_wants(facts, said) -> None:
    step = make_plan(KNOWN | facts, {}).step("post-in")
    assert step is not None and step.compound == said


def test_an_unknown_pair_says_both() -> None:
    step = make_plan({k: v for k, v in KNOWN.items() if "frame" not in k}, {}).step("post-in")
    assert step is not None and "grease" in step.compound and "paste" in step.compound


def test_a_titanium_bolt_takes_anti_seize_unless_the_sheet_says() -> None:
    grade = {"bike.fastener.front_caliper.grade": "titanium"}
    step = make_plan(KNOWN | grade, {}).step("front-caliper")
    assert step is not None and step.compound == "anti-seize"
    said = grade | {"bike.fastener.front_caliper.compound": "patch"}
    step = make_plan(KNOWN | said, {}).step("front-caliper")
    assert step is not None and step.compound.startswith("patch bolt")
