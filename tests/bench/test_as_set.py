"""Pages tell what is set and read apart from what is advised, with the reason where it lapsed."""

from __future__ import annotations

import re

import pytest

from bench.conftest import Client, let_in
from cyclewright.workshop import build, readings, receive
from cyclewright.workshop.shop import Shop
from workshop.shops import opened, sheets


@pytest.fixture
def bike(tmp_path):
    with Shop.open(tmp_path / "data") as shop:
        opened(shop)
        yield shop


def row(page: str, name: str) -> str:
    """The words of one setting's row."""
    found = re.search(rf'id="setting-{name}">(.*?)</summary>', page, re.S)
    assert found is not None, name
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", found[1]))


def test_the_bike_page_says_how_each_setting_stands(bike: Shop) -> None:
    browser: Client = let_in(bike, "Ada")
    page = browser.get("/bikes/1").text
    for name in ("fork_pressure", "front_tyre_pressure", "fork_sag", "saddle_tilt", "lever_reach"):
        assert "Advised, not set" in row(page, name), name
    assert "not set" not in row(page, "head_angle_at_sag")
    readings.read(bike, 1, "fork-pressure", "60 psi", by="Ada")
    readings.read(bike, 1, "fork-sag", "28 mm", by="Ada")
    page = browser.get("/bikes/1").text
    assert "Set to 60 psi" in row(page, "fork_pressure")
    assert "Read: 28 mm" in row(page, "fork_sag")
    readings.read(bike, 1, "fork-pressure", "66 psi", by="Ada")
    page = browser.get("/bikes/1").text
    assert "Read before: 28 mm ; fork pressure" in row(page, "fork_sag").replace("the fork", "fork")
    assert "28 mm; the fork pressure was changed" in browser.get("/bikes/1/readings").text
    stands = browser.data("/bikes/1")["stands"]
    assert stands["fork_sag"]["stands"] == "lapsed" and stands["fork_pressure"]["stands"] == "set"
    assert stands["saddle_tilt"]["stands"] == "advised" and "trail_at_sag" not in stands


def test_another_rider_s_mass_shows_on_every_page_that_tells_settings(bike: Shop) -> None:
    browser = let_in(bike, "Ada")
    readings.read(bike, 1, "front-tyre", "20 psi", by="Ada")
    build.change_sheet(bike, 1, ["rider.mass=62 kg"], by="Ada")
    assert "Set before: 20.0 psi ; rider mass changed" in row(
        browser.get("/bikes/1").text, "front_tyre_pressure"
    )
    assert "set before; rider mass changed" in browser.get("/bikes/1/journey").text.casefold()
    assert "Advised, not set" in browser.get("/bikes/1/fit").text


def test_a_bike_without_a_rider_says_so_too(tmp_path) -> None:
    with Shop.open(tmp_path / "data") as shop:
        receive.open_bike(shop, sheets(None, "80 kg"), by="Ada")
        assert "Advised, not set" in row(let_in(shop).get("/bikes/1").text, "fork_pressure")
