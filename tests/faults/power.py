"""Power loss, simulated: what a disk may hold when the machine stops after any one write.

A library that is loaded before the program notes each write, sync, rename and unlink of a run, for
every file of the data folder: SQLite's own and ours alike. The notes are then cut at every place,
and from each cut the files are made that a disk might show afterwards:

- `issued`: everything reached the disk (what killing the program leaves behind);
- `synced`: only what was synced did; files and names that were not are as they were before;
- `torn`: of what was not synced, each write by chance did, did not, or did in part, in sectors of
  512 bytes, whatever their order; changes of one folder's names by chance up to some point.

What is not simulated: a disk that says it has synced and has not, and one that loses what it had.
"""

from __future__ import annotations

import os
import random
import shutil
import struct
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

HERE = Path(__file__).parent
SECTOR = 512
TOLD = "told"


@dataclass(slots=True)
class File:
    """A file's content as synced, and what was written since."""

    content: bytearray = field(default_factory=bytearray)
    pending: list[tuple[int, bytes | None]] = field(default_factory=list)
    """Offset and data; None cuts the file to that length."""

    def sync(self) -> None:
        """All that was written is on disk."""
        for offset, data in self.pending:
            _put(self.content, offset, data)
        self.pending = []

    def after(self, chance: random.Random | None, keep: bool) -> bytes:
        """The content that a disk may show."""
        found = bytearray(self.content)
        for offset, data in self.pending:
            if chance is None:
                if keep:
                    _put(found, offset, data)
                continue
            lot = chance.random()
            if lot < 0.4 or (data is None and lot < 0.7):
                _put(found, offset, data)
            elif data is not None and lot < 0.7:
                for part in range(0, len(data), SECTOR):
                    if chance.random() < 0.5:
                        _put(found, offset + part, data[part : part + SECTOR])
        return bytes(found)


def _put(content: bytearray, offset: int, data: bytes | None) -> None:
    if data is None:
        del content[offset:]
        content.extend(bytes(offset - len(content)))
        return
    if len(content) < offset:
        content.extend(bytes(offset - len(content)))
    content[offset : offset + len(data)] = data


@dataclass(slots=True)
class Folder:
    """Names in a folder as synced, and their changes since: a name to what it names, or nothing."""

    names: dict[str, File | Folder] = field(default_factory=dict)
    pending: list[tuple[tuple[str, File | Folder | None], ...]] = field(default_factory=list)

    def now(self) -> dict[str, File | Folder]:
        """The names as the running program sees them."""
        return self.first(len(self.pending))

    def first(self, count: int) -> dict[str, File | Folder]:
        """The names after so many of the changes that were not synced."""
        found = dict(self.names)
        for change in self.pending[:count]:
            for name, item in change:
                if item is None:
                    found.pop(name, None)
                else:
                    found[name] = item
        return found

    def sync(self) -> None:
        """All changes of names are on disk."""
        self.names, self.pending = self.now(), []

    def image(self, to: Path, how: str, chance: random.Random) -> None:
        """The files that a disk may show now, below `to`."""
        to.mkdir(exist_ok=True)
        most = len(self.pending)
        count = {"issued": most, "synced": 0}.get(how, chance.randint(0, most))
        lot = chance if how == "torn" else None
        for name, item in self.first(count).items():
            if isinstance(item, Folder):
                item.image(to / name, how, chance)
            else:
                (to / name).write_bytes(item.after(lot, how == "issued"))


@dataclass(frozen=True, slots=True)
class Note:
    """One change as it was noted."""

    kind: str
    path: str
    offset: int
    data: bytes


