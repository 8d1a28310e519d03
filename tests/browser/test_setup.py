"""The bike page on a desk: step one field, and everything follows."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture
def bike(desk: Page, address: str) -> str:
    """The trail bike opened from its sheets, and its address."""
    desk.goto(address.split("#")[0] + "start")
    desk.get_by_text("I have sheets already").click()
    desk.set_input_files("#bike_file", EXAMPLES / "bikes/trail.toml")
    desk.set_input_files("#place_file", EXAMPLES / "places/left.toml")
    desk.set_input_files("#rider_file", EXAMPLES / "riders/light.toml")
    desk.get_by_role("button", name="Open from sheets").click()
    desk.locator("#drawing-page svg").wait_for()
    return desk.url


def test_a_spacer_moves_everything_and_reopens_its_steps(
    desk: Page, bike: str, complaints: list[str]
) -> None:
    expect(desk.locator(".finding.stop").first).to_contain_text("brakes on the other hands")
    before = desk.locator("#drawing-page svg").inner_html()
    spacers = desk.get_by_label("Spacers under the stem", exact=True)
    shown = spacers.input_value()
    desk.get_by_role("button", name="More: Spacers under the stem").click()
    table = desk.locator(".moved-card table")
    expect(table).to_contain_text("kept")
    expect(table.locator("tbody tr").first).to_be_visible()
    assert spacers.input_value() != shown
    desk.wait_for_function(
        "before => document.querySelector('#drawing-page svg')?.innerHTML !== before", arg=before
    )
    desk.get_by_role("link", name="Put it back").click()
    expect(desk.locator(".moved-card")).to_have_count(0)
    assert spacers.input_value() == shown
    spacers.fill("25 mm")
    spacers.press("Enter")
    expect(desk.locator(".moved-card")).to_contain_text("Spacers under the stem: 25 mm")
    desk.get_by_role("button", name="Make the change").click()
    expect(desk.locator(".said")).to_contain_text("25 mm")
    assert complaints == []


def test_a_change_that_cannot_be_is_told_and_not_made(desk: Page, bike: str) -> None:
    desk.get_by_role("textbox", name="Bar rise").fill("4000 mm")
    desk.get_by_role("textbox", name="Bar rise").press("Enter")
    expect(desk.locator(".problems")).to_contain_text("Bar rise is 4000 mm")
    expect(desk.locator(".moved-card")).to_have_count(0)


def test_a_ring_reading_gives_the_next_pressure(desk: Page, bike: str) -> None:
    desk.goto(f"{bike}/readings/fork-sag")
    field = desk.locator("#value")
    expect(field).to_have_value("")
    desk.get_by_role("button", name="Less").click()
    expected = float(field.input_value().split()[0])
    for _ in range(3):
        desk.get_by_role("button", name="Less").click()
    assert float(field.input_value().split()[0]) == expected - 3
    field.fill("27,5 mm")
    desk.get_by_role("button", name="More").click()
    expect(field).to_have_value("28.5 mm")
    field.fill(f"{expected - 3:g} mm")
    desk.get_by_role("button", name="This is what it reads").click()
    expect(desk.locator(".verdict")).to_contain_text("psi")
    expect(desk.locator(".verdict")).to_contain_text("mm")
    desk.goto(f"{bike}/readings")
    expect(desk.locator(".past")).to_contain_text(f"{expected - 3:g} mm")


def test_the_page_works_without_scripts(desk: Page, bike: str, address: str) -> None:
    state = desk.context.storage_state()
    browser = desk.context.browser
    assert browser is not None
    plain = browser.new_context(java_script_enabled=False, storage_state=state)
    page = plain.new_page()
    page.goto(bike)
    page.get_by_role("button", name="More: Spacers under the stem").click()
    expect(page.locator(".moved-card table")).to_be_visible()
    expect(page.locator("noscript img, img.drawing").first).to_be_attached()
    page.get_by_role("button", name="Make the change").click()
    expect(page.locator(".said")).to_be_visible()
    plain.close()


def test_a_step_has_targets_for_gloves_and_nothing_beside_the_screen(
    desk: Page, phone: Page, bike: str
) -> None:
    inputs = "input[type=text], input[type=file]"
    where = f"button, main .button, .step-top a, label.choice, summary, {inputs}"
    for step in ("fork-forward", "bar-in-stem", "bar-in-stem?wrong=1", "hands-delivered"):
        phone.goto(f"{bike}/steps/{step}")
        for target in phone.locator(where).all():
            box = target.bounding_box()
            assert box is not None
            assert box["height"] >= 60, target.inner_text()
    assert bike.startswith("http://127.0.0.1")


def test_no_page_is_wider_than_a_phone(desk: Page, phone: Page, bike: str) -> None:
    base = bike.split("/bikes")[0]
    paths = ("/", "/start", "/who", *(bike.removeprefix(base) + tail for tail in TAILS))
    for path in paths:
        phone.goto(base + path)
        wider = phone.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert wider <= 0, path


TAILS = (
    "",
    "?change=bike.cockpit.spacers_under%2B%3D10+mm",
    "/build",
    "/readings",
    "/gates",
    "/papers",
    "/steps/bar-in-stem",
    "/readings/fork-sag",
)


def test_a_pressure_or_the_saddle_stepped_by_hand_moves_the_rest(desk: Page, bike: str) -> None:
    before = desk.locator("#drawing-page svg").inner_html()
    field = desk.locator("[id='set-set.fork_pressure']")
    shown = field.input_value()
    for _ in range(3):
        desk.locator("[id='less-set.fork_pressure']").click()
    card = desk.locator(".moved-card")
    expect(card).to_contain_text("Fork pressure")
    expect(card.locator("table")).to_contain_text("Fork sag")
    assert field.input_value() == f"{int(shown.split()[0]) - 3} psi"
    desk.wait_for_function(
        "before => document.querySelector('#drawing-page svg')?.innerHTML !== before", arg=before
    )
    desk.get_by_role("button", name="Make the change").click()
    expect(desk.locator(".said")).to_contain_text("Fork pressure")
    made = desk.request.get(bike, headers={"accept": "application/json"}).json()["bike"]
    assert "fork_pressure" in {item["name"] for item in made["settings"]}
    # What a limit forbids is told with its owner, and nothing is tried.
    desk.goto(bike)
    saddle = desk.locator("[id='set-set.saddle_height']")
    saddle.fill("100 mm")
    saddle.press("Enter")
    expect(desk.locator(".problems")).to_contain_text("stay inside the limit")
    expect(card).to_have_count(0)
