"""The steerer's cut: how long it stays, and only once the position is proved."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cyclewright.knowledge import rules
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Question, Setting

NEVER_BACK = "A cut cannot be undone: measure twice, mark it, put the stem on once more and look."
CARBON = (
    "A carbon steerer is cut with a fine saw under water or with suction, never with a pipe "
    "cutter, and its expander goes back in at the depth its maker states."
)
NOT_PROVED = (
    "Cut nothing yet: ride this position first, put the spacers that are left over the stem, "
    "and come back when the rider wants no more height."
)
MEASURED = 0.001
"""How well a steerer is marked and sawn [m] (judgement)."""
LEAST_CUT = 0.003
"""Less than this is not worth a saw [m] (judgement)."""


@dataclass(frozen=True, slots=True)
class Cut:
    """What to cut, if anything may be cut, and in words why or why not."""

    settings: tuple[Setting, ...]
    said: str
    questions: tuple[Question, ...] = ()


def cut(filled: Filled, proved: bool) -> Cut:
    """The steerer's length from crown race to top with its margin, and what comes off.

    Length = head tube + headset cover + spacers under + stem's clamp + spacers kept over the
    stem, less the gap that lets the cap preload the bearings.
    """
    if not proved:
        return Cut((), NOT_PROVED)
    cockpit = filled.sheets.bike.cockpit
    under, over, clamp = cockpit.spacers_under, cockpit.spacers_over, cockpit.stem_clamp_height
    assert under is not None and over is not None and clamp is not None
    spare = rules.rule("steerer_spare").value
    off = over.value - spare
    if off < LEAST_CUT:
        return Cut(
            (), f"Leave the steerer: only {_mm(over.value)} of spacers stand over the stem, and "
            f"{_mm(spare)} are kept to come up again."
        )  # fmt: skip
    carbon = filled.sheets.bike.fork.material_steerer == "carbon"
    cautions = (NEVER_BACK, *((CARBON,) if carbon else ()))
    because = (
        f"{_mm(under.value)} of spacers under the stem, its clamp of {_mm(clamp.value)}, "
        f"{_mm(spare)} kept over it as a margin, "
        f"{_mm(rules.rule('stem_gap_cut').value)} below the top spacer for the preload"
    )
    taken = _setting("steerer_cut", "Cut off the steerer", off, 0.0, because, cautions)
    length, sigma, questions = _length(filled, under.value + clamp.value + spare)
    if length is None:
        return Cut((taken,), f"{_mm(off)} come off. {NEVER_BACK}", questions)
    whole = _setting(
        "steerer_length", "Steerer, crown race to top", length, sigma, because, cautions
    )
    return Cut((whole, taken), f"{_mm(off)} come off. {NEVER_BACK}", questions)


def _length(filled: Filled, above: float) -> tuple[float | None, float, tuple[Question, ...]]:
    """Steerer left standing above the crown race [m] and its spread, or what to measure."""
    frame = filled.sheets.bike.frame
    wanted = (
        ("bike.frame.head_tube", frame.head_tube, "How long is the head tube, down to the race?"),
        ("bike.frame.headset_height", frame.headset_height, "How high is the headset's cover?"),
    )
    why = "The steerer's length is measured from the crown race, and no cut is guessed."
    questions = tuple(Question(field, ask, why) for field, value, ask in wanted if value is None)
    if frame.head_tube is None or frame.headset_height is None:
        return None, 0.0, questions
    gap = rules.rule("stem_gap_cut").value
    sigma = math.hypot(frame.head_tube.sigma or MEASURED, frame.headset_height.sigma or MEASURED)
    return frame.head_tube.value + frame.headset_height.value + above - gap, sigma, ()


def _setting(
    name: str, label: str, value: float, sigma: float, because: str, cautions: tuple[str, ...]
) -> Setting:
    half = 1.645 * math.hypot(sigma, MEASURED)
    return Setting(
        name,
        value,
        "m",
        value - half,
        value + half,
        "practice",
        "the sheets' lengths; margin and gap: common practice, gap at most 5 mm by ISO 4210-2",
        because,
        "mm",
        1.0,
        label,
        (),
        cautions,
    )


def _mm(length: float) -> str:
    return f"{length * 1000:.0f} mm"
