"""The coupled fixed point: posture, loads, sag, geometry and tyres until nothing moves.

One iteration places the bike on the ground, finds the mass centre of rider, kit and bike, takes
the axle loads, and asks each spring and tyre what it does under them. The coupling is weak (a
millimetre of sag moves a load by a few hundredths of a percent), so a dozen rounds settle it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from cyclewright.body import balance, posture, segments
from cyclewright.body.posture import Pose
from cyclewright.errors import NotConverged, Problem
from cyclewright.mechanics import airpair
from cyclewright.mechanics import fork as forks
from cyclewright.mechanics import leverage as leverages
from cyclewright.mechanics import spring as springs
from cyclewright.mechanics import tyre as tyres
from cyclewright.solve import chassis
from cyclewright.solve.case import Array, Case, Spring, Tyre
from cyclewright.solve.chassis import Frame, point
from cyclewright.solve.solution import Solution, State

GRAVITY = 9.80665
BRAKING_SHARE = 0.2
"""Deceleration in g that the front tyre's goal has to carry as well (judgement, no source)."""
_TOLERANCE = 1e-9
_MOST_ROUNDS = 60


@dataclass(frozen=True, slots=True)
class _Posture:
    """A rider's pose in frame coordinates and the mass centre of rider and kit in it."""

    pose: Pose
    centre: Array


@dataclass(frozen=True, slots=True)
class _Sag:
    """One posture's compressions and loads as they stand in an iteration."""

    fork: Array
    rear: Array
    front_drop: Array
    rear_drop: Array
    front_load: Array
    rear_load: Array
    centre: Array
    head_angle: Array


def solve(case: Case) -> Solution:
    """Settings, loads, sag and geometry of a case, all at one fixed point.

    Springs and tyres with a `kept_pressure` keep it and their compression follows; the others
    get what meets their goal. Shapes: every array (n,), nominal first.

    Raises NotConverged when sixty rounds do not settle to a nanometre of sag.
    """
    parts = chassis.frame(case)
    riders = {"seated": _seated(case, parts), "standing": _standing(case, parts)}
    state = {name: _start(case, rider) for name, rider in riders.items()}
    moved = np.inf
    rounds = 0
    while moved > _TOLERANCE:
        if rounds == _MOST_ROUNDS:
            raise NotConverged(_unsettled(moved))
        rounds += 1
        loads = {name: _loads(case, parts, riders[name], sag) for name, sag in state.items()}
        fork = _fork_setting(case, loads[case.fork.posture])
        shock = _shock_setting(case, loads[case.shock.posture])
        front, rear, _, _ = _tyre_pressures(case, loads["standing"])
        fresh = {
            name: _compress(case, sag, fork, shock, front, rear) for name, sag in loads.items()
        }
        moved = max(_distance(state[name], fresh[name]) for name in state)
        state = fresh
    front, rear, front_goal, rear_goal = _tyre_pressures(case, state["standing"])
    still = np.zeros_like(case.wheelbase)
    return Solution(
        case=case,
        unloaded=chassis.geometry(case, parts, still, still, still, still),
        seated=_finish(case, parts, riders["seated"], state["seated"]),
        standing=_finish(case, parts, riders["standing"], state["standing"]),
        fork_setting=_fork_setting(case, state[case.fork.posture]),
        shock_setting=_shock_setting(case, state[case.shock.posture]),
        front_tyre_pressure=front,
        rear_tyre_pressure=rear,
        front_tyre_goal=front_goal,
        rear_tyre_goal=rear_goal,
        iterations=rounds,
        residual=float(moved),
    )


def shock_travel(case: Case, wheel_travel: Array) -> Array:
    """Shock compression [m] at this vertical wheel travel: the integral of 1/leverage."""
    curve = case.leverage
    if not case.leverage_known:
        return wheel_travel / case.leverage_mean
    return np.interp(wheel_travel, curve.travel, curve.stroke) / case.leverage_factor


def wheel_travel(case: Case, shock_compression: Array) -> Array:
    """Vertical wheel travel [m] at this shock compression; the inverse of `shock_travel`."""
    curve = case.leverage
    if not case.leverage_known:
        return shock_compression * case.leverage_mean
    return np.interp(shock_compression * case.leverage_factor, curve.stroke, curve.travel)


def leverage(case: Case, wheel: Array) -> Array:
    """Leverage ratio [1] at this vertical wheel travel."""
    if not case.leverage_known:
        return case.leverage_mean
    return np.interp(wheel, case.leverage.travel, case.leverage.ratio) * case.leverage_factor


def leverage_slope(case: Case, wheel: Array) -> Array:
    """How the leverage ratio changes with wheel travel [1/m] there."""
    curve = case.leverage
    slope = np.gradient(curve.ratio, curve.travel)
    return np.interp(wheel, curve.travel, slope) * case.leverage_factor


