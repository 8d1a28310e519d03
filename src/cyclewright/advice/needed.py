"""Fields that filling the sheets has made sure of."""

from __future__ import annotations

from cyclewright.units import Quantity


def given(quantity: Quantity | None) -> Quantity:
    """The quantity of a field that is never empty once defaults are filled in."""
    assert quantity is not None, "filled sheets leave no needed field empty"
    return quantity
