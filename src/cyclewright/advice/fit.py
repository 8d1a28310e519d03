"""The saddle: how high, how far back, how tilted, and how deep the post then stands."""

from __future__ import annotations

import math

from cyclewright.advice import limits, post
from cyclewright.advice.height import Height, saddle_height
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Finding, Limit, Setting

PLAIN_POST_LOWER = {"smooth": 0.0, "mixed": 0.010, "rough": 0.030}
"""How much lower than full height a plain post is set by ground [m] (common practice)."""
TILT = (-3.0, -1.0, 0.0)
"""Lowest, first and highest nose angle [degrees]: level to very slightly down."""
HEIGHT_CAUTION = "Never raise the post above its insertion mark: a post that breaks throws you."


def height(filled: Filled) -> Height:
    """The rider's pedalling saddle height with its spread."""
    found = saddle_height(filled.sheets)
    assert found is not None, "filled sheets always hold a rider's height"
    return found


def recommended(filled: Filled) -> float:
    """Saddle height to set [m]: a plain post lower on rough ground, and inside its limits."""
    goal = _goal(filled)
    inside, _ = limits.held(goal, _post_limits(filled))
    return goal if inside is None else inside


def settings(filled: Filled) -> tuple[Setting, ...]:
    """Saddle height, setback, tilt and, where the post's length is known, its insertion."""
    wanted, goal = height(filled), _goal(filled)
    inside, marked = limits.held(goal, _post_limits(filled))
    lower = wanted.value - goal
    because = f"0.883 × inseam inside the knee's 25 to 35°, {wanted.because}"
    if lower:
        because += f"; {lower * 1000:.0f} mm lower for rough ground, as the post cannot drop"
    found = [
        Setting(
            "saddle_height",
            inside,
            "m",
            wanted.low - lower,
            wanted.high - lower,
            "model",
            "Hamley and Thomas 1967; Holmes and others 1994",
            because,
            "mm",
            1.0,
            "Saddle height",
            marked,
            (HEIGHT_CAUTION,),
        ),
        _setback(filled),
        _tilt(),
    ]
    depth = _insertion(filled, inside)
    return (*found, depth) if depth is not None else tuple(found)


def findings(filled: Filled) -> tuple[Finding, ...]:
    """Where the post's limits leave no height at all."""
    inside, marked = limits.held(_goal(filled), _post_limits(filled))
    if inside is not None:
        return ()
    owners = [f"{limit.owner}: {limit.value * 1000:.0f} mm" for limit in marked if limit.binds]
    return (
        Finding(
            "no-saddle-height",
            "stop",
            tuple(owners),
            "The saddle must be above what keeps it up and below what keeps it in.",
            "Fit another post: no height satisfies both limits.",
            ("bike.post.length", "bike.frame.insertion_min", "bike.frame.insertion_max"),
        ),
    )


def _goal(filled: Filled) -> float:
    bike, rider = filled.sheets.bike, filled.sheets.rider
    wanted = height(filled).value
    if bike.post.kind != "plain" or rider is None:
        return wanted
    return wanted - PLAIN_POST_LOWER[rider.ground or "mixed"]


def _post_limits(filled: Filled) -> tuple[Limit, ...]:
    facts = post.facts_of(filled.sheets)
    return () if facts is None else facts.limits()


def _insertion(filled: Filled, saddle: float | None) -> Setting | None:
    """How deep the post stands at the height set, with the frame's and the post's own limits."""
    facts = post.facts_of(filled.sheets)
    if facts is None or saddle is None:
        return None
    depth = facts.insertion(saddle)
    if depth is None:
        return None
    spread = height(filled)
    shallow, deep = facts.insertion(spread.high), facts.insertion(spread.low)
    owned: tuple[tuple[str, float | None, str], ...] = (
        ("the frame's least insertion", facts.frame_insertion_min, "min"),
        ("the post's least insertion", facts.post_insertion_min, "min"),
        ("the frame's greatest insertion", facts.frame_insertion_max, "max"),
    )
    bounds = tuple(
        Limit(owner, "min" if kind == "min" else "max", value, math.isclose(value, depth))
        for owner, value, kind in owned
        if value is not None
    )
    return Setting(
        "post_insertion",
        depth,
        "m",
        shallow,
        deep,
        "model",
        "the sheets' lengths",
        "seat tube, post and saddle lengths at this saddle height; the deepest minimum wins",
        "mm",
        1.0,
        "Post inside the frame",
        bounds,
        (HEIGHT_CAUTION,),
    )


def _setback(filled: Filled) -> Setting:
    rails = filled.sheets.bike.saddle.rail_length
    half = 0.0 if rails is None else rails.value / 2
    return Setting(
        "saddle_setback",
        0.0,
        "m",
        -half / 2,
        half / 2,
        "practice",
        "common practice, no source",
        "default: start in the middle of the rails; move inside the rail marks only",
        "mm",
        1.0,
        "Saddle behind the middle of its rails",
        (Limit("the rails' marks", "min", -half), Limit("the rails' marks", "max", half)),
    )


def _tilt() -> Setting:
    low, first, high = (math.radians(angle) for angle in TILT)
    return Setting(
        "saddle_tilt",
        first,
        "rad",
        low,
        high,
        "practice",
        "common practice, no source",
        "default: level to very slightly nose down; nose up presses, nose down loads the hands",
        "°",
        0.5,
        "Saddle tilt, nose up positive",
    )
