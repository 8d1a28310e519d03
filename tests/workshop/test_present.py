"""A gate is asked of the present: told cases in which old ticks once passed for proof."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cyclewright.advice import brakes
from cyclewright.errors import Refusal
from cyclewright.sheets.quickstart import quick_start
from cyclewright.sheets.sheets import load
from cyclewright.workshop import build, care, paper, receive, release
from cyclewright.workshop import recall as recalls
from cyclewright.workshop.shop import Shop
from workshop.shops import build_to_gate, opened, text_of


def items(shop: Shop, gate: str = "ride") -> set[str]:
    return {row.item for row in release.gate(shop, 1, gate, pass_it=False).missing}


def stands_no_more(shop: Shop) -> str:
    """That no face calls the bike released, and why."""
    shown = care.show(shop, 1)
    assert shown.released is None and shown.was_released and shown.lapsed
    assert "release" not in shown.passed and shown.stage != "Care"
    (row,) = receive.list_bikes(shop)
    assert row.blocked and row.lapsed == shown.lapsed and row.stage == shown.stage
    assert "Do not ride" in text_of(paper.print_document(shop, "tag", 1))
    assert "not to be ridden until checked" in text_of(paper.print_document(shop, "hand-over", 1))
    with pytest.raises(Refusal):
        release.release(shop, 1, by="Ada")
    return shown.lapsed


def test_a_country_with_the_other_hand_takes_the_proof_of_the_hands(released: Shop) -> None:
    assert "right hand" in text_of(paper.print_document(released, "tag", 1))
    said = build.change_sheet(released, 1, ["place.country=US"], by="Ada")
    assert "hands-proved" in said.reopened
    assert "hands" in stands_no_more(released) and "brake-hands" in items(released)
    build.undo(released, 1, by="Ada")
    assert care.show(released, 1).released is not None


def test_hands_signed_anew_are_proved_anew(released: Shop) -> None:
    build.change_sheet(released, 1, ["rider.hands_wish=front-left"], by="Ada")
    assert "brake-hands" in items(released)
    stands_no_more(released)


@pytest.mark.parametrize(
    ("change", "held"),
    [
        ("bike.fork.travel=150 mm", {"springs", "sag", "hose-slack"}),
        ("bike.fork.axle_to_crown=560 mm", {"sag"}),
        ("rider.mass=62 kg", {"springs", "sag", "tyre-pressures", "mass-and-use"}),
        ("rider.mass=135 kg", {"springs", "sag", "tyre-pressures", "mass-and-use"}),
        ("bike.axle.front.kind=lever", {"axles"}),
    ],
)
def test_what_a_proof_rests_on_takes_it_along(released: Shop, change: str, held: set[str]) -> None:
    build.change_sheet(released, 1, [change], by="Ada")
    assert held <= items(released)
    stands_no_more(released)


def test_a_recalled_bike_is_passed_nowhere(released: Shop) -> None:
    marks = {"maker": "Grabb", "batch": "B7", "marks_only": True}
    recalls.fit_part(released, 1, "front brake lever", by="Ada", **marks)
    told = {"why": "its pivot breaks", "do": "new lever", "source": "its maker", "by": "Ada"}
    recalls.open_recall(released, "front brake lever", maker="Grabb", batches=["B7"], **told)
    shown = care.show(released, 1)
    assert shown.passed == {} and shown.released is None
    assert receive.list_bikes(released)[0].stage == shown.stage == "Release"


def test_nine_answers_pass_no_gate(shop: Shop) -> None:
    answers = {
        "kind": "full-suspension", "country": "GB", "fork_travel": "140 mm",
        "rear_travel": "130 mm", "shock_stroke": "50 mm", "tyre": "29x2.4", "tubeless": "true",
        "hooked": "true", "height": "1.75 m", "mass": "82 kg", "inseam": "810 mm",
    }  # fmt: skip
    texts = quick_start(answers)
    found = load(texts.bike_toml, texts.rider_toml, texts.place_toml)
    receive.open_bike(shop, found, by="Ada")
    build.change_sheet(shop, 1, ["bike.mass_limit=130 kg", "bike.use_class=4"], by="Ada")
    # the marks are asked at the step itself: without them no insertion is taken at all
    marks = ["bike.post.insertion_min=80 mm", "bike.frame.insertion_min=90 mm"]
    build.change_sheet(shop, 1, marks, by="Ada")
    build_to_gate(shop, 1)
    wanted = items(shop)
    assert {"axles", "post", "springs", "sag", "brake-hands"} <= wanted
    asked = " ".join(row.why for row in release.gate(shop, 1, "ride").missing)
    for name in ("bike.axle.front.kind", "bike.post.kind", "bike.fork.kind", "bike.shock.kind"):
        assert name in asked


def test_a_bike_on_record_under_letters_of_no_country_is_read_and_asks_for_it(shop: Shop) -> None:
    """An earlier version took any two letters: its bikes open, and the country is a question."""
    opened(shop)
    state = shop.state(1)
    older = replace(state, bike=9, sheets={**state.sheets, "place": 'country = "UK"'})
    found = shop.sheets(older)
    assert found.place.country is None
    assert "place.country" in {one.field for one in brakes.hands(found).questions}
