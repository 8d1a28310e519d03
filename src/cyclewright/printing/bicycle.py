"""The bicycle to scale from its solved geometry; what is not in the sums is drawn plainly.

Frame, fork, wheels, tyres, cockpit, post and saddle stand where the Solution puts them. Drive,
rotors and the shock's linkage are schematic; the linkage still moves: the rear axle, the rocker
and the shock keep the lengths they have unloaded, so that sag shows where it happens.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from cyclewright.printing import svg
from cyclewright.printing.links import Links
from cyclewright.printing.svg import Point

if TYPE_CHECKING:
    from cyclewright.mechanics.linkage import Linkage


@dataclass(frozen=True, slots=True)
class Details:
    """What a drawing may show besides the sums: parts that carry no load in them [m, counts]."""

    post_insertion: float | None = None
    """How much of the post stands in the frame."""
    post_travel: float = 0.0
    """Travel of a dropper post; 0 for a plain one."""
    rotor_front: float = 0.180
    rotor_rear: float = 0.180
    chainring: int = 32
    spokes: int = 28
    electric: bool = False
    insertion_least: float | None = None
    """Least of the post that has to be inside, the deeper of the frame's and the post's."""
    insertion_most: float | None = None
    """Most of the post that the frame lets in."""
    lever_reach: float = 0.060
    """Bar's middle to the brake lever's blade, unpulled."""
    linkage: Linkage | None = None
    """The rear suspension's pivots from the bottom bracket; None draws it schematically."""


@dataclass(frozen=True, slots=True)
class Bike:
    """One state of the bike as plain points and lengths [m, rad]."""

    rear_axle: Point
    front_axle: Point
    bottom_bracket: Point
    head_top: Point
    crown: Point
    saddle: Point
    seat_clamp: Point
    bar_clamp: Point
    grip: Point
    rear_radius: float
    front_radius: float
    rear_section: float
    front_section: float
    post_way: Point
    """Unit vector up the post."""
    spacers: float
    stem_stack: float
    crank: float
    lever_angle: float
    """Brake levers below horizontal, forward [rad]."""
    fork_kind: str
    fork_travel: float
    fork_compression: float
    rear_travel: float
    shock_kind: str
    shock_stroke: float
    links: Links | None = None
    """The real linkage as it stands here; None where its pivots are not known."""
    rest: Bike | None = None
    """The same bike unloaded; None when this is it."""

    @property
    def axis(self) -> Point:
        """Unit vector up the steering axis."""
        way = self.head_top - self.crown
        return way / abs(way)

    @property
    def axis_foot(self) -> Point:
        """The point of the steering axis square to the front axle."""
        along = ((self.front_axle - self.crown) * self.axis.conjugate()).real
        return self.crown + self.axis * along

    def lowered(self, drop: float) -> Bike:
        """The bike with its dropper post let down, as far as it can go."""
        showing = ((self.saddle - self.seat_clamp) * self.post_way.conjugate()).real
        low = min(drop, max(showing - 0.085, 0.0))
        rest = self.rest.lowered(drop) if self.rest and low > 0 else self.rest
        return replace(self, saddle=self.saddle - self.post_way * low, rest=rest)

    def from_rest(self, point: Point) -> Point:
        """A point fixed to the frame, given where it is on the unloaded bike."""
        rest = self.rest or self
        turn = (self.head_top - self.bottom_bracket) / (rest.head_top - rest.bottom_bracket)
        return self.bottom_bracket + (point - rest.bottom_bracket) * turn / abs(turn)


def wheels(bike: Bike, details: Details, clip: str) -> str:
    """Both wheels, flattened where they meet the ground."""
    rear = _wheel(
        bike.rear_axle, bike.rear_radius, bike.rear_section, details.rotor_rear, details.spokes
    )
    front = _wheel(
        bike.front_axle, bike.front_radius, bike.front_section, details.rotor_front, details.spokes
    )
    return svg.group((rear, front), "wheels", clip_path=f"url(#{clip})")


