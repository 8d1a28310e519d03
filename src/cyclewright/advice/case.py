"""From filled sheets to a Case: nominal values first, then 512 draws of what is uncertain.

Every uncertain input has its own fixed row of deviates, so that the same cause (one pump, one
posture, one body) moves everything it touches together, and the same sheet gives the same digits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from cyclewright.advice import charts, fit, limits
from cyclewright.advice.needed import given
from cyclewright.advice.rear import rear_end
from cyclewright.body import segments
from cyclewright.body.segments import Segments
from cyclewright.errors import InputError, Problem
from cyclewright.knowledge import grounds
from cyclewright.knowledge.defaults import Filled
from cyclewright.knowledge.uncertainty import sigma as known_sigma
from cyclewright.knowledge.uncertainty import spread as usual_spread
from cyclewright.mechanics import gas
from cyclewright.mechanics import tyre as tyres
from cyclewright.sheets.bike import Bike, Fork, Shock
from cyclewright.sheets.bike import Tyre as TyreSheet
from cyclewright.sheets.rider import Rider
from cyclewright.solve.case import Array, Case, Published, Spring, SpringKind, Tyre, nominal
from cyclewright.solve.coupled import solve
from cyclewright.solve.tables import DRAWS, deviates
from cyclewright.units import Quantity

End = Literal["front", "rear"]
Unit = Literal["fork", "shock"]

ROWS = {
    "rider.mass": 0,
    "rider.kit_mass": 1,
    "bike.mass": 2,
    "rider.inseam": 3,
    "crotch": 4,
    "posture.standing": 5,
    "posture.seated": 6,
    "fork.area": 7,
    "fork.chamber": 8,
    "fork.friction": 9,
    "shock.area": 10,
    "shock.chamber": 11,
    "shock.friction": 12,
    "leverage": 13,
    "tyre.front": 14,
    "tyre.rear": 15,
    "ground": 16,
    "gauge": 17,
    "gas.warming": 18,
    "rider.height": 19,
    "spring.negative": 20,
    "shock.rod": 29,
    "damper.ratio": 30,
    "damper.clicks": 31,
}
_ROUNDING = 1e-9
_SEGMENT_ROWS = slice(21, 21 + segments.DEVIATES)

CHAMBER_LENGTH = {"fork": 1.40, "shock": 1.35}
"""Air length of the positive chamber over the unit's travel, as delivered (judgement): a unit
pushes some four to six times as hard at full travel as at sag."""
LEAST_CHAMBER_LENGTH = 1.04
"""The least that any draw may have of it: the piston must not fill the chamber."""
SPACER_VOLUME = {"fork": 8e-6, "shock": 3e-6}
"""What one volume spacer takes of the positive chamber [m³] (judgement)."""
ROD_FORCE = 90.0
"""What the gas of a shock's damper pushes on its rod [N] (common practice, no source)."""
NEGATIVE_LENGTH = 0.25
"""Negative chamber's air length over the unit's travel (judgement)."""
ELBOW_FLEXION = 0.35
"""Elbows slightly bent when seated [rad] (common practice, no source)."""
PROVISIONAL_AREA = 8e-4
"""Effective piston area [m²] before the anchor pins it; it moves no load."""
COIL_PRELOAD = 0.001
"""Preload that just holds a coil, about a turn [m] (common practice, no source)."""
LEAST_MASS = 0.2
"""Share of a mass that every draw of it keeps: less is no rider and no bike (judgement)."""
UNSPRUNG_FRONT = 3.3
UNSPRUNG_REAR = 4.0
"""Unsprung masses [kg]."""
RIM_EDGE = 0.006
"""Rim edge above the bead seat [m]; from memory of ISO 5775-2 flange heights."""
BAR_STRAIGHT_HALF = 0.10
"""Half of the bar before its sweep begins [m] (judgement)."""
INSERT_HIT = 0.8
"""Share of a hit that is left to the tyre where an insert guards the rim (judgement)."""
CASING = {"light": 0.10, "trail": 0.15, "heavy": 0.25}
"""Share that each kind of casing adds to the membrane."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What stays as it was set: pressures [Pa gauge], rates [N/m], saddle height [m]."""

    fork: float | None = None
    shock: float | None = None
    front_tyre: float | None = None
    rear_tyre: float | None = None
    saddle_height: float | None = None


