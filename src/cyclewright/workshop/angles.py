"""Angles of the fit as somebody measured them: read off a level and typed, or a points file."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, cast

from cyclewright import units
from cyclewright.errors import InputError, Problem
from cyclewright.setting import Setting
from cyclewright.workshop.photo import STATIC_KNEE, Z90, PhotoAnswer, Taken, measure_photo

if TYPE_CHECKING:
    from cyclewright.sheets.sheets import Sheets

Typed = Literal["knee", "saddle", "lever-left", "lever-right"]
LABELS: dict[str, str] = {
    "knee": "Knee bent at the bottom, standing still",
    "saddle": "Saddle's nose, up positive",
    "lever-left": "Left brake lever below level",
    "lever-right": "Right brake lever below level",
}
SPREADS = {"knee": 3.0, "saddle": 0.5, "lever-left": 1.0, "lever-right": 1.0}
"""One standard deviation of an angle off a goniometer or a phone's level [degrees] (judgement)."""
RANGES = {"knee": (0.0, 140.0), "saddle": (-30.0, 30.0)}
_LEVERS = (-20.0, 90.0)
ALIKE = 2.0
"""Levers within this of one another are alike [degrees] (judgement)."""
_LARGEST = 100_000
_KEYS = ("size", "taken", "distance", "points", "typed")


@dataclass(frozen=True, slots=True)
class Points:
    """A points file: what was set on a photo, and what was read off a level."""

    points: dict[str, tuple[float, float]] = field(default_factory=dict)
    size: tuple[float, float] = (0.0, 0.0)
    taken: Taken = "static"
    distance: float = 4.0
    typed: dict[str, str] = field(default_factory=dict)


def measure(sheets: Sheets, given: Points, typed: Mapping[str, str] | None = None) -> PhotoAnswer:
    """Everything that was measured, photo first, and what it says to do."""
    by_hand = {**given.typed, **(typed or {})}
    if not given.points and not by_hand:
        do = "set points on a photo, or give an angle as NAME=ANGLE"
        raise InputError(Problem("nothing-measured", "points", do))
    photo = PhotoAnswer((), ())
    if given.points:
        photo = measure_photo(sheets, given.points, given.size, given.taken, given.distance)
    level = typed_angles(sheets, by_hand) if by_hand else PhotoAnswer((), ())
    return PhotoAnswer((*photo.angles, *level.angles), (*photo.said, *level.said))


def typed_angles(sheets: Sheets, typed: Mapping[str, str]) -> PhotoAnswer:
    """Angles off a goniometer or a phone's level, against what is advised for this rider.

    `typed` holds texts with their unit by `knee`, `saddle`, `lever-left`, `lever-right`.
    """
    found = parsed(typed)
    angles = tuple(typed_setting(name, angle) for name, angle in found.items())
    advised = {} if set(found) <= {"knee"} else _advised(sheets)
    return PhotoAnswer(angles, said_of(found, advised))


def said_of(found: Mapping[str, float], advised: Mapping[str, Setting]) -> tuple[str, ...]:
    """What angles in degrees say to do, against `saddle_tilt` and `lever_angle` as advised."""
    said = []
    if "knee" in found:
        said.append(_knee(found["knee"]))
    if "saddle" in found:
        said.append(_tilt(found["saddle"], advised["saddle_tilt"]))
    levers = {name: found[name] for name in ("lever-left", "lever-right") if name in found}
    said += [_lever(name, angle, advised["lever_angle"]) for name, angle in levers.items()]
    if len(levers) == 2:
        said += alike(*levers.values())
    return tuple(said)


def read_points(path: Path) -> Points:
    """A points file (TOML): `size`, `taken`, `distance`, `[points]` in pixels, `[typed]`."""
    import tomllib

    try:
        if path.stat().st_size > _LARGEST:
            raise ValueError("it is longer than 100 kB")
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        do = f"cannot be read: {error.strerror}"
        raise InputError(Problem("points-file", str(path), do)) from None
    except (ValueError, RecursionError) as error:
        do = "write it as TOML: size, distance, [points] and [typed]"
        raise InputError(Problem("points-file", str(path), do, value=str(error))) from None
    return _points(data)


