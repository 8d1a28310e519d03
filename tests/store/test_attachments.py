"""Attachments: content-addressed, salted when personal, torn ones named."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from cyclewright.errors import InputError, Integrity
from cyclewright.store import attachments, photos
from cyclewright.store.attachments import Folder, pack, unpack
from postgres import Place


@given(st.binary(max_size=300), st.booleans())
def test_what_goes_in_comes_out(payload: bytes, personal: bool) -> None:
    address, content = pack(payload, "image/jpeg", personal)
    found = unpack(address, content)
    assert (found.media, found.payload) == ("image/jpeg", payload)
    assert hashlib.sha256(content).hexdigest() == address


def test_a_personal_address_says_nothing_of_its_content() -> None:
    """The same name twice gives two addresses, so that no list of names can be tried out."""
    one, two = (pack(b"Same Name", "text/plain", True)[0] for _ in range(2))
    assert one != two
    assert hashlib.sha256(b"Same Name").hexdigest() not in (one, two)
    three, four = (pack(b"a drawing", "text/plain", False)[0] for _ in range(2))
    assert three == four


def test_a_changed_or_missing_attachment_is_named(tmp_path: Path) -> None:
    shelf = Folder(tmp_path)
    address, content = pack(b"rider", "text/plain", True)
    with pytest.raises(Integrity, match=f"attachment {address[:12]}: it is missing"):
        unpack(address, shelf.get(address))
    shelf.put(address, content)
    assert unpack(address, shelf.get(address)).payload == b"rider"
    place = tmp_path / address[:2] / address
    place.write_bytes(content[:-1] + b"X")
    with pytest.raises(Integrity, match=f"attachment {address[:12]}: it was changed"):
        unpack(address, shelf.get(address))


def test_a_shelf_keeps_gives_and_lets_go(place: Place) -> None:
    """The same for files and for rows of the shared database."""
    shelf = place.open().shelf
    address, content = pack(b"x" * 1000, "text/plain", True)
    assert shelf.get(address) is None
    shelf.put(address, content)
    shelf.put(address, content)
    assert shelf.get(address) == content
    shelf.drop(address)
    shelf.drop(address)
    assert shelf.get(address) is None


@pytest.mark.parametrize("address", ["../../etc/passwd", "", "Z" * 64, "a" * 63])
def test_an_address_is_never_a_path(tmp_path: Path, address: str) -> None:
    with pytest.raises(Integrity, match="this is no address"):
        Folder(tmp_path).get(address)


def test_nothing_half_written_is_left(tmp_path: Path) -> None:
    shelf = Folder(tmp_path)
    address, content = pack(b"x" * 1000, "text/plain", True)
    shelf.put(address, content)
    shelf.put(address, content)
    assert [path.name for path in tmp_path.rglob("*") if path.is_file()] == [address]


def test_half_of_an_erased_attachment_goes_with_it(tmp_path: Path) -> None:
    """A program killed in the middle of keeping a rider's photo leaves nothing after an erasure."""
    shelf = Folder(tmp_path)
    address, content = pack(b"x" * 1000, "image/jpeg", True)
    shelf.put(address, content)
    (tmp_path / address[:2] / f".{address}.77.abcd").write_bytes(content[:500])
    shelf.drop(address)
    assert not [path for path in tmp_path.rglob("*") if path.is_file()]


def test_too_large_is_refused() -> None:
    with pytest.raises(InputError, match="attach less than 20 MB"):
        pack(b"0" * (attachments.CAP + 1), "text/plain", False)


def _photo(kind: str, size: tuple[int, int] = (64, 32), **more: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (200, 30, 30)).save(out, kind, **more)
    return out.getvalue()


def test_a_photo_loses_its_position_and_keeps_its_picture() -> None:
    exif = Image.Exif()
    exif[0x010F] = "Invented Phone"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    exif[0x0112] = 6
    taken = _photo("JPEG", exif=exif.tobytes())
    assert b"Invented Phone" in taken
    plain = photos.clean(taken)
    assert b"Invented Phone" not in plain
    with Image.open(io.BytesIO(plain)) as image:
        assert not image.getexif()
        assert image.size == (32, 64), "turned upright before the mark that says so is dropped"
        red = image.getpixel((16, 32))
    assert isinstance(red, tuple)
    assert red[0] > 180 > 80 > red[1]


def test_a_large_photo_is_made_smaller() -> None:
    with Image.open(io.BytesIO(photos.clean(_photo("PNG", (3000, 1500))))) as image:
        assert image.size == (2048, 1024)


@pytest.mark.parametrize("content", [b"", b"GIF89a" + b"\0" * 50, b"<svg/>", _photo("PNG")[:60]])
def test_what_is_no_photo_is_refused(content: bytes) -> None:
    with pytest.raises(InputError, match="give a photo as JPEG, PNG or WebP"):
        photos.clean(content)
