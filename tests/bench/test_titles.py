"""Every finding that the sums can make has a title in plain words."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import cyclewright
from cyclewright.bench.titles import ENDS, TITLES, title

SOURCE = Path(cyclewright.__file__).parent


def codes() -> Iterator[tuple[str, ast.expr]]:
    """Where findings are made: the file, and the expression of the code."""
    for path in SOURCE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            made = isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Finding"
            if made and node.args:
                yield path.name, node.args[0]


def literals(code: ast.expr) -> Iterator[str]:
    """Codes that are written out, and the tails of those with a part's name before them."""
    if isinstance(code, ast.IfExp):
        yield from literals(code.body)
        yield from literals(code.orelse)
    elif isinstance(code, ast.Constant):
        yield str(code.value)
    elif isinstance(code, ast.JoinedStr) and isinstance(code.values[-1], ast.Constant):
        yield "fork" + str(code.values[-1].value)


def test_every_code_has_a_title() -> None:
    found = {text for _, code in codes() for text in literals(code)}
    assert len(found) > 40
    tails = {text for text in found if any(text.endswith(f"-{tail}") for tail in ENDS)}
    assert sorted(found - tails - set(TITLES)) == []


def test_titles_are_short_plain_words() -> None:
    for text in TITLES.values():
        assert len(text) <= 45, text
        assert not text.endswith("."), text
        assert "-" not in text, text
    assert len(set(TITLES.values())) == len(TITLES)


def test_a_code_of_tomorrow_still_reads_as_words() -> None:
    assert title("rear-out-of-tune") == "Rear out of tune"
