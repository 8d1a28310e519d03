"""The bench's own files, at addresses that change when they do: kept for good and never stale."""

from __future__ import annotations

import hashlib
import os
import re
from functools import cache
from pathlib import Path

from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

import cyclewright

STATIC = Path(__file__).parent / "static"
DRAWING = Path(cyclewright.__file__).parent / "printing" / "drawing.css"
"""The stylesheet that belongs to the drawing; pages allow no styles inside it."""
_KEPT = "public, max-age=31536000, immutable"
_VERSION = re.compile(r"[0-9a-f]{12}")


@cache
def version() -> str:
    """What tells these files from those of another version of the bench."""
    told = hashlib.sha256()
    for path in sorted((*(path for path in STATIC.rglob("*") if path.is_file()), DRAWING)):
        told.update(f"{path.name}\0{path.stat().st_size}\0".encode())
        told.update(path.read_bytes())
    return told.hexdigest()[:12]


def root() -> str:
    """Where pages find them."""
    return f"/static/{version()}"


class Assets(StaticFiles):
    """The files under the version that a page asks for, and plain ones asked for each time."""

    def __init__(self) -> None:
        super().__init__(directory=STATIC)

    async def get_response(self, path: str, scope: Scope) -> Response:
        """One file; a page of an older version gets what there is now, for this once."""
        asked, _, rest = path.replace(os.sep, "/").partition("/")
        named = _VERSION.fullmatch(asked) is not None
        answer = await super().get_response(rest if named else path, scope)
        answer.headers["cache-control"] = _KEPT if asked == version() else "no-cache"
        return answer

    def lookup_path(self, path: str) -> tuple[str, os.stat_result | None]:
        """The drawing's style lies with the drawing."""
        if path == DRAWING.name:
            return str(DRAWING), DRAWING.stat()
        return super().lookup_path(path)
