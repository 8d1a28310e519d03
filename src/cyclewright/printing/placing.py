"""Place labels near what they name so that none overlaps another, and few lie on a line.

Candidates stand on rings of growing radius round the anchor; the cheapest free one wins, in
order of weight, and a second sweep lets every label move once the others are known. A ring wide
enough is always free, so a place is always found.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

from cyclewright.printing.svg import Point

_HEADINGS = 24
_LEADER_FROM = 1.1  # leaders shorter than this many type heights are left out


@dataclass(frozen=True, slots=True)
class Label:
    """Words for a point of the drawing; `toward` is the heading [rad] they would rather lie in."""

    words: tuple[str, ...]
    anchor: Point
    size: float
    toward: float | None = None
    gap: float = 0.03
    """Free distance kept between the anchor and the words [m]."""
    class_: str = "label"
    weight: float = 1.0
    pull: float = 2.5
    """How much it costs to lie elsewhere than `toward`."""
    floor: float = -math.inf
    """How low the words may come before it costs dearly [m]."""


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle [m], y up."""

    left: float
    bottom: float
    right: float
    top: float

    def overlaps(self, other: Box, margin: float = 0.0) -> bool:
        """Whether the two share any area, each grown by half the margin."""
        return (
            self.left < other.right + margin
            and other.left < self.right + margin
            and self.bottom < other.top + margin
            and other.bottom < self.top + margin
        )

    def inside(self, other: Box) -> bool:
        """Whether this box lies within the other."""
        return (
            other.left <= self.left
            and self.right <= other.right
            and other.bottom <= self.bottom
            and self.top <= other.top
        )

    def nearest(self, point: Point) -> Point:
        """The point of the box nearest to a point."""
        return complex(
            min(max(point.real, self.left), self.right),
            min(max(point.imag, self.bottom), self.top),
        )


@dataclass(frozen=True, slots=True)
class Placed:
    """A label, where its words stand, and its leader when the words stand off."""

    label: Label
    box: Box
    leader: tuple[Point, Point] | None


