"""Every visit's plan sets again what its own steps open, on drawn bikes of every kind."""

from __future__ import annotations

from collections import Counter

import pytest

from advice.generated import drawn
from cyclewright.knowledge.fasteners import fastener
from cyclewright.knowledge.inspection import CAUSES, points
from cyclewright.record.inspection import inspection_plan
from cyclewright.record.plan import Plan, PlannedStep
from cyclewright.record.steps import needed, steps_from
from cyclewright.sheets.sheets import Sheets, change, facts
from cyclewright.workshop.check import plan
from record.test_plan import LONGTRAVEL, TRAIL

DRAWN = 120

# By hand, from the trade's view: what a look takes apart, and what is then set again, whichever
# of it this bike has.
LOOKS = {
    "look-steerer": "steerer-gap star-nut-seated headset-seated expander-set headset-preload "
    "stem-pinch bar-and-stem-hold headset-without-play hoses-slack",
    "look-bar-and-stem": "bar-in-stem bar-rolled lever-angle levers-clamped shifter-clamped "
    "remote-clamped grips-clamped grips-on bar-ends-plugged",
    "look-axles": "front-wheel-tool-axle front-wheel-lever-axle front-wheel-quick-release "
    "front-wheel-nuts rear-wheel-tool-axle rear-wheel-lever-axle rear-wheel-quick-release "
    "rear-wheel-nuts axles-hold",
    "look-post": "post-in saddle-height saddle-height-not-fitted post-insertion seat-collar-set "
    "mast-head-set remote-led-inside remote-led-outside remote-paired",
    "look-pedals": "pedals-on",
    "look-shock-and-pivots": "shock-pressure shock-coil shock-sag shock-sag-coil",
    "look-battery": "battery-latched",
}


def inspected(sheets: Sheets, cause: str) -> tuple[Plan, Plan]:
    """The build's plan and the inspection's."""
    whole = plan(sheets, spare=True)
    return whole, inspection_plan(facts(sheets), cause, whole)


def sets(step: PlannedStep, joint: str) -> bool:
    """Whether a step sets a joint itself: it neither reads it nor goes round it."""
    return joint in step.joints and not step.reads and not step.bolts


def again(found: Plan, place: int, joint: str, sheets: Sheets) -> None:
    """The joint is set by a later step with the evidence that its kind leaves."""
    later = [step for step in found.steps[place + 1 :] if sets(step, joint)]
    if joint in ("shock_front", "shock_rear", "battery"):
        later = [step for step in found.steps[place + 1 :] if joint in step.joints]
    assert later, (found.steps[place].id, joint)
    item = fastener(joint, facts(sheets))
    assert item is not None
    by_hand = ("shock_front", "shock_rear", "battery", "grips")
    tool = item.kind != "hand" and joint not in by_hand
    if tool and sheets.bike.fastener.get(joint) is None:
        assert any({"torque", "photo"} & set(step.evidence) for step in later), joint
    if joint == "hose_nuts":
        order = [step.id for step in found.steps]
        assert place < order.index("brakes-bled") < order.index("brakes-held-hard")


def test_the_table_names_every_look_that_takes_something_apart() -> None:
    assert {point.id for point in points() if point.opens} == set(LOOKS)


@pytest.mark.parametrize("cause", CAUSES)
def test_an_inspection_sets_again_what_its_looks_open(cause: str) -> None:
    seen: Counter[str] = Counter()
    for seed in range(DRAWN):
        sheets = drawn(seed)
        whole, found = inspected(sheets, cause)
        ids = {step.id for step in found.steps}
        built = {step.id for step in whole.steps}
        places = {step.id: place for place, step in enumerate(found.steps)}
        for place, step in enumerate(found.steps):
            assert all(places[need] < place for need in step.needs), step.id
            for joint in step.joints if step.id in LOOKS else ():
                again(found, place, joint, sheets)
                seen[joint] += 1
            if step.id in LOOKS:
                assert set(LOOKS[step.id].split()) & built <= ids, (seed, step.id)
        assert not any(name.startswith(("hands-changed", "hoses-opened")) for name in ids)
        waiting = {"pads-out-block-in", "hoses-closed", "brakes-bled", "pads-back-in"}
        due = set(steps_from(needed([step.to_json() for step in found.steps], {})))
        assert not waiting & due, "nobody opens a hose to look at a bike"
        cautions = {step.id: step.cautions for step in whole.steps}
        assert all(step.cautions == cautions[step.id] for step in found.steps if step.id in built)
    print(f"\n{cause}: {dict(seen)}")
    assert len(seen) > 4


def test_a_build_and_a_journey_set_again_what_they_open() -> None:
    opened: Counter[str] = Counter()
    for seed in range(DRAWN):
        sheets = drawn(seed)
        found = plan(sheets)
        by_id = {step.id: place for place, step in enumerate(found.steps)}
        for place, step in enumerate(found.steps):
            for joint in step.loosens:
                # packing undoes a step; the rebuild does it, and all on its joint, again
                setting = [other for other in found.steps if sets(other, joint)]
                assert setting and min(by_id[other.id] for other in setting) >= 0, joint
                again(found, min(by_id[other.id] for other in setting) - 1, joint, sheets)
                opened[joint] += 1
            if step.id in ("hands-changed-open-hoses", "hands-changed-other-levers"):
                bled = "brakes-bled" in by_id
                ends = (sheets.bike.brake.front, sheets.bike.brake.rear)
                oily = [end for end in ends if end.kind == "hydraulic"]
                assert bled == any(end.coupling != "sealed" for end in oily), seed
                if bled:
                    assert place < by_id["brakes-bled"] < by_id["brakes-held-hard"]
                    opened["hose_nuts"] += 1
    print(f"\n{dict(opened)}")
    assert opened["hose_nuts"] > 5


def test_what_closes_a_hose_waits_until_one_is_opened() -> None:
    agreed = ["bike.hands_delivered=front-right", "place.country=GB"]
    whole = plan(change(TRAIL, agreed), spare=True)
    waiting = {step.id for step in whole.steps if step.if_opened}
    assert waiting == {"pads-out-block-in", "hoses-closed", "brakes-bled", "pads-back-in"}
    rows = [step.to_json() for step in whole.steps]
    assert not waiting & set(steps_from(needed(rows, {})))
    assert waiting <= set(steps_from(needed(rows, {"hose_nuts": 7})))
    assert not waiting & {step.id for step in plan(TRAIL).steps}
    sealed = plan(LONGTRAVEL, spare=True)
    assert not any(step.if_opened for step in sealed.steps), "its couplings are sealed"
