"""A bike whose hidden truth is known, so that a reading can be rehearsed without one at hand.

One of the fixed draws plays the real bike and rider: its spring, its friction, its posture. What
its ring shows at a pressure is computed like everything else and rounded as a person reads it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from cyclewright.sheets.sheets import Sheets

TRUTH = 37
"""Which of the 512 draws plays the bike on the stand."""


def ring(sheets: Sheets, end: Literal["fork", "shock"], pressure: float, truth: int = TRUTH) -> str:
    """What the ring of the rehearsed bike shows at this pressure [Pa gauge], to a millimetre."""
    from cyclewright import units
    from cyclewright.advice.case import Kept, build, set_to
    from cyclewright.advice.readings import compression
    from cyclewright.knowledge.defaults import fill
    from cyclewright.solve.coupled import solve

    kept = Kept(fork=pressure) if end == "fork" else Kept(shock=pressure)
    shown = compression(solve(set_to(build(fill(sheets)), kept)), end)
    return units.show(float(shown[truth]), "mm", 1)
