"""A data folder of its own for every command."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from cli.commands import SHEETS, typed


@pytest.fixture(autouse=True)
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The shop's folder, named as an unattended command has it."""
    folder = tmp_path / "record"
    monkeypatch.setenv("CYCLEWRIGHT_DATA", str(folder))
    return folder


@pytest.fixture(scope="session")
def _one(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("one") / "record"
    changes = ("--change", "bike.post.travel=150 mm", "--change", "bike.post.length=430 mm")
    typed("open", *SHEETS, *changes, "--by", "Ada", "--data", folder)
    return folder


@pytest.fixture
def opened(_one: Path, data: Path) -> Path:
    """A record with the trail bike in it as number 1, nothing recorded yet."""
    shutil.copytree(_one, data)
    return data
