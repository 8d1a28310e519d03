"""Papers of a bike on record: what the record and the sums say, in one place."""

from __future__ import annotations

import io
from datetime import date

import pytest
from pypdf import PdfReader

from cyclewright.errors import InputError, Refusal
from cyclewright.sheets.sheets import load
from cyclewright.workshop import (
    advising,
    build,
    carton,
    due,
    erase,
    inspection,
    paper,
    printed,
    receive,
    release,
)
from cyclewright.workshop.shop import Shop
from waking import woken
from workshop.shops import EXAMPLES, build_until, opened, record, sheets, text_of


def _released(shop: Shop) -> None:
    release.gate(shop, 1, "ride", by="Ada")
    build_until(shop, 1, "Prove")
    for step in build.plan_for(shop, 1).steps:
        if step.stage == "Release" and step.id != "explained-first-recheck":
            record(shop, 1, step)
    noted = "2031-05-28, manuals and a spare hanger"
    build.record_step(shop, 1, "explained-first-recheck", value=noted, by="Ada")
    release.gate(shop, 1, "release", by="Ada")
    release.release(shop, 1, by="Ada", second="Bo")


@pytest.mark.parametrize("what", paper.DOCUMENTS)
def test_every_paper_prints_from_a_fresh_record_and_twice_alike(shop: Shop, what: str) -> None:
    bike = opened(shop)
    if what == "claim":
        with pytest.raises(Refusal, match="how and when the carton came"):
            paper.print_document(shop, what, bike)
        carton.arrive(shop, bike, carrier="Hill Parcels", damage="corner crushed")
    made = paper.print_document(shop, what, bike)
    assert made.startswith(b"%PDF")
    assert made == paper.print_document(shop, what, bike)


def test_a_paper_nobody_knows(shop: Shop) -> None:
    opened(shop)
    with pytest.raises(InputError, match="print one of: hand-over, plan"):
        paper.print_document(shop, "poster", 1)
    with pytest.raises(InputError, match="no such bike"):
        paper.print_document(shop, "plan", 9)


def test_a_bike_that_is_not_released_is_only_a_draft(shop: Shop) -> None:
    opened(shop)
    said = text_of(paper.print_document(shop, "hand-over", 1))
    assert "Draft: this bike is not released" in said
    assert "None booked" in said
    assert "Do not ride" in text_of(paper.print_document(shop, "tag", 1))


def test_a_re_check_that_is_booked_stands_on_paper_in_every_visit(built: Shop) -> None:
    _released(built)
    inspection.open_inspection(built, 1, "returned", by="Ada")
    assert "28 May 2031" in text_of(paper.print_document(built, "hand-over", 1))
    due.book(built, 1, date(2031, 6, 4))
    said = text_of(paper.print_document(built, "hand-over", 1))
    assert "4 June 2031" in said and "28 May 2031" not in said


def test_the_hand_over_sheet_of_a_released_bike(built: Shop) -> None:
    _released(built)
    said = text_of(paper.print_document(built, "hand-over", 1))
    state = built.state(1)
    advice = advising.advise_bike(built, 1)
    made = state.settings["fork_pressure"].value / 6894.757293168361
    assert f"Pressure set {made:.0f} psi" in said
    faceplate = next(bolt for bolt in build.plan_for(built, 1).bolts() if bolt.joint == "faceplate")
    assert faceplate.torque is not None
    assert f"Stem faceplate bolts 4 mm hex {faceplate.torque.set:.1f}" in said
    height = advice.setting("saddle_height")
    assert height is not None
    assert "28 May 2031" in said
    assert "manuals and a spare hanger" in said
    assert "Draft" not in said
    assert state.released is not None
    assert state.released.signature is not None
    assert state.released.signature["signature"][:24] in said
    assert "Ride gate passed Ada" in said
    assert "right hand" in said
    assert "Do not ride" not in text_of(paper.print_document(built, "tag", 1))


