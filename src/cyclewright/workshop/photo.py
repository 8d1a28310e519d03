"""Joint angles off a side photo: the points a person set, the bike's own axles as the rule."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from cyclewright.errors import InputError, Problem
from cyclewright.setting import Setting
from cyclewright.units import System

if TYPE_CHECKING:
    from cyclewright.measure.angle import Measured
    from cyclewright.sheets.bike import Bike
    from cyclewright.sheets.sheets import Sheets

Taken = Literal["static", "pedalling"]
Place = tuple[float, float]

AXLES = ("rear_axle", "front_axle")
NEARER: dict[str, float] = {
    "hip": 0.12,
    "knee": 0.11,
    "ankle": 0.12,
    "shoulder": 0.19,
    "elbow": 0.28,
    "wrist": 0.34,
}
"""Points of the rider's near side and how far each stands towards the camera [m] (judgement)."""
HEIGHT_SPREAD = 0.20
"""One standard deviation of a camera held at the height of the hip by eye [m] (judgement)."""
LEVEL_SPREAD = 0.05
"""The same of how level it is held [rad]; 3 degrees by eye (judgement)."""
Z90 = 1.645
STATIC_KNEE = (25.0, 35.0)
"""Knee flexion at the bottom of the stroke, standing still [degrees] (Holmes and others 1994)."""


@dataclass(frozen=True, slots=True)
class PhotoAnswer:
    """The angles of a photo, each with its interval, and what they say."""

    angles: tuple[Setting, ...]
    said: tuple[str, ...]

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The answer as plain data."""
        return {
            "angles": [item.to_json(system) for item in self.angles],
            "said": list(self.said),
        }


def measure_photo(
    sheets: Sheets,
    points: Mapping[str, Sequence[float]],
    size: Sequence[float],
    taken: Taken = "static",
    distance: float = 4.0,
) -> PhotoAnswer:
    """Angles of the rider from points set on a side photo, cranks in line with the seat tube.

    `points` and `size` are in pixels, y downward; both axles are needed, and of the rider those
    points whose angles are wanted. `distance` of the camera in metres.
    """
    from cyclewright.knowledge.defaults import fill
    from cyclewright.measure import angle

    _checked(points, size, taken, distance)
    bike = fill(sheets).sheets.bike
    wheelbase = 0.0 if bike.frame.wheelbase is None else bike.frame.wheelbase.value
    places = {**points, "middle": (size[0] / 2, size[1] / 2)}
    rear, front = points["rear_axle"], points["front_axle"]
    metres = angle.on_the_bike(places, rear, front, wheelbase, _rise(bike))
    camera = angle.Camera(
        distance,
        distance_spread=0.12 * distance,
        tilt_spread=math.hypot(LEVEL_SPREAD, HEIGHT_SPREAD / distance),
    )

    def bent(*names: str) -> Measured | None:
        if not set(names) <= set(points):
            return None
        first, joint, last = (metres[name] - metres["middle"] for name in names)
        depths = (NEARER[names[0]], NEARER[names[1]], NEARER[names[2]])
        return angle.joint((first, joint, last), camera, depths)

    def leaning(start: str, end: str) -> Measured | None:
        if not {start, end} <= set(points):
            return None
        way = (metres[start] - metres["middle"], metres[end] - metres["middle"])
        return angle.incline(way, camera, (NEARER[start], NEARER[end]))

    found = (
        ("knee_flexion", "Knee bent", bent("hip", "knee", "ankle"), 1.0),
        ("hip_flexion", "Hip bent, trunk to thigh", bent("shoulder", "hip", "knee"), 1.0),
        ("elbow_flexion", "Elbow bent", bent("shoulder", "elbow", "wrist"), 1.0),
        ("trunk_angle", "Trunk from level", leaning("hip", "shoulder"), 1.0),
        ("forearm_angle", "Forearm below level", leaning("elbow", "wrist"), -1.0),
    )
    angles = tuple(
        _setting(name, label, value, sign, taken)
        for name, label, value, sign in found
        if value is not None
    )
    return PhotoAnswer(angles, _said(angles, taken))


def _rise(bike: Bike) -> float:
    """How much higher the front axle stands than the rear one, by the tyres [m]."""
    from cyclewright.mechanics.tyre import outside_diameter

    ends = (bike.tyre.front, bike.tyre.rear)
    sizes = [(end.width, end.bead) for end in ends if end.width and end.bead]
    if len(sizes) < 2:
        return 0.0
    front, rear = (float(outside_diameter(width, bead)) for width, bead in sizes)
    return (front - rear) / 2


def _setting(name: str, label: str, value: Measured, sign: float, taken: Taken) -> Setting:
    middle, half = sign * value.angle, Z90 * value.spread
    how = "standing still" if taken == "static" else "while pedalling"
    return Setting(
        name,
        middle,
        "rad",
        middle - half,
        middle + half,
        "measured",
        "side photo, points set by hand",
        f"photographed {how}; the spread holds the camera's height, turn, tilt and distance, the "
        "near side's depth and where the points were set",
        "°",
        1.0,
        label,
    )


def _said(angles: Sequence[Setting], taken: Taken) -> tuple[str, ...]:
    """What the knee says about the saddle, as far as its interval lets it."""
    knee = next((item for item in angles if item.name == "knee_flexion"), None)
    if knee is None or knee.value is None or knee.low is None or knee.high is None:
        return ()
    if taken == "pedalling":
        return (
            "A pedalling photo reads more bent than the knee standing still: compare it only "
            "with another pedalling photo, or stop at the bottom of the stroke and take one more.",
        )
    low, high = (math.radians(end) for end in STATIC_KNEE)
    span = f"{STATIC_KNEE[0]:.0f} to {STATIC_KNEE[1]:.0f}°"
    if knee.high < low:
        return (f"The knee is straighter than {span}: lower the saddle.",)
    if knee.low > high:
        return (f"The knee is more bent than {span}: raise the saddle, inside the post's marks.",)
    if low <= knee.value <= high:
        return (f"The knee is inside {span}: leave the saddle where it is.",)
    return (f"The knee may be outside {span}, but this photo cannot tell: step back.",)


def _checked(
    points: Mapping[str, Sequence[float]], size: Sequence[float], taken: str, distance: float
) -> None:
    """Everything that is wrong with the points, at once."""
    known = (*AXLES, *NEARER)
    problems = [
        Problem("point-missing", name, "set this point on the photo")
        for name in AXLES
        if name not in points
    ]
    for name, place in points.items():
        if name not in known:
            problems.append(Problem("no-such-point", name, f"use these points: {', '.join(known)}"))
        elif len(place) != 2 or not all(math.isfinite(value) for value in place):
            problems.append(Problem("not-a-point", name, "give it as two numbers, in pixels"))
    if not set(points) & set(NEARER):
        problems.append(Problem("point-missing", "points", "set the rider's joints as well"))
    if len(size) != 2 or not all(math.isfinite(value) and value > 0 for value in size):
        problems.append(Problem("not-a-size", "size", "give the photo's width and height [px]"))
    if taken not in ("static", "pedalling"):
        problems.append(Problem("taken", "taken", "say static or pedalling", value=str(taken)))
    if not 1.0 <= distance <= 50.0:
        problems.append(
            Problem("distance", "distance", "stand 1 to 50 m away", value=f"{distance:g} m")
        )
    if problems:
        raise InputError(problems)
