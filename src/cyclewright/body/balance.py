"""Mass centres of rider and bike, and what the wheels carry."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cyclewright.body.posture import Pose
from cyclewright.body.segments import BALL_OF_FOOT, Masses
from cyclewright.errors import Problem, RangeError

Array = NDArray[np.float64]

STANDARD_GRAVITY = 9.80665
"""[m/s²], ISO 80000-3."""

WRIST_OF_FOREARM = 0.78
"""Elbow to wrist over elbow to the gripping hand's middle [1]; from the survey's means."""

BIKE_CENTRE_SHARE = 0.48
"""Bike's own mass centre ahead of the rear contact over wheelbase [1]; common practice, no
source."""
BIKE_CENTRE_OVER_BB = 0.20
"""Bike's own mass centre above the bottom bracket [m]; common practice, no source."""
BIKE_CENTRE_SPREAD = (0.03, 0.05)
"""One standard deviation of the share [1] and of the height [m]; judgement."""


def mass_centre(pose: Pose, body_mass: ArrayLike, kit_mass: ArrayLike, masses: Masses) -> Array:
    """Mass centre of rider and kit, Σ m_i r_i / Σ m_i over the segments.

    Parameters
    ----------
    pose : Pose
        Where the joints are, (n, 2) [m].
    body_mass : array_like, shape (n,)
        Rider without kit [kg], positive.
    kit_mass : array_like, shape (n,)
        Clothes, shoes, helmet, pack, water [kg], zero or more.
    masses : Masses
        Fractions and centres of the segments, from `segment_masses`.

    Returns
    -------
    ndarray, shape (n, 2)
        Mass centre in the coordinates of the pose [m].

    Raises
    ------
    RangeError
        When a mass cannot be.

    Notes
    -----
    Kit is taken at the middle of the trunk. The fractions' rounding (de Leva's men sum to
    1.0 within 0.001) is divided out. Spread of a seated rider about ±25 mm fore and aft
    (judgement). No published check of the whole.

    Examples
    --------
    >>> from cyclewright.body.posture import Contacts, seated
    >>> from cyclewright.body.segments import predict, segment_masses
    >>> contacts = Contacts(
    ...     saddle=np.array([[0.24, 1.05]]),
    ...     bottom_bracket=np.array([[0.43, 0.34]]),
    ...     grip=np.array([[0.92, 1.03]]),
    ...     crank_length=np.array([0.17]),
    ...     foot_stack=np.array([0.03]),
    ... )
    >>> pose = seated(predict(1.756, 0.846, "M"), contacts)
    >>> mass_centre(pose, 80.0, 5.0, segment_masses()).round(2)
    array([[0.43, 1.19]])

    References
    ----------
    Winter, Biomechanics and Motor Control of Human Movement; de Leva, J. Biomech. 29 (1996).
    """
    body, kit = np.asarray(body_mass, np.float64), np.asarray(kit_mass, np.float64)
    _check({"body_mass": (body, body > 0.0), "kit_mass": (kit, kit >= 0.0)})
    at = pose.points
    trunk = _along(at["shoulder"], at["hip"], masses.trunk_centre)
    parts: list[tuple[float, Array]] = [
        (masses.head, at["head"]),
        (masses.trunk, trunk),
        (2.0 * masses.upper_arm, _along(at["shoulder"], at["elbow"], masses.upper_arm_centre)),
        (
            2.0 * masses.forearm,
            _along(at["elbow"], at["hand"], WRIST_OF_FOREARM * masses.forearm_centre),
        ),
        (2.0 * masses.hand, at["hand"]),
    ]
    for side in ("front", "rear"):
        knee, ankle = at[f"knee_{side}"], at[f"ankle_{side}"]
        sole = masses.foot_centre / BALL_OF_FOOT
        parts += [
            (masses.thigh, _along(at["hip"], knee, masses.thigh_centre)),
            (masses.shank, _along(knee, ankle, masses.shank_centre)),
            (masses.foot, _along(at[f"heel_{side}"], at[f"ball_{side}"], sole)),
        ]
    return combined((body, combined(*parts)), (kit, trunk))


def combined(*parts: tuple[ArrayLike, ArrayLike]) -> Array:
    """Mass centre of several bodies, Σ m r / Σ m.

    Parameters
    ----------
    *parts : tuple of (mass, point)
        Mass (n,) [kg, or any one unit] and its centre (n, 2) [m].

    Returns
    -------
    ndarray, shape (n, 2)
        The common mass centre [m].

    Raises
    ------
    RangeError
        When the masses do not sum to more than zero.

    Examples
    --------
    >>> combined((80.0, [0.5, 1.2]), (20.0, [0.6, 0.5]))
    array([0.52, 1.06])
    """
    masses = [np.asarray(mass, np.float64)[..., None] for mass, _ in parts]
    total = np.asarray(sum(masses))
    _check({"mass": (total, total > 0.0)})
    moment = sum(
        mass * np.asarray(point, np.float64) for mass, (_, point) in zip(masses, parts, strict=True)
    )
    return np.asarray(moment / total)