def test_a_joint_touched_after_release_takes_its_torque_off_the_sheet(built: Shop) -> None:
    _released(built)
    before = text_of(paper.print_document(built, "hand-over", 1))
    build.touch(built, 1, ["front_axle"], "front wheel out for a puncture", by="Ada")
    after = text_of(paper.print_document(built, "hand-over", 1))
    assert "Front axle 6 mm hex 11.0 11.0 11.0" in before
    assert "Front axle 6 mm hex 11.0 11.0 reopened" in after
    assert "Released once, and no more: not to be ridden until checked" in after
    assert "Do not ride" in text_of(paper.print_document(built, "tag", 1))


def test_the_letterhead_is_the_shops_own(shop: Shop) -> None:
    opened(shop)
    assert paper.letterhead(shop).name == "Ada"
    file = shop.data / paper.LETTERHEAD
    file.write_text('name = "Two Rivers"\nlines = ["Old Mill Yard"]\n', encoding="utf-8")
    said = text_of(paper.print_document(shop, "hand-over", 1))
    assert "Two Rivers" in said
    assert "Old Mill Yard" in said
    for torn in ("name = ", "name = 3", 'name = "A"\nlines = [1]', "[" * 9000):
        file.write_text(torn, encoding="utf-8")
        with pytest.raises(InputError, match="letterhead"):
            paper.letterhead(shop)


def test_the_sag_strip_shows_the_makers_goal_in_millimetres(shop: Shop) -> None:
    opened(shop)
    said = text_of(paper.print_document(shop, "sag-strip", 1))
    assert "28 mm" in said
    assert "20 % of 140 mm, standing" in said
    assert "15 mm" in said
    assert "30 % of 50 mm, seated" in said


def test_units_follow_the_reader(shop: Shop) -> None:
    opened(shop)
    assert " psi" in text_of(paper.print_document(shop, "setting-card", 1))
    metric = text_of(paper.print_document(shop, "setting-card", 1, "metric"))
    assert " bar" in metric
    assert " psi" not in metric


def test_the_drawing_of_sheets_and_of_the_record(shop: Shop) -> None:
    opened(shop)
    plain = paper.draw(sheets())
    assert plain.startswith("<svg")
    assert "<style" not in plain
    assert "Wren Tolliquay" in plain
    recorded = paper.draw_bike(shop, 1)
    assert 'class="before"' not in recorded
    moved = paper.draw_bike(shop, 1, changes=["bike.cockpit.spacers_under+=10 mm"])
    assert 'class="before"' in moved
    assert 'class="before"' in paper.draw(sheets(), before=sheets(None, "80 kg"))
    with pytest.raises(InputError, match="use seated or standing"):
        paper.draw(sheets(), posture="lying")  # type: ignore[arg-type]


def test_a_bike_without_a_rider(shop: Shop) -> None:
    bike = receive.open_bike(shop, sheets(None, "80 kg"), by="Ada")
    said = text_of(paper.print_document(shop, "hand-over", bike))
    assert "rider not fitted" in said
    assert "80.0 kg" in said


def test_days_are_written_out() -> None:
    assert printed.day("2031-05-28") == "28 May 2031"
    assert printed.day("next Tuesday") == "next Tuesday"


def test_importing_paper_loads_neither_typesetter_nor_pictures() -> None:
    assert not {"typst", "PIL", "numpy", "segno"} & woken("import cyclewright.workshop.paper")


def test_the_claim_note_is_the_record_s(shop: Shop) -> None:
    bike = opened(shop)
    carton.arrive(shop, bike, carrier="Hill Parcels", unchecked=True, by="Ada")
    with pytest.raises(Refusal, match="no damage and no missing part"):
        paper.print_document(shop, "claim", bike)
    carton.tick_parts(shop, bike, {"fork": "damaged"}, notes={"fork": "scored stanchion"})
    said = text_of(paper.print_document(shop, "claim", bike))
    assert "scored stanchion" in said and "Hill Parcels" in said and "unchecked" in said


