"""Everybody of the open survey on each example bike: one call beside a plain loop.

`python benchmarks/population.py [--sample 120] [--page docs/population.md]`. The loop runs the
same function for a sample of the people, one at a time, in the same run; its time for all of them
is that of the sample in proportion, and the page says so. Either way a call first builds the
bike's case from its sheets. Memory is what Python allocates at most during the call. `--page`
also writes who fits and how the methods differ, which no machine moves.
"""

from __future__ import annotations

import argparse
import sys
import time
import tracemalloc
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from advice import crowds  # noqa: E402
from cyclewright.advice.population import Crowd, crowd  # noqa: E402
from cyclewright.knowledge.defaults import Filled, fill  # noqa: E402
from cyclewright.sheets.sheets import load  # noqa: E402

EXAMPLES = ROOT / "examples"
METHODS = {
    "by_inseam": "0.883 × inseam",
    "by_spindle_from_bb": "1.09 × inseam less the crank",
    "heel": "heel on the pedal",
    "knee_middle": "knee bent 30°",
}
CUTS = (5, 50, 95)


@dataclass(frozen=True)
class Run:
    bike: str
    found: Crowd
    whole: float
    memory: int
    alone: float
    """One person by itself [s]."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=120)
    parser.add_argument("--page", type=Path)
    asked = parser.parse_args()
    runs = [_run(bike, asked.sample) for bike in crowds.BIKES]
    people = crowds.everybody().stature.size
    print(f"{'bike':<12} {'one call':>9} {'memory':>8} {'loop, scaled':>13} {'times':>6}")
    for run in runs:
        loop = run.alone * people
        print(
            f"{run.bike:<12} {run.whole * 1e3:6.0f} ms {run.memory / 1e6:5.0f} MB "
            f"{loop:11.1f} s {loop / run.whole:6.0f}"
        )
    print(f"{people} people; the loop ran {asked.sample} of them, its time scaled by their number.")
    if asked.page:
        asked.page.write_text(_page(runs, people, asked.sample), encoding="utf-8")
    return 0


def _run(bike: str, sample: int) -> Run:
    filled, people = _filled(bike), crowds.everybody()
    crowd(filled, people)  # tables and sheets' models are read once
    start = time.perf_counter()
    found = crowd(filled, people)
    whole = time.perf_counter() - start
    tracemalloc.start()
    crowd(filled, people)
    memory = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    rows = np.linspace(0, people.stature.size - 1, sample).round().astype(int)
    start = time.perf_counter()
    for row in rows:
        alone = crowd(filled, people.rows(row))
        if not np.isclose(alone.held[0], found.held[row], atol=1e-9):
            raise SystemExit(f"{bike}: person {row} differs between the loop and the call")
    return Run(bike, found, whole, memory, (time.perf_counter() - start) / sample)


def _filled(bike: str) -> Filled:
    return fill(
        load(
            EXAMPLES / "bikes" / f"{bike}.toml",
            EXAMPLES / "riders" / "heavy.toml",
            EXAMPLES / "places" / "left.toml",
        )
    )


def _page(runs: list[Run], people: int, sample: int) -> str:
    lines = [
        "# Everybody on every bike",
        "",
        "Made by `make population`. All "
        f"{people:,} adults of the open survey (ANSUR II) sit and stand on each example bike in "
        "one call; nobody's sums fail. Where a bike as its sheet has it does not fit, the limit "
        "is named: here always the post's, as stem, spacers and reach leave nobody out of range.",
        "",
        "| bike | fits | the limit that binds | people |",
        "|---|---|---|---|",
    ]
    for run in runs:
        counts = Counter(run.found.limit.tolist())
        fits = counts.pop("", 0)
        for at, (limit, count) in enumerate(counts.most_common()):
            head = f"| {run.bike} | {fits / people:.1%} |" if at == 0 else "| | |"
            lines.append(f"{head} {limit} | {count} |")
    lines += [
        "",
        "## Saddle height by method, less the height recommended",
        "",
        "Recommended is 0.883 × inseam held where the knee bends 25 to 35° (for the hardtail's "
        "plain post 30 mm lower, for rough ground). Millimetres: 5th, 50th and 95th percentile.",
        "",
        "| method | " + " | ".join(run.bike for run in runs) + " |",
        "|---|" + "---|" * len(runs),
    ]
    for name, words in METHODS.items():
        cells = [
            _cuts((getattr(run.found.heights, name) - run.found.recommended) * 1000, 0)
            for run in runs
        ]
        lines.append(f"| {words} | " + " | ".join(cells) + " |")
    lines += [
        "",
        "## Postures of those who fit",
        "",
        "Degrees, and percent of the weight on the front wheel.",
        "",
        "| | " + " | ".join(run.bike for run in runs) + " |",
        "|---|" + "---|" * len(runs),
    ]
    for words, name in (
        ("knee at the bottom", "knee_bottom"),
        ("knee at the top", "knee_top"),
        ("trunk from level", "trunk"),
        ("smallest hip angle", "hip"),
        ("forearm below level", "forearm"),
    ):
        cells = [
            _cuts(np.degrees(run.found.solution.seated.pose.angles[name])[~run.found.impossible], 0)
            for run in runs
        ]
        lines.append(f"| {words} | " + " | ".join(cells) + " |")
    for posture in ("seated", "standing"):
        cells = []
        for run in runs:
            state = run.found.solution.at(posture)
            share = state.front_load / (state.front_load + state.rear_load)
            cells.append(_cuts(100 * share[~run.found.impossible], 1))
        lines.append(f"| front share, {posture} | " + " | ".join(cells) + " |")
    lines += [
        "",
        "## Time and memory",
        "",
        f"On the machine that made this page, beside a plain loop over the same function in the "
        f"same run. The loop ran {sample} people; its time for all is scaled from theirs. "
        "Each call of either first builds the bike's case from its sheets.",
        "",
        "| bike | one call | memory | loop, scaled | times faster |",
        "|---|---|---|---|---|",
    ]
    for run in runs:
        loop = run.alone * people
        lines.append(
            f"| {run.bike} | {run.whole * 1e3:.0f} ms | {run.memory / 1e6:.0f} MB | {loop:.0f} s "
            f"| {loop / run.whole:.0f} |"
        )
    return "\n".join(lines) + "\n"


def _cuts(values: np.ndarray, decimals: int) -> str:
    return " / ".join(f"{value:.{decimals}f}" for value in np.percentile(values, CUTS))


if __name__ == "__main__":
    raise SystemExit(main())
