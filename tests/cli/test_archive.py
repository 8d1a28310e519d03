"""Backup, restore and repair on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cyclewright.cli.main import run
from cyclewright.workshop import receive, sheets
from cyclewright.workshop.shop import Shop

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A data folder with one bike."""
    read = sheets.read_sheets(
        EXAMPLES / "bikes/hardtail.toml",
        EXAMPLES / "riders/heavy.toml",
        EXAMPLES / "places/right.toml",
    )
    with Shop.open(tmp_path / "data") as shop:
        receive.open_bike(shop, read, by="Mara Quill")
    return tmp_path / "data"


def _json(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, object]:
    assert run([str(word) for word in (*words, "--json")]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def test_written_checked_and_read_into_a_new_folder(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, new = tmp_path / "shop.zip", tmp_path / "new"
    written = _json(capsys, "archive", "write", file, "--data", data)
    assert _json(capsys, "archive", "verify", file)["hash"] == written["hash"]
    assert _json(capsys, "archive", "read", file, "--data", new)["hash"] == written["hash"]
    listed = _json(capsys, "list", "--data", new)
    assert listed == _json(capsys, "list", "--data", data)
    assert run(["archive", "verify", str(file)]) == 0
    assert str(written["hash"]) in capsys.readouterr().out


def test_what_cannot_be_is_one_sentence_and_code_4(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "shop.zip"
    assert run(["archive", "write", str(file), "--data", str(data)]) == 0
    assert run(["archive", "read", str(file), "--data", str(data)]) == 4
    assert "it holds events already" in capsys.readouterr().err
    assert run(["archive", "write", str(file), "--data", str(data)]) == 2
    assert "name another" in capsys.readouterr().err
    file.write_bytes(file.read_bytes()[:-9])
    assert run(["archive", "read", str(file), "--data", str(tmp_path / "new")]) == 4
    assert capsys.readouterr().err.count("\n") == 1
    assert run(["archive", "write", str(tmp_path / "no" / "x.zip"), "--data", str(data)]) == 4
    assert "cannot be written" in capsys.readouterr().err


def test_a_missing_attachment_is_told_and_mended(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good = tmp_path / "good.zip"
    assert run(["archive", "write", str(good), "--data", str(data)]) == 0
    with Shop.open(data) as shop:
        rider = shop.state(1).rider
        assert rider is not None
        shop.store.shelf.drop(rider)
    capsys.readouterr()
    assert run(["archive", "write", str(tmp_path / "torn.zip"), "--data", str(data)]) == 4
    assert "archive mend" in capsys.readouterr().err
    assert _json(capsys, "archive", "mend", good, "--data", data) == {"mended": 1, "left": 0}
    assert run(["verify", "--data", str(data)]) == 0
