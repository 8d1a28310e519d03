"""The knowledge holds together: order, needs, joints, evidence, words."""

import tomllib

import pytest

from cyclewright.errors import Integrity
from cyclewright.knowledge import data
from cyclewright.knowledge.fasteners import fasteners
from cyclewright.knowledge.questions import asked
from cyclewright.knowledge.steps import STAGES, _step, digest, steps
from cyclewright.record.gates import ITEMS
from cyclewright.sheets.fields import fields
from cyclewright.workshop.evidence import dimension_of
from waking import woken

BY_ID = {step.id: step for step in steps()}
CONTENT = {"stage": "Build", "station": "drive", "source": "common practice, no source"}
ROW = {"id": "x", "do": "Do it.", "why": "It helps.", "minutes": 1}


def test_ids_are_unique_and_the_knowledge_is_all_there() -> None:
    assert len(BY_ID) == len(steps()) > 100
    assert {step.stage for step in steps()} == set(STAGES)


def test_every_need_is_a_step_or_a_joint_and_comes_earlier() -> None:
    order = {step.id: place for place, step in enumerate(steps())}
    for step in steps():
        for need in step.needs:
            if need in fasteners():
                continue
            assert need in order, f"{step.id} needs {need}, which nobody knows"
            assert order[need] < order[step.id], f"{step.id} comes before {need}"


def test_every_joint_and_torque_is_known() -> None:
    for step in steps():
        for joint in (*step.joints, *step.round, *([step.torque] if step.torque else [])):
            assert joint in fasteners(), f"{step.id}: {joint}"
        assert ("torque" in step.evidence) == bool(step.torque), step.id


def test_every_joint_that_wants_setting_is_set_or_gone_round_by_some_step() -> None:
    reached = {joint for step in steps() for joint in (*step.joints, *step.round)}
    assert set(fasteners()) <= reached


def test_every_gate_item_is_known_to_the_gates_and_proved() -> None:
    # asked of what nobody knows, or of any step that is open again
    unproved = {"whole-plan", "whole-plan-release", "open-again"}
    assert {step.safety for step in steps()} - {""} == {item.id for item in ITEMS} - unproved
    in_time = {"ride": {"Receive", "Build", "Fit", "Base"}, "release": {"Prove", "Release"}}
    for item in ITEMS:
        stages = {step.stage for step in steps() if step.safety == item.id}
        assert stages <= in_time[item.gate], item.id


MAY_BE_READ = {"front-tubeless", "rear-tubeless"}
"""Ticked, but what is told of them as well is held against a limit."""


def test_what_a_step_records_can_be_recorded() -> None:
    for step in steps():
        wants = bool({"value", "text"} & set(step.evidence))
        assert (step.record is not None) == (wants or step.id in MAY_BE_READ), step.id
        if step.record is None:
            continue
        assert step.record.what
        if "value" in step.evidence or step.id in MAY_BE_READ:
            assert step.record.unit, step.id
            counted = step.record.unit == "clicks"
            assert counted or dimension_of(step.record.unit) != "number", step.id


def test_lines_ticked_together_want_nothing_typed() -> None:
    for step in steps():
        if step.group:
            assert not {"value", "text", "photo"} & set(step.evidence), step.id


def test_conditions_ask_for_fields_that_exist_and_have_a_question() -> None:
    paths = {item.path for item in fields()}
    for step in steps():
        for condition in step.applies:
            name = condition.field
            if condition.op not in ("stated", "absent"):
                assert name in paths or name.startswith("derived."), (step.id, name)
                assert asked(name), f"no question for {name}"
            else:
                table = any(path.startswith(f"{name}.") for path in paths)
                own = name.startswith(("bike.fastener.", "derived."))
                assert name in paths or table or own, name


def test_choices_in_conditions_are_choices_of_the_sheet() -> None:
    allowed, seen = {item.path: item.allowed for item in fields()}, 0
    for step in steps():
        for condition in step.applies:
            choices = (allowed.get(condition.field) or "").split(", ")
            if choices == [""] or condition.op not in ("is", "is-not", "in", "not-in"):
                continue
            values = condition.value if isinstance(condition.value, tuple) else (condition.value,)
            for value in values:
                assert str(value).lower() in choices, (step.id, value)
                seen += 1
    assert seen > 40


def test_what_is_packed_away_is_told_and_names_its_joints() -> None:
    """What is taken off, pushed in or shut off for travel has a packing counterpart."""
    packed = {step.id for step in steps() if step.packing}
    ends = ("front", "rear")
    kinds = ("tool-axle", "lever-axle", "quick-release", "nuts")
    assert packed >= {f"{end}-wheel-{kind}" for end in ends for kind in kinds}
    assert packed >= {f"{end}-{what}" for end in ends for what in ("rotor", "tyre-pressure")}
    assert packed >= {
        "fork-forward", "post-in", "bar-in-stem", "pad-spacers-out", "hanger-straight",
        "pedals-on", "battery-charged", "battery-looked-over", "gears-paired", "remote-paired",
        "remote-led-inside", "remote-led-outside", "fork-pressure", "shock-pressure",
    }  # fmt: skip
    for step in steps():
        assert not step.loosens or step.packing, step.id
        assert set(step.loosens) <= set(fasteners()), step.id
        assert not step.packing or step.packing.endswith("."), step.id
    # what is loosened is proved again on arrival by steps of its own
    proving = {joint for step in steps() for joint in step.joints}
    assert {joint for step in steps() for joint in step.loosens} <= proving


