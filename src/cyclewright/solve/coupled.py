"""The coupled fixed point: posture, loads, sag, geometry and tyres until nothing moves.

One iteration places the bike on the ground, finds the mass centre of rider, kit and bike, takes
the axle loads, and asks each spring and tyre what it does under them. The coupling is weak (a
millimetre of sag moves a load by a few hundredths of a percent), so a dozen rounds settle it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

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
from cyclewright.solve.case import Array, Case, Posture, Spring, Tyre
from cyclewright.solve.chassis import Frame, point
from cyclewright.solve.solution import Rider, Solution, State

GRAVITY = 9.80665
BRAKING_SHARE = 0.2
"""Deceleration in g that the front tyre's goal has to carry as well (judgement, no source)."""
_TOLERANCE = 1e-9
_MOST_ROUNDS = 60


POSTURES: tuple[Posture, Posture] = ("seated", "standing")
"""The rider's postures in the order of their axis: both are solved in one go."""


@dataclass(frozen=True, slots=True)
class _Sag:
    """Compressions and loads of both postures as they stand in an iteration, (2, n)."""

    fork: Array
    rear: Array
    front_drop: Array
    rear_drop: Array
    front_load: Array
    rear_load: Array
    centre: Array
    """Mass centre of rider and kit in the frame to begin with, then of all on the ground."""
    head_angle: Array

    def at(self, posture: Posture) -> _Sag:
        """One posture's share of it, (n,)."""
        row = POSTURES.index(posture)
        return _Sag(*(getattr(self, item.name)[row] for item in fields(self)))


