"""Phones at work and benches watching, against the real bench, beside a bare page.

`python benchmarks/load.py [--phones 30] [--benches 3] [--seconds 15] [--bikes 10000]
[--events 2000]`. The bench runs as its users run it, on loopback, in a process of its own; beside
it a bare page of the same framework, asked by the same number of clients at the same pace. Each
phone opens a bike's build page, ticks a step, waits as a person would and goes on; each bench
holds a bike's event stream open and looks at the list. Then the list grows to ten thousand bikes
and one bike to two thousand events, and the same requests are timed one after another. Every loop
ends after a number of turns or a time, whichever comes first.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import random
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from pathlib import Path
from typing import Any

import httpx
import sqlalchemy as sa

from cyclewright.record.events import Draft
from cyclewright.workshop import build, receive
from cyclewright.workshop.sheets import read_sheets
from cyclewright.workshop.shop import Shop

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES = ROOT / "examples"
PAUSE = 4.0
"""Seconds a person takes between two acts, more or less."""
MOST_TURNS = 2000
HTML = {"accept": "text/html"}
BARE = """
import socket, sys, uvicorn
from fastapi import FastAPI
from starlette.responses import HTMLResponse
app = FastAPI(openapi_url=None)
@app.get("/")
def page() -> HTMLResponse:
    return HTMLResponse("<!doctype html><title>bare</title><p>" + "word " * 2000)
listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
listener.bind(("127.0.0.1", 0))
listener.listen(128)
print(f"bench: http://127.0.0.1:{listener.getsockname()[1]}/#none", flush=True)
uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False)).run(sockets=[listener])
"""
Times = dict[str, list[float]]
PAGE = """# Load

Made by `python benchmarks/load.py --page docs/load.md`: phones at work and benches watching on
loopback, against the bench as it is run, in one process; a bare page of the same framework is asked
in the same run by ten more clients, and stands first. Each phone opens its bike's build page,
records a step and takes about four seconds to the next, which is quicker than anybody works. Then
the list grows to ten thousand bikes and one bike to two thousand events, and pages are asked one
after another; the number in brackets is the ratio to the bare page then. "First" is the first time
that a page of that size is asked for. Ratios say more than times: they are of one machine, which
did other things too. A setting that is dragged has [a page of its own](redraw.md).