CLAIMED = {
    "Consignment number": "HP 77 3141",
    "Delivered": "2 May 2024",
    "Goods": "one bicycle, ",
    "Value of the goods": "EUR 2 400",
    "Sender": "Ferrow Cycles, Mill Lane 2",
    "Consignee": "Ferrow Works, Hill Road 4, Tarn",
    "Carrier": "Hill Parcels, Depot 9",
}
"""What a carrier looks for on a claim: which goods, between whom, when, and worth what."""


def _claimed(shop: Shop, **more: object) -> str:
    bike = opened(shop)
    (shop.data / paper.LETTERHEAD).write_text(
        'name = "Ferrow Works"\nlines = ["Hill Road 4", "Tarn"]\n', encoding="utf-8"
    )
    carton.arrive(shop, bike, carrier="Hill Parcels, Depot 9", by="Ada", **more)  # type: ignore[arg-type]
    carton.tick_parts(shop, bike, {"fork": "damaged"}, notes={"fork": "scored stanchion"})
    return " ".join(text_of(paper.print_document(shop, "claim", bike)).split())


def test_the_claim_is_the_shops_own_letter_to_the_carrier(shop: Shop) -> None:
    told = {"consignment": "HP 77 3141", "sender": CLAIMED["Sender"], "value": "EUR 2 400"}
    said = _claimed(shop, arrived="2024-05-02", **told)
    for label, value in CLAIMED.items():
        assert f"{label} " in said and value in said, label
    for sentence in (
        "We give you notice of loss and damage",
        "Reservation. We hold the carrier liable",
        "reserve all claims under the contract of carriage",
        "Please confirm this notice and give us your claim number.",
        "We keep carton, packing and damaged parts as they are.",
    ):
        assert sentence in said, sentence


def test_a_claim_leaves_room_for_what_nobody_wrote_down(shop: Shop) -> None:
    said = _claimed(shop)
    assert "Consignment number" in said and "Value of the goods" in said and "Sender" in said


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({"carriage": "parcel"}, "We give this notice within 3 days of delivery."),
        ({"days": 10}, "We give this notice within 10 days of delivery, by your own terms."),
        ({"carriage": "air"}, "(Montreal Convention 1999, article 31(2))."),
        ({"carriage": "road-abroad"}, "by road (CMR), article 30)."),
    ],
)
def test_a_claim_names_its_term_without_the_workshops_labels(
    shop: Shop, how: dict[str, object], told: str
) -> None:
    said = _claimed(shop, **how)
    assert told in said
    for label in ("default", "no source", "second-hand", "memory"):
        assert label not in said


def test_a_claim_says_nothing_of_a_term_that_is_over(shop: Shop) -> None:
    assert "within" not in _claimed(shop, arrived="2020-05-02").split("What we ask")[0]


def test_no_paper_says_how_a_figure_was_remembered(released: Shop) -> None:
    for what in paper.DOCUMENTS:
        if what != "claim":
            said = text_of(paper.print_document(released, what, 1))
            assert "memory" not in said and "no source" not in said, what


def test_the_hand_over_sheet_speaks_to_the_one_who_gets_it(released: Shop) -> None:
    said = " ".join(text_of(paper.print_document(released, "hand-over", 1)).split())
    assert "We showed you which lever works which brake" in said
    assert "We went through the setting card with you" in said
    assert "We fitted and tried what Great Britain wants on a bicycle: bell and reflectors" in said
    assert "Bring the bike to us after the first rides: we go round" in said
    for order in ("Show the rider", "Go through the setting card", "Book the first"):
        assert order not in said


def test_every_step_that_paper_tells_the_rider_has_its_own_words() -> None:
    from cyclewright.knowledge.steps import steps

    for step in steps():
        if step.safety == "explained" or step.id == "first-recheck":
            assert " you" in f" {step.told.casefold()}" or "to us" in step.told, step.id
            assert step.told != step.do and step.told.endswith(".")


SAG_PAPERS = ("hand-over", "setting-card", "tag", "sag-strip")


