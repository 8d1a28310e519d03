"""Personal facts go for good; the record still verifies and says so."""

from __future__ import annotations

import pytest

from cyclewright.errors import InputError, Refusal
from cyclewright.store import verifying
from cyclewright.workshop import advising, build, care, erase, people, receive
from cyclewright.workshop.shop import Shop
from workshop.remains import remains
from workshop.shops import opened, sheets

NAME = (sheets().rider.name or "?").encode()  # type: ignore[union-attr]


def test_a_rider_is_erased_and_the_bike_goes_on(built: Shop) -> None:
    build.change_sheet(built, 1, ["rider.kit_mass=6 kg"])
    assert NAME in remains(built)
    answer = erase.erase_bike(built, 1, reason="the rider asked for it", by="Ada")
    assert answer.erased == 2
    assert NAME not in remains(built)
    shown = care.show(built, 1)
    assert shown.rider == receive.NO_RIDER
    assert receive.list_bikes(built)[0].rider == receive.NO_RIDER
    assert shown.step("serial-read").status == "done"  # type: ignore[union-attr]
    verified = care.verify(built)
    assert (verified.ok, verified.erased, verified.notes) == (True, 2, ())
    assert built.sheets(built.state(1)).rider is None
    lapsed, asked = [item for item in shown.gates["ride"] if item.item == "mass-and-use"]
    assert "rider kit mass changed" in lapsed.why
    assert "nobody's mass is stated" in asked.why and asked.never_override
    build.record_step(built, 1, "carton-open", by="Ada")
    build.change_sheet(built, 1, ["rider.mass=80 kg"])
    assert built.sheets(built.state(1)).mass is not None
    build.change_sheet(built, 1, ["bike.cockpit.spacers_under+=5 mm"])
    with Shop.open(built.data) as again:
        assert care.show(again, 1).rider == receive.NO_RIDER


def test_what_is_missing_without_a_tombstone_is_still_torn(built: Shop) -> None:
    address = built.state(1).rider
    assert address is not None
    built.store.erase([address])
    assert not care.verify(built).ok


def test_an_erasure_cut_short_is_finished_by_erasing_again(built: Shop) -> None:
    address = built.state(1).rider
    assert address is not None
    content = built.store.shelf.get(address)
    assert content is not None
    erase.erase_bike(built, 1, reason="asked", by="Ada")
    built.store.shelf.put(address, content)
    assert "is still there" in verifying.verify(built.store).notes[0]
    assert erase.personal(built, 1).held["rider"] == 1
    assert erase.erase_bike(built, 1, reason="asked", by="Ada").erased == 1
    assert built.store.shelf.get(address) is None
    assert care.verify(built).notes == ()
    with pytest.raises(Refusal, match="it holds no rider"):
        erase.erase_bike(built, 1, reason="asked", by="Ada")


def test_photos_go_only_when_they_are_named(built: Shop) -> None:
    erase.erase_bike(built, 1, reason="asked", by="Ada")
    photo = built.state(1).step("carton-outside").evidence["photo"]["attachment"]
    assert built.store.attachment(photo)
    answer = erase.erase_bike(built, 1, ["photos"], reason="faces in them", by="Ada")
    assert built.store.shelf.get(photo) is None
    assert photo in care.show(built, 1).erased
    assert answer.erased >= 2
    with pytest.raises(Refusal, match="it holds no photos"):
        erase.erase_bike(built, 1, ["photos"], reason="again", by="Ada")


def test_only_an_owner_erases_and_says_why(shop: Shop) -> None:
    opened(shop)
    people.add_person(shop, "Bo", by="Ada")
    with pytest.raises(Refusal, match="only an owner may do this"):
        erase.erase_bike(shop, 1, reason="x", by="Bo")
    with pytest.raises(InputError, match="write a few words"):
        erase.erase_bike(shop, 1, reason=" ", by="Ada")
    with pytest.raises(InputError, match="allowed: rider, signatures, photos"):
        erase.erase_bike(shop, 1, ["everything"], reason="x", by="Ada")


def test_a_person_becomes_a_number(shop: Shop) -> None:
    bike = opened(shop)
    people.add_person(shop, "Bo Invented", by="Ada")
    build.record_step(shop, bike, "frame-looked-over", by="Bo Invented")
    assert b"Bo Invented" in remains(shop)
    erase.erase_person(shop, "bo invented", reason="left", by="Ada")
    assert b"Bo Invented" not in remains(shop)
    step = care.show(shop, bike).step("frame-looked-over")
    assert step is not None and step.by == "erased person 2"
    assert people.ensure_person(shop, "Bo Invented").id == 3
    assert care.verify(shop).ok
    with pytest.raises(Refusal, match="make somebody else an owner first"):
        erase.erase_person(shop, "Ada", reason="left", by="Ada")


def test_sums_go_on_for_a_stated_mass_and_what_the_rider_read_teaches_nothing(built: Shop) -> None:
    with_rider = advising.advise_bike(built, 1).setting("fork_pressure")
    erase.erase_bike(built, 1, reason="asked", by="Ada")
    with pytest.raises(InputError, match="state the mass with kit"):
        advising.advise_bike(built, 1)
    build.change_sheet(built, 1, ["rider.mass=80 kg"], by="Ada")
    found = advising.advise_bike(built, 1).setting("fork_pressure")
    fresh = receive.open_bike(built, sheets(None, "80 kg"), by="Ada")
    wanted = advising.advise_bike(built, fresh).setting("fork_pressure")
    assert found is not None and wanted is not None and with_rider is not None
    assert found.value == pytest.approx(wanted.value)  # exact: the same sheets, no reading
    assert found.value != pytest.approx(with_rider.value)


def test_what_could_be_erased_is_counted_by_kind(built: Shop) -> None:
    held = erase.personal(built, 1).held
    assert held["rider"] == 1 and held["photos"] >= 2 and held["signatures"] == 0
    erase.erase_bike(built, 1, ["rider"], reason="asked", by="Ada")
    left = erase.personal(built, 1)
    assert left.held == held | {"rider": 0}
    assert [(row.what, row.by, row.reason) for row in left.erased] == [
        ({"rider": 1}, "Ada", "asked")
    ]
