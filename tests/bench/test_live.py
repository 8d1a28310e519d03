"""What is told of a bike open on several benches, and what a background look leaves alone."""

from __future__ import annotations

from typing import Any

import pytest

from bench.conftest import EXAMPLES, ORIGIN, Client, let_in, run
from cyclewright.workshop import care, receive, sheets
from cyclewright.workshop.shop import Shop
from postgres import Place


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


def test_two_programs_over_one_record_merge_and_conflict(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two benches, each a program of its own, in either database."""
    if place.url:
        monkeypatch.setenv("CYCLEWRIGHT_DATABASE", place.url)
    with Shop.open(place.folder) as left, Shop.open(place.folder) as right:
        read = sheets.read_sheets(
            EXAMPLES / "bikes/trail.toml",
            EXAMPLES / "riders/light.toml",
            EXAMPLES / "places/left.toml",
        )
        bike = receive.open_bike(left, read, by="Mara Quill")
        one, two = let_in(left), let_in(right)
        seen = two.data(f"/bikes/{bike}/events")["number"]
        free = [
            step["id"]
            for step in two.data(f"/bikes/{bike}/build")["steps"]
            if step["evidence"] == ["tick"] and not step["needs"]
        ]
        assert one.post(f"/bikes/{bike}/steps/{free[0]}", data={"act": "done"}).status_code == 303
        told = two.data(f"/bikes/{bike}/events?after={seen}")
        assert told["number"] > seen
        assert told["said"]
        # Another step, entered without having seen that: placed after, silently.
        other = {"act": "done", "seen": str(seen)}
        assert two.post(f"/bikes/{bike}/steps/{free[1]}", data=other).status_code == 303
        # The same step: who comes second is told, and what was typed is still there.
        late = {"act": "wrong", "reason": "It does not fit", "note": "too tight", "seen": str(seen)}
        answer = two.post(f"/bikes/{bike}/steps/{free[0]}", data=late)
        assert answer.status_code == 409
        assert "too tight" in answer.text
        assert "since you last saw it" in answer.text
        done = {
            step["id"]
            for step in one.data(f"/bikes/{bike}/build")["steps"]
            if step["status"] == "done"
        }
        assert done == {free[0], free[1]}
        assert care.verify(left).ok
