"""How much was walked, for the page that `make walks` writes."""

from __future__ import annotations

import os

FULL = os.environ.get("WALKS") == "full"
"""Whether everything is walked, or the sample that `make test` takes."""
WALKED: list[tuple[str, str, int]] = []
"""What was walked, where, and how many of them."""


def walked(what: str, where: str, count: int) -> None:
    """One row of the page."""
    WALKED.append((what, where, count))
    print(f"\n{where}: {count} {what}")
