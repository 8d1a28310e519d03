"""Thousands of drawn bikes: whatever is on the sheets, the plan is one that can be kept."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace
from random import Random

import pytest

from advice.generated import COUNTRIES, drawn
from cyclewright.advice import brakes, torque
from cyclewright.advice.torque import TorqueWindow
from cyclewright.knowledge.fasteners import fasteners
from cyclewright.knowledge.steps import STAGES
from cyclewright.knowledge.steps import steps as knowledge_steps
from cyclewright.record.gates import ITEMS
from cyclewright.record.plan import Plan, PlannedStep, make_plan
from cyclewright.sheets.bike import Bike, Brake, Brakes
from cyclewright.sheets.place import Place
from cyclewright.sheets.rider import Rider
from cyclewright.sheets.sheets import Sheets, facts

WHOLE, TORN, REMOVED = 1200, 1500, 400
GATE_OF = {item.id: item.gate for item in ITEMS}
ALWAYS = {item.id for item in ITEMS if not item.where_there}
SPRUNG = {"springs", "sag"}
IN_TIME = {"ride": {"Receive", "Build", "Fit", "Base"}, "release": {"Prove", "Release"}}
ROUTE_STEP = {
    "cables": "hands-changed-cables",
    "whole-levers": "hands-changed-whole-levers",
    "sealed-couplings": "hands-changed-sealed-couplings",
    "open-hoses": "hands-changed-open-hoses",
    "other-levers": "hands-changed-other-levers",
}
CUSTOM = {
    "GB": "front-right", "DE": "front-left", "US": "front-left", "FR": "front-left",
    "MT": "front-right",
}  # fmt: skip


def check_order(plan: Plan) -> None:
    """Every step once, after what it needs, in stages, and its card in one piece."""
    place = {step.id: number for number, step in enumerate(plan.steps)}
    assert len(place) == len(plan.steps)
    stages = [STAGES.index(step.stage) for step in plan.steps]
    assert stages == sorted(stages)
    for step in plan.steps:
        assert all(place[need] < place[step.id] for need in step.needs), step.id
    lines = [step for card in plan.cards() for line in card.lines for step in line]
    assert lines == list(plan.steps)


def check_step(step: PlannedStep) -> None:
    """A tool, evidence, a gate for what is safety, and no blank left unfilled."""
    assert step.tool and step.evidence and step.why and step.source, step.id
    assert "{" not in step.do + step.tool, step.id
    assert len(step.cautions) <= 3
    if step.safety:
        assert step.stage in IN_TIME[GATE_OF[step.safety]], step.id
    if "torque" in step.evidence and step.torque is not None and step.torque.set is not None:
        low, high = step.torque.low, step.torque.high
        assert (low is None or low <= step.torque.set) and step.torque.set <= (high or 1e9)
    if {"value", "text"} & set(step.evidence):
        assert step.record is not None and step.record.what
    assert bool(step.packing) or not step.loosens, step.id
    assert set(step.loosens) <= set(fasteners())


def check_bolts(plan: Plan, sheets: Sheets, windows: Mapping[str, TorqueWindow]) -> None:
    """Every joint with a figure is gone round once after the ride, and so is every bonded one."""
    after = [step for step in plan.steps if step.stage == "Release"]
    seen = Counter(bolt.joint for step in after for bolt in step.bolts)
    assert set(seen.values()) <= {1}
    assert {bolt.joint for bolt in plan.bolts()} == set(seen)
    assert set(windows) | set(sheets.bike.fastener) <= set(seen)
    bonded = {name for name, item in sheets.bike.fastener.items() if item.verb == "leave"}
    for bolt in plan.bolts():
        if bolt.joint in bonded:
            assert bolt.verb == "leave" and bolt.torque is None and bolt.tool == "eyes"
        assert bolt.verb in ("set", "check", "leave") and bolt.tool


def test_every_drawn_bike_gets_a_plan_that_can_be_kept() -> None:
    kinds: Counter[str] = Counter()
    steps: Counter[str] = Counter()
    for seed in range(WHOLE):
        sheets = drawn(seed)
        windows, _ = torque.windows(sheets)
        plan = make_plan(facts(sheets), windows, brakes.derived(sheets))
        check_order(plan)
        for step in plan.steps:
            check_step(step)
        check_bolts(plan, sheets, windows)
        assert plan.questions == (), (seed, plan.questions)
        assert {step.safety for step in plan.steps} - {""} - SPRUNG == ALWAYS
        check_route(plan, sheets)
        kinds[str(sheets.bike.kind)] += 1
        steps.update(step.id for step in plan.steps)
    print(
        f"\n{WHOLE} bikes, {len(steps)} kinds of step, {sum(steps.values())} steps: {dict(kinds)}"
    )
    assert set(kinds) == {"full-suspension", "hardtail", "rigid"}
    # every step that the knowledge has is some bike's
    assert {step.id for step in knowledge_steps()} == set(steps)


def check_route(plan: Plan, sheets: Sheets) -> None:
    """The steps that change the hands are those of the right route, and no others."""
    there = {step.id for step in plan.steps}
    wanted, route = oracle(sheets)
    changed = there & set(ROUTE_STEP.values())
    assert changed == ({ROUTE_STEP[route]} if route else set())
    ends = (sheets.bike.brake.front, sheets.bike.brake.rear)
    oily = any(end.kind == "hydraulic" and end.coupling != "sealed" for end in ends)
    opened = route == "open-hoses" or (route == "other-levers" and oily)
    assert ("brakes-bled" in there) == opened
    assert ("hoses-closed" in there) == (opened and route != "open-hoses")
    assert ({"pads-out-block-in", "pads-back-in"} & there == set()) == (not opened)
    assert ("hoses-opened" in there) == (route == "open-hoses")
    custom = CUSTOM[str(sheets.place.country)]
    assert ("order-signed" in there) == (wanted != custom)
    proof = plan.step("hands-proved")
    assert proof is not None and proof.record is not None and proof.record.must_be == wanted
    headset = any(
        end.hose_route == "headset" for end in (sheets.bike.brake.front, sheets.bike.brake.rear)
    )
    assert ("headset-hoses-laid" in there) == (bool(route) and headset)
    if route:
        order = [step.id for step in plan.steps]
        at = order.index(ROUTE_STEP[route])
        assert at < order.index("controls-in-order") < order.index("bar-ends-plugged")
        assert at < order.index("levers-clamped")
        if headset:
            assert order.index("headset-hoses-laid") < order.index("headset-preload")


def oracle(sheets: Sheets) -> tuple[str | None, str]:
    """Wanted hands and the route to them, told anew: empty where nothing has to change."""
    bike, wish = sheets.bike, sheets.rider.hands_wish if sheets.rider else None
    custom = CUSTOM.get(str(sheets.place.country), sheets.place.hands)
    wanted = custom if bike.hire or wish is None else wish
    if wanted is None or wanted == bike.hands_delivered:
        return wanted, ""
    ends = (bike.brake.front, bike.brake.rear)
    oily = [end for end in ends if end.kind == "hydraulic"]
    if not oily:
        return wanted, "cables"
    if {end.lever for end in oily} == {"two-way"}:
        return wanted, "whole-levers"
    if len(oily) == 1 or oily[0].fluid != oily[1].fluid:
        return wanted, "other-levers"
    sealed = {end.coupling for end in oily} == {"sealed"}
    return wanted, "sealed-couplings" if sealed else "open-hoses"


def test_the_brake_route_is_right_for_every_case() -> None:
    kinds, levers, couplings = ("hydraulic", "cable"), ("two-way", "one-way"), ("open", "sealed")
    seen: Counter[str] = Counter()
    base = Bike.model_construct(kind="hardtail")
    cases = itertools.product(
        kinds, kinds, levers, levers, couplings, couplings, ("mineral", "dot4"),
        ("front-left", "front-right"), ("GB", "DE", "KE"),
        (None, "front-left", "front-right"), (None, "front-left", "front-right"), (False, True),
    )  # fmt: skip
    for fk, rk, fl, rl, fc, rc, fluid, delivered, country, hands, wish, hire in cases:
        front = Brake.model_construct(kind=fk, lever=fl, coupling=fc, fluid="mineral")
        rear = Brake.model_construct(kind=rk, lever=rl, coupling=rc, fluid=fluid)
        bike = base.model_copy(
            update={
                "brake": Brakes.model_construct(front=front, rear=rear),
                "hands_delivered": delivered,
                "hire": hire,
            }
        )
        rider = Rider.model_construct(hands_wish=wish)
        sheets = Sheets(bike, rider, Place.model_construct(country=country, hands=hands))
        found = brakes.hands(sheets)
        wanted, route = oracle(sheets)
        assert found.wanted == wanted
        if wanted is None:
            assert found.change_needed is None and found.questions
            asked = {question.field for question in found.questions}
            assert asked == {"place.hands" if hire else "rider.hands_wish"}
        else:
            assert found.change_needed == bool(route)
            assert found.route == (route or "none")
            assert bool(found.consequences) or not route
        codes = {finding.code for finding in found.findings()}
        assert ("hire-hands" in codes) == (hire and wish is not None and wish != wanted)
        assert ("brake-hands" in codes) == bool(route)
        seen[route or "none"] += 1
    print(f"\n{sum(seen.values())} cases: {dict(seen)}")
    assert set(seen) == {"none", *ROUTE_STEP}


def test_whatever_is_not_known_the_plan_holds_together() -> None:
    random, asked = Random(7), 0
    for seed in range(TORN):
        sheets = drawn(seed % 150)
        windows, _ = torque.windows(sheets)
        share = random.random()
        known = {name: value for name, value in facts(sheets).items() if random.random() < share}
        plan = make_plan(known, windows, brakes.derived(sheets) if random.random() < share else {})
        check_order(plan)
        for step in plan.steps:
            check_step(step)
        assert all(known.get(question.field) is None for question in plan.questions)
        proved = {step.safety for step in plan.steps}
        assert proved >= ALWAYS - {"brake-hands"}
        asked += len(plan.questions)
    print(f"\n{TORN} torn sheets, {asked} questions")
    assert asked > TORN


Change = Callable[[dict[str, object]], dict[str, object]]


def without(*names: str) -> Change:
    """Facts without those that lie under these names."""

    def change(known: dict[str, object]) -> dict[str, object]:
        return {
            name: value
            for name, value in known.items()
            if not any(name == gone or name.startswith(f"{gone}.") for gone in names)
        }

    return change


def put(**values: object) -> Change:
    """Facts with others in their place; a double underscore stands for a dot."""
    return lambda known: known | {f"bike.{k.replace('__', '.')}": v for k, v in values.items()}


# A part, how it is taken off the sheet, what its steps are called, and when a bike has it.
PARTS: tuple[tuple[str, str, object, Change, set[str]], ...] = (
    ("electric drive", "bike.electric.motor", ..., without("bike.electric"), {
        "carton-lift-electric", "battery-looked-over", "battery-charged", "stand-rated-electric",
        "motor-wakes", "battery-latched", "explained-electric"}),
    ("dropper", "bike.post.kind", "dropper", put(post__kind="plain", post__material="alloy"), {
        "remote-led-inside", "remote-led-outside", "remote-paired", "post-battery-charged",
        "stand-by-dropper-body", "remote-clamped", "dropper-tried"}),
    ("rear shock", "bike.kind", "full-suspension", put(kind="hardtail"), {
        "chain-length-air", "chain-length-coil", "shock-pressure", "shock-coil", "shock-sag",
        "shock-sag-coil", "shock-rebound", "shock-compression", "pulley-gap-at-sag",
        "frame-bolts-checked", "shock-looked-over"}),
    ("sprung fork", "bike.fork.kind", "air", put(fork__kind="rigid"), {
        "fork-pressure", "fork-coil", "fork-sag", "fork-rebound", "fork-compression",
        "fork-looked-over"}),
    ("front tyre's tubeless kit", "bike.tyre.front.tubeless", True,
        put(tyre__front__tubeless=False), {"front-tubeless"}),
    ("rear insert", "bike.tyre.rear.insert", True, put(tyre__rear__insert=False), {"rear-insert"}),
    ("derailleur", "bike.drive.speeds", 12, put(drive__speeds=1, drive__sprockets=(18,)), {
        "hanger-straight", "derailleur-on", "limits-set", "cable-anchored", "gears-indexed",
        "gears-indexed-reverse", "gears-paired", "gears-trimmed", "cable-anchored-reverse",
        "clutch-tried",
        "pulley-gap", "pulley-gap-at-sag",
        "shifter-clamped", "shift-battery-charged"}),
    ("second chainring", "bike.drive.chainrings", (36, 24), put(drive__chainrings=(32,)), {
        "front-derailleur-set"}),
    ("carbon steerer", "bike.fork.material_steerer", "carbon",
        put(fork__material_steerer="alloy"), {"expander-set"}),
    ("star nut", "bike.fork.material_steerer", "alloy", put(fork__material_steerer="carbon"), {
        "star-nut-seated"}),
    ("mast", "bike.post.kind", "integrated", put(post__kind="plain", post__material="alloy"), {
        "mast-head-set", "stand-by-axle"}),
    ("chain guide", "bike.fastener.chain_guide.min", ..., without("bike.fastener.chain_guide"), {
        "chain-guide-set"}),
    ("front adapter", "bike.brake.front.rotor_adapter", ...,
        without("bike.brake.front.rotor_adapter", "bike.fastener.front_adapter"), {
        "front-adapter"}),
    ("clip pedals", "bike.pedal.kind", "clip", put(pedal__kind="flat"), {"cleats-eased"}),
    ("rider", "rider.height", ..., without("rider"), {
        "saddle-height", "legs-checked", "fork-sag", "shock-sag", "shock-sag-coil",
        "cleats-eased"}),
)  # fmt: skip


@pytest.mark.parametrize(
    ("part", "field", "value", "remove", "own"), PARTS, ids=[row[0] for row in PARTS]
)
def test_removing_a_part_removes_its_steps_and_nothing_else_breaks(
    part: str, field: str, value: object, remove: Change, own: set[str]
) -> None:
    had, seen = 0, set()
    for seed in range(REMOVED):
        sheets = drawn(seed)
        known = facts(sheets)
        if field not in known or (value is not ... and known[field] != value):
            continue
        windows, _ = torque.windows(sheets)
        derived = {k: v for k, v in brakes.derived(sheets).items() if k.startswith("derived.brake")}
        before = {step.id for step in make_plan(known, windows, derived).steps}
        if not before & own:
            continue  # cleats without a rider, an adapter that a bolt of its own still names
        plan = make_plan(remove(known), windows, derived)
        check_order(plan)
        assert not {step.id for step in plan.steps} & own
        assert {step.safety for step in plan.steps} - {""} - SPRUNG == ALWAYS
        seen |= before & own
        had += 1
        if had >= 25:
            break
    assert had >= 10, part
    assert len(seen) >= min(2, len(own))


def test_countries_drawn_have_a_row_each() -> None:
    assert set(COUNTRIES) == set(CUSTOM)


def test_a_stock_bike_in_a_country_without_a_row_asks_what_can_be_answered() -> None:
    sheets = drawn(3)
    sheets = replace(
        sheets, rider=None, place=Place.model_construct(country="KE"), mass=sheets.bike.mass
    )
    fields = {question.field for question in brakes.hands(sheets).questions}
    assert "place.hands" in fields and "rider.hands_wish" not in fields
