"""The archive: the same bytes from either database, and nothing taken from a file that is not one.

Every hostile file is made from a real archive, changed in one place.
"""

from __future__ import annotations

import hashlib
import io
import json
import random
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from cyclewright.errors import InputError, Integrity, Refusal
from cyclewright.record.events import Draft
from cyclewright.store import archive, attachments, backup, restore, tombstones
from cyclewright.store.store import Store
from cyclewright.store.verifying import verify
from postgres import Place
from store.shelves import add, bike

Members = dict[str, bytes]


def _filled(store: Store) -> Store:
    """Two bikes with readings and three attachments, one of them erased."""
    for turn in range(2):
        stream = bike(store)
        add(store, stream, 6)
        kept = store.attach(b"photo" * 900 + bytes([turn]), "image/jpeg")
        store.append(stream, [Draft("reading-taken", "r", {"photo": {"attachment": kept}})])
    gone = store.attach(b"Somebody", "text/plain")
    store.append(1, [Draft("reading-taken", "s", {"name": {"attachment": gone}})])
    store.append(1, [Draft("erased", "erased", {"addresses": [gone], "reason": "asked"})])
    store.erase([gone])
    return store


@pytest.fixture
def store(place: Place) -> Store:
    return _filled(place.open())


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive as it should be."""
    folder = tmp_path_factory.mktemp("whole")
    made = _filled(Store.open(folder / "data"))
    backup.write(made, folder / "shop.zip")
    made.close()
    return folder / "shop.zip"


def _bodies(store: Store) -> list[tuple[int, int, bytes, bytes]]:
    found = [store.events(stream) for stream in (1, 2)]
    return [(e.stream, e.number, e.hash, e.uuid.encode()) for events in found for e in events]


def test_what_went_in_comes_out_and_gives_the_same_archive(
    store: Store, tmp_path: Path, place: Place
) -> None:
    first = backup.write(store, tmp_path / "first.zip")
    other = Store.open(tmp_path / "other")
    done = restore.read(other, tmp_path / "first.zip")
    assert (done.archive.hash, done.attachments, done.erased) == (first.hash, 2, 1)
    assert _bodies(other) == _bodies(store)
    assert other.name() == store.name()
    report = verify(other)
    assert (report.faults, report.notes, report.erased) == ([], [], 1)
    backup.write(other, tmp_path / "second.zip")
    assert (tmp_path / "first.zip").read_bytes() == (tmp_path / "second.zip").read_bytes()
    other.append(1, [Draft("reading-taken", "after", {})])
    assert not verify(other).faults
    other.close()


def test_an_empty_shop_has_an_archive_too(tmp_path: Path) -> None:
    empty = Store.open(tmp_path / "empty")
    assert backup.write(empty, tmp_path / "e.zip").manifest.sequence == 0
    again = Store.open(tmp_path / "again")
    restore.read(again, tmp_path / "e.zip")
    assert again.name() == empty.name()
    for item in (empty, again):
        item.close()


def test_a_record_that_holds_events_is_not_written_over(store: Store, whole: Path) -> None:
    before = _bodies(store)
    with pytest.raises(Integrity, match="it holds events already: read the archive into a new"):
        restore.read(store, whole)
    assert _bodies(store) == before


def test_an_archive_is_not_written_over(store: Store, whole: Path) -> None:
    before = whole.read_bytes()
    with pytest.raises(InputError, match="name another, so that no backup is lost"):
        backup.write(store, whole)
    assert whole.read_bytes() == before


def test_a_changed_event_is_not_backed_up(store: Store, tmp_path: Path) -> None:
    from store.shelves import change_byte

    change_byte(store, 2, 3)
    with pytest.raises(Integrity, match="bike 2 event 3: it is not as it was written"):
        backup.write(store, tmp_path / "x.zip")
    assert list(tmp_path.glob("*.zip")) == list(tmp_path.glob(".*.zip*")) == []


def test_a_torn_attachment_is_listed_and_mended_from_a_backup(
    store: Store, whole: Path, tmp_path: Path
) -> None:
    good = tmp_path / "good.zip"
    backup.write(store, good)
    (address,) = {str(e.data["photo"]["attachment"]) for e in store.events(2) if "photo" in e.data}
    store.shelf.drop(address)
    torn = backup.write(store, tmp_path / "torn.zip")
    assert torn.manifest.missing == (address,)
    other = Store.open(tmp_path / "other")
    restore.read(other, tmp_path / "torn.zip")
    assert "is missing" in verify(other).faults[0].what
    assert restore.mend(other, tmp_path / "torn.zip") == (0, 1)
    with pytest.raises(Refusal, match="it is a backup of another shop"):
        restore.mend(other, whole)
    assert restore.mend(other, good) == (1, 0)
    assert verify(other).faults == []
    other.close()


def test_an_older_backup_does_not_bring_back_what_was_erased_since(
    store: Store, tmp_path: Path
) -> None:
    """Erased after the backup: the list beside the record, or a newer archive, replays it."""
    old, new = tmp_path / "old.zip", tmp_path / "new.zip"
    backup.write(store, old)
    (address,) = {str(e.data["photo"]["attachment"]) for e in store.events(2) if "photo" in e.data}
    store.append(2, [Draft("erased", "erased", {"addresses": [address], "reason": "asked"})])
    store.erase([address])
    backup.write(store, new)
    for name, listed in (("a", store.folder / tombstones.FILE), ("b", new)):
        other = Store.open(tmp_path / name)
        done = restore.read(other, old, archive.tombstones(listed))
        assert (done.attachments, done.replayed) == (1, 1)
        assert other.shelf.get(address) is None
        assert other.events(2)[-1].kind == "erased"
        report = verify(other)
        assert (report.faults, report.notes, report.erased) == ([], [], 2)
        other.close()
    here = Store.open(tmp_path / "c")
    tombstones.add(here.folder, [address])
    assert restore.read(here, old).replayed == 1
    here.close()


def _changed(path: Path, change: Callable[[Members], None], to: Path, **more: object) -> Path:
    """The archive with its members changed, packed again as an archive is."""
    with zipfile.ZipFile(path) as zipped:
        members = {name: zipped.read(name) for name in zipped.namelist()}
    change(members)
    with zipfile.ZipFile(to, "w") as zipped:
        for name, content in members.items():
            stored = name.startswith(archive.ATTACHMENTS)
            kind = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
            zipped.writestr(name, content, compress_type=kind)
    return to


def _manifest(members: Members, **changes: object) -> None:
    content = json.loads(members[archive.MANIFEST])
    members[archive.MANIFEST] = json.dumps(
        content | changes, sort_keys=True, separators=(",", ":"), ensure_ascii=False
    ).encode()


def _events(members: Members, events: bytes) -> None:
    """Other events, with the manifest's hash of them made to fit."""
    members[archive.EVENTS] = events
    _manifest(members, events=hashlib.sha256(events).hexdigest())


