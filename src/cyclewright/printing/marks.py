"""Arrows, arcs and dimension lines of a drawing, without their words."""

from __future__ import annotations

import cmath
from collections.abc import Callable, Iterator, Mapping, Sequence

from cyclewright.printing import svg
from cyclewright.printing.scene import (
    ARROW,
    DIMENSION_DEPTH,
    Layer,
    Scene,
    angle_arcs,
    blade,
    bottom_leg,
    insertion_marks,
    post_end,
    saddle_aside,
    saddle_line,
    sag_line,
    unit,
)
from cyclewright.printing.svg import Point


def measures(scene: Scene, show: Sequence[Layer]) -> str:
    """The marks of every layer shown, a group each."""
    return "".join(
        svg.group(marks(scene), f"layer {name}", data_layer=name)
        for name, marks in _MARKS.items()
        if name in show
    )


def _angle_marks(scene: Scene) -> Iterator[str]:
    joints = scene.joints
    hip, shoulder, elbow = joints["hip"], joints["shoulder"], joints["elbow"]
    yield svg.line(hip, hip + 0.20, "thin dash")
    yield svg.line(elbow, elbow + 0.11 * unit(elbow - shoulder), "thin dash")
    leg = bottom_leg(scene)
    if leg is not None:
        start, knee, _ = leg
        yield svg.path(svg.polyline(leg), "thin dash")
        yield svg.line(knee, knee + 0.13 * unit(knee - start), "thin dash")
    for arc in angle_arcs(scene):
        yield _arc(*arc)


def _load_marks(scene: Scene) -> Iterator[str]:
    """Ground reactions to scale, the mass centre and its plumb line."""
    for foot, load in (
        (scene.rear_contact, scene.rear_load),
        (scene.front_contact, scene.front_load),
    ):
        yield _arrow(foot - 0.020j - 1j * ARROW * load, foot - 0.006j, 0.024)
    centre = scene.mass_centre
    yield svg.line(centre, complex(centre.real, 0.0), "plumb")
    quarter = (
        f"M{svg.xy(centre)}L{svg.xy(centre + 0.020)}A20 20 0 0 0 {svg.xy(centre + 0.020j)}Z"
        f"M{svg.xy(centre)}L{svg.xy(centre - 0.020)}A20 20 0 0 0 {svg.xy(centre - 0.020j)}Z"
    )
    yield svg.circle(centre, 0.020, "centre")
    yield svg.path(quarter, "centre-quarter")


def _sag_marks(scene: Scene) -> Iterator[str]:
    bike = scene.bike
    if bike.fork_travel > 0 and bike.fork_compression > 0.0005:
        yield from _span(*sag_line(bike))


def _length_marks(scene: Scene) -> Iterator[str]:
    bike = scene.bike
    if scene.posture == "seated":
        high, low = saddle_line(bike)
        aside = saddle_aside(bike)
        for end in (high, low):
            yield svg.line(end + aside * 0.12, end + aside * 1.12, "extension")
        yield from _dimension(high + aside, low + aside, 0.018)
    deep = -1j * DIMENSION_DEPTH
    for contact in (scene.rear_contact, scene.front_contact):
        yield svg.line(contact - 0.012j, contact + deep - 0.015j, "extension")
    yield from _dimension(scene.rear_contact + deep, scene.front_contact + deep, 0.018)
    foot = complex(bike.bottom_bracket.real, 0.0)
    yield from _dimension(foot, foot + 1j * (bike.bottom_bracket.imag - 0.032), 0.016)


def _lever_marks(scene: Scene) -> Iterator[str]:
    bike = scene.bike
    way = cmath.rect(1.0, -bike.lever_angle)
    yield svg.line(bike.grip + way * 0.10, bike.grip + way * 0.26, "lever-line")
    yield svg.line(bike.grip + 0.06, bike.grip + 0.22, "thin dash")
    yield _arc(bike.grip, 0.17, 0.0, -bike.lever_angle)


def _insertion_marks(scene: Scene) -> Iterator[str]:
    """A tick across the seat tube for every limit, and one at the post's lower end."""
    across = scene.bike.post_way * 1j
    for side, at in insertion_marks(scene):
        yield svg.line(at - across * 0.030, at + across * 0.030, "halo")
        yield svg.line(at - across * 0.030, at + across * 0.030, f"insertion-{side}")
    end = post_end(scene)
    if end is not None:
        yield svg.circle(end, 0.0085, "post-end")


def _sweep_marks(scene: Scene) -> Iterator[str]:
    """The blade's way from rest to the grip, its section at both ends."""
    rest, pulled = blade(scene, pulled=False), blade(scene, pulled=True)
    yield svg.circle(pulled, 0.008, "blade-pulled")
    yield svg.circle(rest, 0.008, "blade")
    side = unit(rest - pulled) * 1j * 0.020
    yield svg.line(rest + side, pulled + side, "sweep-line")
    yield _head(pulled + side, unit(pulled - rest), 0.014, 0.42)


_MARKS: Mapping[Layer, Callable[[Scene], Iterator[str]]] = {
    "angles": _angle_marks,
    "loads": _load_marks,
    "sag": _sag_marks,
    "lengths": _length_marks,
    "levers": _lever_marks,
    "insertion": _insertion_marks,
    "sweep": _sweep_marks,
}


def _dimension(start: Point, end: Point, head: float) -> Iterator[str]:
    yield svg.line(start, end, "dimension")
    for tip, way in ((start, unit(start - end)), (end, unit(end - start))):
        yield _head(tip, way, head)


def _span(start: Point, end: Point) -> Iterator[str]:
    """A short length between two ticks, where arrowheads would not fit."""
    side = unit(end - start) * 1j * 0.016
    strokes = [(start, end), *((tip - side, tip + side) for tip in (start, end))]
    for class_ in ("halo", "dimension"):
        for one, two in strokes:
            yield svg.line(one, two, class_)


def _arrow(start: Point, end: Point, head: float) -> str:
    way = unit(end - start)
    return svg.line(start, end - way * head * 0.8, "load") + _head(end, way, head, 0.42)


def _head(tip: Point, way: Point, length: float, slim: float = 0.28) -> str:
    side = way * 1j * length * slim
    back = tip - way * length
    return svg.path(svg.polyline([tip, back + side, back - side], closed=True), "arrowhead")


def _arc(centre: Point, radius: float, start: float, end: float) -> str:
    return svg.path(svg.arc_path(centre, radius, start, end), "arc")
