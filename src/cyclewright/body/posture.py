"""The rider on the bike: saddle, pedals and grips to a pose, by closed-form kinematics.

Everything lies in one plane (x forward, y up) and scales with the body, so that only angles and
shares of segments are chosen here. A pose that the body cannot reach keeps the nearest finite
one and is masked with the limit that binds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cyclewright.body.segments import Segments
from cyclewright.errors import Problem, RangeError

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
TextArray = NDArray[np.str_]

INSEAM_FACTOR = 0.883
"""Saddle top to bottom bracket over inseam [1]; common practice, no source."""
SPINDLE_FACTOR = 1.09
"""Saddle top to pedal spindle over inseam [1]; Hamley and Thomas 1967."""
INSEAM_RANGE = (0.35, 1.4)
"""What is taken for an inseam [m]."""
KNEE_LOW, KNEE_HIGH = math.radians(25.0), math.radians(35.0)
"""Static knee flexion at the bottom of the stroke [rad]; Holmes 1994."""

USUAL_SEAT_ANGLE = math.radians(75.0)
"""Actual angle of the post where none is given [rad]; common practice, no source."""
USUAL_GRIP_HALF_WIDTH = 0.33
"""Middle of the bar to the middle of a hand [m], on a bar of about 0.78 m."""

# How the rider holds the body, common practice, no source.
HIP_OVER_SADDLE = 0.75
"""Hip centre over the unloaded saddle, as a share of its height over a hard flat seat [1]: the
pelvis rolls some 20° forward, saddle and flesh give by a fifth. The survey's hips lie 40 to 48 mm
above a firmly pressed inseam, which agrees."""
TOE_DOWN_BOTTOM = math.radians(20.0)
TOE_DOWN_FRONT = math.radians(10.0)
TOE_DOWN_REAR = math.radians(25.0)
TOE_DOWN_TOP = math.radians(20.0)
TOE_DOWN_MOST = math.radians(45.0)
TOE_UP_MOST = math.radians(25.0)
"""As far as a rider points the toes, or drops the heel, to reach a pedal."""
HEEL_DROP = math.radians(8.0)
"""Heels dropped, standing."""
STANDING_KNEE = math.radians(50.0)
"""Knee flexion that sets the height of the hips, standing."""
STANDING_ELBOW = math.radians(92.0)
"""Elbow flexion at the neutral place, standing."""
ELBOWS_OUT_SEATED = math.radians(35.0)
ELBOWS_OUT_STANDING = math.radians(75.0)
"""Elbows turned outwards about the line from shoulder to hand, from hanging straight down."""
HEAD_RAISED = 0.5
"""Head between the trunk's line (0) and the vertical (1), looking ahead."""
SHOULDER_HALF_WIDTH = 0.100
"""Middle of the body to a shoulder centre over stature [1]; from memory."""
HIPS_BEHIND = 0.18
"""Neutral standing hips behind the bottom bracket, over the length of the leg [1]."""

# Joint ranges of a fit adult [rad]; rounded from general practice, no single source.
KNEE_MOST = math.radians(140.0)
ELBOW_MOST = math.radians(140.0)
TRUNK_RANGE = (math.radians(-10.0), math.radians(95.0))
HIP_LEAST = math.radians(25.0)
SHOULDER_MOST = math.radians(170.0)

_ROUNDING, _TINY = 1e-9, 1e-12

LIMITS = (
    "",
    "leg too short",
    "knee range",
    "arms too short",
    "elbow range",
    "trunk range",
    "hip range",
    "shoulder range",
)
"""Every text that `Pose.limit` can hold; the first that binds is named, in this order."""


@dataclass(frozen=True, slots=True)
class Contacts:
    """Where the bike meets the rider: points (n, 2), lengths (n,) [m]."""

    saddle: Array
    """Middle of the saddle's top."""
    bottom_bracket: Array
    grip: Array
    """Middle of the gripping hands."""
    crank_length: Array
    foot_stack: Array
    """Pedal spindle to the bare sole: pedal and shoe sole together."""
    grip_half_width: ArrayLike = USUAL_GRIP_HALF_WIDTH
    """Middle of the bar to the middle of a hand."""


