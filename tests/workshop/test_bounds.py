"""How far a value recorded as set may go where nothing is marked on the part."""

from __future__ import annotations

import pytest

from cyclewright.sheets.quickstart import quick_start
from cyclewright.workshop import bounds

ANSWERS = {
    "kind": "hardtail", "country": "GB", "fork_travel": "100 mm", "tyre": "29x2.4",
    "tubeless": "true", "hooked": "true", "height": "1.75 m", "mass": "80 kg",
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("front_tyre_pressure", -1e4, "at least 3.0 psi, any tyre"),
        ("rear_tyre_pressure", 0.0, "at least 3.0 psi, any tyre"),
        ("front_tyre_pressure", 20e6, "at most 130.5 psi, any tyre"),
        ("fork_pressure", -1.0, "at least 0.0 psi, any air spring"),
        ("fork_pressure", 20e6, "at most 580.0 psi, any air spring"),
        ("saddle_height", 0.0, "at least 250.0 mm, any saddle"),
        ("post_insertion", 1e6, "at most 600.0 mm, any post"),
        ("fork_sag", -5e-3, "at least 0.0 mm, any ring"),
        ("front_tyre_pressure", 1.5e5, None),
        ("fork_pressure", 0.0, None),
    ],
)
def test_an_unmarked_part_still_holds_no_pressure_that_cannot_be(
    name: str, value: float, said: str | None
) -> None:
    limits = bounds.bounds(quick_start(ANSWERS).sheets())[name]
    broken = bounds.outside(name, value, limits)
    display = "psi" if name.endswith("pressure") else "mm"
    assert (None if broken is None else bounds.told(broken, display, 0.5)) == said
