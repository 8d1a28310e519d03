"""One posture of a Solution as plain points and numbers, and the lines that measures need."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

from cyclewright.printing import bicycle
from cyclewright.printing.bicycle import Bike, Details
from cyclewright.printing.links import at_travel
from cyclewright.printing.svg import Point

if TYPE_CHECKING:
    from cyclewright.solve.solution import Geometry, Solution

Layer = Literal["rider", "angles", "loads", "sag", "lengths", "levers", "insertion", "sweep"]
USUAL: tuple[Layer, ...] = (
    "rider", "angles", "loads", "sag", "lengths", "levers", "insertion",
)  # fmt: skip
"""What a drawing shows unless something is asked for."""
LAYERS: tuple[Layer, ...] = (*USUAL, "sweep")

GRAVITY = 9.80665
ARROW = 0.00022
"""Metres of arrow a newton."""
PULLED = 0.030
"""How near to the bar's middle a blade comes when it is pulled hard [m]."""
DIMENSION_DEPTH = 0.055
"""How far under the ground the wheelbase is drawn [m]."""


@dataclass(frozen=True, slots=True)
class Scene:
    """One posture drawn: the bike, the rider's joints and the numbers that go with them."""

    posture: str
    bike: Bike
    joints: dict[str, Point]
    angles: dict[str, float]
    stature: float
    front_load: float
    rear_load: float
    front_contact: Point
    mass_centre: Point
    rear_sag: float
    shock_sag: float
    details: Details
    limit: str
    """The joint or limb that cannot follow, "" where all can."""

    @property
    def rear_contact(self) -> Point:
        """Under the rear axle."""
        return complex(self.bike.rear_axle.real, 0.0)


def scene_of(solution: Solution, posture: str, details: Details | None = None) -> Scene:
    """The nominal of one posture as plain points and numbers."""
    details = details or Details()
    drop = details.post_travel if posture == "standing" else 0.0
    case, state = solution.case, solution.at(posture)
    pose = state.pose
    angles = {name: float(value[0]) for name, value in pose.angles.items()}
    # one line of the levers for both drawings: a standing rider does not turn them
    lever = float(solution.seated.pose.angles.get("forearm", [0.6])[0])
    rest = _bike(solution, solution.unloaded, lever, 0.0)
    bike = _bike(solution, state.geometry, lever, _first(state.fork_compression))
    linkage = details.linkage
    if linkage is not None and bike.rear_travel > 0:
        rest = replace(rest, links=at_travel(linkage, 0.0))
        bike = replace(bike, links=at_travel(linkage, _first(state.rear_travel)))
    bike = replace(bike, rest=rest).lowered(drop)
    return Scene(
        posture=posture,
        bike=bike,
        joints={name: _point(value) for name, value in pose.points.items()},
        angles=angles,
        stature=_first(case.segments.stature),
        front_load=_first(state.front_load),
        rear_load=_first(state.rear_load),
        front_contact=_point(state.geometry.front_contact),
        mass_centre=_point(state.mass_centre),
        rear_sag=_first(state.rear_travel),
        shock_sag=_first(state.shock_compression),
        details=details,
        limit=str(pose.limit[0]) if pose.unreachable[0] else "",
    )


def _bike(solution: Solution, geometry: Geometry, lever: float, fork: float) -> Bike:
    case = solution.case
    up = cmath.rect(1.0, math.pi - _first(case.seat_angle_actual) + _first(geometry.pitch))
    return Bike(
        rear_axle=_point(geometry.rear_axle),
        front_axle=_point(geometry.front_axle),
        bottom_bracket=_point(geometry.bottom_bracket),
        head_top=_point(geometry.head_top),
        crown=_point(geometry.crown),
        saddle=_point(geometry.saddle),
        seat_clamp=_point(geometry.seat_clamp),
        bar_clamp=_point(geometry.bar_clamp),
        grip=_point(geometry.grip),
        rear_radius=_first(case.rear_tyre.radius),
        front_radius=_first(case.front_tyre.radius),
        rear_section=_first(case.rear_tyre.height),
        front_section=_first(case.front_tyre.height),
        post_way=up,
        spacers=_first(case.spacers_under),
        stem_stack=_first(case.stem_stack),
        crank=_first(case.crank_length),
        lever_angle=lever,
        fork_kind=case.fork.kind,
        fork_travel=_first(case.fork.travel),
        fork_compression=fork,
        rear_travel=_first(case.rear_travel),
        shock_kind=case.shock.kind,
        shock_stroke=_first(case.shock.travel),
    )


