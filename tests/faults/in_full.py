"""What a shop does on a disk of one megabyte that fills up: `python -m faults.in_full FOLDER`.

Run in a mount namespace of its own: FOLDER is a disk in memory that nobody else sees. Prints one
JSON object.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

from cyclewright.errors import Integrity
from cyclewright.record.events import Draft
from cyclewright.store import archive, backup
from cyclewright.store.store import Store
from cyclewright.store.verifying import verify
from faults.acts import Told, bike, one

BALLAST = 250_000


def main() -> int:
    disk = Path(sys.argv[1])
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "none", str(disk)], check=True)
    (disk / "ballast").write_bytes(bytes(BALLAST))
    told = Told.__new__(Told)
    told.handle = os.open(os.devnull, os.O_WRONLY)
    said: list[str] = []
    kept: list[tuple[int, str]] = []
    with Store.open(disk / "data") as store:
        stream = bike(store, told)
        data = {"kind": "fork-sag", "value": 1.0, "said": "k" * 9000}
        for turn in range(1000):
            try:
                draft = Draft("reading-taken", f"reading:{turn}", data)
                event = store.append(stream, [draft])[0]
                kept.append((event.number, event.hash.hex()))
            except Integrity as error:
                said.append(str(error))
                break
        _fill(disk)
        for act in (
            lambda: store.attach(b"photo" * 20_000, "image/jpeg"),
            lambda: backup.write(store, disk / "shop.zip"),
        ):
            try:
                act()
            except Integrity as error:
                said.append(str(error))
        readable = len(store.events(stream))
        left = sorted(path.name for path in disk.rglob("*") if path.name.startswith("."))
    with Store.open(disk / "data") as store:
        closed = len(store.events(stream))
    for path in disk.glob("ballast*"):
        path.unlink()
    with Store.open(disk / "data") as store:
        one(store, stream, told, 9)
        found = {event.number: event.hash.hex() for event in store.events(stream)}
        whole = archive.check(_backed_up(store, Path(sys.argv[2])))
        report = verify(store)
    told_of = {
        "said": said,
        "kept": len(kept),
        "lost": sum(found.get(number) != digest for number, digest in kept),
        "readable": [readable, closed],
        "left": left,
        "faults": [fault.what for fault in report.faults],
        "archived": whole.manifest.sequence,
    }
    print(json.dumps(told_of))
    return 0


def _fill(disk: Path) -> None:
    """The last byte taken by something else."""
    with (disk / "ballast2").open("wb", buffering=0) as file:
        try:
            while True:
                file.write(bytes(4096))
        except OSError:
            return


def _backed_up(store: Store, elsewhere: Path) -> Path:
    """An archive on another disk."""
    path = elsewhere / "shop.zip"
    backup.write(store, path)
    return path


if __name__ == "__main__":
    raise SystemExit(main())
