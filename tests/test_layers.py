"""The import contract holds, and each kind of violation is caught when one is planted."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
LINT = Path(sys.executable).with_name("lint-imports")
KEPT = (
    "One direction of flow KEPT",
    "Sums are pure KEPT",
    "Faces see use cases only KEPT",
    "The record runs no sums KEPT",
)


def lint(folder: Path) -> tuple[int, str]:
    """The contract's verdict over the package as it stands in a folder."""
    ran = subprocess.run(
        [str(LINT), "--no-cache", "--config", str(folder / "pyproject.toml")],
        cwd=folder,
        env=os.environ | {"PYTHONPATH": str(folder / "src"), "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )
    return ran.returncode, ran.stdout + ran.stderr


@pytest.fixture(scope="module")
def copied(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the package's code, to plant violations in."""
    folder = tmp_path_factory.mktemp("layers")
    shutil.copy(ROOT / "pyproject.toml", folder)
    only = shutil.ignore_patterns("__pycache__", "*.ttf", "*.woff2", "*.csv", "*.npy", "*.npz")
    shutil.copytree(ROOT / "src", folder / "src", ignore=only)
    return folder


def test_the_tree_keeps_its_contract():
    code, said = lint(ROOT)
    assert code == 0, said
    assert all(line in said for line in KEPT)


@pytest.mark.parametrize(
    ("file", "line", "broken"),
    [
        ("units.py", "from cyclewright.sheets import model", "One direction of flow"),
        ("store/planted.py", "from cyclewright.printing import svg", "One direction of flow"),
        ("bench/planted.py", "import cyclewright.cli.common", "One direction of flow"),
        ("planted/__init__.py", "", "One direction of flow"),
        ("mechanics/planted.py", "import pydantic", "Sums are pure"),
        ("solve/planted.py", "from cyclewright.units import parse", "Sums are pure"),
        ("body/planted.py", "import sqlalchemy", "Sums are pure"),
        ("cli/planted.py", "from cyclewright.store import store", "Faces see use cases only"),
        ("bench/planted.py", "import cyclewright.advice.fit", "Faces see use cases only"),
        ("record/planted.py", "from cyclewright.mechanics import bolt", "The record runs no sums"),
        ("store/planted.py", "def late():\n    import cyclewright.body", "The record runs no sums"),
    ],
)
def test_a_planted_violation_is_caught(copied, file, line, broken):
    path = copied / "src/cyclewright" / file
    before = path.read_text(encoding="utf-8") if path.exists() else None
    path.parent.mkdir(exist_ok=True)
    path.write_text(f"{before or ''}\n{line}\n", encoding="utf-8")
    try:
        code, said = lint(copied)
    finally:
        path.write_text(before, encoding="utf-8") if before else path.unlink()
        if path.parent.name == "planted":
            shutil.rmtree(path.parent)
    assert code != 0
    named = f"{broken} BROKEN" in said or (not line and "planted" in said)
    assert named, said


def test_the_copy_without_a_violation_is_kept(copied):
    code, said = lint(copied)
    assert code == 0, said
    assert all(line in said for line in KEPT)
