"""The order of a plan, held against what each step needs of the bike and what it leaves behind."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from functools import lru_cache

import pytest

from advice.generated import drawn
from cyclewright.advice import brakes
from cyclewright.knowledge.states import things, wanted, wrong
from cyclewright.knowledge.steps import Step, steps
from cyclewright.record.plan import Plan, make_plan
from cyclewright.sheets.sheets import Sheets, facts
from record.test_plan import HARDTAIL, LONGTRAVEL, TRAIL, change

BY_ID = {step.id: step for step in steps()}
DRAWN = 240
OPEN_HOSES = [
    "bike.brake.front.lever=one-way", "bike.brake.rear.lever=one-way",
    "bike.brake.front.coupling=open", "bike.brake.rear.coupling=open",
    "bike.brake.front.hose_route=headset",
]  # fmt: skip


def ordered(sheets: Sheets) -> tuple[Plan, dict[str, object]]:
    """The plan of a bike, and all that is known of it."""
    known = facts(sheets)
    derived = brakes.derived(sheets)
    return make_plan(known, {}, derived), all_known(known, derived)


def all_known(known: dict[str, object], derived: dict[str, object]) -> dict[str, object]:
    from cyclewright.knowledge.derived import derived as follows

    return known | follows(known) | {k: v for k, v in derived.items() if v is not None}


@lru_cache(maxsize=1)
def bikes() -> tuple[tuple[str, Plan, dict[str, object]], ...]:
    """The three bikes and as many drawn ones as meet every step."""
    named: list[tuple[str, Sheets]] = [("trail", TRAIL), ("hardtail", HARDTAIL)]
    named += [("longtravel", LONGTRAVEL), ("open hoses", change(TRAIL, OPEN_HOSES))]
    named += [(str(seed), drawn(seed)) for seed in range(DRAWN)]
    return tuple((name, *ordered(sheets)) for name, sheets in named)


def known_steps(plan: Plan) -> list[Step]:
    return [BY_ID[step.id] for step in plan.steps]


def test_every_step_finds_the_bike_as_it_needs_it() -> None:
    met: Counter[str] = Counter()
    for name, plan, known in bikes():
        assert wrong(known_steps(plan), known) == (), name
        met.update(step.id for step in plan.steps)
    assert set(met) == set(BY_ID), set(BY_ID) - set(met)


def test_a_step_left_out_is_missed_by_a_later_one() -> None:
    """Whatever a step leaves, another one or the ride wants it: dropped, the order fits no more."""
    missed: set[str] = set()
    for _, plan, known in bikes()[:80]:
        order = known_steps(plan)
        for place, step in enumerate(order):
            if step.leaves and wrong(order[:place] + order[place + 1 :], known):
                missed.add(step.id)
    assert missed == {step.id for step in steps() if step.leaves}


# A step moved to where it stood or might stand, and who then finds what: from the trade's view.
MOVED = [
    ("trail", "shock-pressure", "legs-checked", ("legs-checked", "rear_spring", "without air")),
    ("longtravel", "shock-coil", "lever-angle", ("legs-checked", "rear_spring",
                                                 "without its coil")),
    ("trail", "fork-pressure", "lever-angle", ("legs-checked", "fork_spring", "as it came")),
    ("trail", "front-tyre-pressure", "shock-sag", ("fork-sag", "front_tyre", "holds air")),
    ("trail", "off-the-stand", "fork-sag", ("legs-checked", "support", "stand")),
    ("trail", "grips-clamped", "bar-in-stem", ("grips-clamped", "levers", "loose")),
    ("trail", "chain-length-air", "shock-sag", ("shock-sag", "rear_spring", "without air")),
    ("trail", "front-wheel-tool-axle", "stem-pinch", ("stem-pinch", "front_wheel", "out")),
    ("open hoses", "pads-back-in", "brakes-pumped", ("pad-spacers-out", "front_caliper",
                                                     "pads out, block in")),
    ("open hoses", "brakes-bled", "brakes-pumped", ("pads-back-in", "hoses",
                                                    "closed with air in them")),
    ("open hoses", "hoses-opened", "controls-in-order", ("hands-changed-open-hoses", "hoses",
                                                         "as they came")),
    ("electronic", "gears-paired", "gears-trimmed", ("limits-set", "gear_radio", "charged")),
    ("electric", "battery-charged", "carton-outside", ("battery-charged", "carton", "closed")),
    ("electric", "motor-wakes", "fork-sag", ("fork-sag", "drive_battery", "out")),
    ("carbon post", "own-post-back", "legs-checked", ("saddle-height", "post", "spare")),
]  # fmt: skip
BIKES = {
    "trail": TRAIL,
    "longtravel": LONGTRAVEL,
    "open hoses": change(TRAIL, OPEN_HOSES),
    "electronic": change(TRAIL, ["bike.drive.pull=electronic"]),
    "electric": change(TRAIL, ["bike.electric.motor=M-1", "bike.electric.battery=B-1, 625 Wh"]),
    "carbon post": change(HARDTAIL, ["bike.post.material=carbon"]),
}


@pytest.mark.parametrize(("bike", "step", "after", "said"), MOVED, ids=[r[1] for r in MOVED])
def test_a_step_out_of_its_turn_is_found(
    bike: str, step: str, after: str, said: tuple[str, str, str]
) -> None:
    plan, known = ordered(BIKES[bike])
    order = known_steps(plan)
    assert wrong(order, known) == ()
    rest = [other for other in order if other.id != step]
    place = [other.id for other in rest].index(after) + (after != "carton-outside")
    rows = wrong([*rest[:place], BY_ID[step], *rest[place:]], known)
    if step == "chain-length-air":
        # the spring is set before the chain has let its air out, and again nobody fills it
        rows = tuple(row for row in rows if row.step in ("", "shock-sag"))
        assert ("", "rear_spring", "without air") in [(r.step, r.thing, r.found) for r in rows]
        return
    assert said in [(row.step, row.thing, row.found) for row in rows]


def test_nobody_is_told_to_sit_on_a_bike_whose_springs_were_put_off() -> None:
    """A step that seats somebody waits for what set its springs and took it off the stand."""
    sprung = ("fork_spring", "rear_spring", "support")
    for name, plan, _ in bikes():
        needs = {step.id: set(step.needs) for step in plan.steps}
        there = {step.id for step in plan.steps}
        for step in plan.steps:
            needs[step.id] |= {far for near in step.needs for far in needs[near]}
            if not BY_ID[step.id].seated or step.stage == "Prove":
                continue
            setting = {
                other
                for other in there
                for thing in sprung
                if BY_ID[other].leaves.get(thing) in things()[thing].ridden
            }
            assert setting <= needs[step.id], (name, step.id, setting - needs[step.id])


def test_what_is_put_off_or_taken_out_is_put_back_before_anybody_sits_on_it() -> None:
    """Each way that may not be ridden has steps that lead out of it, whatever leads into it."""
    out = {(name, way) for step in steps() for name, way in step.leaves.items()
           if things()[name].ridden and way not in things()[name].ridden}  # fmt: skip
    assert {name for name, _ in out} >= {"rear_spring", "hoses", "front_caliper", "post", "support",
                                         "derailleur", "drive_battery"}  # fmt: skip
    for name, way in out:
        back = [
            step.id
            for step in steps()
            if step.leaves.get(name, way) != way
            and way in wanted(step).get(name, things()[name].ways)
        ]
        assert back, (name, way)


def test_every_seat_is_declared() -> None:
    """Who sits, rides or stands on the bike says so; read off the words of the steps."""
    told = ("rider seated", "with the rider", "ride up to", "ride gently", "full kit and water",
            "the rider in riding shoes", "let the rider click")  # fmt: skip
    sat = {s.id for s in steps() if any(t in s.do.casefold() for t in told)}
    assert len(sat) >= 7
    assert sat <= {step.id for step in steps() if step.seated}


def test_a_cable_in_reverse_is_anchored_where_it_hangs_slack() -> None:
    plan, _ = ordered(change(TRAIL, ["bike.drive.pull=cable-reverse"]))
    step = plan.step("cable-anchored-reverse")
    assert step is not None and "largest sprocket" in step.do
    assert plan.step("cable-anchored") is None
    known = {k: v for k, v in facts(TRAIL).items() if k != "bike.drive.pull"}
    asked = make_plan(known, {}, brakes.derived(TRAIL))
    assert asked.step("cable-anchored") is None and asked.step("cable-anchored-reverse") is None
    assert "bike.drive.pull" in {question.field for question in asked.questions}


def test_nobody_locks_a_front_wheel_while_riding() -> None:
    for step in steps():
        if step.stage in ("Prove", "Release") and "locks" in step.do:
            assert "on foot" in step.do.casefold(), step.id
    assert "On foot" in BY_ID["function-stops-and-steers"].do
    assert any("locked" in caution.text for caution in BY_ID["bedding-in"].cautions)


@pytest.mark.parametrize("word", [None, "dry", "paste"])
def test_expander_and_stem_of_one_steerer_get_the_same(word: str | None) -> None:
    facts_of = ["bike.fork.material_steerer=carbon"]
    if word:
        facts_of += [f"bike.fastener.{n}.compound={word}" for n in ("expander", "stem_pinch")]
    plan, _ = ordered(change(TRAIL, facts_of))
    expander, stem = plan.step("expander-set"), plan.step("stem-pinch")
    assert expander is not None and stem is not None
    assert "assembly paste" in expander.compound and "assembly paste" in stem.compound
    assert not any("no grease or paste" in caution.text for caution in expander.cautions)


def test_the_rear_release_keeps_clear_of_the_derailleur() -> None:
    rear = " ".join(caution.text for caution in BY_ID["rear-wheel-quick-release"].cautions)
    assert "on the left" in rear and "side away from" not in rear


def test_no_stay_is_named_before_the_wheel_is_in() -> None:
    for step in steps():
        if step.finds.get("rear_wheel") == ("out",):
            assert "on the stay" not in step.tool, step.id


def test_crank_shock_and_pivots_are_proved_before_the_ride_gate() -> None:
    for name, plan, known in bikes():
        gate = [s for s in plan.steps if s.stage == "Base" and s.bolts]
        joints = {bolt.joint for step in gate for bolt in step.bolts}
        assert joints >= {"crank", "chainring", "bottom_bracket"}, name
        if known["bike.kind"] == "full-suspension":
            assert joints >= {"shock_front", "shock_rear", "pivots"}, name
        assert all(step.safety for step in gate)


# A part, when a bike has it, and the words that nobody should read on a bike without it.
ABSENT: tuple[tuple[str, Callable[[dict[str, object]], bool], tuple[str, ...]], ...] = (
    ("dropper", lambda k: k["bike.post.kind"] == "dropper", ("dropper",)),
    ("mast", lambda k: k["bike.post.kind"] == "integrated", ("mast",)),
    ("gears", lambda k: bool(k["derived.geared"]),
     ("shifter", "derailleur", "gear cable", "clutch")),
    ("shock", lambda k: k["bike.kind"] == "full-suspension", ("shock", "pivot", "coil")),
    ("sprung fork", lambda k: k["bike.fork.kind"] != "rigid" or k["bike.kind"] == "full-suspension",
     ("suspension", "sag", "dial")),
    ("air spring", lambda k: "air" in (k["bike.fork.kind"], k.get("bike.shock.kind")),
     ("suspension pump",)),
    ("electric drive", lambda k: "bike.electric.motor" in k, ("motor", "drive battery", "assist")),
    ("hydraulic brake", lambda k: bool(k["derived.any_hydraulic"]), ("bleed", "olive", "fluid")),
    ("adapter", lambda k: bool(k["derived.front_adapter"] or k["derived.rear_adapter"]),
     ("adapter",)),
    ("clip pedals", lambda k: k["bike.pedal.kind"] == "clip", ("cleat",)),
    ("star nut", lambda k: k["bike.fork.material_steerer"] != "carbon", ("star nut",)),
    ("expander", lambda k: k["bike.fork.material_steerer"] == "carbon", ("expander",)),
    ("sealant", lambda k: bool(k["bike.tyre.front.tubeless"] or k["bike.tyre.rear.tubeless"]),
     ("sealant", "insert's")),
)  # fmt: skip
MAY = {
    ("shock", "fork-coil"): "a coil fork has a coil",
}


def test_steps_name_only_parts_that_this_bike_has() -> None:
    """What to do and with what; a caution may speak of the trade at large."""
    seen: Counter[str] = Counter()
    for name, plan, known in bikes():
        for part, has, words in ABSENT:
            if has(known):
                continue
            seen[part] += 1
            for step in plan.steps:
                if (part, step.id) in MAY:
                    continue
                text = f"{step.do} {step.tool}".casefold()
                found = [word for word in words if re.search(rf"\b{word}", text)]
                assert not found, (name, part, step.id, found)
    assert set(seen) == {part for part, _, _ in ABSENT}


MISSED = {
    "packing film off": "packing-off", "frame protected": "frame-protected",
    "fork looked over": "fork-looked-over", "shock looked over": "shock-looked-over",
    "lever reach and equal bite": "lever-reach", "joining link": "chain-joined",
    "clutch": "clutch-tried", "spoke tension and dish": "spokes-tight-and-dished",
    "bead line after seating": "bead-lines", "rotors wiped": "rotors-wiped",
    "dropper air and free way": "dropper-tried", "accessories": "bottle-cage-on",
}  # fmt: skip


def test_nothing_that_a_mechanic_does_is_left_out() -> None:
    met = {step.id for _, plan, _ in bikes() for step in plan.steps}
    assert set(MISSED.values()) <= met
    order = {step.id: place for place, step in enumerate(steps())}
    for end in ("front", "rear"):
        assert "80 to 120 ml" in BY_ID[f"{end}-tubeless"].compound
        assert order[f"{end}-tubeless"] < order["bead-lines"] < order[f"{end}-wheel-tool-axle"]
    assert order["pads-looked-over"] < order["rotors-wiped"] < order["pad-spacers-out"]
    assert order["chain-joined"] < order["limits-set"] < order["clutch-tried"]
