"""The shop's own commands: people with PINs, tools, what is erased, and gates let pass."""

from __future__ import annotations

import io

import pytest

from cli.commands import EXAMPLES, LEFT, TRAIL, typed
from cyclewright.cli.common import verb_first


def answer(monkeypatch, *lines):
    """What somebody types unseen."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def test_the_bike_stands_before_or_after_the_verb(opened):
    first = typed("receive", 1, "show", "--json").json
    assert typed("receive", "show", 1, "--json").json == first
    assert typed("receive", "--json", 1).json == first
    assert typed("receive", 1, "--data", opened, "--json").json == first
    assert typed("--json", code=2).errors[0]["code"] == "usage"


def test_an_option_value_that_is_a_verb_is_no_verb():
    assert verb_first(["--by", "show", "3", "find", "x"], ["find", "show"], "show") == [
        "find",
        "--by",
        "show",
        "3",
        "x",
    ]
    assert verb_first(["--data", "parts", "3"], ["parts", "show"], "show")[0] == "show"


@pytest.mark.parametrize("group", ["receive", "care", "pack", "inspect", "tools", "people"])
def test_a_group_says_its_verbs(group):
    said = typed(group, "--help").out
    assert f"Usage: cyclewright {group}" in said
    assert "  show " in said


def test_a_verb_that_is_none_says_what_to_do(opened):
    (error,) = typed("receive", 1, "burn", "--json", code=2).errors
    assert "cyclewright receive" in error["do"]


def test_people_have_roles_that_an_owner_gives(opened):
    typed("people", "add", "Bea", "--by", "Ada", "--role", "checker")
    rows = typed("people", "--json").json["people"]
    assert [(row["name"], row["role"]) for row in rows] == [("Ada", "owner"), ("Bea", "checker")]
    typed("people", "role", "Bea", "mechanic", "--by", "Ada")
    assert "mechanic" in typed("people").out
    refused = typed("people", "role", "Ada", "owner", "--by", "Bea", "--json", code=1).errors
    assert [error["code"] for error in refused] == ["owner-only"]
    assert typed("people", "role", "Bea", "boss", "--by", "Ada", "--json", code=2).errors


def test_with_a_pin_nothing_is_recorded_without_it(opened, monkeypatch):
    answer(monkeypatch, "4711", "4712")
    assert typed("people", "pin", "Ada", "--json", code=2).errors[0]["code"] == "pin-differs"
    answer(monkeypatch, "4711", "4711")
    assert "has a PIN now" in typed("people", "pin", "Ada").out
    refused = typed("care", 1, "use", "--rides", 1, "--by", "Ada", "--json", code=1).errors
    assert refused[0]["code"] == "pin-wanted"
    answer(monkeypatch, "1199")
    wrong = typed("care", 1, "use", "--rides", 1, "--by", "Ada", "--pin", "--json", code=1)
    assert wrong.errors[0]["code"] == "pin-wrong"
    answer(monkeypatch, "4711")
    typed("care", 1, "use", "--rides", 1, "--by", "Ada", "--pin")
    monkeypatch.setenv("CYCLEWRIGHT_PIN", "4711")
    typed("care", 1, "use", "--rides", 1, "--by", "Ada")
    said = typed("people").out
    assert "has one" in said and "4711" not in said
    typed("people", "pin", "Ada", "--off")
    assert typed("people", "--json").json["people"][0]["has_pin"] is False


def test_a_gate_item_is_let_pass_with_a_reason_and_a_second_person(opened):
    refused = typed("gate", 1, "ride", "--override", "saddle", "--reason", "x", "--by", "Ada",
                    "--second", "Bea", "--json", code=1).errors  # fmt: skip
    assert refused[0]["code"] == "one-person"
    typed("people", "add", "Bea", "--role", "checker", "--by", "Ada")
    by = ("--by", "Ada", "--second", "Bea", "--reason", "customer brings the saddle")
    said = typed("gate", 1, "ride", "--override", "saddle", *by).out
    assert "it stands on the sheet" in said
    asked = typed("gate", 1, "ride", "--json", code=1).json
    assert "saddle" not in {row["item"] for row in asked["missing"]}
    assert asked["overridden"][0]["second"] == "Bea"
    assert "overridden: " in typed("gate", 1, "ride", code=1).out
    never = typed("gate", 1, "ride", "--override", "brake-hold", *by, "--json", code=1).errors
    assert never[0]["code"] == "never-override"


@pytest.mark.parametrize(
    ("more", "code", "named"),
    [
        (("--reason", "x"), 2, "override"),
        (("--override", "saddle", "--reason", "x"), 2, "by-missing"),
        (("--override", "saddle", "--by", "Ada"), 2, "empty"),
        (("--override", "sadle", "--by", "Ada", "--reason", "x"), 2, "no-such-item"),
    ],
)
def test_an_override_says_what_it_lacks(opened, more, code, named):
    (error,) = typed("gate", 1, "ride", *more, "--json", code=code).errors
    assert error["code"] == named


def test_personal_facts_go_and_the_record_stays_whole(opened):
    before = typed("show", 1, "--json").json["events"]
    (error,) = typed("erase", "--by", "Ada", "--reason", "asked", "--json", code=2).errors
    assert error["code"] == "nothing-to-erase"
    assert typed("erase", 1, "--by", "Ada", "--json", code=2).errors[0]["code"] == "reason-missing"
    said = typed("erase", 1, "--by", "Ada", "--reason", "the rider asked for it", "--json").json
    assert said["erased"] >= 1
    after = typed("show", 1, "--json").json
    assert after["events"] != before
    assert "Lena" not in typed("show", 1).out
    assert typed("verify", "--json").json["ok"]
    again = typed("erase", 1, "--by", "Ada", "--reason", "twice", "--json", code=1).errors
    assert again[0]["code"] == "nothing-to-erase"


def test_somebody_who_left_is_a_number(opened):
    typed("people", "add", "Bea", "--by", "Ada")
    typed("erase", "--person", "Bea", "--reason", "left", "--by", "Ada")
    assert "Bea" not in typed("people").out
    assert "erased person 2" in typed("people").out


def test_a_torque_tool_decides_what_it_is_set_to(data):
    typed("tools", "keep", "small click", "2 N.m", "20 N.m", "--calibrated", "2020-01-01",
          "--arm", "200 mm", "--by", "Ada")  # fmt: skip
    assert "overdue since" in typed("tools").out
    row = typed("tools", "keep", "small click", "2 N.m", "20 N.m", "--tolerance", "3 %",
                "--arm", "200 mm", "--tool", 1, "--json").json  # fmt: skip
    assert row["id"] == 1 and row["tolerance"] == pytest.approx(0.03)
    plain = typed("tools", "set", 1, "5 N.m", "--straight", "--json").json
    assert plain["set"] == pytest.approx(5.0)
    # Lever arms by hand: 5 N·m at the bolt is 5 x 200 / (200 + 40) = 4.17 at the tool.
    crow = typed("tools", "set", 1, "5 N.m", "--crowfoot", "40 mm", "--json").json
    assert crow["set"] == pytest.approx(4.1)
    assert crow["at_bolt"] == pytest.approx(4.1 * 240 / 200)
    outside = typed("tools", "set", 1, "40 N.m", "--json", code=2).errors
    assert outside[0]["code"] == "torque-tool-range"
    both = typed("tools", "set", 1, "5 N.m", "--straight", "--crowfoot", "4 cm", "--json", code=2)
    assert both.errors[0]["code"] == "fitting"
    assert "dropped" in typed("tools", "retire", 1, "dropped").out
    assert "No torque tool" in typed("tools").out
    assert "retired: dropped" in typed("tools", "--all").out


def test_a_tool_that_cannot_be_is_told_with_all_that_is_wrong(data):
    errors = typed("tools", "keep", "x", "2", "20 mm", "--arm", "soon", "--json", code=2).errors
    assert {error["field"] for error in errors} == {"low", "high", "arm"}


def test_two_figures_that_disagree():
    said = typed("settle", "bike.frame.insertion_min", "80 mm", "100 mm", "--json").json
    assert (said["winner"], said["rule"]) == ("b", "of two floors the deepest holds")
    assert "because" in typed("settle", "bike.frame.insertion_min", "80 mm", "100 mm").out
    errors = typed(
        "settle", "bike.frame.insertion_min", "80", "100 mm", "--whose", "aunt", "--json", code=2
    ).errors
    assert errors
    assert typed("settle", "bike.nothing", "1", "2", "--json", code=2).errors


def test_a_used_bike_is_looked_over_from_its_sheets(data):
    number = typed("inspect", "new", TRAIL[0], LEFT, "--mass", "80 kg", "--cause", "used",
                   "--by", "Ada", "--json").json["id"]  # fmt: skip
    assert number == 1
    said = typed("inspect", 1).out
    assert "places still to look at" in said
    assert (EXAMPLES / "bikes/trail.toml").exists()
