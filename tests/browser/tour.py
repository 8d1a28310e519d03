"""A lived-in bench and every one of its pages, for the tests and for pictures of them."""

from __future__ import annotations

import io
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw
from playwright.sync_api import Page

from played import play

EXAMPLES = Path(__file__).parents[2] / "examples"
DONE, NEW, BUSY = 1, 2, 3
"""The demo's bike, handed over; one just put on the bench; one with everything wrong with it."""
_COMMAND = (sys.executable, "-m", "cyclewright")


@dataclass(frozen=True, slots=True)
class Stop:
    """One page in one state: its address, and what is done there before it is looked at."""

    name: str
    path: str
    act: Callable[[Page], None] | None = None
    after: Callable[[Page], None] | None = None


@dataclass(frozen=True, slots=True)
class Running:
    """A bench that is being served."""

    address: str
    """With the launch token."""
    phones: str

    @property
    def root(self) -> str:
        """Where its pages are."""
        return self.address.partition("/#")[0]


@contextmanager
def bench(folder: Path) -> Iterator[Running]:
    """A bench over the demo's record, played anew where it is not there, with a door for phones."""
    demo = folder / "demo"
    if not demo.exists():
        play(demo)
    door = ("--lan", "--address", "127.0.0.2", "--lan-port", "0")
    with _served(demo / "record", *door) as lines:
        yield Running(lines[0], lines[1])


@contextmanager
def empty_bench(folder: Path) -> Iterator[Running]:
    """A bench on its first day."""
    with _served(folder / "empty") as lines:
        yield Running(lines[0], "")


@contextmanager
def _served(data: Path, *more: str) -> Iterator[list[str]]:
    command = [*_COMMAND, "bench", "--data", str(data), *more]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        lines = [process.stdout.readline() for _ in range(2 if more else 1)]
        try:
            yield [line.split(": ", 1)[1].strip().rstrip("/") for line in lines]
        finally:
            process.terminate()


def furnish(page: Page, root: str) -> None:
    """A bike just begun, one in trouble, a recall, a tool, people: what a shop has after a week."""
    for bike, rider in (("hardtail", "heavy"), ("trail", "light")):
        names = {"bike": f"bikes/{bike}", "rider": f"riders/{rider}", "place": "places/left"}
        texts = {key: (EXAMPLES / f"{name}.toml").read_text() for key, name in names.items()}
        answer = page.request.post(f"{root}/api/bikes", data=texts, headers={"origin": root})
        assert answer.ok, answer.text()
    busy, soon = f"/bikes/{BUSY}", (date.today() + timedelta(days=9)).isoformat()
    people = page.request.get(f"{root}/people", headers={"accept": "application/json"}).json()
    owner = next(one["name"] for one in people["people"] if one["role"] == "owner")
    send(page, root, "/who", name=owner)
    send(page, root, f"{busy}/carton/arrive", carrier="Hill Parcels", damage="corner crushed",
          carriage="parcel", photo=picture())  # fmt: skip
    parts = {"part:frame": "here", "part:fork": "here", "part:left pedal": "missing"}
    send(page, root, f"{busy}/carton/parts", **parts)
    send(page, root, f"{busy}/carton/expect", part="left pedal", day=soon, whose="the seller")
    send(page, root, f"{busy}/steps/fork-forward", act="done", photo=picture())
    send(page, root, f"{busy}/steps/bar-in-stem", act="wrong", reason="faceplate cracked")
    send(page, root, f"{busy}/care/use", rides="3", hours="6.5")
    send(page, root, f"{busy}/care/wear", kind="chain-wear", value="0.2 %")
    send(page, root, f"{busy}/care/part", part="front rotor", maker="Fellmark", batch="B7")
    send(page, root, "/recalls", part="front rotor", maker="Fellmark", batches="B7, B8",
          why="cracks at the spider", do="take it off", source="its maker's notice")  # fmt: skip
    send(page, root, "/tools", name="long click", low="2", high="60",
          calibrated=date.today().isoformat())  # fmt: skip
    send(page, root, f"/bikes/{NEW}/change", change="bike.cockpit.spacers_under+=5 mm")


def send(page: Page, root: str, path: str, **fields: Any) -> None:
    headers = {"origin": root, "accept": "application/json"}
    answer = page.request.post(f"{root}{path}", multipart=fields, headers=headers)
    assert answer.ok, f"{path}: {answer.text()}"


def picture() -> dict[str, Any]:
    """A photo of a fork, more or less."""
    image = Image.new("RGB", (480, 640), (104, 96, 84))
    pen = ImageDraw.Draw(image)
    for left in (150, 300):
        pen.rectangle((left, 60, left + 34, 600), fill=(52, 56, 58))
    pen.rectangle((130, 40, 354, 120), fill=(70, 74, 76))
    written = io.BytesIO()
    image.save(written, "JPEG", quality=80)
    return {"name": "fork.jpg", "mimeType": "image/jpeg", "buffer": written.getvalue()}


