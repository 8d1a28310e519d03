"""`receive`, `care`, `pack` and `inspect` as they are typed."""

from __future__ import annotations

import json
from datetime import date, timedelta

import pytest
from PIL import Image

from cli.commands import typed

TODAY = date.today()


@pytest.fixture
def photo(tmp_path):
    path = tmp_path / "dent.jpg"
    Image.new("RGB", (80, 60), (120, 110, 90)).save(path)
    return path


def test_a_carton_from_the_door_to_the_claim(opened, photo, tmp_path):
    nothing = typed("print", "claim", 1, "-o", tmp_path / "no.pdf", "--json", code=1).errors
    assert nothing[0]["code"] == "no-carton"
    said = typed("receive", 1, "arrive", "--carrier", "Hill Parcels", "--unchecked",
                 "--damage", "corner crushed", "--photo", photo, "--by", "Ada").out  # fmt: skip
    assert (TODAY + timedelta(days=3)).isoformat() in said
    assert "on the slip: Received unchecked" in said
    typed("receive", 1, "damage", "rear rotor bent", "--photo", photo)
    parts = typed("receive", 1, "parts", "frame=here", "left pedal=missing", "rear rotor=damaged",
                  "--note", "rear rotor=bent", "--photo", f"rear rotor={photo}",
                  "--all").out  # fmt: skip
    assert "to follow: left pedal, rear rotor" in parts
    yesterday = (TODAY - timedelta(days=1)).isoformat()
    typed("receive", 1, "expect", "left pedal", yesterday, "--whose", "seller")
    shown = typed("receive", 1).out
    assert f"promised {yesterday} by seller, overdue" in shown
    assert "3 days left" in shown
    typed("receive", 1, "packing", "carton", "fork block")
    out = tmp_path / "claim.pdf"
    typed("print", "claim", 1, "-o", out)
    assert out.read_bytes().startswith(b"%PDF-")
    late = (TODAY + timedelta(days=9)).isoformat()
    assert "after the deadline" in typed("receive", 1, "claim", "--on", late, "--to", "Hill").out
    typed("receive", 1, "came", "left pedal")
    document = typed("receive", 1, "--json").json
    assert [row["part"] for row in document["parts"] if not row["arrived"]] == [
        "frame",
        "rear rotor",
    ]
    assert document["claims"][0]["to"] == "Hill"
    assert document["packing"] == ["carton", "fork block"]


def test_a_serial_that_is_not_the_sheet_own(opened, photo):
    assert (
        "the frame's own mark wins" in typed("receive", 1, "serial", "ZZ-9", "--photo", photo).out
    )
    assert typed("receive", 1, "--json").json["serial"] == "ZZ-9"


def test_wrong_ticks_are_told_all_at_once(opened):
    errors = typed("receive", 1, "parts", "frame", "fork=", "--json", code=2).errors
    assert [error["value"] for error in errors] == ["frame", "fork="]
    errors = typed("receive", 1, "parts", "frame=gone", "fork=lost", "--json", code=2).errors
    assert [error["field"] for error in errors] == ["frame", "fork"]
    assert typed("receive", 1, "arrive", "--on", "soon", "--json", code=2).errors
    assert typed("receive", 1, "expect", "saddle", "2031-05-24", "--json", code=2).errors


def test_use_and_wear_make_a_due_list_and_a_diary(opened, tmp_path):
    assert "before the first release" in typed("care", 1).out
    assert "Nothing is due" in typed("care").out
    typed("care", 1, "use", "--rides", 2, "--hours", "5.5", "--by", "Ada")
    assert typed("care", 1, "use", "--json", code=2).errors[0]["code"] == "empty"
    row = typed("care", 1, "wear", "chain-wear", "0.2 %", "--json").json
    assert row["kind"] == "chain-wear" and not row["worn_out"]
    assert "worn out" in typed("care", 1, "wear", "chain-wear", "0.8 %").out
    wrong = typed("care", 1, "wear", "chain-wear", "0.2", "--json", code=2).errors
    assert wrong[0]["code"] == "unit-missing"
    file = tmp_path / "diary" / "care.ics"
    typed("care", 1, "calendar", "-o", file)
    text = file.read_bytes().decode("utf-8")
    assert text.startswith("BEGIN:VCALENDAR\r\n") and "Chain worn out" in text.replace("\r\n ", "")
    assert typed("care", "calendar").out.startswith("BEGIN:VCALENDAR")
    assert typed("care", 1, "done", "chian", "--json", code=2).errors[0]["code"] == "no-such-item"


