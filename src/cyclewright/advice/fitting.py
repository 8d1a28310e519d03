"""The fit as a whole: saddle height by four methods, the angles it gives, and what holds it."""

from __future__ import annotations

from dataclasses import dataclass

from cyclewright.advice import case as cases
from cyclewright.advice import fit, levers, steerer, tilt
from cyclewright.advice.advise import Advice
from cyclewright.advice.case import flat
from cyclewright.advice.droppers import Dropper, droppers
from cyclewright.advice.fit import Saddle
from cyclewright.advice.levers import Levers
from cyclewright.advice.needed import given
from cyclewright.advice.spread import setting
from cyclewright.advice.steerer import Cut
from cyclewright.body import posture
from cyclewright.body.posture import SaddleHeights
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Basis, Setting
from cyclewright.solve import seat
from cyclewright.solve.case import Array
from cyclewright.solve.solution import Solution

PLAIN_LOWER = (0.010, 0.030)
"""How much lower than full height a plain post is set for rough ground [m] (common practice)."""
_POSTURE = "posture of this rider, seated at sag"
_USUAL = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Fit:
    """One rider on one bike: everything that is set by the fit, and what it rests on."""

    saddle: Saddle
    methods: tuple[Setting, ...]
    """Four ways to a saddle height side by side, at full height."""
    angles: tuple[Setting, ...]
    contacts: tuple[Setting, ...]
    """Crank, foot over the spindle, the knee over the pedal."""
    droppers: tuple[Dropper, ...]
    levers: Levers
    steerer: Cut


def fitting(filled: Filled, advice: Advice, proved: bool = False) -> Fit:
    """The fit that goes with this advice; `proved` when the rider has ridden the position."""
    saddle = fit.saddle(filled)
    return Fit(
        saddle,
        methods(filled),
        angles(advice),
        _contacts(filled, advice.outcome),
        droppers(filled, saddle.height, saddle.facts),
        levers.levers(filled),
        steerer.cut(filled, proved),
    )


def _heights(filled: Filled) -> SaddleHeights:
    """Every method for the nominal rider and each draw of what is not known of the body."""
    bike, rider = filled.sheets.bike, filled.sheets.rider
    assert rider is not None, "filled sheets always hold a rider"
    body, frame = cases.body_of(rider), bike.frame
    line = seat.line_angle(
        flat(frame.stack),
        flat(frame.seat_angle),
        flat(frame.seat_angle_actual),
        posture.by_inseam(body.inseam),
    )
    return posture.saddle_heights(
        body.segments,
        body.inseam,
        flat(bike.crank.length),
        flat(bike.pedal.stack) + flat(rider.shoe_stack),
        line,
        flat(bike.saddle.setback),
    )


def methods(filled: Filled) -> tuple[Setting, ...]:
    """Four ways to a saddle height, each with the 90 % interval of what is not known."""
    found = _heights(filled)
    low, high = (_mm(float(ends[0])) for ends in (found.knee_low, found.knee_high))
    crank = given(filled.sheets.bike.crank.length).value

    def method(name: str, label: str, value: Array, basis: Basis, source: str, how: str) -> Setting:
        return setting(
            name, label, value, "m", "mm", 1.0, basis=basis, source=source, because=how
        )  # fmt: skip

    return (
        method("saddle_by_inseam", "0.883 × inseam", found.by_inseam, "practice", _USUAL,
               "bottom bracket to saddle; knows neither crank nor shoe"),
        method("saddle_by_spindle", "1.09 × inseam, less the crank", found.by_spindle_from_bb,
               "practice", "Hamley and Thomas 1967",
               f"pedal spindle to saddle, less a crank of {_mm(crank)}"),
        method("saddle_by_heel", "Heel on the pedal, leg straight", found.heel, "model",
               "legs by the open survey; the method: common practice, no source",
               "the foot's heel on the spindle at the bottom of the stroke, hips level"),
        method("saddle_by_knee", "Knee bent 30°", found.knee_middle, "model",
               "Holmes and others 1994; legs by the open survey",
               f"standing still at the bottom of the stroke; 35 to 25° is {low} to {high}"),
    )  # fmt: skip


