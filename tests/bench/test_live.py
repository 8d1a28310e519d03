"""What is told of a bike open on several benches, and what a background look leaves alone."""

from __future__ import annotations

from typing import Any

import pytest

from bench.conftest import ORIGIN, Client, run


def test_how_far_a_bike_is_and_who_did_what(client: Client) -> None:
    before = client.data("/bikes/3/events")["number"]
    step = next(
        item["id"]
        for item in client.data("/bikes/3/build")["steps"]
        if item["evidence"] == ["tick"] and not item["needs"]
    )
    client.post("/who", data={"name": "Mara Quill", "back": "/"})
    client.post(f"/bikes/3/steps/{step}", data={"act": "done"})
    told = client.data(f"/bikes/3/events?after={before}")
    assert told["number"] > before
    assert told["said"].startswith("Mara Quill did ")


def test_a_background_look_leaves_what_the_next_page_tells(client: Client) -> None:
    client.get("/scan", params={"code": "2"})
    quiet = client.get("/bikes/2", headers={"bench-quiet": "yes"}).text
    assert 'class="said"' not in quiet
    assert 'class="said"' in client.get("/bikes/2").text
    assert 'class="said"' not in client.get("/bikes/2").text


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:8123"])
def test_a_stream_for_another_origin_is_refused(client: Client, origin: str) -> None:
    headers = {"accept": "text/event-stream", "origin": origin}
    assert client.get("/bikes/1/events", headers=headers).status_code == 403
    site = {"accept": "text/event-stream", "sec-fetch-site": "cross-site", "origin": ORIGIN}
    assert client.get("/bikes/1/events", headers=site).status_code == 403


def test_a_stream_says_what_is_recorded_until_its_browser_leaves(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The stream as the server sees it: a first line, an event, and the end when nobody reads."""
    from cyclewright.bench import live

    monkeypatch.setattr(live, "LIFE", 0.6)
    number = client.data("/bikes/1/events")["number"]
    headers = {"accept": "text/event-stream"}
    answer: Any = run(client.http.get(f"/bikes/1/events?after={number - 1}", headers=headers))
    assert answer.headers["content-type"].startswith("text/event-stream")
    assert answer.headers["cache-control"] == "no-store"
    assert answer.text.startswith("retry: ")
    assert f"id: {number}\nevent: recorded\n" in answer.text
    assert answer.text.count("event: recorded") == 1
