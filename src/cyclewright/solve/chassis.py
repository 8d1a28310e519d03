"""Plane geometry of the bike for any fork travel, wheel travel and tyre drop.

The frame is rigid; the fork shortens along the steering axis and the rear axle follows its path
in the frame, straight up where nobody knows it. Both wheels then stand on level ground, which
fixes the pitch in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cyclewright.mechanics import steering
from cyclewright.solve.case import Array, Case
from cyclewright.solve.solution import Geometry


@dataclass(frozen=True, slots=True)
class Frame:
    """Points fixed to the frame, unloaded, (n, 2) [m], and the two directions of the steerer."""

    rear_axle: Array
    front_axle: Array
    bottom_bracket: Array
    head_top: Array
    crown: Array
    saddle: Array
    seat_clamp: Array
    bar_clamp: Array
    grip: Array
    axis: Array
    """Unit vector up the steering axis."""
    ahead: Array
    """Unit vector forward, square to the steering axis."""


def point(x: Array, y: Array) -> Array:
    """Two coordinate arrays as points (n, 2)."""
    points = np.empty((*np.broadcast_shapes(x.shape, y.shape), 2))
    points[..., 0], points[..., 1] = x, y
    return points


def frame(case: Case) -> Frame:
    """The unloaded bike from its sheet: origin at the rear contact, x forward, y up.

    The bottom bracket lies `bb_drop` below the rear axle, the front axle `wheelbase` ahead of
    it; the steering axis passes `fork_offset` behind the front axle at `head_angle`; the top of
    the head tube is the foot on that axis of the point given by reach and stack; the post's
    axis meets the effective seat-tube line at stack height and stands at the actual seat angle.
    All of that is so on the wheels and the fork that the geometry was published with. On others
    the frame stays what it is, and `placement` tips it: the crown keeps its place at the head
    tube's foot, and the front axle lies where the fork that is on the bike puts it.
    """
    built = case.published
    rear_radius = case.rear_tyre.radius if built is None else built.rear_radius
    front_radius = case.front_tyre.radius if built is None else built.front_radius
    rear_axle = _up(rear_radius)
    front_axle = point(case.wheelbase, front_radius)
    bb = point(np.sqrt(case.chainstay**2 - case.bb_drop**2), rear_radius - case.bb_drop)
    axis = point(-np.cos(case.head_angle), np.sin(case.head_angle))
    ahead = point(np.sin(case.head_angle), np.cos(case.head_angle))
    foot = front_axle - _times(case.fork_offset if built is None else built.fork_offset, ahead)
    crown = foot + _times(case.axle_to_crown if built is None else built.axle_to_crown, axis)
    if built is not None:
        front_axle = crown - _times(case.axle_to_crown, axis) + _times(case.fork_offset, ahead)
    head_top = foot + _times(_dot(bb + point(case.reach, case.stack) - foot, axis), axis)
    bar_clamp = _bar_clamp(case, head_top, axis, ahead)
    grip = bar_clamp + _times(case.bar_rise, axis) - _times(case.bar_backsweep_reach, ahead)
    post = point(-np.cos(case.seat_angle_actual), np.sin(case.seat_angle_actual))
    post_foot = bb + point(-case.stack / np.tan(case.seat_angle), case.stack)
    return Frame(
        rear_axle,
        front_axle,
        bb,
        head_top,
        crown,
        _on_post(bb, post_foot, post, case.saddle_height) - _ahead(case.saddle_setback),
        _on_post(bb, post_foot, post, case.seat_tube),
        bar_clamp,
        grip,
        axis,
        ahead,
    )


def geometry(
    case: Case, parts: Frame, fork: Array, rear: Array, front_drop: Array, rear_drop: Array
) -> Geometry:
    """The bike on level ground with these compressions and tyre drops [m]."""
    turn = placement(case, parts, fork, rear, front_drop, rear_drop)
    axle_f = turn(parts.front_axle + _times(fork, parts.axis))
    axle_r = turn(rear_axle(case, parts, rear))
    head_angle = case.head_angle - turn.pitch
    bb = turn(parts.bottom_bracket)
    return Geometry(
        rear_axle=axle_r,
        front_axle=axle_f,
        front_contact=_ahead(axle_f[..., 0]),
        bottom_bracket=bb,
        head_top=turn(parts.head_top),
        crown=turn(parts.crown),
        saddle=turn(parts.saddle),
        seat_clamp=turn(parts.seat_clamp),
        bar_clamp=turn(parts.bar_clamp),
        grip=turn(parts.grip),
        pitch=turn.pitch,
        wheelbase=axle_f[..., 0] - axle_r[..., 0],
        head_angle=head_angle,
        trail=steering.trail(case.front_tyre.radius - front_drop, head_angle, case.fork_offset),
        bb_height=bb[..., 1],
    )


@dataclass(frozen=True, slots=True)
class Placement:
    """Frame coordinates to ground coordinates."""

    pitch: Array
    pivot: Array
    height: Array
    cos: Array
    sin: Array

    def __call__(self, points: Array) -> Array:
        """Points (n, 2) fixed to the frame, on the ground."""
        ahead, up = (points - self.pivot)[..., 0], (points - self.pivot)[..., 1]
        x = self.cos * ahead - self.sin * up
        return point(x, self.sin * ahead + self.cos * up + self.height)


def placement(
    case: Case, parts: Frame, fork: Array, rear: Array, front_drop: Array, rear_drop: Array
) -> Placement:
    """Where the frame comes to stand: the line of the axles must span both wheel heights."""
    pivot = rear_axle(case, parts, rear)
    span = parts.front_axle + _times(fork, parts.axis) - pivot
    front_height = case.front_tyre.radius - front_drop
    rear_height = case.rear_tyre.radius - rear_drop
    length = np.hypot(span[..., 0], span[..., 1])
    slant = np.arcsin((front_height - rear_height) / length)
    pitch = slant - np.arctan2(span[..., 1], span[..., 0])
    return Placement(pitch, pivot, rear_height, np.cos(pitch), np.sin(pitch))


def rear_axle(case: Case, parts: Frame, rear: Array) -> Array:
    """The rear axle in the frame (n, 2) [m] at this vertical wheel travel, along its path."""
    if case.axle_path is None:
        return parts.rear_axle + _up(rear)
    forward = np.interp(rear, case.leverage.travel, case.axle_path)
    return parts.rear_axle + point(forward, rear)


def _bar_clamp(case: Case, head_top: Array, axis: Array, ahead: Array) -> Array:
    """Middle of the bar clamp: up the steerer, then out along the stem."""
    along_stem = _times(np.cos(case.stem_angle), ahead) + _times(np.sin(case.stem_angle), axis)
    return (
        head_top
        + _times(case.spacers_under + case.stem_stack, axis)
        + _times(case.stem_length, along_stem)
    )


def _on_post(bb: Array, foot: Array, post: Array, distance: Array) -> Array:
    """The point of the post's axis at this straight distance from the bottom bracket."""
    from_bb = foot - bb
    along = _dot(from_bb, post)
    aside_squared = _dot(from_bb, from_bb) - along**2
    reach = np.sqrt(np.maximum(distance**2 - aside_squared, 0.0))
    return foot + _times(reach - along, post)


def _ahead(distance: Array) -> Array:
    return point(distance, np.zeros_like(distance))


def _up(distance: Array) -> Array:
    return point(np.zeros_like(distance), distance)


def _times(scalar: Array, vector: Array) -> Array:
    return scalar[..., None] * vector


def _dot(first: Array, second: Array) -> Array:
    dot: Array = np.sum(first * second, axis=-1)
    return dot
