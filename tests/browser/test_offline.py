"""The network goes away in the middle of a build: nothing is lost, nothing comes twice."""

from __future__ import annotations

import json
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from browser.conftest import DESK, PHONE, open_bike, serving, signed_in


@pytest.fixture
def bike(desk: Page) -> str:
    """A trail bike of its own, and its address."""
    return open_bike(desk)


def kept(page: Page) -> None:
    """Wait until the page has put the bike's steps by."""
    page.locator("html[data-kept]").wait_for(state="attached")


def served(page: Page) -> None:
    """Wait until the worker answers for the bench."""
    page.locator("html[data-worker]").wait_for(state="attached")
    page.wait_for_function("navigator.serviceWorker.controller !== null")


def plan(page: Page, bike: str) -> dict[str, Any]:
    """The plan as the record has it."""
    answer = page.request.get(f"{bike}/build", headers={"accept": "application/json"})
    found: dict[str, Any] = answer.json()
    return found


def done(page: Page, bike: str) -> set[str]:
    """Ids of the steps that the record holds as done."""
    return {step["id"] for step in plan(page, bike)["steps"] if step["status"] == "done"}


def numbers(page: Page, bike: str) -> int:
    """How many events the record holds."""
    answer = page.request.get(f"{bike}/events", headers={"accept": "application/json"})
    return int(answer.json()["number"])


def ticked(page: Page) -> None:
    """Done, and the next page is there."""
    before = page.url
    page.get_by_role("button", name="Done").click()
    page.wait_for_function("before => location.href !== before", arg=before)
    page.wait_for_selector("#step, #build")


def test_steps_readings_and_photos_wait_and_arrive_once_beside_a_colleague(
    phone: Page, desk: Page, bike: str, photo: Path, complaints: list[str]
) -> None:
    phone.goto(f"{bike}/build")
    served(phone)
    kept(phone)
    before = numbers(desk, bike)
    phone.goto(f"{bike}/steps/fork-forward")
    phone.context.set_offline(True)
    phone.set_input_files("#photo", photo)
    ticked(phone)
    expect(phone.locator("#dock")).to_contain_text("1 entry waits")
    follow = phone.url.rpartition("/")[2]
    # The next step comes out of what the phone kept, and survives a reload.
    phone.reload()
    expect(phone.locator("#step")).to_be_visible()
    assert phone.url.endswith(follow)
    expect(phone.locator("#dock")).to_contain_text("Kept on this phone")
    phone.goto(f"{bike}/readings/fork-sag")
    phone.get_by_role("button", name="More", exact=True).click()
    value = phone.locator("#value").input_value()
    phone.get_by_role("button", name="This is what it reads").click()
    expect(phone.locator("#messages")).to_contain_text("Kept.")
    expect(phone.locator("#dock")).to_contain_text("2 entries wait")
    # Meanwhile a colleague ticks another card.
    others = [
        step["id"]
        for step in plan(desk, bike)["steps"]
        if step["evidence"] == ["tick"] and not step["needs"]
    ][:2]
    origin = {"origin": bike.split("/bikes")[0]}
    for step in others:
        answer = desk.request.post(f"{bike}/steps/{step}", form={"act": "done"}, headers=origin)
        assert answer.ok
    phone.context.set_offline(False)
    expect(phone.locator("#dock")).to_contain_text("2 entries have arrived")
    expect(phone.locator("#dock")).to_contain_text("Arrived.")
    assert done(desk, bike) >= {"fork-forward", *others}
    readings = desk.request.get(f"{bike}/readings", headers={"accept": "application/json"})
    assert [item["kind"] for item in readings.json()["readings"]] == ["fork-sag"]
    assert value.split()[0] in readings.json()["readings"][0]["shown"]
    after = numbers(desk, bike)
    assert after - before >= 4
    phone.reload()
    kept(phone)
    assert numbers(desk, bike) == after
    # What the reading had to say was told at the foot, with its name; no other page tells it.
    phone.goto(f"{bike.split('/bikes')[0]}/recalls")
    expect(phone.locator("h1")).to_be_visible()
    expect(phone.locator(".said")).to_have_count(0)
    assert [text for text in complaints if "ERR_INTERNET_DISCONNECTED" not in text] == []


