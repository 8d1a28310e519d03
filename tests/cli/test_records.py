"""The record by commands: its documents, what it refuses, and how each refusal ends."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli.commands import SHEETS, typed
from cyclewright.workshop import build
from cyclewright.workshop.shop import Shop
from workshop.shops import photo, record

SHOW = {"id", "stage", "head", "events", "settings", "gates"}


def recorded_until(data: Path, last: str) -> None:
    """Everything before a step is done, as its plan has it."""
    with Shop.open(data) as shop:
        for step in build.plan_for(shop, 1).steps:
            if step.id == last:
                return
            record(shop, 1, step)


def test_open_prints_the_number_and_list_shows_the_bike(data):
    assert typed("open", *SHEETS).out == "1\n"
    assert typed("open", *SHEETS, "--json", "--by", "Ada").json == {"id": 2}
    assert data.is_dir()
    rows = typed("list", "--json").json["bikes"]
    assert [row["id"] for row in rows] == [2, 1]
    assert {"id", "name", "stage", "rider", "done", "total", "updated"} <= set(rows[0])
    assert "Wren" in typed("list").out
    assert typed("list", "no", "such", "--json").json == {"bikes": []}
    assert "No bike matches" in typed("list", "xyzzy").out
    assert "give 1 or more" in typed("list", "--limit", "-4", code=2).err


def test_a_bike_without_a_rider_is_opened_with_a_stated_mass():
    bike, _, place = SHEETS
    typed("open", bike, place, "--mass", "80 kg")
    assert typed("list", "--json").json["bikes"][0]["rider"] == "rider not fitted"
    assert typed("advise", "--bike-id", 1, "--json").json["settings"]


def test_the_data_option_stands_anywhere_and_wins(data, tmp_path):
    other = tmp_path / "other"
    typed("--data", other, "open", code=2)
    typed("open", "--data", other, *SHEETS)
    assert typed("list", "--json", "--data", other).json["bikes"]
    assert typed("list", f"--data={other}", "--json").json["bikes"]
    assert typed("list", "--json").json == {"bikes": []}
    assert data.is_dir()


def test_a_data_folder_that_cannot_be_ends_4(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    for folder in (tmp_path / "file", "/proc/none"):
        assert "cannot be made" in typed("list", "--data", folder, code=4).err
        assert typed("list", "--data", folder, "--json", code=4).errors


def test_show_has_the_contract_s_document(opened):
    found = typed("show", 1, "--json").json
    assert set(found) >= SHOW
    assert found["id"] == 1
    assert set(found["gates"]) == {"ride", "release"}
    assert len(found["head"]) == 64
    assert found["gates"]["ride"][0]["step"] == "fork-forward"
    text = typed("show", 1, "--history").out
    assert "next: carton-outside" in text
    assert "(Ada)" in text


def test_record_tells_events_and_progress(opened, tmp_path):
    picture = tmp_path / "dent.png"
    picture.write_bytes(photo())
    done = typed("record", 1, "carton-outside", "--photo", picture, "--json").json
    assert set(done) >= {"bike", "numbers", "said", "reopened"}
    assert "done, 1 of " in done["said"]
    several = typed("record", 1, "carton-open", "frame-looked-over", "--by", "Ada")
    assert "done, 3 of " in several.out
    assert "problem recorded" in typed("record", 1, "serial-read", "--problem", "worn away").out
    refused = typed("record", 1, "serial-read", "--put-off", "needs a lamp", code=1)
    assert "a problem is on record, worn away" in refused.err
    assert "put off" in typed("record", 1, "packing-off", "--put-off", "needs a lamp").out
    undone = typed("undo", 1)
    assert "undone" in undone.out


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("nosuch",), 2, "step is nosuch"),
        (("carton-outsid",), 2, "did you mean carton-outside?"),
        ((), 2, "name the step that was done"),
        (("carton-open", "--change", "bike.mass=15 kg"), 2, "name the step that was done"),
        (("carton-outside",), 2, "carton-outside.photo: take one"),
        (("carton-outside", "--photo", "/none.png"), 2, "there is no such file"),
        (("carton-outside", "--photo", str(SHEETS[0])), 2, "give a photo as JPEG"),
        (("carton-open", "frame-looked-over", "--value", "3 mm"), 2, "one step at a time"),
        (("carton-open", "--problem", ""), 2, "write a few words"),
        (("carton-open", "--problem", "x", "--put-off", "y"), 2, "not both"),
        (("pedals-on", "--touched", ""), 2, "write a few words"),
        (("carton-open", "--touched", "x"), 2, "steps that touch one"),
        (("pedals-on", "--touched", "x", "--value", "3 mm"), 2, "takes no evidence"),
        (("bedding-in",), 1, "pass the ride gate first"),
        (("first-recheck",), 1, "release the bike first"),
        (("stem-pinch", "--torque", "5 N.m"), 1, "do headset-preload first"),
        (("front-rotor", "--torque", "60 N.m"), 2, "front-rotor.torque is 60 N.m"),
        (("front-rotor", "--torque", "6"), 2, "add the unit"),
        (("front-rotor", "--torque", "6 mm"), 2, "use one of"),
        (("front-rotor", "--torque", "-6 N.m"), 2, "front-rotor.torque is -6 N.m"),
        (("front-rotor",), 2, 'give the torque it was set to, like "6 N.m"'),
        (("--change", "bogus"), 2, "FIELD=VALUE"),
        (("--change", "bike.cockpit.nope=3"), 2, "no such field"),
        (("--change", "bike.cockpit.bar_width=3"), 2, "add the unit"),
        (("--change", "bike.cockpit.spacers_under+=-500 mm"), 2, "cannot be negative"),
    ],
)
def test_what_cannot_be_recorded_is_refused(opened, words, code, says):
    before = typed("show", 1, "--json").json["head"]
    said = typed("record", 1, *words, code=code)
    assert says in said.err
    assert said.out == ""
    assert typed("record", 1, *words, "--json", code=code).errors
    assert typed("show", 1, "--json").json["head"] == before


def test_a_value_is_held_against_the_step(opened):
    recorded_until(opened, "steerer-gap")
    for value, says in (
        ("30 mm", "allowed: at least 2 and at most 5 mm"),
        ("-3 mm", "allowed: at least 2 and at most 5 mm"),
        ("3", "add the unit"),
        ("3 kg", "use one of"),
    ):
        said = typed("record", 1, "steerer-gap", "--value", value, code=2)
        assert says in said.err
        assert said.err.startswith("steerer-gap.value is ")
    assert "give the " in typed("record", 1, "steerer-gap", code=2).err
    assert "done" in typed("record", 1, "--value", "3 mm", "steerer-gap", "--by", "Ada").out
    changed = typed("record", 1, "--change", "bike.cockpit.spacers_under+=-5 mm", "--json").json
    assert "steerer-gap" in changed["reopened"]
    assert "undone" in typed("undo", 1).out
    assert "steerer-gap" not in typed("show", 1, "--json").json["next_step"]


def test_what_was_opened_since_is_done_again_with_what_rested_on_it(opened):
    recorded_until(opened, "brakes-pumped")
    said = typed("record", 1, "front-wheel-tool-axle", "--touched", "out for a tube").out
    assert "do this step again: front-wheel-tool-axle" in said
    told = typed("record", 1, "headset-preload", "--touched", "a spacer out", "--json").json
    assert {"headset-preload", "stem-pinch"} <= set(told["reopened"])
    assert "undone" in typed("undo", 1).out


def test_a_plan_is_made_again_only_when_asked_and_keeps_what_was_done(opened):
    recorded_until(opened, "bar-in-stem")
    before = typed("show", 1, "--json").json
    typed(
        "tools",
        "keep",
        "fine wrench",
        "1 N.m",
        "25 N.m",
        "--tolerance",
        "2 %",
        "--mark",
        "0.05 N.m",
    )
    plan = typed("plan", "--bike-id", 1, "--json").json["steps"]
    again = typed("plan", "--bike-id", 1, "--again", "--by", "Ada", "--json").json["steps"]
    after = typed("show", 1, "--json").json
    assert [step["id"] for step in again] == [step["id"] for step in plan]
    windows = [
        {step["id"]: step["torque"] for step in made}["stem-pinch"] for made in (plan, again)
    ]
    assert windows[1]["low"] < windows[0]["low"]
    assert after["next_step"] == before["next_step"]
    assert "whose plan is made again" in typed("plan", *SHEETS, "--again", code=2).err


def test_undo_names_what_it_takes_looks_first_and_is_undone(opened):
    typed("record", 1, "carton-open", "--by", "Ada")
    typed("reading", 1, "fork-pressure", "52 psi", "--by", "Ada")
    look = typed("undo", 1, "--look", "--by", "Ada")
    assert "event 4 would be undone: fork pressure 52 psi, " in look.out
    assert typed("undo", 1, "--look", "--json").json["numbers"] == []
    before = typed("show", 1, "--json").json
    taken = typed("undo", 1, "--by", "Ada")
    assert "event 4 undone: fork pressure 52 psi, " in taken.out
    assert "put it back: cyclewright undo 1 --number 6" in taken.out
    assert typed("show", 1, "--json").json["settings"] == []
    assert "event 6 put back: fork pressure 52 psi" in typed("undo", 1, "--put-back").out
    assert typed("show", 1, "--json").json["settings"] == before["settings"]
    told = typed("undo", 1, "--json").json
    assert set(told) >= {"bike", "numbers", "said", "reopened", "act", "opens", "stands", "falls"}
    assert told["act"]["name"] == "fork pressure 52 psi"


def test_another_s_entry_wants_a_flag_or_its_number(opened):
    typed("people", "add", "Ben", "--by", "Ada")
    typed("record", 1, "carton-open", "--by", "Ada")
    refused = typed("undo", 1, "--by", "Ben", code=1).err
    assert "the newest entry is Ada's, carton open, " in refused
    assert "write --anyone or --number 3" in refused
    assert typed("undo", 1, "--by", "Ben", "--json", code=1).errors[0]["code"] == "anothers"
    assert typed("undo", 1, "--by", "Ben", "--anyone", "--json").json["act"]["by"] == "Ada"
    typed("undo", 1, "--by", "Ada", "--number", 4)
    assert "undone: Ada: carton open" in typed("undo", 1, "--by", "Ben", "--number", 3).out
    assert "taken back already" in typed("undo", 1, "--number", 3, code=1).err


def test_undo_names_what_it_cannot_take_back(opened):
    assert "can be undone" in typed("undo", 1, code=1).err
    assert "can be undone" in typed("undo", 1, "--step", "nosuch", code=1).err
    assert "give an event of this bike" in typed("undo", 1, "--number", 77, code=2).err
    assert "no such bike" in typed("undo", 9, code=2).err


@pytest.mark.parametrize(
    ("kind", "value", "says"),
    [
        ("fork-sag", "500 mm", "allowed: 0 to 140 mm"),
        ("shock-sag", "60 mm", "cannot have moved further"),
        ("fork-sag", "-5 mm", "allowed: 0 to 140 mm"),
        ("fork-sag", "20", "add the unit"),
        ("fork-sag", "20 psi", "use one of"),
        ("fork-pressure", "4000 psi", "read the gauge again"),
        ("nosuch", "20 mm", "use one of: fork-sag"),
    ],
)
def test_a_reading_that_cannot_be_is_not_recorded(opened, kind, value, says):
    before = typed("show", 1, "--json").json["head"]
    assert says in typed("reading", 1, kind, value, code=2).err
    assert typed("reading", 1, kind, value, "--json", code=2).errors
    assert typed("show", 1, "--json").json["head"] == before


def test_a_reading_says_what_to_do_next(opened):
    assert "next and expect" in typed("reading", 1, "fork-sag", "22 mm").out
    said = typed("reading", 1, "shock-sag", "14 mm", "--json").json
    assert {"kind", "value", "unit", "said", "stop", "next"} <= set(said)
    assert said["value"] == pytest.approx(0.014)
    assert said["stop"] == (said["said"].startswith("14 mm: stop here"))
    assert said["next"]["name"] == "shock_pressure"


def test_a_reading_without_its_value_is_told_step_by_step(opened):
    text = typed("reading", 1, "fork-sag").out
    assert text.startswith("fork sag, standing") and "  1  Full kit" in text
    found = typed("reading", 1, "rear-drop", "--json").json
    assert found["posture"] == "standing" and len(found["steps"]) > 3
    assert "no such reading has steps" in typed("reading", 1, "saddle-tilt", code=2).err


def test_show_tells_what_was_set_and_the_sag_it_gave(opened):
    typed("reading", 1, "fork-pressure", "58 psi", "--by", "Ada")
    typed("reading", 1, "fork-sag", "27 mm", "--by", "Ada")
    text = typed("show", 1).out
    line = next(line for line in text.splitlines() if line.strip().startswith("Fork "))
    assert "58 psi" in line and "27 mm" in line and "Ada" in line
    row = typed("show", 1, "--json").json["history"][-1]
    assert row["name"] == "fork_pressure" and row["shown_read"] == "27 mm"


def test_an_odd_reading_asks_before_air_is_changed(opened):
    said = typed("reading", 1, "fork-sag", "4 mm", "--json").json
    assert said["next"] is None
    assert len(said["suspects"]) == 3
    assert "change no air yet" in typed("reading", 1, "shock-sag", "45 mm").out


def test_a_gate_before_its_time_ends_1_and_names_what_is_missing(opened):
    said = typed("gate", 1, "ride", code=1)
    for item in ("fork-direction", "axles", "brake-hold", "tyre-pressures", "mass-and-use"):
        assert f"  {item}: not done yet" in said.out
    assert "front-rotor, rear-rotor, front-caliper, rear-caliper" in said.out
    found = typed("gate", 1, "ride", "--json", code=1)
    assert found.err == ""
    assert set(found.json) >= {"gate", "passed", "missing"}
    assert found.json["passed"] is False
    assert {"item", "why", "step", "never_override"} == set(found.json["missing"][0])
    assert typed("gate", 1, "release", code=1).out
    assert "ask for ride or release" in typed("gate", 1, "start", code=2).err


def test_release_before_its_time_names_every_missing_thing(opened):
    said = typed("release", 1, "--by", "Ada", "--json", code=1)
    assert {error["field"] for error in said.errors} >= {"ride-gate", "bolt-round", "explained"}
    assert "--by" in typed("release", 1, code=2).err


@pytest.mark.parametrize(
    "words", [("show",), ("gate", "ride"), ("undo",), ("verify",), ("print", "plan"), ("draw",)]
)
def test_a_bike_that_is_not_there_is_named(data, words):
    command, *rest = words
    for number in ("7", "0", "99999999999999"):
        place = [*rest, number] if command == "print" else [number, *rest]
        said = typed(command, *place, "--json", code=2)
        assert [error["field"] for error in said.errors] == ["bike"]


@pytest.mark.parametrize("command", ["show", "undo", "verify"])
def test_a_number_that_is_none_is_told(command):
    assert "give a whole number" in typed(command, "x", code=2).err
    assert typed(command, "-1", code=2).err.startswith("bike is -1: ")


def test_verify_counts_and_names_a_change(opened, tmp_path):
    found = typed("verify", "--json").json
    assert found["ok"] is True
    assert "As written: 2 events" in typed("verify", 1).out
    database = next(opened.glob("*.sqlite*"))
    import sqlite3

    with sqlite3.connect(database) as connection:
        (body,) = connection.execute(
            "SELECT body FROM event WHERE stream = 1 AND number = 2"
        ).fetchone()
        torn = body.replace(b"trail", b"trial", 1)
        assert torn != body
        connection.execute("UPDATE event SET body = ? WHERE stream = 1 AND number = 2", (torn,))
    connection.close()
    said = typed("verify", 1, code=4)
    assert said.out.startswith("bike 1, event 2: ")
    assert "is not as it was written" in said.out
    assert json.loads(typed("verify", "--json", code=4).out)["ok"] is False


def test_show_says_of_every_setting_whether_it_still_stands(opened):
    typed("reading", "1", "fork-pressure", "60 psi", "--by", "Ada")
    assert "fork pressure: 60 psi, set" in typed("show", "1").out
    typed("record", "1", "--change", "rider.mass=62 kg", "--by", "Ada")
    said = " ".join(typed("show", "1").out.split())
    assert "fork pressure: 60 psi, set before; rider mass changed" in said
    (row,) = typed("show", "1", "--json").json["settings"]
    assert (row["stands"], row["was"], row["words"]) == ("lapsed", "set", "set before")
