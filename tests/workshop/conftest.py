"""Shops for tests of the use cases that record, in SQLite and in PostgreSQL."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from cyclewright.workshop import release
from cyclewright.workshop.shop import Shop
from postgres import Server
from workshop.shops import build_to_gate, build_until, opened

CONTRACT = (
    "test_build",
    "test_carton",
    "test_erase",
    "test_people",
    "test_receive",
    "test_release",
)
"""The tests whose every promise is kept by both databases."""
VARIABLE = "CYCLEWRIGHT_DATABASE"


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Tests of the contract meet both databases, the others SQLite."""
    if "kept_in" in metafunc.fixturenames:
        both = Path(metafunc.module.__file__).stem in CONTRACT
        kinds = ("sqlite", "postgresql") if both else ("sqlite",)
        metafunc.parametrize("kept_in", kinds, indirect=True)


@pytest.fixture
def kept_in(request: pytest.FixtureRequest) -> str:
    """Which database keeps the record."""
    return str(request.param)


@pytest.fixture
def shop(
    kept_in: str,
    tmp_path: Path,
    request: pytest.FixtureRequest,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[Shop]:
    """An empty shop."""
    if kept_in == "sqlite":
        with Shop.open(tmp_path / "data") as made:
            yield made
        return
    server: Server = request.getfixturevalue("postgres")
    address = server.database()
    monkeypatch.setenv(VARIABLE, address)
    with Shop.open(tmp_path / "data") as made:
        yield made
    server.drop(address)


@pytest.fixture(scope="session")
def _built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("built") / "data"
    with Shop.open(folder) as made:
        build_to_gate(made, opened(made))
    return folder


@pytest.fixture(scope="session")
def _built_in_rows(postgres: Server, _built: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The same shop moved into a database by way of an archive."""
    from cyclewright.store.store import Store
    from cyclewright.workshop import archive

    address = postgres.database()
    folder = tmp_path_factory.mktemp("moved")
    with Shop.open(_built) as made:
        archive.write_archive(made, folder / "shop.zip")
    with Shop(folder / "data", Store.open(folder / "data", address)) as empty:
        archive.read_archive(folder / "shop.zip", empty)
    return address


@pytest.fixture
def built(
    kept_in: str,
    _built: Path,
    tmp_path: Path,
    request: pytest.FixtureRequest,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[Shop]:
    """A shop whose bike 1 is ready for the ride gate."""
    if kept_in == "sqlite":
        shutil.copytree(_built, tmp_path / "built")
        with Shop.open(tmp_path / "built") as made:
            yield made
        return
    server: Server = request.getfixturevalue("postgres")
    address = server.database(request.getfixturevalue("_built_in_rows").rpartition("/")[2])
    monkeypatch.setenv(VARIABLE, address)
    with Shop.open(tmp_path / "built") as made:
        yield made
    server.drop(address)


@pytest.fixture(scope="session")
def _released(_built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("released") / "data"
    shutil.copytree(_built, folder)
    with Shop.open(folder) as made:
        release.gate(made, 1, "ride", by="Ada")
        build_until(made, 1, "Prove", "Release")
        release.release(made, 1, by="Ada")
    return folder


@pytest.fixture
def released(_released: Path, tmp_path: Path) -> Iterator[Shop]:
    """A shop whose bike 1 was released."""
    shutil.copytree(_released, tmp_path / "released")
    with Shop.open(tmp_path / "released") as made:
        yield made