class Busy:
    """How many points of lines lie in a box, from a summed grid of one-centimetre cells."""

    def __init__(self, points: Iterable[Point], cell: float = 0.01) -> None:
        self._cell = cell
        cells = [(int(p.real // cell), int(p.imag // cell)) for p in points]
        self._x0 = min((x for x, _ in cells), default=0)
        self._y0 = min((y for _, y in cells), default=0)
        wide = max((x for x, _ in cells), default=0) - self._x0 + 1
        high = max((y for _, y in cells), default=0) - self._y0 + 1
        self._wide, self._high = wide, high
        filled = [[0] * (high + 1) for _ in range(wide + 1)]
        for x, y in set(cells):
            filled[x - self._x0 + 1][y - self._y0 + 1] = 1
        for column in range(1, wide + 1):
            total = 0
            for row in range(1, high + 1):
                total += filled[column][row]
                filled[column][row] = filled[column - 1][row] + total
        self._sums = filled

    def within(self, box: Box, margin: float) -> int:
        """Cells in the box grown by the margin that hold a point."""
        left = self._column(box.left - margin)
        right = self._column(box.right + margin) + 1
        low = self._row(box.bottom - margin)
        high = self._row(box.top + margin) + 1
        left, right = max(left, 0), min(right, self._wide)
        low, high = max(low, 0), min(high, self._high)
        if left >= right or low >= high:
            return 0
        sums = self._sums
        return sums[right][high] - sums[left][high] - sums[right][low] + sums[left][low]

    def _column(self, x: float) -> int:
        return int(x // self._cell) - self._x0

    def _row(self, y: float) -> int:
        return int(y // self._cell) - self._y0


def place(
    labels: Sequence[Label],
    busy: Iterable[Point],
    view: Box,
    taken: Sequence[Box] = (),
    sweeps: int = 2,
    spare: float = 0.0,
) -> tuple[Placed, ...]:
    """Places for all labels, in the order given; `busy` are points of lines to keep clear of.

    No words stand on what is `taken`; each keeps `spare` of its width free for another font.
    """
    points = Busy(busy)
    order = sorted(range(len(labels)), key=lambda index: -labels[index].weight)
    boxes: dict[int, Box] = {}
    for _ in range(sweeps):
        for index in order:
            others = [box for key, box in boxes.items() if key != index]
            leads = [
                (labels[key].anchor, box.nearest(labels[key].anchor))
                for key, box in boxes.items()
                if key != index
            ]
            blocked = [*taken, *others]
            boxes[index] = _best(labels[index], blocked, leads, points, view, spare)
    return tuple(_placed(labels[index], boxes[index]) for index in range(len(labels)))


def measure(words: Sequence[str], size: float) -> tuple[float, float]:
    """Width and height of the words set one under the other [same unit as `size`]."""
    width = max(_font().getlength(line) for line in words) / 1000 * size
    return width, size * (0.72 + 1.16 * (len(words) - 1))


def _best(
    label: Label,
    taken: Sequence[Box],
    leads: Sequence[tuple[Point, Point]],
    busy: Busy,
    view: Box,
    spare: float,
) -> Box:
    width, height = measure(label.words, label.size)
    width *= 1.0 + spare
    margin = 0.65 * label.size
    best: tuple[float, Box] | None = None
    ring = 0
    while True:
        radius = label.gap + ring * 0.9 * label.size
        least = radius * 2.2 / label.size  # what any place on this ring costs at the least
        if best is not None and least > best[0]:
            return best[1]
        for step in range(_HEADINGS):
            heading = math.tau * step / _HEADINGS
            box = _standing(label.anchor, heading, radius, width, height)
            if any(box.overlaps(other, margin) for other in taken):
                continue
            most = math.inf if best is None else best[0] - least
            cost = least + _cost(label, box, heading, taken, leads, busy, view, most)
            if best is None or cost < best[0] - 1e-9:
                best = cost, box
        ring += 1


def _standing(anchor: Point, heading: float, radius: float, width: float, height: float) -> Box:
    """The box whose edge is `radius` from the anchor in the heading."""
    way = cmath.rect(1.0, heading)
    centre = anchor + way * radius + complex(way.real * width / 2, way.imag * height / 2)
    return Box(
        centre.real - width / 2,
        centre.imag - height / 2,
        centre.real + width / 2,
        centre.imag + height / 2,
    )


def _cost(
    label: Label,
    box: Box,
    heading: float,
    taken: Sequence[Box],
    leads: Sequence[tuple[Point, Point]],
    busy: Busy,
    view: Box,
    most: float,
) -> float:
    """What a place costs; once it is over `most`, that it is too dear is enough."""
    cost = 1.2 * min(busy.within(box, 0.4 * label.size), 60)
    if label.toward is not None:
        cost += label.pull * (1 - math.cos(heading - label.toward))
    if not box.inside(view):
        cost += 60.0
    if box.bottom < label.floor:
        cost += 25.0
    if cost >= most:
        return cost
    leader = (label.anchor, box.nearest(label.anchor))
    cost += 0.9 * sum(busy.within(_at(point), 0.0) for point in _along(leader))
    cost += 12.0 * sum(1 for other in taken if _cuts(leader, other))
    cost += 12.0 * sum(1 for other in leads if _cuts(other, box) or _cross(leader, other))
    return cost


def _placed(label: Label, box: Box) -> Placed:
    end = box.nearest(label.anchor)
    off = end - label.anchor
    if abs(off) < max(_LEADER_FROM * label.size, label.gap * 1.05):
        return Placed(label, box, None)
    way = off / abs(off)
    return Placed(label, box, (label.anchor, end - way * 0.3 * label.size))


def _cuts(segment: tuple[Point, Point], box: Box) -> bool:
    """Whether a line passes through a box, by what of it lies between either pair of sides."""
    start, end = segment
    first, last = 0.0, 1.0
    for at, to, low, high in (
        (start.real, end.real, box.left, box.right),
        (start.imag, end.imag, box.bottom, box.top),
    ):
        if at == to:
            if not low <= at <= high:
                return False
            continue
        one, other = (low - at) / (to - at), (high - at) / (to - at)
        first, last = max(first, min(one, other)), min(last, max(one, other))
        if first > last:
            return False
    return True


def _along(segment: tuple[Point, Point]) -> list[Point]:
    """Thirteen points of a line, both ends among them."""
    start, end = segment
    return [start + (end - start) * step / 12 for step in range(13)]


def _at(point: Point) -> Box:
    return Box(point.real, point.imag, point.real, point.imag)


def _cross(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    def side(a: Point, b: Point, c: Point) -> float:
        return ((b - a).conjugate() * (c - a)).imag

    return (
        side(*one, two[0]) * side(*one, two[1]) < 0 and side(*two, one[0]) * side(*two, one[1]) < 0
    )


@lru_cache(maxsize=1)
def _font() -> Any:
    """The drawing's own font at 1000 units, so that words are as wide as they will print."""
    from PIL import ImageFont

    source = resources.files("cyclewright") / "assets/fonts/SourceSans3-Semibold.otf"
    with resources.as_file(source) as file:
        return ImageFont.truetype(str(file), 1000)
