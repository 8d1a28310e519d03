"""Carton and inspection on a phone: gloves, photos, a finger's signature, and without scripts."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from browser.conftest import PHONE, open_bike


@pytest.fixture
def bike(phone: Page) -> str:
    """The trail bike's address."""
    return open_bike(phone)


def _picture() -> dict[str, Any]:
    written = io.BytesIO()
    Image.new("RGB", (64, 48), (120, 90, 60)).save(written, "JPEG")
    return {"name": "carton.jpg", "mimeType": "image/jpeg", "buffer": written.getvalue()}


def test_a_carton_from_the_door_to_the_claim_note(
    phone: Page, bike: str, complaints: list[str]
) -> None:
    phone.goto(f"{bike}/carton")
    phone.set_input_files("#arrive-photo", [_picture(), _picture()])
    phone.get_by_label("What is wrong with the carton").fill("corner crushed")
    phone.get_by_role("button", name="The carton is here").click()
    expect(phone.get_by_text("On the carrier's slip")).to_be_visible()
    row = phone.locator(".part-lines li", has_text="Left pedal")
    row.get_by_label("Missing").check()
    phone.get_by_role("button", name="Tick these").click()
    expect(phone.locator("#expect")).to_contain_text("No day promised yet")
    expect(phone.get_by_role("link", name="Claim note").first).to_be_visible()
    small = phone.evaluate(
        """() => [...document.querySelectorAll(".gloves .button, .gloves .choice")]
          .filter((one) => one.offsetParent && one.offsetHeight < 60).map((one) => one.innerText)"""
    )
    assert small == [], "everything to press has sixty pixels under a glove"
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    assert complaints == []


def test_declined_work_is_signed_with_a_finger(
    phone: Page, bike: str, complaints: list[str]
) -> None:
    phone.goto(f"{bike}/inspection")
    phone.get_by_label("It crashed").check(force=True)
    phone.get_by_role("button", name="Begin the inspection").click()
    expect(phone.locator(".verdict-line")).to_contain_text("still to look at")
    phone.get_by_label("What is not as it should be").fill("bar scored at the clamp")
    phone.get_by_label("Stop: nobody rides it").check()
    phone.get_by_label("Work that would put it right").fill("new bar")
    phone.get_by_role("button", name="Write it down").click()
    expect(phone.locator(".verdict-line")).to_contain_text("Not to be ridden: bar scored")
    form = phone.locator("#declined")
    form.get_by_label("1. new bar").check()
    form.get_by_label("Name of who declines").fill("Lena Aldis")
    canvas = form.locator("canvas")
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    assert box is not None
    phone.mouse.move(box["x"] + 30, box["y"] + 60)
    phone.mouse.down()
    phone.mouse.move(box["x"] + 200, box["y"] + 30, steps=4)
    phone.mouse.up()
    phone.wait_for_function("() => document.getElementById('signature').files.length === 1")
    form.get_by_role("button", name="Declined and signed").click()
    expect(phone.locator("#found")).to_contain_text("declined")
    expect(phone.get_by_role("link", name="Do-not-ride tag")).to_be_visible()
    assert complaints == []


def test_without_scripts_the_same_forms_work(browser: Browser, phone: Page, bike: str) -> None:
    context = browser.new_context(**PHONE, java_script_enabled=False)
    context.add_cookies(phone.context.cookies())  # type: ignore[arg-type]
    page = context.new_page()
    page.goto(f"{bike}/care")
    page.get_by_label("Rides").fill("2")
    page.get_by_role("button", name="Note it").click()
    expect(page.locator(".said")).to_contain_text(re.compile("2 rides"))
    page.goto(f"{bike}/inspection")
    page.get_by_label("It crashed").check(force=True)
    page.get_by_role("button", name="Begin the inspection").click()
    expect(page.locator(".verdict-line")).to_contain_text("places still to look at")
    context.close()
