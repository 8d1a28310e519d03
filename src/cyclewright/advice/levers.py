"""Brake levers: how far in, how near to the bar, and what the place on the blade is worth.

A blade turns about its pivot, so the same finger gives the master piston a moment F r that grows
with its distance r from the pivot. Moving the clamp in brings the blade's outer end under the
finger, which is the longest r there is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from cyclewright.advice.height import Z90
from cyclewright.body.tables import SURVEY_COLUMNS, survey
from cyclewright.knowledge import rules
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Limit, Setting

INDEX_OF_BREADTH = 3.0 / 8.0
"""Middle of the index finger from the middle of the palm over its breadth [1]: four alike."""
BLADE_READ = 0.001
"""One standard deviation of a blade measured with a rule [m] (judgement)."""
HAND_PLACE_SPREAD = 0.005
"""One standard deviation of where on the grip a rider holds [m] (judgement)."""
REACH_SPREAD = 0.005
"""One standard deviation of the reach that a hand likes [m] (judgement)."""
BOTH_ALIKE = "Set both sides alike: measure from each bar end, and count the reach screw's turns."


@dataclass(frozen=True, slots=True)
class Levers:
    """Where the levers go, and what it gains."""

    inboard: Setting
    reach: Setting
    gain: Setting
    """Force at the pads over that with the clamp against the grip, for the same finger [1]."""
    said: str

    @property
    def settings(self) -> tuple[Setting, ...]:
        """What is set, in its order, and what it gains."""
        return self.inboard, self.reach, self.gain


def levers(filled: Filled) -> Levers:
    """Clamp from the grip's inner end, and reach, for this rider's hand."""
    hand, sigma, because = _hand(filled)
    cockpit = filled.sheets.bike.cockpit
    grip, blade = cockpit.grip_length, cockpit.lever_blade
    assert grip is not None and blade is not None, "filled sheets hold grip and blade"
    pull = blade.value - rules.rule("lever_finger_room").value
    share = INDEX_OF_BREADTH * rules.rule("hand_breadth_share").value
    index = grip.value / 2 - share * hand
    """Grip's inner end to the finger, outwards [m]."""
    inboard = max(pull - index, 0.0)
    place, length = math.hypot(share * sigma, HAND_PLACE_SPREAD), blade.sigma or BLADE_READ
    whose = filled.default("bike.cockpit.lever_blade")
    known = f"a blade of {blade.value * 1000:.0f} mm {'by default' if whose else 'by the sheet'}"
    gain = _gain(pull, inboard, math.hypot(length / pull, place / (pull - inboard)), known)
    said = (
        f"{gain.show()} times the force at the pads of a clamp against the grip, for the same "
        "pull of one finger"
    )
    return Levers(
        _inboard(inboard, math.hypot(place, length), f"{known}; {because}"),
        _reach(hand, because),
        gain,
        said,
    )


def moment_gain(pull: float, inboard: float) -> float:
    """Moment about the lever's pivot over that with the clamp not moved in, F r / F (r − d).

    `pull` [m] from the pivot to the finger at the blade's end, `inboard` [m] how far the clamp
    was moved in to bring it there.

    >>> moment_gain(0.060, 0.020)
    1.5
    """
    return pull / max(pull - inboard, 0.3 * pull)


def _gain(pull: float, inboard: float, relative: float, known: str) -> Setting:
    """The force gained, its spread in shares of itself; a clamp left at the grip gains nothing."""
    value, factor = moment_gain(pull, inboard), math.exp(Z90 * relative)
    return Setting(
        "lever_gain",
        value,
        "1",
        max(value / factor, 1.0),
        value * factor,
        "model",
        "moments about the lever's pivot",
        f"the same finger's pull at {pull * 1000:.0f} mm from the pivot instead of "
        f"{(pull - inboard) * 1000:.0f} mm; {known}, the clamp's pivot taken at the grip's end",
        "",
        0.1,
        "Force at the pads, times that with the clamp at the grip",
    )


def _inboard(value: float, spread: float, because: str) -> Setting:
    return Setting(
        "lever_inboard",
        value,
        "m",
        max(value - Z90 * spread, 0.0),
        value + Z90 * spread,
        "practice",
        "moments about the lever's pivot; blade and hand: common practice, no source",
        f"default: one finger in the middle of the grip reaches the blade's end; {because}",
        "mm",
        1.0,
        "Brake lever clamp in from the grip",
        (),
        (BOTH_ALIKE,),
    )


def _reach(hand: float, because: str) -> Setting:
    most = rules.rule("grip_span")
    value = rules.rule("finger_reach_share").value * hand
    held = min(value, most.value)
    return Setting(
        "lever_reach",
        held,
        "m",
        value - Z90 * REACH_SPREAD,
        value + Z90 * REACH_SPREAD,
        "practice",
        "judgement; the limit: " + most.source,
        f"default: the finger's first crease hooks the blade without turning the wrist; {because}",
        "mm",
        1.0,
        "Brake lever blade from the bar's middle",
        (Limit(most.source, "max", most.value, value > most.value),),
        ("The blade stays clear of the bar when pulled hard.", BOTH_ALIKE),
        wanted=value if held < value else None,
    )


def _hand(filled: Filled) -> tuple[float, float, str]:
    """Length of the hand and one standard deviation [m], and where it comes from."""
    rider = filled.sheets.rider
    assert rider is not None and rider.height is not None, "filled sheets hold a height"
    if rider.hand_length is not None:
        sigma = 0.003 if rider.hand_length.sigma is None else rider.hand_length.sigma
        return rider.hand_length.value, sigma, f"a hand of {rider.hand_length.text}"
    table = survey(rider.sex or "any")
    hand, stature = SURVEY_COLUMNS.index("hand"), SURVEY_COLUMNS.index("stature")
    slope = table.covariance[hand, stature] / table.covariance[stature, stature]
    value = table.mean[hand] + slope * (rider.height.value - table.mean[stature])
    left = table.covariance[hand, hand] - slope * table.covariance[hand, stature]
    because = f"a hand of {value * 1000:.0f} mm from the height; measure it to do better"
    return float(value), math.sqrt(left), because
