"""Amounts and hands as people type them into the pages."""

from __future__ import annotations

from urllib.parse import urlencode

import pytest

from bench.conftest import EXAMPLES, Client
from cyclewright.workshop import receive, sheets
from cyclewright.workshop.shop import Shop

IN, LB = 0.0254, 0.45359237


@pytest.fixture
def bike(shop: Shop) -> int:
    """A trail bike on which nothing was recorded yet."""
    paths = ("bikes/trail.toml", "riders/light.toml", "places/left.toml")
    return receive.open_bike(shop, sheets.read_sheets(*(EXAMPLES / path for path in paths)))


@pytest.mark.parametrize("word", ["left", "L", "left hand", "front-left"])
def test_one_word_proves_a_hand(client: Client, shop: Shop, bike: int, word: str) -> None:
    path = f"/bikes/{bike}/steps/hands-delivered"
    assert client.post(f"{path}", data={"value": word, "act": "done"}).status_code == 303
    assert "front-left" in str(shop.state(bike).step("hands-delivered").evidence)


@pytest.mark.parametrize(
    ("text", "meant"),
    [("5/8 in", 0.625 * IN), ("0.6″", 0.6 * IN), ("15,5", 0.0155), ("16 MM", 0.016)],
)
def test_a_ring_as_it_is_read(
    client: Client, shop: Shop, bike: int, text: str, meant: float
) -> None:
    path = f"/bikes/{bike}/readings/fork-sag"
    assert client.post(path, data={"value": text}).status_code == 303
    (row,) = [item for item in shop.state(bike).readings if item.kind == "fork-sag"]
    assert row.value == pytest.approx(meant)


def test_a_comma_that_may_part_thousands_is_refused_with_what_to_write(
    client: Client, bike: int
) -> None:
    told = client.post(f"/bikes/{bike}/readings/fork-sag", data={"value": "1,500"})
    assert told.status_code == 422
    assert "1500 or 1.500" in told.text
    assert 'value="1,500"' in told.text


def test_what_is_tried_takes_feet_and_stones(client: Client, bike: int) -> None:
    path = f"/bikes/{bike}?" + urlencode({"change": "rider.height=1.7 m"})
    shorter = client.data(path)["settings"]
    for text in ("5'9\"", "5 ft 9", "69 inches"):
        query = urlencode({"set:rider.height": text, "was:rider.height": "1.62 m"})
        tall = client.data(f"/bikes/{bike}?{query}")["settings"]
        assert tall != shorter
        assert (
            tall
            == client.data(f"/bikes/{bike}?" + urlencode({"change": "rider.height=69 in"}))[
                "settings"
            ]
        )