@dataclass(frozen=True, slots=True)
class Pose:
    """A rider in one posture; always finite, `unreachable` where a limit had to bind.

    Points: hip, knee_front, ankle_front, ball_front, heel_front, knee_rear, ankle_rear,
    ball_rear, heel_rear, shoulder, elbow, hand, head; (n, 2) [m].
    Angles [rad]: trunk (from the horizontal), shoulder (trunk to upper arm, 0 along the trunk),
    elbow (flexion, 0 straight), hip (trunk to thigh, the smaller side), knee_front and
    knee_rear (flexion with the cranks level), knee_bottom and knee_top (flexion with the cranks
    in line with the seat; standing, the straighter and the more bent knee), forearm (below the
    horizontal, pointing forward), ankle (shank to sole of the front foot, 90° standing).
    """

    points: dict[str, Array]
    angles: dict[str, Array]
    unreachable: BoolArray
    limit: TextArray


@dataclass(frozen=True, slots=True)
class SaddleHeights:
    """Bottom bracket to saddle top along the post [m] by every method, side by side."""

    by_inseam: Array
    by_spindle: Array
    """Pedal spindle to saddle top, cranks in line with the post."""
    by_spindle_from_bb: Array
    heel: Array
    """Leg straight with the heel on the pedal."""
    knee_low: Array
    """Lowest that still leaves at most 35° of knee flexion."""
    knee_high: Array
    """Highest, leaving 25°."""
    knee_middle: Array
    """At 30°."""


def seated(
    segments: Segments,
    contacts: Contacts,
    elbow_flexion: ArrayLike = 0.35,
    hip_above_saddle: ArrayLike | None = None,
) -> Pose:
    """Seated pose: hips on the saddle, feet on level cranks, hands on the grips.

    Hip and grip are known; trunk and arm (at its given elbow flexion) close a triangle, which
    gives the shoulder; each leg closes one with its ankle. Law of cosines throughout.

    Parameters
    ----------
    segments : Segments
        The rider, lengths [m].
    contacts : Contacts
        Saddle, bottom bracket and grip (n, 2) [m]; crank and foot stack (n,) [m].
    elbow_flexion : array_like
        Elbow flexion [rad], 0 straight; 0.35 is an easy bend.
    hip_above_saddle : array_like, optional
        Hip centre over the unloaded saddle's top [m]; by default three quarters of the survey's
        height over a hard seat.

    Returns
    -------
    Pose
        Points (n, 2) [m], angles (n,) [rad], the mask and the limits.

    Raises
    ------
    RangeError
        When a length is not positive or a position, length or angle not finite.

    Notes
    -----
    Plane, symmetrical, spine and wrists straight, hands gripping. The foot keeps a usual toe
    angle and points further, up to 45° down, when the leg would be too short. Arms that cannot
    reach at their bend straighten before the pose counts as unreachable. No published check.

    Examples
    --------
    >>> from cyclewright.body.segments import predict
    >>> contacts = Contacts(
    ...     saddle=np.array([[0.24, 1.05]]),
    ...     bottom_bracket=np.array([[0.43, 0.34]]),
    ...     grip=np.array([[0.92, 1.03]]),
    ...     crank_length=np.array([0.17]),
    ...     foot_stack=np.array([0.03]),
    ... )
    >>> pose = seated(predict(1.756, 0.846, "M"), contacts)
    >>> np.degrees(pose.angles["trunk"]).round(), bool(pose.unreachable[0])
    (array([55.]), False)
    """
    given = segments.seat_to_hip * HIP_OVER_SADDLE if hip_above_saddle is None else hip_above_saddle
    over = np.asarray(given, dtype=np.float64)
    _check(segments, contacts, elbow_flexion=elbow_flexion, hip_above_saddle=over)
    hip = _hip_on_saddle(contacts.saddle, over)
    along = _unit(contacts.saddle - contacts.bottom_bracket)
    crank = contacts.crank_length
    level = np.array([1.0, 0.0]) * crank[..., None]
    front = _leg(segments, hip, contacts.bottom_bracket + level, contacts, TOE_DOWN_FRONT)
    rear = _leg(segments, hip, contacts.bottom_bracket - level, contacts, TOE_DOWN_REAR)
    line = along * crank[..., None]
    bottom = _leg(segments, hip, contacts.bottom_bracket - line, contacts, TOE_DOWN_BOTTOM)
    top = _leg(segments, hip, contacts.bottom_bracket + line, contacts, TOE_DOWN_TOP)
    arm = _arm(segments, hip, contacts, elbow_flexion, ELBOWS_OUT_SEATED)
    return _pose(hip, arm, (front, rear), (bottom, top))


