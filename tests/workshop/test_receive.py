"""Opening bikes, people, and the list."""

from __future__ import annotations

import json
import threading
import uuid
from pathlib import Path
from typing import Any

import pytest

from cyclewright.errors import InputError
from cyclewright.sheets.write import dump
from cyclewright.workshop import build, care, people, receive
from cyclewright.workshop.check import plan
from cyclewright.workshop.shop import Shop
from workshop.shops import opened, record, sheets


def test_the_plan_in_force_is_the_plan_that_was_made(shop: Shop) -> None:
    bike = opened(shop)
    assert build.plan_for(shop, bike) == plan(sheets(), holding=True)


def test_the_sheets_come_back_as_they_were(shop: Shop) -> None:
    state = shop.state(opened(shop))
    found = shop.sheets(state)
    for kind in ("bike", "rider", "place"):
        assert dump(getattr(found, kind)) == dump(getattr(sheets(), kind))


def test_a_stated_mass_stands_for_a_rider(shop: Shop) -> None:
    given = sheets(None, "80 kg")
    bike = receive.open_bike(shop, given)
    found = shop.sheets(shop.state(bike))
    assert found.rider is None
    assert found.mass is not None
    assert found.mass.value == 80.0
    assert receive.list_bikes(shop)[0].rider == "rider not fitted"


def test_opening_twice_with_one_uuid_is_one_bike(shop: Shop) -> None:
    name = str(uuid.uuid4())
    first = receive.open_bike(shop, sheets(), uuid=name)
    assert receive.open_bike(shop, sheets(), uuid=name) == first


def test_a_form_sent_twice_at_the_same_moment_opens_one_bike(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    name, plan, other = str(uuid.uuid4()), receive.plan_data, list[int]()

    def slow(*given: Any, **more: Any) -> dict[str, Any]:
        monkeypatch.setattr(receive, "plan_data", plan)
        other.append(receive.open_bike(shop, sheets(), uuid=name))
        return plan(*given, **more)

    monkeypatch.setattr(receive, "plan_data", slow)
    assert [receive.open_bike(shop, sheets(), uuid=name)] == other
    assert len(receive.list_bikes(shop)) == 1
    assert len(receive.list_bikes(shop)) == 1


def test_personal_facts_stay_out_of_the_events(shop: Shop) -> None:
    """Rider's name, mass and measures, and the mechanic's name, are in attachments only."""
    bike = opened(shop)
    build.change_sheet(shop, bike, ["rider.mass=61.7 kg"], by="Strömlund")
    rider = sheets().rider
    assert rider is not None
    said = json.dumps([dict(event.data) for event in shop.events(bike)])
    said += json.dumps([dict(event.data) for event in shop.store.events(0)])
    for personal in (
        str(rider.name),
        str(rider.name).split()[0],
        "61.7",
        'Ada"',
        "Strömlund",
        "inseam =",
    ):
        assert personal not in said, personal
    if shop.store.engine.dialect.name == "sqlite":
        content = (shop.data / "record.sqlite3").read_bytes()
        assert str(rider.name).encode() not in content
        assert "Strömlund".encode() not in content
    now = shop.sheets(shop.state(bike)).rider
    assert now is not None
    assert now.mass is not None
    assert now.mass.value == pytest.approx(61.7)


def test_the_first_person_is_the_owner(shop: Shop) -> None:
    assert people.people(shop) == ()
    ada = people.ensure_person(shop, "  Ada   Ström ")
    assert (ada.id, ada.name, ada.role) == (1, "Ada Ström", "owner")
    assert people.ensure_person(shop, "ada ström") == ada
    assert people.ensure_person(shop, "Bo").role == "mechanic"


def test_one_name_at_two_benches_is_one_person(tmp_path: Path) -> None:
    shops = [Shop.open(tmp_path) for _ in range(3)]
    threads = [threading.Thread(target=people.ensure_person, args=(item, "Ada")) for item in shops]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [person.name for person in people.people(shops[0])] == ["Ada"]
    for item in shops:
        item.close()


@pytest.mark.parametrize("name", ["", "   ", "x" * 81])
def test_a_name_is_a_name(shop: Shop, name: str) -> None:
    with pytest.raises(InputError, match=r"write a few words|at most 80 characters"):
        people.ensure_person(shop, name)


def test_the_list_follows_the_record(shop: Shop) -> None:
    bike = opened(shop)
    row = receive.list_bikes(shop)[0]
    assert (row.id, row.stage, row.done, row.blocked) == (bike, "Receive", 0, False)
    assert row.total == len(plan(sheets()).steps)
    assert row.rider == str(getattr(sheets().rider, "name", ""))
    first = build.plan_for(shop, bike).steps[0]
    record(shop, bike, first)
    build.record_step(shop, bike, "carton-open", problem="a bent rotor")
    row = receive.list_bikes(shop)[0]
    assert (row.done, row.blocked) == (1, True)


def test_the_list_is_searched_by_every_word(shop: Shop) -> None:
    first, second = opened(shop), receive.open_bike(shop, sheets(None, "80 kg"))
    rider = str(getattr(sheets().rider, "name", ""))
    model = str(sheets().bike.model).split()[0]
    assert [row.id for row in receive.list_bikes(shop)] == [second, first]
    assert [row.id for row in receive.list_bikes(shop, rider.upper())] == [first]
    assert [row.id for row in receive.list_bikes(shop, f"{model} not fitted")] == [second]
    assert [row.id for row in receive.list_bikes(shop, "nothing like it")] == []
    assert [row.id for row in receive.list_bikes(shop, model, limit=1, offset=1)] == [first]


@pytest.mark.parametrize("bike", [0, -1, 99, True, "1"])
def test_a_bike_that_is_not_there(shop: Shop, bike: object) -> None:
    opened(shop)
    with pytest.raises(InputError, match=r"no such bike|give the number"):
        care.show(shop, bike)  # type: ignore[arg-type]
