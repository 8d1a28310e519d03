"""With PINs a browser records for who opened a shift on it, and gates ask again."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from bench.conftest import Client, let_in
from bench.phones import MACHINE, Bench
from cyclewright.workshop import people, receive, sheets
from cyclewright.workshop.shop import Shop

pytestmark = pytest.mark.usefixtures("quick_hashes")

ADA, BO = "4821", "7351"
EXAMPLES = Path(__file__).parents[2] / "examples"
STEP = "/api/bikes/1/steps/frame-looked-over"


@pytest.fixture(scope="module")
def _made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("pins") / "data"
    with Shop.open(folder) as shop:
        read = sheets.read_sheets(
            EXAMPLES / "bikes/trail.toml",
            EXAMPLES / "riders/light.toml",
            EXAMPLES / "places/left.toml",
        )
        people.add_person(shop, "Ada")
        people.add_person(shop, "Bo", "mechanic", by="Ada")
        receive.open_bike(shop, read, by="Ada")
    return folder


@pytest.fixture
def pinned(_made: Path, tmp_path: Path) -> Iterator[Shop]:
    """Ada owns the shop, Bo is a mechanic; both have PINs."""
    shutil.copytree(_made, tmp_path / "data")
    with Shop.open(tmp_path / "data") as shop:
        people.set_pin(shop, "Ada", ADA)
        people.set_pin(shop, "Bo", BO, by="Ada", pin=ADA)
        yield shop


@pytest.fixture
def browser(pinned: Shop) -> Client:
    return let_in(pinned)


def _record(client: Client) -> int:
    return client.post(STEP, json={}, headers=MACHINE).status_code


def test_without_a_shift_nothing_is_recorded(browser: Client) -> None:
    answer = browser.post(STEP, json={}, headers=MACHINE)
    assert answer.status_code in (409, 422)
    assert "say who you are" in answer.json()["errors"][0]["do"]
    assert browser.get("/bikes/1").status_code == 200


def test_a_shift_records_under_its_name_on_its_own_screen(pinned: Shop) -> None:
    bo, other = let_in(pinned), let_in(pinned)
    assert bo.post("/who", data={"name": "bo", "pin": BO}).status_code == 303
    assert _record(bo) == 200
    assert pinned.events(1)[-1].by == 2
    assert _record(other) != 200
    assert other.post("/who", data={"name": "Bo"}, headers=MACHINE).status_code == 422
    assert _record(other) != 200


def test_a_wrong_pin_opens_nothing_and_soon_has_to_wait(browser: Client) -> None:
    for _ in range(5):
        answer = browser.post("/who", data={"name": "Bo", "pin": "1111"}, headers=MACHINE)
        assert answer.json()["errors"][0]["code"] == "pin-wrong"
    answer = browser.post("/who", data={"name": "Bo", "pin": BO}, headers=MACHINE)
    assert answer.json()["errors"][0]["code"] == "pin-wait"
    assert _record(browser) != 200


def test_a_shift_ends_when_it_is_ended_or_another_begins(pinned: Shop) -> None:
    screen = let_in(pinned)
    screen.post("/who", data={"name": "Bo", "pin": BO})
    screen.post("/who", data={"name": "Ada", "pin": ADA})
    assert _record(screen) == 200
    assert pinned.events(1)[-1].by == 1
    screen.post("/who", data={"name": ""})
    assert "Your name" in screen.get("/").text
    assert screen.post("/api/bikes/1/undo", json={}, headers=MACHINE).status_code != 200


def test_a_shift_on_a_phone_counts_there(pinned: Shop) -> None:
    bench = Bench(pinned)
    assert bench.desk.post("/devices/pair", headers=MACHINE).status_code == 422
    bench.desk.post("/who", data={"name": "Ada", "pin": ADA})
    phone = bench.let_in("Bo's phone")
    assert _record(phone) != 200
    phone.post("/who", data={"name": "Bo", "pin": BO})
    assert _record(phone) == 200
    assert pinned.events(1)[-1].by == 2


def test_a_new_pin_ends_the_shift_of_the_old_one(pinned: Shop) -> None:
    screen = let_in(pinned)
    screen.post("/who", data={"name": "Bo", "pin": BO})
    people.set_pin(pinned, "Bo", "9264", by="Ada", pin=ADA)
    assert _record(screen) != 200


def test_an_unattended_commands_pin_is_nobodys_on_the_bench(
    pinned: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    pinned.pin = pinned.second_pin = ADA
    screen = let_in(pinned)
    screen.post("/who", data={"name": "Ada"})
    assert _record(screen) != 200


def test_pages_ask_for_the_pin_and_never_show_it(browser: Client) -> None:
    page = browser.get("/who").text
    assert 'type="password"' in page
    told = browser.post("/who", data={"name": "Bo", "pin": "2468013579"}, headers=MACHINE)
    assert "2468013579" not in told.text