def standing(segments: Segments, contacts: Contacts, hip_shift: ArrayLike = 0.0) -> Pose:
    """Standing pose for riding down: pedals level, heels low, knees and elbows bent.

    The hips stand a fixed share of the leg behind the bottom bracket, at the height where the
    knees are bent 50° on the mean of both feet. The trunk leans so that the elbows bend 92°.
    A shift sways the rider about the pedals: hips forward, trunk flatter by the same angle, and
    the arms give way.

    Parameters
    ----------
    segments : Segments
        The rider, lengths [m].
    contacts : Contacts
        As for `seated`; the saddle is out of the way and not used.
    hip_shift : array_like
        Hips ahead of the neutral place [m], about −0.1 to 0.1.

    Returns
    -------
    Pose
        Points (n, 2) [m], angles (n,) [rad], the mask and the limits.

    Raises
    ------
    RangeError
        When a length is not positive or a position, length or angle not finite.

    Notes
    -----
    The neutral place is common practice, no source: with it a usual trail bike standing level
    carries 40 to 47 % on the front wheel. Riders differ by about 50 mm of hip either way, which
    is some 3 to 4 points of the front share and the largest uncertainty of the wheel loads. No
    published check.

    Examples
    --------
    >>> from cyclewright.body.segments import predict
    >>> contacts = Contacts(
    ...     saddle=np.array([[0.24, 1.05]]),
    ...     bottom_bracket=np.array([[0.43, 0.34]]),
    ...     grip=np.array([[0.92, 1.03]]),
    ...     crank_length=np.array([0.17]),
    ...     foot_stack=np.array([0.03]),
    ... )
    >>> pose = standing(predict(1.756, 0.846, "M"), contacts)
    >>> bool(pose.unreachable[0])
    False
    """
    _check(segments, contacts, hip_shift=hip_shift)
    shift = np.asarray(hip_shift, dtype=np.float64)
    level = np.array([1.0, 0.0]) * contacts.crank_length[..., None]
    pedals = (contacts.bottom_bracket + level, contacts.bottom_bracket - level)
    neutral = _hip_standing(segments, contacts, pedals, np.zeros_like(shift))
    hip = _hip_standing(segments, contacts, pedals, shift)
    easy = _arm(segments, neutral, contacts, STANDING_ELBOW, ELBOWS_OUT_STANDING)
    sway = shift / (neutral[..., 1] - contacts.bottom_bracket[..., 1])
    lean = _slope(easy.shoulder - neutral) - sway
    shoulder = hip + _direction(lean) * segments.trunk[..., None]
    arm = _arm_from(segments, hip, shoulder, contacts, ELBOWS_OUT_STANDING)
    front, rear = (_leg(segments, hip, pedal, contacts, -HEEL_DROP) for pedal in pedals)
    return _pose(hip, arm, (front, rear), (front, rear))


def by_inseam(inseam: ArrayLike) -> Array:
    """Saddle height from the bottom bracket along the post, h = 0.883 × inseam.

    Parameters
    ----------
    inseam : array_like
        Pressed up firmly, without shoes [m], 0.35 to 1.4.

    Returns
    -------
    ndarray
        Bottom bracket to saddle top [m].

    Raises
    ------
    RangeError
        When the inseam is not a person's.

    Notes
    -----
    For shoes and pedals of its time; it does not know the crank.

    Examples
    --------
    >>> round(float(by_inseam(0.83)), 5)
    0.73289

    References
    ----------
    Common practice of fitting, no primary source.
    """
    height: Array = INSEAM_FACTOR * _inseam(inseam)
    return height


