"""What every answer and every upload is held to: policies, origins, sizes, contents, silence."""

from __future__ import annotations

import io
import logging
import os
from pathlib import Path

import pytest
from PIL import Image
from starlette.routing import Route

from bench.conftest import PORT, TOKEN, Client
from bench.phones import MACHINE, PHONE, Bench
from cyclewright.bench import security
from cyclewright.bench.app import create_app
from cyclewright.store import photos
from cyclewright.workshop import people
from cyclewright.workshop.shop import Shop

STREAM = {"accept": "text/event-stream"}


def _policy(client: Client, name: str, path: str = "/") -> dict[str, str]:
    parts = client.get(path).headers[name].replace(",", ";").split(";")
    pairs = (part.strip().replace("=", " ").partition(" ") for part in parts)
    return {key: value for key, _, value in pairs}


def test_sensors_camera_and_the_awake_screen_are_for_our_own_pages_only(client: Client) -> None:
    policy = _policy(client, "permissions-policy")
    for name in ("camera", "microphone", "accelerometer", "gyroscope", "screen-wake-lock"):
        assert policy.pop(name) == "(self)"
    policy.pop("magnetometer")
    assert {"geolocation", "payment", "usb", "serial", "hid"} <= set(policy)
    assert set(policy.values()) == {"()"}


def test_content_comes_from_this_bench_only(client: Client) -> None:
    policy = _policy(client, "content-security-policy")
    assert policy["default-src"] == "'none'"
    assert set(policy.values()) == {"'none'", "'self'"}
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"


def test_both_doors_send_the_same_policies(shop: Shop) -> None:
    bench = Bench(shop)
    phone = bench.phone()
    for path in ("/pair", "/trust", "/static/bench.css", "/nowhere"):
        here, there = bench.desk.get(path).headers, phone.get(path).headers
        for name in ("content-security-policy", "permissions-policy", "x-content-type-options"):
            assert here[name] == there[name]


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"sec-fetch-site": "same-origin"}, 200),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"sec-fetch-site": "none"}, 403),
        ({"origin": "http://127.0.0.1:9999"}, 403),
        ({"origin": "null"}, 403),
    ],
)
def test_a_stream_of_events_is_for_our_own_pages(
    shop: Shop, headers: dict[str, str], status: int
) -> None:
    """Another program's page on this machine is of the same site, and gets none either."""
    client = Client(create_app(shop, TOKEN, PORT))
    client.post("/launch", data={"token": TOKEN})
    if "origin" not in headers:
        del client.http.headers["origin"]
    path = "/bikes/1" if status == 200 else "/bikes/1/events"
    assert client.get(path, headers=STREAM | headers).status_code == status


@pytest.mark.parametrize(
    ("mode", "dest", "status"),
    [
        ("navigate", "document", 200),
        ("navigate", "iframe", 403),
        ("no-cors", "image", 403),
        ("no-cors", "script", 403),
        ("cors", "empty", 403),
    ],
)
def test_another_site_may_link_here_and_embed_nothing(
    client: Client, mode: str, dest: str, status: int
) -> None:
    del client.http.headers["origin"]
    asked = {"sec-fetch-site": "cross-site", "sec-fetch-mode": mode, "sec-fetch-dest": dest}
    assert client.get("/bikes/1", headers=asked).status_code == status
    asked["sec-fetch-site"] = "none"
    assert client.get("/bikes/1", headers=asked).status_code == 200


def test_a_cookie_opens_its_own_door_only(shop: Shop) -> None:
    bench = Bench(shop)
    phone = bench.let_in()
    name, value = next(iter(phone.http.cookies.items()))
    asked = {"cookie": f"{security.cookie_name(PORT)}={value}; {name}={value}"}
    stranger = Client(bench.app)
    assert stranger.get("/", headers=asked).status_code == 401
    own, secret = next(iter(bench.desk.http.cookies.items()))
    asked = {"cookie": f"{own}={secret}; {name}={secret}"}
    assert bench.phone().get("/", headers=asked).status_code == 401


def test_cookies_of_several_benches_and_doors_do_not_clash() -> None:
    ports = (8123, 8124)
    names = {security.cookie_name(port, phone) for port in ports for phone in (False, True)}
    assert len(names) == 4


def test_the_phones_door_refuses_the_names_of_the_other(shop: Shop) -> None:
    bench = Bench(shop)
    phone = bench.let_in()
    for host in (f"127.0.0.1:{PORT}", "127.0.0.2", "127.0.0.2:1", "bench.local"):
        assert (
            phone.get("/", headers={"host": host, "origin": f"https://{host}"}).status_code == 400
        )
    named = {"host": "bench.local:8743", "origin": "https://bench.local:8743"}
    assert phone.get("/", headers=named).status_code == 200
    plain = {"host": PHONE.removeprefix("https://")}
    assert bench.desk.get("/", headers=plain).status_code == 400


