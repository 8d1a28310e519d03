"""Used and crashed bikes: all of it looked at, findings settled, the gates proved anew."""

from __future__ import annotations

import pytest

from cyclewright.errors import InputError, Refusal
from cyclewright.knowledge.inspection import CAUSES, points
from cyclewright.record.gates import ITEMS, LOOKED_OVER
from cyclewright.workshop import build, care, erase, receive, release
from cyclewright.workshop import inspection as use
from cyclewright.workshop.shop import Shop
from walks.test_unknown import without
from workshop.remains import events_of
from workshop.shops import build_until, do_again, photo, record, sheets


def _crashed(shop: Shop) -> int:
    return use.open_inspection(shop, sheets(), "crashed", by="Ada")


def _look(shop: Shop, *but: str) -> None:
    for step in build.plan_for(shop, 1).steps:
        if step.stage == "Receive" and step.safety == "inspection" and step.id not in but:
            record(shop, 1, step)


def _prove(shop: Shop) -> None:
    done = shop.state(1).done()
    for step in build.plan_for(shop, 1).steps:
        if step.stage in ("Receive", "Build", "Fit", "Base") and step.id not in done:
            record(shop, 1, step)


def test_every_point_says_what_to_do_why_and_with_what() -> None:
    names = [point.id for point in points()]
    assert len(names) == len(set(names)) >= 14
    for point in points():
        assert point.do and point.why and point.tool and point.source and point.minutes > 0
        assert set(point.causes) <= set(CAUSES)


def test_the_plan_is_points_and_proofs_and_nothing_of_the_carton(shop: Shop) -> None:
    _crashed(shop)
    steps = build.plan_for(shop, 1).steps
    ids = {step.id for step in steps}
    assert {"look-frame", "look-shock-and-pivots", "brakes-held-hard", "axles-hold"} <= ids
    assert not {"carton-open", "serial-read", "look-battery"} & ids
    assert {step.safety for step in steps} >= {
        item.id for item in ITEMS if not item.where_there
    } - {LOOKED_OVER}
    places = {step.id: place for place, step in enumerate(steps)}
    assert all(places[need] < places[step.id] for step in steps for need in step.needs)


@pytest.mark.parametrize(("cause", "there"), [("crashed", True), ("stored", False)])
def test_the_cause_decides_how_far_it_is_stripped(shop: Shop, cause: str, there: bool) -> None:
    use.open_inspection(shop, sheets(), cause)
    assert ("look-steerer" in shop.state(1).planned_steps()) is there


def test_a_bike_without_a_fresh_build_is_released_by_its_own_gates(shop: Shop) -> None:
    _crashed(shop)
    wanted = {item.item for item in release.gate(shop, 1, "ride").missing}
    asked = {item.id for item in ITEMS if item.gate == "ride" and item.id != "whole-plan"}
    asked -= {LOOKED_OVER}
    assert wanted == {"inspection", *asked}
    _look(shop, "look-frame")
    _prove(shop)
    assert release.gate(shop, 1, "ride", by="Ada").passed
    build_until(shop, 1, "Prove", "Release")
    assert "released" in release.release(shop, 1, by="Ada").said
    assert care.show(shop, 1).next_step == "first-recheck"


def test_a_place_not_looked_at_stops_the_ride(shop: Shop) -> None:
    _crashed(shop)
    _prove(shop)
    build.undo(shop, 1, step="look-axles")
    (left,) = release.gate(shop, 1, "ride").missing
    assert (left.item, left.step, left.never_override) == ("inspection", "look-axles", True)


def test_a_released_bike_is_inspected_after_a_crash(built: Shop) -> None:
    release.gate(built, 1, "ride", by="Ada")
    build_until(built, 1, "Prove", "Release")
    release.release(built, 1, by="Ada")
    settings = dict(built.state(1).settings)
    use.open_inspection(built, 1, "crashed", by="Ada")
    shown = care.show(built, 1)
    assert (shown.stage, shown.visit_kind, shown.released) == ("Receive", "inspection", None)
    assert built.state(1).settings == settings
    build.change_sheet(built, 1, ["bike.cockpit.spacers_under+=5 mm"])
    assert "look-frame" in built.state(1).planned_steps()


