"""Undo by name: whole acts, one's own, put back again, and what rests on them."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cyclewright.errors import CyclewrightError, InputError, Refusal
from cyclewright.record.state import BikeState
from cyclewright.sheets.sheets import change
from cyclewright.workshop import (
    archive,
    build,
    carton,
    changing,
    due,
    inspection,
    pack,
    people,
    readings,
    recall,
    receive,
    release,
    undo,
)
from cyclewright.workshop.shop import Shop
from cyclewright.workshop.standing import standing
from cyclewright.workshop.wanted import Wanted
from workshop.shops import build_to_gate, opened, photo, record, sheets

OLDER = Path(__file__).parents[1] / "data/record/november-2026.zip"
CHANGE = "bike.cockpit.spacers_under+=5 mm"


def bare(state: BikeState) -> BikeState:
    """A state without the bookkeeping of its last events."""
    return replace(state, number=0, head=b"", updated="", undone=frozenset(), reopened={})


@pytest.fixture
def two(built: Shop) -> Shop:
    """Ada's bike, ready for the ride gate, and Ben beside her."""
    people.add_person(built, "Ben", by="Ada")
    return built


# the told cases


def test_one_s_undo_does_not_take_a_colleague_s_proof(two: Shop) -> None:
    opened_again = build.touch(two, 1, ["pedals-on"], "off for the carton", by="Ada").numbers
    build.record_step(two, 1, "pedals-on", torque="35 N.m", by="Ben")
    proved = two.state(1).step("pedals-on")
    assert undo.newest(two, 1, "Ada").numbers == opened_again
    with pytest.raises(Refusal, match="work was recorded on it in event"):
        undo.undo(two, 1, by="Ada")
    assert two.state(1).step("pedals-on") == proved
    assert proved.status == "done"


def test_another_s_act_is_taken_back_when_that_is_said(two: Shop) -> None:
    answer = build.record_step(two, 1, "pedals-on", torque="35 N.m", by="Ben")
    (number,) = answer.numbers
    mine = undo.newest(two, 1, "Ada")
    assert mine is not None and mine.own and mine.number < number
    said = undo.undo(two, 1, anyone=True, by="Ada")
    assert said.act is not None
    assert (said.act.by, said.act.numbers, said.act.own) == ("Ben", (number,), False)
    assert said.said.startswith(f"event {number} undone: Ben: pedals on 35 N·m, ")


def test_who_has_recorded_nothing_is_told_whose_the_newest_is(two: Shop) -> None:
    before = two.state(1)
    newest = undo.newest(two, 1, "Ben")
    assert newest is not None and not newest.own
    with pytest.raises(Refusal) as refused:
        undo.undo(two, 1, by="Ben")
    (problem,) = refused.value.problems
    assert problem.do == (
        f"the newest entry is Ada's, {newest.name}, {newest.when}: to take it back all the same "
        f"write --anyone or --number {newest.number}"
    )
    with pytest.raises(Refusal, match="Ada's, stem pinch"):
        undo.undo(two, 1, step="stem-pinch", by="Ben")
    with pytest.raises(Refusal, match="Ada's"):
        undo.undo(two, 1)  # a colleague's is not nobody's
    assert two.state(1).number == before.number


def test_undo_of_a_reading_leaves_no_half_of_it_standing(built: Shop) -> None:
    before = built.state(1)
    taken = readings.read(built, 1, "fork-pressure", "52 psi", by="Ada").numbers
    assert len(taken) == 2
    said = undo.undo(built, 1, by="Ada")
    assert said.act is not None
    assert said.act.numbers == taken
    assert said.act.name == "fork pressure 52 psi"
    assert bare(built.state(1)) == bare(before)
    # the half that it proves names the whole as well
    undo.undo(built, 1, number=said.numbers[0])
    assert undo.undo(built, 1, step="fork-pressure", by="Ada").act.numbers == taken


def test_of_an_act_half_undone_by_an_earlier_version_the_rest_is_taken(built: Shop) -> None:
    from cyclewright.record.events import Draft

    before = built.state(1)
    taken = readings.read(built, 1, "fork-pressure", "52 psi", by="Ada").numbers
    half = {"number": taken[0], "numbers": [taken[0]]}
    built.act(1, lambda _: [Draft("event-undone", "reading:fork-pressure", half, 1)])
    said = undo.undo(built, 1, by="Ada")
    assert said.act is not None and said.act.numbers == taken[1:]
    assert bare(built.state(1)) == bare(before)


