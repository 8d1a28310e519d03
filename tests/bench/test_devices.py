"""Phones are listed, remembered, and shut out from their next request on."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bench.conftest import run as play
from bench.phones import DOOR, MACHINE, PHONE, Bench
from cyclewright.bench import security
from cyclewright.cli.main import run
from cyclewright.errors import InputError, Refusal
from cyclewright.workshop import devices, people
from cyclewright.workshop.shop import Shop


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Shop]:
    with Shop.open(tmp_path) as made:
        yield made


def test_a_revoked_phone_is_refused_at_once(shop: Shop) -> None:
    bench = Bench(shop)
    phone = bench.let_in()
    number = bench.desk.data("/devices")["devices"][0]["id"]
    assert phone.get("/api/bikes").status_code == 200
    assert bench.desk.post(f"/devices/{number}/revoke").status_code == 303
    answer = phone.get("/api/bikes", headers=MACHINE)
    assert answer.status_code == 401
    assert answer.json()["errors"][0]["code"] == "not-signed-in"
    assert "Let this phone in" in phone.get("/bikes/1").text
    assert phone.post("/bikes/1/undo", headers=MACHINE).status_code == 401
    assert bench.desk.post(f"/devices/{number}/revoke", headers=MACHINE).status_code == 409


def test_one_phone_revoked_leaves_the_others(shop: Shop) -> None:
    bench = Bench(shop)
    first, second = bench.let_in("First"), bench.let_in("Second")
    listed = bench.desk.data("/devices")["devices"]
    assert [row["name"] for row in listed[:2]] == ["Second", "First"]
    bench.desk.post(f"/api/devices/{listed[0]['id']}/revoke")
    assert second.get("/", headers=MACHINE).status_code == 401
    assert first.get("/").status_code == 200


def test_a_phone_is_still_in_when_the_bench_starts_anew(shop: Shop) -> None:
    bench = Bench(shop)
    phone = bench.let_in()
    cookies = phone.http.cookies
    phone.post("/who", data={"name": "Mara Quill"})
    again = Bench(shop).phone()
    again.http.cookies = cookies
    page = again.get("/")
    assert page.status_code == 200
    assert "Mara Quill" in page.text


def test_only_the_hash_of_a_cookie_is_kept(empty: Shop, tmp_path: Path) -> None:
    device, cookie = devices.let_in(empty, "  Bo's   phone ")
    assert device.name == "Bo's phone"
    found = devices.of_cookie(empty, cookie)
    assert found is not None
    assert found.id == device.id
    assert devices.of_cookie(empty, cookie[:-1]) is None
    empty.close()
    for path in tmp_path.rglob("*"):
        assert path.is_dir() or cookie.encode() not in path.read_bytes()


def test_time_runs_out(empty: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    _, cookie = devices.let_in(empty, "Phone")
    later = datetime.now(UTC) + devices.LASTS
    monkeypatch.setattr(devices, "_now", lambda: later - timedelta(minutes=5))
    assert devices.of_cookie(empty, cookie) is not None
    assert devices.devices(empty)[0].seen[:16] == (later - timedelta(minutes=5)).isoformat()[:16]
    monkeypatch.setattr(devices, "_now", lambda: later)
    assert devices.of_cookie(empty, cookie) is None
    assert devices.devices(empty)[0].state == "over"


def test_a_number_is_never_given_twice(empty: Shop) -> None:
    first, _ = devices.let_in(empty, "One")
    devices.revoke(empty, first.id)
    second, _ = devices.let_in(empty, "Two")
    assert second.id == first.id + 1
    with pytest.raises(Refusal, match="it was revoked before"):
        devices.revoke(empty, first.id)
    with pytest.raises(InputError, match="`cyclewright devices` lists them"):
        devices.revoke(empty, 99)
    with pytest.raises(InputError, match="write a few words"):
        devices.let_in(empty, " \n ")


def test_a_phone_names_who_carries_it(empty: Shop) -> None:
    people.add_person(empty, "Ada")
    device, cookie = devices.let_in(empty, "Phone")
    devices.carry(empty, device.id, "ada")
    found = devices.of_cookie(empty, cookie)
    assert found is not None
    assert found.person == "Ada"
    devices.carry(empty, device.id, "nobody known")
    assert devices.devices(empty)[0].person is None


def test_a_stream_of_events_ends_soon_after_the_phone_is_revoked(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(security, "LOOK_AGAIN", 0.0)
    bench = Bench(shop)
    phone = bench.let_in()
    cookie = phone.http.cookies[f"__Host-cyclewright_{DOOR}"]
    number = bench.desk.data("/devices")["devices"][0]["id"]
    sent = play(_watched(bench, cookie, lambda: devices.revoke(shop, number)))
    assert sent == [b"one", b"two", b""]


def test_what_a_phone_is_still_sending_when_it_is_revoked_is_not_taken(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A lost phone cannot keep requests open for later."""
    monkeypatch.setattr(security, "LOOK_AGAIN", 0.0)
    bench = Bench(shop)
    phone = bench.let_in()
    number, before = bench.desk.data("/devices")["devices"][0]["id"], shop.state(1).number

    async def slow(revoked: bool) -> AsyncIterator[bytes]:
        yield b"act=wrong&reason="
        if revoked:
            await asyncio.to_thread(devices.revoke, shop, number)
        yield b"dented"

    sent = {"content-type": "application/x-www-form-urlencoded"}
    path = "/bikes/1/steps/frame-looked-over"
    assert phone.post(path, content=slow(False), headers=sent).status_code == 303
    answer = phone.post(path, content=slow(True), headers=sent)
    assert answer.status_code == 400
    assert "could not be read" in answer.text
    assert shop.state(1).number == before + 1


