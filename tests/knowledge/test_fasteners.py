import csv
from pathlib import Path

import pytest

from cyclewright.knowledge.fasteners import (
    applying,
    fastener,
    fasteners,
    hex_key,
    joints_of_field,
)
from cyclewright.sheets.fields import fields

RULES = Path(__file__).parents[1] / "data" / "rules.csv"
NEVER_TO_BE_FORGOTTEN = {
    "cassette_lockring", "chainring", "bottle_cage", "jockey_wheels", "chain_guide", "seat_collar",
    "shock_front", "shock_rear", "pivots", "front_rotor", "front_adapter", "rear_adapter", "hanger",
    "front_hub", "rear_hub", "bottom_bracket", "front_pads", "rear_pads", "battery", "mast_head",
}  # fmt: skip


def test_front_to_back() -> None:
    places = [item.place for item in fasteners().values()]
    assert places == sorted(places)
    assert next(iter(fasteners())) == "front_axle"


def test_the_joints_that_are_easily_forgotten_are_there() -> None:
    assert set(fasteners()) >= NEVER_TO_BE_FORGOTTEN


def test_every_default_is_labelled_as_one_and_has_a_window_that_can_be_set() -> None:
    facts_of_variants = [{}, {"bike.post.kind": "dropper"}, {"bike.cockpit.bar_material": "carbon"}]
    for end in ("front", "rear"):
        for kind in ("tool", "lever", "quick-release", "nuts"):
            facts_of_variants.append({f"bike.axle.{end}.kind": kind})
        for mount in ("six-bolt", "spline"):
            facts_of_variants.append({f"bike.brake.{end}.rotor_mount": mount})
    for facts in facts_of_variants:
        for name in fasteners():
            item = fastener(name, facts)
            assert item is not None
            assert item.source.startswith("common practice, no source")
            assert item.verb in ("set", "check", "leave")
            assert item.kind in ("range", "max", "target", "hand", "ask")
            assert item.tool and item.label and item.compound
            if item.kind == "range":
                assert item.low is not None and item.high is not None
                tolerance = 0.06 if item.high <= 10 else 0.04
                assert item.low * (1 + tolerance) <= item.high * (1 - tolerance), name
                assert 1 < item.low < item.high < 60
            elif item.kind in ("hand", "ask"):
                assert item.low is None and item.high is None


def test_what_decides_the_torque_eightfold_is_not_assumed() -> None:
    bare, bolted, splined = (
        fastener("front_rotor", {} if mount is None else {"bike.brake.front.rotor_mount": mount})
        for mount in (None, "six-bolt", "spline")
    )
    assert bare is not None and bolted is not None and splined is not None
    assert bare.kind == "ask" and not bare.default_allowed({})
    assert (bolted.high, bolted.tool) == (6.0, "torque wrench, T25")
    assert splined.low == 38.0 and "lockring" in splined.tool


def test_a_lever_never_sees_a_key() -> None:
    for kind in ("lever", "quick-release"):
        item = fastener("rear_axle", {"bike.axle.rear.kind": kind})
        assert item is not None
        assert (item.kind, item.tool) == ("hand", "hand")


def test_a_carbon_part_never_gets_a_default() -> None:
    item = fastener("faceplate", {"bike.cockpit.bar_material": "carbon"})
    assert item is not None
    assert not item.default_allowed({"bike.cockpit.bar_material": "carbon"})
    assert item.default_allowed({"bike.cockpit.bar_material": "alloy"})
    assert "paste" in item.compound


def test_carbon_and_touch_and_condition_fields_are_fields_of_the_sheets() -> None:
    paths = {item.path for item in fields("bike")} | {item.path for item in fields("rider")}
    tables = {path.rsplit(".", count)[0] for path in paths for count in (1, 2, 3)}
    for item in fasteners().values():
        named = [*item.carbon, *item.touched_by, *(c.field for c in item.applies)]
        named += [c.field for when, _ in item.variants for c in when]
        for field in named:
            known = field in paths or field in tables
            assert known or field.startswith(("derived.", "bike.fastener.")), (item.name, field)


def test_only_the_joints_this_bike_has() -> None:
    hardtail = {"bike.kind": "hardtail", "bike.post.kind": "plain"}
    names = {item.name for item in applying(hardtail)}
    assert {"stem_pinch", "seat_collar"} <= names
    assert not names & {"shock_front", "pivots", "dropper_remote", "motor", "hose_nuts"}
    assert "shock_front" in {item.name for item in applying({"bike.kind": "full-suspension"})}


@pytest.mark.parametrize(
    ("field", "joints"),
    [
        ("bike.cockpit.spacers_under", {"top_cap", "stem_pinch"}),
        ("bike.cockpit.bar_roll", {"faceplate", "brake_levers", "shifter", "dropper_remote"}),
        ("bike.post.length", {"seat_collar"}),
        ("bike.fastener.main_pivot.target", {"main_pivot"}),
        ("bike.fastener.faceplate.a.max", {"faceplate"}),
        ("bike.tyre.front.size", {"front_axle", "front_tyre"}),
        ("bike.fork.travel", set()),
        ("bike.postage", set()),
    ],
)
def test_which_joints_a_change_opens(field: str, joints: set[str]) -> None:
    assert joints <= set(joints_of_field(field))
    if field != "bike.post.length":
        assert set(joints_of_field(field)) == joints


def test_hex_keys_by_the_standards() -> None:
    kinds = {
        "socket head cap screw": "socket",
        "button head": "button",
        "countersunk": "countersunk",
    }
    seen = 0
    with RULES.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            if row["topic"] != "hex keys":
                continue
            head = next(ours for theirs, ours in kinds.items() if row["rule"].startswith(theirs))
            sizes = [word for word in row["rule"].split() if word.startswith("M")]
            keys = row["value"].removesuffix(" mm").split()
            for size, key in zip(sizes, keys, strict=True):
                assert hex_key(size, head) == key
                seen += 1
    assert seen == 18
    assert hex_key("M7", "socket") is None
    assert hex_key("M5", "hex") is None
