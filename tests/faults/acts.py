"""What is done to a record while something goes wrong: run in a child, told line by line.

`python -m faults.acts ACT ROOT` with ACT one of `ACTS`. Each promise is written to ROOT/told as
soon as it has been made; a promise that is told there must be kept whatever happens next.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from cyclewright.record.events import Draft, Event, signed_message
from cyclewright.store import backup, restore, signing
from cyclewright.store.store import Head, Store

FIRST = {"alembic_version", "attachment", "event", "shop", "stream", "summary"}
"""Tables of the first version."""
VISIT = {"visit": "build", "name": "Invented"}


class Told:
    """Promises, one a line: `event STREAM NUMBER HASH [ADDRESS]`, `erased ADDRESS`, `done`."""

    def __init__(self, path: Path) -> None:
        self.handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)

    def say(self, *words: object) -> None:
        """One promise made."""
        os.write(self.handle, (" ".join(str(word) for word in words) + "\n").encode())

    def event(self, event: Event, address: str = "") -> None:
        """An event acknowledged."""
        self.say("event", event.stream, event.number, event.hash.hex(), address)


def one(store: Store, stream: int, told: Told, turn: int) -> str:
    """A photo kept and an event that names it."""
    address = store.attach(b"photo %d " % turn * 40, "image/jpeg")
    data = {"kind": "fork-sag", "value": float(turn), "photo": {"attachment": address}}
    told.event(store.append(stream, [Draft("reading-taken", f"reading:{turn}", data)])[0], address)
    return address


def bike(store: Store, told: Told) -> int:
    """A new bike."""
    event = store.new_stream(lambda _: [Draft("visit-opened", "visit", VISIT)])[0]
    told.event(event)
    return event.stream


def written(store: Store, promises: Path, turns: int) -> None:
    """A bike and so many events, with what was promised of them in a file."""
    told = Told(promises)
    stream = bike(store, told)
    for turn in range(turns):
        one(store, stream, told, turn)
    os.close(told.handle)


def work(root: Path, told: Told, turns: int = 6) -> None:
    """A new shop: bikes, photos, a checkpoint in the middle, an erasure, a signed release."""
    store = Store.open(root / "data")
    stream = bike(store, told)
    kept = [one(store, stream, told, turn) for turn in range(turns)]
    with store.engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA wal_checkpoint(PASSIVE)")
    other = bike(store, told)
    for turn in range(turns // 2):
        one(store, other, told, 100 + turn)
    erase(store, kept[0], told)
    sign(store, stream, told)
    store.close()
    told.say("done")


def erase(store: Store, address: str, told: Told) -> None:
    """The tombstone, then the content."""
    data = {"addresses": [address], "reason": "asked"}
    told.event(store.append(1, [Draft("erased", "erased", data)])[0])
    store.erase([address])
    told.say("erased", address)


def sign(store: Store, stream: int, told: Told) -> None:
    """The head of a bike signed, as a release does."""
    name = store.name()

    def make(head: Head) -> Draft:
        message = signed_message(name, stream, head.number, head.hash)
        key, signature = signing.sign(store.folder / "keys", message)
        data = {"number": head.number, "key": key, "signature": signature}
        return Draft("head-signed", "release", data)

    told.event(store.append(stream, [make])[0])


def migrate(root: Path, told: Told) -> None:
    """A record of the first version opened by this one."""
    Store.open(root / "data").close()
    told.say("done")


def write_archive(root: Path, told: Told) -> None:
    """A shop backed up."""
    store = Store.open(root / "data")
    backup.write(store, root / "shop.zip")
    told.say("done")
    store.close()


def read_archive(root: Path, told: Told) -> None:
    """A backup read into a new shop."""
    store = Store.open(root / "data")
    restore.read(store, root / "shop.zip")
    told.say("done")
    store.close()


def careless(root: Path, told: Told) -> None:
    """Work on a record that promises before it has synced: what the tests must notice."""
    with Store.open(root / "data") as store:
        with store.engine.connect() as connection:
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("PRAGMA synchronous=OFF")
            stream = bike(store, told)
        for turn in range(3):
            one(store, stream, told, turn)


ACTS = {
    "careless": careless,
    "work": work,
    "migrate": migrate,
    "write": write_archive,
    "read": read_archive,
}


if __name__ == "__main__":
    folder = Path(sys.argv[2])
    ACTS[sys.argv[1]](folder, Told(folder / "told"))
