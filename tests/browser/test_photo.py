"""Points on a photo by touch and by keys; the picture itself goes nowhere."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import Page, expect

from browser.conftest import open_bike

SIZE = (1200, 900)
KNEE = 30.0


def joints() -> dict[str, tuple[float, float]]:
    """A rider whose knee is bent by 30 degrees, in a picture's pixels."""
    hip, thigh, shank = (480.0, 330.0), 170.0, 165.0
    along = math.radians(62.0)
    knee = (hip[0] + thigh * math.cos(along), hip[1] + thigh * math.sin(along))
    down = along + math.radians(KNEE)
    ankle = (knee[0] + shank * math.cos(down), knee[1] + shank * math.sin(down))
    return {
        "rear_axle": (300.0, 700.0),
        "front_axle": (820.0, 700.0),
        "hip": hip,
        "knee": knee,
        "ankle": ankle,
        "shoulder": (640.0, 180.0),
        "elbow": (730.0, 270.0),
        "wrist": (800.0, 330.0),
    }


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A picture with a dot at each joint."""
    picture = Image.new("RGB", SIZE, (150, 160, 150))
    pen = ImageDraw.Draw(picture)
    for x, y in joints().values():
        pen.ellipse((x - 6, y - 6, x + 6, y + 6), fill=(20, 20, 20))
    path = tmp_path_factory.mktemp("photo") / "side.png"
    picture.save(path)
    return path


class Finger:
    """Touches as a phone's screen makes them."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.wire = page.context.new_cdp_session(page)
        self.scale = 1.0
        self.left = self.top = 0.0

    def over(self, where: str, wide: int) -> None:
        """Picture pixels from here on are those of this element."""
        target = self.page.locator(where)
        target.scroll_into_view_if_needed()
        box = target.bounding_box()
        assert box is not None
        self.left, self.top, self.scale = box["x"], box["y"], box["width"] / wide

    def send(self, kind: str, *at: float) -> None:
        """One touch event at a place of the picture."""
        place = dict(zip("xy", self.on_screen(*at), strict=True)) if at else None
        body: dict[str, Any] = {"type": kind, "touchPoints": [place] if place else []}
        self.wire.send("Input.dispatchTouchEvent", body)

    def on_screen(self, x: float, y: float) -> tuple[float, float]:
        """Where a place of the picture is on the screen."""
        return self.left + x * self.scale, self.top + y * self.scale

    def tap(self, x: float, y: float) -> None:
        """Down and up."""
        self.send("touchStart", x, y)
        self.send("touchEnd")

    def drag(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """Down, across, and up."""
        self.send("touchStart", *start)
        for part in (0.25, 0.5, 0.75, 1.0):
            self.send(
                "touchMove",
                start[0] + part * (end[0] - start[0]),
                start[1] + part * (end[1] - start[1]),
            )
        self.send("touchEnd")


def test_points_are_set_and_dragged_by_touch_and_only_they_are_sent(
    phone: Page, photo: Path, complaints: list[str]
) -> None:
    bike = open_bike(phone)
    sent: list[str] = []
    phone.on(
        "request",
        lambda asked: sent.append(asked.post_data or "") if asked.method == "POST" else None,
    )
    phone.goto(f"{bike}/photo")
    phone.set_input_files("#side-photo", photo)
    phone.locator("[data-picture]").wait_for()
    finger = Finger(phone)
    finger.over("canvas", SIZE[0])
    places = joints()
    for name, (x, y) in places.items():
        # The hip lands wide of its mark at first.
        finger.tap(x + (90.0 if name == "hip" else 0.0), y)
    expect(phone.locator("[data-hint]")).to_contain_text("Every point is set")
    hip = places["hip"]
    finger.drag((hip[0] + 90.0, hip[1]), hip)
    expect(phone.locator("[data-point=hip]")).to_have_attribute("aria-pressed", "true")
    phone.get_by_role("button", name="Show the angles").click()
    row = phone.locator("#setting-knee_flexion")
    expect(row).to_be_visible()
    assert abs(float(row.locator(".value").inner_text().rstrip("°")) - KNEE) <= 4
    expect(phone.locator("[data-result] .said")).to_contain_text("knee")
    bodies = [json.loads(text) for text in sent]
    assert [set(body) for body in bodies] == [{"points", "size", "taken", "distance"}]
    assert len(sent[0]) < 1000
    found = bodies[0]["points"]
    for name, place in places.items():
        assert math.dist(found[name], place) < 8, name
    assert complaints == []


def test_arrow_keys_move_the_selected_point_and_gaps_are_told(desk: Page, photo: Path) -> None:
    bike = open_bike(desk)
    desk.goto(f"{bike}/photo")
    desk.set_input_files("#side-photo", photo)
    desk.locator("[data-picture]").wait_for()
    desk.locator("[data-point=knee]").focus()
    desk.keyboard.press("Enter")
    desk.keyboard.press("ArrowRight")
    expect(desk.locator("[data-hint]")).to_contain_text("Knee: 601 across, 450 down")
    desk.keyboard.press("Shift+ArrowUp")
    expect(desk.locator("[data-hint]")).to_contain_text("440 down")
    desk.get_by_role("button", name="Show the angles").click()
    expect(desk.locator("[data-result]")).to_contain_text(re.compile("axle.*set this point"))
