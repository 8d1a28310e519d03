"""Vendored files are the ones that the list says they are."""

from __future__ import annotations

import hashlib
import re
from importlib import resources
from pathlib import Path

ASSETS = Path(str(resources.files("cyclewright") / "assets"))
ROW = re.compile(r"^\| `([^`]+)` \| `([0-9a-f]{64})` \|$", re.M)


def test_every_vendored_font_is_listed_with_its_hash() -> None:
    rows = dict(ROW.findall((ASSETS / "VENDORED.md").read_text(encoding="utf-8")))
    for name, digest in rows.items():
        assert hashlib.sha256((ASSETS / name).read_bytes()).hexdigest() == digest, name
    kept = {
        path.name
        for folder in ("fonts", "../bench/static/fonts")
        for path in (ASSETS / folder).iterdir()
    }
    assert kept == {Path(name).name for name in rows}
    assert "SIL OPEN FONT LICENSE" in (ASSETS / "fonts/OFL.txt").read_text(encoding="utf-8")
