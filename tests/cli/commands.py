"""One command as a person types it: what it says, what it complains of, how it ends."""

from __future__ import annotations

import contextlib
import io
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cyclewright.cli.main import run

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
TRAIL = (EXAMPLES / "bikes/trail.toml", EXAMPLES / "riders/light.toml")
LEFT = EXAMPLES / "places/left.toml"
SHEETS = (*TRAIL, LEFT)


@dataclass(frozen=True)
class Said:
    """What a command left behind."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one document on standard output."""
        return json.loads(self.out)

    @property
    def errors(self) -> list[dict[str, Any]]:
        """The one object on standard error."""
        data = json.loads(self.err)
        assert set(data) == {"errors"}
        for error in data["errors"]:
            assert set(error) == {"code", "field", "value", "unit", "allowed", "do"}
        return data["errors"]


def typed(*arguments: object, code: int | None = 0) -> Said:
    """Run a command in this process; it must end with `code` unless None, never in a traceback."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        got = run([str(item) for item in arguments])
    said = Said(got, out.getvalue(), err.getvalue())
    assert code is None or got == code, said
    assert "Traceback" not in said.err + said.out
    return said