def frame(bike: Bike) -> str:
    """Rear triangle or swingarm with its shock, main frame and head tube."""
    rest = bike.rest or bike
    rear = _swingarm(bike) if bike.rear_travel > 0 else _stays(bike)
    low = bike.crown + bike.axis * 0.012
    head_low, head_high = low + bike.axis * 0.028, bike.head_top - bike.axis * 0.030
    seat_join = bike.from_rest(_seat_join(rest))
    main = (
        svg.line(bike.bottom_bracket, head_low, "tube", 0.050),
        svg.line(seat_join, head_high, "tube", 0.040),
        svg.path(svg.polyline(_seat_tube(bike)), "tube", stroke_width="37"),
        svg.line(low, bike.head_top, "tube butt", 0.054),
        svg.circle(bike.bottom_bracket, 0.030, "tube-fill"),
    )
    return svg.group((rear, *main), "frame")


def fork(bike: Bike) -> str:
    """Crown, stanchions and lowers with the ring at the seal; or a plain blade."""
    axis, square = bike.axis, -1j * bike.axis
    foot, crown = bike.axis_foot, bike.crown
    if bike.fork_kind == "rigid":
        bend = foot + axis * 0.16
        blade = svg.smooth([crown, (crown + bend) / 2, bend, bike.front_axle], closed=False)
        return svg.group((svg.path(blade, "tube", stroke_width="34"),), "fork")
    lead = _lead(bike)
    top = fork_seal(bike)
    knee = foot + lead + axis * 0.05
    lowers = svg.path(svg.polyline([bike.front_axle, knee, top]), "lowers", stroke_width="47")
    collar = svg.line(top - axis * 0.008, top + axis * 0.010, "lowers butt", 0.053)
    stanchion = svg.line(top, crown + lead + axis * 0.012, "stanchion butt", 0.036)
    edge = svg.line(top, crown + lead + axis * 0.012, "stanchion-edge butt", 0.041)
    ring_at = top + axis * 0.014
    ring = svg.line(ring_at - square * 0.022, ring_at + square * 0.022, "ring")
    head = svg.path(
        svg.polyline(
            [
                crown - square * 0.030 + axis * 0.010,
                crown + square * 0.030 + axis * 0.010,
                crown + lead + square * 0.026 - axis * 0.030,
                crown + lead - square * 0.026 - axis * 0.030,
            ],
            closed=True,
        ),
        "tube-fill soft",
    )
    return svg.group((edge, stanchion, lowers, collar, ring, head), "fork")


def fork_seal(bike: Bike) -> Point:
    """Middle of the wiper seals, on the legs' own line."""
    unloaded = abs(bike.crown - bike.axis_foot) + bike.fork_compression
    # bushings need about a third of the legs, so unloaded seals stand just over travel below
    height = max(unloaded - bike.fork_travel - 0.052, 0.45 * unloaded)
    return bike.axis_foot + bike.axis * height + _lead(bike)


def cockpit(bike: Bike) -> str:
    """Spacers, stem, bar, grip and brake lever."""
    axis, square = bike.axis, -1j * bike.axis
    parts = []
    count = round(bike.spacers / 0.005)
    height = bike.spacers
    if height > 0.001:
        parts.append(svg.line(bike.head_top, bike.head_top + axis * height, "spacer butt", 0.036))
        slices = max(1, min(round(height / 0.010), count))
        for index in range(slices + 1):
            at = bike.head_top + axis * height * index / slices
            parts.append(svg.line(at - square * 0.018, at + square * 0.018, "seam"))
    middle = bike.head_top + axis * (height + bike.stem_stack)
    clamp_low = bike.head_top + axis * (height + 0.001)
    clamp_high = 2 * middle - clamp_low
    parts += [
        svg.line(clamp_low, clamp_high, "stem butt", 0.040),
        svg.line(clamp_high, clamp_high + axis * 0.006, "spacer butt", 0.034),
        svg.line(middle, bike.bar_clamp, "stem", 0.034),
        svg.circle(bike.bar_clamp, 0.0225, "stem-fill"),
        svg.circle(bike.bar_clamp, 0.0155, "hole"),
    ]
    return svg.group(parts, "cockpit")


def controls(bike: Bike) -> str:
    """The bar's end with its grip, and the brake lever at its angle."""
    lever = cmath.rect(1.0, -bike.lever_angle)
    perch = bike.grip + lever * 0.030
    tip = perch + lever * 0.062
    bar = svg.smooth(
        [bike.bar_clamp, bike.bar_clamp * 0.45 + bike.grip * 0.55 + 0.004j, bike.grip],
        closed=False,
    )
    return svg.group(
        (
            svg.path(bar, "bar", stroke_width="22"),
            svg.line(bike.grip, perch, "lever-body", 0.015),
            svg.line(perch, tip, "lever", 0.008),
            svg.circle(bike.grip, 0.0165, "grip"),
            svg.circle(bike.grip, 0.0105, "grip-core"),
        ),
        "controls",
    )