def test_every_entry_has_a_source() -> None:
    for step in steps():
        assert len(step.source) >= 8, step.id
    for name in data.files():
        if name == "questions.toml":
            assert all(row["source"] for row in data.table(name).values())


def test_words_are_plain_sentences() -> None:
    for step in steps():
        assert step.do.endswith(".") and step.do[0].isupper(), step.id
        assert step.why.endswith("."), step.id
        assert 20 < len(step.do) < 260, step.id
        assert step.do.count(". ") == 0, f"{step.id}: one sentence"
        assert step.tool or step.torque, step.id
        assert 0 < step.minutes <= 30, step.id
        assert len(step.cautions) <= 3
        for caution in step.cautions:
            assert caution.text.endswith((".", "!")), step.id
        assert "—" not in step.do + step.why


def test_the_order_of_the_trade() -> None:
    place = {step.id: number for number, step in enumerate(steps())}

    def before(*names: str) -> bool:
        return [place[name] for name in names] == sorted(place[name] for name in names)

    assert before("fork-forward", "post-in", "stand-by-plain-post", "bar-in-stem")
    assert before("tyres-looked-over", "wheels-true", "front-rotor", "front-wheel-tool-axle")
    assert before("pad-spacers-out", "front-wheel-tool-axle", "brakes-pumped", "brakes-held-hard")
    assert before("headset-preload", "stem-pinch")
    assert before("carton-open", "battery-looked-over", "battery-charged")
    assert before("gears-paired", "limits-set", "gears-trimmed")
    assert before("fork-pressure", "shock-pressure", "saddle-height", "legs-checked", "fork-sag")
    assert before("hanger-straight", "limits-set", "gears-indexed")
    assert before("bedding-in", "brakes-held-again", "car-park-ride", "bolts-cockpit")
    for name in [step.id for step in steps() if step.id.startswith("hands-changed")]:
        assert before(name, "controls-in-order", "grips-on", "levers-clamped")
        assert name in BY_ID["grips-on"].needs and name in BY_ID["grips-clamped"].needs


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"do": None}, "missing keys: do"),
        ({"colour": "red"}, "unknown keys: colour"),
        ({"evidence": ["stamp"]}, "evidence is of"),
        ({"evidence": []}, "evidence is of"),
        ({"cautions": [{"kind": "shout", "text": "Hi."}]}, "stop, check or know"),
        ({"cautions": [{"kind": "stop", "text": "Hi."}] * 4}, "at most three"),
        ({"record": {"shape": "round"}}, "put the record right"),
        ({"pair": {"use": "weld", "a": "steel", "b": "steel"}}, "a pair is"),
        ({"needs": ["fork-forward"], "after": ["post-in"]}, "not among its needs: post-in"),
        ({"applies": [{"field": "a", "op": "like", "value": 1}]}, "use one of the operators"),
        ({"finds": {"moon": "full"}}, r"states\.toml knows no moon"),
        ({"finds": {"rear_spring": "asleep"}}, "rear_spring is never asleep"),
        ({"finds": {"rear_spring": []}}, "rear_spring is never nothing"),
        ({"finds": "rear_spring"}, "thing = way"),
        ({"leaves": {"hoses": ["open", "bled"]}}, "leave hoses in one way"),
    ],
)
def test_a_bad_step_is_named(change: dict[str, object], said: str) -> None:
    row = {key: value for key, value in (ROW | change).items() if value is not None}
    with pytest.raises(Integrity, match=said):
        _step("steps/x.toml", CONTENT, 0, row)


def test_type_tests_are_no_bench_steps() -> None:
    words = " ".join(step.do for step in steps())
    for figure in ("110 %", "80 N·m", "1780 N", "17 N·m", "6.4 km"):
        assert figure not in words


def test_the_digest_sees_every_byte(tmp_path, monkeypatch) -> None:
    before = data.digest()
    assert digest() == before and len(before) == 64
    for name in data.files():
        copy = tmp_path / name
        copy.parent.mkdir(exist_ok=True)
        copy.write_bytes((data.FOLDER / name).read_bytes())
    monkeypatch.setattr(data, "FOLDER", tmp_path)
    data.digest.cache_clear()
    try:
        assert data.digest() == before
        data.digest.cache_clear()
        care = tmp_path / "steps" / "14-care.toml"
        care.write_bytes(care.read_bytes() + b"\n")
        assert data.digest() != before
    finally:
        data.digest.cache_clear()


def test_a_torn_file_is_said_to_be_torn(tmp_path, monkeypatch) -> None:
    (tmp_path / "torn.toml").write_text("a = [", encoding="utf-8")
    monkeypatch.setattr(data, "FOLDER", tmp_path)
    with pytest.raises(Integrity, match=r"knowledge/torn\.toml.*put the packaged file right"):
        data.table("torn.toml")


def test_every_packaged_file_is_toml() -> None:
    for name in data.files():
        tomllib.loads((data.FOLDER / name).read_text(encoding="utf-8"))


def test_loading_needs_nothing_heavy() -> None:
    code = """
    from cyclewright.knowledge import fasteners, steps
    steps.steps(), fasteners.fasteners()
    """
    assert not {"numpy", "scipy", "pydantic", "sqlalchemy"} & woken(code)


def test_all_that_is_knowledge_lies_in_its_folder_and_counts_in_the_digest() -> None:
    assert {"care.toml", "carton.toml", "inspection.toml", "fasteners.toml"} <= set(data.files())
    beside = set(data.FOLDER.parent.rglob("*.toml")) - set(data.FOLDER.rglob("*.toml"))
    assert not beside