def solve(case: Case, like: Solution | None = None) -> Solution:
    """Settings, loads, sag and geometry of a case, all at one fixed point.

    Springs and tyres with a `kept_pressure` keep it and their compression follows; the others
    get what meets their goal. Shapes: every array (n,), nominal first. A solution of the same
    bike and rider, with other springs, air or slope, spares finding their poses again.

    Raises NotConverged when sixty rounds do not settle to a nanometre of sag.
    """
    parts = chassis.frame(case)
    riders = like.riders if like is not None and _same(case, like.case) else _riders(case, parts)
    centre = np.stack([riders[name].centre for name in POSTURES])
    state = _start(case, centre)
    moved = np.inf
    rounds = 0
    while moved > _TOLERANCE:
        if rounds == _MOST_ROUNDS:
            raise NotConverged(_unsettled(moved))
        rounds += 1
        loaded = _loads(case, parts, centre, state)
        fork = _fork_setting(case, loaded.at(case.fork.posture))
        shock = _shock_setting(case, loaded.at(case.shock.posture))
        front, rear = _tyre_pressures(case, loaded.at("standing"))
        fresh = _compress(case, loaded, fork, shock, front, rear)
        moved = _distance(state, fresh)
        state = fresh
    front, rear = _tyre_pressures(case, state.at("standing"))
    front_goal, rear_goal = _tyre_goals(case, state.at("standing"))
    still = np.zeros_like(case.wheelbase)
    return Solution(
        case=case,
        unloaded=chassis.geometry(case, parts, still, still, still, still),
        seated=_finish(case, parts, riders["seated"], state.at("seated")),
        standing=_finish(case, parts, riders["standing"], state.at("standing")),
        fork_setting=_fork_setting(case, state.at(case.fork.posture)),
        shock_setting=_shock_setting(case, state.at(case.shock.posture)),
        front_tyre_pressure=front,
        rear_tyre_pressure=rear,
        front_tyre_goal=front_goal,
        rear_tyre_goal=rear_goal,
        riders=riders,
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


def rear_travel_under(
    case: Case, shock: Array, load: Callable[[Array], Array], begin: Array
) -> Array:
    """Vertical wheel travel [m] at rest with this shock setting under a load [N] that depends on
    the travel itself.

    Bracketed by full length and full travel, by the Illinois rule. Raises NotConverged when it
    does not settle to a nanometre.
    """

    def short(travel: Array) -> Array:
        """How far it would still go in from here [m]."""
        force = _at_shock(case, load(travel), travel)
        return wheel_travel(case, _compression(case, case.shock, shock, force)) - travel

    low, high = np.zeros_like(shock), wheel_travel(case, case.shock.travel)
    still, past = short(low), short(high)
    travel, before = begin, np.zeros(shock.shape)
    for _ in range(_MOST_ROUNDS):
        left = short(travel)
        moved = float(np.max(np.abs(left)))
        if moved <= _TOLERANCE:
            return travel
        deeper = left > 0.0
        stale = np.where(np.sign(left) == before, 0.5, 1.0)  # an end that stays twice counts half
        low, high = np.where(deeper, travel, low), np.where(deeper, high, travel)
        still, past = np.where(deeper, left, stale * still), np.where(deeper, stale * past, left)
        before = np.sign(left)
        apart = still - past
        between = (low * past - high * still) / np.where(apart > 0.0, -apart, -1.0)
        travel = np.where(apart > 0.0, between, (low + high) / 2.0)
    raise NotConverged(_unsettled(moved))


_MOVES_NOBODY = {"fork", "shock", "front_tyre", "rear_tyre", "slope", "ambient"}


def _same(case: Case, other: Case) -> bool:
    """Whether bike and rider are the very same arrays, whatever springs and air are."""
    names = (item.name for item in fields(case) if item.name not in _MOVES_NOBODY)
    return (
        case.front_tyre.radius is other.front_tyre.radius
        and case.rear_tyre.radius is other.rear_tyre.radius
        and all(getattr(case, name) is getattr(other, name) for name in names)
    )


def _riders(case: Case, parts: Frame) -> dict[Posture, Rider]:
    """The rider in both postures, in frame coordinates."""
    contacts = _contacts(case, parts)
    seated = posture.seated(case.segments, contacts, case.elbow_flexion)
    standing = posture.standing(case.segments, contacts, case.hip_shift)
    ahead = point(case.seated_shift, np.zeros_like(case.seated_shift))
    return {
        "seated": Rider(seated, _centre(case, seated) + ahead),
        "standing": Rider(standing, _centre(case, standing)),
    }


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


def _centre(case: Case, pose: Pose) -> Array:
    """Mass centre of rider and kit."""
    masses = segments.segment_masses(case.sex)
    return balance.mass_centre(pose, case.rider_mass, case.kit_mass, masses)


def _start(case: Case, centre: Array) -> _Sag:
    fork = case.fork.sag_target * case.fork.travel
    rear = wheel_travel(case, case.shock.sag_target * case.shock.travel)
    drop = np.zeros_like(fork)
    weight = (case.rider_mass + case.kit_mass + case.bike_mass) * GRAVITY
    begun = (fork, rear, drop, drop, 0.45 * weight, 0.55 * weight)
    fork, rear, front_drop, rear_drop, front, back, angle = (
        np.broadcast_to(one, (len(POSTURES), one.size)) for one in (*begun, case.head_angle)
    )
    return _Sag(fork, rear, front_drop, rear_drop, front, back, centre, angle)


def _loads(case: Case, parts: Frame, centre: Array, sag: _Sag) -> _Sag:
    """Axle loads and head angle with the compressions as they are."""
    turn = chassis.placement(case, parts, sag.fork, sag.rear, sag.front_drop, sag.rear_drop)
    rear_x = turn(chassis.rear_axle(case, parts, sag.rear))[..., 0]
    front_x = turn(parts.front_axle + sag.fork[..., None] * parts.axis)[..., 0]
    wheelbase = front_x - rear_x
    bike = balance.bike_mass_centre(wheelbase, turn(parts.bottom_bracket)[..., 1])
    rider_mass = case.rider_mass + case.kit_mass
    whole = balance.combined((rider_mass, turn(centre)), (case.bike_mass, bike))
    front, rear = balance.axle_loads(
        rider_mass + case.bike_mass, whole[..., 0], whole[..., 1], wheelbase, case.slope
    )
    return replace(
        sag,
        front_load=front,
        rear_load=rear,
        centre=whole,
        head_angle=case.head_angle - turn.pitch,
    )


def _fork_force(case: Case, sag: _Sag) -> Array:
    """Axial force on the fork's spring [N], wheel free to roll, friction of the draw off it."""
    axial = forks.fork_force(np.maximum(sag.front_load, 0.0), sag.head_angle, case.unsprung_front)
    force: Array = np.maximum(axial + case.fork.friction, 1.0)
    return force


def _shock_force(case: Case, sag: _Sag) -> Array:
    """Force on shock and rod together [N]: leverage times the sprung wheel load."""
    return _at_shock(case, sag.rear_load, sag.rear)


def _at_shock(case: Case, load: Array, travel: Array) -> Array:
    held = np.maximum(load, 0.0)
    along = leverages.shock_force(held, leverage(case, travel), case.unsprung_rear)
    force: Array = np.maximum(along + case.shock.friction, 1.0)
    return force


def _fork_setting(case: Case, sag: _Sag) -> Array:
    if case.fork.kept_pressure is not None:
        return np.broadcast_to(case.fork.kept_pressure, sag.front_load.shape)
    return _spring_setting(case, case.fork, _fork_force(case, sag))


def _shock_setting(case: Case, sag: _Sag) -> Array:
    if case.shock.kept_pressure is not None:
        return np.broadcast_to(case.shock.kept_pressure, sag.rear_load.shape)
    at_goal = replace(sag, rear=wheel_travel(case, case.shock.sag_target * case.shock.travel))
    return _spring_setting(case, case.shock, _shock_force(case, at_goal))


def _spring_setting(case: Case, unit: Spring, force: Array) -> Array:
    """Pressure [Pa gauge] or rate [N/m] that holds `force` at the target compression."""
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
    held = np.maximum(load, 0.0)
    drop = tyres.drop(held, pressure, unit.radius, unit.width, unit.casing)
    limited: Array = np.minimum(drop / unit.stiffness_factor, unit.height)
    return limited


def _tyre_pressures(case: Case, standing: _Sag) -> tuple[Array, Array]:
    """Front and rear pressure [Pa gauge]: as kept, else the goal inside its limits."""
    kept = case.front_tyre.kept_pressure, case.rear_tyre.kept_pressure
    shape = standing.front_load.shape
    if kept[0] is not None and kept[1] is not None:
        return np.broadcast_to(kept[0], shape), np.broadcast_to(kept[1], shape)
    front, rear = _tyre_goals(case, standing)
    return _limited(case.front_tyre, front), _limited(case.rear_tyre, rear)


def _tyre_goals(case: Case, standing: _Sag) -> tuple[Array, Array]:
    """Front and rear pressure [Pa gauge] that would just meet the goal, before limits."""
    weight = standing.front_load + standing.rear_load
    transfer = BRAKING_SHARE * weight * standing.centre[..., 1] / case.wheelbase
    front = _tyre_goal(case.front_tyre, standing.front_load + transfer)
    rear = _tyre_goal(case.rear_tyre, standing.rear_load)
    return _as_set(case, case.front_tyre, front), _as_set(case, case.rear_tyre, rear)


def _tyre_goal(unit: Tyre, load: Array) -> Array:
    """The least pressure that keeps the rim off the ground's usual edges and the bead on it."""
    held = np.maximum(load, 0.0)
    goal: Array = np.maximum(edge(unit, held), roll_off(unit, held))
    return goal


def _as_set(case: Case, unit: Tyre, gauge: Array) -> Array:
    """What to set at the workshop to keep this on the whole ride [Pa gauge], volume constant."""
    outside = case.ambient if unit.outside is None else unit.outside
    set_to: Array = (gauge + outside) / unit.cooling - case.ambient
    return set_to


def edge(unit: Tyre, load: Array) -> Array:
    """Pressure [Pa gauge] below which the ground's usual edges reach the rim."""
    hit = load * unit.hit_factor / unit.stiffness_factor
    least: Array = tyres.edge_pressure(hit, unit.radius, unit.width, unit.height, unit.casing)
    return least


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
    names = ("fork", "rear", "front_drop", "rear_drop")
    return max(
        float(np.max(np.abs(getattr(after, name) - getattr(before, name)))) for name in names
    )


def _finish(case: Case, parts: Frame, rider: Rider, sag: _Sag) -> State:
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
