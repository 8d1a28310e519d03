"""What a step's page asks beside a value: a torque without a figure, and whose word it is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from bench.conftest import Client, let_in
from cyclewright.sheets.quickstart import quick_start
from cyclewright.workshop import receive
from cyclewright.workshop.shop import Shop
from workshop.shops import opened

QUICK = {
    "kind": "hardtail", "country": "GB", "fork_travel": "120 mm", "tyre": "29x2.4",
    "tubeless": "yes", "hooked": "no", "height": "1.75 m", "mass": "82 kg",
}  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[tuple[Client, Shop]]:
    """The trail bike as number 1, a bike of nine answers as number 2, and a browser."""
    with Shop.open(tmp_path / "data") as shop:
        opened(shop)
        receive.open_bike(shop, quick_start(QUICK).sheets(), by="Ada")
        yield let_in(shop, "Ada"), shop


def field(text: str, name: str) -> str:
    """The input of that name on a page, empty where it has none."""
    found = re.search(rf'<input id="{name}"[^>]*>', text)
    return found[0] if found else ""


def test_a_joint_without_a_figure_asks_for_torque_and_whose_it_is(
    bench: tuple[Client, Shop],
) -> None:
    client, shop = bench
    path = "/bikes/2/steps/front-rotor"
    page = client.get(path).text
    assert 'value=""' in field(page, "torque") and field(page, "word")
    assert "Whose figure it is" in page and "No figure is known here" in page
    for form, said in (
        ({"torque": "5"}, "no figure is known for this joint: find it"),
        ({"torque": "60", "word": "I say so"}, "more than a front rotor can have"),
        ({"word": "I say so"}, "give the torque it was set to"),
    ):
        answer = client.post(path, data={"act": "done", **form})
        assert answer.status_code == 422 and said in answer.text
        assert f'value="{form.get("torque", "")}"' in field(answer.text, "torque")
    client.post(path, data={"act": "done", "torque": "5", "word": "the mark on the rotor"})
    assert shop.state(2).step("front-rotor").evidence["word"] == "the mark on the rotor"


def test_a_joint_without_a_figure_is_not_ticked_on_its_card(bench: tuple[Client, Shop]) -> None:
    client, _ = bench
    ticked = r'type="checkbox"[^>]*value="[^"]*\bfront-rotor\b'
    assert re.search(ticked, client.get("/bikes/1/build").text)
    assert not re.search(ticked, client.get("/bikes/2/build").text)
    answer = client.post("/bikes/2/ticks", data={"step": "front-rotor"})
    assert answer.status_code == 422 and "whose figure it is" in answer.text


def test_a_value_far_from_what_is_advised_asks_whose_word_it_is(
    bench: tuple[Client, Shop],
) -> None:
    client, shop = bench
    path = "/bikes/1/steps/rear-tyre-pressure"
    page = client.get(path).text  # a phone that sends later shows the refusal on this very page
    assert field(page, "word") and 'id="meant">' in page
    answer = client.post(path, data={"act": "done", "value": "40"})
    assert answer.status_code == 422
    assert "is advised: read it and its unit again" in answer.text
    assert 'value="40"' in field(answer.text, "value")
    assert "Whose word it is" in answer.text and 'id="meant" open>' in answer.text
    client.post(path, data={"act": "done", "value": "40", "word": "the rider, who races on it"})
    assert shop.state(1).step("rear-tyre-pressure").status == "done"


def test_a_tyre_nobody_allowed_is_refused_in_a_sentence(bench: tuple[Client, Shop]) -> None:
    client, _ = bench
    answer = client.post("/bikes/2/steps/front-tubeless", data={"act": "done"})
    assert answer.status_code == 422
    assert "rim maker" in answer.text and "until then it has no pressure" in answer.text
    assert not field(answer.text, "word")


def test_a_reading_far_off_says_that_it_proves_nothing(bench: tuple[Client, Shop]) -> None:
    client, _ = bench
    client.post("/bikes/1/readings/fork-pressure", data={"value": "6"})
    page = client.get("/bikes/1/readings/fork-pressure").text
    assert "proves nothing" in page


def test_a_dropper_is_answered_with_its_travel_on_one_card(
    bench: tuple[Client, Shop],
) -> None:
    """Its kind alone was refused for want of a travel that nothing on the page asked for."""
    client, shop = bench
    text = client.get("/bikes/2?open=lookups").text
    for field in ("bike.post.kind", "bike.post.travel"):
        assert f'name="q:{field}"' in text
    given = {"q:bike.post.kind": "dropper", "q:bike.post.travel": "150"}
    assert client.post("/bikes/2/answers", data=given).status_code == 303
    assert shop.sheets(shop.state(2)).bike.post.kind == "dropper"
    assert 'name="q:bike.post.kind"' not in client.get("/bikes/2?open=lookups").text