def _flip_event(members: Members) -> None:
    _events(members, members[archive.EVENTS].replace(b'"value":3.0', b'"value":9.0', 1))


def _drop_event(members: Members) -> None:
    _events(members, b"".join(members[archive.EVENTS].splitlines(keepends=True)[:-1]))


def _swap_events(members: Members) -> None:
    lines = members[archive.EVENTS].splitlines(keepends=True)
    lines[2], lines[3] = lines[3], lines[2]
    _events(members, b"".join(lines))


def _first_photo(members: Members) -> str:
    return next(name for name in members if name.startswith(archive.ATTACHMENTS))


def _flip_photo(members: Members) -> None:
    members[_first_photo(members)] = members[_first_photo(members)][:-1] + b"?"


def _drop_photo(members: Members) -> None:
    del members[_first_photo(members)]


def _drop_photo_and_say_nothing(members: Members) -> None:
    name = _first_photo(members)
    del members[name]
    left = [item.removeprefix(archive.ATTACHMENTS) for item in members]
    _manifest(members, attachments=sorted(item for item in left if len(item) == 64))


def _climb(members: Members) -> None:
    members["../../escaped"] = b"outside"


def _climb_in_attachments(members: Members) -> None:
    members["attachments/../../../escaped"] = b"outside"


def _absolute(members: Members) -> None:
    members["/tmp/escaped"] = b"outside"


def _more_attachments(members: Members) -> None:
    address, content = attachments.pack(b"filler" * 99, "text/plain", False)
    members[archive.ATTACHMENTS + address] = content
    held = json.loads(members[archive.MANIFEST])["attachments"]
    _manifest(members, attachments=sorted([*held, address]))


def _negative(members: Members) -> None:
    _events(members, members[archive.EVENTS].replace(b"1 1 1 ", b"-1 1 1 ", 1))


def _endless(members: Members) -> None:
    first = members[archive.EVENTS].split(b" ")
    first[5] = b"999999999999"
    _events(members, b" ".join(first))


def _no_head(members: Members) -> None:
    _events(members, b"x" * 5000)