def by_spindle(inseam: ArrayLike) -> Array:
    """Saddle height from the pedal spindle, cranks in line with the post, h = 1.09 × inseam.

    Parameters
    ----------
    inseam : array_like
        Pressed up firmly, without shoes [m], 0.35 to 1.4.

    Returns
    -------
    ndarray
        Pedal spindle to saddle top [m]; less the crank for the height from the bottom bracket.

    Raises
    ------
    RangeError
        When the inseam is not a person's.

    Examples
    --------
    >>> round(float(by_spindle(0.83)), 4)
    0.9047

    References
    ----------
    Hamley and Thomas, J. Physiol. 191 (1967).
    """
    height: Array = SPINDLE_FACTOR * _inseam(inseam)
    return height


def saddle_heights(
    segments: Segments,
    inseam: ArrayLike,
    crank_length: ArrayLike,
    foot_stack: ArrayLike,
    seat_angle: ArrayLike = USUAL_SEAT_ANGLE,
    setback: ArrayLike = 0.0,
) -> SaddleHeights:
    """Saddle height by every method: two from the inseam, heel, and knee flexion.

    By the leg, with u along the post, the pedal a crank below the bottom bracket, a the ankle
    from the spindle and o the hip from the saddle point on the post: the hip lies at distance
    L of the ankle, |(h + crank) u + o − a| = L, a quadratic in h. L is the leg at the knee
    flexion asked for: √(thigh² + shank² + 2 thigh shank cos flexion).

    Parameters
    ----------
    segments : Segments
        The rider, lengths [m].
    inseam : array_like, shape (n,)
        Pressed up firmly, without shoes [m].
    crank_length, foot_stack : array_like, shape (n,)
        Crank, and pedal spindle to bare sole [m].
    seat_angle : array_like, shape (n,)
        Actual angle of the post [rad], from the ground.
    setback : array_like, shape (n,)
        Saddle middle behind the post's axis [m].

    Returns
    -------
    SaddleHeights
        Heights from the bottom bracket along the post [m], each of shape (n,).

    Raises
    ------
    RangeError
        When a length is not positive and finite, or the inseam not a person's.

    Notes
    -----
    The knee is judged standing still with the toes 20° down; a photo taken while pedalling
    shows more bend. On the survey's bodies the heel method comes out lowest and 1.09 × inseam
    highest.

    Examples
    --------
    >>> from cyclewright.body.segments import predict
    >>> heights = saddle_heights(predict(1.756, 0.846, "M"), 0.861, 0.17, 0.03)
    >>> round(float(heights.by_inseam[0]), 3), round(float(heights.knee_middle[0]), 3)
    (0.76, 0.742)

    References
    ----------
    Hamley and Thomas 1967; Holmes and others, Clin. Sports Med. 13 (1994): 25 to 35° of knee.
    """
    crank = _positive("crank_length", crank_length)
    stack = _positive("foot_stack", foot_stack)
    angle, back = np.asarray(seat_angle, np.float64), np.asarray(setback, np.float64)
    post = np.stack(np.broadcast_arrays(-np.cos(angle), np.sin(angle)), axis=-1)
    over = segments.seat_to_hip * HIP_OVER_SADDLE
    hip = _hip_on_saddle(np.stack(np.broadcast_arrays(-back, 0.0 * back), axis=-1), over)
    ankle = _ankle_from_spindle(segments, stack, TOE_DOWN_BOTTOM)
    heel = np.stack(np.broadcast_arrays(0.0 * stack, stack + segments.ankle_height), axis=-1)

    def height(from_spindle: Array, flexion: float) -> Array:
        return _height_for(segments, post, hip - from_spindle, flexion) - crank

    shape = np.broadcast_shapes(segments.thigh.shape, crank.shape, stack.shape, angle.shape)
    spindle = by_spindle(inseam)
    return SaddleHeights(
        *(
            np.broadcast_to(value, shape).copy()
            for value in (
                by_inseam(inseam),
                spindle,
                spindle - crank,
                height(heel, 0.0),
                height(ankle, KNEE_HIGH),
                height(ankle, KNEE_LOW),
                height(ankle, (KNEE_LOW + KNEE_HIGH) / 2.0),
            )
        )
    )


