"""Roles, PINs, shifts: who may do what, and what one person alone can do."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from cyclewright.errors import InputError, Refusal
from cyclewright.store import access
from cyclewright.workshop import build, care, erase, people, pins, release
from cyclewright.workshop.shop import Shop
from workshop.remains import events_of, remains
from workshop.shops import opened

pytestmark = pytest.mark.usefixtures("quick_hashes")

ADA, BO = "4821", "7351"


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[datetime]]:
    now = [datetime(2030, 1, 1, 8, tzinfo=UTC)]
    monkeypatch.setattr(pins, "_now", lambda: now[0])
    yield now


@pytest.fixture
def pinned(shop: Shop) -> Shop:
    """Ada owns the shop, Bo checks, Cy is a mechanic; Ada and Bo have PINs."""
    people.add_person(shop, "Ada")
    people.add_person(shop, "Bo", "checker", by="Ada")
    people.add_person(shop, "Cy", by="Ada")
    people.set_pin(shop, "Ada", ADA)
    people.set_pin(shop, "Bo", BO, by="Ada", pin=ADA)
    return shop


def test_the_first_person_is_owner_whatever_was_asked(shop: Shop) -> None:
    assert people.add_person(shop, "Ada", "mechanic").role == "owner"
    assert people.add_person(shop, " bo  b ", "checker", by="ada").name == "bo b"
    accented = people.add_person(shop, "Zoë", by="ada")
    assert people.find(shop, "zoe\u0308") == people.find(shop, "\u202ezoë\u202c") == accented
    with pytest.raises(InputError, match="this person is here already"):
        people.add_person(shop, "BO B", by="Ada")
    with pytest.raises(Refusal, match="only an owner may do this"):
        people.add_person(shop, "Cy", by="bo b")


def test_a_shop_without_pins_takes_a_name_at_its_word(shop: Shop) -> None:
    bike = opened(shop)
    build.record_step(shop, bike, "frame-looked-over", by="Bo")
    assert [person.role for person in people.people(shop)] == ["owner", "mechanic"]
    assert people.who(shop, None) is None


def test_roles_are_given_by_owners_and_the_last_owner_stays(shop: Shop) -> None:
    people.add_person(shop, "Ada")
    people.add_person(shop, "Bo", by="Ada")
    with pytest.raises(Refusal, match="only an owner may do this"):
        people.give_role(shop, "Bo", "owner", by="Bo")
    with pytest.raises(Refusal, match="make somebody else an owner first"):
        people.give_role(shop, "Ada", "mechanic", by="Ada")
    with pytest.raises(InputError, match="allowed: mechanic, checker, owner"):
        people.give_role(shop, "Bo", "king", by="Ada")
    assert people.give_role(shop, "Bo", "owner", by="Ada").role == "owner"
    assert people.give_role(shop, "Ada", "checker", by="Bo").role == "checker"


def test_an_owner_whose_name_was_erased_is_no_owner_left(shop: Shop) -> None:
    people.add_person(shop, "Ada")
    people.add_person(shop, "Bo", "owner", by="Ada")
    erase.erase_person(shop, "Bo", reason="left", by="Ada")
    people.add_person(shop, "Cy", by="Ada")
    with pytest.raises(Refusal, match="make somebody else an owner first"):
        people.give_role(shop, "Ada", "mechanic", by="Ada")


def test_where_pins_are_used_an_owner_keeps_one(pinned: Shop) -> None:
    """Else nobody could set anybody's PIN any more, the own neither."""
    people.give_role(pinned, "Cy", "owner", by="Ada", pin=ADA)
    for act in (
        lambda: people.give_role(pinned, "Ada", "mechanic", by="Ada", pin=ADA),
        lambda: people.set_pin(pinned, "Ada", None, pin=ADA),
        lambda: erase.erase_person(pinned, "Ada", reason="left", by="Ada", pin=ADA),
    ):
        with pytest.raises(Refusal, match="give another owner a PIN"):
            act()
    people.set_pin(pinned, "Cy", "8264", by="Ada", pin=ADA)
    assert people.give_role(pinned, "Ada", "mechanic", by="Ada", pin=ADA).role == "mechanic"