ANSWERS = {
    "fork_travel": "140", "rear_travel": "130", "shock_stroke": "50", "tyre": "29x2.4",
    "height": "175", "mass": "80",
}  # fmt: skip


def _answer(page: Page) -> None:
    page.get_by_label("Full suspension").check(force=True)
    page.select_option("#country", "GB")
    for key, value in ANSWERS.items():
        page.fill(f"#{key}", value)
    for name, value in (("tubeless", "yes"), ("hooked", "yes")):
        page.check(f"input[name={name}][value={value}]", force=True)
    page.get_by_role("button", name="Show the first answers").click()
    page.get_by_role("heading", name="First answers").wait_for()


def _answer_wrongly(page: Page) -> None:
    page.fill("#tyre", "29x99")
    page.get_by_role("button", name="Show the first answers").click()
    page.locator(".bad, [id^=bad-]").first.wait_for()


def _read_ring(page: Page) -> None:
    page.get_by_role("button", name="More", exact=True).click()
    page.get_by_role("button", name="This is what it reads").click()
    page.locator(".verdict").wait_for()


def _cut_off(page: Page) -> None:
    page.locator("html[data-kept]").wait_for(state="attached")
    page.context.set_offline(True)
    page.get_by_role("button", name="More", exact=True).click()
    page.get_by_role("button", name="This is what it reads").click()
    page.locator("#dock summary").click()


def _come_back(page: Page) -> None:
    page.context.set_offline(False)
    page.locator("#dock", has_text="arrived").wait_for()
    # What came in may move the page: it is looked at once it stands.
    page.evaluate("() => new Promise((r) => setTimeout(r, 400))")
    page.evaluate("window.shifts = 0")


def _seen(page: Page) -> None:
    """What arrived is told until somebody has seen it."""
    page.locator("#dock details").evaluate("box => { box.open = true; }")
    page.get_by_role("button", name="Seen").click()
    page.locator("#dock").wait_for(state="hidden")


def _drawn(page: Page) -> None:
    page.locator(".drawing svg").first.wait_for(state="attached")


def _scan_recalled(page: Page) -> None:
    page.fill("#code", str(BUSY))
    page.get_by_role("button", name="To the bike").click()
    page.get_by_text("Do not ride").first.wait_for()


def _look_at_a_rider(page: Page) -> None:
    """A heavier rider for a released bike: what that opens again."""
    for name, value in (("name", "Orla Fenwick"), ("mass", "95"), ("height", "184")):
        page.fill(f"#rider-{name}", value)
    page.locator("#rider").get_by_role("button", name="See what it does").click()
    page.get_by_role("button", name="Fit this rider").wait_for()


def _all_open(page: Page) -> None:
    """What a person opens by hand may push the rest down."""
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    page.evaluate("() => new Promise((r) => setTimeout(r, 100))")
    page.evaluate("window.shifts = 0")


def _of(bike: int, name: str, tails: dict[str, str]) -> tuple[Stop, ...]:
    found = []
    for what, tail in tails.items():
        act = _drawn if not tail.startswith("/") else None
        found.append(Stop(f"{name} {what}", f"/bikes/{bike}{tail}", act))
    return tuple(found)


