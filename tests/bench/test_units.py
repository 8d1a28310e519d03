"""With imperial units chosen, no page shows a metric figure."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from bench.conftest import Client
from bench.test_pages import PAGES
from cyclewright import bench
from cyclewright.workshop.shop import Shop
from imperial import metric

MORE = (
    "/fit", "/changes", "/carton", "/care", "/journey", "/level", "/record", "/inspection",
    "/photo", "/pocket", "/verify", "/drawing?show=all",
)  # fmt: skip
OWN = ("/", "/start", "/tools", "/care", "/recalls", "/settle", "/people", "/scan", "/who")
NO_PAGE = ("/bikes/{bike}/papers/{what}.pdf", "/bikes/{bike}/care.ics", "/bikes/{bike}/events",
           "/bikes/{bike}/pictures/{address}", "/bikes/{bike}/drawing.svg")  # fmt: skip
"""What answers with a file or a stream."""
INPUTS = re.compile(r"<(script|style|textarea|option|code|title)\b.*?</\1>", re.S)


def read(client: Client, path: str, system: str = "imperial") -> str:
    """The words of a page as a person reads them on a device with these units."""
    kept = "; ".join(f"{name}={value}" for name, value in client.http.cookies.items())
    answer = client.get(path, headers={"cookie": f"{kept}; cyclewright_units={system}"})
    assert answer.status_code == 200, path
    text = re.sub(r"<[^>]+>", " ", INPUTS.sub(" ", answer.text))
    return re.sub(r"\s+", " ", html.unescape(text))


@pytest.mark.parametrize("bike", [1, 2, 3])
@pytest.mark.parametrize("page", [*PAGES, *MORE])
def test_pages_of_a_bike_are_in_imperial_units(client: Client, bike: int, page: str) -> None:
    assert metric(read(client, f"/bikes/{bike}{page}")) == []


@pytest.mark.parametrize("bike", [1, 2, 3])
def test_every_step_and_reading_is_in_imperial_units(client: Client, bike: int) -> None:
    for step in client.data(f"/bikes/{bike}/build")["steps"]:
        assert metric(read(client, f"/bikes/{bike}/steps/{step['id']}")) == [], step["id"]
    for kind in client.data(f"/bikes/{bike}/readings")["kinds"]:
        assert metric(read(client, f"/bikes/{bike}/readings/{kind}")) == [], kind


@pytest.mark.parametrize("path", OWN)
def test_pages_of_the_shop_are_in_imperial_units(client: Client, path: str) -> None:
    assert metric(read(client, path)) == []


def test_every_page_of_a_bike_is_walked() -> None:
    source = "".join(path.read_text("utf-8") for path in Path(bench.__file__).parent.glob("*.py"))
    found = set(re.findall(r'router\.get\("(/bikes/\{bike\}[^"]*)"', source))
    apis = {"/bikes/{bike}/plan", "/bikes/{bike}/check", "/bikes/{bike}/advice"}
    gone = {"/bikes/{bike}/gates/{gate}", "/bikes/{bike}/undo"} | apis | set(NO_PAGE)
    walked = {f"/bikes/{{bike}}{page.partition('?')[0]}" for page in (*PAGES, *MORE)}
    each = {"/bikes/{bike}/steps/{step}", "/bikes/{bike}/readings/{kind}"}
    assert found - gone == walked | each


def test_a_torque_is_set_and_kept_as_it_is_shown(client: Client) -> None:
    path = "/bikes/1/steps/front-rotor"
    shown = read(client, path)
    figure = re.search(r"([\d.]+) in·lbf", shown)
    assert figure is not None
    kept = client.get(path).text
    assert "N·m" in kept and "in·lbf" not in kept
    assert "N·m" not in shown


def test_a_bare_torque_is_in_the_unit_that_the_page_shows(client: Client, shop: Shop) -> None:
    path = "/bikes/1/steps/front-rotor"
    kept = "; ".join(f"{name}={value}" for name, value in client.http.cookies.items())
    form = {"act": "done", "torque": "53"}
    assert client.post(path, data=form).status_code == 422
    there = {"cookie": f"{kept}; cyclewright_units=imperial"}
    assert client.post(path, data=form, headers=there).status_code == 303
    torque = shop.state(1).step("front-rotor").evidence["torque"]
    assert (torque["value"], torque["text"]) == (6.0, "53 in·lbf")


def test_the_drawing_follows_the_device(client: Client) -> None:
    trade, other = (
        read(client, "/bikes/1/drawing?show=all", name) for name in ("trade", "imperial")
    )
    assert metric(trade) and not metric(other)
