"""`check`, `advise` and `plan` on sheets and on a bike on record, and their documents."""

from __future__ import annotations

import pytest

from cli.commands import EXAMPLES, LEFT, SHEETS, TRAIL, typed

FINDING = {"code", "severity", "facts", "rule", "do", "fields"}
SETTING = {
    "name", "value", "unit", "low", "high", "basis", "source", "because", "limits", "cautions",
}  # fmt: skip
STEP = {
    "id", "stage", "station", "do", "tool", "torque", "compound", "cautions", "evidence", "needs",
    "minutes", "safety",
}  # fmt: skip
TORQUE = {"kind", "low", "high", "set", "unit", "whose"}
UNITS = {"N", "N·m", "Pa", "m", "m/s", "kg", "rad", "1", "1/m", "Hz", "K", "N/m"}
BIKES = ("trail", "hardtail", "longtravel")


def test_check_finds_what_clashes_and_one_change_clears_one_finding():
    found = typed("check", *SHEETS, "--json").json
    assert set(found) == {"findings", "questions"}
    assert all(set(item) == FINDING for item in found["findings"])
    codes = {item["code"] for item in found["findings"]}
    assert {"brake-hands", "torque-tool-empties-overlap"} <= codes
    posts = {code for code in codes if code.startswith(("dropper", "post"))}
    assert posts
    changes = ("--change", "bike.post.travel=150 mm", "--change", "bike.post.length=430 mm")
    after = typed("check", *SHEETS, *changes, "--json").json
    assert {item["code"] for item in after["findings"]} == codes - posts


def test_check_says_the_same_to_a_person():
    found = typed("check", *SHEETS, "--json").json["findings"]
    text = typed("check", *SHEETS).out
    brief = typed("check", *SHEETS, "--brief").out
    for item in found:
        assert all(fact in text for fact in item["facts"])
        assert item["rule"] in text
        assert item["do"] in brief
    assert len(brief.splitlines()) < len(text.splitlines())


@pytest.mark.parametrize("bike", BIKES)
def test_advise_answers_in_si_by_the_contract(bike):
    paths = (EXAMPLES / f"bikes/{bike}.toml", EXAMPLES / "riders/heavy.toml", LEFT)
    found = typed("advise", *paths, "--json").json
    assert set(found) == {"settings", "findings", "questions"}
    for item in found["settings"]:
        assert set(item) >= SETTING
        assert item["unit"] in UNITS
    by_name = {item["name"]: item for item in found["settings"]}
    assert 0.5 < by_name["saddle_height"]["value"] < 1.0
    assert 1e5 < by_name["front_tyre_pressure"]["value"] < 4e5
    assert ("shock_pressure" in by_name) == (bike == "trail")
    assert ("shock_rate" in by_name) == (bike == "longtravel")


def test_units_change_the_text_and_not_the_numbers():
    trade = typed("advise", *SHEETS, "--json").json["settings"]
    metric = typed("advise", *SHEETS, "--json", "--units", "metric").json["settings"]
    assert [item["value"] for item in trade] == [item["value"] for item in metric]
    told = {item["name"]: item["shown"] for item in metric}
    assert "bar" in told["fork_pressure"]
    assert " psi" in typed("advise", *SHEETS).out
    shown = typed("advise", "--units", "metric", *SHEETS).out
    assert " psi" not in shown
    assert " bar" in shown
    assert "use trade, metric or imperial" in typed("plan", *SHEETS, "--units", "x", code=2).err


def test_a_change_shows_what_else_moved_kept_and_resolved():
    found = typed("advise", *SHEETS, "--change", "bike.cockpit.bar_rise+=20 mm", "--json").json
    assert set(found) == {"settings", "findings", "questions", "changes"}
    assert all(
        set(row) == {"name", "unit", "before", "kept", "resolved"} for row in found["changes"]
    )
    rows = {row["name"]: row for row in found["changes"]}
    load, sag, air = rows["front_load_standing"], rows["fork_sag"], rows["fork_pressure"]
    assert load["kept"] < load["before"]
    assert sag["kept"] < sag["before"]
    assert sag["resolved"] == pytest.approx(sag["before"], rel=1e-3)
    assert air["kept"] == air["before"]
    assert air["resolved"] < air["before"]
    text = typed("advise", *SHEETS, "--change", "bike.cockpit.bar_rise+=20 mm").out
    assert "Kept" in text
    assert "Resolved" in text


def test_changes_add_up_and_an_absolute_one_is_the_same():
    one = typed("advise", *SHEETS, "--change", "rider.mass=60 kg", "--json").json["settings"]
    two = typed(
        "advise",
        *SHEETS,
        "--change",
        "rider.mass=58 kg",
        "--change",
        "rider.mass += 2 kg",
        "--json",
    ).json["settings"]
    assert [item["value"] for item in one] == [item["value"] for item in two]