def test_a_finding_that_stops_the_bike_is_never_declined_away(shop: Shop) -> None:
    _crashed(shop)
    _prove(shop)
    said = use.find(
        shop,
        1,
        "crack behind the head tube",
        "stop",
        point="look-frame",
        photos=[photo()],
        work="new frame",
        price="1,200 crowns",
    )
    assert said.said == "finding 1 (stop): crack behind the head tube"
    (left,) = release.gate(shop, 1, "ride").missing
    assert (left.item, left.never_override) == ("findings", True)
    answer = use.decline(shop, 1, [1], "Cy Invented", photo(), by="Ada")
    assert "print its do-not-ride tag" in answer.said
    (left,) = release.gate(shop, 1, "ride").missing
    assert "declined, but it stops the bike" in left.why
    assert use.inspection(shop, 1).verdict.startswith("not to be ridden")
    use.put_right(shop, 1, 1, "frame replaced")
    wanted = {item.item for item in release.gate(shop, 1, "ride").missing}
    assert {"inspection", "bar-and-stem", "axles", "headset"} <= wanted
    do_again(shop)
    assert release.gate(shop, 1, "ride").passed


@pytest.mark.parametrize(
    ("found", "what", "items"),
    [
        ("bar scored at the clamp", "a new one", {"bar-and-stem", "inspection"}),
        ("something bent", "new front rotor", {"axles", "brake-hold", "inspection"}),
        ("noise somewhere", "it was the shed door", {"inspection"}),
    ],
)
def test_what_was_put_right_is_proved_anew_and_its_place_looked_at_again(
    shop: Shop, found: str, what: str, items: set[str]
) -> None:
    _crashed(shop)
    _prove(shop)
    use.find(shop, 1, found, "stop", point="look-bar-and-stem", photos=[photo()])
    use.put_right(shop, 1, 1, what)
    wanted = {item.item for item in release.gate(shop, 1, "ride").missing}
    assert items <= wanted
    do_again(shop)
    assert release.gate(shop, 1, "ride").passed


def test_touching_up_paint_opens_no_joint(shop: Shop) -> None:
    _crashed(shop)
    _prove(shop)
    use.find(shop, 1, "paint rubbed on the chainstay", "note", photos=[photo()])
    use.put_right(shop, 1, 1, "touched up")
    assert release.gate(shop, 1, "ride", by="Ada").passed


def test_after_a_fall_wheels_hanger_limits_and_gears_are_read(shop: Shop) -> None:
    _crashed(shop)
    looked = {"wheels-true", "hanger-straight", "limits-set", "gears-indexed"}
    assert looked <= set(shop.state(1).planned_steps())


def test_lesser_findings_wait_for_the_release_and_may_be_declined(shop: Shop) -> None:
    _crashed(shop)
    _prove(shop)
    use.find(shop, 1, "chain long", "warn", point="look-drive")
    use.find(shop, 1, "grips worn", "note")
    assert release.gate(shop, 1, "ride", by="Ada").passed
    found = [m for m in release.gate(shop, 1, "release").missing if m.item == "findings"]
    assert len(found) == 2
    with pytest.raises(Refusal, match="quote its work first"):
        use.decline(shop, 1, [1], "Cy")
    for number, work in ((1, "chain and cassette"), (2, "grips")):
        use.quote(shop, 1, number, work, "40 crowns")
    use.decline(shop, 1, [1, 2], "Cy Invented")
    assert not [m for m in release.gate(shop, 1, "release").missing if m.item == "findings"]
    with pytest.raises(Refusal, match="it is settled: declined and signed"):
        use.quote(shop, 1, 1, "chain")
    rows = {row.id: row for row in use.inspection(shop, 1).findings}
    assert (rows[1].work, rows[1].price, rows[1].status) == (
        "chain and cassette",
        "40 crowns",
        "declined",
    )


def test_who_signed_is_personal_and_can_be_erased(shop: Shop) -> None:
    _crashed(shop)
    use.find(shop, 1, "chain long", work="chain")
    use.decline(shop, 1, [1], "Cy Invented", photo(), by="Ada")
    assert b"Cy Invented" not in events_of(shop)
    assert erase.erase_bike(shop, 1, ["signatures"], reason="asked", by="Ada").erased == 2
    assert care.verify(shop).ok