HOSTILE: dict[str, tuple[Callable[[Members], None], str]] = {
    "event changed": (_flip_event, "is not as it was written"),
    "event dropped": (_drop_event, "its events are not those of its manifest"),
    "events swapped": (_swap_events, "is not as it was written"),
    "photo changed": (_flip_photo, "it was changed"),
    "photo dropped": (_drop_photo, "does not hold what its manifest lists"),
    "photo dropped quietly": (_drop_photo_and_say_nothing, "not those of its events"),
    "path upwards": (_climb, "a file that is none of an archive's"),
    "path upwards inside": (_climb_in_attachments, "a file that is none of an archive's"),
    "absolute path": (_absolute, "a file that is none of an archive's"),
    "filler": (_more_attachments, "its attachments are not those of its events"),
    "negative": (_negative, "its events are torn or were changed"),
    "endless event": (_endless, "an event larger than any can be"),
    "no head": (_no_head, "its events are torn or were changed"),
    "no manifest": (lambda m: m.pop(archive.MANIFEST), "it has no manifest.json"),
    "no events": (lambda m: m.pop(archive.EVENTS), "does not hold what its manifest lists"),
    "newer format": (lambda m: _manifest(m, format="cyclewright archive 9"), "newer Cyclewright"),
    "manifest a list": (lambda m: m.update({archive.MANIFEST: b"[]"}), "newer Cyclewright"),
    "manifest no text": (lambda m: m.update({archive.MANIFEST: b"\xff\xfe"}), "torn or was"),
    "manifest deep": (lambda m: m.update({archive.MANIFEST: b"[" * 200_000}), "torn or was"),
    "manifest with more": (lambda m: _manifest(m, extra=1), "its manifest is not as one"),
    "manifest of another type": (lambda m: _manifest(m, sequence="9"), "its manifest is not as"),
    "an address that climbs": (lambda m: _manifest(m, attachments=["../" * 21 + "x"]), "not as"),
    "another shop's name": (lambda m: _manifest(m, shop="x"), "its manifest is not as one"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_archive_is_refused_in_one_sentence(
    whole: Path, tmp_path: Path, name: str
) -> None:
    change, says = HOSTILE[name]
    path = _changed(whole, change, tmp_path / "hostile.zip")
    target = Store.open(tmp_path / "in" / "data")
    with pytest.raises(Integrity, match=says) as told:
        restore.read(target, path)
    assert "\n" not in str(told.value)
    assert target.heads() == {}
    outside = {item.name for item in tmp_path.rglob("*") if "escaped" in item.name}
    assert outside == set() and not Path("/tmp/escaped").exists()
    assert not (target.folder / "attachments").exists()
    target.close()


def test_an_archive_cut_short_anywhere_is_refused(whole: Path, tmp_path: Path) -> None:
    content, chance = whole.read_bytes(), random.Random(5)
    path = tmp_path / "cut.zip"
    cuts = [0, 1, 3, 21, 22, len(content) - 1, *chance.sample(range(len(content)), 60)]
    for cut in cuts:
        path.write_bytes(content[:cut])
        with pytest.raises(Integrity, match="use another archive, nothing was read"):
            archive.check(path)


def test_a_byte_changed_anywhere_is_refused_or_harmless(whole: Path, tmp_path: Path) -> None:
    """Bytes of the container that say nothing (dates, versions) may change; contents may not."""
    content, chance = whole.read_bytes(), random.Random(6)
    right = archive.check(whole)
    path, told = tmp_path / "changed.zip", 0
    for _ in range(250):
        broken = bytearray(content)
        broken[chance.randrange(len(broken))] ^= 1 << chance.randrange(8)
        path.write_bytes(broken)
        try:
            found = archive.check(path)
        except Integrity:
            told += 1
            continue
        assert found.manifest == right.manifest
    assert told > 150


def _bomb(whole: Path, to: Path, name: str, size: int, kind: int) -> Path:
    """The archive with one member that unpacks to `size` zeros."""
    with zipfile.ZipFile(whole) as zipped:
        members = {item: zipped.read(item) for item in zipped.namelist() if item != name}
    with zipfile.ZipFile(to, "w", kind) as zipped:
        for item, content in members.items():
            zipped.writestr(item, content, zipfile.ZIP_STORED)
        with zipped.open(name, "w", force_zip64=True) as file:
            for _ in range(size // 1_000_000):
                file.write(bytes(1_000_000))
    return to


@pytest.mark.parametrize(
    ("name", "size", "says"),
    [
        (archive.EVENTS, 80_000_000, "claim more room than they could have come from"),
        (archive.MANIFEST, 250_000_000, "is larger than any can be"),
        (archive.ATTACHMENTS + "a" * 64, 80_000_000, "packed otherwise than an archive is"),
    ],
)
def test_what_would_unpack_without_end_is_not_unpacked(
    whole: Path, tmp_path: Path, name: str, size: int, says: str
) -> None:
    path = _bomb(whole, tmp_path / "bomb.zip", name, size, zipfile.ZIP_DEFLATED)
    assert path.stat().st_size < size / 500
    with pytest.raises(Integrity, match=says):
        archive.check(path)


def test_more_members_than_one_may_have_are_not_even_listed(whole: Path, tmp_path: Path) -> None:
    content = bytearray(whole.read_bytes())
    end = content.rindex(b"PK\x05\x06")
    large = struct.pack("<4sQHHIIQQQQ", b"PK\x06\x06", 44, 45, 45, 0, 0, 2**40, 2**40, 9, 9)
    where = struct.pack("<4sIQI", b"PK\x06\x07", 0, end, 1)
    content[end + 8 : end + 12] = b"\xff\xff\xff\xff"
    (tmp_path / "many.zip").write_bytes(content[:end] + large + where + content[end:])
    with pytest.raises(Integrity, match="more attachments than one archive may hold"):
        archive.check(tmp_path / "many.zip")


def test_members_that_lie_over_each_other_are_refused(whole: Path, tmp_path: Path) -> None:
    """The list at the end names one content many times over."""
    with zipfile.ZipFile(whole) as zipped:
        infos = zipped.infolist()
        photo = next(i for i in infos if i.filename.startswith(archive.ATTACHMENTS))
        content = zipped.read(photo)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as zipped:
        zipped.writestr(archive.MANIFEST, b"{}")
        zipped.writestr(archive.EVENTS, b"")
        zipped.writestr(photo.filename, content)
        kept = zipped.getinfo(photo.filename)
        for turn in range(50):
            twin = zipfile.ZipInfo(archive.ATTACHMENTS + f"{turn:064x}", (1980, 1, 1, 0, 0, 0))
            twin.file_size = twin.compress_size = kept.file_size
            twin.CRC, twin.header_offset = kept.CRC, kept.header_offset
            zipped.filelist.append(twin)
    path = tmp_path / "over.zip"
    path.write_bytes(out.getvalue())
    with pytest.raises(Integrity, match="more than the file is long"):
        archive.check(path)


def test_a_file_twice_and_a_locked_file_are_refused(whole: Path, tmp_path: Path) -> None:
    twice = tmp_path / "twice.zip"
    twice.write_bytes(whole.read_bytes())
    with zipfile.ZipFile(twice, "a") as zipped, pytest.warns(UserWarning, match="Duplicate name"):
        zipped.writestr(archive.MANIFEST, b"{}", zipfile.ZIP_DEFLATED)
    with pytest.raises(Integrity, match="it holds one file twice"):
        archive.check(twice)
    locked = bytearray(whole.read_bytes())
    locked[locked.index(b"PK\x01\x02") + 8] |= 1
    (tmp_path / "locked.zip").write_bytes(locked)
    with pytest.raises(Integrity, match="packed otherwise than an archive is"):
        archive.check(tmp_path / "locked.zip")


@pytest.mark.parametrize("content", [b"", b"PK", b"not an archive", bytes(100_000)])
def test_what_is_no_archive_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.zip"
    path.write_bytes(content)
    with pytest.raises(Integrity, match="no archive at all"):
        archive.check(path)
    with pytest.raises(InputError, match="there is no such file"):
        archive.check(tmp_path / "nothing.zip")


def test_a_list_of_erasures_that_is_none_is_refused(tmp_path: Path) -> None:
    (tmp_path / "list").write_text("../../etc/passwd\n")
    with pytest.raises(InputError, match=r"give an archive, or the erased\.txt"):
        archive.tombstones(tmp_path / "list")
    with pytest.raises(InputError, match="it cannot be read"):
        archive.tombstones(tmp_path / "nothing")


def test_a_tombstone_cut_short_is_passed_over(tmp_path: Path) -> None:
    tombstones.add(tmp_path, ["a" * 64])
    path = tmp_path / tombstones.FILE
    path.write_bytes(path.read_bytes() + b"\n" + b"b" * 20)
    tombstones.add(tmp_path, ["c" * 64, "a" * 64])
    assert tombstones.known(tmp_path) == {"a" * 64, "c" * 64}
