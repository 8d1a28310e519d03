"""Every page for every example bike, as a page and as JSON, on the real record."""

from __future__ import annotations

import html
import re
import uuid
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest

from bench.conftest import EXAMPLES, Client, let_in
from cyclewright.workshop import build, release
from cyclewright.workshop.shop import Shop
from workshop.shops import build_to_gate, opened

PAGES = ("", "/build", "/readings", "/gates", "/papers")
ANSWERS = {
    "kind": "hardtail", "country": "US", "fork_travel": "120", "tyre": "29x2.4",
    "tubeless": "no", "hooked": "yes", "height": "176", "mass": "82",
}  # fmt: skip


class Forbidden(HTMLParser):
    """Collects what the content policy would block."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = dict(attrs)
        if tag == "style" or "style" in names or any(name.startswith("on") for name in names):
            self.found.append(f"{tag} {names}")
        if tag == "script" and "src" not in names:
            self.found.append("inline script")
        for name in ("src", "href", "action"):
            if re.match(r"(?i)\s*(https?:|//|javascript:)", names.get(name) or ""):
                self.found.append(f"{tag} {name} {names[name]}")


@pytest.fixture
def own_shop(tmp_path: Path) -> Iterator[tuple[Client, Shop]]:
    """A shop of a test's own with one bike, and a browser in it."""
    with Shop.open(tmp_path / "data") as shop:
        opened(shop)
        yield let_in(shop, "Ada"), shop


def inline(text: str) -> list[str]:
    """What of a page the content policy would block."""
    parser = Forbidden()
    parser.feed(text)
    return parser.found


@pytest.mark.parametrize("bike", [1, 2, 3])
@pytest.mark.parametrize("page", PAGES)
def test_every_page_of_every_bike(client: Client, bike: int, page: str) -> None:
    answer = client.get(f"/bikes/{bike}{page}")
    assert answer.status_code == 200
    assert inline(answer.text) == []
    assert "None" not in re.sub(r"<[^>]+>", "", answer.text)
    assert isinstance(client.data(f"/bikes/{bike}{page}"), dict)