def test_a_finding_at_a_point_is_a_look_at_it(shop: Shop) -> None:
    _crashed(shop)
    use.find(shop, 1, "worn", point="look-tyres")
    (row,) = [row for row in use.inspection(shop, 1).points if row.id == "look-tyres"]
    assert (row.status, row.findings) == ("done", (1,))
    with pytest.raises(InputError, match="name a step of this visit"):
        use.find(shop, 1, "worn", point="look-elsewhere")
    with pytest.raises(InputError, match="allowed: stop, warn, note"):
        use.find(shop, 1, "worn", "awful")
    with pytest.raises(InputError, match="allowed: used, crashed"):
        use.open_inspection(shop, 1, "bored")
    with pytest.raises(InputError, match="give its number"):
        use.put_right(shop, 1, 9, "x")


def test_opened_twice_by_one_uuid_is_one_bike(shop: Shop) -> None:
    uuid = "6b1c3a1e-1111-4c4c-9999-000000000002"
    twice = [use.open_inspection(shop, sheets(), "used", uuid=uuid) for _ in range(2)]
    assert twice == [1, 1]
    assert [row.id for row in receive.list_bikes(shop)] == [1]


def test_a_crash_visit_puts_together_what_it_took_apart(built: Shop) -> None:
    """Told: a crash visit takes the stem off, and its plan has no pinch bolts."""
    release.gate(built, 1, "ride", by="Ada")
    build_until(built, 1, "Prove", "Release")
    release.release(built, 1, by="Ada")
    use.open_inspection(built, 1, "crashed", by="Ada")
    plan = build.plan_for(built, 1)
    order = [step.id for step in plan.steps]
    for name in ("steerer-gap", "headset-preload", "stem-pinch", "levers-clamped", "post-in"):
        assert name in order
    pinch = plan.step("stem-pinch")
    assert pinch is not None and pinch.torque is not None and pinch.cautions
    with pytest.raises(Refusal, match="look-steerer first"):
        build.record_step(built, 1, "stem-pinch", as_set=True, by="Ada")
    do_again(built)
    assert "released" in release.release(built, 1, by="Ada").said
    build.record_step(built, 1, "look-steerer", by="Ada")
    state = built.state(1)
    assert {"steerer-gap", "headset-preload", "stem-pinch", "bar-and-stem-hold"} <= {
        name for name in state.planned_steps() if state.step(name).status == "reopened"
    }


def test_a_hose_opened_before_a_crash_is_bled_in_its_visit(built: Shop) -> None:
    build.touch(built, 1, ["hose_nuts"], "hose shortened", by="Ada")
    use.open_inspection(built, 1, "crashed", by="Ada")
    assert {"hoses-closed", "brakes-bled"} <= set(built.state(1).planned_steps())
    do_again(built)
    use.open_inspection(built, 1, "returned", by="Ada")
    assert not {"hoses-closed", "brakes-bled"} & set(built.state(1).planned_steps())


def test_every_face_says_that_a_bike_in_an_inspection_is_not_to_be_ridden(built: Shop) -> None:
    release.gate(built, 1, "ride", by="Ada")
    build_until(built, 1, "Prove", "Release")
    release.release(built, 1, by="Ada")
    use.open_inspection(built, 1, "crashed", by="Ada")
    shown, (row,) = care.show(built, 1), receive.list_bikes(built)
    assert shown.lapsed == row.lapsed and "new visit" in shown.lapsed
    assert row.blocked and shown.was_released


def test_a_gate_asks_about_each_brake_by_its_own_question(shop: Shop) -> None:
    bare = sheets()
    for end in ("front", "rear"):
        without_kind = without(bare, f"bike.brake.{end}.kind")
        assert without_kind is not None
        bare = without_kind
    receive.open_bike(shop, bare)
    why = [row.why for row in release.gate(shop, 1, "ride").missing if "brake" in row.why]
    for end in ("front", "rear"):
        assert any(f"brake.{end}.kind is not known: Is the {end} brake" in text for text in why)