def recommended(heights: SaddleHeights) -> Array:
    """The one height to set first: 0.883 × inseam, held where the knee is bent 25 to 35°.

    Parameters
    ----------
    heights : SaddleHeights
        All methods [m].

    Returns
    -------
    ndarray
        Bottom bracket to saddle top along the post [m].

    Notes
    -----
    Where the rule of the inseam and the knee's range part, the knee decides: a leg that is
    over-stretched hurts first. Rough ground wants a plain post 10 to 30 mm lower still.

    Examples
    --------
    >>> at = [np.array([value]) for value in (0.76, 0.93, 0.76, 0.70, 0.72, 0.74, 0.73)]
    >>> float(recommended(SaddleHeights(*at))[0])
    0.74
    """
    return np.minimum(np.maximum(heights.by_inseam, heights.knee_low), heights.knee_high)


@dataclass(frozen=True, slots=True)
class _Leg:
    """One solved leg and the limits it met."""

    knee: Array
    ankle: Array
    ball: Array
    heel: Array
    flexion: Array
    short: BoolArray
    folded: BoolArray


@dataclass(frozen=True, slots=True)
class _Arm:
    """Trunk and arm, solved, and the limits they met."""

    shoulder: Array
    elbow: Array
    hand: Array
    head: Array
    flexion: Array
    short: BoolArray
    folded: BoolArray
    bent: BoolArray
    """The trunk was held at the end of its range."""


def _pose(hip: Array, arm: _Arm, level: tuple[_Leg, _Leg], stroke: tuple[_Leg, _Leg]) -> Pose:
    """Points, angles and limits of a solved body; `stroke` ends are told apart by the knee."""
    front, rear = level
    legs = (*level, *stroke)
    trunk = arm.shoulder - hip
    thighs = [_between(trunk, leg.knee - hip) for leg in legs]
    angles = {
        "trunk": _slope(trunk),
        "shoulder": _between(-trunk, arm.elbow - arm.shoulder),
        "elbow": arm.flexion,
        "hip": np.minimum.reduce(thighs),
        "knee_front": front.flexion,
        "knee_rear": rear.flexion,
        "knee_bottom": np.minimum(stroke[0].flexion, stroke[1].flexion),
        "knee_top": np.maximum(stroke[0].flexion, stroke[1].flexion),
        "forearm": -_slope(arm.hand - arm.elbow),
        "ankle": _between(front.knee - front.ankle, front.ball - front.heel),
    }
    points = {
        "hip": hip,
        **{f"{name}_front": getattr(front, name) for name in _LEG_POINTS},
        **{f"{name}_rear": getattr(rear, name) for name in _LEG_POINTS},
        **{name: getattr(arm, name) for name in ("shoulder", "elbow", "hand", "head")},
    }
    met = {
        "leg too short": np.logical_or.reduce([leg.short for leg in legs]),
        "knee range": np.logical_or.reduce([leg.folded for leg in legs]),
        "arms too short": arm.short,
        "elbow range": arm.folded,
        "trunk range": arm.bent,
        "hip range": angles["hip"] < HIP_LEAST,
        "shoulder range": angles["shoulder"] > SHOULDER_MOST,
    }
    shape = np.broadcast_shapes(*(angle.shape for angle in angles.values()))
    limit = np.select([np.broadcast_to(mask, shape) for mask in met.values()], list(met), "")
    return Pose(
        points={name: np.broadcast_to(at, (*shape, 2)).copy() for name, at in points.items()},
        angles={name: np.broadcast_to(at, shape).copy() for name, at in angles.items()},
        unreachable=limit != "",
        limit=limit,
    )


_LEG_POINTS = ("knee", "ankle", "ball", "heel")