def build(
    filled: Filled,
    reference: Filled | None = None,
    kept: Kept | None = None,
    charted: Rider | None = None,
) -> Case:
    """The Case of these sheets.

    A maker's chart pins the spring: its effective area is such that the chart's own pressure
    gives the maker's sag to a rider of that mass in the position of `reference` (these same
    sheets unless a change is being looked at), with its volume spacers as delivered, so that
    what a change moves is seen. `charted` is the rider whose row of the chart is taken, where it
    is not the one on the sheets: a spring stays what it is when another sits down on it.
    """
    case = _case(filled, kept or Kept())
    if reference is not None and reference.sheets.bike.kind == filled.sheets.bike.kind:
        case = replace(case, published=_published(case, reference))
    if reference is None or _springs(reference) != _springs(filled):
        reference = filled
    meant = _as_the_maker_means(reference, charted or _rider(filled))
    fork, shock = _pinned(filled, case, meant)
    return replace(
        case,
        fork=_spaced("fork", fork, filled.sheets.bike.fork, reference.sheets.bike.fork),
        shock=_spaced("shock", shock, filled.sheets.bike.shock, reference.sheets.bike.shock),
    )


def _published(case: Case, reference: Filled) -> Published | None:
    """The wheels and fork of the reference; None where the bike still has them."""
    bike = reference.sheets.bike
    was = Published(
        _radius(bike.tyre.front),
        _radius(bike.tyre.rear),
        flat(bike.fork.axle_to_crown),
        flat(bike.fork.offset),
    )
    same = (
        np.array_equal(was.front_radius, case.front_tyre.radius)
        and np.array_equal(was.rear_radius, case.rear_tyre.radius)
        and np.array_equal(was.axle_to_crown, case.axle_to_crown)
        and np.array_equal(was.fork_offset, case.fork_offset)
    )
    return None if same else was


def _radius(tyre: TyreSheet) -> Array:
    """Unloaded outside radius [m]."""
    assert tyre.width is not None and tyre.bead is not None, "filled sheets hold both"
    return full(float(tyres.outside_diameter(tyre.width, tyre.bead)) / 2)


def _spaced(name: Unit, spring: Spring, unit: Fork | Shock, delivered: Fork | Shock) -> Spring:
    """The spring with the spacers that went in or came out since its chart was taken to hold."""
    added = (unit.spacers or 0) - (delivered.spacers or 0)
    if spring.kind != "air" or added == 0:
        return spring
    return with_spacers(name, spring, added)


def with_spacers(name: Unit, spring: Spring, added: int) -> Spring:
    """An air spring with this many volume spacers more (or fewer) in its positive chamber.

    Raises InputError where the piston would fill what they leave.
    """
    length = spring.air_length - added * SPACER_VOLUME[name] / spring.area
    least = LEAST_CHAMBER_LENGTH * spring.travel
    if length[0] < least[0]:
        do = "fit fewer: the piston would fill what is left of the chamber before full travel"
        raise InputError([Problem("chamber-full", f"bike.{name}.spacers", do, value=f"{added:+d}")])
    return replace(spring, air_length=np.maximum(length, least))


def _springs(filled: Filled) -> tuple[object, ...]:
    """What kinds of spring the bike has: a pin on one kind says nothing of another."""
    bike = filled.sheets.bike
    return bike.kind, bike.fork.kind, bike.shock.kind


def riding_mass(filled: Filled) -> float:
    """Rider with kit [kg], as charts mean it."""
    rider = _rider(filled)
    body, kit = _masses(rider)
    return body.value + kit.value


def _rider(filled: Filled) -> Rider:
    rider = filled.sheets.rider
    assert rider is not None, "filled sheets always hold a rider"
    return rider


def _masses(rider: Rider) -> tuple[Quantity, Quantity]:
    """Body and kit, whichever way the sheet gives the rider's mass."""
    mass, kit = given(rider.mass), given(rider.kit_mass)
    return (
        (replace(mass, value=mass.value - kit.value), kit)
        if rider.mass_includes_kit
        else (mass, kit)
    )


def _as_the_maker_means(reference: Filled, rider: Rider) -> Filled:
    """The reference position and the maker's sag under this rider, whatever sag is wished."""
    rider = rider.model_copy(update={"sag_wish": None})
    return replace(reference, sheets=replace(reference.sheets, rider=rider))