def test_everything_is_denied_to_a_stranger_unless_it_is_named(shop: Shop) -> None:
    """Every route there is, at both doors, and the few that anybody may ask."""
    bench = Bench(shop)
    stranger, phone = Client(bench.app), bench.phone()
    allowed = set()
    for path, method in _routes(bench):
        for door, client in (("bench", stranger), ("phone", phone)):
            call = client.get if method == "GET" else client.post
            if call(path, headers=MACHINE).status_code not in (401, 403):
                allowed.add((door, method, path))
    assert allowed == {
        ("bench", "GET", "/launch"),
        ("phone", "GET", "/trust"),
        ("phone", "GET", "/trust/authority.crt"),
        ("phone", "POST", "/pair/wait"),
    } - {("bench", "GET", "/launch")}


def _routes(bench: Bench) -> set[tuple[str, str]]:
    found: set[tuple[str, str]] = set()

    def walk(routes: object) -> None:
        for route in routes:  # type: ignore[attr-defined]
            if isinstance(route, Route) or hasattr(route, "methods"):
                path = route.path.replace("{bike}", "1").replace("{device}", "1")
                path = path.replace("{", "").replace("}", "")
                found.update((path, method) for method in route.methods or () if method != "HEAD")
            inner = getattr(route, "original_router", None) or getattr(route, "router", None)
            if inner is not None:
                walk(inner.routes)

    walk(bench.app.routes)
    assert len(found) > 40
    return found


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/static/%2e%2e/%2e%2e/%2e%2e/%2e%2e/etc/passwd",
        "/static//etc/passwd",
        "/static/..\\app.py",
        "/static/%00",
        "/bikes/1/papers/..%2f..%2frecord.pdf",
        "/bikes/1/steps/..%2f..%2fkeys",
        "/trust/..%2fauthority.pem",
    ],
)
def test_no_path_leads_out_of_its_folder(client: Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code in (404, 422)
    assert "root:" not in answer.text
    assert "create_app" not in answer.text


def test_the_api_takes_no_path_of_this_machine_for_a_photo(client: Client) -> None:
    body = {"photo": "/etc/passwd"}
    answer = client.post("/api/bikes/1/steps/frame-looked-over", json=body)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "photo"


def test_who_is_not_signed_in_sends_little(shop: Shop) -> None:
    stranger = Client(create_app(shop, TOKEN, PORT))
    answer = stranger.post("/launch", data={"token": "x" * security.LARGEST_UNASKED})
    assert answer.status_code == 413
    assert "4 kB" in answer.text


def test_a_body_of_data_is_at_most_four_megabytes(client: Client) -> None:
    body = b'{"bike": "' + b"x" * security.LARGEST_JSON + b'"}'
    answer = client.post("/api/bikes", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 413


def test_a_body_without_a_length_is_cut_off(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(security, "LARGEST_BODY", 1000)

    async def endless():  # type: ignore[no-untyped-def]
        for _ in range(100):
            yield b"x" * 100

    sent = {"content-type": "application/x-www-form-urlencoded"}
    answer = client.post("/who", content=endless(), headers=sent)
    assert answer.status_code == 400
    assert "could not be read" in answer.text
    monkeypatch.setattr(security, "LARGEST_BODY", 1_000_000)
    monkeypatch.setattr(security, "LARGEST_JSON", 1000)
    sent = {"content-type": "Application/JSON", "accept": "application/json"}
    answer = client.post("/api/bikes", content=endless(), headers=sent)
    assert (answer.status_code, answer.json()["errors"][0]["code"]) == (400, "http")


def test_deep_nesting_is_a_mistake_and_no_fault(client: Client) -> None:
    answer = client.post(
        "/api/bikes",
        content=b'{"bike": ' + b"[" * 50_000,
        headers={"content-type": "application/json"},
    )
    assert 400 <= answer.status_code < 500


@pytest.mark.parametrize(
    "content",
    [
        b"<html><script>alert(1)</script>",
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        b"%PDF-1.7",
        b"\xff\xd8\xff\xe0 then nothing",
        b"GIF89a",
        b"\x89PNG\r\n\x1a\n" + b"\0" * 64,
    ],
)
def test_only_what_is_really_a_picture_is_kept(client: Client, content: bytes) -> None:
    """Whatever its name and its stated kind say."""
    given = {"photo": ("proof.jpg", content, "image/jpeg")}
    answer = client.post("/bikes/1/steps/fork-forward", files=given, data={"act": "done"})
    assert answer.status_code == 422
    assert "give a photo as JPEG" in answer.text


def test_a_picture_with_a_page_behind_it_is_kept_without_the_page() -> None:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), (20, 90, 40)).save(out, "JPEG", comment=b"<script>one</script>")
    plain = photos.clean(out.getvalue() + b"<script>two</script>")
    assert b"script" not in plain


def test_the_reader_of_pictures_knows_nothing_of_our_surroundings(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen: dict[str, object] = {}

    def run(*command: object, **more: object) -> None:
        seen.update(more)
        raise photos.subprocess.TimeoutExpired("", 1)

    monkeypatch.setenv("CYCLEWRIGHT_PIN", "4821")
    monkeypatch.setattr(photos.subprocess, "run", run)
    with pytest.raises(ValueError, match="took too long to open"):
        photos.clean(b"x")
    assert seen["env"] == {} or set(seen["env"]) <= {"SYSTEMROOT"}  # type: ignore[call-overload]


def test_a_picture_that_unpacks_too_large_is_refused_by_the_limits(tmp_path: Path) -> None:
    """Seventy thousand pixels a side, in a few hundred kilobytes."""
    import struct
    import zlib

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + check

    head = struct.pack(">IIBBBBB", 70_000, 70_000, 8, 2, 0, 0, 0)
    body = zlib.compress(b"\0" * 10_000_000)
    bomb = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")
    with pytest.raises(ValueError, match="no picture this program can open"):
        photos.clean(bomb)


def test_no_secret_is_logged_or_shown_when_something_breaks(
    shop: Shop, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = Bench(shop)
    phone = bench.let_in()
    cookie = next(iter(phone.http.cookies.values()))
    code = bench.code()

    def broken(*args: object, **more: object) -> None:
        raise ZeroDivisionError("planted")

    with caplog.at_level(logging.DEBUG):
        for name in ("pins.used", "receive.list_bikes", "devices.check_source"):
            monkeypatch.setattr(f"cyclewright.workshop.{name}", broken)
        answers = [
            phone.get("/", headers=MACHINE),
            phone.post("/who", data={"name": "Bo", "pin": "4821"}, headers=MACHINE),
            bench.phone().post("/pair", data={"code": code}, headers=MACHINE),
        ]
    assert [answer.status_code for answer in answers] == [500, 500, 500]
    told = caplog.text + "".join(answer.text for answer in answers)
    assert "planted" in caplog.text
    for secret in (TOKEN, cookie, code, "4821"):
        assert secret not in told


def test_errors_of_the_database_show_no_values(shop: Shop) -> None:
    import sqlalchemy as sa

    with shop.store.engine.connect() as connection, pytest.raises(sa.exc.SQLAlchemyError) as told:
        connection.execute(sa.text("SELECT missing FROM nowhere WHERE a = :a"), {"a": "secret"})
    assert "secret" not in str(told.value)


def test_no_secret_stands_in_an_address(shop: Shop) -> None:
    """Codes, PINs and tokens are sent in bodies; the routes take none in path or query."""
    bench = Bench(shop)
    taken = bench.app.openapi()["paths"]
    named = {
        parameter["name"]
        for path in taken.values()
        for call in path.values()
        for parameter in call.get("parameters", ())
    }
    assert not named & {"pin", "token", "code", "claim", "cookie", "second_pin"}
    for path in ("/launch", "/pair", "/pair/wait", "/who"):
        answer = bench.phone().post(f"{path}?token={TOKEN}&code=x&claim=x&pin=1", headers=MACHINE)
        assert answer.status_code != 303
        assert "set-cookie" not in answer.headers


@pytest.mark.skipif(os.name != "posix", reason="no such modes here")
def test_the_folder_of_the_record_is_for_its_user_only(shop: Shop, tmp_path: Path) -> None:
    """Where somebody else made the folder, what lies in it."""
    Bench(shop)
    assert shop.data.stat().st_mode & 0o077 == 0
    for path in (shop.data / "keys").glob("*"):
        assert path.stat().st_mode & 0o077 == 0
    tmp_path.chmod(0o755)
    with Shop.open(tmp_path) as other:
        people.add_person(other, "Ada")
        found = list(tmp_path.iterdir())
        assert len(found) >= 3
        assert [path for path in found if path.stat().st_mode & 0o077] == []


def test_an_address_that_only_takes_a_form_leads_to_the_page_of_its_form(shop: Shop) -> None:
    """Every such address: a reload, or a link out of the history, is no dead end."""
    bench = Bench(shop)
    known = _routes(bench)
    pages = {path for path, method in known if method == "GET"}
    only = {path for path, _ in known if path not in pages and not path.startswith("/api/")}
    assert len(only) > 15
    client = bench.desk
    for path in sorted(only):
        answer = client.get(path)
        assert answer.status_code == 303, path
        above = answer.headers["location"]
        assert above == "/" or path.startswith(f"{above}/"), path
        assert client.get(path, headers=MACHINE).status_code == 405
