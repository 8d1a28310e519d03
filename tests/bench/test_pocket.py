"""What a phone keeps of a bike: every step, reading and card, as the pages show them."""

from __future__ import annotations

import re

from bench.conftest import Client
from bench.test_pages import inline


def test_the_pocket_holds_every_page_that_a_build_needs(client: Client) -> None:
    held = client.data("/bikes/1/pocket")
    plan = client.data("/bikes/1/build")
    ids = [step["id"] for step in plan["steps"]]
    assert [step["id"] for step in held["steps"]] == ids
    for step in ids:
        assert f"/bikes/1/steps/{step}" in held["pages"]
        assert f"/bikes/1/steps/{step}?wrong=1" in held["pages"]
    for kind in client.data("/bikes/1/readings")["kinds"]:
        assert f"/bikes/1/readings/{kind}" in held["pages"]
    rider = client.data("/api/bikes/1")["rider"]
    assert rider in client.get("/bikes/1/build").text
    for text in held["pages"].values():
        assert rider not in text
        assert "<header" not in text
        assert inline(text) == []


def test_the_worker_answers_for_every_page_and_is_asked_for_anew(client: Client) -> None:
    answer = client.get("/worker.js")
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["cache-control"] == "no-cache"
    assert "serviceWorker" not in answer.text


def test_the_worker_keeps_every_script_and_sheet_that_its_page_loads(client: Client) -> None:
    listed = set(re.findall(r'^  "(/[^"]+)",$', client.get("/worker.js").text, re.M))
    loaded = re.findall(r'(?:src|href)="/static/[0-9a-f]{12}/([^"]+)"', client.get("/offline").text)
    wanted = {f"/static/{name}" for name in loaded}
    assert "/static/drawing.css" in wanted
    for path in listed:
        if path.endswith(".js"):
            script = client.get(path).text
            names = re.findall(r'^(?:import|\} from) .*?"\./([^"]+)";$', script, re.M)
            wanted |= {f"/static/{name}" for name in names}
    assert wanted <= listed, wanted - listed


def test_entries_sent_later_carry_the_time_of_their_phone(client: Client) -> None:
    steps = client.data("/bikes/2/build")["steps"]
    step = next(item for item in steps if item["evidence"] == ["tick"] and not item["unmet"])
    form = {"act": "done", "device_time": "2031-05-24T10:00:00.000Z"}
    headers = {"accept": "application/json"}
    told = client.post(f"/bikes/2/steps/{step['id']}", data=form, headers=headers).json()
    assert told["go"].startswith("/bikes/2/")
    assert told["numbers"]
    for wrong in ("yesterday", "2031-05-24", "2031-05-24T10:00\u202e", "x" * 3000):
        form["device_time"] = wrong
        answer = client.post(f"/bikes/2/steps/{step['id']}", data=form, headers=headers)
        assert answer.status_code == 422
        assert "send the phone's own time" in answer.json()["errors"][0]["do"]


def test_an_entry_made_for_another_record_is_refused(client: Client, stranger: Client) -> None:
    steps = client.data("/bikes/2/build")["steps"]
    step = next(item for item in steps if item["evidence"] == ["tick"] and not item["unmet"])
    path = f"/bikes/2/steps/{step['id']}"
    headers = {"accept": "application/json", "bench-record": "0c6f2f0e-0000-4000-8000-000000000000"}
    answer = client.post(path, data={"act": "done"}, headers=headers)
    assert answer.status_code == 409
    assert [error["code"] for error in answer.json()["errors"]] == ["other-record"]
    own = re.search(r'data-record="([^"]+)"', client.get("/").text)
    assert own is not None
    assert own[1] not in stranger.get("/launch").text
    headers["bench-record"] = own[1]
    assert client.post(path, data={"act": "done"}, headers=headers).json()["numbers"]