def _leg(
    segments: Segments, hip: Array, spindle: Array, contacts: Contacts, toe_down: float
) -> _Leg:
    """A leg on this pedal; the foot tilts when the leg would not reach."""
    stack = contacts.foot_stack
    pitch = _reaching_pitch(segments, hip - spindle, stack, toe_down)
    ankle = spindle + _ankle_from_spindle(segments, stack, pitch)
    reach = _length(ankle - hip)
    closest = _closing(segments.thigh, segments.shank, KNEE_MOST)
    short, folded = reach > segments.leg * (1.0 + _ROUNDING), reach < closest * (1.0 - _ROUNDING)
    ankle = hip + _unit(ankle - hip) * np.clip(reach, closest, segments.leg)[..., None]
    knee, flexion = _two_links(hip, ankle, segments.thigh, segments.shank)
    along, normal = _sole(pitch)
    ball = ankle + along * segments.ball_ahead[..., None]
    ball = ball - normal * segments.ankle_height[..., None]
    heel = ball - along * segments.foot[..., None]
    return _Leg(knee, ankle, ball, heel, flexion, short, folded)


def _reaching_pitch(segments: Segments, hip: Array, stack: Array, toe_down: float) -> Array:
    """The toe-down angle nearest the usual one at which a straight leg reaches.

    The ankle runs on a circle about the spindle; `opening` is the angle between it and the line
    to the hip at which the leg is just straight, by the law of cosines.
    """
    above = stack + segments.ankle_height
    radius, distance = np.hypot(segments.ball_ahead, above), np.maximum(_length(hip), _TINY)
    cosine = (radius**2 + distance**2 - segments.leg**2) / (2.0 * radius * distance)
    opening = np.arccos(np.clip(cosine, -1.0, 1.0))
    middle = np.arctan2(above, -segments.ball_ahead) - np.arctan2(hip[..., 1], hip[..., 0])
    middle = (middle + math.pi) % (2.0 * math.pi) - math.pi
    nearest = np.clip(toe_down, middle - opening, middle + opening)
    pitch: Array = np.clip(nearest, -TOE_UP_MOST, TOE_DOWN_MOST)
    return pitch


def _arm(
    segments: Segments, hip: Array, contacts: Contacts, elbow_flexion: ArrayLike, out: float
) -> _Arm:
    """Trunk and arm from hip to grip at this elbow flexion, straightened if it must be."""
    flexion = np.clip(np.asarray(elbow_flexion, np.float64), 0.0, ELBOW_MOST)
    span = _length(contacts.grip - hip)
    aside = _aside(segments, contacts)
    reach = _in_plane(_closing(segments.upper_arm, segments.forearm, flexion), aside)
    reach = np.clip(reach, np.abs(span - segments.trunk), span + segments.trunk)
    reach = np.minimum(reach, _in_plane(segments.arm, aside))
    end = hip + _unit(contacts.grip - hip) * np.minimum(span, segments.trunk + reach)[..., None]
    shoulder, _ = _two_links(hip, end, segments.trunk, reach)
    return _arm_from(segments, hip, shoulder, contacts, out)


def _arm_from(
    segments: Segments, hip: Array, shoulder: Array, contacts: Contacts, out: float
) -> _Arm:
    """The arm from this shoulder to the grip; the trunk leans in when it would not reach."""
    aside = _aside(segments, contacts)
    longest = _in_plane(segments.arm, aside)
    closest = _in_plane(_closing(segments.upper_arm, segments.forearm, ELBOW_MOST), aside)
    far = _length(contacts.grip - shoulder) > longest * (1.0 + _ROUNDING)
    span = np.minimum(_length(contacts.grip - hip), segments.trunk + longest)
    end = hip + _unit(contacts.grip - hip) * span[..., None]
    leaning, _ = _two_links(hip, end, segments.trunk, longest)
    shoulder = np.where(far[..., None], leaning, shoulder)
    lean = _slope(shoulder - hip)
    held = np.clip(lean, *TRUNK_RANGE)
    shoulder = hip + _direction(held) * segments.trunk[..., None]
    distance = _length(contacts.grip - shoulder)
    short, folded = distance > longest * (1.0 + 1e-6), distance < closest * (1.0 - 1e-6)
    span = np.clip(distance, closest, longest)
    hand = shoulder + _unit(contacts.grip - shoulder) * span[..., None]
    elbow, flexion = _elbow(segments, shoulder, hand, aside, out)
    raised = held + HEAD_RAISED * (math.pi / 2.0 - held)
    head = shoulder + _direction(raised) * segments.head[..., None]
    bent = np.abs(held - lean) > _ROUNDING
    return _Arm(shoulder, elbow, hand, head, flexion, short, folded, bent)