def _pinned(filled: Filled, case: Case, meant: Filled) -> tuple[Spring, Spring]:
    """Fork and shock with the effective areas that their anchor pressures ask for."""
    pinned = _case(meant, Kept())
    at_goal = solve(nominal(pinned))
    bike, mass = filled.sheets.bike, riding_mass(meant)
    outside = float(pinned.ambient[0])

    def one(name: Unit, spring: Spring, unit: Fork | Shock, pressure: Array) -> Spring:
        if spring.kind != "air":
            return spring
        vouched = charts.anchor(unit, mass, float(pinned.leverage_mean[0]))
        # Force goes with area times absolute pressure, so the two trade one for the other.
        area = PROVISIONAL_AREA * (float(pressure[0]) + outside) / (vouched.pressure + outside)
        spread = "spring.area_chart" if vouched.maker else "spring.area_guessed"
        return replace(spring, area=area * factor(f"{name}.area", spread))

    return (
        one("fork", case.fork, bike.fork, at_goal.fork_setting),
        one("shock", case.shock, bike.shock, at_goal.shock_setting),
    )


def _case(filled: Filled, kept: Kept) -> Case:
    """The Case with provisional spring areas, which `_pinned` puts right."""
    sheets = filled.sheets
    bike, place, rider = sheets.bike, sheets.place, _rider(filled)
    body_mass, kit_mass = _masses(rider)
    body = body_of(rider)
    frame, cockpit = bike.frame, bike.cockpit
    foot_stack = flat(bike.pedal.stack) + flat(rider.shoe_stack)
    crank = flat(bike.crank.length)
    recommended = fit.saddle(filled).held if kept.saddle_height is None else kept.saddle_height
    altitude = given(place.workshop.altitude).value
    sweep = math.radians(8.0) if cockpit.bar_backsweep is None else cockpit.bar_backsweep.value
    clamp = given(cockpit.stem_clamp_height).value
    rear = rear_end(bike)
    return Case(
        wheelbase=flat(frame.wheelbase),
        chainstay=flat(frame.chainstay),
        bb_drop=flat(frame.bb_drop),
        head_angle=flat(frame.head_angle),
        reach=flat(frame.reach),
        stack=flat(frame.stack),
        seat_angle=flat(frame.seat_angle),
        seat_angle_actual=flat(frame.seat_angle_actual),
        seat_tube=flat(frame.seat_tube),
        axle_to_crown=flat(bike.fork.axle_to_crown),
        fork_offset=flat(bike.fork.offset),
        rear_travel=flat(bike.rear.travel),
        leverage=rear.leverage,
        leverage_factor=factor("leverage", rear.spread) if rear.spread else full(1.0),
        axle_path=rear.axle_path,
        stem_length=flat(cockpit.stem_length),
        stem_angle=flat(cockpit.stem_angle),
        spacers_under=flat(cockpit.spacers_under),
        stem_stack=np.full_like(crank, clamp / 2),
        bar_rise=flat(cockpit.bar_rise),
        bar_backsweep_reach=np.full_like(crank, _grip_behind(bike, sweep)),
        crank_length=crank,
        foot_stack=foot_stack,
        saddle_height=np.full_like(crank, recommended),
        saddle_setback=flat(bike.saddle.setback),
        elbow_flexion=np.full_like(crank, ELBOW_FLEXION),
        hip_shift=known_sigma("posture.standing").value * deviates()[ROWS["posture.standing"]],
        seated_shift=known_sigma("posture.seated").value * deviates()[ROWS["posture.seated"]],
        segments=body.segments,
        sex=rider.sex,
        rider_mass=_weighty(drawn(body_mass, "rider.mass")),
        kit_mass=np.maximum(drawn(kit_mass, "rider.kit_mass"), 0.0),
        bike_mass=_weighty(drawn(given(bike.mass), "bike.mass")),
        unsprung_front=np.full_like(crank, UNSPRUNG_FRONT),
        unsprung_rear=np.full_like(crank, UNSPRUNG_REAR),
        fork=_fork(bike.fork, rider, kept.fork),
        shock=_shock(bike, rider, kept.shock),
        front_tyre=_tyre(filled, "front", kept.front_tyre),
        rear_tyre=_tyre(filled, "rear", kept.rear_tyre),
        slope=flat(None),
        ambient=np.full_like(crank, float(gas.standard_atmosphere(altitude).pressure)),
        grip_half_width=full(_half_width(bike)),
    )


