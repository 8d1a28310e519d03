"""What screens do beside showing: awake while building, papers called off, tags, print, units."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

import pytest
import segno
from playwright.sync_api import Page, expect

from browser.conftest import open_bike

WAKE = """
window.held = 0;
Object.defineProperty(navigator, "wakeLock", { configurable: true, value: {
  request: async (kind) => { window.held += kind === "screen" ? 1 : 0; return {}; },
} });
"""
READER = """
window.BarcodeDetector = class {
  static async getSupportedFormats() { return ["qr_code"]; }
  async detect(picture) { return picture.width > 20 ? [{ rawValue: window.tagText }] : []; }
};
"""


def test_the_screen_is_kept_awake_while_building_and_not_elsewhere(phone: Page) -> None:
    phone.add_init_script(WAKE)
    bike = open_bike(phone)
    for tail, held in (("/build", True), ("/steps/bar-in-stem", True), ("/papers", False)):
        phone.goto(bike + tail)
        phone.locator("html[data-ready]").wait_for(state="attached")
        assert bool(phone.evaluate("window.held")) is held, tail


def test_where_the_screen_cannot_be_held_nothing_is_said(
    phone: Page, complaints: list[str]
) -> None:
    phone.add_init_script("delete Navigator.prototype.wakeLock")
    phone.goto(open_bike(phone) + "/build")
    phone.locator("html[data-ready]").wait_for(state="attached")
    assert phone.evaluate("navigator.wakeLock") is None
    assert complaints == []


def test_a_paper_in_the_making_shows_time_left_and_can_be_called_off(desk: Page) -> None:
    bike = open_bike(desk)
    desk.goto(f"{bike}/papers")
    desk.locator("html[data-ready]").wait_for(state="attached")
    held: list[Any] = []
    desk.route("**/papers/setting-card.pdf", lambda route: held.append(route))
    desk.get_by_role("link", name="Setting card").click()
    making = desk.locator(".making")
    expect(making).to_contain_text(re.compile(r"about \d s left|longer than usual"))
    making.get_by_role("button", name="Cancel").click()
    expect(making).to_have_count(0)
    expect(desk.locator("#messages")).to_contain_text("Called off")
    assert desk.url.endswith("/papers")
    desk.unroute("**/papers/setting-card.pdf")
    with desk.expect_request(re.compile("setting-card")) as asked:
        desk.get_by_role("link", name="Setting card").click()
    assert asked.value.headers["bench-quiet"] == "yes"


def test_a_tag_is_read_from_a_picture_or_typed(phone: Page, tmp_path: Path) -> None:
    """The browser's own reader stands in here: Chromium on Linux has none."""
    bike = open_bike(phone)
    number = bike.rpartition("/")[2]
    bench = bike.split("/bikes")[0]
    phone.goto(f"{bench}/scan")
    expect(phone.locator("[data-camera]")).to_be_hidden()
    phone.fill("#code", number)
    phone.get_by_role("button", name="To the bike").click()
    phone.wait_for_url(bike)
    picture = io.BytesIO()
    segno.make_qr(f"CYCLEWRIGHT:BIKE:{number}").save(picture, kind="png", scale=4)
    path = tmp_path / "tag.png"
    path.write_bytes(picture.getvalue())
    phone.add_init_script(f"window.tagText = 'CYCLEWRIGHT:BIKE:{number}';" + READER)
    phone.goto(f"{bench}/scan")
    expect(phone.locator("[data-camera]")).to_be_visible()
    phone.set_input_files("#tag-photo", path)
    phone.wait_for_url(bike)


@pytest.mark.parametrize("tail", ["", "/build"])
def test_on_paper_there_is_nothing_to_press(desk: Page, tail: str) -> None:
    desk.goto(open_bike(desk) + tail)
    desk.emulate_media(media="print")
    shown = desk.locator("button:visible, .tabs:visible, .top:visible, .dock:visible")
    assert shown.count() == 0
    expect(desk.locator("h1")).to_be_visible()
    background = desk.evaluate("getComputedStyle(document.body).backgroundColor")
    assert background == "rgb(255, 255, 255)"


def test_units_follow_the_device(phone: Page, desk: Page) -> None:
    bike = open_bike(desk)
    phone.goto(f"{bike.split('/bikes')[0]}/who")
    phone.select_option("#system", "metric")
    phone.get_by_role("button", name="Show these").click()
    row = "#setting-fork_pressure .value"
    phone.goto(bike)
    expect(phone.locator(row)).to_contain_text("bar")
    desk.reload()
    expect(desk.locator(row)).to_contain_text("psi")