def test_two_owners_who_erase_one_another_at_once_leave_one(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    people.add_person(shop, "Ada")
    people.add_person(shop, "Bo", "owner", by="Ada")
    act, meanwhile = shop.own_act, ["Ada"]

    def late(decide, entry=None):  # type: ignore[no-untyped-def]
        if meanwhile:
            erase.erase_person(shop, meanwhile.pop(), reason="she did it first", by="Bo")
        return act(decide, entry)

    monkeypatch.setattr(shop, "own_act", late)
    with pytest.raises(Refusal, match="make somebody else an owner first"):
        erase.erase_person(shop, "Bo", reason="he did it first", by="Ada")
    assert [person.name for person in people.working(shop)] == ["Bo"]


def test_with_pins_a_name_alone_is_not_believed(pinned: Shop) -> None:
    pinned_bike = _opened(pinned)
    with pytest.raises(Refusal, match="pin: give the PIN of Ada, open a shift"):
        build.record_step(pinned, pinned_bike, "frame-looked-over", by="Ada")
    with pytest.raises(Refusal, match="an owner sets the first PIN of"):
        build.record_step(pinned, pinned_bike, "frame-looked-over", by="Cy")
    with pytest.raises(InputError, match="name somebody of this shop"):
        build.record_step(pinned, pinned_bike, "frame-looked-over", by="Stranger")
    with pytest.raises(InputError, match="say who you are"):
        build.record_step(pinned, pinned_bike, "frame-looked-over")


def _opened(shop: Shop) -> int:
    with pins.on_shift_with(shop, pins.open_shift(shop, "Ada", ADA).token):
        return opened(shop)


def test_a_shift_is_asked_once_and_a_gate_again(pinned: Shop) -> None:
    bike = _opened(pinned)
    shift = pins.open_shift(pinned, "Bo", BO)
    with pins.on_shift_with(pinned, shift.token):
        answer = build.record_step(pinned, bike, "frame-looked-over")
        assert answer.numbers
        with pytest.raises(Refusal, match="pin: give the PIN of Bo"):
            people.who(pinned, "Bo", fresh=True)
        assert people.who(pinned, "Bo", BO, fresh=True) == 2
        with pytest.raises(Refusal, match="pin: give the PIN of Ada"):
            build.record_step(pinned, bike, "carton-open", by="Ada")
    with pytest.raises(InputError, match="say who you are"):
        build.record_step(pinned, bike, "carton-open")
    assert care.show(pinned, bike).step("frame-looked-over").by == "Bo"  # type: ignore[union-attr]


def test_a_shift_ends_with_its_time_its_closing_and_its_pin(
    pinned: Shop, clock: list[datetime]
) -> None:
    first, other = pins.open_shift(pinned, "Bo", BO), pins.open_shift(pinned, "Ada", ADA)
    assert pins.shift_person(pinned, first.token) == 2
    assert pins.shift_person(pinned, first.token[:-1]) is None
    people.set_pin(pinned, "Bo", "9071", by="Bo", pin=BO)
    assert pins.shift_person(pinned, first.token) is None
    clock[0] += timedelta(hours=9, minutes=59)
    assert pins.shift_person(pinned, other.token) == 1
    clock[0] += timedelta(minutes=1)
    assert pins.shift_person(pinned, other.token) is None
    again = pins.open_shift(pinned, "Ada", ADA)
    pins.close_shift(pinned, again.token)
    assert pins.shift_person(pinned, again.token) is None


def test_an_unattended_command_brings_its_pin(
    pinned: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    bike = _opened(pinned)
    monkeypatch.setenv("CYCLEWRIGHT_PIN", ADA)
    with Shop.open(pinned.data) as again:
        assert build.record_step(again, bike, "frame-looked-over", by="Ada").numbers
        with pytest.raises(Refusal, match="not the PIN of"):
            build.record_step(again, bike, "carton-open", by="Bo")


def test_guesses_are_slowed_down_and_a_restart_forgets_nothing(
    pinned: Shop, clock: list[datetime]
) -> None:
    for _ in range(access.FREE):
        with pytest.raises(Refusal, match="not the PIN of"):
            pins.prove(pinned, 1, "0000")
    with pytest.raises(Refusal, match="try again in 31 s"):
        pins.prove(pinned, 1, ADA)
    with Shop.open(pinned.data) as again:
        with pytest.raises(Refusal, match="too many wrong ones"):
            pins.prove(again, 1, ADA)
        pins.prove(again, 2, BO)
    clock[0] += timedelta(seconds=31)
    with pytest.raises(Refusal, match="not the PIN of"):
        pins.prove(pinned, 1, "0000")
    clock[0] += timedelta(seconds=45)
    with pytest.raises(Refusal, match="too many wrong ones"):
        pins.prove(pinned, 1, ADA)
    clock[0] += timedelta(seconds=20)
    pins.prove(pinned, 1, ADA)
    with pytest.raises(Refusal, match="not the PIN of"):
        pins.prove(pinned, 1, "0000")


def test_a_clock_set_back_locks_nobody_out_for_long(pinned: Shop, clock: list[datetime]) -> None:
    for _ in range(access.FREE):
        with pytest.raises(Refusal, match="not the PIN"):
            pins.prove(pinned, 1, "0000")
    clock[0] -= timedelta(days=400)
    with pytest.raises(Refusal, match="try again in 31 s"):
        pins.prove(pinned, 1, ADA)


@pytest.mark.parametrize("failures", [0, 4, 5, 6, 12, 10**9])
def test_the_wait_grows_and_is_bounded(failures: int) -> None:
    waits = [access.wait(failures), access.wait(failures + 1)]
    assert waits == sorted(waits)
    assert waits[1] <= access.LONGEST_WAIT


@pytest.mark.parametrize("bad", ["123", "1234567890123", "12a4", "1111", "3456", "9876", "٣٤٥٦"])
def test_easy_pins_are_refused(shop: Shop, bad: str) -> None:
    people.add_person(shop, "Ada")
    with pytest.raises(InputError, match="choose"):
        people.set_pin(shop, "Ada", bad)
    assert not pins.used(shop)


def test_the_owner_goes_first_and_sets_the_others(shop: Shop) -> None:
    people.add_person(shop, "Ada")
    people.add_person(shop, "Bo", "owner", by="Ada")
    people.add_person(shop, "Cy", by="Ada")
    with pytest.raises(Refusal, match="the owner sets a PIN first"):
        people.set_pin(shop, "Cy", BO)
    people.set_pin(shop, "Ada", ADA)
    for person in ("Bo", "Cy"):
        with pytest.raises(Refusal, match="an owner sets your first PIN"):
            people.set_pin(shop, person, BO)
    with pytest.raises(Refusal, match="only an owner sets another's PIN"):
        people.set_pin(shop, "Ada", BO, by="Cy")
    people.set_pin(shop, "Cy", BO, by="Ada", pin=ADA)
    with pytest.raises(Refusal, match="take the others' PINs away first"):
        people.set_pin(shop, "Ada", None, pin=ADA)
    people.set_pin(shop, "Cy", None, by="Cy", pin=BO)
    people.set_pin(shop, "Ada", None, pin=ADA)
    assert not pins.used(shop)


def test_the_hash_is_not_in_the_events_and_an_old_one_is_gone(pinned: Shop) -> None:
    old = pinned.own().members[1].pin
    assert pinned.store.attachment(old).payload.startswith(b"$argon2id$")
    people.set_pin(pinned, "Ada", "9071", pin=ADA)
    assert pinned.store.shelf.get(old) is None
    answer = care.verify(pinned)
    assert (answer.ok, answer.erased) == (True, 1)
    assert b"argon2id$" not in events_of(pinned) and b"Ada" not in events_of(pinned)


def test_only_the_real_second_passes_with_pins(built: Shop) -> None:
    people.add_person(built, "Bo", "checker", by="Ada")
    people.set_pin(built, "Ada", ADA)
    people.set_pin(built, "Bo", BO, by="Ada", pin=ADA)
    with pytest.raises(Refusal, match="pin: give the PIN of Ada"):
        release.gate(built, 1, "ride", by="Ada")
    assert release.gate(built, 1, "ride", by="Ada", pin=ADA).passed
    with pytest.raises(Refusal, match="second_pin: give the PIN of Bo"):
        release.release(built, 1, by="Ada", second="Bo", pin=ADA)


def test_no_pin_can_be_read_anywhere(pinned: Shop) -> None:
    pins.open_shift(pinned, "Ada", ADA)
    assert b'"' + ADA.encode() not in remains(pinned)
    hashes = [member.pin for member in pinned.own().members.values() if member.pin]
    assert all(ADA.encode() != pinned.store.attachment(a).payload for a in hashes)
