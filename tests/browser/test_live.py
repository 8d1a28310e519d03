"""One bike open on two benches: others' work appears, and nobody's input is lost."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.conftest import DESK, EXAMPLES, open_bike, signed_in


@pytest.fixture
def other(browser: Browser, address: str) -> Iterator[Page]:
    """A second bench, signed in for itself, where Jo works."""
    context = browser.new_context(**DESK)
    page = signed_in(context, address, [])
    page.goto(f"{address.split('#')[0]}who")
    page.fill("#name", "Jo Fell")
    page.get_by_role("button", name="Keep").click()
    yield page
    context.close()


def listening(page: Page, how: str = "stream") -> None:
    """Wait until the page hears of what others record."""
    page.locator(f"html[data-live={how}]").wait_for(state="attached")


def line(ticks: str | None) -> str:
    """Where the first step of a tick is listed."""
    return f"[data-step='{(ticks or '').split()[0]}']"


def test_work_on_two_benches_merges_and_edits_of_one_subject_conflict(
    desk: Page, other: Page, complaints: list[str]
) -> None:
    bike = open_bike(desk)
    desk.goto(f"{bike}/build")
    listening(desk)
    ticks = desk.locator("#build input[type=checkbox]")
    steps = desk.request.get(f"{bike}/build", headers={"accept": "application/json"}).json()
    free = {step["id"] for step in steps["steps"] if not step["unmet"]}
    boxes = [box.get_attribute("value") or "" for box in ticks.all()]
    kept, name = [value for value in boxes if free.issuperset(value.split())][:2]
    desk.locator(f"input[value='{kept}']").check()
    # Others' work appears by itself, and the tick that was not sent yet stays.
    other.goto(f"{bike}/build")
    other.locator(f"input[value='{name}']").check()
    card = other.locator(".station", has=other.locator(f"input[value='{name}']"))
    card.get_by_role("button", name="The ticked lines are done").click()
    expect(desk.locator(line(name))).to_have_class(re.compile("done"))
    expect(desk.locator(".news")).to_contain_text("Jo Fell did")
    expect(desk.locator(f"input[value='{kept}']")).to_be_checked()
    # What this bench had ticked is another subject: it goes through, no questions asked.
    card = desk.locator(".station", has=desk.locator(f"input[value='{kept}']"))
    card.get_by_role("button", name="The ticked lines are done").click()
    expect(desk.locator(line(kept))).to_have_class(re.compile("done"))
    expect(other.locator(line(kept))).to_have_class(re.compile("done"))
    # Both at one step: the second is told, and keeps what was typed.
    for page in (desk, other):
        page.goto(f"{bike}/steps/bar-in-stem?wrong=1")
        listening(page)
    desk.fill("#note", "the faceplate's gap is uneven")
    desk.get_by_text("The thread feels wrong").click()
    other.fill("#note", "a scratch under the clamp")
    other.get_by_role("button", name="Stop here, note it").click()
    other.wait_for_url(re.compile("/build$"))
    expect(desk.locator(".news")).to_contain_text("Jo Fell noted a problem")
    desk.get_by_role("button", name="Stop here, note it").click()
    expect(desk.locator("#messages")).to_contain_text("since you last saw it")
    expect(desk.locator("#step .step-state")).to_contain_text("scratch under the clamp")
    expect(desk.locator("#note")).to_have_value("the faceplate's gap is uneven")
    desk.get_by_role("button", name="Stop here, note it").click()
    desk.wait_for_url(re.compile("/build$"))
    expect(other.locator("[data-step='bar-in-stem']")).to_contain_text("gap is uneven")
    assert [text for text in complaints if "409" not in text] == []


def test_a_change_of_the_sheet_elsewhere_keeps_what_is_tried_here(desk: Page, other: Page) -> None:
    bike = open_bike(desk)
    listening(desk)
    other.goto(f"{bike}?change=bike.cockpit.bar_rise%2B%3D5+mm")
    desk.get_by_role("button", name="More: Spacers under the stem").click()
    expect(desk.locator(".moved-card")).to_be_visible()
    other.get_by_role("button", name="Make the change").click()
    other.locator(".said").wait_for()
    expect(desk.locator(".news")).to_contain_text("Jo Fell changed the sheet")
    expect(desk.locator(".moved-card")).to_contain_text("Spacers under the stem: 20 mm")
    desk.get_by_role("button", name="Make the change").click()
    expect(desk.locator("#messages")).to_contain_text("since you last saw it")
    expect(desk.locator(".moved-card")).to_contain_text("Spacers under the stem: 20 mm")
    desk.get_by_role("button", name="Make the change").click()
    expect(desk.locator(".said")).to_contain_text("Spacers under the stem")
    # Nothing is being tried on the other bench: its page simply follows.
    desk.goto(bike)
    listening(desk)
    shown = desk.get_by_label("Spacers under the stem", exact=True).input_value()
    other.goto(f"{bike}?change=bike.cockpit.spacers_under%2B%3D-5+mm")
    other.get_by_role("button", name="Make the change").click()
    field = desk.get_by_label("Spacers under the stem", exact=True)
    expect(field).not_to_have_value(shown)


def test_a_figure_that_moved_elsewhere_is_shown_beside_the_refusal(desk: Page, other: Page) -> None:
    bike = open_bike(desk)
    desk.add_init_script("delete window.EventSource")  # it learns of it from the refusal alone
    desk.goto(f"{bike}/steps/front-rotor")
    before = desk.locator(".torque .figure").inner_text()
    origin = {"origin": bike.split("/bikes")[0], "accept": "application/json"}
    sheet = (EXAMPLES / "bikes/trail.toml").read_text(encoding="utf-8")
    head, mark, rest = sheet.partition("[fastener.front_rotor]")
    put = head + mark + rest.replace('target = "6 N.m"', 'target = "7 N.m"', 1)
    form = {"sheet": put, "sure": "yes"}
    answer = other.request.post(f"{bike}/changes/sheet", form=form, headers=origin)
    assert answer.ok, answer.text()
    desk.fill("#torque", "6 N.m")
    desk.get_by_role("button", name="Done").click()
    expect(desk.locator("#messages")).to_contain_text("set the tool to 7 N·m")
    expect(desk.locator(".torque .figure")).not_to_have_text(before)
    expect(desk.locator("#torque")).to_have_value("6 N.m")


def test_where_streams_do_not_pass_the_page_asks(desk: Page, other: Page) -> None:
    bike = open_bike(desk)
    desk.add_init_script("delete window.EventSource")
    desk.goto(f"{bike}/build")
    listening(desk, "poll")
    step = desk.locator("#build input[type=checkbox]").first.get_attribute("value") or ""
    origin = {"origin": bike.split("/bikes")[0]}
    other.request.post(f"{bike}/ticks", form={"step": step}, headers=origin)
    expect(desk.locator(line(step))).to_have_class(re.compile("done"))