class Disk:
    """The files of a run, as far as it has come."""

    def __init__(self, root: Path) -> None:
        self.root = str(root)
        self.folders: dict[str, Folder] = {self.root: Folder()}
        self.told = File()
        for path in sorted(root.rglob("*")):
            if _passed_over(str(path)):
                continue
            item = Folder() if path.is_dir() else File(bytearray(path.read_bytes()))
            self.folders[str(path.parent)].names[path.name] = item
            if isinstance(item, Folder):
                self.folders[str(path)] = item

    def image(self, to: Path, how: str, chance: random.Random) -> None:
        """The files that a disk may show now, below `to`."""
        self.folders[self.root].image(to, how, chance)

    def apply(self, note: Note) -> None:
        """Go on by one change."""
        if note.path == f"{self.root}/{TOLD}":
            if note.kind == "w":
                _put(self.told.content, note.offset, note.data)
            return
        item = self.folders.get(note.path)
        if note.kind == "s" and item is not None:
            item.sync()
            return
        folder, name = self._place(note.path)
        there = folder.now().get(name)
        if note.kind == "m":
            self.folders[note.path] = Folder()
            folder.pending.append(((name, self.folders[note.path]),))
        elif note.kind in "rl":
            self._moved(note, folder, name)
        elif note.kind == "u":
            folder.pending.append(((name, None),))
        elif note.kind == "o" and there is None:
            folder.pending.append(((name, File()),))
        else:
            assert isinstance(there, File), note.path
            self._written(note, there)

    def _written(self, note: Note, file: File) -> None:
        if note.kind == "s":
            file.sync()
        else:
            file.pending.append((note.offset, note.data if note.kind == "w" else None))

    def _moved(self, note: Note, folder: Folder, name: str) -> None:
        to, new = self._place(note.data.decode())
        item = folder.now()[name]
        if note.kind == "l":
            to.pending.append(((new, item),))
        elif to is folder:
            folder.pending.append(((name, None), (new, item)))
        else:
            raise NotImplementedError("a file moved between folders")

    def _place(self, path: str) -> tuple[Folder, str]:
        pure = PurePosixPath(path)
        return self.folders[str(pure.parent)], pure.name


def _passed_over(path: str) -> bool:
    """SQLite's shared memory is made anew from the write-ahead log after every crash."""
    return path.endswith("-shm")


def build_library(to: Path) -> Path:
    """The library that notes what a program writes."""
    compiler = shutil.which("cc") or shutil.which("gcc")
    if compiler is None:
        raise RuntimeError("install a C compiler: on Debian `apt-get install gcc libc6-dev`")
    made = to / "record_writes.so"
    source = HERE / "record_writes.c"
    command = [compiler, "-O1", "-shared", "-fPIC", "-o", made, source, "-ldl", "-lpthread"]
    subprocess.run(command, check=True)
    return made


def record(library: Path, act: str, root: Path, *more: str) -> list[Note]:
    """Run an act in a child over the files below `root` and give the notes of what it wrote."""
    log = root.with_name(f"{root.name}.notes")
    environment = os.environ | {
        "LD_PRELOAD": str(library),
        "RECORD_ROOT": str(root),
        "RECORD_LOG": str(log),
        "PYTHONPATH": str(HERE.parent),
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    command = [sys.executable, "-m", "faults.acts", act, str(root), *more]
    subprocess.run(command, env=environment, check=True)
    return [note for note in _notes(log.read_bytes()) if not _passed_over(note.path)]


def _notes(raw: bytes) -> Iterator[Note]:
    place = 0
    while place < len(raw):
        kind = chr(raw[place])
        path_length, offset, length = struct.unpack_from("=QQQ", raw, place + 1)
        place += 25
        path = raw[place : place + path_length].decode()
        place += path_length
        yield Note(kind, path, offset, raw[place : place + length])
        place += length


def cuts(before: Disk, notes: list[Note]) -> Iterator[tuple[int, Disk]]:
    """The disk after each change; a promise told is no change of its own."""
    for count, note in enumerate(notes, 1):
        before.apply(note)
        last = count == len(notes)
        if last or not notes[count].path.endswith(f"/{TOLD}"):
            yield count, before
