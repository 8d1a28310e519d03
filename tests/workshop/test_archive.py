"""A shop is backed up, restored, and moved between SQLite and PostgreSQL, by its use cases."""

from __future__ import annotations

from pathlib import Path

import pytest

from cyclewright.errors import Integrity
from cyclewright.store.store import Store
from cyclewright.workshop import archive, build, care, erase, receive, release
from cyclewright.workshop.shop import Shop
from postgres import Server
from workshop.shops import build_until


def _shop(folder: Path, url: str | None = None) -> Shop:
    return Shop(folder, Store.open(folder, url))


def test_a_shop_moves_to_the_other_database_and_back(
    built: Shop, tmp_path: Path, postgres: Server
) -> None:
    """There and back again: the same archive, the same bikes, and work goes on."""
    release.gate(built, 1, "ride", by="Ada")
    build_until(built, 1, "Prove", "Release")
    release.gate(built, 1, "release", by="Ada")
    release.release(built, 1, by="Ada")
    erase.erase_bike(built, 1, ("photos",), reason="asked", by="Ada")
    first = archive.write_archive(built, tmp_path / "first.zip")
    before = care.show(built, 1).to_json()
    other = postgres.database() if built.store.engine.dialect.name == "sqlite" else None
    with _shop(tmp_path / "there", other) as there:
        assert archive.read_archive(tmp_path / "first.zip", there).hash == first.hash
        assert care.show(there, 1).to_json() == before
        assert receive.list_bikes(there) == receive.list_bikes(built)
        moved = archive.write_archive(there, tmp_path / "moved.zip")
    back_in = None if other else postgres.database()
    with _shop(tmp_path / "back", back_in) as back:
        archive.read_archive(tmp_path / "moved.zip", back)
        last = archive.write_archive(back, tmp_path / "last.zip")
        assert care.show(back, 1).to_json() == before
        assert care.verify(back).ok
        build.touch(back, 1, ["front_axle"], "wheel out for a tube", by="Ada")
        assert care.verify(back).ok
    assert first.hash == moved.hash == last.hash
    assert (tmp_path / "first.zip").read_bytes() == (tmp_path / "last.zip").read_bytes()
    assert first.erased > 0
    for address in (other, back_in):
        if address:
            postgres.drop(address)


def test_the_answer_says_what_is_in_it(built: Shop, tmp_path: Path) -> None:
    path = tmp_path / "shop.zip"
    answer = archive.write_archive(built, path)
    assert answer.events == care.verify(built).events
    assert (answer.said, answer.missing, answer.size) == ("whole", (), path.stat().st_size)
    assert archive.check_archive(path).hash == answer.hash
    assert path.stat().st_mode & 0o077 == 0
    assert answer.to_json()["hash"] == answer.hash
    with pytest.raises(Integrity, match="it holds events already"):
        archive.read_archive(path, built)
    assert archive.mend_from_archive(path, built) == (0, 0)
