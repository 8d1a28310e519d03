"""Rear suspension linkages from the coordinates of their pivots.

Every kind is one plane chain of bodies: a first link on a frame pivot, and where there are four
pivots a middle body and a second link on another frame pivot. The kinds differ in which body
carries the axle and what the trade calls the bodies. Coordinates: origin at the bottom bracket,
x forward, y up, in the frame's plane, at full extension.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.errors import InputError, Problem, RangeError
from cyclewright.mechanics.bounds import Array, BoolArray, Bound, arrays, not_negative

Kind = Literal["single-pivot", "rocker", "four-bar", "twin-link"]
FRAME, FIRST, MIDDLE, SECOND = range(4)

NO_LIMIT: Final = ""
STRETCHED: Final = "the links are at full stretch"
SHOCK_TURNS: Final = "the shock would lengthen again"


@dataclass(frozen=True, slots=True)
class _Kind:
    """What the trade calls the points of one kind, and which body carries the axle."""

    pivots: tuple[str, ...]
    """Frame pivot, first joint, second joint, second frame pivot; the first alone if single."""
    axle_body: int
    shock: Mapping[str, int]
    """Names that a shock's end can have, and the body that each lies on."""


KINDS: Final[Mapping[Kind, _Kind]] = {
    "single-pivot": _Kind(("pivot",), FIRST, {"shock_frame": FRAME, "shock_arm": FIRST}),
    "rocker": _Kind(
        ("pivot", "link_arm", "link_rocker", "rocker_pivot"),
        FIRST,
        {"shock_frame": FRAME, "shock_arm": FIRST, "shock_rocker": SECOND},
    ),
    "four-bar": _Kind(
        ("pivot", "stay_pivot", "rocker_stay", "rocker_pivot"),
        MIDDLE,
        {"shock_frame": FRAME, "shock_arm": FIRST, "shock_stay": MIDDLE, "shock_rocker": SECOND},
    ),
    "twin-link": _Kind(
        ("lower_frame", "lower_rear", "upper_rear", "upper_frame"),
        MIDDLE,
        {"shock_frame": FRAME, "shock_lower": FIRST, "shock_rear": MIDDLE, "shock_upper": SECOND},
    ),
}
"""Of each kind: its points by their trade names."""

_FARTHEST = 5.0
_COORDINATE = Bound(-_FARTHEST, _FARTHEST, "m")
_STEP = 0.004
"""Longest step of wheel travel between two solutions [m]."""
_CLOSED = 1e-13
_ROUNDS = 25
_WIDEST_TURN = 0.35
"""A larger turn in one step [rad] is another branch, not the same linkage moved on."""


@dataclass(frozen=True, slots=True)
class Linkage:
    """A linkage at full extension: points (..., 2) [m] by name, and the bodies they lie on."""

    kind: Kind
    points: dict[str, Array]
    shock: tuple[str, str]
    """Names of the two points that hold the shock."""

    def body(self, name: str) -> int:
        """The body that a point lies on: 0 frame, 1 first link, 2 middle, 3 second link."""
        kind = KINDS[self.kind]
        if name == "axle":
            return kind.axle_body
        if name in kind.shock:
            return kind.shock[name]
        return (FRAME, FIRST, SECOND, FRAME)[kind.pivots.index(name)]


@dataclass(frozen=True, slots=True)
class Motion:
    """A linkage through its travel: arrays (..., k) over k wheel travels, points (..., k, 2).

    Where a travel cannot be reached, the state is that of the last one that could.
    """

    travel: Array
    """Vertical travel of the axle in the frame, (k,) [m]."""
    shock_stroke: Array
    """Compression of the shock [m]."""
    leverage_ratio: Array
    """Wheel travel over shock stroke, as a slope [1]."""
    axle_x: Array
    axle_y: Array
    axle_slope: Array
    """Forward way of the axle per rise, dx/dz [1]; rearward paths are negative."""
    turn_rate: Array
    """Turn of the body that carries the axle per rise of it [rad/m], anticlockwise positive."""
    instant_centre: Array
    """The point of the axle's body that stands still (..., k, 2) [m]."""
    translating: BoolArray
    """Where that body does not turn: its instant centre then is only a far point on the line."""
    points: dict[str, Array]
    reached: BoolArray
    limit: np.ndarray[tuple[int, ...], np.dtype[np.object_]]
    """What stops the travel, by words; empty where it is reached."""