def post_and_saddle(bike: Bike, details: Details) -> str:
    """Post out of the frame, its hidden part dashed, and the saddle in profile."""
    rest = bike.rest or bike
    up = tube = bike.post_way
    showing = ((bike.saddle - bike.seat_clamp) * up.conjugate()).real
    tilt = bike.from_rest(rest.saddle + 1.0) - bike.saddle  # frame's own forward
    rails = bike.seat_clamp + up * (showing - 0.050)
    parts = [svg.line(bike.seat_clamp - 0.010 * tube, rails, "post butt", 0.0285)]
    if details.post_travel > 0:
        shoulder = bike.seat_clamp + up * min(0.035, showing * 0.2)
        parts.append(svg.line(bike.seat_clamp, shoulder, "post-body butt", 0.0365))
    parts.append(
        svg.line(bike.seat_clamp - tube * 0.014, bike.seat_clamp + up * 0.004, "collar butt", 0.046)
    )
    if details.post_insertion:
        end = bike.seat_clamp - tube * details.post_insertion
        square = 1j * tube * 0.0142
        hidden = [bike.seat_clamp + square, end + square, end - square, bike.seat_clamp - square]
        parts.append(svg.path(svg.polyline(hidden), "hidden"))
    parts += [
        svg.line(rails - 0.012 * up, rails + 0.010 * up, "post-head butt", 0.040),
        svg.path(svg.smooth(_rail(bike.saddle, tilt), closed=False), "rail"),
        svg.path(svg.smooth(_saddle(bike.saddle, tilt), tension=0.9), "saddle"),
    ]
    return svg.group(parts, "post")


def drive(bike: Bike, details: Details) -> str:
    """Chainring, cassette, chain over a middle sprocket, and the derailleur's cage."""
    bb, axle = bike.bottom_bracket, bike.rear_axle
    ring, cog, largest = (details.chainring * 0.0127 / math.tau, 0.049, 0.100)
    span = bb - axle
    lean = cmath.phase(span)
    tip = math.asin((ring - cog) / abs(span))
    top = cmath.rect(1.0, lean + math.pi / 2 + tip)
    guide = axle + 0.052 - 0.098j
    lower = axle + 0.086 - 0.176j
    low = cmath.rect(1.0, cmath.phase(bb - lower) - math.pi / 2 - 0.12)
    chain = (
        svg.line(axle + top * cog, bb + top * ring, "chain"),
        svg.line(lower - 0.017j, bb + low * ring, "chain"),
        svg.line(axle + cmath.rect(cog, -0.6), guide + 0.016, "chain"),
        svg.line(guide - 0.016, lower - 0.016, "chain"),
    )
    return svg.group(
        (
            svg.circle(axle, largest, "cassette"),
            *(svg.circle(axle, size, "sprocket") for size in (0.086, 0.072, 0.060, 0.049, 0.036)),
            *chain,
            svg.path(svg.capsule(guide, lower, 0.016, 0.016), "cage"),
            svg.circle(guide, 0.012, "jockey"),
            svg.circle(lower, 0.012, "jockey"),
            svg.path(svg.polyline([axle - 0.008j, axle + 0.030 - 0.050j, guide]), "mech"),
            svg.circle(axle, 0.013, "nut"),
        ),
        "drive",
    )


def far_crank(bike: Bike) -> str:
    """The crank and pedal behind the frame."""
    return svg.group(_crank(bike, -1.0), "crank far")


def near_crank(bike: Bike, details: Details) -> str:
    """Chainring, crank and pedal on this side, cranks level."""
    ring = details.chainring * 0.0127 / math.tau
    spider = [
        svg.line(
            bike.bottom_bracket,
            bike.bottom_bracket + cmath.rect(ring - 0.010, math.tau * index / 4 + 0.6),
            "spider",
            0.013,
        )
        for index in range(4)
    ]
    guard = (
        svg.circle(bike.bottom_bracket, ring, "ring-teeth"),
        svg.circle(bike.bottom_bracket, ring - 0.005, "chainring"),
    )
    return svg.group((*guard, *spider, *_crank(bike, 1.0)), "crank near")


