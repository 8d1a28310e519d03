"""What code wakes: seen in the modules that a fresh process has loaded, not by the clock."""

from __future__ import annotations

import subprocess
import sys
import textwrap

TOLD = 'print(*sorted({name.partition(".")[0] for name in sys.modules}), file=sys.stderr)'


def woken(code: str, *words: object) -> set[str]:
    """The top-level modules that are loaded after this code, with `words` as its `sys.argv[1:]`."""
    script = f"import sys\n{textwrap.dedent(code)}\n{TOLD}"
    ran = subprocess.run(
        [sys.executable, "-c", script, *map(str, words)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    return set(ran.stderr.split())
