"""What the walks have walked, as a page of the documents where one is asked for."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from walks.tally import WALKED

_HEAD = """# Walks round the gates

What a gate is asked, walked in full by `make walks`; `make test` walks a sample. Every row is held
against a table written by hand from the trade's view (`tests/walks/`), or an oracle of its own.

| walk | where | how many |
|---|---|---:|
"""


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    page = os.environ.get("WALKS_REPORT")
    if page and exitstatus == 0 and not os.environ.get("PYTEST_XDIST_WORKER"):
        rows = "".join(f"| {what} | {where} | {count} |\n" for what, where, count in WALKED)
        Path(page).write_text(_HEAD + rows, encoding="utf-8")