def linkage(kind: Kind, points: Mapping[str, ArrayLike]) -> Linkage:
    """The linkage of a kind, from the coordinates of its points at full extension.

    ``{pivots, axle, two ends of the shock} → bodies``: a shock end's name says what it lies on

    Parameters
    ----------
    kind : single-pivot, rocker (single pivot with rocker-driven shock), four-bar or twin-link
    points : (x, y) by name [m], each (2,) or (..., 2) broadcasting together, -5 to 5;
        single-pivot: pivot, axle, shock_frame, shock_arm;
        rocker: pivot, axle, link_arm, link_rocker, rocker_pivot, and two of shock_frame,
        shock_arm, shock_rocker;
        four-bar: pivot, stay_pivot, rocker_stay, rocker_pivot, axle (on the seat stay), and two
        of shock_frame, shock_arm (chain stay), shock_stay, shock_rocker;
        twin-link: lower_frame, lower_rear, upper_rear, upper_frame, axle, and two of
        shock_frame, shock_lower, shock_rear, shock_upper

    Returns
    -------
    Linkage

    Raises
    ------
    InputError : an unknown kind, points that are missing, unknown, or too many shock ends
    RangeError : a coordinate that is none, or two points of one body that fall together

    Notes
    -----
    Plane, rigid, without play. Origin anywhere in the frame, commonly the bottom bracket.

    Examples
    --------
    >>> bike = linkage("single-pivot", {"pivot": (0.01, 0.07), "axle": (-0.44, 0.03),
    ...     "shock_frame": (0.185, 0.26), "shock_arm": (-0.02, 0.235)})
    >>> bike.shock
    ('shock_frame', 'shock_arm')

    References
    ----------
    Plane four-bar chain: Hartenberg and Denavit, Kinematic Synthesis of Linkages, 1964.
    """
    if kind not in KINDS:
        do = f"write one of these: {', '.join(KINDS)}"
        raise InputError(Problem("linkage-kind", "kind", do, value=str(kind)))
    names = KINDS[kind]
    needed = (*names.pivots, "axle")
    known = {*needed, *names.shock}
    ends = tuple(name for name in names.shock if name in points)
    problems = [
        Problem("missing", f"points.{name}", f"missing, a {kind} linkage needs it", unit="m")
        for name in needed
        if name not in points
    ]
    problems += [
        Problem("unknown-point", f"points.{name}", f"a {kind} linkage has: {', '.join(known)}")
        for name in sorted(points.keys() - known)
    ]
    if len(ends) != 2:
        do = f"give the shock's two ends, two of: {', '.join(names.shock)}"
        problems.append(Problem("shock-ends", "points", do, value=", ".join(ends) or None))
    if problems:
        raise InputError(problems)
    placed = {name: _point(name, points[name]) for name in (*needed, *ends)}
    _apart(placed, names, (ends[0], ends[1]))
    return Linkage(kind, placed, (ends[0], ends[1]))


