"""Every page on a phone and on a desk: WCAG 2.2 AA by axe, nothing jumps, nothing cut off."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from browser import tour
from browser.accessible import SHIFTS, violations
from browser.conftest import DESK, PHONE, signed_in, watched
from cyclewright.bench.app import create_app
from cyclewright.workshop.shop import Shop
from played import Played

SCREENS = {"phone": PHONE, "desk": DESK}
MOST_SHIFT = 0.02


@pytest.fixture(scope="module")
def running(
    browser: Browser, played: Played, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tour.Running]:
    """A bench with a week's work in it."""
    folder = tmp_path_factory.mktemp("shop")
    shutil.copytree(played.folder, folder / "demo")
    with tour.bench(folder) as found:
        context = browser.new_context(**DESK)
        tour.furnish(signed_in(context, found.address, []), found.root)
        context.close()
        yield found


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tour.Running]:
    with tour.empty_bench(tmp_path_factory.mktemp("new")) as found:
        yield found


def screen(browser: Browser, kind: str, **more: Any) -> BrowserContext:
    """A screen that watches for what jumps."""
    made = browser.new_context(**SCREENS[kind], reduced_motion="reduce", **more)
    made.add_init_script(SHIFTS)
    watched(made)
    return made


def told(seen: Iterator[tour.Seen]) -> str:
    """What is wrong on the pages of a tour, a line each."""
    found: list[str] = []
    for name, page in ((one.name, one.page) for one in seen):
        page.evaluate("() => new Promise((r) => setTimeout(() => requestAnimationFrame(r), 50))")
        shifts, jumps = page.evaluate("[window.shifts, window.jumps]")
        wider = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        found += [f"{name}: {text}" for text in violations(page)]
        found += [f"{name}: jumps by {shifts:.3f}: {jumps}"] if shifts >= MOST_SHIFT else []
        found += [f"{name}: {wider} px wider than the screen"] if wider > 0 else []
        page.emulate_media(color_scheme="light")
    return "\n".join(found)


@pytest.mark.parametrize("kind", SCREENS)
def test_every_page(browser: Browser, running: tour.Running, kind: str) -> None:
    context = screen(browser, kind)
    page = signed_in(context, running.address, [])
    assert told(tour.tour(page, running.root)) == ""
    context.close()


@pytest.mark.parametrize("kind", SCREENS)
def test_launching_and_pairing(browser: Browser, running: tour.Running, kind: str) -> None:
    desk, phone = screen(browser, kind), screen(browser, kind, ignore_https_errors=True)
    signed = signed_in(desk, running.address, [])
    assert told(tour.launching(phone.new_page(), running.root)) == ""
    assert told(tour.tour_of_doors(signed, phone.new_page(), running)) == ""
    for context in (desk, phone):
        context.close()


def test_the_first_day(browser: Browser, empty: tour.Running) -> None:
    context = screen(browser, "phone")
    page = signed_in(context, empty.address, [])
    assert told(tour.tour(page, empty.root, tour.FIRST_DAY)) == ""
    context.close()


def test_the_tour_leaves_no_page_out(tmp_path: Path) -> None:
    """A new page is looked at from its first day on."""
    with Shop.open(tmp_path) as shop:
        app = create_app(shop, "x" * 32, 8000)
    pages = {path for path in _paths(app.routes) if not tour.NO_PAGES.match(path)}
    asked = [urlsplit(stop.path).path for stop in (*tour.STOPS, *tour.FIRST_DAY)]
    left = {path for path in pages - tour.ELSEWHERE if not any(_fits(path, one) for one in asked)}
    assert left == set()
    assert pages >= tour.ELSEWHERE


def _paths(routes: Any) -> Iterator[str]:
    for route in routes:
        inner = getattr(route, "original_router", None)
        if inner is not None:
            yield from _paths(inner.routes)
        elif "GET" in (getattr(route, "methods", None) or ()):
            yield route.path


def _fits(path: str, asked: str) -> bool:
    pattern = re.sub(r"\\\{[a-z_]+\\\}", "[^/]+", re.escape(path))
    return re.fullmatch(pattern, asked) is not None


def test_a_phone_is_let_in_by_keyboard_alone(browser: Browser, running: tour.Running) -> None:
    desk, phone = screen(browser, "desk"), screen(browser, "desk", ignore_https_errors=True)
    page = signed_in(desk, running.address, [])
    page.goto(f"{running.root}/devices")
    _press(page, "Let a phone in")
    page.locator(".pair-picture").wait_for()
    address = page.request.get(
        f"{running.root}/devices/pair", headers={"accept": "application/json"}
    ).json()["address"]
    other = phone.new_page()
    other.goto(address)
    number = other.locator(".pair-number").inner_text()
    page.locator(".pair-number", has_text=number).wait_for()
    _press(page, "Yes, let it in")
    page.locator(".said").wait_for()
    other.locator(".said").wait_for()
    _press(other, "Not now: to the bikes")
    other.locator(".bike-row").first.wait_for()
    for context in (desk, phone):
        context.close()


def _press(page: Page, name: str, most: int = 40) -> None:
    """Walk to what bears this name by Tab, see where it is, and press Enter."""
    for _ in range(most):
        page.keyboard.press("Tab")
        at = page.evaluate(
            "[document.activeElement.textContent.trim(),"
            " getComputedStyle(document.activeElement).outlineStyle]"
        )
        if at[0] == name:
            assert at[1] != "none"
            page.keyboard.press("Enter")
            return
    pytest.fail(f"Tab does not reach “{name}”")


SLOWLY = {"offline": False, "latency": 20, "downloadThroughput": 40_000, "uploadThroughput": 1e6}
"""Forty kilobytes a second: a page comes in by parts, and is painted before it is whole."""
BY_PARTS = ("/start", "/", *(f"/bikes/{tour.BUSY}/{tab}" for tab in ("gates", "build", "care")))


def test_what_is_there_stays_where_it_is_while_the_rest_comes_in(
    browser: Browser, running: tour.Running
) -> None:
    context = screen(
        browser, "desk", service_workers="block"
    )  # what a worker fetches is not slowed
    page = signed_in(context, running.address, [])
    page.goto(f"{running.root}/start")  # fonts and styles are there afterwards
    page.fill("#tyre", "29x2.4")  # what was typed comes back, with a word about it
    line = context.new_cdp_session(page)
    line.send("Network.enable")
    line.send("Network.emulateNetworkConditions", SLOWLY)
    found = {}
    for path in BY_PARTS:
        page.goto(f"{running.root}{path}")
        page.evaluate("() => new Promise((r) => requestAnimationFrame(() => setTimeout(r)))")
        found[path] = page.evaluate("window.shifts")
    assert {path: shift for path, shift in found.items() if shift >= MOST_SHIFT} == {}
    context.close()
