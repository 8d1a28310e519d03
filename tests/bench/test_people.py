"""People, roles and PINs on the bench: an owner settles them there, nobody from a phone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from bench.conftest import Client, let_in
from bench.phones import MACHINE, Bench
from cyclewright.workshop.shop import Shop

pytestmark = pytest.mark.usefixtures("quick_hashes")

ADA = "4821"


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Shop]:
    with Shop.open(tmp_path / "data") as made:
        yield made


@pytest.fixture
def browser(empty: Shop) -> Client:
    return let_in(empty)


def _post(client: Client, path: str, **fields: str) -> tuple[int, str]:
    answer = client.post(path, data=fields, headers=MACHINE)
    told = answer.json()
    return answer.status_code, told["errors"][0]["do"] if "errors" in told else ""


def _roles(client: Client) -> dict[str, str]:
    return {row["name"]: row["role"] for row in client.data("/people")["people"]}


def test_the_first_person_is_the_owner_and_alone_without_override(browser: Client) -> None:
    assert "The first person is the owner" in browser.get("/people").text
    assert _post(browser, "/people", name="Ada")[0] == 200
    assert _roles(browser) == {"Ada": "owner"}
    assert "no gate can be overridden" in browser.get("/people").text


def test_an_owner_adds_people_and_gives_roles(browser: Client) -> None:
    _post(browser, "/people", name="Ada")
    browser.post("/who", data={"name": "Ada"})
    _post(browser, "/people", name="Bo", role="checker")
    _post(browser, "/people", name="Cy")
    assert _roles(browser) == {"Ada": "owner", "Bo": "checker", "Cy": "mechanic"}
    assert _post(browser, "/people/3/role", role="checker")[0] == 200
    assert _post(browser, "/people/1/role", role="mechanic") == (
        409,
        "make somebody else an owner first",
    )
    browser.post("/who", data={"name": "Bo"})
    assert _post(browser, "/people", name="Di") == (409, "only an owner may do this")
    assert _post(browser, "/people/2/role", role="owner")[0] == 409


def test_with_pins_an_owner_gives_hers(browser: Client) -> None:
    _post(browser, "/people", name="Ada")
    browser.post("/who", data={"name": "Ada"})
    assert _post(browser, "/people/1/pin", new=ADA, again="4822")[0] == 422
    assert _post(browser, "/people/1/pin", new="1234", again="1234")[0] == 422
    assert _post(browser, "/people/1/pin", new=ADA, again=ADA)[0] == 200
    assert _post(browser, "/people", name="Bo")[0] == 409
    assert _post(browser, "/people", name="Bo", pin="9999")[0] == 409
    assert _post(browser, "/people", name="Bo", pin=ADA)[0] == 200
    assert _post(browser, "/people/2/pin", new="7351", again="7351", pin=ADA)[0] == 200
    page = browser.get("/people").text
    assert page.count("PIN set") == 2
    assert ADA not in page


def test_nobody_settles_people_from_a_phone(empty: Shop) -> None:
    phone = Bench(empty).let_in()
    assert phone.get("/people").status_code == 403
    for path in ("/people", "/people/1/role", "/people/1/pin"):
        assert phone.post(path, data={"name": "Eve"}).status_code == 403
