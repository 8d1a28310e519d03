"""The phone as a level: synthetic sensor events in, an angle with its error into the record."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from browser.conftest import open_bike

TILT = -3.2
"""Nose of the saddle [degrees], up positive."""

MOTION = """([tilt, count, wobble]) => {
  const angle = (tilt * Math.PI) / 180;
  for (let index = 0; index < count; index++) {
    const off = wobble * (index % 2 ? 1 : -1) * Math.PI / 180;
    const pull = 9.81 * (window.flip ?? 1);
    const [y, z] = [pull * Math.sin(angle + off), pull * Math.cos(angle + off)];
    dispatchEvent(new DeviceMotionEvent("devicemotion", {
      accelerationIncludingGravity: { x: 0.02, y, z },
    }));
  }
}"""
ORIENTATION = """([beta, count]) => {
  for (let index = 0; index < count; index++) {
    dispatchEvent(new DeviceOrientationEvent("deviceorientation", { alpha: 10, beta, gamma: 2 }));
  }
}"""


def running(page: Page, of: str = "saddle-tilt") -> str:
    """A bike's level page with the level started; gives the bike's address."""
    bike = open_bike(page)
    page.goto(f"{bike}/level?of={of}")
    page.get_by_role("button", name="Start the level").click()
    page.locator("[data-running]").wait_for()
    return bike


def readings(page: Page, bike: str, of: str) -> list[dict[str, Any]]:
    """What the record holds of this angle, newest first."""
    answer = page.request.get(f"{bike}/level?of={of}", headers={"accept": "application/json"})
    found: list[dict[str, Any]] = answer.json()["readings"]
    return found


def shown(page: Page) -> float:
    """The number that is shown live."""
    text = page.locator("[data-now]").inner_text()
    return float(text.replace("−", "-").rstrip("°"))


def test_the_level_is_seen_live_taken_and_kept_with_its_error(
    phone: Page, complaints: list[str]
) -> None:
    bike = running(phone)
    phone.evaluate(MOTION, [TILT, 3, 0.0])
    expect(phone.locator("[data-way]")).to_have_text("nose down")
    assert abs(shown(phone) - TILT) < 0.06
    assert float(phone.locator("[data-bubble]").get_attribute("cx") or 0.0) < 150.0
    phone.get_by_role("button", name="Take it", exact=True).click()
    phone.evaluate(MOTION, [TILT, 40, 0.02])
    taken = phone.locator("[data-result]")
    expect(taken.locator(".big")).to_have_text(re.compile("[−-]3.2"))
    expect(taken).to_contain_text("bring it up")
    assert float(phone.locator("[data-window]").get_attribute("width") or 0.0) > 0.0
    assert readings(phone, bike, "saddle-tilt") == []
    phone.get_by_role("button", name="Keep this angle").click()
    expect(phone.locator("main [role=status]").first).to_contain_text("Kept.")
    (kept,) = readings(phone, bike, "saddle-tilt")
    assert math.degrees(kept["value"]) == pytest.approx(TILT, abs=0.05)
    extra = kept["extra"]
    assert extra["how"] == "level" and extra["low"] < kept["value"] < extra["high"]
    assert math.degrees(extra["high"] - extra["low"]) < 2.0
    assert complaints == []


def test_a_phone_that_moves_is_not_taken_and_a_take_may_be_repeated(phone: Page) -> None:
    bike = running(phone)
    phone.get_by_role("button", name="Take it", exact=True).click()
    phone.evaluate(MOTION, [TILT, 60, 4.0])
    expect(phone.locator("[data-result]")).to_be_empty()
    phone.evaluate(MOTION, [1.0, 40, 0.0])
    expect(phone.locator("[data-result] .big")).to_contain_text("1.0")
    phone.get_by_role("button", name="Take it", exact=True).click()
    phone.evaluate(MOTION, [2.0, 40, 0.0])
    expect(phone.locator("[data-result] .big")).to_contain_text("2.0")
    assert readings(phone, bike, "saddle-tilt") == []


def test_turned_end_for_end_the_phone_s_own_zero_cancels(phone: Page) -> None:
    """A zero of 1.5 degrees: 2 up reads 3.5 one way and -0.5 the other."""
    bike = running(phone)
    phone.get_by_role("button", name="Take it", exact=True).click()
    phone.evaluate(MOTION, [3.5, 40, 0.0])
    expect(phone.locator("[data-result] .big")).to_contain_text("3.5")
    phone.get_by_role("button", name="Turn the phone end for end").click()
    phone.evaluate(MOTION, [3.5, 40, 0.0])
    expect(phone.locator("[data-result]")).to_be_empty()
    phone.evaluate(MOTION, [-0.5, 40, 0.0])
    expect(phone.locator("[data-result] .big")).to_contain_text("2.0")
    phone.get_by_role("button", name="Keep this angle").click()
    expect(phone.locator("main [role=status]").first).to_contain_text("Kept.")
    (kept,) = readings(phone, bike, "saddle-tilt")
    assert abs(math.degrees(kept["value"]) - 2.0) < 0.05


def test_orientation_alone_will_do_and_settles_which_way_is_up(phone: Page) -> None:
    running(phone, "lever-left")
    phone.evaluate(ORIENTATION, [-42.0, 3])
    assert abs(shown(phone) - 42.0) < 0.06
    expect(phone.locator("[data-way]")).to_have_text("below level")
    phone.evaluate("window.flip = -1")
    phone.evaluate(MOTION, [-42.0, 3, 0.0])
    assert abs(shown(phone) - 42.0) < 0.06
    phone.get_by_role("button", name="Take it", exact=True).click()
    phone.evaluate(MOTION, [-42.0, 40, 0.0])
    expect(phone.locator("[data-result]")).to_contain_text("Left lever")


def test_permission_is_asked_by_a_tap_and_refused_in_a_sentence(phone: Page) -> None:
    bike = open_bike(phone)
    phone.add_init_script("DeviceMotionEvent.requestPermission = async () => window.answer")
    phone.goto(f"{bike}/level")
    phone.evaluate("window.answer = 'denied'")
    phone.get_by_role("button", name="Start the level").click()
    expect(phone.locator("[data-trouble]")).to_contain_text("or type the angle")
    phone.evaluate("window.answer = 'granted'")
    phone.get_by_role("button", name="Start the level").click()
    expect(phone.locator("[data-running]")).to_be_visible()


def test_a_device_without_a_level_says_so_and_takes_a_typed_angle(desk: Page) -> None:
    bike = running(desk, "lever-right")
    expect(desk.locator("[data-trouble]")).to_contain_text("no level")
    desk.get_by_label("Right lever, degrees").fill("50")
    desk.get_by_role("button", name="Keep the typed angle").click()
    expect(desk.locator("main [role=status]").first).to_contain_text("Right lever")
    (kept,) = readings(desk, bike, "lever-right")
    assert kept["extra"]["how"] == "typed" and abs(math.degrees(kept["value"]) - 50) < 1e-6
