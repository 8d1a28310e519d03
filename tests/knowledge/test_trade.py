"""Each line of the trade is kept somewhere: every name in docs/trade.md exists."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

from advice.test_generated_clashes import PLANTS
from cyclewright.advice import disputes
from cyclewright.knowledge import questions, rules
from cyclewright.knowledge.fasteners import fasteners
from cyclewright.knowledge.steps import steps
from cyclewright.record.gates import ITEMS
from cyclewright.sheets.fields import fields

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "docs" / "trade.md").read_text(encoding="utf-8")
NAMED = re.findall(r"(step|rule|finding|question|joint|gate|dispute|test) `([^`]+)`", TEXT)
SOURCES = sorted((ROOT / "src" / "cyclewright").rglob("*.py"))


@cache
def _finding_codes() -> frozenset[str]:
    """Codes of every finding that the code can give: first words of `Finding(...)` and its kin."""
    found = set()
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            text = node.value if isinstance(node, ast.Constant) else None
            if isinstance(text, str) and re.fullmatch(r"[a-z]+(-[a-z]+)+", text):
                found.add(text)
    return frozenset(found)


@cache
def _tests(path: str) -> frozenset[str]:
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    return frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef))


def _exists(kind: str, name: str) -> bool:
    if kind == "test":
        path, _, function = name.partition("::")
        return (ROOT / path).is_file() and (not function or function in _tests(path))
    known = {
        "step": {step.id for step in steps()},
        "rule": set(rules.rules()),
        "finding": _finding_codes() | set(PLANTS),
        "joint": set(fasteners()),
        "gate": {item.id for item in ITEMS},
        "question": {item.path for item in fields()},
        "dispute": {item.path for item in fields()},
    }[kind]
    tables = {path.split("[]")[0] for path in known if "[]" in path}
    return name in known or name in tables


def test_everything_named_exists() -> None:
    assert len(NAMED) > 100
    missing = [(kind, name) for kind, name in NAMED if not _exists(kind, name)]
    assert missing == []


def test_every_line_is_kept_somewhere() -> None:
    rows = [line for line in TEXT.splitlines() if line.startswith("| ") and "the trade" not in line]
    assert len(rows) >= 55
    for row in rows:
        assert "`" in row.split("|")[2] or "later" in row, row


def test_questions_and_verdicts_named_are_really_there() -> None:
    for kind, name in NAMED:
        if kind == "question":
            source = "".join(path.read_text(encoding="utf-8") for path in SOURCES)
            generic = re.sub(r"\.(front|rear)\.", ".{end}.", name)
            assert questions.asked(name) or name in source or generic in source, name
        if kind == "dispute":
            assert disputes.row(name) is not None, name


def test_photos_are_asked_only_where_one_proves_something() -> None:
    asked = {step.id for step in steps() if "photo" in step.evidence}
    levers = {
        f"{end}-wheel-{kind}"
        for end in ("front", "rear")
        for kind in ("lever-axle", "quick-release")
    }
    proving = {"carton-outside", "fork-forward", "post-insertion", "finished-photographed"}
    assert asked == proving | levers