def move(linkage: Linkage, travel: ArrayLike) -> Motion:
    """A linkage moved through its travel.

    ``single pivot: r_y + z = ρ sin(α)``; ``four pivots: g₁ + R(α₁)u₁ + R(α_m)u_m = g₂ + R(α₂)u₂``
    together with ``y_axle = y₀ + z``, by Newton from the step before; slopes from the same
    matrix, ``J dα/dz = (0, 0, 1)``, and ``leverage ratio = dz/ds``

    Parameters
    ----------
    linkage : Linkage, its points (..., 2)
    travel : vertical travel of the axle in the frame, (k,) ascending from 0 or more [m]

    Returns
    -------
    Motion : arrays (..., k)

    Raises
    ------
    RangeError : travels that are negative or do not ascend

    Notes
    -----
    Closed to 1e-13 m. A travel that the links or the shock cannot follow is no error but a
    masked element with the limit that binds. The frame stands still: a bike that pitches under
    way sees the same relative motion.

    Examples
    --------
    >>> bike = linkage("single-pivot", {"pivot": (0.01, 0.07), "axle": (-0.44, 0.03),
    ...     "shock_frame": (0.185, 0.26), "shock_arm": (-0.02, 0.235)})
    >>> motion = move(bike, [0.0, 0.07, 0.14])
    >>> motion.leverage_ratio.round(2), bool(motion.reached.all())
    (array([2.69, 2.7 , 2.74]), True)

    References
    ----------
    Hartenberg and Denavit, Kinematic Synthesis of Linkages, 1964, chapters 6 and 11.
    """
    (rise,) = arrays(travel=(travel, not_negative("m")))
    if rise.ndim != 1 or rise.size == 0 or bool(np.any(np.diff(rise) <= 0.0)):
        do = "give one row of travels, each larger than the one before"
        raise RangeError(Problem("travel-order", "travel", do, unit="m"))
    shape = np.broadcast_shapes(*(point.shape for point in linkage.points.values()))[:-1]
    bodies = _Bodies.of(linkage, shape)
    angles = np.zeros((4, *shape))
    stuck = np.zeros(shape, dtype=bool)
    before, path = 0.0, []
    for z in rise:
        for part in np.linspace(before, z, max(2, 1 + math.ceil((z - before) / _STEP)))[1:]:
            angles, lost = bodies.advance(angles, float(part), stuck)
            stuck = stuck | lost
        before = float(z)
        path.append(_State.at(bodies, angles, stuck))
    return _motion(linkage, rise, path)


