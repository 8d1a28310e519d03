"""Angles off a side photo and off a phone held as a level, each with how far it may be off.

A photo shows the rider's plane through a pinhole. Four things bend its angles: points set a few
pixels off, a camera that does not look square at the plane (turned or tilted), the rider's near
side standing nearer to the camera than the bike, and a lens too close. Each is carried through.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cyclewright.errors import Problem, RangeError, range_error

Array = NDArray[np.float64]

_STEP = 1e-5


@dataclass(frozen=True, slots=True)
class Camera:
    """How the photo was taken, with one standard deviation for what is not known."""

    distance: float
    """From the plane of the bike [m], above 0."""
    distance_spread: float = 0.5
    turn_spread: float = 0.05
    """Turned away from square [rad]; 3 degrees by eye."""
    tilt_spread: float = 0.05
    """Looking up or down [rad]; a camera h too high that aims at the middle tilts by h/d."""
    point_spread: float = 0.006
    """Where a point was set, on the rider [m]."""


@dataclass(frozen=True, slots=True)
class Measured:
    """An angle and one standard deviation [rad]."""

    angle: float
    spread: float


def flexion(first: ArrayLike, joint: ArrayLike, last: ArrayLike) -> Array:
    """How far a joint is bent from straight.

    ``π - acos(u·v/(|u| |v|))`` with u, v from the joint to its two neighbours

    Parameters
    ----------
    first, joint, last : points (…, 2) [any one unit], no two alike

    Returns
    -------
    angle [rad], 0 straight, of shape (…)

    Raises
    ------
    RangeError : two points at the same place

    Notes
    -----
    In the plane of the picture.

    Examples
    --------
    >>> round(float(np.degrees(flexion([0, 2], [0, 1], [1, 0]))), 6)
    45.0

    References
    ----------
    Plane geometry.
    """
    above = np.asarray(first, np.float64) - np.asarray(joint, np.float64)
    below = np.asarray(last, np.float64) - np.asarray(joint, np.float64)
    cross = above[..., 0] * below[..., 1] - above[..., 1] * below[..., 0]
    dot = np.sum(above * below, axis=-1)
    if np.any((np.abs(cross) < 1e-12) & (np.abs(dot) < 1e-12)):
        raise range_error("same-point", "points", "set each point at its own place")
    return np.asarray(np.pi - np.arctan2(np.abs(cross), dot))


def slope(start: ArrayLike, end: ArrayLike) -> Array:
    """Angle of a line from level, rising positive.

    ``atan2(Δy, Δx)``

    Parameters
    ----------
    start, end : points (…, 2) [any one unit], y upward

    Returns
    -------
    angle [rad] of shape (…), −π to π

    Raises
    ------
    RangeError : both points at the same place

    Notes
    -----
    In the plane of the picture.

    Examples
    --------
    >>> round(float(np.degrees(slope([0, 0], [1, 1]))), 6)
    45.0

    References
    ----------
    Plane geometry.
    """
    way = np.asarray(end, np.float64) - np.asarray(start, np.float64)
    if np.any(np.all(np.abs(way) < 1e-12, axis=-1)):
        raise range_error("same-point", "points", "set each point at its own place")
    return np.asarray(np.arctan2(way[..., 1], way[..., 0]))


def on_the_bike(
    pixels: Mapping[str, ArrayLike],
    rear_axle: ArrayLike,
    front_axle: ArrayLike,
    wheelbase: float,
    rise: float = 0.0,
) -> dict[str, Array]:
    """Points of a photo in metres, levelled and scaled by the bike's own axles.

    The axles lie `wheelbase` apart along the ground and the front one `rise` higher, which gives
    both the scale and the roll of the camera; the rear axle becomes the origin.

    Parameters
    ----------
    pixels : points (2,) by name, y downward as pictures have it [px]
    rear_axle, front_axle : where the axles are in the picture (2,) [px]
    wheelbase : between the axles along the ground [m], above 0
    rise : front axle above the rear one [m]

    Returns
    -------
    points (2,) by name [m], x forward, y upward

    Raises
    ------
    RangeError : axles at the same place, or no wheelbase

    Notes
    -----
    A bike that faces left is turned to face right.

    Examples
    --------
    >>> found = on_the_bike({"saddle": [100, 100]}, [100, 300], [500, 300], 1.2)
    >>> [round(float(value), 3) for value in found["saddle"]]
    [0.0, 0.6]

    References
    ----------
    Plane similarity.
    """
    rear, front = (np.asarray(place, np.float64) for place in (rear_axle, front_axle))
    mirrored = -1.0 if front[0] < rear[0] else 1.0
    flip = np.array([mirrored, -1.0])
    span = (front - rear) * flip
    length = float(np.hypot(*span))
    problems = []
    if length < 1.0:
        problems.append(Problem("same-point", "front_axle", "set both axles, wide apart"))
    if not wheelbase > 0.0:
        problems.append(Problem("out-of-range", "wheelbase", "give the bike's wheelbase"))
    if problems:
        raise RangeError(problems)
    scale = float(np.hypot(wheelbase, rise)) / length
    roll = float(np.arctan2(rise, wheelbase) - np.arctan2(span[1], span[0]))
    turn = np.array([[np.cos(roll), -np.sin(roll)], [np.sin(roll), np.cos(roll)]])
    return {
        name: scale * turn @ ((np.asarray(place, np.float64) - rear) * flip)
        for name, place in pixels.items()
    }


def joint(
    places: tuple[ArrayLike, ArrayLike, ArrayLike],
    camera: Camera,
    nearer: tuple[float, float, float] = (0.0, 0.0, 0.0),
    nearer_spread: float = 0.03,
) -> Measured:
    """A joint's flexion off a photo, undone for the near side, with its spread.

    Each point stands `nearer` to the camera than the bike's plane and so looks larger by
    ``d/(d - z)`` about the picture's middle; that is undone. Seen askew by τ it is shifted by
    ``z sin τ`` and shortened by ``cos τ``. The spread adds in squares what each point, the
    camera's turn and tilt, its distance and each depth move the angle by.

    Parameters
    ----------
    places : three points (2,) from the middle of the picture, joint in the middle [m]
    camera : how the photo was taken
    nearer : of each point towards the camera [m], below the distance
    nearer_spread : one standard deviation of each of these [m]

    Returns
    -------
    angle and spread [rad]

    Raises
    ------
    RangeError : points at the same place, or a point behind the camera

    Notes
    -----
    First order in every error; a camera turned by 10° shortens level lengths by 1.5 % only.

    Examples
    --------
    >>> knee = joint(((-0.1, 0.5), (0.2, 0.2), (0.1, -0.2)), Camera(4.0))
    >>> round(float(np.degrees(knee.angle))), round(float(np.degrees(knee.spread)), 1)
    (59, 1.9)

    References
    ----------
    Pinhole projection; ISO/IEC Guide 98-3 for adding the spreads in squares (from memory).
    """
    return _carried(lambda seen: float(flexion(*seen)), places, camera, nearer, nearer_spread)


def incline(
    places: tuple[ArrayLike, ArrayLike],
    camera: Camera,
    nearer: tuple[float, float] = (0.0, 0.0),
    nearer_spread: float = 0.03,
) -> Measured:
    """A line's angle from level off a photo, undone for the near side, with its spread.

    As for `joint`, with `slope` in place of `flexion`.

    Parameters
    ----------
    places : two points (2,) from the middle of the picture, start and end [m]
    camera : how the photo was taken
    nearer : of each point towards the camera [m], below the distance
    nearer_spread : one standard deviation of each of these [m]

    Returns
    -------
    angle and spread [rad], rising positive

    Raises
    ------
    RangeError : points at the same place, or a point behind the camera

    Notes
    -----
    The level comes from the axles, see `on_the_bike`; their own error is left out.

    Examples
    --------
    >>> trunk = incline(((0.0, 0.0), (0.3, 0.45)), Camera(4.0))
    >>> round(float(np.degrees(trunk.angle)))
    56

    References
    ----------
    As for `joint`.
    """
    return _carried(lambda seen: float(slope(*seen)), places, camera, nearer, nearer_spread)


def _carried(
    measure: Callable[[Array], float],
    points: Sequence[ArrayLike],
    camera: Camera,
    nearer: Sequence[float],
    nearer_spread: float,
) -> Measured:
    """What a measure of the undone points comes to, and what every error moves it by."""
    if camera.distance <= max(nearer):
        raise range_error("too-close", "distance", "stand farther away than the rider is wide")
    count = len(points)
    given = np.asarray(points, np.float64)
    known = np.concatenate((given.ravel(), [camera.distance], nearer, [0.0, 0.0]))
    spreads = np.concatenate(
        (
            np.full(2 * count, camera.point_spread),
            [camera.distance_spread],
            np.full(count, nearer_spread),
            [camera.turn_spread, camera.tilt_spread],
        )
    )
    middle = measure(_undone(known, count))
    # Turn and tilt act in squares about square-on, so a whole spread is taken, not a slope.
    steps = np.where(np.arange(known.size) < known.size - 2, _STEP, spreads)
    moved = np.array(
        [
            (measure(_undone(known + step * row, count)) - middle) * spread / step if step else 0.0
            for step, spread, row in zip(steps, spreads, np.eye(known.size), strict=True)
        ]
    )
    return Measured(middle, float(np.sqrt(np.sum(moved**2))))


def _undone(known: Array, count: int) -> Array:
    """The points with the camera's turn, tilt and each point's depth undone, (count, 2)."""
    points = known[: 2 * count].reshape(count, 2)
    distance = known[2 * count]
    nearer = known[2 * count + 1 : 3 * count + 1]
    away = known[3 * count + 1 :]
    scale = (distance - nearer) / distance
    # Seen askew, what stands nearer is shifted across the picture as well.
    undone: Array = (points * scale[:, None] - nearer[:, None] * np.sin(away)) / np.cos(away)
    return undone


def level(gravity: ArrayLike, turned: ArrayLike | None = None) -> Measured:
    """Angle of a phone's long side from level, off its accelerometer held still.

    ``atan2(ḡ_y, hypot(ḡ_x, ḡ_z))`` of the mean, with the spread of that mean and 0.3° of the
    sensor's own zero z; laid once more turned end for end, ``a = θ + z`` and ``b = z - θ`` give
    ``θ = (a - b)/2`` without it

    Parameters
    ----------
    gravity : samples (n, 3) in the phone's axes, y along its long side [m/s²], n at least 5
    turned : samples of the same phone in the same place, its other end forward [m/s²], or None

    Returns
    -------
    angle and spread [rad], top end up positive

    Raises
    ------
    RangeError : too few samples, or a phone that was moving

    Notes
    -----
    At rest an accelerometer shows what holds the phone up. How well the phone lies along what
    is measured is not in the spread. The 0.3° is judgement.

    Examples
    --------
    >>> still = np.tile([0.0, 0.5, 9.79], (20, 1))
    >>> round(float(np.degrees(level(still).angle)), 2)
    2.92
    >>> round(float(np.degrees(level(still, np.tile([0.0, -0.4, 9.79], (20, 1))).angle)), 2)
    2.63

    References
    ----------
    Statics; no printed source.
    """
    first, own = _tilted(gravity)
    if turned is None:
        return Measured(first, float(np.hypot(own, np.radians(0.3))))
    second, other = _tilted(turned)
    return Measured((first - second) / 2.0, float(np.hypot(own, other)) / 2.0)


def _tilted(gravity: ArrayLike) -> tuple[float, float]:
    """Mean angle of the long side, and the spread of that mean [rad]."""
    samples = np.atleast_2d(np.asarray(gravity, np.float64))
    if samples.shape[-1] != 3 or samples.shape[0] < 5 or not np.isfinite(samples).all():
        raise range_error("too-few", "gravity", "hold the phone still for a second and try again")
    size = np.linalg.norm(samples, axis=1)
    if abs(float(size.mean()) - 9.81) > 0.6 or float(size.std()) > 0.3:
        raise range_error("moving", "gravity", "lay the phone down and keep it still")
    angles = np.arctan2(samples[:, 1], np.hypot(samples[:, 0], samples[:, 2]))
    return float(angles.mean()), float(angles.std(ddof=1) / np.sqrt(angles.size))
