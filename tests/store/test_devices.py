"""Phones and wrong codes, kept the same way in both databases."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

import pytest

from cyclewright.store import devices
from cyclewright.store.store import Store
from postgres import Place

NOW = datetime(2030, 1, 1, 8, tzinfo=UTC)
LATER = NOW + timedelta(days=90)


@pytest.fixture
def store(place: Place) -> Store:
    return place.open()


def test_a_phone_is_found_by_its_cookie_only(store: Store) -> None:
    kept = devices.add(store, "cookie-one", "One", NOW, LATER)
    devices.add(store, "cookie-two", "Two", NOW, LATER)
    assert devices.holding(store, "cookie-one") == kept
    assert devices.holding(store, "cookie-three") is None
    assert [row.name for row in devices.listed(store)] == ["Two", "One"]


def test_it_is_revoked_once_and_its_number_is_not_given_again(store: Store) -> None:
    first = devices.add(store, "cookie-one", "One", NOW, LATER)
    assert devices.revoke(store, first.id, NOW)
    assert not devices.revoke(store, first.id, LATER)
    assert not devices.revoke(store, 99, NOW)
    held = devices.holding(store, "cookie-one")
    assert held is not None
    assert held.revoked == NOW.isoformat()
    assert devices.add(store, "cookie-two", "Two", NOW, LATER).id == first.id + 1


def test_who_and_when_are_noted(store: Store) -> None:
    kept = devices.add(store, "cookie", "One", NOW, LATER)
    devices.seen(store, kept.id, NOW + timedelta(hours=1))
    devices.carried_by(store, kept.id, 3)
    (row,) = devices.listed(store)
    assert (row.person, row.seen) == (3, (NOW + timedelta(hours=1)).isoformat())


def test_many_at_once_get_numbers_of_their_own(store: Store) -> None:
    def add(number: int) -> None:
        devices.add(store, f"cookie-{number}", "Phone", NOW, LATER)

    threads = [threading.Thread(target=add, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(row.id for row in devices.listed(store)) == list(range(1, 9))


def test_wrong_codes_wait_longer_each_time(store: Store) -> None:
    waits = []
    for _ in range(8):
        devices.failed(store, "192.168.1.9", NOW)
        waits.append(devices.hold_off(store, "192.168.1.9", NOW).total_seconds())
    assert waits == [0, 0, 0, 0, 30, 60, 120, 240]
    assert devices.hold_off(store, "192.168.1.8", NOW) == timedelta(0)
    assert devices.hold_off(store, "192.168.1.9", NOW + timedelta(seconds=240)) == timedelta(0)
    devices.forgive(store, "192.168.1.9")
    assert devices.hold_off(store, "192.168.1.9", NOW) == timedelta(0)


def test_a_clock_set_back_makes_nobody_wait_longer(store: Store) -> None:
    for _ in range(5):
        devices.failed(store, "192.168.1.9", NOW)
    early = NOW - timedelta(days=1)
    assert devices.hold_off(store, "192.168.1.9", early) == timedelta(seconds=30)


def test_not_every_address_in_the_world_is_kept(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(devices, "MOST_SOURCES", 3)
    for number in range(6):
        for _ in range(5):
            devices.failed(store, f"10.0.0.{number}", NOW + timedelta(seconds=number))
    kept = [devices.hold_off(store, f"10.0.0.{n}", NOW) > timedelta(0) for n in range(6)]
    assert kept == [False, False, False, True, True, True]