def _elbow(
    segments: Segments, shoulder: Array, hand: Array, aside: Array, out: float
) -> tuple[Array, Array]:
    """The elbow as seen from the side, and its true flexion.

    The hand lies `aside` of the shoulder; the elbow hangs below the line between them, turned
    outwards about that line, so the side view sees only a part of its offset.
    """
    upper, lower = segments.upper_arm, segments.forearm
    flat = _length(hand - shoulder)
    line = np.maximum(np.hypot(flat, aside), _TINY)
    foot = (line**2 + upper**2 - lower**2) / (2.0 * line)
    offset = np.sqrt(np.maximum(upper**2 - foot**2, 0.0))
    ahead = _unit(hand - shoulder)
    below = np.stack([ahead[..., 1], -ahead[..., 0]], axis=-1)
    along = (foot * flat - offset * math.sin(out) * aside) / line
    elbow = shoulder + ahead * along[..., None] + below * (offset * math.cos(out))[..., None]
    return elbow, _flexion(line, upper, lower)


def _hip_on_saddle(saddle: Array, over: Array) -> Array:
    """Hip centre over the saddle's middle.

    The sit bones rest as far behind the middle as the roll of the pelvis carries the hips ahead.
    """
    lift = np.stack([np.zeros_like(over), over], axis=-1)
    return saddle + lift


def _hip_standing(
    segments: Segments, contacts: Contacts, pedals: tuple[Array, Array], shift: Array
) -> Array:
    """Standing hips: a share of the leg behind the bottom bracket, knees bent on the mean."""
    across = contacts.bottom_bracket[..., 0] - HIPS_BEHIND * segments.leg + shift
    reach = _closing(segments.thigh, segments.shank, STANDING_KNEE)
    foot = _ankle_from_spindle(segments, contacts.foot_stack, -HEEL_DROP)
    heights = []
    for pedal in pedals:
        ankle = pedal + foot
        aside = np.clip(across - ankle[..., 0], -0.9 * reach, 0.9 * reach)
        heights.append(ankle[..., 1] + np.sqrt(reach**2 - aside**2))
    return np.stack([across, (heights[0] + heights[1]) / 2.0], axis=-1)


def _height_for(segments: Segments, post: Array, hip: Array, flexion: float) -> Array:
    """How far along the post the saddle moves the hip to give this knee flexion."""
    along = np.sum(post * hip, axis=-1)
    reach = _closing(segments.thigh, segments.shank, flexion)
    under = np.maximum(along**2 - np.sum(hip * hip, axis=-1) + reach**2, 0.0)
    height: Array = np.sqrt(under) - along
    return height


def _ankle_from_spindle(segments: Segments, stack: Array, pitch: ArrayLike) -> Array:
    """Ankle from the pedal spindle under the ball, at this toe-down angle."""
    along, normal = _sole(np.asarray(pitch, np.float64))
    above = stack + segments.ankle_height
    ankle: Array = normal * above[..., None] - along * segments.ball_ahead[..., None]
    return ankle


def _sole(pitch: Array) -> tuple[Array, Array]:
    """Directions along the sole to the toes and up from it, toes down by `pitch`."""
    return _direction(-pitch), _direction(math.pi / 2.0 - pitch)


def _two_links(start: Array, end: Array, first: Array, second: Array) -> tuple[Array, Array]:
    """Joint of two links on the left of the line from start to end, and its flexion."""
    distance = np.maximum(_length(end - start), _TINY)
    foot = (distance**2 + first**2 - second**2) / (2.0 * distance)
    foot = np.clip(foot, -first, first)
    offset = np.sqrt(first**2 - foot**2)
    ahead = _unit(end - start)
    left = np.stack([-ahead[..., 1], ahead[..., 0]], axis=-1)
    joint = start + ahead * foot[..., None] + left * offset[..., None]
    return joint, _flexion(distance, first, second)


