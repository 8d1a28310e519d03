"""Whether the post lets this rider sit at the right height: insertion limits and dropper travel.

Along the post, from the bottom bracket: saddle height = seat tube + exposed post + rails to
saddle top, at full extension. The exposed post is the post's length less what is inserted. A
dropper's inner tube and head cannot go into the frame, so at least its travel and its head stay
exposed; the frame lets in only so much; frame and post each want a least insertion.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from cyclewright.advice.height import Height
from cyclewright.knowledge import rules
from cyclewright.setting import Finding, Limit, Question, Severity

if TYPE_CHECKING:
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.units import Quantity

_REACH_FIELDS = ("bike.frame.seat_tube", "rider.inseam")


@dataclass(frozen=True, slots=True)
class PostFacts:
    """What bounds the saddle height on this bike [m]; None for what nobody has said."""

    seat_tube: float
    saddle_stack: float
    head: float
    travel: float
    length: float | None
    frame_insertion_min: float | None
    frame_insertion_max: float | None
    post_insertion_min: float | None

    def shorter(self, travel: float) -> PostFacts:
        """A dropper of the same family with less travel, shorter in its usual proportion."""
        if self.length is None:
            return replace(self, travel=travel)
        less = rules.rule("dropper_length_per_travel").value * (self.travel - travel)
        return replace(self, travel=travel, length=self.length - less)

    def limits(self) -> tuple[Limit, ...]:
        """Bounds on the saddle height at full extension [m], each with its owner."""
        base = self.seat_tube + self.saddle_stack
        moves = "the dropper's travel and head" if self.travel else "the post's head"
        found = [Limit(moves, "min", base + self.travel + self.head)]
        if self.length is not None:
            owned = (
                ("the frame's greatest insertion", "min", self.frame_insertion_max),
                ("the frame's least insertion", "max", self.frame_insertion_min),
                ("the post's least insertion", "max", self.post_insertion_min),
            )
            found += [
                Limit(owner, "min" if kind == "min" else "max", base + self.length - depth)
                for owner, kind, depth in owned
                if depth is not None
            ]
        return tuple(found)

    def lowest(self) -> Limit:
        """The bound that keeps the saddle up."""
        return max((x for x in self.limits() if x.kind == "min"), key=lambda x: x.value)

    def highest(self) -> Limit | None:
        """The bound that keeps the saddle down, None when nobody states one."""
        return min(
            (x for x in self.limits() if x.kind == "max"), key=lambda x: x.value, default=None
        )

    def suits(self, saddle_height: float) -> bool:
        """Whether every bound allows that saddle height [m]."""
        high = self.highest()
        return self.lowest().value <= saddle_height + 1e-9 and (
            high is None or saddle_height <= high.value + 1e-9
        )

    def insertion(self, saddle_height: float) -> float | None:
        """How deep the post stands in the frame at that saddle height [m]."""
        if self.length is None:
            return None
        return self.length - (saddle_height - self.seat_tube - self.saddle_stack)


def longest_fitting(facts: PostFacts, saddle_height: float) -> float | None:
    """The longest dropper travel that is sold and fits at that saddle height [m]."""
    for travel in reversed(rules.dropper_travels()):
        if travel < facts.travel - 1e-9 and facts.shorter(travel).suits(saddle_height):
            return travel
    return None


def check(sheets: Sheets, filled: Sheets, height: Height) -> Iterator[Finding]:
    """What keeps the saddle from this rider's height; `filled` holds the labelled defaults."""
    facts = facts_of(filled)
    if facts is None or sheets.bike.frame.seat_tube is None:
        return
    low, high = facts.lowest(), facts.highest()
    if height.value < low.value - 1e-6:
        yield _too_long(facts, height, low)
    if high is not None and height.value > high.value + 1e-6:
        yield _too_short(facts, height, high)


def mark(sheets: Sheets) -> Iterator[Finding]:
    """The post's own insertion mark where a country says how deep it has to be."""
    post = sheets.bike.post
    if sheets.place.country != "US" or post.insertion_min is None or post.diameter is None:
        return
    rule = rules.rule("post_mark_diameters")
    least = rule.value * post.diameter.value
    if post.insertion_min.value < least - 1e-6:
        yield Finding(
            "post-mark",
            "warn",
            (
                f"the post's insertion mark: {_mm(post.insertion_min.value)} from its lower end",
                f"{rule.value:g} diameters of this post: {_mm(least)}",
            ),
            f"The mark stands at least {rule.value:g} diameters from the lower end "
            f"({rule.source}).",
            f"Read the mark again; until then insert {_mm(least)} at least.",
            ("bike.post.insertion_min", "bike.post.diameter"),
        )


def facts_of(filled: Sheets) -> PostFacts | None:
    """The post's facts off filled sheets; None for a post that the frame is part of."""
    bike = filled.bike
    dropper = bike.post.kind == "dropper"
    known = bike.frame.seat_tube is not None and bike.saddle.height is not None
    if not known or bike.post.kind not in ("plain", "dropper"):
        return None
    if bike.post.head_height is None or (dropper and bike.post.travel is None):
        return None
    return PostFacts(
        _known(bike.frame.seat_tube),
        _known(bike.saddle.height),
        _known(bike.post.head_height),
        _known(bike.post.travel) if dropper else 0.0,
        _maybe(bike.post.length),
        _maybe(bike.frame.insertion_min),
        _maybe(bike.frame.insertion_max),
        _maybe(bike.post.insertion_min),
    )


