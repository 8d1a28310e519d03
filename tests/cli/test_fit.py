"""`advise --fit` and `angle` as a person types them."""

from __future__ import annotations

import pytest

from cli.commands import EXAMPLES, LEFT, SHEETS, typed

PHOTO = EXAMPLES / "photos/side.toml"
HEAVY = (EXAMPLES / "bikes/trail.toml", EXAMPLES / "riders/heavy.toml", LEFT)


def test_the_fit_shows_methods_droppers_handles_and_levers():
    said = typed("advise", "--fit", *SHEETS)
    assert said.code == 0 and said.err == ""
    for words in (
        "0.883 × inseam",
        "1.09 × inseam, less the crank",
        "Heel on the pedal",
        "Knee bent 30°",
        "Set 675 mm. Wanted is 631 mm at full height",
        "mounted   no, by",
        "170 mm is",
        "Spacers under",
        "Brake lever clamp in from the grip",
        "Cut nothing yet",
        "Tilt, nose down: each degree pushes this rider forward",
        "Force at the pads",
        "STOP",
    ):
        assert words in said.out, words


def test_the_fit_is_one_document_and_takes_changes():
    plain = typed("advise", "--fit", *HEAVY, "--json").json
    higher = typed("advise", "--fit", *HEAVY, "--json", "--change",
                   "bike.cockpit.spacers_under=25 mm").json  # fmt: skip
    trunk = [
        next(item["value"] for item in one["angles"] if item["name"] == "trunk_angle")
        for one in (plain, higher["fit"])
    ]
    assert trunk[1] > trunk[0]
    assert "spacers_under" in {row["name"] for row in higher["changes"]}
    assert {row["name"] for row in plain["handles"]} >= {"spacers_under", "stem_length"}


def test_another_rider_is_told_what_to_set_again():
    said = typed("advise", "--fit", *HEAVY, "--change", "rider.inseam=860 mm")
    assert "Set again:" in said.out
    assert "Saddle height: " in said.out.partition("Set again:")[2]


def test_the_previous_bike_is_carried_over():
    said = typed("advise", *HEAVY, "--previous", EXAMPLES / "bikes/hardtail.toml")
    assert "From the previous bike" in said.out and "saddle to grip" in said.out
    assert "--change 'bike.saddle.setback=" in said.out
    missing = typed("advise", *HEAVY, "--previous", "nowhere.toml", code=2)
    assert "nowhere.toml" in missing.err


def test_the_fit_of_a_bike_on_record_waits_with_its_cut(opened):
    said = typed("advise", "--fit", "--bike-id", "1")
    assert said.code == 0
    assert "Cut nothing yet" in said.out


def test_a_photo_and_a_level_give_angles_and_what_to_do():
    said = typed("angle", PHOTO, *HEAVY)
    assert said.code == 0
    assert "Knee bent" in said.out and "leave the saddle where it is" in said.out
    assert "set both sides alike" in said.out


def test_angles_alone_can_be_typed():
    said = typed("angle", "-", *HEAVY, "--typed", "knee=12 deg", "--json")
    assert [item["name"] for item in said.json["angles"]] == ["knee_measured"]
    assert "lower the saddle" in said.json["said"][0]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("-", *HEAVY), "set points on a photo"),
        (("nowhere.toml", *HEAVY), "cannot be read"),
        (("-", *HEAVY, "--typed", "knee"), "write NAME=ANGLE"),
        (("-", *HEAVY, "--typed", "knee=30"), "add the unit"),
        (("-", "--typed", "knee=30 deg"), "BIKE [RIDER] PLACE"),
    ],
)
def test_what_cannot_be_measured_is_one_sentence(words, told):
    said = typed("angle", *words, code=2)
    assert said.code == 2
    assert told in said.err and "Traceback" not in said.err
