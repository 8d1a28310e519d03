"""The saddle: how high, how far back, how tilted, and how deep the post then stands."""

from __future__ import annotations

from dataclasses import dataclass

from cyclewright.advice import limits, post, tilt
from cyclewright.advice.height import Height, saddle_height
from cyclewright.advice.post import PostFacts
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Finding, Limit, Setting
from cyclewright.solve.solution import Solution

PLAIN_POST_LOWER = {"smooth": 0.0, "mixed": 0.010, "rough": 0.030}
"""How much lower than full height a plain post is set by ground [m] (common practice)."""
HEIGHT_CAUTION = "Never raise the post above its insertion mark: a post that breaks throws you."


@dataclass(frozen=True, slots=True)
class Saddle:
    """The saddle height wanted, and what the post makes of it [m]."""

    height: Height
    """At which the rider pedals best."""
    lower: float
    """How much lower a plain post is set for the ground."""
    facts: PostFacts | None
    limits: tuple[Limit, ...]
    """What the post allows, with what binds marked."""
    inside: float | None
    """The height to set; None where the limits leave none."""

    @property
    def goal(self) -> float:
        """The height to set if no limit held it."""
        return self.height.value - self.lower

    @property
    def wanted(self) -> float | None:
        """The goal where a limit moved the saddle from it."""
        return None if self.inside in (None, self.goal) else self.goal

    @property
    def held(self) -> float:
        """The height that the sums take: the one to set, else the goal."""
        return self.goal if self.inside is None else self.inside


def saddle(filled: Filled) -> Saddle:
    """The saddle height of this rider, lower for a plain post on rough ground, in its limits.

    A seat tube that is itself a default bounds nothing.
    """
    height = saddle_height(filled.sheets)
    assert height is not None, "filled sheets always hold a rider's height"
    bike, rider = filled.sheets.bike, filled.sheets.rider
    ground = None if rider is None else rider.ground
    lower = PLAIN_POST_LOWER[ground or "mixed"] if bike.post.kind == "plain" else 0.0
    guessed = filled.default("bike.frame.seat_tube") is not None
    facts = None if guessed else post.facts_of(filled.sheets)
    bounds = () if facts is None else facts.limits()
    inside, marked = limits.held(height.value - lower, bounds)
    return Saddle(height, lower, facts, marked, inside)


def settings(filled: Filled, found: Saddle, outcome: Solution) -> tuple[Setting, ...]:
    """Saddle height, setback, tilt and, where the post's length is known, its insertion."""
    depth = insertion(found)
    least = (height(found), _setback(filled), tilt.tilt(outcome))
    return least if depth is None else (*least, depth)


def findings(filled: Filled, found: Saddle) -> tuple[Finding, ...]:
    """What the post keeps from this rider: how far from the right height it holds the saddle."""
    if found.inside is None:
        return (_no_height(found),)
    if found.facts is None:
        return ()
    return tuple(post.check(filled.sheets, filled.sheets, found.height))


def height(found: Saddle) -> Setting:
    """The saddle height to set, and what moved it from what this rider wants."""
    because = "0.883 × inseam, inside 25 to 35° of knee bend"
    because += f"; {found.height.because}"
    if found.lower:
        because += f"; {_mm(found.lower)} lower for the ground, as this post cannot drop"
    return Setting(
        name="saddle_height",
        value=found.inside,
        unit="m",
        low=found.height.low - found.lower,
        high=found.height.high - found.lower,
        basis="model",
        source="Hamley and Thomas 1967; Holmes and others 1994",
        because=because,
        display="mm",
        graduation=1.0,
        label="Saddle height",
        limits=found.limits,
        cautions=(HEIGHT_CAUTION,),
        wanted=found.wanted,
        cure=_cure(found),
    )


def _cure(found: Saddle) -> str:
    """What part lets the saddle go where this rider wants it."""
    if found.wanted is None or found.facts is None:
        return ""
    return post.cure(found.facts, found.wanted)


def _no_height(found: Saddle) -> Finding:
    return Finding(
        "no-saddle-height",
        "stop",
        tuple(f"{limit.owner}: {_mm(limit.value)}" for limit in found.limits if limit.binds),
        "The saddle must be above what keeps it up and below what keeps it in.",
        "Fit another post: no height satisfies both limits.",
        ("bike.post.length", "bike.frame.insertion_min", "bike.frame.insertion_max"),
    )


def insertion(found: Saddle) -> Setting | None:
    """How deep the post stands at the height set, with what bounds it from both sides."""
    facts = found.facts
    if facts is None or facts.length is None or found.inside is None:
        return None
    # The whole post but for what stands out below the rails: deeper is lower, one for one.
    whole = facts.length + facts.seat_tube + facts.saddle_stack
    return Setting(
        name="post_insertion",
        value=whole - found.inside,
        unit="m",
        low=whole - found.height.high + found.lower,
        high=whole - found.height.low + found.lower,
        basis="model",
        source="the sheets' lengths",
        because="what is left of the post at the saddle height that is set; the deepest least "
        "insertion wins",
        display="mm",
        graduation=1.0,
        label="Post inside the frame",
        limits=tuple(
            Limit(
                limit.owner,
                "min" if limit.kind == "max" else "max",
                whole - limit.value,
                limit.binds,
            )
            for limit in found.limits
        ),
        cautions=(HEIGHT_CAUTION,),
        wanted=None if found.wanted is None else whole - found.wanted,
        cure=_cure(found),
    )


def _setback(filled: Filled) -> Setting:
    rails = filled.sheets.bike.saddle.rail_length
    half = 0.0 if rails is None else rails.value / 2
    return Setting(
        name="saddle_setback",
        value=0.0,
        unit="m",
        low=-half / 2,
        high=half / 2,
        basis="practice",
        source="common practice, no source",
        because="default: start in the middle of the rails and stay inside their marks",
        display="mm",
        graduation=1.0,
        label="Saddle behind the middle of its rails",
        limits=(Limit("the rails' marks", "min", -half), Limit("the rails' marks", "max", half)),
    )


def _mm(length: float) -> str:
    return f"{length * 1000:.0f} mm"
