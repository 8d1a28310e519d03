"""How a frame's figures close in the plane: two that follow from the rest.

A sheet that gives all of them has two figures to spare, so a misread digit shows.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, sin, sqrt

from cyclewright.sheets.bike import Bike, Tyre


@dataclass(frozen=True, slots=True)
class Closure:
    """What reach, stack, angles, fork and wheels imply, unloaded [m]."""

    wheelbase: float
    head_tube: float
    """Top of the head tube down to the crown race, along the steering axis."""
    front_centre: float
    """Bottom bracket to front axle, straight."""


def closure(
    *,
    reach: float,
    stack: float,
    head_angle: float,
    chainstay: float,
    bb_drop: float,
    axle_to_crown: float,
    offset: float,
    radius_front: float,
    radius_rear: float,
) -> Closure:
    """Wheelbase and head tube that close the figures of an unloaded frame [m, rad].

    From the top of the head tube, t along the steering axis (down, forward) and the offset square
    to it reach the front axle, whose height is the front wheel's radius:
    t = (radius_rear - bb_drop + stack + offset cos(head_angle) - radius_front) / sin(head_angle).

    >>> made = closure(reach=0.44, stack=0.62, head_angle=1.1432, chainstay=0.435, bb_drop=0.035,
    ...     axle_to_crown=0.551, offset=0.044, radius_front=0.3745, radius_rear=0.372)
    >>> round(made.wheelbase, 3), round(made.head_tube, 3)
    (1.187, 0.109)
    """
    along = (radius_rear - bb_drop + stack + offset * cos(head_angle) - radius_front) / sin(
        head_angle
    )
    behind = sqrt(chainstay**2 - bb_drop**2)
    ahead = reach + along * cos(head_angle) + offset * sin(head_angle)
    above = radius_front - (radius_rear - bb_drop)
    return Closure(behind + ahead, along - axle_to_crown, sqrt(ahead**2 + above**2))


def of_bike(bike: Bike) -> Closure | None:
    """The closure of a sheet, or None where it leaves out a figure that it takes."""
    frame, fork = bike.frame, bike.fork
    radii = wheel_radius(bike.tyre.front), wheel_radius(bike.tyre.rear)
    wanted = (
        frame.reach,
        frame.stack,
        frame.head_angle,
        frame.chainstay,
        frame.bb_drop,
        fork.axle_to_crown,
        fork.offset,
    )
    if any(item is None for item in (*wanted, *radii)):
        return None
    reach, stack, angle, chainstay, drop, crown, offset = (float(item) for item in wanted if item)
    return closure(
        reach=reach,
        stack=stack,
        head_angle=angle,
        chainstay=chainstay,
        bb_drop=drop,
        axle_to_crown=crown,
        offset=offset,
        radius_front=radii[0] or 0.0,
        radius_rear=radii[1] or 0.0,
    )


def wheel_radius(tyre: Tyre) -> float | None:
    """Unloaded radius of the nominal size [m]: half the bead seat and the section's height."""
    if tyre.bead is None or tyre.width is None:
        return None
    return tyre.bead / 2 + tyre.width
