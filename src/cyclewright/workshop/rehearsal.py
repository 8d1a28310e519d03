"""A bike whose hidden truth is known, so that a reading can be rehearsed without one at hand.

One of the fixed draws plays the real bike and rider: its spring, its friction, its posture. What
its ring shows at a pressure is computed like everything else, falls as far from sit-down to
sit-down as is usual, and is rounded as a person reads it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from cyclewright.sheets.sheets import Sheets

TRUTH = 37
"""Which of the 512 draws plays the bike on the stand."""


SIT_DOWNS = 3


def sit_downs(
    sheets: Sheets,
    end: Literal["fork", "shock"],
    pressure: float,
    turn: int = 0,
    truth: int = TRUTH,
) -> str:
    """What the ring shows three times at this pressure [Pa gauge]: `21 mm, 22 mm, 20 mm`."""
    from cyclewright import units
    from cyclewright.advice.case import Kept, build, set_to
    from cyclewright.advice.readings import SagReading, compression, one_sit_down
    from cyclewright.knowledge.defaults import fill
    from cyclewright.solve.coupled import solve
    from cyclewright.solve.tables import deviates

    kept = Kept(fork=pressure) if end == "fork" else Kept(shock=pressure)
    case = build(fill(sheets))
    usual = float(compression(solve(set_to(case, kept)), end)[truth])
    spread = one_sit_down(case, SagReading(end, (usual,), kept, case))
    swayed = deviates()[turn * SIT_DOWNS : (turn + 1) * SIT_DOWNS, truth - 1]
    return ", ".join(units.show(max(usual + spread * sway, 0.0), "mm", 1) for sway in swayed)