def flat(quantity: Quantity | None) -> Array:
    """A quantity taken as exact: the same in the nominal and every draw; nothing is zero."""
    return full(0.0 if quantity is None else quantity.value)


def full(value: float) -> Array:
    """The same number in the nominal and every draw."""
    return np.full(DRAWS + 1, value)


@dataclass(frozen=True, slots=True)
class Body:
    """The rider's inseam and segments with their draws."""

    inseam: Array
    segments: Segments


def body_of(rider: Rider) -> Body:
    """Segments from what was measured; an inseam that was not comes from the height."""
    height = drawn(given(rider.height), "rider.height")
    _draw_in(height, segments.STATURE, np.ones_like(height))
    if rider.inseam is None:
        over, spread = segments.INSEAM_OVER_CROTCH["firm"]
        mean, unknown = segments.crotch_height_from_stature(height, rider.sex)
        crotch = mean + unknown * deviates()[ROWS["rider.inseam"]]
        inseam = crotch + over + spread * deviates()[ROWS["crotch"]]
    else:
        kind = rider.inseam_kind or "firm"
        measured = drawn(rider.inseam, "rider.inseam")
        over, spread = segments.INSEAM_OVER_CROTCH[kind]
        crotch = measured - over - spread * deviates()[ROWS["crotch"]]
        firm_over, _ = segments.INSEAM_OVER_CROTCH["firm"]
        inseam = measured + (firm_over - over)
    _draw_in(crotch, segments.CROTCH_SHARE, height)
    arm = None if rider.arm_length is None else flat(rider.arm_length)
    if arm is not None:
        _draw_in(arm, segments.ARM, height)
    return Body(
        inseam,
        segments.predict(height, crotch, rider.sex, arm, deviates()[_SEGMENT_ROWS]),
    )


def _weighty(masses: Array) -> Array:
    """Masses whose draws keep a fifth of the nominal at least, however wide their ± is."""
    kept: Array = np.maximum(masses, LEAST_MASS * masses[0])
    return kept


def _draw_in(draws: Array, share: tuple[float, float], of: Array) -> None:
    """Bring draws that no body has in to the nearest one; the sheet's own figure stays."""
    least, most = share[0] * (1.0 + _ROUNDING), share[1] * (1.0 - _ROUNDING)
    draws[1:] = np.clip(draws[1:], least * of[1:], most * of[1:])


def _half_width(bike: Bike) -> float:
    """Middle of the bar to the middle of a grip [m]."""
    return (given(bike.cockpit.bar_width).value - given(bike.cockpit.grip_length).value) / 2


def _grip_behind(bike: Bike, sweep: float) -> float:
    """How far behind the clamp the middle of the grip lies, swept back and rolled [m]."""
    cockpit = bike.cockpit
    swept = max(_half_width(bike) - BAR_STRAIGHT_HALF, 0.0) * math.tan(sweep)
    roll = 0.0 if cockpit.bar_roll is None else cockpit.bar_roll.value
    return swept - given(cockpit.bar_rise).value * math.sin(roll)


def _fork(fork: Fork, rider: Rider, kept: float | None) -> Spring:
    if fork.kind == "rigid":
        return _rigid()
    return _spring("fork", fork.kind or "air", given(fork.travel), fork, rider, kept, 0.0)


def _shock(bike: Bike, rider: Rider, kept: float | None) -> Spring:
    if bike.kind != "full-suspension":
        return _rigid()
    shock = bike.shock
    preload = COIL_PRELOAD if shock.kind == "coil" else 0.0
    return _spring("shock", shock.kind or "air", given(shock.stroke), shock, rider, kept, preload)


def _rigid() -> Spring:
    none, one = full(0.0), full(1.0)
    return Spring("rigid", none, none, "seated", one, one, one, none, none, none)


