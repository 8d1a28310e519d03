"""What kind of evidence an expected number is; every check is also kept for the validation page.

- `identity`: an exact relation that holds by definition or algebra
- `published`: a printed value, within the row's own tolerance
- `second_method`: the same quantity by another route, or by a general reference library
- `measured`: data that somebody took
- `simulated`: a share or mean over simulated builds with a hidden truth, inside stated bounds
- `pin`: our own output of an earlier day; regression only, never validation
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import pytest
from numpy.typing import ArrayLike

Kind = Literal["identity", "published", "second method", "measured", "simulated", "pin"]


@dataclass(frozen=True)
class Evidence:
    kind: Kind
    check: str
    source: str
    expected: float
    ours: float
    allowed: str
    known: str = ""
    unit: str = ""

    @property
    def difference(self) -> str:
        """Relative difference in percent, or absolute where zero is expected."""
        if self.expected == 0.0:
            return f"{self.ours - self.expected:.2g}"
        percent = round((self.ours / self.expected - 1.0) * 100, 3)
        return f"{percent + 0.0:+.3f} %"


COLLECTED: list[Evidence] = []


def identity(
    check: str, ours: ArrayLike, exact: ArrayLike, *, rel: float = 1e-9, within: float = 1e-12
) -> None:
    """Ours equals an exact relation to rounding."""
    _hold("identity", check, "exact", ours, exact, rel, within)


def published(
    check: str,
    ours: float,
    expected: float,
    tolerance: str,
    source: str,
    known: str = "",
    unit: str = "",
) -> None:
    """Ours equals a printed value within its tolerance: `1.2%`, or absolute in the same unit."""
    rel, within = _tolerance(tolerance)
    row = Evidence("published", check, source, expected, ours, tolerance, known, unit)
    COLLECTED.append(row)
    allowed = abs(expected) * rel + within
    assert abs(ours - expected) <= allowed, (
        f"{check}: ours {ours:.8g}, published {expected:.8g} ± {tolerance} ({source})"
    )


def second_method(
    check: str,
    ours: ArrayLike,
    other: ArrayLike,
    method: str,
    *,
    rel: float = 1e-9,
    within: float = 0.0,
) -> None:
    """Ours equals the same quantity by another method."""
    _hold("second method", check, method, ours, other, rel, within)


def measured(
    check: str, ours: ArrayLike, data: ArrayLike, source: str, *, rel: float, within: float = 0.0
) -> None:
    """Ours meets data that somebody took."""
    _hold("measured", check, source, ours, data, rel, within)


def simulated(check: str, ours: float, low: float, high: float, how: str) -> None:
    """A figure over simulated builds lies inside its bounds; `how` says what was simulated."""
    allowed = f"{low:g} to {high:g}"
    COLLECTED.append(Evidence("simulated", check, how, 0.0, float(ours), allowed))
    assert low <= ours <= high, f"{check}: {ours:.4g}, allowed {allowed} ({how})"


def beside(check: str, figure: float, how: str) -> None:
    """A simulated figure that stands on the page for comparison; it checks nothing."""
    COLLECTED.append(Evidence("simulated", check, how, 0.0, float(figure), "for comparison"))


def pin(check: str, ours: ArrayLike, earlier: ArrayLike, *, rel: float = 1e-6) -> None:
    """Ours has not moved since an earlier day; says nothing about being right."""
    _hold("pin", check, "our own earlier output", ours, earlier, rel, 0.0)


def _hold(
    kind: Kind,
    check: str,
    source: str,
    ours: ArrayLike,
    expected: ArrayLike,
    rel: float,
    within: float,
) -> None:
    mine, theirs = np.broadcast_arrays(np.asarray(ours, float), np.asarray(expected, float))
    assert mine.size, f"{check}: nothing was compared"
    worst = int(np.argmax(np.abs(mine - theirs) - rel * np.abs(theirs)))
    allowed = f"{rel * 100:g} %" + (f" + {within:g}" if within else "")
    COLLECTED.append(
        Evidence(kind, check, source, float(theirs.flat[worst]), float(mine.flat[worst]), allowed)
    )
    assert mine == pytest.approx(theirs, rel=rel, abs=within), f"{check}: against {source}"


def _tolerance(text: str) -> tuple[float, float]:
    if text.endswith("%"):
        return float(text.removesuffix("%")) / 100.0, 0.0
    return 0.0, float(text)
