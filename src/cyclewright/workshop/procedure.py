"""How each reading is taken, step by step: what the trade does, for this unit and its posture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cyclewright.errors import input_error

if TYPE_CHECKING:
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.workshop.shop import Shop

DRESS = "Full kit on, pack and water too; a helper or a wall holds the bike, on level ground."
THRICE = "Sit again twice: three sit-downs are averaged, each typed."
PUMP = "Suspension pump on until it reads; its hose fills from the spring, so never just to check."


@dataclass(frozen=True, slots=True)
class Procedure:
    """The steps of one reading, in order."""

    kind: str
    posture: str
    """The posture that it is read in, empty where nobody sits."""
    steps: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """The procedure as plain data."""
        return {"kind": self.kind, "posture": self.posture, "steps": list(self.steps)}


def procedure(shop: Shop, bike: int, kind: str) -> Procedure:
    """How a reading of this kind is taken on this bike."""
    from cyclewright.knowledge.defaults import fill

    return of(fill(shop.sheets(shop.state(bike))).sheets, kind)


def of(sheets: Sheets, kind: str) -> Procedure:
    """How a reading of this kind is taken, by filled sheets."""
    end, _, what = kind.partition("-")
    if end in ("fork", "shock") and what in ("sag", "pressure"):
        unit = getattr(sheets.bike, end)
        posture = unit.posture or ("standing" if end == "fork" else "seated")
        if what == "pressure":
            return Procedure(kind, "", _pressure(end))
        return Procedure(kind, posture, _sag(end, posture, unit.kind == "coil"))
    if end in ("front", "rear") and what == "tyre":
        return Procedure(kind, "", _tyre(end))
    if end in ("front", "rear") and what == "drop":
        return Procedure(kind, "standing", _drop(end))
    raise input_error("reading-kind", "kind", "no such reading has steps of its own", value=kind)


def _sag(end: str, posture: str, coil: bool) -> tuple[str, ...]:
    how = (
        "Stand on level pedals, hands light, looking ahead"
        if posture == "standing"
        else "Sit as you ride, feet on level pedals, hands on the grips"
    )
    lifted = "front" if end == "fork" else "rear"
    out = f"Lift the {lifted} wheel off the ground: the {end} must come out to its full length."
    begin = (DRESS, f"Damper fully open, lockout off. Both brakes off while you read the {end}.")
    if coil:
        return (
            *begin,
            f"{out} Measure it eye to eye.",
            f"{how}; bounce twice, settle. The helper measures eye to eye again.",
            "Type by how much it is shorter.",
            THRICE,
        )
    return (
        *begin,
        "Ten slow strokes through a third of the travel level both chambers; then read the "
        "pressure once more, pump on, and set it again.",
        "Pump off, and left off: connecting it fills its hose from the spring.",
        out,
        f"{how}; bounce twice, settle, push the ring to the seal.",
        "Get off gently, straight back, and read the ring from the seal.",
        THRICE,
    )


def _pressure(end: str) -> tuple[str, ...]:
    return (
        f"Nobody on the bike, the {end} cool and at its full length.",
        PUMP,
        "Ten slow strokes after each change, then read again with the pump still on.",
        "Type what it reads, unscrew, and leave it: the hiss is only the hose.",
    )


def _tyre(end: str) -> tuple[str, ...]:
    return (
        f"The {end} tyre cold, nobody on the bike.",
        "Always the same gauge; a floor pump's own dial is good to some 4 psi only.",
    )


def _drop(end: str) -> tuple[str, ...]:
    return (
        f"Set the {end} tyre's pressure and type it first: the drop belongs to it.",
        DRESS,
        "Hard, level floor. Mark the middle of the axle's end. Bike upright on both wheels, nobody "
        "on it: measure from floor to mark, to half a millimetre.",
        "Stand on level pedals, off the saddle, hands light. The helper measures to it again.",
        "Type the difference. Three times over, each typed.",
    )
