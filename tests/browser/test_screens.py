"""What screens do beside showing: awake while building, papers called off, print, units."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from browser.conftest import open_bike

WAKE = """
window.held = 0;
Object.defineProperty(navigator, "wakeLock", { configurable: true, value: {
  request: async (kind) => { window.held += kind === "screen" ? 1 : 0; return {}; },
} });
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
    held.pop().abort()
    desk.unroute("**/papers/setting-card.pdf")
    # A paper that opened would be a download, which the browser may be left holding at its end.
    desk.route("**/papers/setting-card.pdf", lambda route: route.fulfill(status=503))
    with desk.expect_request(re.compile("setting-card")) as asked:
        desk.get_by_role("link", name="Setting card").click()
    assert asked.value.headers["bench-quiet"] == "yes"
    expect(desk.locator("#messages")).to_contain_text("could not be made")


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


def test_on_a_phone_what_moves_is_one_tap_away(phone: Page) -> None:
    open_bike(phone)
    phone.get_by_role("button", name="More: Spacers under the stem").click()
    link = phone.get_by_role("link", name=re.compile(r"figures? moves?: see it"))
    expect(link).to_be_in_viewport(ratio=1)
    expect(phone.locator("#moved")).not_to_be_in_viewport()
    link.click()
    expect(phone.locator("#moved h2")).to_be_in_viewport()
