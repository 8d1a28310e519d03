"""Amounts and hands as people type them, on every command that takes one."""

from __future__ import annotations

import pytest

from cli.commands import LEFT, SHEETS, TRAIL, typed
from cyclewright.workshop.shop import Shop

IN, LB = 0.0254, 0.45359237


def test_a_stated_mass_in_stones():
    one = typed("advise", TRAIL[0], LEFT, "--mass", "12 st 4 lb", "--json").json
    two = typed("advise", TRAIL[0], LEFT, "--mass", f"{172 * LB} kg", "--json").json
    values = [
        [item["value"] for item in answer["settings"]] for answer in (one, two)
    ]  # fmt: skip
    assert values[0] == pytest.approx(values[1])


def test_changes_in_feet_and_in_another_case():
    changes = ("rider.height=5'9\"", "rider.mass=180 LBS", "bike.tyre.front.pressure_max=40 PSI")
    words = [word for change in changes for word in ("--change", change)]
    typed("check", *SHEETS, *words)
    said = typed("check", *SHEETS, "--change", "rider.height=1,750 mm", code=2).err
    assert "write 1750 or 1.750" in said


def test_the_quick_start_takes_feet_stones_and_inch_marks(tmp_path):
    options = {
        "--kind": "hardtail", "--country": "GB", "--fork-travel": "5 1/2 in",
        "--tyre": '29" x 2,4"', "--height": "5'9\"", "--mass": "12 st 4", "--inseam": "31½ in",
    }  # fmt: skip
    words = [word for pair in options.items() for word in pair]
    typed("sheet", "new", *words, "--tubeless", "--hooked", "--to", tmp_path)
    rider = next(path for path in tmp_path.iterdir() if "rider" in path.name).read_text()
    assert "5'9" in rider
    assert "12 st 4" in rider


@pytest.mark.parametrize("word", ["left", "L", "left hand", "Front left", "front-left"])
def test_one_word_proves_a_hand(opened, word):
    said = typed("record", 1, "hands-delivered", "--value", word, "--by", "Ada", "--json").json
    assert "done" in said["said"]
    with Shop.open(opened) as shop:
        kept = shop.state(1).step("hands-delivered").evidence
    assert "front-left" in str(kept)


def test_the_other_hand_is_told_as_the_sheet_has_it(opened):
    said = typed("record", 1, "hands-delivered", "--value", "right", "--by", "Ada", code=2).err
    assert "bike.hands_delivered=front-right" in said
    said = typed("record", 1, "hands-delivered", "--value", "both", "--by", "Ada", code=2).err
    assert "front-left or front-right" in said


@pytest.mark.parametrize(
    ("text", "meant"),
    [("5/8 in", 0.625 * IN), ('0,6"', 0.6 * IN), ("15,5 mm", 0.0155), ("15,5 mm, 16 MM", 0.01575)],
)
def test_a_ring_read_in_inches_or_with_a_comma(opened, text, meant):
    typed("reading", 1, "fork-sag", text, "--by", "Ada")
    with Shop.open(opened) as shop:
        (row,) = [item for item in shop.state(1).readings if item.kind == "fork-sag"]
    assert row.value == pytest.approx(meant)


def test_a_torque_tool_in_inch_pounds(opened):
    pound = IN * LB * 9.80665
    typed("tools", "keep", "click", "20 in-lb", "150 In-Lbs", "--arm", "8 1/2 in", "--by", "Ada")
    (kept,) = typed("tools", "show", "--json").json["tools"]
    assert (kept["low"], kept["high"]) == pytest.approx((20 * pound, 150 * pound))
    said = typed("tools", "set", 1, "50 in-lb", "--crowfoot", '1 1/4"', "--json").json
    assert said["torque"] == pytest.approx(50 * pound)
