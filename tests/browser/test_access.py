"""WCAG 2.2 AA by axe on every page, by keyboard, and nothing that jumps."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.conftest import DESK, PHONE, open_bike, signed_in

AXE = (Path(__file__).parent / "vendor/axe.min.js").read_text()
LEVELS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RUN = """async (only) => {
  const rules = only === "contrast" ? { type: "rule", values: ["color-contrast"] } : only;
  const found = await axe.run(document, { runOnly: rules, resultTypes: ["violations"] });
  return found.violations.map((v) =>
    `${v.id}: ${v.nodes.slice(0, 3).map((n) => n.target.join(" ") + " " + (n.any[0] ?? n.all[0]
      ?? n.none[0] ?? { message: "" }).message).join("; ")}`);
}"""
SHIFTS = """
window.shifts = 0; window.jumps = [];
new PerformanceObserver((list) => {
  for (const entry of list.getEntries()) {
    if (entry.hadRecentInput) continue;
    window.shifts += entry.value;
    for (const s of entry.sources ?? []) {
      window.jumps.push([entry.value, s.node?.className ?? s.node?.nodeName]);
    }
  }
}).observe({ type: "layout-shift", buffered: true });
"""
MOST_SHIFT = 0.02
OF_A_BIKE = (
    "",
    "?change=bike.cockpit.spacers_under%2B%3D10+mm",
    "?open=lookups",
    "/fit",
    "/fit?from=1",
    "/build",
    "/steps/bar-in-stem",
    "/steps/fork-forward",
    "/steps/bar-in-stem?wrong=1",
    "/readings",
    "/readings/fork-sag",
    "/gates",
    "/papers",
    "/photo",
    "?change=set.fork_pressure%3D50+psi",
    "/carton",
    "/care",
    "/journey",
    "/inspection",
)
OF_THE_SHOP = (
    *("/", "/?query=nothing+like+it", "/start", "/who", "/offline", "/nowhere"),
    *(
        "/scan",
        "/people",
        "/devices",
        "/care",
        "/recalls",
        "/tools",
        "/settle?field=bike.mass_limit&a=110+kg&b=120+kg",
    ),
)


WIDE = (
    "",
    "?change=bike.cockpit.spacers_under%2B%3D10+mm",
    "/build",
    "/steps/bar-in-stem",
    "/gates",
)
"""Pages that are laid out otherwise on a wide screen."""


def violations(page: Page) -> list[str]:
    """What axe finds on the page, in light with every rule and in dark in its contrast."""
    page.evaluate(AXE)
    page.emulate_media(color_scheme="light")
    found: list[str] = page.evaluate(RUN, LEVELS)
    page.emulate_media(color_scheme="dark")
    return found + [f"dark {text}" for text in page.evaluate(RUN, "contrast")]


@pytest.mark.parametrize("screen", [PHONE, DESK], ids=["phone", "desk"])
def test_every_page_is_accessible(browser: Browser, address: str, screen: dict[str, Any]) -> None:
    context = browser.new_context(**screen, reduced_motion="reduce")
    page = signed_in(context, address, [])
    bike = open_bike(page)
    bench = bike.split("/bikes")[0]
    bad: dict[str, list[str]] = {}
    shop, own = (OF_THE_SHOP, OF_A_BIKE) if screen is PHONE else (("/", "/start"), WIDE)
    paths = [*shop, *(bike.removeprefix(bench) + tail for tail in own)]
    for path in paths:
        page.goto(bench + path)
        if path == bike.removeprefix(bench):
            page.locator(".drawing svg").first.wait_for()
        if found := violations(page):
            bad[path] = found
    page.goto(f"{bike}/readings/fork-sag")
    page.get_by_role("button", name="This is what it reads").click()
    page.locator(".verdict").wait_for()
    bad["verdict"] = violations(page)
    page.context.set_offline(True)
    page.get_by_role("button", name="Read again").click()
    page.locator("#dock summary").click()
    bad["dock"] = violations(page)
    context.close()
    told = [f"{path}: {text}" for path, found in bad.items() for text in found]
    assert told == [], "\n".join(told)


def test_the_launch_page_is_accessible(browser: Browser, address: str) -> None:
    page = browser.new_page()
    page.goto(address.split("#")[0])
    page.get_by_label("Or paste that address here").wait_for()
    assert violations(page) == []
    page.close()


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
    places = walk(desk)
    assert len(places) >= 5
    assert [place["name"] for place in places if not place["shown"]] == []
    assert [place["name"] for place in places if not place["clear"]] == []


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