def test_the_acts_of_an_older_record_are_found_by_their_uuids(shop: Shop) -> None:
    from cyclewright.record.acts import acts

    archive.read_archive(OLDER, shop)
    found = {act.numbers: [event.kind for event in act.events] for act in acts(shop.events(1))}
    assert found[57, 58] == ["reading-taken", "step-done"]
    assert found[84, 85] == ["sheet-changed", "planned"]
    assert found[76, 77, 78, 79, 80] == ["step-done"] * 5
    assert found[1, 2] == ["visit-opened", "planned"]


# whole acts, by name


def test_a_card_is_taken_back_whole(shop: Shop) -> None:
    bike = opened(shop)
    lines = ["frame-looked-over", "carton-open"]
    numbers = build.record_steps(shop, bike, lines, by="Ada").numbers
    look = undo.look(shop, bike, by="Ada")
    assert look.act is not None
    assert look.act.numbers == numbers
    assert look.act.name.endswith(" and 1 more")
    assert set(look.opens) == set(lines)
    assert shop.state(bike).done() == set(lines)
    undo.undo(shop, bike, by="Ada")
    assert not shop.state(bike).done()


def test_what_two_appends_of_one_entry_said_goes_together(shop: Shop) -> None:
    bike = opened(shop)
    before = shop.state(bike)
    carton.arrive(shop, bike, damage="corner crushed", photos=[photo()], by="Ada")
    numbers = tuple(range(before.number + 1, shop.state(bike).number + 1))
    assert undo.undo(shop, bike, by="Ada").act.numbers == numbers
    assert bare(shop.state(bike)) == bare(before)
    found = inspection.find(shop, bike, "bar scored", "stop", work="new bar", by="Ada").numbers
    assert len(found) == 2
    assert undo.undo(shop, bike, by="Ada").act.numbers == found
    assert bare(shop.state(bike)) == bare(before)


def test_a_plan_made_again_is_taken_back_but_never_the_first(shop: Shop) -> None:
    bike = opened(shop)
    with pytest.raises(Refusal, match="only steps, readings and changes"):
        undo.undo(shop, bike, by="Ada")
    with pytest.raises(Refusal, match="only steps, readings and changes"):
        undo.undo(shop, bike, number=2)
    before = shop.state(bike)
    build.plan_again(shop, bike, "Ada")
    assert undo.undo(shop, bike, by="Ada").act.name == "plan made again"
    assert bare(shop.state(bike)) == bare(before)


def test_the_look_says_what_opens_and_takes_nothing(built: Shop) -> None:
    before = built.state(1)
    release.gate(built, 1, "ride", by="Ada")
    look = undo.look(built, 1, step="headset-preload")
    assert look.numbers == ()
    assert "stem-pinch" in look.reopened
    assert {"headset-preload", "stem-pinch"} <= set(look.opens)
    assert look.falls == ("ride",)
    assert "would be undone: headset preload" in look.said
    assert built.state(1).number == before.number + 1
    said = undo.undo(built, 1, step="headset-preload")
    assert (said.reopened, said.opens, said.falls) == (look.reopened, look.opens, look.falls)
    assert said.said.endswith("the ride gate falls")
    back = undo.undo(built, 1, put_back=True)
    assert set(back.stands) == set(look.opens)
    assert built.state(1).gates.keys() == {"ride"}


# a number means that act and no other


def test_a_late_undo_takes_the_act_that_it_named_or_nothing(two: Shop) -> None:
    named = undo.newest(two, 1, "Ada")
    assert named is not None
    build.record_step(two, 1, "pedals-on", torque="35 N.m", by="Ada")
    own = str(uuid.uuid4())
    first = undo.undo(two, 1, number=named.number, by="Ada", uuid=own)
    assert first.act is not None and first.act.numbers == named.numbers
    again = undo.undo(two, 1, number=named.number, by="Ada", uuid=own)
    assert again.numbers == first.numbers
    assert again.act == first.act
    with pytest.raises(Refusal, match="was taken back already: nothing was undone"):
        undo.undo(two, 1, number=named.number, by="Ada")
    assert "pedals-on" in two.state(1).done()


