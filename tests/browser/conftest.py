"""A bench of its own for the browser, and Chromium of the system."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

CHROMIUM = Path("/usr/bin/chromium")
EXAMPLES = Path(__file__).parents[2] / "examples"
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "has_touch": True,
    "is_mobile": True,
}
_ASKED: list[str] = []
"""Addresses that pages of this test asked for."""
DESK: dict[str, Any] = {"viewport": {"width": 1440, "height": 900}}
expect.set_options(timeout=60_000)
_SERVE = """
import sys
from cyclewright.bench.serve import serve
from cyclewright.workshop.shop import Shop
with Shop.open(sys.argv[1]) as shop:
    serve(shop)
"""


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium of the system; without it these tests say what to install."""
    if not CHROMIUM.exists():
        pytest.fail("install Chromium: apt-get install chromium")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A photo to prove things with."""
    path = tmp_path_factory.mktemp("photo") / "proof.jpg"
    Image.new("RGB", (320, 240), (120, 130, 110)).save(path)
    return path


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address that a bench in a process of its own printed."""
    with serving(tmp_path_factory.mktemp("data")) as printed:
        yield printed


@contextmanager
def serving(data: Path) -> Iterator[str]:
    """The address of a bench over this folder, which stops at the end."""
    command = [sys.executable, "-c", _SERVE, str(data)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        line = process.stdout.readline()
        assert line.startswith("bench: http://127.0.0.1:"), line
        yield line.removeprefix("bench: ").strip()
        process.terminate()


@pytest.fixture(autouse=True)
def nothing_leaves_the_machine() -> Iterator[None]:
    """No page asks anything of anybody but its own bench."""
    _ASKED.clear()
    yield
    hosts = {urlsplit(url).hostname for url in _ASKED if urlsplit(url).scheme.startswith("http")}
    assert hosts <= {"127.0.0.1", "127.0.0.2"}, hosts


@pytest.fixture
def complaints() -> list[str]:
    """What the browser's console complained of."""
    return []


@pytest.fixture
def phone(browser: Browser, address: str, complaints: list[str]) -> Iterator[Page]:
    """A signed-in page on a phone of 390 by 844."""
    context = browser.new_context(**PHONE)
    yield signed_in(context, address, complaints)
    context.close()


@pytest.fixture
def desk(browser: Browser, address: str, complaints: list[str]) -> Iterator[Page]:
    """A signed-in page on a screen of 1440 by 900."""
    context = browser.new_context(**DESK)
    yield signed_in(context, address, complaints)
    context.close()


def watched(context: BrowserContext) -> None:
    """Its pages have the time a busy machine needs, and ask nobody but this machine."""
    context.set_default_timeout(120_000)
    context.on("request", lambda request: _ASKED.append(request.url))


def signed_in(context: BrowserContext, address: str, complaints: list[str]) -> Page:
    """The list of bikes, once the launch token became a cookie."""
    watched(context)
    page = context.new_page()
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on(
        "console",
        lambda message: (
            complaints.append(message.text)
            if message.type == "error" and "401" not in message.text
            else None
        ),
    )
    page.goto(address)
    page.wait_for_selector("nav[aria-label=Shop]")
    return page


def open_bike(page: Page, bike: str = "trail", rider: str = "light", place: str = "left") -> str:
    """An example bike put on the bench from its sheets, its page open; gives its address."""
    bench = "/".join(page.url.split("/", 3)[:3])
    sheets = {"bike": f"bikes/{bike}", "rider": f"riders/{rider}", "place": f"places/{place}"}
    texts = {key: (EXAMPLES / f"{name}.toml").read_text() for key, name in sheets.items()}
    answer = page.request.post(f"{bench}/api/bikes", data=texts, headers={"origin": bench})
    page.goto(f"{bench}/bikes/{answer.json()['bike']}")
    return page.url