def _seated(case: Case, parts: Frame) -> _Posture:
    contacts = _contacts(case, parts)
    pose = posture.seated(case.segments, contacts, case.elbow_flexion)
    return _posture(case, pose, case.seated_shift)


def _standing(case: Case, parts: Frame) -> _Posture:
    pose = posture.standing(case.segments, _contacts(case, parts), case.hip_shift)
    return _posture(case, pose, np.zeros_like(case.seated_shift))


def _contacts(case: Case, parts: Frame) -> posture.Contacts:
    half = case.grip_half_width
    return posture.Contacts(
        saddle=parts.saddle,
        bottom_bracket=parts.bottom_bracket,
        grip=parts.grip,
        crank_length=case.crank_length,
        foot_stack=case.foot_stack,
        grip_half_width=posture.USUAL_GRIP_HALF_WIDTH if half is None else half,
    )


def _posture(case: Case, pose: Pose, shift: Array) -> _Posture:
    centre = balance.mass_centre(
        pose, case.rider_mass, case.kit_mass, segments.segment_masses(case.sex)
    )
    return _Posture(pose, centre + point(shift, np.zeros_like(shift)))


def _start(case: Case, rider: _Posture) -> _Sag:
    fork = case.fork.sag_target * case.fork.travel
    rear = wheel_travel(case, case.shock.sag_target * case.shock.travel)
    drop = np.zeros_like(fork)
    weight = (case.rider_mass + case.kit_mass + case.bike_mass) * GRAVITY
    return _Sag(fork, rear, drop, drop, 0.45 * weight, 0.55 * weight, rider.centre, case.head_angle)


def _loads(case: Case, parts: Frame, rider: _Posture, sag: _Sag) -> _Sag:
    """Axle loads and head angle with the compressions as they are."""
    turn = chassis.placement(case, parts, sag.fork, sag.rear, sag.front_drop, sag.rear_drop)
    rear_x = turn(chassis.rear_axle(case, parts, sag.rear))[..., 0]
    front_x = turn(parts.front_axle + sag.fork[..., None] * parts.axis)[..., 0]
    wheelbase = front_x - rear_x
    bike = balance.bike_mass_centre(wheelbase, turn(parts.bottom_bracket)[..., 1])
    rider_mass = case.rider_mass + case.kit_mass
    centre = balance.combined((rider_mass, turn(rider.centre)), (case.bike_mass, bike))
    front, rear = balance.axle_loads(
        rider_mass + case.bike_mass, centre[..., 0], centre[..., 1], wheelbase, case.slope
    )
    return replace(
        sag,
        front_load=front,
        rear_load=rear,
        centre=centre,
        head_angle=case.head_angle - turn.pitch,
    )


def _fork_force(case: Case, sag: _Sag) -> Array:
    """Axial force on the fork's spring [N], wheel free to roll, friction of the draw off it."""
    axial = forks.fork_force(np.maximum(sag.front_load, 0.0), sag.head_angle, case.unsprung_front)
    force: Array = np.maximum(axial + case.fork.friction, 1.0)
    return force


def _shock_force(case: Case, sag: _Sag) -> Array:
    """Force on shock and rod together [N]: leverage times the sprung wheel load."""
    load = np.maximum(sag.rear_load, 0.0)
    along = leverages.shock_force(load, leverage(case, sag.rear), case.unsprung_rear)
    force: Array = np.maximum(along + case.shock.friction, 1.0)
    return force


def _fork_setting(case: Case, sag: _Sag) -> Array:
    return _spring_setting(case, case.fork, _fork_force(case, sag))


def _shock_setting(case: Case, sag: _Sag) -> Array:
    at_goal = replace(sag, rear=wheel_travel(case, case.shock.sag_target * case.shock.travel))
    return _spring_setting(case, case.shock, _shock_force(case, at_goal))


def _spring_setting(case: Case, unit: Spring, force: Array) -> Array:
    """Pressure [Pa gauge] or rate [N/m] that holds `force` at the target compression."""
    if unit.kept_pressure is not None:
        return np.broadcast_to(unit.kept_pressure, force.shape)
    force = _on_spring(unit, force)
    stroke = unit.sag_target * unit.travel
    if unit.kind == "air":
        return airpair.pair_pressure_for(
            force, unit.area, unit.air_length, unit.negative_length, stroke, case.ambient
        )
    if unit.kind == "coil":
        return springs.coil_rate_for(force, stroke, unit.preload)
    return np.zeros_like(force)


