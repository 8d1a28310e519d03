"""A bench with a door for phones, in this process, and phones that come to it."""

from __future__ import annotations

from typing import Any

import httpx

from bench.conftest import PORT, TOKEN, Client
from cyclewright.bench.app import create_app
from cyclewright.bench.network import Network
from cyclewright.bench.pairing import Pairings
from cyclewright.workshop.shop import Shop

DOOR = 8743
PHONE = f"https://127.0.0.2:{DOOR}"
HUMAN = {"accept": "text/html"}
MACHINE = {"accept": "application/json"}


class Clock:
    """Time that stands still until it is told to go on."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


class Bench:
    """The app with both doors, a browser signed in at the bench, and a clock for pairings."""

    def __init__(self, shop: Shop) -> None:
        self.network = Network(DOOR, ("127.0.0.2",), ("bench.local",), b"der", "AB:CD")
        self.app = create_app(shop, TOKEN, PORT, self.network)
        self.clock = Clock()
        self.app.state.pairings = Pairings(self.clock)
        self.desk = Client(self.app)
        assert self.desk.post("/launch", data={"token": TOKEN}).status_code == 303

    def phone(self, address: str = "127.0.0.9") -> Client:
        """A browser that nobody let in, at the phones' door."""
        made = Client(self.app)
        made.http = httpx.AsyncClient(
            transport=httpx.ASGITransport(
                self.app, raise_app_exceptions=False, client=(address, 40000)
            ),
            base_url=PHONE,
            headers={"origin": PHONE, "accept": "text/html"},
        )
        return made

    def code(self) -> str:
        """A code, as the bench's own page shows it."""
        assert self.desk.post("/devices/pair").status_code == 303
        address: str = self.desk.data("/devices/pair")["address"]
        return address.partition("#")[2]

    def ask(self, phone: Client, code: str) -> dict[str, Any]:
        """What a phone hears when it uses a code."""
        answer = phone.post("/pair", data={"code": code})
        assert answer.status_code == 200, answer.text
        told: dict[str, Any] = answer.json()
        return told

    def confirm(self, number: str, name: str = "Bo's phone", answer: str = "yes") -> int:
        """What the bench answers when somebody there says yes or no."""
        said = {"number": number, "name": name, "answer": answer}
        return self.desk.post("/devices/confirm", data=said).status_code

    def let_in(self, name: str = "Bo's phone") -> Client:
        """A phone that was let in."""
        phone = self.phone()
        told = self.ask(phone, self.code())
        assert self.confirm(told["number"], name) == 303
        assert phone.post("/pair/wait", data={"claim": told["claim"]}).json() == {"state": "in"}
        return phone