def test_an_undo_that_waits_takes_what_it_named_and_nothing_newer(
    phone: Page, desk: Page, bike: str
) -> None:
    ticks = [
        step["id"]
        for step in plan(desk, bike)["steps"]
        if step["evidence"] == ["tick"] and not step["needs"]
    ][:3]
    origin = {"origin": bike.split("/bikes")[0]}
    for step in ticks[:2]:
        assert desk.request.post(f"{bike}/steps/{step}", form={"act": "done"}, headers=origin).ok
    phone.goto(f"{bike}/build")
    kept(phone)
    undo = phone.locator("form.undo button")
    named = ticks[1].replace("-", " ")
    expect(undo).to_contain_text(named)
    phone.context.set_offline(True)
    undo.click()
    expect(phone.locator("#messages")).to_contain_text(f"Undo: {named}: that entry and no other")
    expect(phone.locator("#dock")).to_contain_text("1 entry waits")
    # What waits is what the next tap takes back, and the button says so.
    expect(undo).to_contain_text(f"Undo: {named}, not sent yet")
    answer = desk.request.post(f"{bike}/steps/{ticks[2]}", form={"act": "done"}, headers=origin)
    assert answer.ok
    phone.context.set_offline(False)
    expect(phone.locator("#dock")).to_contain_text("has arrived")
    assert done(desk, bike) == {ticks[0], ticks[2]}
    # A second one that took the same is refused in one sentence, and nothing else goes.
    phone.goto(f"{bike}/build")
    kept(phone)
    phone.context.set_offline(True)
    phone.locator("form.undo button").click()
    expect(phone.locator("#dock")).to_contain_text("1 entry waits")
    assert desk.request.post(f"{bike}/undo", form={}, headers=origin).ok
    phone.context.set_offline(False)
    expect(phone.locator("#dock")).to_contain_text("1 entry was refused")
    expect(phone.locator("#dock")).to_contain_text("was taken back already: nothing was undone")
    assert done(desk, bike) == {ticks[0]}


def test_without_a_worker_entries_wait_on_the_open_page(
    browser: Browser, desk: Page, address: str, bike: str, photo: Path
) -> None:
    context = browser.new_context(**PHONE, service_workers="block")
    page = signed_in(context, address, [])
    page.goto(f"{bike}/steps/fork-forward")
    kept(page)
    context.set_offline(True)
    page.set_input_files("#photo", photo)
    ticked(page)
    expect(page.locator("#dock")).to_contain_text("Leave this page open")
    page.get_by_role("link", name="Back to the step before").click()
    expect(page.locator(".step-state.waits")).to_contain_text("photo")
    context.set_offline(False)
    expect(page.locator("#dock")).to_contain_text("1 entry has arrived")
    assert "fork-forward" in done(desk, bike)
    context.close()


def test_an_answer_that_gets_lost_on_its_way_is_one_event(
    phone: Page, desk: Page, bike: str, photo: Path
) -> None:
    """The bench recorded it, and the phone never heard: sent again, it is the same event."""
    phone.goto(f"{bike}/steps/fork-forward")
    kept(phone)
    phone.set_input_files("#photo", photo)
    lost: list[str] = []

    def swallow(route: Any) -> None:
        if route.request.method != "POST" or lost:
            route.continue_()
            return
        route.fetch()
        lost.append(route.request.url)
        route.abort()

    phone.route("**/steps/fork-forward", swallow)
    before = numbers(desk, bike)
    ticked(phone)
    expect(phone.locator("#dock")).to_contain_text("1 entry has arrived")
    assert len(lost) == 1
    assert numbers(desk, bike) == before + 1


