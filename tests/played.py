"""The demo as a shell plays it, once for all workers of a run."""

from __future__ import annotations

import fcntl
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest


@dataclass(frozen=True, slots=True)
class Played:
    """What a demo left and said."""

    folder: Path
    out: str
    err: str


def play(folder: Path) -> Played:
    """The demo's record and papers in this folder, which it makes."""
    command = [sys.executable, "-m", "cyclewright", "demo", "--no-serve", "--out", str(folder)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return Played(folder, done.stdout, done.stderr)


def once(factory: pytest.TempPathFactory) -> Played:
    """The demo of this run; whoever asks first plays it."""
    own = factory.getbasetemp()
    shared = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own
    said = [shared / f"demo-{name}.txt" for name in ("out", "err")]
    with (shared / "demo.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not said[1].exists():
            played = play(shared / "demo")
            said[0].write_text(played.out, encoding="utf-8")
            said[1].write_text(played.err, encoding="utf-8")
    return Played(shared / "demo", *(path.read_text(encoding="utf-8") for path in said))
