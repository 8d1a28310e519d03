"""The check of the whole shop: how far, how long yet, called off, one at a time."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest

from bench.conftest import Client, let_in
from bench.phones import MACHINE
from cyclewright.bench import checking
from cyclewright.errors import Integrity, Problem
from cyclewright.workshop import care
from cyclewright.workshop.shop import Shop


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Iterator[threading.Semaphore]:
    """A check that goes on by one bike each time it is let."""
    going = threading.Semaphore(0)
    whole = care.verify

    def slowly(shop: Shop, bike: int | None = None, tell: object = None) -> care.VerifyAnswer:
        def told(done: int, total: int) -> None:
            going.acquire()
            tell(done, total)  # type: ignore[operator]

        return whole(shop, bike, told)

    monkeypatch.setattr(care, "verify", slowly)
    monkeypatch.setattr(checking, "SOON", 0.1)
    yield going
    for _ in range(20):
        going.release()


def ask(client: Client, at: int | None = None) -> tuple[int, dict[str, object]]:
    path = "/verify" if at is None else f"/verify?at={at}"
    answer = client.get(path, headers=MACHINE)
    return answer.status_code, answer.json()


def test_a_small_shop_has_its_answer_at_once(client: Client) -> None:
    assert "The whole shop: as it was written" in client.get("/verify").text


def test_how_far_a_check_is_and_its_end(client: Client, held: threading.Semaphore) -> None:
    status, told = ask(client)
    assert (status, told["done"], told["left"]) == (202, 0, None)
    page = client.get("/verify?at=1").text
    assert "The record file itself comes first" in page
    assert 'hx-get="/verify?at=1"' in page
    held.release()
    held.release()
    _, told = ask(client)  # whoever asks anew joins the check that runs
    assert told["check"] == 1
    assert 0 < int(str(told["done"])) < int(str(told["total"]))
    assert int(str(told["left"])) >= 1
    assert "left." in client.get("/verify?at=1").text
    for _ in range(10):
        held.release()
    for _ in range(50):
        status, told = ask(client, 1)
        if status == 200:
            break
    assert told["ok"] is True


def test_a_check_is_called_off(client: Client, held: threading.Semaphore) -> None:
    ask(client)
    held.release()
    answer = client.post("/verify/cancel")
    held.release()
    assert answer.headers["location"] == "/verify?at=1"
    page = client.get("/verify?at=1").text
    assert "The check was called off" in page
    assert "hx-get" not in page.partition("<main")[2]
    for _ in range(20):
        held.release()
    assert ask(client, 1)[1]["off"] is True
    assert ask(client)[1].get("check", 2) == 2  # the next one is a new one


def test_a_record_that_cannot_be_read_is_told(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise Integrity(Problem("damaged", "record", "the record file is damaged: restore"))

    monkeypatch.setattr(care, "verify", broken)
    client = let_in(shop)
    assert client.post("/verify/cancel").headers["location"] == "/"
    answer = client.get("/verify")
    assert answer.status_code == 500
    assert "the record file is damaged" in answer.text.lower()
