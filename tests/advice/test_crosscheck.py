from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advice.clean import clean, planted, without
from cyclewright.advice.crosscheck import crosscheck
from cyclewright.advice.height import saddle_height
from cyclewright.knowledge.defaults import fill
from cyclewright.sheets.sheets import Sheets, change
from cyclewright.units import parse


def clashes(sheets: Sheets) -> list[str]:
    return [item.code for item in crosscheck(sheets)[0] if item.severity != "note"]


def asked(sheets: Sheets) -> list[str]:
    return [item.field for item in crosscheck(sheets)[1]]


def test_a_clean_sheet_has_no_clash_and_no_question():
    assert clashes(clean()) == []
    assert asked(clean()) == []


PLANTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("brake-hands", ("bike.hands_delivered=front-left",)),
    ("brake-hands", ("place.country=US",)),
    ("mass-limit", ("rider.mass=120 kg",)),
    ("mass-limit", ("bike.mass_limit=92 kg",)),
    ("use-class", ("bike.use_class=2",)),
    ("use-class", ("rider.ride=park",)),
    ("tyre-bead", ("bike.tyre.rear.size=61-584",)),
    ("tyre-bead", ("bike.wheel.front.bead=584",)),
    ("tyre-rim-width", ("bike.tyre.front.size=40-622",)),
    ("tyre-rim-width", ("bike.wheel.rear.rim_width=17 mm",)),
    ("tyre-hookless", ("bike.tyre.rear.hookless_ok=false",)),
    ("tyre-pressure-window", ("bike.wheel.front.pressure_max=1.1 bar",)),
    ("tyre-clearance", ("bike.frame.tyre_clearance=58 mm",)),
    ("tyre-clearance", ("bike.fork.tyre_clearance=60 mm",)),
    ("rotor-size", ("bike.frame.rotor_max=160 mm",)),
    ("rotor-size", ("bike.fork.rotor_max=200 mm",)),
    ("brake-fluids", ("bike.brake.rear.fluid=dot4",)),
    ("steerer-stack", ("bike.cockpit.spacers_under=45 mm",)),
    ("chart-pressure", ("bike.fork.pressure_max=85 psi",)),
    ("chart-pressure", ("bike.shock.pressure_max=150 psi",)),
    ("leverage-table", ("bike.shock.stroke=65 mm",)),
    ("derailleur-capacity", ("bike.drive.capacity=36",)),
    ("speeds", ("bike.drive.speeds=11",)),
    ("chain-odd", ("bike.drive.chain_links=117",)),
    ("chain-short", ("bike.drive.chain_links=108",)),
    ("pedal-thread", ("bike.fastener.pedal_left.hand=right",)),
    ("post-diameter", ("bike.post.diameter=30.9 mm",)),
    ("dropper-too-long", ("rider.height=1.55 m", "rider.inseam=700 mm")),
    ("dropper-too-long", ("bike.frame.seat_tube=480 mm",)),
    ("post-too-short", ("rider.height=2.0 m", "rider.inseam=990 mm")),
    ("geometry-closure", ("bike.frame.wheelbase=1240 mm",)),
    ("fork-length", ("bike.fork.axle_to_crown=420 mm",)),
)


@pytest.mark.parametrize(("code", "changes"), PLANTS)
def test_a_planted_clash_is_found_and_nothing_else(code, changes):
    sheets = planted(*changes)
    assert clashes(sheets) == [code]
    finding = next(item for item in crosscheck(sheets)[0] if item.code == code)
    assert len(finding.facts) >= 2
    assert finding.rule and finding.do.endswith(".")
    assert all(field.split(".")[0] in ("bike", "rider", "place") for field in finding.fields)


HEIGHT = saddle_height(fill(clean()).sheets)
assert HEIGHT is not None
# 470 mm of post less the 250 mm that go in, and 48 mm of saddle, stand above the seat tube
SEAT_TUBE_EDGE = HEIGHT.value * 1000 - (470 - 250 + 48)

# One planted clash whose size is drawn: field, sound value, how far past it the clash lies.
DRAWN = (
    ("rotor-size", "bike.frame.rotor_max", 180.0, -1, "mm", (1.0, 39.0)),
    ("tyre-clearance", "bike.fork.tyre_clearance", 61.6, -1, "mm", (0.1, 25.0)),
    ("steerer-stack", "bike.cockpit.spacers_under", 40.0, 1, "mm", (0.5, 50.0)),
    ("mass-limit", "rider.mass", 110.5, 1, "kg", (0.1, 80.0)),
    ("tyre-pressure-window", "bike.wheel.rear.pressure_max", 1.2, -1, "bar", (0.01, 0.69)),
    ("post-diameter", "bike.post.diameter", 31.6, 1, "mm", (0.2, 3.0)),
    ("geometry-closure", "bike.frame.wheelbase", 1223.4, 1, "mm", (0.2, 60.0)),
    ("chart-pressure", "bike.fork.pressure_max", 90.0, -1, "psi", (0.5, 40.0)),
    ("dropper-too-long", "bike.frame.seat_tube", SEAT_TUBE_EDGE, 1, "mm", (0.1, 80.0)),
)


@given(st.sampled_from(DRAWN), st.floats(0.0, 1.0))
def test_a_clash_of_any_size_is_found(plant, share):
    code, field, edge, way, unit, (least, most) = plant
    value = edge + way * (least + share * (most - least))
    assert clashes(planted(f"{field}={value:.4f} {unit}")) == [code]


