"""A setting dragged on the bike page: how long its redraw takes, beside a bare page.

`python benchmarks/redraw.py [--drags 200] [--page docs/redraw.md]`. The bench runs as its users
run it, on loopback, in a process of its own; beside it the same bare page of the same framework as
in `load.py`, asked in turn with each drag. One browser steps a setting to and fro: the part of the
page with everything that follows (`GET /bikes/1?change=…` as the page's script asks it), and the
drawing of the changed bike. No two drags ask the same thing, so nothing is answered from a store.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import statistics
import sys
import tempfile
from collections import defaultdict
from pathlib import Path
from typing import Any

import httpx
from load import BARE, EXAMPLES, HTML, Times, program, quantile, served, signed_in, timed

from cyclewright.workshop import readings, receive
from cyclewright.workshop.sheets import read_sheets
from cyclewright.workshop.shop import Shop

PART = HTML | {"hx-request": "true", "hx-target": "setup"}
DRAGGED = {
    "fork pressure": ("set.fork_pressure={:.2f} psi", 60.0, 100.0),
    "spacers under the stem": ("bike.cockpit.spacers_under={:.2f} mm", 0.0, 35.0),
    "rider's mass": ("rider.mass={:.2f} kg", 60.0, 100.0),
}
"""What is dragged, as the page writes it, and between which values."""
PAGE = """# A dragged setting

Made by `python benchmarks/redraw.py --page docs/redraw.md`: one browser steps a setting of the
example trail bike to and fro, with three sag readings on its record; each step asks for the part of
the bike page with every setting solved again, kept and resolved, and for the drawing of the changed
bike with the one before it behind. A bare page of the same framework is asked in turn with each, in
the same run; "processor" is what the bench's process itself worked for a step. Every step asks for
another value, so that nothing comes from a store. Ratios say more than times: they are of one
machine, which did other things too.

"""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--drags", type=int, default=200, help="steps of each setting")
    parser.add_argument("--page", type=Path, help="where the page of the figures goes")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="cyclewright-redraw-") as folder:
        with Shop.open(Path(folder)) as shop:
            fill(shop)
        with (
            served([sys.executable, "-c", BARE]) as (bare, _),
            served([program(), "bench", "--data", folder]) as (address, process),
        ):
            times, busy = asyncio.run(dragging(address, bare, options.drags, process))
    lines = told(times, busy, options.drags)
    print("\n".join(lines))
    if options.page:
        text = PAGE + "```text\n" + "\n".join(lines) + "\n```\n"
        options.page.write_text(text, encoding="utf-8")
    return 0


def fill(shop: Shop) -> None:
    """A trail bike whose fork and shock were set and read, so that readings are learned too."""
    paths = ("bikes/trail.toml", "riders/heavy.toml", "places/left.toml")
    receive.open_bike(shop, read_sheets(*(EXAMPLES / path for path in paths)), by="Mara Quill")
    for kind, value in (
        ("fork-pressure", "84 psi"), ("fork-sag", "29 mm"),
        ("shock-pressure", "195 psi"), ("shock-sag", "15 mm"),
        ("fork-pressure", "88 psi"), ("fork-sag", "27 mm"),
    ):  # fmt: skip
        readings.read(shop, 1, kind, value, by="Mara Quill")


async def dragging(
    address: str, bare: str, drags: int, process: int
) -> tuple[Times, dict[str, float]]:
    """Each setting in small steps, a bare page asked after each; times and processor time [s]."""
    times: Times = defaultdict(list)
    busy: dict[str, float] = defaultdict(float)

    async def step(client: httpx.AsyncClient, name: str, path: str, **more: Any) -> None:
        before = worked(process)
        await timed(times, name, client.get(path, **more))
        busy[name] += worked(process) - before

    async with signed_in(address) as bench, signed_in(bare) as plain:
        await settle(bench)
        for name, (text, low, high) in DRAGGED.items():
            for turn in range(drags):
                share = (turn + 0.5) / drags
                params = {"change": text.format(low + (high - low) * share)}
                await step(bench, f"{name}: settings", "/bikes/1", params=params, headers=PART)
                await step(
                    bench, f"{name}: drawing", "/bikes/1/drawing", params=params, headers=HTML
                )
                await timed(times, "bare page", plain.get("/"))
    return times, busy


def worked(process: int) -> float:
    """Processor time that a process took so far [s]; 0 where the system does not say."""
    status = Path(f"/proc/{process}/stat")
    if not status.exists():
        return 0.0
    ticks = status.read_text().rpartition(")")[2].split()
    return (int(ticks[11]) + int(ticks[12])) / os.sysconf("SC_CLK_TCK")


async def settle(bench: httpx.AsyncClient) -> None:
    """The page once as it is opened, so that what is loaded once is loaded."""
    for path in ("/bikes/1", "/bikes/1/drawing"):
        answer = await bench.get(path, headers=HTML)
        assert answer.status_code == 200, answer.text


def told(times: Times, busy: dict[str, float], drags: int) -> list[str]:
    """Median, 99th percentile and processor time of each, beside the bare page of this run."""
    base_line = statistics.median(times["bare page"])
    lines = [f"{drags} steps of each on {os.cpu_count()} processors"]
    lines.append(f"{'':<33} {'median':>9} {'99 %':>9} {'processor':>10}  ratio to a bare page")
    order = ["bare page", *(name for name in times if name != "bare page")]
    for name in order:
        middle, late = statistics.median(times[name]), quantile(times[name], 0.99)
        spent = f"{busy[name] / drags * 1e3:7.0f} ms" if name in busy else f"{'–':>10}"
        lines.append(
            f"{name:<33} {middle * 1e3:6.1f} ms {late * 1e3:6.1f} ms {spent}  "
            f"{middle / base_line:.0f}"
        )
    return lines


if __name__ == "__main__":
    raise SystemExit(main())
