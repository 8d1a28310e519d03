"""Tags read, and units chosen a device at a time."""

from __future__ import annotations

import pytest

from bench.conftest import Client
from cyclewright.bench.scan import read_tag
from cyclewright.workshop import inspection, receive
from cyclewright.workshop.shop import Shop


@pytest.mark.parametrize(
    "text", ["", "seven", "-1", "CYCLEWRIGHT:BIKE:", "http://evil.example/1", "1" * 200, "１２"]
)
def test_what_is_no_tag_is_none(text: str) -> None:
    assert read_tag(text) is None


def test_a_tag_leads_to_its_bike_and_says_how_old_it_is(client: Client, shop: Shop) -> None:
    head = shop.events(1)[-1].hash.hex()
    answer = client.get("/scan", params={"code": f"CYCLEWRIGHT:BIKE:1:HEAD:{head.upper()}"})
    assert answer.headers["location"] == "/bikes/1"
    assert "as it stands" in client.get("/bikes/1").text
    first = shop.events(1)[0].hash.hex()
    client.get("/scan", params={"code": f"CYCLEWRIGHT:BIKE:1:HEAD:{first.upper()}"})
    assert "recorded since this tag was printed" in client.get("/bikes/1").text
    client.get("/scan", params={"code": f"CYCLEWRIGHT:BIKE:1:HEAD:{'0' * 64}"})
    assert "not of this record" in client.get("/bikes/1").text


def test_a_number_typed_leads_there_too_and_a_wrong_one_is_told(client: Client) -> None:
    assert client.get("/scan", params={"code": "2"}).headers["location"] == "/bikes/2"
    assert "no bike 99999" in client.get("/scan", params={"code": "99999"}).text
    assert "not one of this shop" in client.get("/scan", params={"code": "a crate"}).text


def test_a_bike_that_is_not_to_be_ridden_says_so_at_the_scan(client: Client, shop: Shop) -> None:
    client.get("/scan", params={"code": "2"})
    assert "its ride gate is not passed" in client.get("/bikes/2").text
    inspection.open_inspection(shop, 2, "crashed", by="Ada")
    inspection.find(shop, 2, "bar scored at the clamp", "stop", by="Ada")
    stopped = client.get("/scan", params={"code": "2"})
    assert "Do not ride bike 2" in stopped.text and "bar scored at the clamp" in stopped.text
    row = next(row for row in receive.list_bikes(shop) if row.id == 2)
    assert row.blocked


def test_units_are_kept_by_device_and_bare_numbers_are_meant_in_them(client: Client) -> None:
    page = client.get("/bikes/1/readings/fork-pressure").text
    assert " psi" in page
    client.post("/units", data={"system": "metric", "back": "/"})
    page = client.get("/bikes/1/readings/fork-pressure").text
    assert " bar" in page
    assert " psi" not in page
    client.post("/bikes/1/readings/fork-pressure", data={"value": "4"})
    assert client.data("/bikes/1/readings")["readings"][-1]["value"] == pytest.approx(4e5)
    assert " bar" in client.get("/bikes/1").text
    assert client.post("/units", data={"system": "furlongs"}).status_code == 422
    client.post("/units", data={"system": "trade"})