def test_a_recall_blocks_the_bike_until_it_is_settled(opened):
    typed("care", 1, "fit", "front rotor", "--maker", "Fellmark", "--batch", "B7")
    said = typed("care", "recall", "front rotor", "--maker", "Fellmark", "--batch", "B7",
                 "--why", "cracks at the arms", "--do", "replace it", "--source", "its maker",
                 "--by", "Ada").out  # fmt: skip
    assert "blocked, carries it: bike 1" in said
    assert "blocked" in typed("list").out
    assert "recall" in {
        row["item"] for row in typed("gate", 1, "ride", "--json", code=1).json["missing"]
    }
    assert "STOP" in typed("care", 1, "parts").out
    typed("care", 1, "settle", 1, "--reason", "rotor replaced", "--by", "Ada")
    rows = typed("care", "recalls", "--json").json["recalls"]
    assert rows[0]["settled"] == [1] and rows[0]["carries"] == []
    assert "is lifted" in typed("care", "lift", 1, "--reason", "withdrawn", "--by", "Ada").out
    assert "No recall stands" in typed("care", "recalls").out
    typed("care", 1, "remove", "front rotor")
    assert len(typed("care", 1, "parts", "--json").json["parts"]) == 1


def test_a_crashed_bike_with_declined_work(opened, photo):
    assert "no inspection is open" in typed("inspect", 1).out
    typed("inspect", 1, "begin", "--cause", "crashed", "--by", "Ada")
    typed("inspect", 1, "find", "bar scored at the clamp", "--severity", "stop",
          "--point", "look-bar-and-stem", "--photo", photo,
          "--work", "new bar", "--price", "90")  # fmt: skip
    typed("inspect", 1, "find", "grips worn", "--severity", "note")
    refused = typed("inspect", 1, "decline", 2, "--name", "Lena", "--json", code=1).errors
    assert refused[0]["code"] == "not-quoted"
    typed("inspect", 1, "quote", 2, "new grips", "--price", "20")
    said = typed("inspect", 1, "decline", 1, 2, "--name", "Lena Aldis", "--signature", photo).out
    assert "do-not-ride" in said
    shown = typed("inspect", 1).out
    assert "not to be ridden: bar scored" in shown
    assert "1. stop, declined" in shown
    typed("inspect", 1, "right", 1, "new bar fitted")
    document = typed("inspect", 1, "--json").json
    assert [row["status"] for row in document["findings"]] == ["put-right", "declined"]
    assert "Lena Aldis" not in json.dumps(document)
    assert typed("inspect", 1, "begin", "--cause", "rusty", "--json", code=2).errors


def test_a_bike_that_was_not_built_is_not_packed(opened):
    assert typed("pack", 1, "begin", "--json", code=1).errors[0]["code"] == "nothing-to-pack"
    assert typed("pack", 1, "arrive", "--json", code=1).errors[0]["code"] == "not-packed"


def test_a_journey_opens_only_what_was_loosened(opened, photo):
    """The drive's first step with a packing counterpart, built as far as it needs."""
    from cyclewright.workshop import build
    from cyclewright.workshop.shop import Shop

    with Shop.open(opened) as shop:
        plan = build.plan_for(shop, 1)
        wanted = next(step for step in plan.steps if step.packing and not step.needs)
        steps = {step.id: step for step in plan.steps}
    more = []
    for kind in steps[wanted.id].evidence:
        more += {"photo": ("--photo", photo), "torque": ("--as-set",)}.get(kind, ())
    typed("record", 1, wanted.id, *more, "--by", "Ada")
    typed("pack", 1, "begin", "--by", "Ada")
    (line,) = typed("pack", 1, "--json").json["lines"]
    assert line["step"] == wanted.id and not line["done"]
    assert "undone for the journey" in typed("pack", 1, "tick", wanted.id).out
    assert typed("pack", 1, "tick", "x", "--json", code=2).errors[0]["code"] == "no-such-line"
    shown = typed("pack", 1).out
    assert "1 of 1 undone" in shown
    assert "rebuild begun" in typed("pack", 1, "arrive").out
    assert typed("pack", 1, "--json").json["rebuilding"]


def test_damage_inside_is_settled_by_its_number(opened):
    typed("receive", 1, "damage", "a cracked head tube")
    assert "nothing cracked" not in typed("receive", 1).out
    (damage,) = typed("receive", 1, "--json").json["damages"]
    number = damage["number"]
    assert f"damage {number} inside: a cracked head tube" in typed("receive", 1).out
    asked = typed("gate", 1, "ride", code=1).out
    assert f"damage {number}, a cracked head tube" in asked.replace("\n", " ")
    words = ("--what", "its maker: a mark of the mould")
    wrong = typed("receive", 1, "settle", number, "--how", "fine", *words, "--json", code=2).errors
    assert wrong[0]["allowed"] == "harmless, put right, replaced"
    typed("receive", 1, "settle", number, "--how", "harmless", *words, "--by", "Ada")
    assert "harmless: its maker: a mark of the mould" in typed("receive", 1).out.replace("\n", " ")
    assert "head tube" not in typed("gate", 1, "ride", code=1).out


def test_a_part_taken_off_is_held_until_one_is_fitted(opened):
    typed("care", 1, "remove", "front axle", "--by", "Ada")
    assert "front axle was taken off" in typed("gate", 1, "ride", code=1).out
    marks = ("--maker", "Quill", "--marks")
    assert typed("care", 1, "fit", "front axle", *marks, "--json", code=1).errors
    typed("care", 1, "fit", "front axle", "--maker", "Quill")
    assert "front axle was taken off" not in typed("gate", 1, "ride", code=1).out