async def _watched(bench: Bench, cookie: str, revoke: object) -> list[bytes]:
    """What a phone reads of an endless answer, revoked after its second part."""
    assert callable(revoke)
    sent: list[bytes] = []

    async def endless(scope: object, receive: object, send: object) -> None:
        assert callable(send)
        await send({"type": "http.response.start", "status": 200, "headers": []})
        for part in (b"one", b"two"):
            await send({"type": "http.response.body", "body": part, "more_body": True})
        await asyncio.to_thread(revoke)
        for part in (b"three", b"four"):
            await send({"type": "http.response.body", "body": part, "more_body": True})

    async def send(message: dict[str, object]) -> None:
        if message["type"] == "http.response.body":
            body = message["body"]
            assert isinstance(body, bytes)
            sent.append(body)

    async def receive() -> dict[str, object]:
        return {"type": "http.request", "body": b"", "more_body": False}

    guard = security.Guard(
        endless,  # type: ignore[arg-type]
        shop=bench.app.state.bench.shop,
        keyring=bench.app.state.keyring,
        port=1,
        network=bench.network,
        fault=lambda request, error: pytest.fail(str(error)),
    )
    headers = [
        (b"host", PHONE.removeprefix("https://").encode()),
        (b"cookie", f"__Host-cyclewright_{DOOR}={cookie}".encode()),
        (b"accept", b"text/event-stream"),
        (b"sec-fetch-site", b"same-origin"),
    ]
    scope = {
        "type": "http",
        "scheme": "https",
        "method": "GET",
        "path": "/bikes/1/events",
        "query_string": b"",
        "headers": headers,
    }
    await guard(scope, receive, send)  # type: ignore[arg-type]
    return sent


def test_the_command_lists_and_revokes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with Shop.open(tmp_path) as shop:
        _, cookie = devices.let_in(shop, "Bo's phone")
    data = ["--data", str(tmp_path)]
    assert run(["devices", *data]) == 0
    assert "Bo's phone" in capsys.readouterr().out
    assert run(["devices", *data, "--revoke", "1"]) == 0
    assert "Bo's phone is let in no more" in capsys.readouterr().out
    assert run(["devices", *data, "--json"]) == 0
    listed = json.loads(capsys.readouterr().out)["devices"]
    assert [row["state"] for row in listed] == ["revoked"]
    assert cookie not in str(listed)
    assert run(["devices", *data, "--revoke", "1"]) == 1
    assert run(["devices", *data, "--revoke", "7"]) == 2
    with Shop.open(tmp_path) as shop:
        assert devices.of_cookie(shop, cookie) is None