def test_what_this_phone_did_and_undid_is_no_news_on_an_older_page(
    phone: Page, desk: Page, bike: str
) -> None:
    """The kept page is older than its own tick and undo; a colleague's tick is still told."""
    phone.goto(f"{bike}/build")
    kept(phone)
    free = [
        step["id"]
        for step in plan(desk, bike)["steps"]
        if step["evidence"] == ["tick"] and not step["needs"]
    ]
    mine, theirs = free[:2]
    phone.goto(f"{bike}/steps/{mine}")
    phone.get_by_role("button", name="Done").click()
    phone.wait_for_url(lambda url: not url.endswith(f"/steps/{mine}"))
    phone.goto(f"{bike}/build")
    phone.get_by_role("button", name="Undo").click()
    expect(phone.locator(".step-line.done")).to_have_count(0)
    origin = {"origin": bike.split("/bikes")[0]}
    phone.context.set_offline(True)
    for step in (mine, theirs):
        phone.goto(f"{bike}/steps/{step}")
        expect(phone.locator("#step")).to_be_visible()
        ticked(phone)
    answer = desk.request.post(f"{bike}/steps/{theirs}", form={"act": "done"}, headers=origin)
    assert answer.ok
    phone.context.set_offline(False)
    expect(phone.locator("#dock")).to_contain_text("1 entry was refused")
    expect(phone.locator("#dock")).to_contain_text("since you last saw it")
    assert done(desk, bike) == {mine, theirs}


def test_what_is_refused_later_is_kept_with_its_reason(phone: Page, desk: Page, bike: str) -> None:
    phone.goto(f"{bike}/build")
    kept(phone)
    step = next(
        item["id"]
        for item in plan(desk, bike)["steps"]
        if item["evidence"] == ["tick"] and not item["needs"]
    )
    phone.goto(f"{bike}/steps/{step}?wrong=1")
    kept(phone)
    phone.context.set_offline(True)
    phone.get_by_text("It does not fit").click()
    phone.fill("#note", "the bore is out of round")
    phone.get_by_role("button", name="Stop here, note it").click()
    expect(phone.locator("#dock")).to_contain_text("1 entry waits")
    origin = {"origin": bike.split("/bikes")[0]}
    assert desk.request.post(f"{bike}/steps/{step}", form={"act": "done"}, headers=origin).ok
    phone.context.set_offline(False)
    dock = phone.locator("#dock")
    expect(dock).to_contain_text("1 entry was refused")
    expect(dock).to_contain_text("the bore is out of round")
    expect(dock).to_contain_text("since you last saw it")
    assert step in done(desk, bike)
    phone.reload()
    expect(dock).to_contain_text("the bore is out of round")
    dock.get_by_role("button", name="Send it again").click()
    expect(dock).to_contain_text("1 entry has arrived")
    found = next(item for item in plan(desk, bike)["steps"] if item["id"] == step)
    assert (found["status"], found["said"]) == (
        "problem",
        "It does not fit: the bore is out of round",
    )


def test_what_was_entered_last_can_be_taken_back_before_it_is_sent(
    phone: Page, desk: Page, bike: str, photo: Path
) -> None:
    phone.goto(f"{bike}/steps/fork-forward")
    kept(phone)
    before = numbers(desk, bike)
    phone.context.set_offline(True)
    phone.set_input_files("#photo", photo)
    ticked(phone)
    phone.locator("#dock summary").click()
    phone.get_by_role("button", name="Take it back").click()
    expect(phone.locator("#messages")).to_contain_text("Taken back before it was sent")
    assert phone.url == f"{bike}/steps/fork-forward"
    phone.get_by_role("button", name="Done").click()
    expect(phone.locator("#messages")).to_contain_text("Give the photo first")
    phone.context.set_offline(False)
    expect(phone.locator("#dock")).to_be_hidden()
    assert numbers(desk, bike) == before


def left_waiting(context: BrowserContext, data: Path, photo: Path) -> tuple[Page, str, str]:
    """A page on which one entry waits for a bench that has gone, its bike and that address."""
    with serving(data) as address:
        page = signed_in(context, address, [])
        bike = open_bike(page)
        page.goto(f"{bike}/steps/fork-forward")
        served(page)
        kept(page)
    page.set_input_files("#photo", photo)
    ticked(page)
    expect(page.locator("#dock")).to_contain_text("1 entry waits")
    return page, bike, address


