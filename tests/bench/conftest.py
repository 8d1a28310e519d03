"""A bench in this process: the real app over a real record, and clients for it."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import httpx
import pytest

from cyclewright.bench.app import create_app
from cyclewright.workshop import receive, sheets
from cyclewright.workshop.shop import Shop

PORT = 8123
TOKEN = "a-token-of-this-test-that-is-long-enough"
ORIGIN = f"http://127.0.0.1:{PORT}"
EXAMPLES = Path(__file__).parents[2] / "examples"


_apart = ThreadPoolExecutor(1)


def run(work: Coroutine[Any, Any, Any]) -> Any:
    """What a coroutine gives; in a thread of its own, since a browser's loop may run in ours."""
    return _apart.submit(asyncio.run, work).result()


class Client:
    """A browser as far as requests go: keeps cookies, follows nothing by itself."""

    def __init__(self, app: Any) -> None:
        self.http = httpx.AsyncClient(
            transport=httpx.ASGITransport(app, raise_app_exceptions=False),
            base_url=ORIGIN,
            headers={"origin": ORIGIN, "accept": "text/html"},
        )

    def get(self, path: str, **more: Any) -> httpx.Response:
        """A page asked for."""
        answer: httpx.Response = run(self.http.get(path, **more))
        return answer

    def post(self, path: str, **more: Any) -> httpx.Response:
        """A form or a body sent."""
        answer: httpx.Response = run(self.http.post(path, **more))
        return answer

    def data(self, path: str) -> dict[str, Any]:
        """A page's data."""
        answer = self.get(path, headers={"accept": "application/json"})
        assert answer.status_code == 200, answer.text
        found: dict[str, Any] = answer.json()
        return found


def let_in(shop: Shop, name: str = "") -> Client:
    """A browser that exchanged the token for its cookie, and says who works on it."""
    made = Client(create_app(shop, TOKEN, PORT))
    assert made.post("/launch", data={"token": TOKEN}).status_code == 303
    if name:
        made.post("/who", data={"name": name})
    return made


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """A shop with the three example bikes; the trail bike is number 1."""
    with Shop.open(tmp_path_factory.mktemp("data")) as opened:
        for bike, rider, place in (
            ("trail", "light", "left"),
            ("hardtail", "heavy", "right"),
            ("longtravel", "heavy", "right"),
        ):
            read = sheets.read_sheets(
                EXAMPLES / f"bikes/{bike}.toml",
                EXAMPLES / f"riders/{rider}.toml",
                EXAMPLES / f"places/{place}.toml",
            )
            receive.open_bike(opened, read, by="Mara Quill")
        yield opened


@pytest.fixture
def stranger(shop: Shop) -> Client:
    """A browser that nobody let in."""
    return Client(create_app(shop, TOKEN, PORT))


@pytest.fixture
def client(shop: Shop) -> Client:
    """A browser that exchanged the token for its cookie."""
    return let_in(shop)