def _flexion(distance: Array, first: Array, second: Array) -> Array:
    """Flexion between two links whose ends lie this far apart, 0 straight."""
    cosine = (distance**2 - first**2 - second**2) / (2.0 * np.maximum(first * second, _TINY))
    return np.arccos(np.clip(cosine, -1.0, 1.0))


def _closing(first: Array, second: Array, flexion: ArrayLike) -> Array:
    """Distance between the ends of two links at this flexion."""
    reach: Array = np.sqrt(first**2 + second**2 + 2.0 * first * second * np.cos(flexion))
    return reach


def _aside(segments: Segments, contacts: Contacts) -> Array:
    """How much further out the hands are than the shoulders, either way."""
    half = np.asarray(contacts.grip_half_width, dtype=np.float64)
    return np.abs(half - SHOULDER_HALF_WIDTH * segments.stature)


def _in_plane(length: Array, aside: Array) -> Array:
    """What a length shows from the side when its end lies aside."""
    seen: Array = np.sqrt(np.maximum(length**2 - aside**2, 0.0))
    return seen


def _between(one: Array, other: Array) -> Array:
    """Angle between two directions, 0 to π."""
    cross = one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0]
    angle: Array = np.abs(np.arctan2(cross, np.sum(one * other, axis=-1)))
    return angle


def _direction(angle: Array) -> Array:
    """Unit vector at this angle from the horizontal."""
    return np.stack([np.cos(angle), np.sin(angle)], axis=-1)


def _slope(vector: Array) -> Array:
    """Angle of each vector from the horizontal, up positive."""
    return np.arctan2(vector[..., 1], vector[..., 0])


def _length(vector: Array) -> Array:
    """Length of each vector."""
    return np.hypot(vector[..., 0], vector[..., 1])


def _unit(vector: Array) -> Array:
    """Direction of each vector; zero stays zero."""
    unit: Array = vector / np.maximum(_length(vector), _TINY)[..., None]
    return unit


def _inseam(value: ArrayLike) -> Array:
    """The inseam as an array, refused outside what people have."""
    inseam = _positive("inseam", value)
    wrong = (inseam < INSEAM_RANGE[0]) | (inseam > INSEAM_RANGE[1])
    if wrong.any():
        worst = float(np.atleast_1d(inseam)[np.atleast_1d(wrong)][0])
        allowed = f"{INSEAM_RANGE[0]:g} to {INSEAM_RANGE[1]:g} m"
        do = "measure again, floor to a book pressed up between the legs"
        raise RangeError(Problem("not-a-body", "inseam", do, f"{worst:g} m", "m", allowed))
    return inseam


def _positive(name: str, value: ArrayLike) -> Array:
    """The value as an array, refused unless positive and finite."""
    array = np.asarray(value, dtype=np.float64)
    good = np.isfinite(array) & (array > 0.0)
    if not good.all():
        worst = float(np.atleast_1d(array)[~np.atleast_1d(good)][0])
        raise RangeError(
            Problem("not-positive", name, "give a length above zero", f"{worst:g}", "m", "above 0")
        )
    return array


def _check(segments: Segments, contacts: Contacts, **more: ArrayLike) -> None:
    """Refuse bodies, contacts and angles that are not finite (or positive), all at once."""
    positive = {field.name: getattr(segments, field.name) for field in fields(segments)}
    positive |= {name: getattr(contacts, name) for name in ("crank_length", "foot_stack")}
    finite = {name: getattr(contacts, name) for name in ("saddle", "bottom_bracket", "grip")}
    finite |= {"grip_half_width": contacts.grip_half_width, **more}
    wrong = [name for name, value in positive.items() if not np.all(_finite(value) & (value > 0.0))]
    problems = [Problem("not-positive", name, "give a length above zero") for name in wrong]
    problems += [
        Problem("not-finite", name, "give a finite position, length or angle in SI units")
        for name, value in finite.items()
        if not _finite(value).all()
    ]
    if problems:
        raise RangeError(problems)


def _finite(value: ArrayLike) -> BoolArray:
    """Which elements are finite."""
    return np.isfinite(np.asarray(value, dtype=np.float64))