def _points(data: dict[str, Any]) -> Points:
    """The file's tables, every bad one told."""
    problems = [
        Problem("unknown-key", name, f"use one of: {', '.join(_KEYS)}")
        for name in data
        if name not in _KEYS
    ]
    points, typed = data.get("points", {}), data.get("typed", {})
    if not isinstance(points, dict) or not all(_pair(place) for place in points.values()):
        do = "give every point as two numbers in pixels, like knee = [1900, 1500]"
        problems.append(Problem("not-a-point", "points", do))
    if not isinstance(typed, dict) or not all(isinstance(text, str) for text in typed.values()):
        do = 'give every angle as text with its unit, like knee = "31 deg"'
        problems.append(Problem("not-an-angle", "typed", do))
    size = data.get("size", (0.0, 0.0))
    if points and not _pair(size):
        do = "give the photo's width and height in pixels, like size = [4000, 3000]"
        problems.append(Problem("not-a-size", "size", do))
    taken = data.get("taken", "static")
    if taken not in ("static", "pedalling"):
        problems.append(Problem("taken", "taken", "say static or pedalling", value=str(taken)))
    distance = 4.0
    if "distance" in data:
        try:
            distance = units.parse(data["distance"], "length", "distance").value
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    places = {name: (float(place[0]), float(place[1])) for name, place in points.items()}
    wide = (float(size[0]), float(size[1])) if points else (0.0, 0.0)
    return Points(places, wide, cast(Taken, taken), distance, dict(typed))


def _pair(value: object) -> bool:
    return (
        isinstance(value, (list, tuple))
        and len(value) == 2
        and all(isinstance(one, (int, float)) and not isinstance(one, bool) for one in value)
    )


def parsed(typed: Mapping[str, str]) -> dict[str, float]:
    """Angles in degrees by name, in a fixed order; every bad one told at once."""
    problems, found = [], {}
    for name, text in typed.items():
        if name not in LABELS:
            do = f"use one of: {', '.join(LABELS)}"
            problems.append(Problem("no-such-angle", name, do))
            continue
        try:
            angle = math.degrees(units.parse(text, "angle", name).value)
        except InputError as error:
            problems += error.problems
            continue
        found[name] = angle
        problems += _outside(name, angle, text)
    if problems:
        raise InputError(problems)
    return {name: found[name] for name in LABELS if name in found}


def in_range(name: str, angle: float) -> None:
    """Refuse an angle in degrees that no bike is ridden with."""
    problems = _outside(name, angle, f"{angle:.1f} deg")
    if problems:
        raise InputError(problems)


def _outside(name: str, angle: float, text: str) -> list[Problem]:
    low, high = RANGES.get(name, _LEVERS)
    if low <= angle <= high:
        return []
    allowed = f"{low:.0f} to {high:.0f} deg"
    return [Problem("out-of-range", name, "measure it again", text, "deg", allowed)]


def typed_setting(name: str, angle: float) -> Setting:
    """An angle in degrees as it was read by hand, with how well that is done."""
    half = math.radians(Z90 * SPREADS[name])
    value = math.radians(angle)
    return Setting(
        f"{name.replace('-', '_')}_measured", value, "rad", value - half, value + half, "measured",
        "read off by hand", "a goniometer or a phone laid on it; the spread is judgement", "°",
        0.5 if name == "saddle" else 1.0, LABELS[name],
    )  # fmt: skip


def _advised(sheets: Sheets) -> dict[str, Setting]:
    from cyclewright.workshop.advising import advise

    return {item.name: item for item in advise(sheets).settings}


def _knee(angle: float) -> str:
    low, high = STATIC_KNEE
    half = Z90 * SPREADS["knee"]
    if angle + half < low:
        return f"The knee is straighter than {low:.0f} to {high:.0f}°: lower the saddle."
    if angle - half > high:
        return (
            f"The knee is more bent than {low:.0f} to {high:.0f}°: raise the saddle, inside the "
            "post's marks."
        )
    return f"The knee agrees with {low:.0f} to {high:.0f}°: leave the saddle where it is."


def _tilt(angle: float, advised: Setting) -> str:
    wanted, low, high = (
        math.degrees(end or 0.0) for end in (advised.value, advised.low, advised.high)
    )
    if low - SPREADS["saddle"] <= angle <= high + SPREADS["saddle"]:
        return "The saddle is level to very slightly nose down with the rider on it: leave it."
    way, cost = ("down", "presses") if angle > high else ("up", "slides them onto the hands")
    aim = "level" if abs(wanted) < 0.25 else f"{abs(wanted):.1f}° nose {_way(wanted)}"
    return (
        f"With the rider on it the nose points {_way(angle - high)} and {cost}: bring it {way} "
        f"{abs(angle - wanted):.1f}°, to {aim} on the bike unloaded."
    )


def _way(angle: float) -> str:
    return "up" if angle > 0.0 else "down"


def _lever(name: str, angle: float, advised: Setting) -> str:
    side = name.removeprefix("lever-").capitalize()
    wanted, low, high = (
        math.degrees(end or 0.0) for end in (advised.value, advised.low, advised.high)
    )
    if low <= angle <= high:
        return f"{side} lever: in line with the forearm, leave it."
    way = "down" if angle < wanted else "up"
    return f"{side} lever: turn it {abs(wanted - angle):.0f}° {way}, to {wanted:.0f}° below level."


def alike(left: float, right: float) -> tuple[str, ...]:
    """What to do when both levers' angles in degrees differ."""
    if abs(left - right) <= ALIKE:
        return ()
    return (f"The levers differ by {abs(left - right):.0f}°: set both sides alike.",)
