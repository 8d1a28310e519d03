"""The bench's own files: kept by browsers for good under their version, asked for otherwise."""

from __future__ import annotations

import re

import pytest

from bench.conftest import Client
from cyclewright.bench import assets


def test_pages_load_their_files_under_the_version_they_belong_to(client: Client) -> None:
    loaded = re.findall(r'(?:src|href)="(/static/[^"]+)"', client.get("/").text)
    assert loaded
    for path in loaded:
        assert path.startswith(f"{assets.root()}/")
        answer = client.get(path)
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]


@pytest.mark.parametrize("path", ["bench.css", "drawing.css", "0123456789ab/bench.css"])
def test_a_file_without_its_version_is_asked_for_each_time(client: Client, path: str) -> None:
    answer = client.get(f"/static/{path}")
    assert answer.status_code == 200
    assert answer.headers["cache-control"] == "no-cache"


def test_what_is_not_there_is_kept_by_nobody(client: Client) -> None:
    for path in (f"{assets.root()}/app.py", f"{assets.root()}/../app.py", assets.root()):
        answer = client.get(path)
        assert answer.status_code in (400, 404)
        assert "immutable" not in answer.headers.get("cache-control", "")


def test_any_changed_file_changes_the_version(tmp_path, monkeypatch) -> None:
    before = assets.version()
    (tmp_path / "one.js").write_text("1")
    monkeypatch.setattr(assets, "STATIC", tmp_path)
    assets.version.cache_clear()
    first = assets.version()
    (tmp_path / "one.js").write_text("2")
    assets.version.cache_clear()
    assert len({before, first, assets.version()}) == 3
    monkeypatch.undo()
    assets.version.cache_clear()
