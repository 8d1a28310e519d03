"""Tags before the camera, in a picture, and typed, in a browser that has no reader of its own."""

from __future__ import annotations

import io
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import segno
from PIL import Image, ImageFilter
from playwright.sync_api import Browser, Page, expect

from browser.conftest import CHROMIUM, PHONE, open_bike, signed_in

OWN_READER = """
window.BarcodeDetector = class {
  static async getSupportedFormats() { return ["qr_code"]; }
  async detect(picture) { window.asked = true; return [{ rawValue: window.tagText }]; }
};
"""


def tag(text: str, scale: int = 6, turn: float = 0.0, blur: float = 0.0) -> Image.Image:
    """A printed tag as a camera sees it: on a bench, a little turned, not quite sharp."""
    written = io.BytesIO()
    segno.make_qr(text, error="m").save(written, kind="png", scale=scale, border=4)
    code = Image.open(written).convert("RGB").rotate(turn, expand=True, fillcolor=(255, 255, 255))
    scene = Image.new("RGB", (1280, 720), (104, 96, 84))
    scene.paste(code, ((1280 - code.width) // 2, (720 - code.height) // 2))
    return scene.filter(ImageFilter.GaussianBlur(blur))


def test_this_browser_has_no_reader_of_its_own(phone: Page) -> None:
    """What follows tests ours; the day that this fails, it tests the browser's."""
    assert phone.evaluate("'BarcodeDetector' in window") is False


def test_a_tag_is_read_from_a_picture_or_typed(phone: Page, tmp_path: Path) -> None:
    bike = open_bike(phone)
    number, bench = bike.rpartition("/")[2], bike.split("/bikes")[0]
    phone.goto(f"{bench}/scan")
    phone.fill("#code", number)
    phone.get_by_role("button", name="To the bike").click()
    phone.wait_for_url(bike)
    path = tmp_path / "tag.jpg"
    for scale, turn, blur in ((6, 0.0, 0.0), (3, 21.0, 1.0), (9, 187.0, 2.0)):
        tag(f"CYCLEWRIGHT:BIKE:{number}", scale, turn, blur).save(path, quality=70)
        phone.goto(f"{bench}/scan")
        expect(phone.locator("[data-camera]")).to_be_visible()
        phone.set_input_files("#tag-photo", path)
        phone.wait_for_url(bike)
        expect(phone.locator(".said")).to_contain_text(f"Bike {number}")


def test_the_printed_tag_is_read(phone: Page, tmp_path: Path) -> None:
    """From the paper that the bench prints, rendered as a printer would."""
    bike = open_bike(phone)
    number, bench = bike.rpartition("/")[2], bike.split("/bikes")[0]
    paper = tmp_path / "tag.pdf"
    paper.write_bytes(phone.request.get(f"{bike}/papers/tag.pdf").body())
    subprocess.run(
        ["pdftoppm", "-r", "200", "-png", "-singlefile", paper, tmp_path / "tag"], check=True
    )
    phone.goto(f"{bench}/scan")
    expect(phone.locator("[data-camera]")).to_be_visible()
    phone.set_input_files("#tag-photo", tmp_path / "tag.png")
    phone.wait_for_url(f"{bench}/bikes/{number}")
    expect(phone.locator(".said")).to_contain_text("as it stands")


def test_the_picture_is_chosen_by_keyboard_and_the_focus_is_seen(phone: Page) -> None:
    phone.on("filechooser", lambda _: None)  # listened for before the key goes down
    phone.goto(f"{phone.url.rstrip('/')}/scan")
    expect(phone.locator("[data-camera]")).to_be_visible()
    phone.locator("[data-live]").focus()
    phone.keyboard.press("Tab")
    assert phone.evaluate("document.activeElement.id") == "tag-photo"
    label = phone.locator("label[for=tag-photo]")
    assert label.evaluate("one => getComputedStyle(one).outlineStyle") == "solid"
    with phone.expect_file_chooser():
        phone.keyboard.press("Space")


def test_a_picture_without_a_code_and_a_file_that_is_none_are_told(
    phone: Page, tmp_path: Path
) -> None:
    bench = phone.url.rstrip("/")
    phone.goto(f"{bench}/scan")
    expect(phone.locator("[data-camera]")).to_be_visible()
    path = tmp_path / "floor.jpg"
    Image.effect_noise((2400, 1800), 40).convert("RGB").save(path)
    phone.set_input_files("#tag-photo", path)
    expect(phone.locator("[data-words]")).to_contain_text("No code was found")
    path.write_bytes(b"<svg onload=alert(1)>")
    phone.set_input_files("#tag-photo", path)
    expect(phone.locator("[data-words]")).to_contain_text("cannot be read as a picture")
    expect(phone.locator("#code")).to_be_editable()


def test_a_browser_with_a_reader_uses_it(phone: Page, tmp_path: Path) -> None:
    bike = open_bike(phone)
    number, bench = bike.rpartition("/")[2], bike.split("/bikes")[0]
    phone.add_init_script(f"window.tagText = 'CYCLEWRIGHT:BIKE:{number}';" + OWN_READER)
    asked: list[str] = []
    phone.on("request", lambda request: asked.append(request.url))
    phone.goto(f"{bench}/scan")
    expect(phone.locator("[data-camera]")).to_be_visible()
    tag("nothing").save(tmp_path / "any.png")
    phone.set_input_files("#tag-photo", tmp_path / "any.png")
    phone.wait_for_url(bike)
    assert not [url for url in asked if "/qr/" in url]


def test_where_nothing_reads_codes_the_number_is_typed(browser: Browser, address: str) -> None:
    """Ours cannot be had either, when the network goes just then."""
    context = browser.new_context(**PHONE, service_workers="block")
    page = signed_in(context, address, [])
    page.route("**/vendor/qr/**", lambda route: route.abort())
    page.goto(f"{address.split('/#')[0]}/scan")
    page.wait_for_load_state("networkidle")
    expect(page.locator("[data-camera]")).to_be_hidden()
    expect(page.locator("#code")).to_be_editable()
    context.close()


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """What Chromium's stand-in for a camera shows: an empty bench, then a tag held to it."""
    path = tmp_path / "film.mjpeg"
    frames = [Image.new("RGB", (1280, 720), (104, 96, 84))] * 12
    frames += [tag("CYCLEWRIGHT:BIKE:1", 7, turn, 1.0) for turn in range(-10, 10, 2)]
    with path.open("wb") as file:
        for frame in frames:
            frame.save(file, "JPEG", quality=80)
    return path


@pytest.fixture
def camera(browser: Browser, film: Path) -> Iterator[Browser]:
    flags = ["--use-fake-device-for-media-stream", f"--use-file-for-fake-video-capture={film}"]
    chromium = browser.browser_type.launch(
        executable_path=str(CHROMIUM), args=["--no-sandbox", *flags]
    )
    yield chromium
    chromium.close()


def at_the_camera(camera: Browser, address: str, **more: Any) -> Page:
    context = camera.new_context(**PHONE, **more)
    page = signed_in(context, address, [])
    open_bike(page)
    page.goto(f"{address.split('/#')[0]}/scan")
    expect(page.locator("[data-live]")).to_be_visible()
    return page


def test_a_tag_held_to_the_camera_leads_to_its_bike(camera: Browser, address: str) -> None:
    page = at_the_camera(camera, address, permissions=["camera"])
    seen: list[str] = []
    page.on("request", lambda request: seen.append(request.method))
    page.get_by_role("button", name="Use the camera").click()
    expect(page.locator("[data-video]")).to_be_visible()
    page.wait_for_url("**/bikes/1")
    expect(page.locator(".said")).to_contain_text("Bike 1.")
    assert "POST" not in seen  # no picture went anywhere


def test_the_camera_is_put_away_again(camera: Browser, address: str) -> None:
    page = at_the_camera(camera, address, permissions=["camera"])
    button, video = page.locator("[data-live]"), page.locator("[data-video]")
    page.route("**/scan?*", lambda route: route.abort())  # stay on this page
    button.click()
    expect(button).to_have_attribute("aria-pressed", "true")
    button.click()
    expect(video).to_be_hidden()
    tracks = "document.querySelector('[data-video]').srcObject.getTracks()"
    assert page.evaluate(f"{tracks}.map((track) => track.readyState)") == ["ended"]


def test_a_camera_that_is_refused_is_told(camera: Browser, address: str) -> None:
    page = at_the_camera(camera, address)
    page.get_by_role("button", name="Use the camera").click()
    expect(page.locator("[data-words]")).to_contain_text("type the number")
    expect(page.locator("[data-video]")).to_be_hidden()