def test_a_resend_that_names_another_act_is_refused(two: Shop) -> None:
    own = str(uuid.uuid4())
    taken = undo.undo(two, 1, by="Ada", uuid=own)
    assert taken.act is not None
    with pytest.raises(InputError, match="under it"):
        undo.undo(two, 1, number=taken.act.number - 1, by="Ada", uuid=own)


# put back


def test_what_was_put_back_is_not_put_back_twice(built: Shop) -> None:
    before = built.state(1)
    with pytest.raises(Refusal, match="nothing was taken back"):
        undo.undo(built, 1, put_back=True)
    one, other = undo.undo(built, 1), undo.undo(built, 1)
    undo.undo(built, 1, put_back=True)
    with pytest.raises(Refusal, match="taken back already"):
        undo.undo(built, 1, number=other.numbers[0])
    back = undo.undo(built, 1, put_back=True)
    assert back.put_back and back.act is not None
    assert back.act.name == one.act.name if one.act else False
    assert bare(built.state(1)) == bare(before)
    with pytest.raises(Refusal, match="only steps, readings and changes"):
        undo.undo(built, 1, number=back.numbers[0])


def test_one_puts_back_one_s_own_undo_unless_said_otherwise(two: Shop) -> None:
    before = two.state(1)
    newest = undo.newest(two, 1, "Ada")
    assert newest is not None
    taken = undo.undo(two, 1, number=newest.number, by="Ben")
    with pytest.raises(Refusal, match="Ben's"):
        undo.undo(two, 1, put_back=True, by="Ada")
    undo.undo(two, 1, number=taken.numbers[0], by="Ada")
    assert bare(two.state(1)) == bare(before)


def test_a_change_is_put_back_under_no_later_plan_and_no_later_gate(built: Shop) -> None:
    build.change_sheet(built, 1, [CHANGE], by="Ada")
    taken = undo.undo(built, 1, by="Ada").numbers[0]
    build.change_sheet(built, 1, ["bike.cockpit.bar_width=770 mm"], by="Ada")
    with pytest.raises(Refusal, match="undo the later change of the sheets first, event"):
        undo.undo(built, 1, number=taken)
    undo.undo(built, 1, by="Ada")
    release.gate(built, 1, "ride", by="Ada")
    with pytest.raises(Refusal, match="change the sheet anew"):
        undo.undo(built, 1, number=taken)


def test_a_proof_under_a_change_does_not_outlive_it(shop: Shop) -> None:
    """The left hand was proved under a sheet whose country asked for it."""
    bike = opened(shop)
    build.change_sheet(shop, bike, ["place.country=US"], by="Ada")
    for step in build.plan_for(shop, bike).steps:
        record(shop, bike, step)
        if step.id == "hands-proved":
            break
    change = next(one for one in undo.views(shop, bike, "Ada") if "country" in one.name)
    look = undo.look(shop, bike, number=change.number)
    assert "hands-proved" in look.reopened
    undo.undo(shop, bike, number=change.number)
    held = shop.state(bike).step("hands-proved")
    assert held.status == "reopened"
    assert "proved under sheets" in held.said


# what rests on it


def test_what_later_entries_tell_of_is_not_taken_from_under_them(shop: Shop) -> None:
    bike = opened(shop)
    made = inspection.find(shop, bike, "bar scored", "stop", by="Ada").numbers[0]
    inspection.put_right(shop, bike, 1, "new bar", by="Ada")
    with pytest.raises(Refusal, match="rests on how it stands: undo that first"):
        undo.undo(shop, bike, number=made)
    carton.tick_parts(shop, bike, {"left pedal": "missing"}, by="Ada")
    ticked = shop.state(bike).number
    carton.expect_part(shop, bike, "left pedal", date.today() + timedelta(days=3), by="Ada")
    with pytest.raises(Refusal, match="rests on how it stands"):
        undo.undo(shop, bike, number=ticked)
    undo.undo(shop, bike, by="Ada")
    undo.undo(shop, bike, number=ticked)
    assert not shop.state(bike).carton.parts


def test_damage_is_not_taken_from_under_what_settled_it(shop: Shop) -> None:
    bike = opened(shop)
    carton.damage(shop, bike, "front rotor bent", [photo()], by="Ada")
    seen = shop.state(bike).carton.damages[0].number
    carton.settle_damage(shop, bike, seen, "replaced", "a new rotor", by="Ada")
    with pytest.raises(Refusal, match="rests on how it stands: undo that first"):
        undo.undo(shop, bike, number=seen)
    undo.undo(shop, bike, by="Ada")
    undo.undo(shop, bike, by="Ada")
    assert not shop.state(bike).carton.damages


