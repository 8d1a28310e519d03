"""Undo on pages: the button names what it takes; another's act is looked at first."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from bench.conftest import EXAMPLES, Client, let_in
from bench.phones import MACHINE
from cyclewright.workshop import build, people, readings, receive, sheets
from cyclewright.workshop.shop import Shop

PAGES = ("/steps/carton-open", "/build", "/readings", "/readings/fork-sag", "")
"""Every page with an undo on it."""


@pytest.fixture
def two(tmp_path: Path) -> Iterator[Shop]:
    """Ada and Ben at one bike, one line each: Ben's is the newest."""
    trail = sheets.read_sheets(
        EXAMPLES / "bikes/trail.toml",
        EXAMPLES / "riders/light.toml",
        EXAMPLES / "places/left.toml",
    )
    with Shop.open(tmp_path / "data") as made:
        people.add_person(made, "Ada")
        people.add_person(made, "Ben", by="Ada")
        receive.open_bike(made, trail, by="Ada")
        build.record_step(made, 1, "carton-open", by="Ada")
        build.record_step(made, 1, "frame-looked-over", by="Ben")
        yield made


def button(client: Client, page: str) -> dict[str, str]:
    """The undo form of a page: its fields, and the words on its button."""
    text = client.get(f"/bikes/1{page}").text
    (form,) = re.findall(r"<form class=\"undo\".*?</form>", text, re.S)
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))
    return fields | {"words": re.sub(r"<[^>]+>|\s+", " ", form).strip()}


def undone(shop: Shop) -> set[int]:
    """Numbers that do not count."""
    return set(shop.state(1).undone)


@pytest.mark.parametrize("page", PAGES)
def test_every_undo_names_the_act_that_it_takes(two: Shop, page: str) -> None:
    ada = let_in(two, "Ada")
    found = button(ada, page)
    assert found["number"] == "3"
    assert re.fullmatch(r"Undo +carton open, \d\d:\d\d", found.pop("words"))
    answer = ada.post("/bikes/1/undo", data=found)
    assert answer.status_code == 303
    assert undone(two) == {3}
    told = ada.get(answer.headers["location"]).text
    assert "Taken back: carton open, " in told


@pytest.mark.parametrize("page", PAGES)
def test_another_s_act_is_named_with_its_owner_and_asked_for_twice(two: Shop, page: str) -> None:
    people.add_person(two, "Cleo", by="Ada")
    cleo = let_in(two, "Cleo")
    text = cleo.get(f"/bikes/1{page}").text
    assert 'class="undo"' not in text
    (link,) = re.findall(r'href="(/bikes/1/undo\?number=4[^"]*)"', text)
    assert re.search(r"Ben: frame looked over, \d\d:\d\d", text)
    asked = cleo.get(link.replace("&amp;", "&")).text
    assert "Ben recorded this, not you." in asked
    assert undone(two) == set()
    form = re.findall(r'<form method="post" action="/bikes/1/undo">.*?</form>', asked, re.S)[0]
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))
    assert cleo.post("/bikes/1/undo", data=fields).status_code == 303
    assert undone(two) == {4}


def test_a_tap_on_another_s_act_leads_to_the_second_look(two: Shop) -> None:
    ada = let_in(two, "Ada")
    answer = ada.post("/bikes/1/undo", data={"number": "4", "uuid": str(uuid.uuid4())})
    assert answer.headers["location"] == "/bikes/1/undo?number=4"
    late = ada.post("/bikes/1/undo", data={"number": "4"}, headers=MACHINE)
    assert late.status_code == 409
    (error,) = late.json()["errors"]
    assert error["do"].startswith("this entry is Ben's, frame looked over, ")
    assert undone(two) == set()


