"""A phone is let in with a code that works once, for two minutes, and only after a yes."""

from __future__ import annotations

import base64
from pathlib import Path

import pytest

from bench.conftest import Client
from bench.phones import DOOR, MACHINE, PHONE, Bench, Clock
from cyclewright.bench.pairing import LASTS, Pairings
from cyclewright.workshop.shop import Shop


@pytest.fixture
def bench(shop: Shop) -> Bench:
    return Bench(shop)


def test_a_phone_that_the_bench_says_yes_to_is_in(bench: Bench) -> None:
    phone = bench.phone()
    assert phone.get("/bikes/1").status_code == 401
    told = bench.ask(phone, bench.code())
    assert bench.desk.data("/devices/pair")["number"] == told["number"]
    waiting = phone.post("/pair/wait", data={"claim": told["claim"]})
    assert (waiting.json(), "set-cookie" in waiting.headers) == ({"state": "asked"}, False)
    assert phone.get("/bikes/1").status_code == 401
    assert bench.confirm(told["number"]) == 303
    answer = phone.post("/pair/wait", data={"claim": told["claim"]})
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith(f"__Host-cyclewright_{DOOR}=")
    for word in ("Secure", "HttpOnly", "SameSite=strict", "Path=/", "Max-Age=7776000"):
        assert word.lower() in cookie.lower()
    assert phone.get("/bikes/1").status_code == 200
    assert phone.post("/who", data={"name": "Bo"}).status_code == 303


def test_the_code_is_128_bits_in_the_fragment_of_the_picture(bench: Bench) -> None:
    code = bench.code()
    assert len(base64.urlsafe_b64decode(code + "==")) == 16
    page = bench.desk.get("/devices/pair")
    assert page.headers["cache-control"] == "no-store"
    assert bench.desk.data("/devices/pair")["address"] == f"{PHONE}/pair#{code}"
    assert "<svg" in page.text
    assert code not in page.text
    assert bench.code() != code


def test_a_code_works_once(bench: Bench) -> None:
    code = bench.code()
    bench.ask(bench.phone(), code)
    late = bench.phone("127.0.0.10").post("/pair", data={"code": code})
    assert late.status_code == 403
    assert "ask for a new one at the bench" in late.json()["errors"][0]["do"]


def test_a_code_is_over_after_two_minutes(bench: Bench) -> None:
    code = bench.code()
    bench.clock.now += LASTS - 1
    assert bench.desk.data("/devices/pair")["left"] == 1
    bench.clock.now += 1
    assert bench.phone("127.0.0.11").post("/pair", data={"code": code}).status_code == 403
    assert bench.desk.data("/devices/pair")["state"] == "over"


def test_a_yes_that_comes_too_late_lets_nobody_in(bench: Bench) -> None:
    phone = bench.phone()
    told = bench.ask(phone, bench.code())
    bench.clock.now += LASTS
    assert bench.confirm(told["number"]) == 409
    assert phone.post("/pair/wait", data={"claim": told["claim"]}).json() == {"state": "over"}


def test_a_yes_to_another_number_lets_nobody_in(bench: Bench) -> None:
    told = bench.ask(bench.phone(), bench.code())
    other = f"{(int(told['number']) + 1) % 10_000:04d}"
    before = len(bench.desk.data("/devices")["devices"])
    assert bench.confirm(other) == 409
    assert len(bench.desk.data("/devices")["devices"]) == before


def test_a_no_is_told_to_the_phone(bench: Bench) -> None:
    phone = bench.phone()
    told = bench.ask(phone, bench.code())
    assert bench.confirm(told["number"], answer="no") == 303
    assert phone.post("/pair/wait", data={"claim": told["claim"]}).json() == {"state": "refused"}
    assert bench.confirm(told["number"]) == 409


def test_the_cookie_is_handed_out_once_and_to_the_phone_that_asked(bench: Bench) -> None:
    phone = bench.phone()
    told = bench.ask(phone, bench.code())
    bench.confirm(told["number"])
    stranger = bench.phone().post("/pair/wait", data={"claim": "x" * 43})
    assert (stranger.json(), "set-cookie" in stranger.headers) == ({"state": "over"}, False)
    assert "set-cookie" in phone.post("/pair/wait", data={"claim": told["claim"]}).headers
    again = phone.post("/pair/wait", data={"claim": told["claim"]})
    assert (again.json(), "set-cookie" in again.headers) == ({"state": "over"}, False)


def test_wrong_codes_have_to_wait_and_still_do_after_a_restart(tmp_path: Path) -> None:
    with Shop.open(tmp_path) as shop:
        phone = Bench(shop).phone()
        for _ in range(5):
            assert phone.post("/pair", data={"code": "y" * 22}).status_code == 403
        assert phone.post("/pair", data={"code": "y" * 22}, headers=MACHINE).status_code == 409
    with Shop.open(tmp_path) as shop:
        bench = Bench(shop)
        code = bench.code()
        slow = bench.phone().post("/pair", data={"code": code}, headers=MACHINE)
        assert "try again in" in slow.json()["errors"][0]["do"]
        other = bench.phone("127.0.0.12").post("/pair", data={"code": code})
        assert other.status_code == 200


def test_codes_are_used_at_the_phones_door_and_offered_at_the_bench(bench: Bench) -> None:
    code = bench.code()
    assert bench.desk.post("/pair", data={"code": code}).status_code == 404
    phone = bench.let_in()
    for path in ("/devices", "/devices/pair", "/api/devices", "/launch"):
        assert phone.get(path).status_code == 403
    for path in ("/devices/pair", "/devices/confirm", "/devices/1/revoke", "/launch"):
        assert phone.post(path).status_code == 403


def test_a_bench_without_a_door_for_phones_offers_no_code(client: Client) -> None:
    assert "cyclewright bench --lan" in client.get("/devices").text
    answer = client.post("/devices/pair", headers=MACHINE)
    assert answer.status_code == 409
    assert client.get("/trust").status_code == 404


def test_a_new_code_ends_the_one_before() -> None:
    pairings = Pairings(Clock())
    first = pairings.offer()
    second = pairings.offer()
    assert pairings.claim(first, "") is None
    assert pairings.claim(second, "") is not None
    assert pairings.code() is None