@pytest.mark.parametrize("path", ["/", "/start", "/who"])
def test_pages_of_the_shop(client: Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200
    assert inline(answer.text) == []


def test_every_step_of_the_plan_has_its_page(client: Client) -> None:
    steps = client.data("/bikes/1/build")["steps"]
    for step in steps:
        answer = client.get(f"/bikes/1/steps/{step['id']}")
        assert answer.status_code == 200, step["id"]
        assert inline(answer.text) == []
        assert answer.text.count('class="caution ') == len(step["cautions"]) <= 3


def test_the_torque_is_there_with_whose_figure_it_is(client: Client) -> None:
    text = client.get("/bikes/1/steps/bar-in-stem").text
    assert re.search(r'class="figure">4\.7<small>N·m', text)
    assert 'class="whose"' in text


def test_the_drawing_is_inline_without_styles_and_alone_with_them(client: Client) -> None:
    inside = client.get("/bikes/1/drawing")
    assert inside.text.startswith("<svg")
    assert inline(inside.text) == []
    alone = client.get("/bikes/1/drawing.svg")
    assert alone.headers["content-type"].startswith("image/svg+xml")
    assert "<style>" in alone.text
    assert "script-src" not in alone.headers["content-security-policy"]


def test_an_empty_search_says_what_to_do(client: Client) -> None:
    text = client.get("/", params={"query": "no such bike <b>"}).text
    assert "Nothing found" in text
    assert "<b>”" not in text
    assert "Show every bike" in text


def test_quick_start_loses_nothing_when_answers_are_wrong(client: Client) -> None:
    answer = client.post("/start", data={**ANSWERS, "tyre": "29x99", "mass": "-4", "country": ""})
    assert answer.status_code == 422
    for key in ("tyre", "mass", "country"):
        assert f'id="bad-{key}"' in answer.text
    assert 'value="29x99"' in answer.text
    assert 'value="120"' in answer.text
    assert "3 answers to put right" in answer.text
    assert '<a href="#tyre">Tyre size</a>' in answer.text


def test_no_answer_of_the_quick_start_that_may_not_be_guessed_is_chosen_before(
    client: Client,
) -> None:
    assert re.findall(r'name="(\w+)" value="[\w-]+" checked', client.get("/start").text) == ["kind"]
    unsaid = {key: text for key, text in ANSWERS.items() if key not in ("tubeless", "hooked")}
    answer = client.post("/start", data=unsaid)
    assert answer.status_code == 422
    assert 'id="bad-hooked">Choose one.' in answer.text


def test_answers_are_read_as_people_write_them(client: Client) -> None:
    written = {"fork_travel": "4,5 in", "tyre": '29" x 2,4"', "height": "5' 9\"", "mass": "12 st 8"}
    answer = client.post("/start", data={**ANSWERS, **written})
    assert answer.status_code == 200
    assert "First answers" in answer.text and "5&#39; 9&#34;" in answer.text
    refused = client.post("/start", data={**ANSWERS, "mass": "1,500"})
    assert "Write 1500 or 1.500" in refused.text


def test_the_first_answers_can_be_left_and_come_back_to(client: Client) -> None:
    assert client.post("/start", data=ANSWERS).headers["hx-push-url"] == "/start?answered"
    assert client.post("/start/edit", data=ANSWERS).headers["hx-push-url"] == "/start"
    assert "hx-push-url" not in client.post("/start").headers
    assert "Start a bike" in client.get("/start?answered").text


def test_no_pressure_without_hooks_and_the_reason_in_its_place(client: Client) -> None:
    text = client.post("/start", data={**ANSWERS, "hooked": "no"}).text
    card = text.partition('class="what">Front tyre')[2].partition("</section>")[0]
    assert "not yet" in card and "before both makers allow" in card


def test_quick_start_shows_first_and_stores_after(client: Client) -> None:
    before = len(client.get("/api/bikes").json()["bikes"])
    answer = client.post("/start", data=ANSWERS)
    assert answer.status_code == 200
    assert "Left hand" in answer.text
    assert "Fork ring at" in answer.text
    assert "Shock ring at" not in answer.text
    assert len(client.get("/api/bikes").json()["bikes"]) == before
    form = {**ANSWERS, "uuid": str(uuid.uuid4())}
    first, again = (client.post("/start/open", data=form) for _ in range(2))
    assert first.headers["location"] == again.headers["location"]
    assert len(client.get("/api/bikes").json()["bikes"]) == before + 1


def test_sheets_that_cannot_be_are_told_together(client: Client) -> None:
    files = {"bike": ("bike.toml", b"kind = 3\x00"), "place": ("place.toml", b"country = \xff")}
    answer = client.post("/start/sheets", files=files)
    assert answer.status_code == 422
    assert "Nothing was lost" in answer.text
    assert client.post("/start/sheets").status_code == 422


def test_a_stated_mass_opens_a_bike_without_a_rider(client: Client) -> None:
    names = {"bike": "bikes/hardtail.toml", "place": "places/right.toml"}
    files = {key: (key, (EXAMPLES / name).read_bytes()) for key, name in names.items()}
    answer = client.post("/start/sheets", files=files, data={"mass": "80"})
    assert "rider not fitted" in client.get(answer.headers["location"]).text


def test_done_is_recorded_once_however_often_it_is_sent(client: Client) -> None:
    steps = client.data("/bikes/2/build")["steps"]
    step = next(s for s in steps if s["evidence"] == ["tick"] and not s["unmet"])
    form = {"act": "done", "uuid": str(uuid.uuid4())}
    path = f"/bikes/2/steps/{step['id']}"
    assert [client.post(path, data=form).status_code for _ in range(2)] == [303, 303]
    assert client.data("/bikes/2/build")["done"] == 1
    client.post("/bikes/2/undo", data={"uuid": str(uuid.uuid4())})
    assert client.data("/bikes/2/build")["done"] == 0


def test_a_torque_outside_its_window_is_told_on_the_step_and_kept_in_the_field(
    client: Client,
) -> None:
    form = {"act": "done", "torque": "9", "word": "the maker said so"}
    client.post("/bikes/1/steps/fork-forward", data={"act": "done"})
    answer = client.post("/bikes/1/steps/bar-in-stem", data=form)
    assert answer.status_code in (409, 422)
    assert 'value="9"' in answer.text
    assert "problems" in answer.text


def test_what_was_opened_since_is_wanted_again(client: Client) -> None:
    path = "/bikes/1/steps/front-rotor"
    assert "Opened or moved since?" not in client.get(path).text
    for step in ("front-rotor", "front-wheel-tool-axle"):
        torque = client.data(f"/bikes/1/steps/{step}")["step"]["torque"]["set"]
        client.post(f"/bikes/1/steps/{step}", data={"act": "done", "torque": f"{torque:g}"})
    assert "Opened or moved since?" in client.get(path).text
    assert client.post(path, data={"act": "touched", "why": ""}).status_code == 422
    client.post(path, data={"act": "touched", "why": "rotor off for a true one"})
    assert client.data(path)["step"]["status"] == "reopened"


def test_a_plan_made_again_keeps_what_was_done(client: Client) -> None:
    step = next(
        item for item in client.data("/bikes/2/build")["steps"] if item["evidence"] == ["tick"]
    )
    client.post(f"/bikes/2/steps/{step['id']}", data={"act": "done"})
    before = client.data("/bikes/2/build")["done"]
    answer = client.post("/bikes/2/plan", data={"uuid": str(uuid.uuid4())}, follow_redirects=True)
    assert "Planned again" in answer.text
    assert client.data("/bikes/2/build")["done"] == before


def test_something_wrong_wants_words_and_then_holds_up_what_follows(client: Client) -> None:
    steps = client.data("/bikes/3/build")["steps"]
    path = f"/bikes/3/steps/{steps[0]['id']}"
    for act in ("wrong", "", "burn"):
        assert client.post(path, data={"act": act, "reason": ""}).status_code == 422
    empty = client.post(path, data={"act": "wrong"})
    assert "What is wrong: choose one, or write a few words." in empty.text
    assert client.post(path, data={"act": "burn", "reason": "A part is damaged"}).status_code == 422
    assert client.data("/bikes/3/build")["steps"][0]["status"] == "open"
    form = {"act": "wrong", "reason": "A part is damaged", "note": "crushed corner"}
    assert client.post(path, data=form).status_code == 303
    assert "A part is damaged: crushed corner" in client.get(path).text


def test_the_gates_refuse_by_name_and_link_to_the_step(client: Client) -> None:
    text = client.get("/bikes/1/gates").text
    assert "Fork direction" in text
    assert "/bikes/1/steps/fork-forward" in text
    assert "Pass the ride gate" not in text
    refused = client.post("/bikes/1/release", data={"by": "Mara Quill"})
    assert refused.status_code == 409
    assert "not done yet" in refused.text
    client.post("/bikes/1/gates/ride", data={})
    gate = client.get("/api/bikes/1/gates/ride").json()
    assert gate["passed"] is False


@pytest.mark.parametrize("path", ["/bikes/999", "/bikes/0/build", "/bikes/1/steps/none",
                                  "/bikes/1/readings/none", "/bikes/1/papers/none.pdf",
                                  "/bikes/x", "/nowhere"])  # fmt: skip
def test_what_is_not_there_is_said_clearly(client: Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code in (404, 422)
    assert "Traceback" not in answer.text
    assert "<h1>" in answer.text


def test_a_ring_reading_beyond_the_travel_is_refused(client: Client) -> None:
    answer = client.post("/bikes/1/readings/fork-sag", data={"value": "900"})
    assert answer.status_code == 422
    assert "travel" in answer.text
    assert client.data("/bikes/1/readings")["readings"] == []


def test_names_are_shown_as_text(client: Client) -> None:
    client.post("/who", data={"name": "<script>alert(1)</script>", "back": "//evil.example"})
    answer = client.get("/")
    assert "<script>alert" not in answer.text
    assert inline(answer.text) == []


def test_after_giving_a_name_only_pages_of_ours_are_gone_to(client: Client) -> None:
    answer = client.post("/who", data={"name": "Mara", "back": "//evil.example"})
    assert answer.headers["location"] == "/"


def test_a_paper_is_a_pdf(client: Client) -> None:
    answer = client.get("/bikes/2/papers/setting-card.pdf")
    assert answer.status_code == 200
    assert answer.content.startswith(b"%PDF")


def test_a_bolt_round_lists_its_bolts_by_tool_with_figure_and_verb(client: Client) -> None:
    bolts = client.data("/bikes/1/steps/bolts-cockpit")["step"]["bolts"]
    text = client.get("/bikes/1/steps/bolts-cockpit").text
    part = text.partition('class="round"')[2].partition("</section>")[0]
    tools = [row["tool"].removeprefix("torque wrench, ") for row in bolts]
    assert len(set(tools)) == part.count("<h2>") == 2
    for row in bolts:
        name = row["label"][:1].upper() + row["label"][1:]
        line = part.partition(f"<b>{name}</b>")[2].partition("</li>")[0]
        assert f"{row['torque']['set']:g} <small>N·m" in line, name
        assert "the maker's figure" in html.unescape(line) or row["torque"]["basis"] != "maker"
    assert "paint line has not moved" in client.get("/bikes/1/steps/bolts-frame-and-seat").text
    assert '/bikes/1/papers/torque-card.pdf"' in text


def test_the_rider_s_own_words_win_over_the_word_on_offer(own_shop: tuple[Client, Shop]) -> None:
    client, shop = own_shop
    page = client.get("/bikes/1/steps/car-park-ride").text
    assert 'value="nothing to remark"' in page
    assert '<textarea id="value" name="value"' in page
    build_to_gate(shop, 1)
    release.gate(shop, 1, "ride", by="Ada")
    for step in ("bedding-in", "brakes-held-again"):
        build.record_step(shop, 1, step, by="Ada")
    path = "/bikes/1/steps/car-park-ride"
    said = {"act": "done", "value": ["nothing to remark", "a click at full lock"]}
    assert client.post(path, data=said).status_code == 303
    assert "a click at full lock" in client.get(path).text


def test_a_step_refuses_in_the_words_of_its_page(own_shop: tuple[Client, Shop]) -> None:
    client, shop = own_shop
    build_to_gate(shop, 1)
    answer = client.post("/bikes/1/steps/hands-proved", data={"act": "done", "value": "front-left"})
    said = html.unescape(answer.text)
    assert "Hand of the front brake now is Left hand (allowed: Right hand)" in said
    assert "hands-proved.text" not in said


def test_what_must_come_first_is_told_by_what_it_does(client: Client) -> None:
    answer = client.post("/bikes/1/steps/bar-in-stem", data={"act": "done", "torque": "4.7"})
    said = html.unescape(answer.text)
    assert re.search(r"<p>Do “Turn the fork to face forward [^”]* …” first\.</p>", said)
    assert "do fork-forward first" not in said
    part = {"hx-request": "true"}
    card = client.post("/bikes/1/ticks", data={"step": "stem-pinch"}, headers=part)
    assert "stem-pinch" not in card.text and "“Sight along the stem" in html.unescape(card.text)


def test_a_bare_figure_is_in_the_unit_that_the_step_shows(own_shop: tuple[Client, Shop]) -> None:
    client, shop = own_shop
    for value, kept in (("2,5", "2.5 mm"), ("0.12 in", "0.12 in")):
        client.post("/bikes/1/steps/steerer-gap", data={"act": "done", "value": value})
        step = shop.state(1).step("steerer-gap")
        assert step.evidence["value"]["text"] == kept


def test_what_reopened_a_step_is_told_without_field_names(own_shop: tuple[Client, Shop]) -> None:
    client, shop = own_shop
    build_to_gate(shop, 1)
    build.change_sheet(shop, 1, ["bike.cockpit.spacers_under+=5 mm"], by="Ada")
    for page in ("/build", "/gates", "/record"):
        text = client.get(f"/bikes/1{page}").text
        assert "Spacers under by 5 mm" in text, page
        assert "bike.cockpit" not in text, page


def test_a_form_that_is_refused_stays_as_it_was_filled_in(client: Client) -> None:
    page = client.get("/bikes/1/carton").text
    assert page.count('<form hx-boost="true" hx-push-url="false" method="post"') == page.count(
        'method="post"'
    )
    part = {"hx-request": "true"}
    refused = client.post("/bikes/1/carton/arrive", data={"days": "x"}, headers=part)
    assert refused.headers["hx-retarget"] == "#messages"
    assert "<html" not in refused.text
    assert "whole days" in refused.text
