"""The cockpit: spacers, bar height and the angle of the brake levers."""

from __future__ import annotations

from cyclewright.advice import limits
from cyclewright.advice.fit import Saddle
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
            because="head tube, spacers, stem and bar rise as on the sheets",
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
            because="in line with this rider's forearm, seated, so that the wrist stays straight",
            cautions=("Levers clear the bar when pulled hard, and both sides are alike.",),
        ),
    )


def findings(solution: Solution, saddle: Saddle) -> tuple[Finding, ...]:
    """Postures this rider cannot take on this bike, with the limit that binds."""
    return tuple(
        _out_of_reach(name, str(pose.limit[0]), saddle)
        for name in ("seated", "standing")
        if (pose := solution.at(name).pose).unreachable[0]
    )


def _out_of_reach(name: str, limit: str, saddle: Saddle) -> Finding:
    """The first joint that cannot follow; a saddle held too high is the post's doing."""
    too_high = saddle.held > saddle.height.value
    if name == "seated" and limit == "leg too short" and too_high:
        do = "Mend the saddle height first"
        fields: tuple[str, ...] = ("bike.post.travel", "bike.post.length")
    elif limit == "knee range":
        do, fields = "Fit shorter cranks", ("rider.inseam", "bike.crank.length")
    else:
        do = "Change the stem, the spacers or the frame's size"
        fields = ("rider.height", "bike.frame.reach", "bike.cockpit.stem_length")
    return Finding(
        f"{name}-out-of-reach",
        "warn",
        (f"{name} on this bike as the sheets have it", f"this rider: {limit}"),
        "No setting moves a joint past its range.",
        f"{do}; until then loads and sag are for the nearest position this rider can take.",
        fields,
    )


def _as_fitted(filled: Filled) -> str:
    default = filled.default("bike.cockpit.spacers_under")
    whose = "default: in the middle of what the steerer holds" if default else "as on the sheet"
    return f"{whose}; move one spacer at a time and ride it"


def _stack_limits(filled: Filled) -> tuple[Limit, ...]:
    """What steerer, frame and fork let under the stem, each with its owner."""
    bike = filled.sheets.bike
    under, over = bike.cockpit.spacers_under, bike.cockpit.spacers_over
    cut = sum(item.value for item in (under, over) if item is not None)
    owned = (
        ("the frame's maker", "max", bike.frame.steerer_stack_max),
        ("the fork's maker", "max", bike.fork.steerer_stack_max),
        ("the fork's maker", "min", bike.fork.steerer_stack_min),
    )
    return (
        Limit("the steerer as it is cut", "max", cut),
        *(
            Limit(owner, "min" if kind == "min" else "max", limit.value)
            for owner, kind, limit in owned
            if limit is not None
        ),
    )


def _spacers(filled: Filled) -> Setting:
    under = filled.sheets.bike.cockpit.spacers_under
    have, bounds = 0.0 if under is None else under.value, _stack_limits(filled)
    inside, marked = limits.held(have, bounds)
    cure = f"a bar with {'less' if inside is not None and inside > have else 'more'} rise"
    return Setting(
        "spacers_under",
        inside,
        "m",
        0.0,
        min(bound.value for bound in bounds if bound.kind == "max"),
        "practice",
        "common practice, no source",
        _as_fitted(filled),
        "mm",
        1.0,
        "Spacers under the stem",
        marked,
        (STEERER_CAUTION,),
        wanted=None if inside == have else have,
        cure=cure,
    )
