"""Cold time of `plan` and `calc` as a ratio to importing NumPy, in one run.

`python benchmarks/cold_start.py [--rounds 15]`. The commands alternate, so that whatever else
the machine does falls on all of them alike; the medians are printed.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PROGRAM = str(Path(sys.executable).with_name("cyclewright"))
EXAMPLES = ROOT / "examples"
COMMANDS = {
    "import numpy": [sys.executable, "-c", "import numpy"],
    "cyclewright calc": [PROGRAM, "calc", "atmosphere", "altitude=2000 m", "--json"],
    "cyclewright plan": [
        PROGRAM,
        "plan",
        str(EXAMPLES / "bikes" / "trail.toml"),
        str(EXAMPLES / "riders" / "light.toml"),
        str(EXAMPLES / "places" / "left.toml"),
        "--json",
    ],
}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    rounds = parser.parse_args().rounds
    times: dict[str, list[float]] = {name: [] for name in COMMANDS}
    with tempfile.TemporaryDirectory() as data:
        environment = os.environ | {"CYCLEWRIGHT_DATA": data}
        for count in range(rounds + 1):
            for name, command in COMMANDS.items():
                taken = _timed(name, command, environment)
                if count:  # the first round fills the disk's cache
                    times[name].append(taken)
    _print(times)
    return 0


def _timed(name: str, command: list[str], environment: dict[str, str]) -> float:
    start = time.perf_counter()
    ran = subprocess.run(command, capture_output=True, text=True, env=environment, check=False)
    taken = time.perf_counter() - start
    if ran.returncode:
        raise SystemExit(f"{name} ended with {ran.returncode}: {ran.stderr.strip()}")
    return taken


def _print(times: dict[str, list[float]]) -> None:
    base = statistics.median(times["import numpy"])
    print(f"{'command':<18} {'median':>9} {'least':>9}  ratio to importing NumPy")
    for name, taken in times.items():
        middle = statistics.median(taken)
        print(f"{name:<18} {middle * 1e3:6.0f} ms {min(taken) * 1e3:6.0f} ms  {middle / base:.2f}")


if __name__ == "__main__":
    raise SystemExit(main())