def questions(sheets: Sheets) -> Iterator[Question]:
    """Facts that nobody may guess and that decide whether the post fits."""
    bike = sheets.bike
    if bike.post.kind not in ("plain", "dropper"):
        return
    why = "It decides whether the post fits this rider, and no insertion limit may be guessed."
    wanted: list[tuple[str, object, str]] = [
        (
            "bike.frame.insertion_min",
            bike.frame.insertion_min,
            "How much post must be inside the frame, by the frame's maker?",
        ),
        (
            "bike.post.insertion_min",
            bike.post.insertion_min,
            "How far from its lower end is the post's own insertion mark?",
        ),
        (
            "bike.post.length",
            bike.post.length,
            "How long is the post from its lower end to the rails, at full height?",
        ),
    ]
    if sheets.rider is not None:
        wanted.append(
            (
                "bike.frame.seat_tube",
                bike.frame.seat_tube,
                "How long is the seat tube from the bottom bracket to its top?",
            )
        )
    if bike.post.kind == "dropper":
        wanted += [
            ("bike.post.travel", bike.post.travel, "How far does the dropper drop?"),
            (
                "bike.frame.insertion_max",
                bike.frame.insertion_max,
                "How deep does the frame let the post in before a bend or a pivot stops it?",
            ),
        ]
    for field, value, ask in wanted:
        if value is None:
            yield Question(field, ask, why)


def cure(facts: PostFacts, saddle_height: float) -> str:
    """The part that would let the saddle stand at that height [m], in words."""
    high = facts.highest()
    if high is not None and saddle_height > high.value:
        longer = math.ceil((saddle_height - high.value) * 1000 - 1e-6)
        return f"a post at least {longer} mm longer, or a larger frame"
    if not facts.travel:
        return "a shorter post, or a frame with a shorter seat tube"
    travel = longest_fitting(facts, saddle_height)
    if travel is None:
        return "a plain post, as no dropper fits this rider on this frame, or a smaller frame"
    shorter = _about(facts.shorter(travel))
    return f"a dropper of {_mm(travel)} travel at most{shorter}, or a smaller frame"


def _too_long(facts: PostFacts, height: Height, limit: Limit) -> Finding:
    over = limit.value - height.value
    return Finding(
        "dropper-too-long" if facts.travel else "post-too-long",
        _severity(over, height),
        (
            _says(height),
            *_lengths(facts),
            f"limit: {limit.owner}, no saddle below {_mm(limit.value)}: {_mm(over)} too high",
        ),
        "The saddle must come down to the rider's height with the post at full extension.",
        f"Fit {cure(facts, height.value)}."
        + ("" if facts.travel else " Never cut one below its mark."),
        ("bike.post.travel", "bike.post.length", "bike.frame.insertion_max", *_REACH_FIELDS),
    )


def _too_short(facts: PostFacts, height: Height, limit: Limit) -> Finding:
    over = height.value - limit.value
    return Finding(
        "post-too-short",
        _severity(over, height),
        (
            _says(height),
            *_lengths(facts),
            f"limit: {limit.owner}, no saddle above {_mm(limit.value)}: {_mm(over)} too low",
        ),
        "The deeper of the frame's and the post's least insertion always holds.",
        f"Fit {cure(facts, height.value)}; never raise this one past its mark.",
        ("bike.post.length", "bike.frame.insertion_min", "bike.post.insertion_min", *_REACH_FIELDS),
    )


def _severity(over: float, height: Height) -> Severity:
    """A clash that the whole interval of the height shares is sure."""
    return "stop" if over > height.high - height.value else "warn"


def _says(height: Height) -> str:
    return (
        f"saddle height for this rider: {_mm(height.value)} "
        f"({_mm(height.low)} to {_mm(height.high)}, {height.because})"
    )


def _lengths(facts: PostFacts) -> tuple[str, ...]:
    parts = [f"seat tube {_mm(facts.seat_tube)}"]
    if facts.travel:
        parts.append(f"dropper travel {_mm(facts.travel)} with {_mm(facts.head)} of head")
    if facts.length is not None:
        parts.append(f"post {_mm(facts.length)} long")
    if facts.frame_insertion_max is not None:
        parts.append(f"at most {_mm(facts.frame_insertion_max)} of it inside the frame")
    parts.append(f"saddle {_mm(facts.saddle_stack)} over the rails")
    return (", ".join(parts),)


def _about(facts: PostFacts) -> str:
    return "" if facts.length is None else f", about {_mm(facts.length)} long or shorter"


def _mm(length: float) -> str:
    return f"{length * 1000:.0f} mm"


def _maybe(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.value


def _known(quantity: Quantity | None) -> float:
    assert quantity is not None
    return quantity.value