def test_every_paper_tells_the_same_sag_in_the_same_posture(released: Shop) -> None:
    """Read at the bench once; a second number for another posture would look like another sag."""
    for name, kind in (("Fork", "fork"), ("Shock", "shock")):
        stands = printed.Printed(released, 1, "trade").stands(f"{kind}_sag")
        assert stands.value is not None
        number = f"{stands.value * 1000:.0f} mm"
        posture = getattr(released.sheets(released.state(1)).bike, kind).posture or (
            "standing" if kind == "fork" else "seated"
        )
        for what in SAG_PAPERS:
            said = " ".join(text_of(paper.print_document(released, what, 1)).split())
            assert number in said, (what, name)
            assert posture in said, (what, name)
            if what == "sag-strip":
                assert f" mm, {posture}" in said and " mm goal" in said and f"read {number}" in said
            else:
                assert f"Sag, {posture}" in said
            assert "% sag" not in said


def test_the_brake_card_names_hands_whose_word_and_the_way(shop: Shop) -> None:
    opened(shop)
    said = text_of(paper.print_document(shop, "brake-card", 1))
    assert "Move each lever with its hose" in said and "GB" in said


def test_the_torque_card_says_what_the_faceplate_holds(shop: Shop) -> None:
    opened(shop)
    said = text_of(paper.print_document(shop, "torque-card", 1))
    assert "kN" in said and "no grease inside the clamp" in said
    # a range that starts below what is asked alarms whoever reads it, and helps nobody set it
    assert "asked 80" not in said and "holds 73" not in said


def test_a_mark_is_what_was_set_before_what_is_advised(shop: Shop) -> None:
    opened(shop)
    assert "Saddle height" in text_of(paper.print_document(shop, "marks", 1))


def test_the_tag_says_a_reason_once_and_the_sheet_stays_on_two_pages(shop: Shop) -> None:
    bike = opened(shop)
    said = text_of(paper.print_document(shop, "tag", bike))
    assert "Do not ride" in said
    assert said.count("Axles: not done yet") == 1 and "Axles: not done yet (3 steps)" in said
    sheet = PdfReader(io.BytesIO(paper.print_document(shop, "hand-over", bike)))
    assert "Torques recorded" in sheet.pages[1].extract_text()


@pytest.mark.parametrize(
    ("bike", "rider", "place"),
    [("trail", "light", "left"), ("hardtail", "heavy", "right"), ("longtravel", "heavy", "right")],
)
def test_the_hand_over_sheet_fits_two_pages_for_every_bike(
    shop: Shop, bike: str, rider: str, place: str
) -> None:
    files = (f"bikes/{bike}.toml", f"riders/{rider}.toml", f"places/{place}.toml")
    receive.open_bike(shop, load(*(EXAMPLES / name for name in files)), by="Ada")
    sheet = PdfReader(io.BytesIO(paper.print_document(shop, "hand-over", 1)))
    first, second = (page.extract_text() for page in sheet.pages)
    assert "Clicks count out from fully closed" in first
    assert "Torques recorded" in second and "Taken over by" in second


def test_the_tag_tells_what_is_wrong_before_what_is_not_done(shop: Shop) -> None:
    opened(shop)
    build.record_step(shop, 1, "front-rotor", problem="one bolt missing", by="Ada")
    said = text_of(paper.print_document(shop, "tag", 1))
    wrong, waiting = said.index("one bolt missing"), said.index("Fork direction: not done yet")
    assert wrong < waiting
    assert "first front rotor (problem)" in said
    assert "front-rotor" not in said


def test_papers_without_a_rider_and_without_a_mass(built: Shop) -> None:
    erase.erase_bike(built, 1, reason="asked", by="Ada")
    assert "Do not ride" in text_of(paper.print_document(built, "tag", 1))
    for what in ("torque-card", "brake-card", "plan"):
        assert paper.print_document(built, what, 1).startswith(b"%PDF")
    with pytest.raises(InputError, match="state the mass with kit"):
        paper.print_document(built, "setting-card", 1)
    build.change_sheet(built, 1, ["rider.mass=80 kg"], by="Ada")
    assert "80.0 kg" in text_of(paper.print_document(built, "hand-over", 1))