"""
LINES: list[str] = []


def say(text: str) -> None:
    """A line on the screen, kept for the page."""
    LINES.append(text)
    print(text, flush=True)


def main() -> int:
    options = _options()
    with tempfile.TemporaryDirectory(prefix="cyclewright-load-") as folder:
        data = Path(folder)
        with Shop.open(data) as shop:
            fill(shop, max(options.phones, 3))
        with (
            served([sys.executable, "-c", BARE]) as (bare, _),
            served([program(), "bench", "--data", folder]) as (address, process),
        ):
            before = memory(process)
            times = asyncio.run(at_work(address, bare, options))
            print_load(times, options, before, memory(process))
            grow(data, address, bare, process, options)
    if options.page:
        text = PAGE + "```text\n" + "\n".join(LINES) + "\n```\n"
        options.page.write_text(text, encoding="utf-8")
    return 0


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    for name, value in (
        ("phones", 30), ("benches", 3), ("seconds", 15), ("bikes", 10_000), ("events", 2000)
    ):  # fmt: skip
        parser.add_argument(f"--{name}", type=int, default=value)
    parser.add_argument("--page", type=Path, help="where the page of the figures goes")
    return parser.parse_args()


def program() -> str:
    return str(Path(sys.executable).with_name("cyclewright"))


@contextmanager
def served(command: list[str]) -> Iterator[tuple[str, int]]:
    """A server for as long as the block lasts: its address with the token, and its process."""
    running = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    try:
        assert running.stdout is not None
        line = running.stdout.readline()
        yield line.removeprefix("bench: ").strip(), running.pid
    finally:
        running.terminate()
        running.wait(10)


def memory(process: int) -> float:
    """Memory of a process that is its own or shared [MB]."""
    status = Path(f"/proc/{process}/status")
    if not status.exists():
        return float("nan")
    return int(re.findall(r"VmRSS:\s+(\d+) kB", status.read_text())[0]) / 1024


def fill(shop: Shop, bikes: int) -> None:
    """So many bikes with the plan of the example bike."""
    sheets = read_sheets(
        EXAMPLES / "bikes/trail.toml", EXAMPLES / "riders/light.toml", EXAMPLES / "places/left.toml"
    )
    if not shop.store.heads():
        receive.open_bike(shop, sheets, by="Mara Quill")
        receive.list_bikes(shop)
    planned = dict(shop.events(1)[1].data)
    rider = shop.rider_text(planned["rider"]["attachment"])
    line = json.loads(shop.store.summaries_of([1])[1])
    rows = []
    for turn in range(len(shop.store.heads()), bikes):
        named = re.sub(r"(?m)^name = .*$", f'name = "Rider {turn}"', rider)
        kept = shop.store.attach(named.encode(), "application/toml")
        name = f"Invented {turn % 97} Trail {turn}"
        drafts = [
            Draft("visit-opened", "visit", {"visit": "build", "name": name}, 1),
            Draft("planned", "plan", planned | {"name": name, "rider": {"attachment": kept}}, 1),
        ]
        last = shop.store.new_stream(lambda _, drafts=drafts: drafts)[-1]
        told = line | {"id": last.stream, "name": name, "rider": kept, "done": 0}
        told |= {"updated": last.server_time}
        row = {"stream": last.stream, "number": last.number, "updated": last.server_time}
        rows.append(row | {"content": json.dumps(told)})
    if rows:  # every bike has the same plan, so every line of the list is like the first one's
        shop.store.summarise(rows)


@asynccontextmanager
async def signed_in(address: str) -> AsyncIterator[httpx.AsyncClient]:
    """A browser that was let in."""
    base, _, token = address.partition("/#")
    async with httpx.AsyncClient(base_url=base, headers={"origin": base}, timeout=60.0) as client:
        if token != "none":
            answer = await client.post("/launch", data={"token": token}, headers=HTML)
            assert answer.status_code == 303, answer.text
            await client.post("/who", data={"name": "Mara Quill"}, headers=HTML)
        yield client


async def timed(times: Times, name: str, asked: Any) -> httpx.Response:
    start = time.perf_counter()
    answer: httpx.Response = await asked
    times[name].append(time.perf_counter() - start)
    if answer.status_code >= 400:
        raise SystemExit(f"{name} answered {answer.status_code}: {answer.text[:300]}")
    return answer


async def at_work(address: str, bare: str, options: argparse.Namespace) -> Times:
    """Everybody at once; a bare page is asked in between, as often as all the phones ask."""
    times: Times = defaultdict(list)
    end = time.monotonic() + options.seconds
    phones = [phone(address, times, bike + 1, end) for bike in range(options.phones)]
    benches = [watching(address, times, bike + 1, end) for bike in range(options.benches)]
    plain = [bare_page(bare, times, end) for _ in range(max(1, options.phones // 3))]
    await asyncio.gather(*phones, *benches, *plain)
    return times


async def phone(address: str, times: Times, bike: int, end: float) -> None:
    """One mechanic: the build page, a step, a breath, and again."""
    chance = random.Random(bike)
    async with signed_in(address) as client:
        await asyncio.sleep(chance.uniform(0, PAUSE))
        for _ in range(MOST_TURNS):
            if time.monotonic() > end:
                return
            await timed(times, "build page", client.get(f"/bikes/{bike}/build", headers=HTML))
            body = {"put_off": "waiting for a part"}
            step = chance.choice(("carton-outside", "carton-open"))
            act = client.post(f"/api/bikes/{bike}/steps/{step}", json=body)
            await timed(times, "a step recorded", act)
            await asyncio.sleep(PAUSE * chance.uniform(0.5, 1.5))


async def watching(address: str, times: Times, bike: int, end: float) -> None:
    """One bench: told of each entry of a bike, it looks at the bike; and at the list."""
    async with signed_in(address) as client:
        listen = asyncio.create_task(stream(client, times, bike, end))
        for _ in range(MOST_TURNS):
            if time.monotonic() > end:
                break
            await timed(times, "list of bikes", client.get("/", headers=HTML))
            await asyncio.sleep(PAUSE)
        await listen


async def stream(client: httpx.AsyncClient, times: Times, bike: int, end: float) -> None:
    headers = {"accept": "text/event-stream"}
    path = f"/bikes/{bike}/events"
    async with client.stream("GET", path, headers=headers) as answer:
        lines = answer.aiter_lines()
        for _ in range(MOST_TURNS):
            try:
                line = await asyncio.wait_for(anext(lines), max(0.01, end - time.monotonic()))
            except (TimeoutError, StopAsyncIteration):
                return
            if line.startswith("event: recorded"):
                await timed(times, "bike page", client.get(f"/bikes/{bike}", headers=HTML))


async def bare_page(bare: str, times: Times, end: float) -> None:
    async with signed_in(bare) as client:
        for _ in range(MOST_TURNS):
            if time.monotonic() > end:
                return
            await timed(times, "bare page", client.get("/"))
            await asyncio.sleep(PAUSE / 12)


def print_load(times: Times, options: argparse.Namespace, before: float, after: float) -> None:
    say(
        f"{options.phones} phones at work, {options.benches} benches watching, "
        f"{options.seconds} s on {os.cpu_count()} processors"
    )
    base = statistics.median(times["bare page"])
    say(f"{'':<18} {'asked':>6} {'median':>9} {'99 %':>9}  ratio to a bare page")
    for name, taken in times.items():
        middle, late = statistics.median(taken), quantile(taken, 0.99)
        say(
            f"{name:<18} {len(taken):6d} {middle * 1e3:6.1f} ms {late * 1e3:6.1f} ms  "
            f"{middle / base:.1f}"
        )
    say(f"memory of the bench: {before:.0f} MB before, {after:.0f} MB after\n")


def quantile(values: list[float], share: float) -> float:
    return sorted(values)[min(len(values) - 1, int(len(values) * share))]


def grow(data: Path, address: str, bare: str, process: int, options: argparse.Namespace) -> None:
    """The list with more and more bikes, then one bike with more and more events."""
    sizes = [size for size in (100, 1000, 10_000) if size < options.bikes] + [options.bikes]
    with Shop.open(data) as shop:
        fast(shop)
        for size in sizes:
            fill(shop, size)
            last = f"/?query=trail+{size - 1}"
            paths = {"list": "/", "search": last, "search, nothing found": "/?query=zzz"}
            rows = asyncio.run(one_by_one(address, bare, paths))
            print_growth(f"{size} bikes", rows, process)
        for count in [size for size in (100, 500, 1000) if size < options.events] + [
            options.events
        ]:
            lengthen(shop, 1, count)
            paths = {"bike page": "/bikes/1", "build page": "/bikes/1/build"}
            paths |= {"what is known (API)": "/api/bikes/1"}
            print_growth(f"{count} events", asyncio.run(one_by_one(address, bare, paths)), process)


def fast(shop: Shop) -> None:
    """Only while this program fills the record: what it writes need not survive."""
    with shop.store.engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA synchronous=OFF")
        connection.execute(sa.select(1))


def lengthen(shop: Shop, bike: int, count: int) -> None:
    """A bike with so many events: steps done, and joints opened now and then."""
    steps = [step.id for step in build.plan_for(shop, bike).steps]
    have = shop.store.head(bike).number
    drafts = [
        Draft("joint-touched", "joint", {"joints": ["front_axle"], "why": "wheel out"}, 1)
        if turn % 10 == 9
        else Draft(
            "step-done", f"step:{turn}", {"step": steps[turn % len(steps)], "evidence": {}}, 1
        )
        for turn in range(have, count)
    ]
    shop.store.append(bike, drafts)
    receive.list_bikes(shop)


async def one_by_one(address: str, bare: str, paths: dict[str, str]) -> Times:
    """Each path asked several times by one browser, a bare page beside it."""
    times: Times = defaultdict(list)
    async with signed_in(address) as client, signed_in(bare) as plain:
        for turn in range(12):
            for name, path in paths.items():
                headers = {} if path.startswith("/api") else HTML
                key = f"{name}, first" if turn == 0 else name
                await timed(times, key, client.get(path, headers=headers))
            await timed(times, "bare page", plain.get("/"))
    return times


def print_growth(title: str, times: Times, process: int) -> None:
    base = statistics.median(times["bare page"])
    say(f"{title}, memory {memory(process):.0f} MB")
    for name, taken in times.items():
        if name.endswith(", first") or name == "bare page":
            continue
        first, later = times[f"{name}, first"][0] * 1e3, statistics.median(taken) * 1e3
        ratio = later / base / 1e3
        say(f"  {name:<24} first {first:5.0f} ms, then {later:5.1f} ms ({ratio:.0f})")


if __name__ == "__main__":
    raise SystemExit(main())