def test_a_late_undo_takes_what_it_named_and_nothing_newer(two: Shop) -> None:
    ada = let_in(two, "Ada")
    named = {**button(ada, "/build"), "uuid": str(uuid.uuid4())}
    build.record_step(two, 1, "serial-read", problem="worn away", by="Ada")
    for _ in range(2):  # a resend is the same undo
        assert ada.post("/bikes/1/undo", data=named, headers=MACHINE).status_code == 200
    assert undone(two) == {3}
    again = ada.post("/bikes/1/undo", data={**named, "uuid": str(uuid.uuid4())}, headers=MACHINE)
    assert again.status_code == 409
    assert "was taken back already: nothing was undone" in again.json()["errors"][0]["do"]
    assert undone(two) == {3}


def test_the_record_takes_back_by_number_and_puts_back(two: Shop) -> None:
    ada = let_in(two, "Ada")
    readings.read(two, 1, "fork-pressure", "52 psi", by="Ada")
    page = ada.get("/bikes/1/record").text
    assert page.count(">Take back</a>") == 3
    assert ">Put back</a>" not in page
    asked = ada.get("/bikes/1/undo?number=5").text
    assert "Fork pressure 52 psi" in asked
    assert "recorded this, not you" not in asked
    taken = ada.post("/bikes/1/undo", data={"number": "5", "to": "record"}, headers=MACHINE)
    assert taken.json()["go"] == "/bikes/1/record"
    number = taken.json()["numbers"][0]
    page = ada.get("/bikes/1/record").text
    assert "Taken back: fork pressure 52 psi, " in page
    assert page.count(">Put back</a>") == 1
    assert "Put this back?" in ada.get(f"/bikes/1/undo?number={number}").text
    ada.post("/bikes/1/undo", data={"number": str(number), "to": "record"})
    page = ada.get("/bikes/1/record").text
    assert "Put back: fork pressure 52 psi, " in page
    assert "Event 5 undone: fork pressure 52 psi." in page
    assert "Event 7 put back: fork pressure 52 psi." not in page
    assert "Event 5 put back: fork pressure 52 psi." in page
    assert ">Put back</a>" not in page
    assert len(two.state(1).readings) == 1


def test_without_names_what_nobody_signed_is_one_s_own(tmp_path: Path) -> None:
    trail = sheets.read_sheets(
        EXAMPLES / "bikes/hardtail.toml", None, EXAMPLES / "places/right.toml", "80 kg"
    )
    with Shop.open(tmp_path / "data") as made:
        receive.open_bike(made, trail)
        build.record_step(made, 1, "carton-open")
        client = let_in(made)
        assert "carton open" in button(client, "/build")["words"]
        client.post("/bikes/1/undo", data=button(client, "/build"))
        assert undone(made) == {3}


def test_a_page_with_nothing_to_take_back_has_no_undo(two: Shop) -> None:
    build.undo(two, 1, anyone=True, by="Ada")
    build.undo(two, 1, anyone=True, by="Ada")
    ada = let_in(two, "Ada")
    for page in PAGES:
        text = ada.get(f"/bikes/1{page}").text
        assert "data-undo" not in text and "/undo?" not in text


def test_as_data_an_undo_is_looked_at_taken_and_put_back(two: Shop) -> None:
    ada = let_in(two, "Ada")
    look: dict[str, Any] = ada.data("/api/bikes/1/undo")
    assert look["act"]["name"] == "carton open"
    assert (look["numbers"], look["opens"]) == ([], ["carton-open"])
    ben = ada.data("/api/bikes/1/undo?anyone=true")
    assert (ben["act"]["by"], ben["act"]["own"]) == ("Ben", False)
    taken = ada.post("/api/bikes/1/undo", json={}, headers=MACHINE).json()
    assert taken["act"]["number"] == 3
    none = ada.post("/api/bikes/1/undo", json={}, headers=MACHINE)
    assert none.status_code == 409
    assert "the newest entry is Ben's" in none.json()["errors"][0]["do"]
    back = ada.post("/api/bikes/1/undo", json={"put_back": True}, headers=MACHINE).json()
    assert back["put_back"] and back["stands"] == ["carton-open"]
    assert undone(two) == {taken["numbers"][0]}


def test_undo_without_a_number_asks_about_the_newest(two: Shop) -> None:
    assert "Take this back?" in let_in(two, "Ada").get("/bikes/1/undo").text