@dataclass(frozen=True, slots=True)
class _Bodies:
    """The chain's vectors at full extension, as pairs of coordinate arrays of one shape."""

    linkage: Linkage
    points: dict[str, Array]

    @classmethod
    def of(cls, linkage: Linkage, shape: tuple[int, ...]) -> _Bodies:
        spread = {
            name: np.broadcast_to(point, (*shape, 2)) for name, point in linkage.points.items()
        }
        return cls(linkage, spread)

    @property
    def single(self) -> bool:
        """Whether there is one moving body only."""
        return len(KINDS[self.linkage.kind].pivots) == 1

    def base(self, body: int) -> tuple[str, int]:
        """The pivot that a body turns about, and the body which that pivot lies on."""
        pivots = KINDS[self.linkage.kind].pivots
        if body == MIDDLE:
            return pivots[1], FIRST
        return pivots[0 if body == FIRST else -1], FRAME

    def place(self, name: str, body: int, angles: Array) -> Array:
        """A point (..., 2) of a body with the bodies turned by `angles`."""
        if body == FRAME:
            return self.points[name]
        pivot, below = self.base(body)
        arm = _turned(self.points[name] - self.points[pivot], angles[body])
        return np.asarray(self.place(pivot, below, angles) + arm)

    def drift(self, name: str, body: int, angles: Array, rates: Array) -> Array:
        """Velocity (..., 2) of a point of a body that turn at `rates`."""
        if body == FRAME:
            return np.zeros_like(self.points[name])
        pivot, below = self.base(body)
        arm = self.place(name, body, angles) - self.place(pivot, below, angles)
        own = rates[body][..., None] * _square(arm)
        return np.asarray(self.drift(pivot, below, angles, rates) + own)

    def advance(self, angles: Array, z: float, stuck: BoolArray) -> tuple[Array, BoolArray]:
        """Angles at wheel travel z, and where they cannot be reached (angles then unchanged)."""
        if stuck.all():
            return angles, stuck
        if self.single:
            fresh, lost = self._closed_form(angles, z)
        else:
            fresh, lost = self._newton(angles, z, stuck)
        lost = lost | (np.abs(fresh - angles).max(axis=0) > _WIDEST_TURN)
        return np.where(lost | stuck, angles, fresh), lost

    def _closed_form(self, angles: Array, z: float) -> tuple[Array, BoolArray]:
        arm = self.points["axle"] - self.points[self.base(FIRST)[0]]
        length = np.hypot(arm[..., 0], arm[..., 1])
        rise = arm[..., 1] + z
        lost = np.abs(rise) >= length
        level = np.sqrt(np.maximum(length**2 - rise**2, 0.0))
        along = np.copysign(level, arm[..., 0])
        turned = np.arctan2(rise, along) - np.arctan2(arm[..., 1], arm[..., 0])
        fresh = np.zeros_like(angles)
        fresh[FIRST] = (turned + np.pi) % (2.0 * np.pi) - np.pi
        return fresh, lost

    def _newton(self, angles: Array, z: float, stuck: BoolArray) -> tuple[Array, BoolArray]:
        fresh = angles
        for _ in range(_ROUNDS):
            miss = self._miss(fresh, z)
            if float(np.max(np.abs(miss), where=~stuck, initial=0.0)) < _CLOSED:
                break
            step, flat = _solved(*self._columns(fresh), miss)
            step = np.where(flat, 0.0, np.clip(step, -0.2, 0.2))
            fresh = np.concatenate((fresh[:1], fresh[1:] - step))
        lost = np.abs(self._miss(fresh, z)).max(axis=0) >= 10.0 * _CLOSED
        return fresh, lost

    def _miss(self, angles: Array, z: float) -> Array:
        """How far the chain is from closed (two rows) and the axle from its height (third)."""
        _, _, joint, _ = KINDS[self.linkage.kind].pivots
        gap = self.place(joint, MIDDLE, angles) - self.place(joint, SECOND, angles)
        axle = self.place("axle", self.linkage.body("axle"), angles)[..., 1]
        return np.stack((gap[..., 0], gap[..., 1], axle - self.points["axle"][..., 1] - z))

    def _columns(self, angles: Array) -> tuple[Array, Array, Array]:
        """Derivatives of `_miss` by the three angles, each (3, ...)."""
        _, first, joint, second = KINDS[self.linkage.kind].pivots
        at = self.place(first, FIRST, angles)
        pivot = self.points[self.base(FIRST)[0]]
        close = self.place(joint, MIDDLE, angles) - at
        back = self.points[second] - self.place(joint, SECOND, angles)
        body = self.linkage.body("axle")
        axle = self.place("axle", body, angles)
        lever = axle[..., 0] - at[..., 0] if body == MIDDLE else np.zeros_like(axle[..., 0])
        of_first = at[..., 0] - pivot[..., 0] if body == MIDDLE else axle[..., 0] - pivot[..., 0]
        columns = (
            (_square(at - pivot), of_first),
            (_square(close), lever),
            (_square(back), np.zeros_like(lever)),
        )
        first_column, middle, last = (
            np.stack((gap[..., 0], gap[..., 1], height)) for gap, height in columns
        )
        return first_column, middle, last

    def rates(self, angles: Array) -> Array:
        """Turn of each body per rise of the axle (4, ...) [rad/m]."""
        rates = np.zeros_like(angles)
        if self.single:
            arm = self.place("axle", FIRST, angles) - self.points[self.base(FIRST)[0]]
            rates[FIRST] = 1.0 / arm[..., 0]
            return rates
        goal = np.zeros((3, *angles.shape[1:]))
        goal[2] = 1.0
        solved, flat = _solved(*self._columns(angles), goal)
        rates[1:] = np.where(flat, 0.0, solved)
        return rates


@dataclass(frozen=True, slots=True)
class _State:
    """One step of the motion, arrays (...)."""

    places: dict[str, Array]
    length: Array
    shortening: Array
    """ds/dz [1]."""
    axle_drift: Array
    turn_rate: Array
    stuck: BoolArray

    @classmethod
    def at(cls, bodies: _Bodies, angles: Array, stuck: BoolArray) -> _State:
        linkage = bodies.linkage
        rates = bodies.rates(angles)
        on = {name: linkage.body(name) for name in linkage.points}
        places = {name: bodies.place(name, body, angles) for name, body in on.items()}
        one, other = linkage.shock
        along = places[other] - places[one]
        length = np.hypot(along[..., 0], along[..., 1])
        drifts = [bodies.drift(name, on[name], angles, rates) for name in (other, one)]
        shortening = -np.sum(along * (drifts[0] - drifts[1]), axis=-1) / length
        axle = on["axle"]
        return cls(
            places,
            length,
            shortening,
            bodies.drift("axle", axle, angles, rates),
            rates[axle],
            stuck,
        )


