"""The rear suspension as its pivots have it, moved by the sums to where the wheel stands.

Points are complex, metres from the bottom bracket in the frame's own unloaded plane; whoever
draws them turns them with the frame.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from cyclewright.printing.svg import Point

if TYPE_CHECKING:
    from cyclewright.mechanics.linkage import Linkage


@dataclass(frozen=True, slots=True)
class Links:
    """One state of a linkage: its points, which body each lies on, and the shock's ends."""

    points: dict[str, Point]
    bodies: dict[str, int]
    """0 frame, 1 first link, 2 middle, 3 second link."""
    shock: tuple[str, str]
    carrier: int
    """The body that carries the axle."""

    def of_body(self, body: int) -> list[str]:
        """Names of the points that lie on a body, pivots in it counted to both."""
        return [name for name, one in self.bodies.items() if one == body]

    def shapes(self) -> Iterator[tuple[str, ...]]:
        """Every moving body but the axle's as its corners by name."""
        for body in sorted({*self.bodies.values()} - {0, self.carrier}):
            yield tuple(self._corners(body))

    def arms(self) -> Iterator[tuple[str, str]]:
        """The axle's body as tubes: from the axle to each other corner, and along the rest."""
        corners = [name for name in self._corners(self.carrier) if name != "axle"]
        yield from (("axle", name) for name in corners)
        yield from pairwise(corners)

    def _corners(self, body: int) -> list[str]:
        """A body's own points and the joints that it shares, from first to last."""
        own = self.of_body(body)
        return [*_SHARED.get(self._kind(), {}).get(body, ()), *own]

    def _kind(self) -> str:
        return next(kind for kind, mark in _MARKS.items() if mark in self.points)


_MARKS = {
    "rocker": "link_arm",
    "four-bar": "stay_pivot",
    "twin-link": "lower_rear",
    "single-pivot": "pivot",
}
"""A point that tells each kind, the telling ones first."""
_SHARED: dict[str, dict[int, tuple[str, ...]]] = {
    "single-pivot": {1: ("pivot",)},
    "rocker": {1: ("pivot",), 2: ("link_arm", "link_rocker"), 3: ("rocker_pivot",)},
    "four-bar": {1: ("pivot",), 2: ("stay_pivot", "rocker_stay"), 3: ("rocker_pivot",)},
    "twin-link": {1: ("lower_frame",), 2: ("lower_rear", "upper_rear"), 3: ("upper_frame",)},
}
"""Joints of a body that `Linkage.body` counts to its neighbour."""


def at_travel(linkage: Linkage, travel: float) -> Links:
    """The linkage with the wheel risen by `travel` [m] in the frame."""
    from cyclewright.mechanics.linkage import KINDS, move

    motion = move(linkage, [max(travel, 0.0)])
    points = {
        name: complex(float(place[-1][0]), float(place[-1][1]))
        for name, place in motion.points.items()
    }
    return Links(
        points,
        {name: linkage.body(name) for name in points},
        linkage.shock,
        KINDS[linkage.kind].axle_body,
    )