def test_what_a_touch_added_to_a_plan_goes_with_it_unproved(shop: Shop) -> None:
    """A hose opened on an inspection asks for a bleed; taken back, the bleed proves nothing."""
    bike = opened(shop)
    inspection.open_inspection(shop, bike, "crashed", by="Ada")
    before = shop.state(bike)
    joints = sorted({joint for row in before.plan.rows for joint in row.get("joints") or ()})
    added: list[str] = []
    for joint in joints:
        build.touch(shop, bike, [joint], "opened", by="Ada")
        added = [
            name
            for name in shop.state(bike).planned_steps()
            if name not in before.planned_steps() and not shop.state(bike).unmet(name)
        ]
        if added:
            break
        undo.undo(shop, bike, by="Ada")
        assert bare(shop.state(bike)) == bare(before)
    assert added
    touched = shop.state(bike).number
    record(shop, bike, next(s for s in build.plan_for(shop, bike).steps if s.id == added[0]))
    undo.undo(shop, bike, number=touched, by="Ada")
    assert shop.state(bike).step(added[0]).status != "done"


def test_a_finding_put_back_never_shares_its_number(shop: Shop) -> None:
    bike = opened(shop)
    inspection.find(shop, bike, "bar scored", "stop", by="Ada")
    taken = undo.undo(shop, bike, by="Ada").numbers[0]
    inspection.find(shop, bike, "rim dented", "note", by="Ada")
    with pytest.raises(Refusal, match="undo that first"):
        undo.undo(shop, bike, number=taken)
    undo.undo(shop, bike, by="Ada")
    undo.undo(shop, bike, number=taken)
    assert [found.text for found in shop.state(bike).findings.values()] == ["bar scored"]


def test_an_earlier_visit_is_closed(released: Shop) -> None:
    newest = undo.newest(released, 1, "Ada")
    assert newest is not None
    inspection.open_inspection(released, 1, "used", by="Ada")
    begun = undo.newest(released, 1, "Ada")
    assert begun is not None and begun.kind == "visit-opened"
    with pytest.raises(Refusal, match="of this visit"):
        undo.undo(released, 1, number=newest.number)


def _inspect(shop: Shop) -> None:
    inspection.open_inspection(shop, 1, "used", by="Ada")


def _pack(shop: Shop) -> None:
    pack.open_pack(shop, 1, by="Ada")


@pytest.mark.parametrize("begin", [_inspect, _pack])
def test_a_visit_begun_in_error_is_taken_back_and_the_release_stands_as_it_stood(
    released: Shop, begin: Callable[[Shop], None]
) -> None:
    before = released.state(1)
    begin(released)
    assert standing(released, released.state(1)).released is None
    begun = released.state(1)
    taken = undo.undo(released, 1, by="Ada")
    assert bare(released.state(1)) == bare(before)
    assert standing(released, released.state(1)).released is not None
    assert undo.undo(released, 1, number=taken.numbers[0], by="Ada").put_back
    assert bare(released.state(1)) == bare(begun)
    taken = undo.undo(released, 1, by="Ada")
    assert bare(released.state(1)) == bare(before)
    build.touch(released, 1, ["stem_pinch"], "looked under it", by="Ada")
    with pytest.raises(Refusal, match="was recorded since"):
        undo.undo(released, 1, number=taken.numbers[0], by="Ada")


def test_a_visit_that_holds_anything_is_not_taken_back(released: Shop) -> None:
    inspection.open_inspection(released, 1, "used", by="Ada")
    begun = undo.newest(released, 1, "Ada")
    assert begun is not None
    inspection.find(released, 1, "bar scored", "stop", by="Ada")
    with pytest.raises(Refusal, match="was recorded since: undo that first"):
        undo.undo(released, 1, number=begun.number, by="Ada")
    undo.undo(released, 1, by="Ada")
    undo.undo(released, 1, number=begun.number, by="Ada")
    assert standing(released, released.state(1)).released is not None


def test_a_rebuild_begun_in_error_is_packing_again(released: Shop) -> None:
    pack.open_pack(released, 1, by="Ada")
    before = released.state(1)
    pack.open_rebuild(released, 1, by="Ada", all_of_it=True)
    undo.undo(released, 1, by="Ada")
    assert bare(released.state(1)) == bare(before)
    assert released.state(1).packing