def _compression(case: Case, unit: Spring, setting: Array, force: Array) -> Array:
    """Compression [m] of a spring at this setting under this force, inside its travel."""
    force = _on_spring(unit, force)
    if unit.kind == "air":
        stroke = airpair.pair_stroke_for(
            force, unit.area, unit.air_length, unit.negative_length, setting, case.ambient
        )
    elif unit.kind == "coil":
        stroke = force / setting - unit.preload
    else:
        stroke = np.zeros_like(force)
    clipped: Array = np.clip(stroke, 0.0, unit.travel)
    return clipped


def _on_spring(unit: Spring, force: Array) -> Array:
    """What is left for the spring itself once the damper's rod has pushed its part [N]."""
    left: Array = np.maximum(force - unit.rod_force, 1.0)
    return left


def _compress(
    case: Case, sag: _Sag, fork: Array, shock: Array, front_tyre: Array, rear_tyre: Array
) -> _Sag:
    """Compressions and tyre drops that these settings give under the loads as they are."""
    shock_stroke = _compression(case, case.shock, shock, _shock_force(case, sag))
    return replace(
        sag,
        fork=_compression(case, case.fork, fork, _fork_force(case, sag)),
        rear=wheel_travel(case, shock_stroke),
        front_drop=_drop(case.front_tyre, sag.front_load, front_tyre),
        rear_drop=_drop(case.rear_tyre, sag.rear_load, rear_tyre),
    )


def _drop(unit: Tyre, load: Array, pressure: Array) -> Array:
    drop = tyres.drop(load, pressure, unit.radius, unit.width, unit.casing)
    limited: Array = np.minimum(drop / unit.stiffness_factor, unit.height)
    return limited


def _tyre_pressures(case: Case, standing: _Sag) -> tuple[Array, Array, Array, Array]:
    """Front and rear pressure [Pa gauge] inside their limits, then the goals before limits."""
    weight = standing.front_load + standing.rear_load
    transfer = BRAKING_SHARE * weight * standing.centre[..., 1] / case.wheelbase
    front_goal = _tyre_goal(case.front_tyre, standing.front_load + transfer)
    rear_goal = _tyre_goal(case.rear_tyre, standing.rear_load)
    return (
        _limited(case.front_tyre, front_goal),
        _limited(case.rear_tyre, rear_goal),
        front_goal,
        rear_goal,
    )


def _tyre_goal(unit: Tyre, load: Array) -> Array:
    """The least pressure that keeps the rim off the ground's usual edges and the bead on it."""
    hit = load * unit.hit_factor / unit.stiffness_factor
    edge = tyres.edge_pressure(hit, unit.radius, unit.width, unit.height, unit.casing)
    goal: Array = np.maximum(edge, roll_off(unit, load))
    return goal


def roll_off(unit: Tyre, load: Array) -> Array:
    """Pressure [Pa gauge] below which hard cornering starts to lift the bead."""
    return tyres.rolloff_pressure(load, unit.width, unit.rim_width) * unit.roll_off_factor


def _limited(unit: Tyre, goal: Array) -> Array:
    if unit.kept_pressure is not None:
        return np.broadcast_to(unit.kept_pressure, goal.shape)
    limited: Array = np.minimum(np.maximum(goal, unit.floor), unit.ceiling)
    return limited


def _distance(before: _Sag, after: _Sag) -> float:
    """Largest movement [m] of any compression or drop between two rounds."""
    pairs = (
        (before.fork, after.fork),
        (before.rear, after.rear),
        (before.front_drop, after.front_drop),
        (before.rear_drop, after.rear_drop),
    )
    return max(float(np.max(np.abs(new - old))) for old, new in pairs)


def _finish(case: Case, parts: Frame, rider: _Posture, sag: _Sag) -> State:
    """The state as drawn: every point on the ground, angles from the ground."""
    turn = chassis.placement(case, parts, sag.fork, sag.rear, sag.front_drop, sag.rear_drop)
    pose = replace(
        rider.pose,
        points={name: turn(place) for name, place in rider.pose.points.items()},
        angles={
            **rider.pose.angles,
            "trunk": rider.pose.angles["trunk"] + turn.pitch,
            "forearm": rider.pose.angles["forearm"] - turn.pitch,
        },
    )
    return State(
        geometry=chassis.geometry(case, parts, sag.fork, sag.rear, sag.front_drop, sag.rear_drop),
        pose=pose,
        mass_centre=sag.centre,
        front_load=sag.front_load,
        rear_load=sag.rear_load,
        fork_compression=sag.fork,
        shock_compression=shock_travel(case, sag.rear),
        rear_travel=sag.rear,
        front_drop=sag.front_drop,
        rear_drop=sag.rear_drop,
    )


def _unsettled(moved: float) -> Problem:
    return Problem(
        "not-converged",
        "solve",
        "the sums do not settle: check travel, stroke and masses on the sheets",
        value=f"{moved * 1000:.3g} mm still moving",
    )