def outline(bike: Bike) -> str:
    """The bike's bare lines, for a ghost: tubes, post, cockpit, and the front axle."""
    rest = bike.rest or bike
    join = bike.from_rest(_seat_join(rest))
    head_high = bike.head_top - bike.axis * 0.030
    tilt = bike.from_rest(rest.saddle + 1.0) - bike.saddle
    return svg.group(
        (
            svg.path(
                svg.polyline(
                    [bike.rear_axle, bike.bottom_bracket, bike.crown + bike.axis * 0.04, head_high]
                ),
                "ghost-line",
            ),
            svg.path(svg.polyline([*_seat_tube(bike), bike.saddle]), "ghost-line"),
            svg.path(svg.polyline([join, head_high]), "ghost-line"),
            svg.path(
                svg.polyline(
                    [bike.front_axle, bike.axis_foot, bike.head_top, bike.bar_clamp, bike.grip]
                ),
                "ghost-line",
            ),
            svg.path(svg.smooth(_saddle(bike.saddle, tilt), tension=0.9), "ghost-line"),
        ),
        "ghost",
    )


def lines(bike: Bike) -> Iterator[tuple[Point, Point]]:
    """The strokes that labels keep clear of."""
    for start, end, half in (
        (bike.bottom_bracket, bike.crown, 0.022),
        (bike.bottom_bracket, bike.seat_clamp, 0.016),
        (bike.seat_clamp, bike.head_top, 0.018),
        (bike.head_top, bike.front_axle, 0.020),
    ):
        side = (end - start) / abs(end - start) * 1j * half
        yield from ((start + way * side, end + way * side) for way in (-1, 0, 1))
    yield bike.seat_clamp, bike.saddle
    yield bike.saddle - 0.13, bike.saddle + 0.14
    yield bike.bottom_bracket, bike.rear_axle
    if bike.rear_travel > 0:
        yield shock_ends(bike)
        yield _strut(bike), bike.rear_axle
    yield bike.rear_axle, _seat_join(bike)
    yield bike.head_top, bike.bar_clamp
    yield bike.bar_clamp, bike.grip
    for radius in (0.03, 0.06, 0.09):
        around = [bike.rear_axle + cmath.rect(radius, math.tau * step / 12) for step in range(13)]
        yield from pairwise(around)
    yield bike.rear_axle, bike.rear_axle + 0.086 - 0.176j
    yield bike.rear_axle + 0.086 - 0.176j, bike.bottom_bracket - 0.06j
    yield bike.bottom_bracket - bike.crank - 0.05, bike.bottom_bracket + bike.crank + 0.05
    for axle, outside, section in (
        (bike.rear_axle, bike.rear_radius, bike.rear_section),
        (bike.front_axle, bike.front_radius, bike.front_section),
    ):
        for deep in (0.01, 0.5 * section, section, section + 0.02):
            rim = [axle + cmath.rect(outside - deep, math.tau * at / 36) for at in range(37)]
            yield from pairwise(rim)


def _lead(bike: Bike) -> Point:
    """How far the fork's legs stand ahead of the steering axis."""
    return -1j * bike.axis * 0.022


def _wheel(axle: Point, radius: float, section: float, rotor: float, spokes: int) -> str:
    bead = radius - section
    rim = bead - 0.010
    laced = []
    for index in range(spokes):
        around = math.tau * index / spokes
        twist = 1.05 if index % 2 else -1.05
        hub = axle + cmath.rect(0.027, around + twist)
        laced.append(svg.line(hub, axle + cmath.rect(rim - 0.012, around), "spoke"))
    return svg.group(
        (
            svg.circle(axle, radius - 0.006, "knobs", 0.012),
            svg.circle(axle, (radius - 0.009 + bead) / 2, "tyre", radius - 0.009 - bead),
            svg.circle(axle, rim, "rim", 0.024),
            *laced,
            svg.circle(axle, rotor / 2 - 0.008, "rotor", 0.015),
            svg.circle(axle, 0.028, "hub"),
            svg.circle(axle, 0.010, "hole"),
        ),
        "wheel",
    )


def _seat_tube(bike: Bike) -> list[Point]:
    """Seat tube from the bottom bracket, straight below the post where its axis misses it."""
    length = abs(bike.seat_clamp - bike.bottom_bracket)
    return [
        bike.bottom_bracket,
        bike.seat_clamp - bike.post_way * 0.62 * length,
        bike.seat_clamp,
    ]


