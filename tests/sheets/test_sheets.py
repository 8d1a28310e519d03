"""Loading, facts, paths and changes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.errors import InputError
from cyclewright.sheets.fields import fields
from cyclewright.sheets.sheets import change, facts, load, value_at
from sheets.samples import LEAST, example
from waking import woken


@pytest.fixture(scope="module")
def sheets():
    return load(*example())


def test_the_problems_of_all_files_are_told_together(tmp_path):
    with pytest.raises(InputError, match="fork") as caught:
        load('kind="hardtail"\n[fork]\ntravel=3\n', "mass = 3\n", tmp_path / "no.toml", "3 kg")
    told = {problem.field for problem in caught.value.problems}
    assert {"bike.fork.travel", "rider.mass", "place sheet no.toml", "mass"} <= told


def test_a_stated_mass_stands_in_for_a_rider():
    sheets = load(LEAST["bike"], None, LEAST["place"], "80 kg ± 2")
    assert sheets.rider is None
    assert sheets.mass.value == 80.0
    assert facts(sheets)["mass"] == 80.0
    assert change(sheets, ["rider.mass+=5 kg"]).mass.value == 85.0
    assert change(sheets, ["rider.mass=95 kg"]).mass.text == "95 kg"
    with pytest.raises(InputError, match="15 to 250 kg"):
        load(LEAST["bike"], None, LEAST["place"], "8000 kg")
    with pytest.raises(InputError, match="there is no rider sheet here"):
        change(sheets, ["rider.height=1.7 m"])


def test_facts_are_flat_and_in_si(sheets):
    flat = facts(sheets)
    assert flat["bike.fork.kind"] == "air"
    assert flat["bike.fork.travel"] == pytest.approx(0.14)
    assert flat["bike.tyre.front.width"] == pytest.approx(0.0635)
    assert flat["bike.tyre.front.bead"] == 0.622
    assert flat["bike.fastener.faceplate.a.max"] == 5.0
    assert flat["bike.drive.chainrings"] == (32,)
    assert flat["bike.fork.chart"][4]["pressure"] == pytest.approx(551581, abs=1)
    assert flat["place.country"] == "GB"
    assert "bike.electric.motor" not in flat
    assert None not in flat.values()


def test_every_fact_is_found_at_its_path(sheets):
    for path, fact in facts(sheets).items():
        if path.endswith((".width", ".bead")) and ".tyre." in path:
            continue
        found = value_at(sheets, path)
        assert found is not None, path
        if isinstance(fact, float):
            assert float(found) == fact


def test_every_plain_field_has_a_path(sheets):
    for item in fields():
        if "[]" not in item.path and "NAME" not in item.path:
            value_at(sheets, item.path)
    assert value_at(sheets, "bike.fork.chart[9].pressure") is None
    assert value_at(sheets, "bike.fastener.none.max") is None


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("bike.fork.travl", "did you mean bike.fork.travel"),
        ("bike.travel", "did you mean bike.fork.travel"),
        ("fork.travel", "begin the field with bike."),
        ("bike", "begin the field with bike."),
        ("bike.fork.travel.value", "no such field"),
        ("bike.fork[1].travel", "no such field"),
        ("bike.fork.chart.pressure", "say which row"),
        ("bike..", "no such field"),
        ("bike.fastener.9x.max", "beginning with a letter"),
    ],
)
def test_a_path_that_leads_nowhere_names_the_nearest(sheets, path, words):
    with pytest.raises(InputError, match="bike") as caught:
        value_at(sheets, path)
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("text", "path", "value"),
    [
        ("bike.cockpit.spacers_under+=20 mm", "bike.cockpit.spacers_under", 0.035),
        ("bike.cockpit.spacers_under += 1 in", "bike.cockpit.spacers_under", 0.0404),
        ("bike.cockpit.spacers_under+=-5 mm", "bike.cockpit.spacers_under", 0.01),
        ("rider.mass=90 kg", "rider.mass", 90.0),
        ("place.workshop.temperature+=5 degC", "place.workshop.temperature", 295.15),
        ("place.workshop.temperature+=9 degF", "place.workshop.temperature", 295.15),
        ("place.trail.slope+=3 %", "place.trail.slope", 0.15),
        ("bike.frame.head_angle+=-1 deg", "bike.frame.head_angle", 1.1257373675),
        ("bike.fork.chart[2].pressure=60 psi", "bike.fork.chart[2].pressure", 413685.4),
        ("bike.fastener.faceplate.a.max+=0.5 N.m", "bike.fastener.faceplate.a.max", 5.5),
        ("bike.fastener.new_one.max=7 N.m", "bike.fastener.new_one.max", 7.0),
        ("bike.rear.points.main.x=20 mm", None, None),
        ("bike.fork.spacers+=1", "bike.fork.spacers", 2),
        ("bike.wheel.front.bead=584", "bike.wheel.front.bead", 584),
        ("bike.wheel.front.hooked=no", "bike.wheel.front.hooked", False),
        ("bike.post.kind=dropper", "bike.post.kind", "dropper"),
        ("place.country=us", "place.country", "US"),
        ("bike.drive.sprockets=[11, 13, 15]", "bike.drive.sprockets", (11, 13, 15)),
        ("bike.maker=A = B", "bike.maker", "A = B"),
    ],
)
def test_a_change_of_one_field(sheets, text, path, value):
    if path is None:
        with pytest.raises(InputError, match=r"points\.main\.y: is missing"):
            change(sheets, [text])
        return
    found = value_at(change(sheets, [text]), path)
    plain = getattr(found, "value", found)
    assert plain == (pytest.approx(value, rel=1e-6) if isinstance(value, float) else value)


def test_a_sum_keeps_the_unit_and_the_spread_it_had(sheets):
    heavier = change(sheets, ["rider.mass+=2 lb"]).rider.mass
    assert heavier.text == "52.90718474 kg ± 0.5"
    assert heavier.sigma == 0.5


def test_changes_to_one_field_add_up_in_their_order(sheets):
    twice = change(sheets, ["bike.cockpit.bar_rise+=5 mm", "bike.cockpit.bar_rise+=10 mm"])
    assert twice.bike.cockpit.bar_rise.value == pytest.approx(0.035)


def test_a_change_leaves_the_rest_alone(sheets):
    changed = change(sheets, ["bike.post.travel=150 mm", "bike.post.length=430 mm"])
    before, after = facts(sheets), facts(changed)
    differ = {path for path in before if before[path] != after[path]}
    assert differ == {"bike.post.travel", "bike.post.length"}
    assert changed.rider is sheets.rider
    assert change(sheets, []) == sheets


def test_bad_changes_are_told_together(sheets):
    bad = [
        "nonsense",
        "bike.fork.travel=",
        "bike.fork.travel=14",
        "rider.mass=-3 kg",
        "rider.inseam=1.1 m",
        "bike.fork=air",
        "bike.fork.kind+=air",
        "bike.electric.motor+=3",
        "bike.fork.chart[40].pressure=3 psi",
        "bike.wheel.front.hooked=perhaps",
        "place.country=Atlantis",
    ]
    with pytest.raises(InputError, match="FIELD=VALUE") as caught:
        change(sheets, bad)
    assert len(caught.value.problems) == len(bad)


@given(st.text(max_size=60))
def test_any_text_is_a_change_or_is_refused(text):
    sheets = load(LEAST["bike"], LEAST["rider"], LEAST["place"])
    for prefix in ("", "bike.mass=", "bike.fork.", "rider.mass+=", "bike.fastener."):
        try:
            change(sheets, [prefix + text])
        except InputError as error:
            assert all(problem.line().isprintable() for problem in error.problems)


def test_reading_and_changing_import_nothing_heavy():
    code = """
    from pathlib import Path
    from cyclewright.sheets.sheets import change, facts, load
    facts(change(load(*map(Path, sys.argv[1:])), ["rider.mass=60 kg"]))
    """
    assert not {"numpy", "scipy", "tomlkit", "sqlalchemy"} & woken(code, *example())