def _spring(
    name: Unit,
    kind: SpringKind,
    travel: Quantity,
    unit: Fork | Shock,
    rider: Rider,
    kept: float | None,
    preload: float,
) -> Spring:
    """One suspension end: chamber length and friction with their draws, area provisional."""
    length = CHAMBER_LENGTH[name] * factor(f"{name}.chamber", "spring.chamber_guessed")
    target = given(rider.sag_wish if rider.sag_wish is not None else unit.sag_target)
    friction = known_sigma(f"{name}.friction").value * deviates()[ROWS[f"{name}.friction"]]
    return Spring(
        kind=kind,
        travel=flat(travel),
        sag_target=flat(target),
        posture=unit.posture or ("standing" if name == "fork" else "seated"),
        area=full(PROVISIONAL_AREA),
        air_length=travel.value * np.maximum(length, LEAST_CHAMBER_LENGTH),
        negative_length=travel.value
        * NEGATIVE_LENGTH
        * factor("spring.negative", "spring.negative_volume"),
        preload=full(preload),
        friction=friction,
        rod_force=_rod_force() if name == "shock" else full(0.0),
        kept_pressure=None if kept is None else full(kept),
    )


def _rod_force() -> Array:
    """What the damper's gas pushes on a shock's rod, with its draws [N]."""
    return np.maximum(ROD_FORCE + known_sigma("shock.rod").value * row("shock.rod"), 0.0)


def _tyre(filled: Filled, end: End, kept: float | None) -> Tyre:
    """One tyre on its rim, what its ground asks, and between which limits it may be set."""
    bike, rider = filled.sheets.bike, _rider(filled)
    tyre, wheel = getattr(bike.tyre, end), getattr(bike.wheel, end)
    width = float(tyres.section_on_rim(tyre.width, given(wheel.rim_width).value))
    ground = grounds.ground(rider.ride)
    hit = ground.hit_front if end == "front" else ground.hit_rear
    if tyre.insert:
        hit *= INSERT_HIT
    if (bike.fork.kind == "rigid") if end == "front" else (bike.kind != "full-suspension"):
        hit *= ground.hit_unsprung
    least, most = limits.tightest(limits.tyre_limits(filled, end))
    here, there = filled.sheets.place.workshop, filled.sheets.place.trail
    lowest = min(given(here.altitude).value, given(there.altitude).value)
    return Tyre(
        radius=_radius(tyre),
        width=full(width),
        height=full(max(width - RIM_EDGE, 0.01)),
        rim_width=flat(wheel.rim_width),
        casing=full(CASING[tyre.casing or "trail"]),
        stiffness_factor=factor(f"tyre.{end}", "tyre.stiffness"),
        hit_factor=hit * _lognormal("ground", ground.hit_sigma),
        roll_off_factor=_lognormal("ground", tyres.ROLLOFF_SPREAD),
        floor=full(least),
        ceiling=full(most),
        kept_pressure=None if kept is None else full(kept),
        cooling=min(1.0, given(there.temperature).value / given(here.temperature).value),
        outside=float(gas.standard_atmosphere(lowest).pressure),
    )


def set_to(case: Case, kept: Kept) -> Case:
    """The case with what was set kept as it is; what was not set still meets its goal."""

    def hold(value: float | None) -> Array | None:
        return None if value is None else np.full_like(case.wheelbase, value)

    return replace(
        case,
        fork=replace(case.fork, kept_pressure=hold(kept.fork)),
        shock=replace(case.shock, kept_pressure=hold(kept.shock)),
        front_tyre=replace(case.front_tyre, kept_pressure=hold(kept.front_tyre)),
        rear_tyre=replace(case.rear_tyre, kept_pressure=hold(kept.rear_tyre)),
    )


def row(name: str) -> Array:
    """The standard normal deviates of one uncertain input, 0 for the nominal."""
    drawn_row: Array = deviates()[ROWS[name]]
    return drawn_row


def drawn(value: Quantity, name: str) -> Array:
    """Nominal and draws of one quantity, with its own ± or else the usual one of its kind."""
    values: Array = value.value + usual_spread(value, name) * deviates()[ROWS[name]]
    return values


def factor(row: str, name: str) -> Array:
    """A factor around 1 with the relative spread known under `name`."""
    return _lognormal(row, known_sigma(name).of(1.0))


def _lognormal(row: str, spread: float) -> Array:
    drawn_factor: Array = np.exp(spread * deviates()[ROWS[row]])
    return drawn_factor
