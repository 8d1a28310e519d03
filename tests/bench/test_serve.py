"""The bench takes a free port, or says that the wanted one is taken."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
import threading
import time
from contextlib import ExitStack
from pathlib import Path

import httpx
import pytest

from bench.conftest import EXAMPLES
from cyclewright.bench import serve, warm
from cyclewright.bench.serve import PORTS, listen, settle
from cyclewright.errors import Refusal
from cyclewright.workshop import receive, sheets
from cyclewright.workshop.shop import Shop

MINUTE = 60.0
"""Seconds after which something hangs; no busy machine is as slow as that."""


def test_a_free_port_is_on_loopback_only() -> None:
    with listen(0) as listener:
        assert listener.getsockname()[0] == "127.0.0.1"


def test_a_taken_port_is_refused_with_what_to_do() -> None:
    with listen(0) as listener, pytest.raises(Refusal, match="another program uses this port"):
        listen(listener.getsockname()[1])


def test_small_answers_are_sent_at_once() -> None:
    """Without this a page waits 40 ms for the browser to confirm its head."""
    with listen(0) as listener:
        assert listener.proto == socket.IPPROTO_TCP


def test_whoever_opens_connections_without_end_is_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else a stranger takes every file that the bench may have open."""
    monkeypatch.setattr(serve, "MOST_CONNECTIONS", 5)
    with listen(0, each=3) as listener, ExitStack() as opened:
        where = ("127.0.0.1", listener.getsockname()[1])

        def come(source: str) -> socket.socket:
            opened.enter_context(socket.create_connection(where, source_address=(source, 0)))
            return opened.enter_context(listener.accept()[0])

        first = [come("127.0.0.1") for _ in range(3)]
        for source, most in (("127.0.0.1", 0), ("127.0.0.7", 2), ("127.0.0.8", 0)):
            for _ in range(most):
                come(source)
            with pytest.raises(ConnectionAbortedError):
                come(source)
        first[0].close()
        come("127.0.0.8")


def at(folder: Path, port: int = 0) -> tuple[socket.socket, int, str]:
    listener, said = settle(folder, port)
    return listener, listener.getsockname()[1], said


def test_a_bench_comes_back_to_its_port_and_says_when_it_cannot(tmp_path: Path) -> None:
    """What a browser has not sent yet is kept for one port."""
    first, port, said = at(tmp_path)
    assert said == ""
    beside, other, said = at(tmp_path)  # a second bench of the same shop
    assert other != port
    assert f"on port {port} before" in said
    first.close()
    beside.close()
    again, came_back, said = at(tmp_path)
    assert (came_back, said) == (port, "")
    second, again_beside, _ = at(tmp_path)
    assert again_beside == other
    again.close()
    second.close()


def test_a_port_that_was_asked_for_is_the_one_from_then_on(tmp_path: Path) -> None:
    first, before, _ = at(tmp_path)
    free, wanted, _ = at(tmp_path / "none")
    free.close()
    asked, got, said = at(tmp_path, wanted)
    assert got == wanted
    assert f"on port {before} before" in said
    with pytest.raises(Refusal, match="another program uses this port"):
        settle(tmp_path, wanted)
    for listener in (first, asked):
        listener.close()
    last, port, said = at(tmp_path)
    last.close()
    assert (port, said) == (wanted, "")


def test_a_list_of_ports_that_makes_no_sense_does_not_stop_a_bench(tmp_path: Path) -> None:
    (tmp_path / PORTS).write_bytes(b"80\n99999\nx\n\xff")
    listener, port, said = at(tmp_path)
    listener.close()
    assert port > 1024
    assert said == ""


def test_the_first_page_finds_its_sums_done(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    warm.work_ahead(shop)
    keys = {key[0] for key in shop._made if isinstance(key, tuple)}
    assert {"plan", "fit"} <= keys
    done: list[str] = []
    works = [lambda: done.append("one"), lambda: done.append("two")]
    monkeypatch.setattr(warm, "_works", lambda shop: iter(works))
    warm.work_ahead(shop, lambda: bool(done))
    assert done == ["one"]


def test_without_a_bike_a_usual_one_is_worked_ahead(tmp_path: Path) -> None:
    with Shop.open(tmp_path) as empty:
        assert len([work() for work in warm._works(empty)]) == 1
        with warm.warming(empty):
            assert any("work_ahead" in thread.name for thread in threading.enumerate())


def test_two_who_want_the_same_sums_make_them_once(shop: Shop) -> None:
    made: list[int] = []

    def slowly() -> int:
        time.sleep(0.1)
        made.append(1)
        return len(made)

    found: list[int] = []
    ask = [
        threading.Thread(target=lambda: found.append(shop.once(("slow",), slowly)))
        for _ in range(4)
    ]
    for thread in ask:
        thread.start()
    for thread in ask:
        thread.join()
    assert found == [1, 1, 1, 1]

    def broken() -> int:
        raise Refusal([])

    with pytest.raises(Refusal):
        shop.once(("broken",), broken)
    assert shop.once(("broken",), lambda: 7) == 7
    assert shop._making == {}


def knock(client: httpx.Client) -> None:
    """Requests that any page of the internet can send here; none writes to the terminal."""
    socketed = {"connection": "Upgrade", "upgrade": "websocket", "sec-websocket-version": "13"}
    socketed["sec-websocket-key"] = "dGhlIHNhbXBsZSBub25jZQ=="
    assert client.get("/", headers=socketed | {"origin": "http://a.example"}).status_code == 403
    kind = {"content-type": "multipart/form-data; boundary=x"}
    assert client.post("/launch", content=b"torn", headers=kind).status_code == 400
    with socket.create_connection((client.base_url.host, client.base_url.port)) as plain:
        plain.sendall(b"\x16\x03\x01 no words of ours\r\n\r\n")
        assert plain.recv(100).startswith(b"HTTP/1.1 400")


def test_a_bench_with_a_page_open_stops_without_waiting_for_it_or_a_word(tmp_path: Path) -> None:
    """A page's stream of events would else be waited for, and then cut off with a complaint."""
    with Shop.open(tmp_path) as shop:
        read = sheets.read_sheets(
            EXAMPLES / "bikes/hardtail.toml", None, EXAMPLES / "places/right.toml", "80 kg"
        )
        receive.open_bike(shop, read)
    command = [sys.executable, "-m", "cyclewright", "bench", "--data", str(tmp_path)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        root, _, token = process.stdout.readline().split(" ")[1].strip().partition("/#")
        with httpx.Client(base_url=root, headers={"origin": root}, timeout=MINUTE) as client:
            assert client.post("/launch", data={"token": token}).status_code == 303
            knock(client)
            stream = {"accept": "text/event-stream", "sec-fetch-site": "same-origin"}
            with client.stream("GET", "/bikes/1/events?after=2", headers=stream) as answer:
                words = answer.iter_text()
                assert next(words).startswith("retry")
                process.send_signal(signal.SIGINT)
                assert list(words) == []  # ended, not cut off
                _, said = process.communicate(timeout=MINUTE)
    assert said == ""