def axle_loads(
    total_mass: ArrayLike,
    x: ArrayLike,
    y: ArrayLike,
    wheelbase: ArrayLike,
    slope: ArrayLike = 0.0,
) -> tuple[Array, Array]:
    """Normal forces under the front and rear wheel of a bike at rest, brakes holding it.

    Moments about the rear contact: N_front = m g (x cos α + y sin α) / w, and
    N_rear = m g cos α − N_front.

    Parameters
    ----------
    total_mass : array_like
        Bike, rider and kit [kg], positive.
    x, y : array_like
        Mass centre ahead of the rear contact and above the ground, along and square to the
        ground [m].
    wheelbase : array_like
        Between the contacts [m], positive.
    slope : array_like
        Ground slope α [rad], positive downhill, within ±π/2.

    Returns
    -------
    tuple of ndarray
        Front and rear normal force [N]. A negative one says that this wheel lifts: the bike
        cannot rest so.

    Raises
    ------
    RangeError
        When a mass, length or slope cannot be.

    Examples
    --------
    The benchmark bicycle of 94 kg carries a third of its weight in front:

    >>> front, rear = axle_loads(94.0, 0.342, 0.861, 1.02)
    >>> round(float(front / (front + rear)), 3)
    0.335

    References
    ----------
    Statics of a rigid two-wheeler; benchmark parameters of Meijaard and others,
    Proc. R. Soc. A 463 (2007).
    """
    mass, ahead, above, base, angle = (
        np.asarray(value, np.float64) for value in (total_mass, x, y, wheelbase, slope)
    )
    _check(
        {
            "total_mass": (mass, mass > 0.0),
            "x": (ahead, np.isfinite(ahead)),
            "y": (above, np.isfinite(above)),
            "wheelbase": (base, base > 0.0),
            "slope": (angle, np.abs(angle) < np.pi / 2.0),
        }
    )
    weight = mass * STANDARD_GRAVITY
    front = weight * (ahead * np.cos(angle) + above * np.sin(angle)) / base
    return front, weight * np.cos(angle) - front


def bike_mass_centre(wheelbase: ArrayLike, bb_height: ArrayLike) -> Array:
    """Mass centre of the bike alone, where nobody has weighed its wheels.

    Parameters
    ----------
    wheelbase : array_like, shape (n,)
        Between the contacts [m], positive.
    bb_height : array_like, shape (n,)
        Bottom bracket above the ground [m], positive.

    Returns
    -------
    ndarray, shape (n, 2)
        Ahead of the rear contact and above the ground [m]. One standard deviation: 3 % of the
        wheelbase and 50 mm (`BIKE_CENTRE_SPREAD`); with a bike of a sixth of the whole that is
        half a point of the front share.

    Raises
    ------
    RangeError
        When a length is not positive and finite.

    Notes
    -----
    Common practice, no source: a mountain bike carries a little more than half of its own
    weight behind, about a hand's length above its bottom bracket. No published check.

    Examples
    --------
    >>> bike_mass_centre([1.2], [0.34]).round(3)
    array([[0.576, 0.54 ]])
    """
    base, height = np.asarray(wheelbase, np.float64), np.asarray(bb_height, np.float64)
    _check({"wheelbase": (base, base > 0.0), "bb_height": (height, height > 0.0)})
    ahead, above = np.broadcast_arrays(BIKE_CENTRE_SHARE * base, height + BIKE_CENTRE_OVER_BB)
    return np.stack([ahead, above], axis=-1)


def _along(start: Array, end: Array, share: float) -> Array:
    """The point at this share of the way from start to end."""
    return start + (end - start) * share


def _check(values: dict[str, tuple[Array, NDArray[np.bool_]]]) -> None:
    """Refuse, all at once, every value that is not finite or fails its test."""
    problems = []
    for name, (value, good) in values.items():
        bad = np.atleast_1d(~(good & np.isfinite(value)))
        if bad.any():
            worst = float(np.atleast_1d(value)[bad].flat[0])
            problems.append(
                Problem("out-of-range", name, "give a finite value that can be", f"{worst:g}")
            )
    if problems:
        raise RangeError(problems)