@given(st.sampled_from(DRAWN), st.floats(0.0, 1.0))
def test_a_sound_value_next_to_the_limit_is_not(plant, share):
    _, field, edge, way, unit, (least, _) = plant
    value = edge - way * share * min(least, 0.05)
    assert clashes(planted(f"{field}={value:.4f} {unit}")) == []


@given(st.lists(st.sampled_from(PLANTS), min_size=2, max_size=3, unique_by=lambda plant: plant[0]))
def test_clashes_do_not_hide_each_other(plants):
    fields = [text.split("=")[0] for _, changes in plants for text in changes]
    if len(set(fields)) < len(fields):
        return
    found = set(clashes(planted(*(text for _, changes in plants for text in changes))))
    riders = {"dropper-too-long", "post-too-short"}
    wanted = {code for code, _ in plants}
    assert wanted - riders <= found


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("bike.frame.rotor_max=160 mm", "bike.frame.rotor_max=16 cm"),
        ("rider.mass=120 kg", "rider.mass=264.5547 lb"),
        ("bike.fork.pressure_max=85 psi", "bike.fork.pressure_max=5.86054 bar"),
    ],
)
def test_the_unit_written_changes_no_finding(one, other):
    left, right = (crosscheck(planted(text))[0] for text in (one, other))
    assert [item.code for item in left] == [item.code for item in right]


@pytest.mark.parametrize(
    "field",
    [
        "bike.mass_limit",
        "bike.use_class",
        "bike.hands_delivered",
        "bike.wheel.front.hooked",
        "bike.tyre.rear.hookless_ok",
        "bike.frame.insertion_min",
        "bike.frame.insertion_max",
    ],
)
def test_what_nobody_may_guess_is_asked(field):
    sheets = without(field)
    assert asked(sheets) == [field]
    assert clashes(sheets) == []
    question = crosscheck(sheets)[1][0]
    assert question.ask.endswith("?") and question.why


def test_a_carbon_steerer_asks_for_its_greatest_stack():
    given_ = change(without("bike.frame.steerer_stack_max"), ["bike.fork.material_steerer=carbon"])
    assert "bike.frame.steerer_stack_max" in asked(given_)
    assert "bike.frame.steerer_stack_max" not in asked(without("bike.frame.steerer_stack_max"))


def test_whether_the_limit_counts_the_bike_is_asked_only_when_it_decides():
    unknown = without("bike.mass_limit_includes_bike")
    assert asked(unknown) == []
    deciding = change(unknown, ["bike.mass_limit=85 kg"])
    assert asked(deciding) == ["bike.mass_limit_includes_bike"]
    assert clashes(deciding) == []
    assert clashes(change(unknown, ["bike.mass_limit=75 kg"])) == ["mass-limit"]


def test_a_limit_without_the_bike_leaves_the_bike_out():
    sheets = planted("bike.mass_limit=85 kg", "bike.mass_limit_includes_bike=false")
    assert clashes(sheets) == []


def test_kit_counts_once():
    sheets = planted("rider.mass=112 kg")
    assert clashes(sheets) == ["mass-limit"]
    assert clashes(change(sheets, ["rider.mass_includes_kit=true"])) == []


def test_a_stated_mass_stands_in_for_a_rider():
    sheets = replace(clean(), rider=None, mass=parse("120 kg", "mass"))
    assert clashes(sheets) == ["mass-limit"]
    assert clashes(replace(sheets, mass=parse("100 kg", "mass"))) == []


def test_a_hookless_rim_is_held_under_the_standards_ceiling():
    sheets = planted(
        "bike.tyre.front.pressure_max=8 bar",
        "bike.tyre.front.pressure_min=5.5 bar",
        "bike.wheel.front.pressure_max=8 bar",
    )
    assert clashes(sheets) == ["tyre-pressure-window"]
    assert clashes(change(sheets, ["bike.wheel.front.hooked=true"])) == []


def test_a_shorter_dropper_clears_the_clash():
    small = planted("rider.height=1.55 m", "rider.inseam=705 mm")
    finding = next(x for x in crosscheck(small)[0] if x.code == "dropper-too-long")
    travel, length = re.findall(r"(\d+) mm", finding.do)
    assert int(travel) < 170 and int(length) == 470 - 2 * (170 - int(travel))
    shorter = change(small, [f"bike.post.travel={travel} mm", f"bike.post.length={length} mm"])
    assert clashes(shorter) == []


def test_a_shallow_insertion_mark_is_told_where_the_law_says_how_deep():
    shallow = ("bike.post.insertion_min=55 mm",)
    assert clashes(planted(*shallow)) == []
    american = ("place.country=US", "bike.hands_delivered=front-left")
    assert clashes(planted(*shallow, *american)) == ["post-mark"]
    assert clashes(planted(*american)) == []


def test_the_gravest_comes_first():
    found = crosscheck(planted("bike.brake.rear.fluid=dot4", "bike.use_class=1"))[0]
    order = ["stop", "warn", "note"]
    ranks = [order.index(item.severity) for item in found]
    assert ranks == sorted(ranks)
    assert len(set(ranks)) == 3


def test_legal_fittings_are_told_as_a_note():
    notes = [x for x in crosscheck(clean())[0] if x.code == "legal-fittings"]
    assert {note.severity for note in notes} == {"note"}
    assert any("sold new: a bell, and reflectors" in note.facts[1] for note in notes)
    assert any("two brakes" in note.facts[1] for note in notes)