def angles(advice: Advice) -> tuple[Setting, ...]:
    """Joint angles of this rider seated at sag, and how the saddle then stands."""
    outcome = advice.outcome
    bent = outcome.seated.pose.angles

    def one(name: str, label: str, key: str, how: str, basis: Basis = "model") -> Setting:
        return setting(
            name, label, bent[key], "rad", "°", 1.0, basis=basis, source=_POSTURE, because=how
        )

    return (
        one("knee_at_bottom", "Knee bent at the bottom", "knee_bottom",
            "standing still; 25 to 35° by Holmes and others 1994, more on a post set lower"),
        one("knee_at_top", "Knee bent at the top", "knee_top",
            "shorter cranks bend it less; above about 120° many knees complain (judgement)"),
        one("hip_angle", "Hip, trunk to thigh at its least", "hip",
            "a closed hip breathes and climbs badly: raise the bar or shorten the cranks"),
        one("trunk_angle", "Trunk from level", "trunk",
            "40 to 60° is usual on the trail: common practice, no source"),
        one("elbow_angle", "Elbow bent", "elbow",
            "taken as an easy bend; where the bar is too far it straightens"),
        one("forearm_angle", "Forearm below level", "forearm",
            "the line that the brake levers follow"),
        tilt.at_sag(advice.settings, outcome),
    )  # fmt: skip


def _contacts(filled: Filled, outcome: Solution) -> tuple[Setting, ...]:
    bike, rider = filled.sheets.bike, filled.sheets.rider
    assert rider is not None
    crank = given(bike.crank.length)
    inseam = float(cases.body_of(rider).inseam[0])
    state = outcome.seated
    knee = state.pose.points["knee_front"][:, 0]
    ahead = knee - state.geometry.bottom_bracket[:, 0] - outcome.case.crank_length
    return (
        Setting(
            "crank_length", crank.value, "m", None, None, _whose(filled, "bike.crank.length"),
            "the sheet", f"{crank.value / inseam:.1%} of the inseam; every millimetre shorter "
            "lifts the saddle by one and opens the hip", "mm", 0.5, "Crank",
        ),
        setting(
            "foot_over_spindle", "Foot over the pedal's spindle", outcome.case.foot_stack, "m",
            "mm", 1.0, basis=_whose(filled, "bike.pedal.stack"), source="the sheets",
            because=f"pedal {_mm(given(bike.pedal.stack).value)} and shoe "
            f"{_mm(given(rider.shoe_stack).value)}; other shoes, other saddle height",
        ),
        setting(
            "knee_over_pedal", "Knee ahead of the pedal's spindle", ahead, "m", "mm", 1.0,
            basis="model", source=_POSTURE,
            because="cranks level, front foot; a steep seat tube puts the knee ahead, which is "
            "no fault: read it when the setback is changed (common practice, no source)",
        ),
    )  # fmt: skip


def rough_heights(saddle: Saddle) -> tuple[float, float]:
    """Lowest and highest saddle height [m] of a plain post set for rough ground."""
    return saddle.height.value - PLAIN_LOWER[1], saddle.height.value - PLAIN_LOWER[0]


def setback_words(filled: Filled) -> str:
    """What moving the saddle in its rails costs, in words."""
    half = given(filled.sheets.bike.saddle.rail_length).value / 2
    return (
        f"Inside ± {_mm(half)} of the rails' marks. Back takes weight off the hands, makes the "
        "reach longer, lifts the front on climbs; forward the other way. Height is set again after."
    )


def recommended_words(found: tuple[Setting, ...], saddle: Saddle) -> str:
    """The one recommendation beside the methods."""
    values = [item.value for item in found if item.value is not None]
    span = f"{_mm(min(values))} and {_mm(max(values))}"
    wanted = (
        f"{_mm(saddle.height.value)} at full height ({_mm(saddle.height.low)} to "
        f"{_mm(saddle.height.high)}): 0.883 × inseam, held where the knee is bent 25 to 35°. "
        f"The four methods lie between {span}."
    )
    said = fit.height(saddle).moved()
    if not said or saddle.inside is None:
        return f"Set {wanted}"
    return f"{said[0].upper()}{said[1:]}. Set {_mm(saddle.inside)}. Wanted is {wanted}"


def _whose(filled: Filled, field: str) -> Basis:
    return "maker" if filled.default(field) is None else "practice"


def _mm(length: float) -> str:
    return f"{length * 1000:.0f} mm"
