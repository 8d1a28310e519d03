"""Nobody gets in by another name, from another page, or without the token."""

from __future__ import annotations

import pytest

from bench.conftest import PORT, TOKEN, Client
from cyclewright.bench.network import loopback_hosts
from cyclewright.bench.security import Keyring, cookie_name

PAGES = ("/", "/start", "/who", "/bikes/1", "/bikes/1/build", "/bikes/1/gates", "/bikes/1/papers")


@pytest.mark.parametrize("path", PAGES)
def test_without_a_cookie_a_page_only_asks_for_the_token(stranger: Client, path: str) -> None:
    answer = stranger.get(path)
    assert answer.status_code == 401
    assert "Open the bench" in answer.text
    assert "Quill" not in answer.text


@pytest.mark.parametrize("path", ["/api/bikes", "/api/openapi.json", "/bikes/1", "/nowhere"])
def test_without_a_cookie_data_is_refused(stranger: Client, path: str) -> None:
    answer = stranger.get(path, headers={"accept": "application/json"})
    assert answer.status_code == 401
    assert answer.json()["errors"][0]["code"] == "not-signed-in"


def test_a_wrong_token_gives_no_cookie(stranger: Client) -> None:
    answer = stranger.post("/launch", data={"token": TOKEN[:-1] + "x"})
    assert answer.status_code == 403
    assert "set-cookie" not in answer.headers


def test_the_token_gives_a_cookie_that_scripts_and_other_sites_cannot_use(
    stranger: Client,
) -> None:
    answer = stranger.post("/launch", data={"token": f"http://127.0.0.1:{PORT}/#{TOKEN}"})
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith(f"cyclewright_{PORT}=")
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    assert TOKEN not in cookie
    assert stranger.get("/").status_code == 200


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "[::1]"])
def test_loopback_names_are_answered(client: Client, host: str) -> None:
    named = {"host": f"{host}:{PORT}", "origin": f"http://{host}:{PORT}"}
    assert client.get("/start", headers=named).status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "127.0.0.1:8123.evil.example", ""]
)
def test_other_hosts_are_refused(client: Client, host: str) -> None:
    answer = client.get("/", headers={"host": host})
    assert answer.status_code == 400
    assert "address that the bench printed" in answer.text


@pytest.mark.parametrize(
    "origin",
    ["http://evil.example", "null", f"http://localhost:{PORT}", f"https://127.0.0.1:{PORT}"],
)
def test_a_form_of_another_origin_is_refused(client: Client, origin: str) -> None:
    answer = client.post("/bikes/1/undo", headers={"origin": origin})
    assert answer.status_code == 403


def test_an_origin_said_twice_is_none(client: Client) -> None:
    ours = ("origin", f"http://127.0.0.1:{PORT}")
    del client.http.headers["origin"]
    twice = [ours, ("origin", "http://evil.example")]
    assert client.post("/who", data={"name": "x"}, headers=twice).status_code == 403
    assert client.post("/who", data={"name": "x"}, headers=[ours]).status_code == 303


@pytest.mark.parametrize(
    "back", ["//a.example", "/\\a.example", "/\r\nx: y", "/\u20ac", "a.example"]
)
def test_the_way_back_leads_to_a_page_of_this_bench(client: Client, back: str) -> None:
    for path, sent in (("/units", {"system": "metric"}), ("/who", {"name": "x"})):
        answer = client.post(path, data={**sent, "back": back}, headers={"hx-request": "true"})
        assert (answer.status_code, answer.headers["hx-redirect"]) == (204, "/")
    came = {"referer": f"http://127.0.0.1:{PORT}//a.example"}
    assert "a.example" not in client.get("/who", headers=came).text
    assert "a.example" not in client.post("/bikes/1/gates/none", headers=came).text


def test_an_unsafe_request_without_an_origin_needs_the_browsers_word(client: Client) -> None:
    del client.http.headers["origin"]
    assert client.post("/who", data={"name": "x"}).status_code == 403
    site = {"sec-fetch-site": "same-origin"}
    assert client.post("/who", data={"name": "x"}, headers=site).status_code == 303


@pytest.mark.parametrize("path", [*PAGES, "/static/bench.css", "/nowhere", "/api/bikes/999"])
def test_every_answer_carries_the_strict_policy(client: Client, path: str) -> None:
    headers = client.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"


def test_what_is_personal_is_not_kept_by_the_browser(client: Client) -> None:
    assert client.get("/bikes/1").headers["cache-control"] == "no-store"


def test_a_body_too_large_is_refused_before_it_is_read(client: Client) -> None:
    answer = client.post("/start", headers={"content-length": "99999999999"}, content=b"x")
    assert answer.status_code == 413


def test_an_error_of_ours_shows_no_insides(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*args: object) -> None:
        raise ZeroDivisionError("a secret of the machine")

    monkeypatch.setattr("cyclewright.workshop.receive.list_bikes", broken)
    answer = client.get("/")
    assert answer.status_code == 500
    assert "our fault" in answer.text
    assert "secret" not in answer.text
    assert "default-src 'none'" in answer.headers["content-security-policy"]


def test_the_keyring_keeps_no_cookie_and_knows_its_own() -> None:
    keyring = Keyring(TOKEN)
    cookie = keyring.exchange(TOKEN)
    assert cookie is not None
    assert cookie not in repr(keyring)
    assert keyring.session(cookie) is keyring.session(cookie)
    assert keyring.session("another") is None
    assert keyring.session(None) is None
    assert keyring.exchange("ü") is None


def test_two_benches_share_no_cookie_name() -> None:
    assert cookie_name(1) != cookie_name(2)
    assert f"[::1]:{PORT}" in loopback_hosts(PORT)