def _stays(bike: Bike) -> str:
    top = bike.from_rest(_seat_join(bike.rest or bike))
    bend = bike.bottom_bracket + (bike.rear_axle - bike.bottom_bracket) * 0.25 + 0.010j
    chain = svg.smooth([bike.bottom_bracket, bend, bike.rear_axle], closed=False)
    seat = svg.smooth([top, (top + bike.rear_axle) / 2 + 0.006j, bike.rear_axle], closed=False)
    return svg.path(chain, "tube", stroke_width="24") + svg.path(seat, "tube", stroke_width="19")


@dataclass(frozen=True, slots=True)
class _Linkage:
    """Where the pivots of the schematic linkage stand on this state of the bike."""

    main: Point
    rocker: Point
    stay: Point
    upper_eye: Point
    lower_eye: Point


def linkage(bike: Bike) -> _Linkage:
    """The schematic linkage: a swingarm about a main pivot, a rocker, and the shock.

    The rocker's shock arm is as long as makes the shock close by its stroke over full travel.
    """
    rest = bike.rest or bike
    main, rocker = _pivots(rest)
    stay_rest = rocker + (rest.rear_axle - rocker) / abs(rest.rear_axle - rocker) * 0.085
    stay_rest += 0.020j
    stay_length = abs(stay_rest - rest.rear_axle)
    arm_rest = stay_rest - rocker
    full = _swing(main, rest.rear_axle, bike.rear_travel)
    turn_full = cmath.phase(_meet(rocker, abs(arm_rest), full, stay_length, stay_rest) - rocker)
    turn_full = math.remainder(turn_full - cmath.phase(arm_rest), math.tau)
    lower = rest.bottom_bracket + (rest.crown - rest.bottom_bracket) * 0.34
    square = rocker - lower
    arm = min(max(bike.shock_stroke / max(abs(turn_full), 0.05), 0.04), 0.12)
    ahead = square / abs(square) * -1j
    eye_rest = rocker + ahead * arm * cmath.rect(1.0, -turn_full / 2)
    axle_now = _to_rest(bike, bike.rear_axle)
    stay_now = _meet(rocker, abs(arm_rest), axle_now, stay_length, stay_rest)
    turned = (stay_now - rocker) / arm_rest
    eye_now = rocker + (eye_rest - rocker) * turned / abs(turned)
    return _Linkage(*(bike.from_rest(point) for point in (main, rocker, stay_now, eye_now, lower)))


def shock_ends(bike: Bike) -> tuple[Point, Point]:
    """Both eyes of the shock: the frame's, or the upper one of the schematic, first."""
    if bike.links is None:
        link = linkage(bike)
        return link.upper_eye, link.lower_eye
    first, last = bike.links.shock
    return _pivot(bike, first), _pivot(bike, last)


def _strut(bike: Bike) -> Point:
    """Where the upper stay ends."""
    if bike.links is None:
        return linkage(bike).stay
    return _pivot(bike, list(bike.links.arms())[-1][1])


def _pivot(bike: Bike, name: str) -> Point:
    """A point of the real linkage as it stands; the axle is where the sums have it."""
    assert bike.links is not None
    rest = bike.rest or bike
    if name == "axle":
        return bike.rear_axle
    return bike.from_rest(rest.bottom_bracket + bike.links.points[name])


def _real_rear(bike: Bike, links: Links) -> str:
    """Stays, links and shock where the pivots have them."""
    tubes = [
        svg.line(_pivot(bike, one), _pivot(bike, other), "tube", 0.027 if at == 0 else 0.020)
        for at, (one, other) in enumerate(links.arms())
    ]
    rockers = [
        svg.path(
            svg.polyline([_pivot(bike, name) for name in corners], closed=len(corners) > 2),
            "rocker",
        )
        for corners in links.shapes()
    ]
    pivots = [
        svg.circle(_pivot(bike, name), 0.0095, "pivot") for name in links.points if name != "axle"
    ]
    return "".join((*tubes, _shock(*shock_ends(bike), bike), *rockers, *pivots))


def _swingarm(bike: Bike) -> str:
    if bike.links is not None:
        return _real_rear(bike, bike.links)
    link = linkage(bike)
    return "".join(
        (
            svg.line(link.main, bike.rear_axle, "tube", 0.027),
            svg.line(link.stay, bike.rear_axle, "tube", 0.020),
            _shock(link.upper_eye, link.lower_eye, bike),
            svg.path(
                svg.polyline([link.stay, link.rocker, link.upper_eye], closed=True),
                "rocker",
            ),
            *(
                svg.circle(point, 0.0095, "pivot")
                for point in (link.stay, link.rocker, link.upper_eye, link.lower_eye)
            ),
            svg.circle(link.main, 0.012, "pivot"),
        )
    )


