"""A site in another tab of the very browser that is signed in, and one that claims our name.

The site is on another port of this machine: browsers count that as the same site and send our
cookie along, so it is the strongest neighbour there is.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.conftest import CHROMIUM, EXAMPLES, open_bike
from browser.tour import send

TRIES = """async (bench) => {
  const said = {};
  const tried = async (name, work) => {
    try { said[name] = await work(); } catch (error) { said[name] = "refused"; }
  };
  const within = (made, events, ms = 60000) => new Promise((resolve) => {
    for (const [event, word] of Object.entries(events)) made["on" + event] = () => resolve(word);
    setTimeout(() => resolve("nothing came"), ms);
  });
  const form = new URLSearchParams({ change: "bike.cockpit.spacers_under+=5 mm" });
  const all = { credentials: "include" };
  await tried("read", async () => (await fetch(bench + "/api/bikes", all)).status);
  await tried("json", async () => (await fetch(bench + "/bikes/1/change", {
    ...all, method: "POST", body: form, headers: { Accept: "application/json" } })).status);
  // What a page may send without being asked, and never sees the answer of.
  await tried("blind", async () => (await fetch(bench + "/bikes/1/change", {
    ...all, mode: "no-cors", method: "POST", body: form })).type);
  navigator.sendBeacon(bench + "/bikes/1/undo", new URLSearchParams({}));
  await tried("put", async () => (await fetch(bench + "/api/bikes/1/undo", {
    ...all, method: "PUT", body: "{}" })).status);
  await tried("picture", () => within(Object.assign(new Image(), {
    src: bench + "/bikes/1/drawing.svg" }), { load: "seen", error: "refused" }));
  const script = document.createElement("script");
  script.src = bench + "/static/keep.js";
  document.head.append(script);
  await tried("script", () => within(script, { load: "run", error: "refused" }));
  const stream = new EventSource(bench + "/bikes/1/events", { withCredentials: true });
  await tried("stream", () => within(stream, { open: "heard", error: "refused" }));
  stream.close();
  return said;
}"""


class _Page(BaseHTTPRequestHandler):
    """One page that anybody may have open in another tab."""

    def do_GET(self) -> None:
        bench = self.path.partition("?")[2]
        body = f"<!doctype html><title>Cheap tyres</title><iframe src='{bench}/bikes/1'></iframe>"
        body += (
            f"<form method=post action='{bench}/bikes/1/undo'><button>Win a bike</button></form>"
        )
        self.send_response(200)
        self.send_header("content-type", "text/html")
        self.end_headers()
        self.wfile.write(body.encode())

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing."""


@pytest.fixture
def site() -> Iterator[str]:
    with ThreadingHTTPServer(("127.0.0.1", 0), _Page) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}"
        server.shutdown()


def head(page: Page, bike: str) -> int:
    answer = page.request.get(f"{bike}/events", headers={"accept": "application/json"})
    return int(answer.json()["number"])


def test_a_site_in_another_tab_reads_records_frames_and_hears_nothing(
    desk: Page, site: str
) -> None:
    bike = open_bike(desk)
    bench = bike.partition("/bikes")[0]
    before = head(desk, bike)
    tab = desk.context.new_page()
    tab.goto(f"{site}/?{bench}")
    said = tab.evaluate(TRIES, bench)
    blind = said.pop("blind")
    assert set(said.values()) == {"refused"}, said
    assert blind in ("refused", "opaque"), "sent blindly, and answered 403"
    frame = tab.frames[1]
    assert "Change something" not in frame.content()
    tab.get_by_role("button", name="Win a bike").click()
    expect(tab.locator("body")).to_contain_text("did not come from a page of this bench")
    assert head(desk, bike) == before
    # A link is all that is left, and it is the reader's own press.
    desk.goto(bike)
    expect(desk.locator("h1")).to_be_visible()


def test_a_site_that_points_its_own_name_at_this_machine_gets_nothing(
    browser: Browser, address: str
) -> None:
    """DNS rebinding: the name is the site's, the machine behind it suddenly ours."""
    port = urlsplit(address).port
    rules = "--host-resolver-rules=MAP evil.example 127.0.0.1"
    chromium = browser.browser_type.launch(
        executable_path=str(CHROMIUM), args=["--no-sandbox", rules]
    )
    page = chromium.new_page()
    for path in ("/", "/launch", "/static/keep.js", "/api/openapi.json"):
        answer = page.goto(f"http://evil.example:{port}{path}")
        assert answer is not None
        assert answer.status == 400
        assert answer.text() == "Open the address that the bench printed.\n"
    chromium.close()


WORDS = """<img src=x onerror=hit()>'"><script>hit()</script>{{7*7}}"""
TAILS = ("", "/fit", "/build", "/readings", "/gates", "/papers", "/carton", "/care", "/record",
         "/inspection", "/steps/bar-in-stem", "/journey")  # fmt: skip


def test_words_that_look_like_a_page_stay_words(desk: Page, complaints: list[str]) -> None:
    """Names, notes and parts as somebody typed or pasted them, on every page that shows them."""
    bench = "/".join(desk.url.split("/")[:3])
    names = {"bike": "bikes/trail", "rider": "riders/light", "place": "places/left"}
    texts = {key: (EXAMPLES / f"{name}.toml").read_text() for key, name in names.items()}
    quoted = WORDS.replace('"', '\\"')
    for key, field in (("bike", "model"), ("rider", "name")):
        line = f'{field} = "{quoted}"'
        texts[key] = re.sub(rf"(?m)^{field} = .*$", lambda _, line=line: line, texts[key])
        assert "onerror" in texts[key]
    answer = desk.request.post(f"{bench}/api/bikes", data=texts, headers={"origin": bench})
    assert answer.ok, answer.text()
    bike = f"/bikes/{answer.json()['bike']}"
    send(desk, bench, "/who", name=WORDS)
    send(desk, bench, f"{bike}/carton/damage", text=WORDS, where="inside")
    send(desk, bench, f"{bike}/steps/bar-in-stem", act="wrong", reason=WORDS, note=WORDS)
    send(desk, bench, f"{bike}/care/part", part="fork", maker=WORDS, batch=WORDS)
    desk.add_init_script("window.hit = () => { window.hits = (window.hits ?? 0) + 1; }")
    shown = 0
    elsewhere = ("/", "/care", "/recalls", f"/?query={WORDS[:9]}", f"/scan?code={WORDS[:30]}")
    for path in (*(bike + tail for tail in TAILS), *elsewhere):
        desk.goto(f"{bench}{path}")
        desk.locator("html[data-ready]").wait_for(state="attached")
        assert desk.evaluate("window.hits ?? 0") == 0, path
        assert desk.locator("img[src=x], main script").count() == 0, path
        shown += "onerror=hit()" in desk.locator("body").inner_text()
    assert shown >= len(TAILS)
    assert complaints == []