def test_the_first_visit_is_never_taken_back(shop: Shop) -> None:
    bike = opened(shop)
    assert undo.newest(shop, bike, "Ada") is None
    with pytest.raises(Refusal):
        undo.undo(shop, bike, number=1)


def test_a_release_whose_ground_is_taken_back_stands_no_more_until_it_is_put_back(
    released: Shop,
) -> None:
    assert standing(released, released.state(1)).released is not None
    taken = undo.undo(released, 1, step="stem-pinch")
    assert {"ride", "release"} <= set(taken.falls)
    stands = standing(released, released.state(1))
    assert stands.released is None
    assert stands.was_released
    assert "was reopened" in stands.lapsed
    look = undo.look(released, 1, put_back=True)
    assert set(look.rises) == set(taken.falls)
    back = undo.undo(released, 1, put_back=True)
    assert (back.rises, back.falls) == (look.rises, ())
    assert "the release stands again" in back.said and "the release stands again" in look.said
    assert standing(released, released.state(1)).released is not None


def test_packing_lines_come_back(released: Shop) -> None:
    pack.open_pack(released, 1, by="Ada")
    before = released.state(1)
    lines = list(pack.lines_of(before))[:2]
    pack.pack(released, 1, lines, by="Ada")
    said = undo.undo(released, 1, by="Ada")
    assert said.act is not None and len(said.act.numbers) == 2
    assert bare(released.state(1)) == bare(before)


# exactly, over drawn histories

Do = Callable[[Shop, int, int, str], object]


def _next(shop: Shop, bike: int, which: int) -> list[str]:
    state = shop.state(bike)
    ready = [name for name in state.planned_steps() if not state.unmet(name)]
    return [name for name in ready if name not in state.done()] or ready[which % len(ready) :]


def _do(shop: Shop, bike: int, which: int, by: str) -> object:
    name = _next(shop, bike, which)[which % 2]
    step = next(step for step in build.plan_for(shop, bike).steps if step.id == name)
    return record(shop, bike, step)


def _again(shop: Shop, bike: int, which: int, by: str) -> object:
    done = [step for step in build.plan_for(shop, bike).steps if step.id in shop.state(bike).done()]
    return record(shop, bike, done[which % len(done)])


def _note(shop: Shop, bike: int, which: int, by: str) -> object:
    names = list(shop.state(bike).planned_steps())
    said = {"problem": "it creaks"} if which % 2 else {"put_off": "waits for a part"}
    return build.record_step(shop, bike, names[which % len(names)], by=by, **said)


def _touch(shop: Shop, bike: int, which: int, by: str) -> object:
    joints = sorted({j for step in shop.state(bike).planned_steps().values() for j in step.joints})
    return build.touch(shop, bike, [joints[which % len(joints)]], "looked into", by)


