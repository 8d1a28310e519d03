"""A carton at the door: damage, deadline, parts followed until they come, the claim."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cyclewright.errors import InputError, RangeError, Refusal
from cyclewright.record.carton import SERIAL_STEP
from cyclewright.workshop import build, care
from cyclewright.workshop import carton as use
from cyclewright.workshop.shop import Shop
from workshop.shops import opened, photo

DAY = date(2024, 5, 6)


def test_a_whole_carton(shop: Shop) -> None:
    bike = opened(shop)
    answer = use.arrive(shop, bike, arrived=DAY, carrier="Slow Lorry", photos=[photo()], by="Ada")
    assert "by 2024-05-09 (default: common practice, no source)" in answer.said
    found = use.carton(shop, bike, today="2024-05-07")
    assert (found.deadline, found.days_left, found.by) == ("2024-05-09", 2, "Ada")
    assert found.slip == ()
    assert shop.state(bike).step(use.OUTSIDE_STEP).status == "done"
    with pytest.raises(Refusal, match="no damage and no missing part"):
        use.claim(shop, bike)


def test_the_slip_says_what_was_seen_and_that_nothing_was_checked(shop: Shop) -> None:
    bike = opened(shop)
    use.arrive(shop, bike, arrived=DAY, unchecked=True, damage="corner torn open", photos=[photo()])
    found = use.claim(shop, bike, today=DAY)
    assert found.slip[0].startswith("Received unchecked")
    assert "corner torn open" in found.slip[1]
    assert "hidden damage are reserved" in found.slip[2]
    (damage,) = found.damages
    assert damage.where == "outside"
    assert shop.store.attachment(damage.photos[0]).media == "image/jpeg"


def test_a_carton_without_a_photo_leaves_its_step_open(shop: Shop) -> None:
    bike = opened(shop)
    use.arrive(shop, bike, arrived=DAY, damage="wet")
    assert shop.state(bike).step(use.OUTSIDE_STEP).status == "open"
    use.damage(shop, bike, "wet on two sides", [photo()], where="outside")
    assert shop.state(bike).step(use.OUTSIDE_STEP).status == "done"


def test_the_carriers_own_term_wins(shop: Shop) -> None:
    bike = opened(shop)
    answer = use.arrive(shop, bike, arrived=DAY, days=10)
    assert "2024-05-16 (the carrier's own term, given)" in answer.said


def test_parts_are_followed_until_they_come(shop: Shop) -> None:
    bike = opened(shop)
    use.arrive(shop, bike, arrived=DAY)
    answer = use.tick_parts(
        shop,
        bike,
        {"frame": "here", "front axle": "missing", "rear rotor": "damaged"},
        notes={"rear rotor": "bent"},
        photos={"rear rotor": [photo()]},
        all_ticked=True,
    )
    assert "to follow: front axle, rear rotor" in answer.said
    use.expect_part(shop, bike, "Front Axle", "2024-05-10", whose="the importer")
    use.expect_part(shop, bike, "front axle", "2024-05-20")
    found = {row.part: row for row in use.carton(shop, bike, today="2024-05-21").parts}
    assert found["front axle"].overdue
    assert found["front axle"].broken_promises == ("2024-05-10",)
    assert not found["rear rotor"].overdue
    assert found["rear rotor"].note == "bent"
    said = use.part_arrived(shop, bike, "front axle", "2024-05-22").said
    assert said.endswith("still to follow: rear rotor")
    assert [row.part for row in use.carton(shop, bike).followed] == ["rear rotor"]
    assert use.claim(shop, bike).claimable


def test_all_that_is_wrong_with_a_list_is_told_at_once(shop: Shop) -> None:
    bike = opened(shop)
    with pytest.raises(InputError, match=r"gone.*say how it came") as caught:
        use.tick_parts(
            shop, bike, {"bar": "gone", "stem": "here"}, notes={"post": "x"}, photos={"saddle": []}
        )
    assert [problem.field for problem in caught.value.problems] == ["bar", "post", "saddle"]
    assert shop.state(bike).carton.parts == {}


def test_what_nobody_waits_for_cannot_be_promised(shop: Shop) -> None:
    bike = opened(shop)
    use.tick_parts(shop, bike, {"bar": "here", "stem": "missing"})
    with pytest.raises(InputError, match=r"name a part that was ticked as missing"):
        use.expect_part(shop, bike, "bar", "2024-05-10")
    with pytest.raises(InputError, match="write the day like"):
        use.expect_part(shop, bike, "stem", "tomorrow")


def test_bad_arrivals(shop: Shop) -> None:
    bike = opened(shop)
    with pytest.raises(RangeError, match="give the day it came"):
        use.arrive(shop, bike, arrived=date.today() + timedelta(days=5))
    with pytest.raises(RangeError, match="days is 400"):
        use.arrive(shop, bike, days=400)
    with pytest.raises(InputError, match="say how it travelled"):
        use.arrive(shop, bike, carriage="balloon")


def test_the_stamped_serial_wins_and_is_asked_once(shop: Shop) -> None:
    bike = opened(shop)
    answer = use.read_serial(shop, bike, "QX 77", photo(), by="Ada")
    assert "the frame's own mark wins" in answer.said
    state = shop.state(bike)
    assert (state.serial, care.show(shop, bike).serial) == ("QX 77", "QX 77")
    assert state.step(SERIAL_STEP).status == "done"
    build.change_sheet(shop, bike, ["bike.cockpit.spacers_under+=5 mm"])
    assert shop.state(bike).serial == "QX 77"


def test_the_words_of_the_plans_own_step_are_the_serial_too(shop: Shop) -> None:
    bike = opened(shop)
    build.record_step(shop, bike, SERIAL_STEP, value="QX 78")
    assert shop.state(bike).serial == "QX 78"
    build.undo(shop, bike)
    assert shop.state(bike).serial == shop.sheets(shop.state(bike)).bike.serial


def test_packing_and_claims(shop: Shop) -> None:
    bike = opened(shop)
    with pytest.raises(Refusal, match="record first how and when"):
        use.claim_sent(shop, bike)
    use.arrive(shop, bike, arrived=DAY, damage="crushed")
    use.keep_packing(shop, bike, ["carton", "fork block", "carton"])
    answer = use.claim_sent(shop, bike, sent="2024-05-12", to="Slow Lorry", reference="7")
    assert "after the deadline of 2024-05-09" in answer.said
    found = use.carton(shop, bike)
    assert found.packing == ("carton", "fork block")
    assert found.claims == ({"date": "2024-05-12", "to": "Slow Lorry", "reference": "7"},)
    assert found.to_json()["claimable"]


def test_the_same_act_sent_twice_is_one(shop: Shop) -> None:
    bike, uuid = opened(shop), "6b1c3a1e-1111-4c4c-9999-000000000001"
    for _ in range(2):
        use.arrive(shop, bike, arrived=DAY, damage="torn", photos=[photo()], uuid=uuid)
    kinds = [event.kind for event in shop.events(bike)]
    assert (kinds.count("carton-arrived"), kinds.count("carton-damaged")) == (1, 1)


def test_a_damage_is_taken_back_like_any_entry(shop: Shop) -> None:
    bike = opened(shop)
    use.arrive(shop, bike, arrived=DAY, damage="torn")
    build.undo(shop, bike)
    assert use.carton(shop, bike).damages == ()
