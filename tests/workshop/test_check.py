from __future__ import annotations

import json
from pathlib import Path

import pytest

from cyclewright.sheets.sheets import Sheets, change, load
from cyclewright.workshop.check import check, plan
from waking import woken

EXAMPLES = Path(__file__).parents[2] / "examples"


def sheets(bike: str, rider: str, place: str) -> Sheets:
    return load(
        EXAMPLES / "bikes" / f"{bike}.toml",
        EXAMPLES / "riders" / f"{rider}.toml",
        EXAMPLES / "places" / f"{place}.toml",
    )


def stops(given: Sheets) -> set[str]:
    return {item.code for item in check(given).findings if item.severity == "stop"}


DEMO = ("trail", "light", "left")
CLASHES = {"brake-hands", "dropper-too-long", "torque-tool-empties-overlap"}


def test_the_demo_bikes_three_planted_clashes_are_found_and_no_other():
    assert stops(sheets(*DEMO)) == CLASHES


def test_the_dropper_finding_names_the_limit_by_how_much_and_which_length_fits():
    found = {item.code: item for item in check(sheets(*DEMO)).findings}
    dropper = found["dropper-too-long"]
    text = " ".join(dropper.facts)
    assert "200 mm" in text and "travel" in text
    assert "limit: " in dropper.facts[-1] and "mm too high" in dropper.facts[-1]
    assert "150 mm travel" in dropper.do


def test_the_bars_maximum_against_the_faceplates_range_sets_4_7_newton_metres():
    finding = next(item for item in check(sheets(*DEMO)).findings if item.code.startswith("torque"))
    assert finding.facts[:2] == ("the handlebar: max 5 N·m", "the stem: 5 to 6 N·m")
    assert "4.7 N·m" in finding.do


@pytest.mark.parametrize(
    "changes",
    [
        ["bike.post.travel=150 mm", "bike.post.length=430 mm"],
        ["bike.post.travel=150 mm"],
        ["bike.post.travel-=50 mm"],
    ],
)
def test_a_shorter_post_clears_that_finding_alone(changes):
    if "-=" in changes[0]:
        changes = ["bike.post.travel+=-50 mm"]
    assert stops(change(sheets(*DEMO), changes)) == CLASHES - {"dropper-too-long"}


def test_hands_and_torque_clear_when_their_facts_change():
    right = change(
        sheets(*DEMO), ["bike.hands_delivered=front-right", "bike.fastener.faceplate.a.max=6 N.m"]
    )
    assert stops(right) == {"dropper-too-long"}


@pytest.mark.parametrize(
    ("bike", "rider", "place"),
    [
        ("hardtail", "light", "left"),
        ("hardtail", "heavy", "left"),
        ("longtravel", "heavy", "right"),
        ("longtravel", "heavy", "high"),
    ],
)
def test_clean_bikes_with_riders_that_suit_them_have_no_clash(bike, rider, place):
    assert [
        x.code for x in check(sheets(bike, rider, place)).findings if x.severity != "note"
    ] == []


def test_the_tall_rider_may_keep_the_long_post():
    assert stops(sheets("trail", "heavy", "left")) == CLASHES - {"dropper-too-long"}


def test_the_answer_is_the_contracts_document():
    data = json.loads(json.dumps(check(sheets(*DEMO)).to_json(), allow_nan=False))
    assert set(data) == {"findings", "questions"}
    for finding in data["findings"]:
        assert set(finding) == {"code", "severity", "facts", "rule", "do", "fields"}
    ranks = [["stop", "warn", "note"].index(item["severity"]) for item in data["findings"]]
    assert ranks == sorted(ranks)


def test_the_plan_takes_torques_and_the_brake_change_from_the_sheets():
    steps = {step.id: step for step in plan(sheets(*DEMO)).steps}
    assert "hands-changed-whole-levers" in steps
    assert "hands-changed-open-hoses" not in steps
    faceplate = [
        step.torque for step in steps.values() if step.torque and "faceplate" in step.joints
    ]
    assert faceplate and all(torque.set == 4.7 for torque in faceplate)
    order = list(steps)
    grips = [name for name in order if "grips" in steps[name].joints]
    assert grips and order.index("hands-changed-whole-levers") < min(map(order.index, grips))


def test_a_bike_with_the_right_hands_has_no_brake_change():
    right = change(sheets(*DEMO), ["bike.hands_delivered=front-right"])
    assert not [step.id for step in plan(right).steps if step.id.startswith("hands-changed")]


def test_three_bikes_get_three_different_plans():
    plans = [
        {step.id for step in plan(sheets(bike, "heavy", "left")).steps}
        for bike in ("trail", "hardtail", "longtravel")
    ]
    assert plans[0] != plans[1] != plans[2] != plans[0]


def test_check_and_plan_load_no_heavy_library():
    code = """
    from pathlib import Path
    from cyclewright.sheets.sheets import load
    from cyclewright.workshop.check import check, plan
    given = load(*map(Path, sys.argv[1:]))
    check(given), plan(given)
    """
    names = ("bikes/trail.toml", "riders/light.toml", "places/left.toml")
    heavy = {"scipy", "numba", "sqlalchemy", "alembic", "fastapi", "tomlkit"}
    assert not heavy & woken(code, *(EXAMPLES / name for name in names))