def test_what_waits_is_sent_when_the_bench_was_started_anew(
    browser: Browser, tmp_path: Path, photo: Path
) -> None:
    """What a browser keeps it keeps for one port: the bench comes back to its own."""
    context = browser.new_context(**DESK)
    page, bike, address = left_waiting(context, tmp_path, photo)
    with serving(tmp_path) as again:
        assert again.partition("#")[0] == address.partition("#")[0]
        expect(page.locator("#dock")).to_contain_text("Sign in to the bench again")
        page.goto(again)
        expect(page.locator("#dock")).to_contain_text("1 entry has arrived")
        assert "fork-forward" in done(page, bike)
    context.close()


def test_what_waits_at_an_old_address_is_carried_to_the_new_one(
    browser: Browser, tmp_path: Path, photo: Path
) -> None:
    """Another address is another place to a browser: a file takes the entries there."""
    context = browser.new_context(**PHONE)
    data, saved = tmp_path / "data", tmp_path / "saved.json"
    old, bike, address = left_waiting(context, data, photo)
    old.locator("#dock summary").click()
    with old.expect_download() as download:
        old.get_by_role("button", name="Save them as a file").click()
    download.value.save_as(saved)
    expect(old.locator("#dock")).to_contain_text("1 entry waits")
    with _moved(data, address) as new_address:
        new = signed_in(context, new_address, [])
        root = new.url.rstrip("/")
        assert not bike.startswith(root)
        bike = f"{root}/bikes/{bike.rpartition('/')[2]}"
        before = numbers(new, bike)
        for _ in range(2):  # brought in twice, it is one event
            new.goto(f"{root}/bring")
            new.set_input_files("#entries", saved)
            new.get_by_role("button", name="Bring them in").click()
            expect(new.locator("#dock")).to_contain_text("arrived")
            assert "fork-forward" in done(new, bike)
            assert numbers(new, bike) == before + 1
    with serving(tmp_path / "another shop") as other:
        page = signed_in(context, other, [])
        root = page.url.rstrip("/")
        before = numbers(page, open_bike(page))
        page.goto(f"{root}/bring")
        page.set_input_files("#entries", saved)
        page.get_by_role("button", name="Bring them in").click()
        expect(page.locator("#dock")).to_contain_text("made for another shop's record")
        assert numbers(page, f"{root}/bikes/1") == before
        page.get_by_role("button", name="Throw it away").click()
        told = json.loads(saved.read_text())
        mine = told["entries"][0]
        for field, wrong in (
            ("url", "/bikes/1/../../people"),
            ("record", "\u0100"),
            ("bike", "1/steps"),
            ("steps", ["../../people"]),
            ("files", [{"field": "photo", "name": "", "data": "data:image/jpeg;base64,!"}]),
        ):
            saved.write_text(json.dumps({**told, "entries": [mine, {**mine, field: wrong}]}))
            refused_whole(page, saved)
        refused_whole(page, photo)
        saved.write_text(json.dumps({**told, "entries": [{**mine, "place": 2**53}]}))
        for _ in range(2):  # a place of the file's own choosing would leave none for the next
            page.set_input_files("#entries", saved)
            page.get_by_role("button", name="Bring them in").click()
            expect(page.locator("#dock")).to_contain_text("made for another shop's record")
            page.get_by_role("button", name="Throw it away").click()
        saved.write_text(json.dumps({**told, "entries": [{**mine, "person": "Ann"}]}))
        page.set_input_files("#entries", saved)
        page.get_by_role("button", name="Bring them in").click()
        expect(page.locator("#dock")).to_contain_text("It was entered by Ann: give that name again")
    context.close()


def refused_whole(page: Page, file: Path) -> None:
    """A file that is none of ours leaves nothing in the queue."""
    page.evaluate("document.querySelector('#messages').replaceChildren()")
    page.set_input_files("#entries", file)
    page.get_by_role("button", name="Bring them in").click()
    expect(page.locator("#messages")).to_contain_text("This is no file of entries")
    expect(page.locator("#dock")).to_be_hidden()


@contextmanager
def _moved(data: Path, address: str) -> Iterator[str]:
    """The same bench at another address: somebody else holds the port that it had."""
    port = int(address.partition("/#")[0].rpartition(":")[2])
    with socket.socket() as held:
        held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        held.bind(("127.0.0.1", port))
        held.listen()
        with serving(data) as found:
            yield found
