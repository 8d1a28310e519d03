"""The cockpit: spacers, bar height and the angle of the brake levers."""

from __future__ import annotations

from cyclewright.advice import limits
from cyclewright.advice.spread import setting
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Finding, Limit, Setting
from cyclewright.solve.solution import Solution

STEERER_CAUTION = "Cut no steerer before this position is proved: it cannot be undone."


def settings(filled: Filled, solution: Solution) -> tuple[Setting, ...]:
    """Spacers under the stem, grip height and lever angle of this rider on this bike."""
    seated = solution.seated
    return (
        _spacers(filled),
        setting(
            "bar_height",
            "Grips above the ground, bike unloaded",
            solution.unloaded.grip[:, 1],
            "m",
            "mm",
            1.0,
            basis="model",
            source="the sheets' geometry",
            because="head tube, spacers, stem and bar rise as on the sheet",
        ),
        setting(
            "lever_angle",
            "Brake levers below level",
            seated.pose.angles["forearm"],
            "rad",
            "°",
            1.0,
            basis="model",
            source="posture of this rider, seated at sag",
            because="in line with the seated forearm, so that the wrist is straight",
            cautions=("Levers clear the bar when pulled hard, and both sides are alike.",),
        ),
    )


def findings(filled: Filled, solution: Solution) -> tuple[Finding, ...]:
    """Postures this rider cannot take on this bike, with the limit that binds."""
    found = []
    for name in ("seated", "standing"):
        pose = solution.at(name).pose
        if bool(pose.unreachable[0]):
            found.append(
                Finding(
                    f"{name}-out-of-reach",
                    "warn",
                    (f"{name} position asked for on these sheets", f"limit: {pose.limit[0]}"),
                    "The joints of a rider have ranges that no setting can pass.",
                    "Change the cockpit or the frame's size; the loads shown are for the "
                    "nearest position the rider can take.",
                    ("rider.height", "bike.frame.reach", "bike.cockpit.stem_length"),
                )
            )
    return tuple(found)


def _spacers(filled: Filled) -> Setting:
    bike = filled.sheets.bike
    under, over = bike.cockpit.spacers_under, bike.cockpit.spacers_over
    have = 0.0 if under is None else under.value
    most = have + (0.0 if over is None else over.value)
    allowed = bike.frame.steerer_stack_max
    bounds = [Limit("the steerer as it is cut", "max", most)]
    if allowed is not None:
        bounds.append(Limit("the frame's or fork's maker", "max", allowed.value))
    inside, marked = limits.held(have, bounds)
    return Setting(
        "spacers_under",
        inside,
        "m",
        0.0,
        min(bound.value for bound in bounds),
        "practice",
        "common practice, no source",
        "as on the sheet: start in the middle, and move one spacer at a time",
        "mm",
        1.0,
        "Spacers under the stem",
        marked,
        (STEERER_CAUTION,),
    )