CHANGES = (
    ["bike.cockpit.spacers_under+=5 mm"],
    ["bike.cockpit.bar_width=770 mm"],
    ["place.country=US"],
    ["rider.mass+=1 kg"],
    ["bike.fastener.seat_collar.max=4 N.m"],
    ["bike.fastener.fender.max=4 N.m"],
)
WANTED = (
    Wanted(mass="80 kg"),
    Wanted(part="front rotor", changes=("bike.brake.front.rotor_diameter=180 mm",)),
    Wanted(part="rear pads", marks=(("batch", "P-7"),)),
    Wanted(part="stem"),
    Wanted(earlier=1),
)
MADE = ({"name": "fork_rebound", "value": 7.0, "unit": "1"},)
PARTS = {"left pedal": "missing", "front rotor": "damaged"}
SOON = date.today() + timedelta(days=9)
ACTS: tuple[Do, ...] = (
    _do,
    _again,
    _note,
    _touch,
    lambda shop, bike, which, by: build.change_sheet(shop, bike, CHANGES[which % 6], by),
    lambda shop, bike, which, by: build.change_sheet(shop, bike, CHANGES[0], by, made=MADE),
    lambda shop, bike, which, by: build.plan_again(shop, bike, by),
    lambda shop, bike, which, by: changing.make(shop, bike, WANTED[which % len(WANTED)], by=by),
    lambda shop, bike, which, by: readings.read(shop, bike, "fork-pressure", "52 psi", by),
    lambda shop, bike, which, by: readings.read(shop, bike, "lever-left", "-30 deg", by),
    lambda shop, bike, which, by: readings.append_settings(shop, bike, MADE, by),
    lambda shop, bike, which, by: carton.arrive(shop, bike, damage="crushed", by=by),
    lambda shop, bike, which, by: carton.tick_parts(shop, bike, PARTS, by=by),
    lambda shop, bike, which, by: carton.expect_part(shop, bike, "left pedal", SOON, by=by),
    lambda shop, bike, which, by: carton.part_arrived(shop, bike, "left pedal", by=by),
    lambda shop, bike, which, by: carton.damage(shop, bike, "dent", [photo()], by=by),
    lambda shop, bike, which, by: carton.settle_damage(
        shop, bike, shop.state(bike).carton.damages[-1].number, "replaced", "a new one", by=by
    ),
    lambda shop, bike, which, by: carton.keep_packing(shop, bike, ["carton"], by=by),
    lambda shop, bike, which, by: carton.read_serial(shop, bike, f"S{which}", photo(), by=by),
    lambda shop, bike, which, by: recall.fit_part(shop, bike, "front rotor", batch="b", by=by),
    lambda shop, bike, which, by: recall.remove_part(shop, bike, "front rotor", by=by),
    lambda shop, bike, which, by: inspection.find(shop, bike, "scored", "stop", work="w", by=by),
    lambda shop, bike, which, by: inspection.put_right(shop, bike, 1, "new", by=by),
    lambda shop, bike, which, by: due.note_use(shop, bike, rides=1, by=by),
    lambda shop, bike, which, by: due.book(shop, bike, SOON, by=by),
)


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """A shop of two for histories: each gets a bike of its own."""
    made = Shop.open(tmp_path_factory.mktemp("drawn") / "data")
    people.add_person(made, "Ada")
    people.add_person(made, "Ben", by="Ada")
    return made


@settings(max_examples=12)
@given(
    history=st.lists(
        st.tuples(
            st.integers(0, len(ACTS) - 1), st.integers(0, 60), st.sampled_from(["Ada", "Ben"])
        ),
        min_size=3,
        max_size=12,
    )
)
def test_undo_restores_exactly_and_its_undo_too(
    drawn: Shop, history: list[tuple[int, int, str]]
) -> None:
    bike = opened(drawn)
    for number, which, by in history:
        before = drawn.state(bike)
        try:
            ACTS[number](drawn, bike, which, by)
        except (CyclewrightError, IndexError, ZeroDivisionError):
            assert drawn.state(bike) == before  # refused whole, or nothing there to do it to
            continue
        after = drawn.state(bike)
        if after.number == before.number:
            continue
        taken = undo.undo(drawn, bike, number=before.number + 1, by=by)
        assert taken.act is not None
        assert taken.act.numbers == tuple(range(before.number + 1, after.number + 1))
        assert bare(drawn.state(bike)) == bare(before)
        assert taken.reopened == ()
        back = undo.undo(drawn, bike, put_back=True, by=by)
        assert bare(drawn.state(bike)) == bare(after)
        assert back.reopened == ()
        assert set(taken.opens) == set(back.stands)


def test_work_that_a_change_brought_into_the_plan_and_that_was_done_is_not_undone_with_it(
    shop: Shop,
) -> None:
    """Levers were moved over, the change was undone, and the release stood again."""
    receive.open_bike(
        shop, change(sheets(), ["bike.hands_delivered=front-left", "place.country=DE"]), by="Ada"
    )
    build_to_gate(shop, 1)
    assert release.gate(shop, 1, "ride", by="Ada").passed
    made = build.change_sheet(shop, 1, ["place.country=GB"], by="Ada")
    added = next(n for n in shop.state(1).planned_steps() if n.startswith("hands-changed"))
    record(shop, 1, next(s for s in build.plan_for(shop, 1).steps if s.id == added))
    with pytest.raises(Refusal, match="work was recorded on it"):
        undo.undo(shop, 1, number=made.numbers[0], by="Ada")
    assert not release.gate(shop, 1, "ride", pass_it=False).passed
    undo.undo(shop, 1, by="Ada")
    undo.undo(shop, 1, number=made.numbers[0], by="Ada")
    assert release.gate(shop, 1, "ride", pass_it=False).passed