def _shock(upper: Point, lower: Point, bike: Bike) -> str:
    way = (lower - upper) / abs(lower - upper)
    length = abs(lower - upper)
    shaft = svg.line(upper + way * 0.012, lower - way * 0.012, "shaft butt", 0.012)
    if bike.shock_kind == "coil":
        first, last = upper + way * 0.030, lower - way * 0.022
        turns = 7
        side = way * 1j * 0.026
        coil = [first]
        for index in range(turns):
            coil.append(first + (last - first) * (index + 0.25) / turns + side)
            coil.append(first + (last - first) * (index + 0.75) / turns - side)
        coil.append(last)
        body = svg.line(upper + way * 0.02, upper + way * length * 0.55, "can butt", 0.030)
        return shaft + body + svg.path(svg.polyline(coil), "coil")
    can = svg.line(upper + way * 0.016, upper + way * (0.016 + 0.52 * length), "can butt", 0.046)
    return shaft + can


def _pivots(rest: Bike) -> tuple[Point, Point]:
    """Main pivot and rocker pivot on the unloaded frame."""
    tube = rest.seat_clamp - rest.bottom_bracket
    main = rest.bottom_bracket + tube / abs(tube) * 0.055 + 0.010
    return main, rest.bottom_bracket + tube * 0.66


def _seat_join(rest: Bike) -> Point:
    """Where the top tube meets the seat tube, unloaded."""
    return rest.bottom_bracket + (rest.seat_clamp - rest.bottom_bracket) * 0.90


def _to_rest(bike: Bike, point: Point) -> Point:
    """A point of this state in the unloaded frame's place."""
    rest = bike.rest or bike
    turn = (rest.head_top - rest.bottom_bracket) / (bike.head_top - bike.bottom_bracket)
    return rest.bottom_bracket + (point - bike.bottom_bracket) * turn / abs(turn)


def _swing(pivot: Point, axle: Point, rise: float) -> Point:
    """The axle swung about the pivot until it has risen."""
    arm = axle - pivot
    lift = min(max((arm.imag + rise) / abs(arm), -0.999), 0.999)
    return pivot + abs(arm) * complex(-math.sqrt(1 - lift**2), lift)


def _meet(a: Point, ra: float, b: Point, rb: float, near: Point) -> Point:
    """Where two circles meet, the meeting nearest to a point; the closest approach if none."""
    span = abs(b - a)
    along = (ra**2 - rb**2 + span**2) / (2 * span)
    aside = math.sqrt(max(ra**2 - along**2, 0.0))
    way = (b - a) / span
    return min((a + way * complex(along, s * aside) for s in (-1, 1)), key=lambda p: abs(p - near))


def _crank(bike: Bike, side: float) -> list[str]:
    pedal = bike.bottom_bracket + side * bike.crank
    return [
        svg.path(svg.capsule(bike.bottom_bracket, pedal, 0.020, 0.013), "arm"),
        svg.path(
            svg.polyline(
                [
                    pedal + x + y
                    for x, y in ((-0.05, 0.008j), (0.05, 0.008j), (0.05, -0.008j), (-0.05, -0.008j))
                ],
                closed=True,
            ),
            "pedal",
        ),
        svg.circle(pedal, 0.0075, "nut"),
        svg.circle(bike.bottom_bracket, 0.014, "nut"),
    ]


def _saddle(top: Point, ahead: Point) -> list[Point]:
    up = ahead * 1j
    shape = (
        (-0.132, 0.012),
        (-0.100, 0.012),
        (-0.030, 0.000),
        (0.060, -0.001),
        (0.120, -0.004),
        (0.143, -0.014),
        (0.135, -0.026),
        (0.070, -0.026),
        (0.000, -0.034),
        (-0.075, -0.046),
        (-0.125, -0.026),
        (-0.138, -0.004),
    )
    return [top + x * ahead + y * up for x, y in shape]


def _rail(top: Point, ahead: Point) -> list[Point]:
    up = ahead * 1j
    shape = ((-0.105, -0.030), (-0.060, -0.052), (0.040, -0.054), (0.105, -0.024))
    return [top + x * ahead + y * up for x, y in shape]