def test_changing_a_limit_moves_the_limit():
    """What a part may bear at most is what the setting may be at most."""
    paths = (TRAIL[0], EXAMPLES / "riders/heavy.toml", LEFT)

    def fork(*changes: str) -> dict:
        found = typed("advise", *paths, *changes, "--json").json["settings"]
        return next(item for item in found if item["name"] == "fork_pressure")

    free = fork()
    ceiling = free["value"] * 0.9
    held = fork("--change", f"bike.fork.pressure_max={ceiling / 1e5} bar")
    assert held["value"] <= ceiling * 1.0001
    assert any(limit["binds"] and "fork" in limit["owner"] for limit in held["limits"])


def test_every_bad_change_is_told_at_once():
    changes = ("bike.fork.travel=3 psi", "bike.nope=1", "rider.mass+=x", "nothing")
    words = [word for change in changes for word in ("--change", change)]
    for command in ("check", "advise"):
        said = typed(command, *SHEETS, *words, "--json", code=2)
        assert {error["field"] for error in said.errors} == {
            "bike.fork.travel",
            "bike.nope",
            "rider.mass",
            "change",
        }
        assert len(typed(command, *SHEETS, *words, code=2).err.splitlines()) == 4


def test_plan_is_in_order_and_has_the_contract_s_shape():
    made = typed("plan", *SHEETS, "--json").json
    assert set(made) == {"steps", "questions", "undecided", "findings"}
    seen: set[str] = set()
    for step in made["steps"]:
        assert set(step) >= STEP
        assert set(step["needs"]) <= seen
        seen.add(step["id"])
        if step["torque"] is not None:
            assert set(step["torque"]) >= TORQUE
            assert step["torque"]["unit"] == "N·m"
    order = [step["id"] for step in made["steps"]]
    assert order.index("hands-changed-whole-levers") < order.index("grips-clamped")


def test_a_plan_after_a_change_keeps_nothing():
    figure = ("--change", "bike.fastener.stem_pinch.max=5.5 N.m")
    whole, changed = (typed("plan", *SHEETS, *more, "--json").json for more in ((), figure))
    before, after = (
        next(step["torque"] for step in made["steps"] if step["id"] == "stem-pinch")
        for made in (whole, changed)
    )
    assert after["high"] < before["high"]
    asked = typed("plan", "--bike-id", 1, "--again", *figure, code=2).err
    assert "from what is recorded" in asked


def test_three_bikes_get_three_plans_told_three_ways():
    plans = {}
    for bike in BIKES:
        paths = (EXAMPLES / f"bikes/{bike}.toml", *SHEETS[1:])
        plans[bike] = [step["id"] for step in typed("plan", *paths, "--json").json["steps"]]
        cards = typed("plan", *paths).out
        single = typed("plan", *paths, "--steps").out
        brief = typed("plan", *paths, "--brief").out
        assert cards.count("[ ] ") == len(plans[bike])
        assert all(f"\n{step}  (" in single for step in plans[bike])
        assert f"{len(plans[bike])} steps on " in brief
    assert len({frozenset(steps) for steps in plans.values()}) == 3


def test_a_bike_on_record_answers_like_its_sheets(opened):
    changes = ("--change", "bike.post.travel=150 mm", "--change", "bike.post.length=430 mm")
    for command in ("check", "advise"):
        on_record = typed(command, "--bike-id", 1, "--json").json
        assert (
            on_record
            == typed(command, *SHEETS, *changes, "--json").json
            | ({} if command == "check" else {"settings": on_record["settings"]})
            if command == "check"
            else on_record["settings"]
        )
    assert typed("plan", "--bike-id", 1, "--json").json["steps"]
    moved = typed("advise", "--bike-id", 1, "--change", "bike.cockpit.bar_rise+=20 mm", "--json")
    assert {row["name"] for row in moved.json["changes"]} >= {"bar_height", "fork_sag"}


def test_sheets_and_a_bike_on_record_are_not_mixed(opened):
    for command in ("check", "advise", "plan"):
        said = typed(command, "--bike-id", 1, *SHEETS, code=2)
        assert "either sheets or --bike-id" in said.err
        said = typed(command, "--bike-id", 1, "--mass", "80 kg", code=2)
        assert "either sheets or --bike-id" in said.err
        assert "no such bike" in typed(command, "--bike-id", 9, code=2).err


@pytest.mark.parametrize("command", ["check", "advise", "plan", "open"])
def test_the_number_of_sheets_is_told(command):
    for paths in ((), SHEETS[:1], (*SHEETS, LEFT)):
        said = typed(command, *paths, code=2)
        assert "name a bike sheet, a rider sheet (or --mass '80 kg') and a place sheet" in said.err


def test_a_plan_needs_no_rider():
    assert typed("plan", SHEETS[0], LEFT, "--json").json["steps"]
