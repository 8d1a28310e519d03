"""Kills programs at work: `python -m faults.killer ACT FOLDER KILLS SEED [URL]`.

Everything is loaded once; each program is a fork of this one, opens the record for itself, works,
and is killed with signal 9 after a random time. What it had acknowledged before is then looked
for. Prints one JSON object: how many were killed while they worked, acknowledged, lost.
"""

from __future__ import annotations

import json
import os
import random
import select
import shutil
import signal
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path

import sqlalchemy as sa
import sqlalchemy.dialects.postgresql.psycopg
import sqlalchemy.dialects.sqlite

from cyclewright.errors import CyclewrightError
from cyclewright.store import migrate, restore, schema  # noqa: F401
from cyclewright.store.store import Store
from cyclewright.store.verifying import verify
from faults.acts import FIRST, Told, bike, erase, one

BENCHES = 2
"""Programs that work at the same time; one of them is killed at a time."""


class Shop:
    """Where the record lies, and what was acknowledged so far."""

    def __init__(self, folder: Path, url: str | None) -> None:
        self.folder, self.url = folder, url
        self.promised: dict[tuple[int, int], tuple[str, str]] = {}
        self.erased: set[str] = set()
        self.torn = 0

    def open(self) -> Store:
        """The record, as a program of its own opens it."""
        return Store.open(self.folder / "data", self.url)

    def hear(self, lines: list[str]) -> None:
        """Take note of promises."""
        for words in (line.split(" ") for line in lines):
            if words[0] == "event":
                self.promised[int(words[1]), int(words[2])] = (words[3], words[4])
            elif words[0] == "erased":
                self.erased.add(words[1])

    def lost(self) -> int:
        """Promises that were not kept, of all that were ever made."""
        with self.open() as store:
            found = {(e.stream, e.number): e for s in store.heads() for e in store.events(s)}
            gone = {a for e in found.values() if e.kind == "erased" for a in e.data["addresses"]}
            count = 0
            for key, (digest, address) in self.promised.items():
                event = found.get(key)
                count += event is None or event.hash.hex() != digest
                if address and address not in gone and event is not None:
                    count += store.shelf.get(address) is None
            count += sum(store.shelf.get(address) is not None for address in self.erased)
            self.torn += len(verify(store).faults)
        return count


def working(shop: Shop, told: Told) -> None:
    """Photos and events without end, on bikes that all programs share."""
    with shop.open() as store:
        turn = os.getpid() * 1_000_000
        while True:
            stream = random.choice([1, 2])
            one(store, stream, told, turn)
            turn += 1


def erasing(shop: Shop, told: Told) -> None:
    """Photos kept and erased without end."""
    with shop.open() as store:
        turn = os.getpid() * 1_000_000
        while True:
            erase(store, one(store, 1, told, turn), told)
            turn += 1


def reading(shop: Shop, told: Told) -> None:
    """An archive read into an empty record."""
    with shop.open() as store:
        told.say("begun")
        restore.read(store, shop.folder / "shop.zip")
    told.say("done")


def opening(shop: Shop, told: Told) -> None:
    """An old record opened, and so upgraded."""
    told.say("begun")
    shop.open().close()
    told.say("done")


def empty(shop: Shop) -> None:
    """A record without events, as before an archive is read."""
    with shop.open() as store, store.engine.begin() as connection:
        for table in schema.META.sorted_tables:
            if table not in (schema.VERSIONS, schema.SHOP):
                connection.execute(sa.delete(table))
        connection.execute(sa.update(schema.SHOP).values(sequence=0, chain=bytes(32)))
    shutil.rmtree(shop.folder / "data" / "attachments", ignore_errors=True)


def old(shop: Shop) -> None:
    """A record with the tables of the first version."""
    with shop.open() as store, store.engine.begin() as connection:
        for table in schema.META.sorted_tables:
            if table.name not in FIRST:
                table.drop(connection)
        connection.execute(sa.update(schema.VERSIONS).values(version_num="0001"))


def fork(act: Callable[[Shop, Told], None], shop: Shop) -> tuple[int, int]:
    """A program of its own at work: its id, and the end to read its promises from."""
    read, write = os.pipe()
    child = os.fork()
    if child:
        os.close(write)
        return child, read
    os.close(read)
    code = 0
    try:
        random.seed()
        told = Told.__new__(Told)
        told.handle = write
        act(shop, told)
    except CyclewrightError as error:
        os.write(2, f"{error}\n".encode())
        code = 1
    except BaseException:
        traceback.print_exc()
        code = 70
    os._exit(code)


