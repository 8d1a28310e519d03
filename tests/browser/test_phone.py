"""A phone comes in by the picture on the bench, ticks a step, is shut out, and stays out."""

from __future__ import annotations

import io
import re
import subprocess
import sys
from collections.abc import Iterator

import pytest
import segno
from playwright.sync_api import Browser, Page, expect

from browser.conftest import DESK, EXAMPLES, PHONE, signed_in
from cyclewright.workshop import receive, sheets
from cyclewright.workshop.shop import Shop


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A bench with one bike and a door for phones, as the command starts it."""
    data = tmp_path_factory.mktemp("data")
    with Shop.open(data) as shop:
        read = sheets.read_sheets(
            EXAMPLES / "bikes/trail.toml",
            EXAMPLES / "riders/light.toml",
            EXAMPLES / "places/left.toml",
        )
        receive.open_bike(shop, read, by="Mara Quill")
    where = ["--lan", "--address", "127.0.0.2", "--lan-port", "0", "--data", str(data)]
    with subprocess.Popen(
        [sys.executable, "-m", "cyclewright.cli.main", "bench", *where],
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        lines = [process.stdout.readline() for _ in range(3)]
        assert lines[1].startswith("phones: https://127.0.0.2:")
        yield lines[0].removeprefix("bench: ").strip()
        process.terminate()


@pytest.fixture
def desk(browser: Browser, bench: str, complaints: list[str]) -> Iterator[Page]:
    context = browser.new_context(**DESK)
    yield signed_in(context, bench, complaints)
    context.close()


@pytest.fixture
def phone(browser: Browser, complaints: list[str]) -> Iterator[Page]:
    """A phone whose owner goes on after the warning."""
    context = browser.new_context(**PHONE, ignore_https_errors=True)
    page = context.new_page()
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield page
    context.close()


def test_from_the_picture_to_a_step_and_out_again(
    desk: Page, phone: Page, complaints: list[str]
) -> None:
    _come_in(desk, phone)
    _tick(phone)
    _shut_out(desk)
    phone.reload()
    expect(phone.get_by_role("heading", name="Let this phone in")).to_be_visible()
    assert phone.get_by_text("Fork direction").count() == 0
    assert complaints == []


def _come_in(desk: Page, phone: Page) -> None:
    """The picture holds the address; both show one number; the bench says yes."""
    desk.get_by_role("link", name="Phones").click()
    desk.get_by_role("button", name="Let a phone in").click()
    address = _address(desk)
    origin = address.partition("/pair")[0]
    phone.goto(f"{origin}/bikes/1")
    expect(phone.get_by_text("Somebody at the bench lets a phone in")).to_be_visible()
    phone.goto(address)
    expect(phone.locator(".pair-number")).to_have_text(re.compile(r"^\d{4}$"))
    assert phone.url == f"{origin}/pair"
    number = phone.locator(".pair-number").inner_text()
    expect(desk.locator(".pair-number")).to_have_text(number)
    desk.fill("#name", "Bo's phone")
    desk.get_by_role("button", name="Yes, let it in").click()
    expect(desk.locator(".said")).to_contain_text("Bo's phone is in")
    expect(phone.locator(".said")).to_contain_text("Bo's phone")
    expect(phone.get_by_text("keep the page open while you work").first).to_be_visible()


def _address(desk: Page) -> str:
    """The address in the picture that the page shows."""
    answer = desk.request.get(
        f"{desk.url.partition('/devices')[0]}/devices/pair", headers={"accept": "application/json"}
    )
    address: str = answer.json()["address"]
    picture = io.BytesIO()
    segno.make(address, error="m", micro=False).save(picture, kind="svg", omitsize=True)
    drawn = re.findall(r' d="(M4 4[^"]+)"', picture.getvalue().decode())
    assert drawn
    shown = desk.locator(".pair-picture path").last.get_attribute("d")
    assert shown == drawn[-1]
    return address


def _tick(phone: Page) -> None:
    """The phone works on the bike like the bench."""
    phone.get_by_role("link", name="To the bikes").click()
    phone.locator("a.bike-row").first.click()
    phone.goto(f"{phone.url}/build")
    card = phone.locator(".station").first
    card.locator("input[type=checkbox]").first.check()
    card.get_by_role("button", name="The ticked lines are done").click()
    expect(phone.locator(".step-line.done").first).to_be_visible()


def _shut_out(desk: Page) -> None:
    desk.goto(desk.url.partition("/devices")[0] + "/devices")
    desk.get_by_role("button", name="Shut out").click()
    expect(desk.locator(".said")).to_contain_text("Bo's phone is let in no more")


def test_a_used_address_opens_nothing(desk: Page, phone: Page, browser: Browser) -> None:
    desk.goto(desk.url.partition("/devices")[0] + "devices")
    desk.get_by_role("button", name="Let a phone in").click()
    address = _address(desk)
    phone.goto(address)
    expect(phone.locator(".pair-number")).to_be_visible()
    context = browser.new_context(**PHONE, ignore_https_errors=True)
    late = context.new_page()
    late.goto(address)
    expect(late.locator(".problems")).to_contain_text("ask for a new one at the bench")
    context.close()
    desk.get_by_role("button", name="No", exact=True).click()
    expect(phone.locator(".problems")).to_contain_text("The bench said no.")
