"""A small vocabulary for SVG: numbers, paths and elements, escaped and without inline styles.

Points are complex numbers in metres, x forward and y up; `Pen` writes them as millimetres with
y down, so that one user unit is one millimetre on the bike.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from html import escape

Point = complex


def number(value: float) -> str:
    """A coordinate with at most one decimal, never `-0`."""
    text = f"{value:.1f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def xy(point: Point) -> str:
    """A point in metres as `x y` in millimetres, y down."""
    return f"{number(point.real * 1000)} {number(-point.imag * 1000)}"


def polyline(points: Iterable[Point], *, closed: bool = False) -> str:
    """Path data of straight lines through the points."""
    return "M" + "L".join(xy(point) for point in points) + ("Z" if closed else "")


def smooth(points: Sequence[Point], *, closed: bool = True, tension: float = 1.0) -> str:
    """Path data of a Catmull-Rom curve through the points, as cubic Béziers."""
    count = len(points)
    spans = count if closed else count - 1

    def at(index: int) -> Point:
        return points[index % count] if closed else points[min(max(index, 0), count - 1)]

    parts = [f"M{xy(points[0])}"]
    for index in range(spans):
        before, start, end, after = (at(index + shift) for shift in (-1, 0, 1, 2))
        one = start + (end - before) * tension / 6
        two = end - (after - start) * tension / 6
        parts.append(f"C{xy(one)} {xy(two)} {xy(end)}")
    return "".join(parts) + ("Z" if closed else "")


def capsule(start: Point, end: Point, radius_start: float, radius_end: float) -> str:
    """Path data of the outline round two circles: a tapered tube with round ends."""
    span = abs(end - start)
    if span <= abs(radius_start - radius_end):
        centre, radius = max(((start, radius_start), (end, radius_end)), key=lambda pair: pair[1])
        return circle_path(centre, radius)
    heading = cmath.phase(end - start)
    lean = math.acos((radius_start - radius_end) / span)
    a = start + cmath.rect(radius_start, heading + lean)
    b = end + cmath.rect(radius_end, heading + lean)
    c = end + cmath.rect(radius_end, heading - lean)
    d = start + cmath.rect(radius_start, heading - lean)
    large_end = int(lean > math.pi / 2)
    large_start = int(lean < math.pi / 2)
    return (
        f"M{xy(a)}L{xy(b)}{_arc(radius_end, c, large_end, 1)}L{xy(d)}"
        f"{_arc(radius_start, a, large_start, 1)}Z"
    )


def circle_path(centre: Point, radius: float) -> str:
    """Path data of a circle."""
    left, right = centre - radius, centre + radius
    return f"M{xy(left)}{_arc(radius, right, 0, 1)}{_arc(radius, left, 0, 1)}Z"


def arc_path(centre: Point, radius: float, start: float, end: float) -> str:
    """Path data of an arc from one heading to another [rad], the short way round."""
    turn = math.remainder(end - start, math.tau)
    first, last = centre + cmath.rect(radius, start), centre + cmath.rect(radius, start + turn)
    return f"M{xy(first)}{_arc(radius, last, 0, int(turn < 0))}"


def _arc(radius: float, end: Point, large: int, sweep: int) -> str:
    size = number(radius * 1000)
    return f"A{size} {size} 0 {large} {sweep} {xy(end)}"


def element(name: str, content: str = "", **attributes: object) -> str:
    """An element; `class_` and underscores are spelled as SVG spells them, None is left out."""
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(str(value), quote=True)}"'
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{written}>{content}</{name}>" if content else f"<{name}{written}/>"


def plain(words: str) -> str:
    """Words as character data: escaped, control characters as spaces."""
    return escape("".join(char if char.isprintable() else " " for char in words))


def path(data: str, class_: str, **attributes: object) -> str:
    """A path of a class."""
    return element("path", "", class_=class_, d=data, **attributes)


def line(start: Point, end: Point, class_: str, width: float | None = None) -> str:
    """A straight stroke; `width` [m] where the thing drawn has a real thickness."""
    stroke = None if width is None else number(width * 1000)
    return path(polyline((start, end)), class_, stroke_width=stroke)


def circle(centre: Point, radius: float, class_: str, width: float | None = None) -> str:
    """A circle of a class; `width` [m] is the stroke's real thickness."""
    return element(
        "circle",
        class_=class_,
        cx=number(centre.real * 1000),
        cy=number(-centre.imag * 1000),
        r=number(radius * 1000),
        stroke_width=None if width is None else number(width * 1000),
    )


def text(words: str, at: Point, size: float, class_: str, anchor: str = "start") -> str:
    """Words with their baseline at a point; `size` [m] is the height of the type."""
    return element(
        "text",
        plain(words),
        class_=class_,
        x=number(at.real * 1000),
        y=number(-at.imag * 1000),
        font_size=number(size * 1000),
        text_anchor=None if anchor == "start" else anchor,
    )


def group(parts: Iterable[str], class_: str, **attributes: object) -> str:
    """A group of a class; empty groups vanish."""
    content = "".join(parts)
    return element("g", content, class_=class_, **attributes) if content else ""
