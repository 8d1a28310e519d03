"""Shops for tests of the use cases that record."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from cyclewright.workshop.shop import Shop
from workshop.shops import build_to_gate, opened


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """An empty shop."""
    with Shop.open(tmp_path / "data") as made:
        yield made


@pytest.fixture(scope="session")
def _built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("built") / "data"
    with Shop.open(folder) as made:
        build_to_gate(made, opened(made))
    return folder


@pytest.fixture
def built(_built: Path, tmp_path: Path) -> Iterator[Shop]:
    """A shop whose bike 1 is ready for the ride gate."""
    shutil.copytree(_built, tmp_path / "built")
    with Shop.open(tmp_path / "built") as made:
        yield made
