"""By keyboard, and nothing that jumps while parts are swapped; axe is in `test_tour.py`."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.accessible import SHIFTS
from browser.conftest import DESK, PHONE, open_bike, signed_in

MOST_SHIFT = 0.02


FOCUS = """() => {
  const at = document.activeElement;
  const box = at.getBoundingClientRect();
  const style = getComputedStyle(at);
  const ring = getComputedStyle(at.closest(".choice, .kind, label") ?? at);
  const seen = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
  const shown = style.outlineStyle !== "none" || ring.outlineStyle !== "none";
  return {
    name: `${at.tagName} ${at.id || at.name || at.textContent.trim().slice(0, 30)}`,
    shown,
    clear: at === document.body || (seen !== null && (at.contains(seen) || seen.contains(at)
      || at.parentElement.contains(seen))),
  };
}"""


def walk(page: Page, most: int = 120) -> list[dict[str, Any]]:
    """Every place that Tab reaches, once round."""
    places: list[dict[str, Any]] = []
    page.locator("body").evaluate("body => body.focus()")
    for _ in range(most):
        page.keyboard.press("Tab")
        place = page.evaluate(FOCUS)
        if place["name"].startswith("BODY") or (places and place == places[0]):
            break
        places.append(place)
    return places


@pytest.mark.parametrize("path", ["/steps/bar-in-stem", "/readings/fork-sag", "/gates", ""])
def test_the_keyboard_gets_everywhere_and_is_seen(desk: Page, path: str) -> None:
    bike = open_bike(desk)
    desk.goto(bike + path)
    desk.locator("html[data-ready]").wait_for(state="attached")
    places = walk(desk)
    assert len(places) >= 5
    assert [place["name"] for place in places if not place["shown"]] == []
    assert [place["name"] for place in places if not place["clear"]] == []


@pytest.mark.parametrize("path", ["/", "/start", "/scan", "/who", "/people", "/recalls", "/tools"])
def test_the_keyboard_gets_everywhere_in_the_shop(desk: Page, path: str) -> None:
    open_bike(desk)
    desk.goto(f"{desk.url.partition('/bikes')[0]}{path}")
    desk.locator("html[data-ready]").wait_for(state="attached")
    if path == "/scan":  # the camera is offered once a reader of codes is there
        desk.locator("[data-camera]").wait_for()
    places = walk(desk)
    reachable = desk.locator(
        "a[href]:visible, button:visible, input:not([type=hidden]):visible, select:visible,"
        " textarea:visible, summary:visible"
    )
    assert len(places) >= 5
    assert [place["name"] for place in places if not place["shown"]] == []
    assert [place["name"] for place in places if not place["clear"]] == []
    # Of a group of choices Tab reaches one, arrows the others.
    groups = desk.locator("input[type=radio]:visible").evaluate_all(
        "all => all.length - new Set(all.map((one) => one.form.id + one.name)).size"
    )
    assert len(places) >= reachable.count() - groups - 1


def test_nine_answers_and_the_bike_by_keyboard_alone(desk: Page) -> None:
    desk.goto(f"{desk.url.rstrip('/')}/start")
    desk.locator("input[name=kind]:checked").focus()
    desk.keyboard.press("ArrowRight")
    expect(desk.get_by_label("Hardtail")).to_be_checked()
    answers = {
        "country": "Gr",
        "fork_travel": "120",
        "tyre": "29x2.4",
        "tubeless": " ",
        "hooked": " ",
        "height": "176",
        "mass": "82",
    }
    for _ in range(20):
        at = desk.evaluate("document.activeElement.name")
        if at in answers:
            desk.keyboard.type(answers.pop(at))
        if not answers:
            break
        desk.keyboard.press("Tab")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="First answers")).to_be_visible()
    places = walk(desk)
    assert [place["name"] for place in places if not place["shown"] or not place["clear"]] == []
    press = desk.get_by_role("button", name="Put this bike on the bench")
    press.focus()
    desk.keyboard.press("Enter")
    desk.wait_for_url("**/bikes/*")


def test_a_step_is_done_and_undone_by_keyboard_alone(desk: Page) -> None:
    bike = open_bike(desk)
    desk.goto(f"{bike}/build")
    first = desk.locator("#build input[type=checkbox]").first
    first.focus()
    desk.keyboard.press("Space")
    expect(first).to_be_checked()
    while "The ticked lines" not in desk.evaluate("document.activeElement.textContent"):
        desk.keyboard.press("Tab")
    desk.keyboard.press("Enter")
    expect(desk.locator(".said")).to_contain_text("done")
    desk.goto(bike)
    field = desk.get_by_role("button", name="More: Spacers under the stem")
    field.focus()
    desk.keyboard.press("Enter")
    expect(desk.locator(".moved-card")).to_be_visible()
    # The focus is where it was, so that the next press steps again.
    assert "More: Spacers" in str(desk.evaluate("document.activeElement.ariaLabel"))


def test_nothing_jumps(browser: Browser, address: str) -> None:
    for screen in (PHONE, DESK):
        context = browser.new_context(**screen)
        context.add_init_script(SHIFTS)
        page = signed_in(context, address, [])
        bike = open_bike(page)
        page.locator(".drawing svg").first.wait_for(state="attached")
        settled(page, "the bike page")
        page.get_by_role("button", name="More: Spacers under the stem").click()
        page.locator(".moved-card").wait_for()
        settled(page, "a step of a spacer")
        page.goto(f"{bike}/build")
        page.locator("#build input[type=checkbox]").first.check()
        page.get_by_role("button", name="The ticked lines are done").first.click()
        page.locator(".said").wait_for()
        settled(page, "ticks")
        page.goto(bike.split("/bikes")[0])
        page.fill("#query", "nothing like it")
        page.get_by_text("Nothing found").wait_for()
        settled(page, "a search")
        page.goto(f"{bike}/steps/bar-in-stem")
        page.locator("html[data-kept]").wait_for(state="attached")
        context.set_offline(True)
        page.get_by_role("button", name="Done").click()
        page.locator("#dock summary").wait_for()
        settled(page, "a queue")
        context.close()


def settled(page: Page, what: str) -> None:
    """How much jumped on this page by now is next to nothing."""
    page.evaluate("() => new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))")
    assert page.evaluate("window.shifts") < MOST_SHIFT, (what, page.evaluate("window.jumps"))