def _lines(read: int, until: float | None = None) -> tuple[list[str], bool]:
    """Whole lines told until a time, or to the end; and whether the end was reached."""
    raw = b""
    while True:
        left = None if until is None else max(0.0, until - time.monotonic())
        if not select.select([read], [], [], left)[0]:
            break
        part = os.read(read, 65536)
        if not part:
            return raw.decode().splitlines(), True
        raw += part
    # A line is one write, and one write to a pipe comes whole.
    return raw.decode().splitlines(), False


def kill_at_work(shop: Shop, act: str, kills: int, chance: random.Random) -> int:
    """Keep some programs at work and kill one after another; gives how many were at work."""
    with shop.open() as store:
        while len(store.heads()) < 2:
            bike(store, _deaf())
    work = {"work": working, "erase": erasing}[act]
    running = [fork(work, shop) for _ in range(BENCHES)]
    killed = 0
    while killed < kills:
        child, read = running.pop(0)
        heard, ended = _lines(read, time.monotonic() + 0.02)
        while not heard and not ended:
            more, ended = _lines(read, time.monotonic() + 0.02)
            heard += more
        more, ended = _lines(read, time.monotonic() + chance.uniform(0.0, 0.02))
        shop.hear(heard + more)
        killed += _kill(child, read, shop)
        running.append(fork(work, shop))
    for child, read in running:
        _kill(child, read, shop)
    return killed


def _kill(child: int, read: int, shop: Shop) -> int:
    os.kill(child, signal.SIGKILL)
    shop.hear(_lines(read)[0])
    os.close(read)
    _, status = os.waitpid(child, 0)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status):
        raise SystemExit(f"a program at work ended with {os.WEXITSTATUS(status)}")
    return int(os.WIFSIGNALED(status))


def _deaf() -> Told:
    told = Told.__new__(Told)
    told.handle = os.open(os.devnull, os.O_WRONLY)
    return told


def kill_once(shop: Shop, act: str, kills: int, chance: random.Random) -> int:
    """An act that ends by itself, killed at random times all through it, then done again."""
    work, begin = {"read": (reading, empty), "upgrade": (opening, old)}[act]
    span = _unharmed(shop, work, begin)
    killed = 0
    for _ in range(kills):
        begin(shop)
        child, read = fork(work, shop)
        _wait_for("begun", read)
        time.sleep(chance.uniform(0.0, span))
        hit = _kill(child, read, shop)
        killed += hit
        # The machine may have been busier when the act was timed, or be so now.
        span *= 1.1 if hit else 0.8
        with shop.open() as store:
            if act == "read" and not store.heads():
                restore.read(store, shop.folder / "shop.zip")
        if lost := shop.lost():
            raise SystemExit(f"{lost} events lost by {act}")
    return killed


def _unharmed(
    shop: Shop, work: Callable[[Shop, Told], None], begin: Callable[[Shop], None]
) -> float:
    """How long the act takes from its beginning when nobody kills it [s]."""
    begin(shop)
    child, read = fork(work, shop)
    _wait_for("begun", read)
    start = time.monotonic()
    _wait_for("done", read)
    took = time.monotonic() - start
    os.waitpid(child, 0)
    os.close(read)
    return took


def _wait_for(word: str, read: int) -> None:
    heard: list[str] = []
    ended = False
    while word not in heard and not ended:
        more, ended = _lines(read, time.monotonic() + 0.002)
        heard += more
    if word not in heard and "done" not in heard:
        raise SystemExit(f"a program ended before it said {word}")


def serve(shop: Shop) -> int:
    """Work without end and tell promises on standard output, until the database is gone."""
    told = Told.__new__(Told)
    told.handle = 1
    with shop.open() as store:
        while len(store.heads()) < 2:
            bike(store, told)
    try:
        working(shop, told)
    except CyclewrightError as error:
        os.write(2, f"{error}\n".encode())
    return 1


def main() -> int:
    act, folder, kills, seed = sys.argv[1], Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])
    shop = Shop(folder, sys.argv[5] if len(sys.argv) > 5 else None)
    if (folder / "before").exists():
        shop.hear((folder / "before").read_text().splitlines())
    chance = random.Random(seed)
    if act == "serve":
        return serve(shop)
    run = kill_at_work if act in ("work", "erase") else kill_once
    killed = run(shop, act, kills, chance)
    told = {"killed": killed, "acknowledged": len(shop.promised), "lost": shop.lost()}
    print(json.dumps(told | {"torn": shop.torn}))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
