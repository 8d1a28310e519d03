"""The rider as a quiet silhouette: limbs with flesh on them, a helmet, shoes."""

from __future__ import annotations

import cmath
from collections.abc import Mapping, Sequence

from cyclewright.printing import svg
from cyclewright.printing.svg import Point

Joints = Mapping[str, Point]

# half-widths [share of stature] at stations along each limb: (station, left of the way, right)
_TORSO = (
    (-0.13, 0.026, 0.030),
    (0.00, 0.064, 0.050),
    (0.20, 0.060, 0.050),
    (0.48, 0.066, 0.046),
    (0.76, 0.074, 0.050),
    (0.95, 0.056, 0.044),
    (1.07, 0.018, 0.020),
)
_THIGH = (
    (0.00, 0.0525, 0.0525),
    (0.30, 0.050, 0.045),
    (0.70, 0.038, 0.034),
    (1.00, 0.031, 0.031),
)
_SHANK = (
    (0.00, 0.031, 0.031),
    (0.28, 0.028, 0.040),
    (0.62, 0.021, 0.029),
    (1.00, 0.020, 0.020),
)
_UPPER_ARM = (
    (0.00, 0.034, 0.034),
    (0.35, 0.029, 0.029),
    (0.80, 0.023, 0.023),
    (1.00, 0.0222, 0.0222),
)
_FOREARM = (
    (0.00, 0.0222, 0.0222),
    (0.25, 0.0245, 0.0245),
    (0.80, 0.016, 0.016),
    (1.00, 0.017, 0.017),
)
# radius of the flesh round a joint [share of stature]
_ROUND = {"hip": 0.0525, "knee": 0.031, "ankle": 0.020, "shoulder": 0.034, "elbow": 0.0222}


def far_leg(joints: Joints, stature: float) -> str:
    """The leg on the other side of the bike, with its shoe."""
    hip = _joint(joints["hip"], "hip", stature)
    leg = _merged((*_leg(joints, "rear", stature), hip), "rider-far")
    return leg + _shod(joints, "rear", stature, "rider-far")


def body(joints: Joints, stature: float) -> str:
    """Trunk, neck, head and helmet."""
    hip, shoulder, head = joints["hip"], joints["shoulder"], joints["head"]
    back, front = _flanks(hip, shoulder, _TORSO, stature)
    trunk = svg.smooth([*back, *front])
    neck = svg.capsule(shoulder + 0.06 * (head - shoulder), head, 0.040 * stature, 0.026 * stature)
    rounds = (_joint(hip, "hip", stature), _joint(shoulder, "shoulder", stature))
    shapes = (trunk, neck, _face(head, stature), *rounds)
    return _merged(shapes, "rider") + _helmet(head, stature)


def near_leg(joints: Joints, stature: float) -> str:
    """The leg on this side, with its shoe; its hip runs into the trunk without an edge."""
    hip = _joint(joints["hip"], "hip", stature)
    leg = _merged(_leg(joints, "front", stature), "rider", (hip,))
    return leg + _shod(joints, "front", stature, "rider")


def near_arm(joints: Joints, stature: float) -> str:
    """The arm on this side, its fist round the grip; its shoulder runs into the trunk."""
    shoulder, elbow, hand = joints["shoulder"], joints["elbow"], joints["hand"]
    shapes = (
        limb(shoulder, elbow, _UPPER_ARM, stature),
        limb(elbow, hand, _FOREARM, stature),
        _joint(elbow, "elbow", stature),
        _fist(elbow, hand, stature),
    )
    return _merged(shapes, "rider", (_joint(shoulder, "shoulder", stature),))


def limb(
    start: Point, end: Point, stations: Sequence[tuple[float, float, float]], stature: float
) -> str:
    """Path data of a limb's outline: both flanks smoothed, its ends cut square for the joints."""
    one, two = _flanks(start, end, stations, stature)
    return svg.smooth(one, closed=False) + "L" + svg.smooth(two, closed=False)[1:] + "Z"


def _flanks(
    start: Point, end: Point, stations: Sequence[tuple[float, float, float]], stature: float
) -> tuple[list[Point], list[Point]]:
    """Half-widths left of the way going out, and right of it coming back."""
    way = end - start
    left = way / abs(way) * 1j * stature
    return (
        [start + way * at + left * wide for at, wide, _ in stations],
        [start + way * at - left * wide for at, _, wide in reversed(stations)],
    )


def skeleton(joints: Joints) -> str:
    """Lines from joint to joint and a dot on each, over the silhouette."""
    chains = (
        ("hip", "shoulder", "elbow", "hand"),
        ("hip", "knee_front", "ankle_front", "ball_front"),
    )
    lines = [svg.path(svg.polyline([joints[name] for name in names]), "bone") for names in chains]
    dots = [
        svg.circle(joints[name], 0.0125, "joint")
        for name in ("hip", "shoulder", "elbow", "hand", "knee_front", "ankle_front")
    ]
    return "".join(lines + dots)


