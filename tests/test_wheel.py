"""The wheel carries every file of the package, and the example sheets for its demo."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_the_wheel_carries_data_and_examples(tmp_path):
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", tmp_path]
    subprocess.run([*map(str, command), str(ROOT)], check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as content:
        names = set(content.namelist())
    package = {
        path.relative_to(ROOT / "src").as_posix()
        for path in (ROOT / "src/cyclewright").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    examples = {
        f"cyclewright/{path.relative_to(ROOT).as_posix()}"
        for path in (ROOT / "examples").rglob("*.toml")
    }
    assert len(examples) >= 8
    assert any(name.endswith(".npy") for name in package)
    assert not (package | examples) - names
    assert any(name.endswith("/licenses/LICENSE") for name in names)