def bottom_leg(scene: Scene) -> tuple[Point, Point, Point] | None:
    """Hip, knee and ankle at the bottom of the stroke, from the angle the pose gives there."""
    flexion = scene.angles.get("knee_bottom")
    joints = scene.joints
    if flexion is None or scene.posture != "seated":
        return None
    thigh = abs(joints["knee_front"] - joints["hip"])
    shank = abs(joints["ankle_front"] - joints["knee_front"])
    reach = math.sqrt(thigh**2 + shank**2 + 2 * thigh * shank * math.cos(flexion))
    down = scene.bike.bottom_bracket - joints["hip"]
    pedal = scene.bike.bottom_bracket + down / abs(down) * scene.bike.crank
    foot = joints["ankle_front"] - (scene.bike.bottom_bracket + scene.bike.crank)
    aim = pedal + foot - joints["hip"]
    ankle = joints["hip"] + aim / abs(aim) * reach
    inner = math.acos(min(1.0, (thigh**2 + reach**2 - shank**2) / (2 * thigh * reach)))
    knee = joints["hip"] + aim / abs(aim) * thigh * cmath.rect(1.0, inner)
    return joints["hip"], knee, ankle


def angle_arcs(scene: Scene) -> list[tuple[Point, float, float, float]]:
    """Arcs of the joint angles: centre, radius, and the headings they run between."""
    joints = scene.joints
    hip, shoulder, elbow = joints["hip"], joints["shoulder"], joints["elbow"]
    hand, phase = joints["hand"], cmath.phase
    arcs = [
        (hip, 0.15, 0.0, phase(shoulder - hip)),
        (elbow, 0.085, phase(elbow - shoulder), phase(hand - elbow)),
    ]
    leg = bottom_leg(scene)
    if leg is not None:
        start, knee, ankle = leg
        arcs.append((knee, 0.10, phase(knee - start), phase(ankle - knee)))
    return arcs


def saddle_line(bike: Bike) -> tuple[Point, Point]:
    """From the bottom bracket to where the post's axis meets the saddle's top."""
    along = ((bike.saddle - bike.seat_clamp) * bike.post_way.conjugate()).real
    return bike.seat_clamp + bike.post_way * along, bike.bottom_bracket


def sag_line(bike: Bike) -> tuple[Point, Point]:
    """Beside the fork: the seal now, and where it stood along the stanchion unloaded."""
    seal = bicycle.fork_seal(bike) - 1j * bike.axis * 0.060
    return seal, seal - bike.axis * bike.fork_compression


def post_end(scene: Scene) -> Point | None:
    """Lower end of the post inside the frame; None where nobody knows its length."""
    depth = scene.details.post_insertion
    return None if depth is None else scene.bike.seat_clamp - scene.bike.post_way * depth


def insertion_marks(scene: Scene) -> list[tuple[str, Point]]:
    """Along the seat tube: what the post's end has to be past, and what it must not pass."""
    details, bike = scene.details, scene.bike
    bounds = (("least", details.insertion_least), ("most", details.insertion_most))
    return [
        (side, bike.seat_clamp - bike.post_way * depth)
        for side, depth in bounds
        if depth is not None
    ]


def blade(scene: Scene, pulled: bool) -> Point:
    """Middle of the brake lever's blade as seen from the side, at rest or against the grip."""
    away = PULLED if pulled else scene.details.lever_reach
    return scene.bike.grip + cmath.rect(away, -scene.bike.lever_angle)


def saddle_aside(bike: Bike) -> Point:
    """How far behind the post the saddle's height is drawn."""
    high, low = saddle_line(bike)
    return unit(high - low) * 0.165j


def unit(vector: Point) -> Point:
    """The vector at length one."""
    return vector / abs(vector)


def _point(array: Any) -> Point:
    return complex(float(array[0][0]), float(array[0][1]))


def _first(array: Any) -> float:
    return float(array[0])