def _leg(joints: Joints, side: str, stature: float) -> tuple[str, ...]:
    hip, knee, ankle = joints["hip"], joints[f"knee_{side}"], joints[f"ankle_{side}"]
    return (
        limb(hip, knee, _THIGH, stature),
        limb(knee, ankle, _SHANK, stature),
        _joint(knee, "knee", stature),
        _joint(ankle, "ankle", stature),
    )


def _joint(at: Point, name: str, stature: float) -> str:
    return svg.circle_path(at, _ROUND[name] * stature)


def _fist(elbow: Point, hand: Point, stature: float) -> str:
    """A hand from outside: its back goes on with the forearm, the fingers curl under the grip."""
    along = (hand - elbow) / abs(hand - elbow) * stature
    over = along * 1j
    shape = (
        (-0.030, 0.017), (-0.006, 0.023), (0.016, 0.021), (0.028, 0.008), (0.026, -0.009),
        (0.010, -0.020), (-0.010, -0.021), (-0.030, -0.016),
    )  # fmt: skip
    return svg.smooth([hand + x * along + y * over for x, y in shape])


def _shod(joints: Joints, side: str, stature: float, class_: str) -> str:
    """The shoe over the leg, with the line of its sole."""
    heel, ball = joints[f"heel_{side}"], joints[f"ball_{side}"]
    shoe = _shoe(joints[f"ankle_{side}"], heel, ball, stature)
    sole = (ball - heel) / 0.71
    edge = svg.line(heel - 0.08 * sole + 0.012 * 1j * sole / abs(sole),
                    heel + 0.90 * sole + 0.012 * 1j * sole / abs(sole), "sole")  # fmt: skip
    return svg.path(shoe, f"{class_}-shoe") + edge


def _shoe(ankle: Point, heel: Point, ball: Point, stature: float) -> str:
    """A shoe in profile: heel to toe along the sole, laced up to the ankle."""
    sole = (ball - heel) / abs(ball - heel)
    up = sole * 1j
    length = abs(ball - heel) / 0.71  # the ball lies at about 71 % of a shoe's length
    back = heel - 0.10 * length * sole
    rise = max(((ankle - heel) * up.conjugate()).real, 0.03 * stature)
    outline = [
        back - 0.012 * up,
        back + 0.35 * rise * up,
        ankle - 0.024 * stature * sole,
        ankle + 0.022 * stature * sole,
        heel + 0.48 * length * sole + 0.58 * rise * up,
        heel + 0.72 * length * sole + 0.36 * rise * up,
        heel + 0.93 * length * sole + 0.16 * rise * up,
        heel + 0.94 * length * sole - 0.010 * up,
        heel + 0.50 * length * sole - 0.014 * up,
    ]
    return svg.smooth(outline, tension=0.8)


def _face(head: Point, stature: float) -> str:
    """The head below the helmet: jaw and chin looking where the bike goes."""
    size = 0.0625 * stature
    ahead = cmath.rect(1.0, -0.16)
    up = ahead * 1j
    shape = (
        (-0.80, 0.30),
        (-0.76, -0.42),
        (-0.34, -0.84),
        (0.22, -1.16),
        (0.58, -1.26),
        (0.76, -1.16),
        (0.80, -0.94),
        (0.86, -0.74),
        (1.03, -0.56),
        (0.90, -0.16),
        (0.90, 0.30),
        (0.00, 0.70),
    )
    return svg.smooth([head + (x * ahead + y * up) * size for x, y in shape])


def _helmet(head: Point, stature: float) -> str:
    """A half-shell with a short visor, tipped with the head."""
    size = 0.0625 * stature
    ahead = cmath.rect(1.0, -0.16)
    up = ahead * 1j

    def at(x: float, y: float) -> Point:
        return head + (x * ahead + y * up) * size

    shell = svg.smooth(
        [
            at(-1.02, -0.42),
            at(-1.10, 0.22),
            at(-0.72, 0.86),
            at(-0.02, 1.10),
            at(0.66, 0.86),
            at(1.00, 0.34),
            at(0.92, 0.16),
            at(0.10, 0.12),
            at(-0.46, -0.06),
            at(-0.78, -0.52),
        ],
        tension=0.95,
    )
    visor = svg.polyline(
        [at(0.82, 0.62), at(1.52, 0.44), at(1.50, 0.34), at(0.92, 0.30)], closed=True
    )
    vents = [
        svg.path(svg.smooth([at(x, y), at(x + 0.26, y + 0.17)], closed=False), "vent")
        for x, y in ((-0.72, 0.42), (-0.32, 0.52), (0.10, 0.54))
    ]
    return svg.path(visor, "helmet") + svg.path(shell, "helmet") + "".join(vents)


def _merged(outlines: Sequence[str], class_: str, running_in: Sequence[str] = ()) -> str:
    """Shapes as one: all edges first, then all fills, so that only the outer edge shows.

    What is `running_in` has no edge of its own and covers that of what lies behind.
    """
    edges = [svg.path(data, f"{class_}-edge") for data in outlines]
    fills = [svg.path(data, f"{class_}-fill") for data in (*outlines, *running_in)]
    return "".join(edges + fills)
