"""Read the packaged TOML files of the knowledge once, and say clearly what is wrong in one."""

from __future__ import annotations

import hashlib
import tomllib
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from cyclewright.errors import Integrity, Problem

FOLDER = Path(__file__).parent


def knowledge_error(where: str, do: str) -> Integrity:
    """The error for packaged knowledge that does not hold together."""
    return Integrity(Problem("knowledge", f"knowledge/{where}", do))


@cache
def table(name: str) -> dict[str, Any]:
    """One knowledge file as a table; treat it as read-only."""
    try:
        return tomllib.loads((FOLDER / name).read_text(encoding="utf-8"))
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise knowledge_error(name, f"put the packaged file right: {error}") from error


def files() -> tuple[str, ...]:
    """Every knowledge file, by its name under the folder, in a fixed order."""
    return tuple(sorted(path.relative_to(FOLDER).as_posix() for path in FOLDER.rglob("*.toml")))


@lru_cache(maxsize=1)
def digest() -> str:
    """SHA-256 over the names and bytes of all knowledge files."""
    total = hashlib.sha256()
    for name in files():
        body = (FOLDER / name).read_bytes()
        total.update(f"{name}\0{len(body)}\0".encode())
        total.update(body)
    return total.hexdigest()