def _motion(linkage: Linkage, rise: Array, path: list[_State]) -> Motion:
    """The steps stacked, and what follows from them."""

    def stacked(name: str, axis: int = -1) -> Array:
        return np.stack([getattr(state, name) for state in path], axis=axis)

    points = {
        name: np.stack([state.places[name] for state in path], axis=-2) for name in linkage.points
    }
    lengths, shortening, stuck = stacked("length"), stacked("shortening"), stacked("stuck")
    one, other = (linkage.points[name] for name in linkage.shock)
    start = np.hypot(*np.moveaxis(np.broadcast_arrays(other - one)[0], -1, 0))
    turned = np.logical_or.accumulate(shortening <= 1e-6, axis=-1)
    limit = np.where(stuck, STRETCHED, np.where(turned, SHOCK_TURNS, NO_LIMIT)).astype(object)
    ratio = 1.0 / np.where(shortening <= 1e-6, 1e-6, shortening)
    drift, turn = stacked("axle_drift", -2), stacked("turn_rate")
    centre, translating = _centre(points["axle"], drift, turn)
    return Motion(
        travel=rise,
        shock_stroke=start[..., None] - lengths,
        leverage_ratio=ratio,
        axle_x=points["axle"][..., 0],
        axle_y=points["axle"][..., 1],
        axle_slope=drift[..., 0],
        turn_rate=turn,
        instant_centre=centre,
        translating=translating,
        points=points,
        reached=~(stuck | turned),
        limit=limit,
    )


def _centre(axle: Array, drift: Array, turn: Array) -> tuple[Array, BoolArray]:
    """The still point of the axle's body; 1 km out on its line where the body only shifts."""
    translating = np.abs(turn) < 1e-3
    rate = np.where(translating, np.copysign(1e-3, turn), turn)
    return np.asarray(axle + _square(drift) / rate[..., None]), translating


def _turned(vector: Array, angle: Array) -> Array:
    cos, sin = np.cos(angle), np.sin(angle)
    x, y = vector[..., 0], vector[..., 1]
    return np.stack((cos * x - sin * y, sin * x + cos * y), axis=-1)


def _square(vector: Array) -> Array:
    """The vector turned a quarter anticlockwise."""
    return np.stack((-vector[..., 1], vector[..., 0]), axis=-1)


def _cross(one: Array, other: Array) -> Array:
    (a, b, c), (d, e, f) = one, other
    return np.stack((b * f - c * e, c * d - a * f, a * e - b * d))


def _solved(one: Array, two: Array, three: Array, goal: Array) -> tuple[Array, BoolArray]:
    """The three unknowns (3, ...) by Cramer's rule, and where the matrix is singular."""
    facing = _cross(two, three)
    whole = np.sum(one * facing, axis=0)
    flat = np.abs(whole) < 1e-12
    safe = np.where(flat, 1.0, whole)
    parts = (facing, _cross(three, one), _cross(one, two))
    return np.stack([np.sum(goal * part, axis=0) / safe for part in parts]), flat


def _point(name: str, value: ArrayLike) -> Array:
    """One point's coordinates, checked."""
    place = np.asarray(value, dtype=np.float64)
    if place.ndim == 0 or place.shape[-1] != 2:
        do = "give it as x and y"
        raise RangeError(Problem("not-a-point", f"points.{name}", do, unit="m"))
    arrays(**{f"points.{name}": (place, _COORDINATE)})
    return place


def _apart(placed: Mapping[str, Array], names: _Kind, ends: tuple[str, str]) -> None:
    """Refuse bodies and shocks without length."""
    pairs = [*zip(names.pivots, names.pivots[1:], strict=False), ends]
    pairs.append(("axle", names.pivots[0] if names.axle_body == FIRST else names.pivots[1]))
    problems = [
        Problem("no-length", f"points.{other}", f"move it: it falls on {one}", unit="m")
        for one, other in pairs
        if bool(np.any(np.hypot(*np.moveaxis(placed[one] - placed[other], -1, 0)) < 1e-6))
    ]
    if problems:
        raise RangeError(problems)
