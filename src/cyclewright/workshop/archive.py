"""The archive: one file that is a shop's backup, its restore, and the move to another database."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cyclewright.units import System

if TYPE_CHECKING:
    from cyclewright.store.archive import Checked
    from cyclewright.workshop.shop import Shop


@dataclass(frozen=True, slots=True)
class ArchiveAnswer:
    """What an archive holds, and what was done with it."""

    path: str
    hash: str
    """SHA-256 of its manifest, which holds the hashes of all the rest: note it on paper."""
    events: int
    attachments: int
    erased: int
    """Tombstones: attachments erased on purpose, which it neither holds nor brings back."""
    missing: tuple[str, ...]
    """Addresses of attachments that were torn when it was written."""
    size: int
    """Bytes of the file."""
    said: str

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The answer as plain data."""
        found = {name: getattr(self, name) for name in self.__slots__}
        return found | {"missing": list(self.missing)}


def write_archive(shop: Shop, path: Path | str) -> ArchiveAnswer:
    """Write the whole shop into a new file, checked by reading it back before it is in place."""
    from cyclewright.store import backup

    found = backup.write(shop.store, Path(path))
    torn = len(found.manifest.missing)
    said = f"{torn} torn {_attachments(torn)} could not be put in" if torn else "whole"
    return _answer(path, found, said)


def read_archive(path: Path | str, shop: Shop, erasures: Path | str | None = None) -> ArchiveAnswer:
    """Restore a shop from an archive into an empty record; whatever was erased stays erased.

    `erasures` names a newer archive, or the `erased.txt` of another data folder, whose erasures
    are replayed besides those that this archive and this data folder know.
    """
    from cyclewright.store import archive, restore

    later = archive.tombstones(Path(erasures)) if erasures is not None else frozenset[str]()
    found = restore.read(shop.store, Path(path), later)
    shop.forget()
    said = f"{found.replayed} erasures replayed" if found.replayed else "restored"
    return _answer(path, found.archive, said)


def check_archive(path: Path | str) -> ArchiveAnswer:
    """Every event and attachment of an archive against its hashes; nothing is kept."""
    from cyclewright.store import archive

    return _answer(path, archive.check(Path(path)), "as it was written")


def mend_from_archive(path: Path | str, shop: Shop) -> tuple[int, int]:
    """Put back torn or missing attachments; how many were put back, how many are still missing."""
    from cyclewright.store import restore

    return restore.mend(shop.store, Path(path))


def _answer(path: Path | str, found: Checked, said: str) -> ArchiveAnswer:
    told = found.manifest
    return ArchiveAnswer(
        str(path),
        found.hash,
        told.sequence,
        len(told.attachments),
        len(told.erased),
        told.missing,
        found.size,
        said,
    )


def _attachments(count: int) -> str:
    return "attachment" if count == 1 else "attachments"