STOPS = (
    Stop("bikes", "/"),
    Stop("bikes searched", "/?query=bracken"),
    Stop("bikes not found", "/?query=nothing+like+it"),
    Stop("start", "/start"),
    Stop("start wrong", "/start", _answer_wrongly),
    Stop("start answers", "/start", _answer),
    Stop("who", "/who"),
    *_of(NEW, "new bike", {
        "setup": "", "standing": "?posture=standing",
        "change tried": "?change=bike.cockpit.spacers_under%2B%3D10+mm",
        "change refused": "?change=bike.cockpit.spacers_under%3D60+mm",
        "pressure tried": "?change=set.fork_pressure%3D90+psi",
        "changes": "/changes", "part swapped": "/changes?part=front+rotor",
        "facts to look up": "?open=lookups",
        "fit": "/fit", "fit carried over": f"/fit?from={DONE}",
        "fit changed": "/fit?change=rider.inseam%3D83+cm",
        "build": "/build", "gates": "/gates", "papers": "/papers", "photo": "/photo",
        "carton": "/carton", "care": "/care", "journey": "/journey", "inspection": "/inspection",
        "record": "/record", "verified": "/verify", "level": "/level", "undo": "/undo",
        "readings": "/readings", "step torque": "/steps/bar-in-stem",
        "step photo": "/steps/fork-forward", "step wrong": "/steps/bar-in-stem?wrong=1",
        "reading": "/readings/fork-sag",
    }),
    *_of(DONE, "released bike", {
        "setup": "", "build": "/build", "gates": "/gates", "papers": "/papers",
        "record": "/record", "readings": "/readings", "step": "/steps/stem-pinch",
        "care": "/care", "fit": "/fit",
    }),
    *_of(BUSY, "bike in trouble", {
        "setup": "", "build": "/build", "step": "/steps/bar-in-stem", "gates": "/gates",
        "carton": "/carton", "care": "/care", "inspection": "/inspection", "photo": "/photo",
    }),
    Stop("another rider looked at", f"/bikes/{DONE}/changes", _look_at_a_rider),
    Stop("bike in trouble carton open", f"/bikes/{BUSY}/carton", _all_open),
    Stop("bike in trouble care open", f"/bikes/{BUSY}/care", _all_open),
    Stop("verdict", f"/bikes/{NEW}/readings/fork-sag", _read_ring),
    Stop("what waits", f"/bikes/{NEW}/readings/fork-pressure", _cut_off),
    Stop("what arrived", "", _come_back, _seen),
    Stop("scan", "/scan"),
    Stop("scan recalled", "/scan", _scan_recalled),
    Stop("scan unknown", "/scan?code=a+crate"),
    Stop("due", "/care"),
    Stop("recalls", "/recalls"),
    Stop("tools", "/tools"),
    Stop("people", "/people"),
    Stop("bolt round", f"/bikes/{NEW}/steps/bolts-wheels-and-brakes"),
    Stop("erase a rider", f"/erase/bikes/{DONE}"),
    Stop("erase a name", "/erase/people/1"),
    Stop("every record verified", "/verify"),
    Stop("phones", "/devices"),
    Stop("disagreement", "/settle"),
    Stop("disagreement settled", "/settle?field=bike.mass_limit&a=110+kg&b=120+kg"),
    Stop("offline", "/offline"),
    Stop("entries from a file", "/bring"),
    Stop("missing", "/nowhere"),
)  # fmt: skip
FIRST_DAY = (
    *(Stop(f"first day {path.strip('/') or 'bikes'}", path)
      for path in ("/", "/people", "/tools", "/recalls", "/care", "/devices")),
)  # fmt: skip
NO_PAGES = re.compile(
    r"/api/|/static|.*\.(pdf|svg|ics|js|crt)$|/bikes/\{bike\}/(drawing|pocket|events|pictures/)"
)
"""Addresses that are parts, files or data."""
ELSEWHERE = {"/launch", "/pair", "/trust", "/devices/pair"}
"""Pages of somebody who is not signed in, or of two at once: `launching`, `tour_of_doors`."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A page that stands ready to be looked at."""

    name: str
    page: Page


def tour(page: Page, root: str, stops: tuple[Stop, ...] = STOPS) -> Iterator[Seen]:
    """Every page that somebody signed in meets, one after another."""
    for stop in stops:
        if stop.act is not _come_back:
            page.goto(f"{root}{stop.path}")
        page.locator("html[data-ready]").wait_for(state="attached")
        if stop.act is not None:
            stop.act(page)
        yield Seen(stop.name, page)
        if stop.after is not None:
            stop.after(page)


def launching(stranger: Page, root: str) -> Iterator[Seen]:
    """What somebody sees who was not let in, and who has an old address."""
    stranger.goto(f"{root}/")
    yield Seen("launch", stranger)
    stranger.fill("main input[type=text]", f"{root}/#{'x' * 32}")
    stranger.get_by_role("button").first.click()
    stranger.locator(".problems").wait_for()
    yield Seen("launch wrong", stranger)


def tour_of_doors(desk: Page, phone: Page, running: Running) -> Iterator[Seen]:
    """A phone that is let in, seen from both sides."""
    desk.goto(f"{running.root}/devices")
    desk.get_by_role("button", name="Let a phone in").click()
    desk.locator(".pair-picture").wait_for()
    yield Seen("pairing offered", desk)
    phone.goto(f"{running.phones}/trust")
    yield Seen("trust", phone)
    phone.goto(f"{running.phones}/")
    phone.get_by_text("Somebody at the bench lets a phone in").wait_for()
    yield Seen("pair asked for", phone)
    phone.goto(f"{running.phones}/pair#{'A' * 22}")
    phone.locator(".problems").first.wait_for()
    yield Seen("pair wrong", phone)
    data = desk.request.get(
        f"{running.root}/devices/pair", headers={"accept": "application/json"}
    ).json()
    phone.goto("about:blank")
    phone.goto(data["address"])
    phone.locator(".pair-number").wait_for()
    yield Seen("pair number", phone)
    desk.locator(".pair-number").wait_for()
    yield Seen("pairing asked", desk)
    desk.get_by_role("button", name="Yes, let it in").click()
    desk.locator(".said").wait_for()
    yield Seen("phones one in", desk)
    desk.goto(f"{running.root}/devices/pair")
    yield Seen("pairing over", desk)
    phone.locator(".said").wait_for()
    yield Seen("trust let in", phone)
    phone.goto(f"{running.phones}/pair")
    yield Seen("pair in", phone)
    phone.goto(f"{running.phones}/")
    phone.locator(".bike-row").first.wait_for()
    yield Seen("bikes on the phone", phone)
