"""The words of a drawing: what each measure says, where it points, what it keeps clear of."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from cyclewright.printing import bicycle, svg
from cyclewright.printing.bicycle import Details
from cyclewright.printing.placing import Box, Label, Placed, place
from cyclewright.printing.scene import (
    ARROW,
    DIMENSION_DEPTH,
    GRAVITY,
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
)
from cyclewright.printing.svg import Point

Stroke = tuple[Point, Point]

_STEP = 0.009
"""Distance between the points along a stroke that words keep clear of [m]."""
_LIMBS = (
    ("hip", "shoulder", "elbow", "hand"),
    ("hip", "knee_front", "ankle_front", "ball_front"),
    ("hip", "knee_rear", "ankle_rear", "ball_rear"),
)


def callouts(
    scene: Scene, show: Sequence[Layer], size: float, view: Box, spare: float = 0.0
) -> tuple[Placed, ...]:
    """Every label of the layers shown, placed; `spare` is by how much words may come out wider."""
    labels = [
        label for name, make in _LABELS.items() if name in show for label in make(scene, size)
    ]
    labels = [
        replace(
            label,
            gap=max(label.gap, 0.5 * size),
            floor=label.floor if label.anchor.imag < 0.0 else 0.25 * size,
        )
        for label in labels
    ]
    if {"lengths", "insertion"} <= set(show) and scene.posture == "seated":
        labels = _with_post(labels, scene)
    return place(labels, _busy(scene, show), view, kept_clear(scene, show), spare=spare)


def _with_post(labels: list[Label], scene: Scene) -> list[Label]:
    """The post's words below the saddle's height, which stand on the same line anyway."""
    post = _post_words(scene.details)
    if not post:
        return labels
    lines = (post[0][0].lower() + post[0][1:], *post[1:])
    return [
        replace(label, words=(*label.words, *lines))
        if label.words[0].startswith("Saddle")
        else label
        for label in labels
        if label.words != post
    ]


def words(placed: Sequence[Placed]) -> str:
    """The labels as SVG, their leaders under them."""
    leaders = [svg.line(item.leader[0], item.leader[1], "leader") for item in placed if item.leader]
    dots = [svg.circle(item.leader[0], 0.005, "leader-dot") for item in placed if item.leader]
    lines = []
    for item in placed:
        label, box = item.label, item.box
        middle, anchor = _alignment(item)
        for index, line in enumerate(label.words):
            baseline = box.top - label.size * (0.72 + 1.16 * index)
            class_ = label.class_ if index == 0 else "label second"
            lines.append(svg.text(line, complex(middle, baseline), label.size, class_, anchor))
    return svg.group((*leaders, *dots), "leaders") + svg.group(lines, "words")


def _alignment(item: Placed) -> tuple[float, str]:
    """Lines of one label align on the side towards what they name."""
    box, anchor = item.box, item.label.anchor
    if len(item.label.words) == 1 or box.left <= anchor.real <= box.right:
        return (box.left + box.right) / 2, "middle"
    return (box.left, "start") if anchor.real < box.left else (box.right, "end")


def description(scene: Scene) -> str:
    """What the drawing shows in words, for those who hear it."""
    bike, angles = scene.bike, scene.angles
    total = scene.front_load + scene.rear_load
    told = [
        f"Rider {scene.posture} on the bike, seen from the right, on level ground.",
        f"Front wheel carries {_percent(scene.front_load / total)}, "
        f"{_kilograms(scene.front_load)} of {_kilograms(total)}.",
        f"Trunk {_degrees(angles['trunk'])} from horizontal, "
        f"elbow bent {_degrees(angles['elbow'])}.",
    ]
    if scene.posture == "seated":
        told.append(f"Knee bent {_degrees(angles['knee_bottom'])} at the bottom of the stroke.")
    if bike.fork_travel > 0:
        told.append(f"Fork sags {_millimetres(bike.fork_compression)}.")
    if scene.details.post_insertion is not None:
        told.append(f"Post {_millimetres(scene.details.post_insertion)} inside the frame.")
    if scene.limit:
        told.append(f"This position cannot be reached: {scene.limit}.")
    if bike.rear_travel > 0:
        wheel = _millimetres(scene.rear_sag)
        told.append(f"Shock sags {_millimetres(scene.shock_sag)}, rear wheel {wheel}.")
    return " ".join(told)


def _load_labels(scene: Scene, size: float) -> Iterator[Label]:
    total = scene.front_load + scene.rear_load
    for name, foot, load, toward in (
        ("Rear", scene.rear_contact, scene.rear_load, math.pi),
        ("Front", scene.front_contact, scene.front_load, 0.0),
    ):
        said = (f"{name} {_percent(load / total)}", _kilograms(load))
        anchor = foot - 1j * (0.02 + ARROW * load * 0.6)
        yield Label(said, anchor, size, toward, 0.014 + 0.65 * size, weight=3.0, pull=6.0)


def _sag_labels(scene: Scene, size: float) -> Iterator[Label]:
    bike = scene.bike
    if bike.fork_travel > 0:
        high, low = sag_line(bike)
        share = _percent(bike.fork_compression / bike.fork_travel)
        said = (
            f"Fork {_millimetres(bike.fork_compression)}",
            f"{share} sag, {scene.posture}",
        )
        yield Label(said, (high + low) / 2, size, 0.1, 0.03, weight=2.8)
    if bike.rear_travel > 0:
        upper, lower = bicycle.shock_ends(bike)
        shock = (
            f"Shock {_millimetres(scene.shock_sag)}",
            f"{_percent(scene.shock_sag / bike.shock_stroke)} sag, {scene.posture}",
        )
        middle = (upper + lower) / 2
        yield Label(shock, middle, size, -0.9, 0.03, weight=2.65)


def _angle_labels(scene: Scene, size: float) -> Iterator[Label]:
    joints, angles = scene.joints, scene.angles
    half = cmath.phase(joints["shoulder"] - joints["hip"]) / 2
    at = joints["hip"] + cmath.rect(0.15, half)
    yield Label((f"Trunk {_degrees(angles['trunk'])}",), at, size, half, 0.02)
    yield Label((f"Elbow {_degrees(angles['elbow'])}",), joints["elbow"], size, 0.25, 0.05)
    yield Label((f"Hip {_degrees(angles['hip'])}",), joints["hip"], size, math.pi, 0.125)
    leg = bottom_leg(scene)
    if leg is not None:
        short = scene.limit == "leg too short"
        below = scene.limit if short else "at the bottom"
        said = (f"Knee {_degrees(angles['knee_bottom'])}", below)
        yield Label(said, leg[1], size, math.pi, 0.06, weight=1.7, pull=14.0)


def _lever_labels(scene: Scene, size: float) -> Iterator[Label]:
    half = -scene.bike.lever_angle / 2
    said = (f"Levers {_degrees(scene.bike.lever_angle)} down",)
    yield Label(said, scene.bike.grip + cmath.rect(0.17, half), size, half, 0.03)


def _length_labels(scene: Scene, size: float) -> Iterator[Label]:
    bike = scene.bike
    if scene.posture == "seated":
        high, low = saddle_line(bike)
        at = high * 0.72 + low * 0.28 + saddle_aside(bike)
        said = (f"Saddle {_millimetres(abs(high - low))}",)
        yield Label(said, at, size, math.pi, 0.022, weight=1.6)
    middle = (scene.rear_contact + scene.front_contact) / 2 - 1j * DIMENSION_DEPTH
    base = (f"Wheelbase {_millimetres(abs(scene.front_contact - scene.rear_contact))}",)
    yield Label(base, middle, size, -math.pi / 2, 0.016, weight=1.4)
    foot = complex(bike.bottom_bracket.real, max(0.03 + 0.4 * size, 0.036))
    height = (f"BB {_millimetres(bike.bottom_bracket.imag)}",)
    yield Label(height, foot, size, 0.0, 0.016, weight=2.7)


def _insertion_labels(scene: Scene, size: float) -> Iterator[Label]:
    end, said = post_end(scene), _post_words(scene.details)
    if end is not None:
        anchor = (scene.bike.seat_clamp + end) / 2
        yield Label(said, anchor, size, math.pi, 0.05, weight=1.1, pull=9.0)


def _post_words(details: Details) -> tuple[str, ...]:
    """How deep the post stands, and between what it may; empty where nobody knows its length."""
    if details.post_insertion is None:
        return ()
    allowed = _allowed(details)
    said = f"Post in {_millimetres(details.post_insertion)}"
    return (said, allowed) if allowed else (said,)


def _allowed(details: Details) -> str:
    """Between what the post may stand in the frame."""
    least, most = details.insertion_least, details.insertion_most
    if least is not None and most is not None:
        return f"{least * 1000:.0f} to {most * 1000:.0f} allowed"
    if least is not None:
        return f"at least {_millimetres(least)}"
    return "" if most is None else f"at most {_millimetres(most)}"


def _sweep_labels(scene: Scene, size: float) -> Iterator[Label]:
    said = (f"Blade {_millimetres(scene.details.lever_reach)}", "from the bar")
    yield Label(said, blade(scene, pulled=False), size, -math.pi / 2, 0.05, weight=1.0)


_LABELS: Mapping[Layer, Callable[[Scene, float], Iterator[Label]]] = {
    "loads": _load_labels,
    "sag": _sag_labels,
    "angles": _angle_labels,
    "levers": _lever_labels,
    "lengths": _length_labels,
    "insertion": _insertion_labels,
    "sweep": _sweep_labels,
}


def _busy(scene: Scene, show: Sequence[Layer]) -> Iterator[Point]:
    """Points along every stroke that words should not cover."""
    for start, end in (*bicycle.lines(scene.bike), *_strokes(scene, show)):
        count = max(2, round(abs(end - start) / _STEP))
        yield from (start + (end - start) * step / count for step in range(count + 1))


def _strokes(scene: Scene, show: Sequence[Layer]) -> Iterator[Stroke]:
    """What the layers draw besides the bike, and the ground."""
    bike = scene.bike
    yield scene.rear_contact - 0.5, scene.front_contact + 0.5
    if "rider" in show:
        for names in _LIMBS:
            yield from pairwise(scene.joints[name] for name in names)
        for side in ("front", "rear"):
            yield from _shoe(scene.joints, side)
    if "angles" in show:
        yield from pairwise(bottom_leg(scene) or ())
        for centre, radius, start, end in angle_arcs(scene):
            yield from _bent(centre, radius, start, end)
    if "loads" in show:
        yield scene.mass_centre, complex(scene.mass_centre.real, 0.0)
    if "lengths" in show:
        yield from _length_strokes(scene)
    if "sag" in show and bike.fork_travel > 0:
        yield sag_line(bike)
    if "insertion" in show:
        for _, at in insertion_marks(scene):
            yield at - 0.035, at + 0.035
    if "sweep" in show:
        yield blade(scene, pulled=True), blade(scene, pulled=False)
    if "levers" in show:
        way = cmath.rect(1.0, -bike.lever_angle)
        yield bike.grip, bike.grip + way * 0.26
        yield bike.grip, bike.grip + 0.22
        yield from _bent(bike.grip, 0.17, 0.0, -bike.lever_angle)


def _shoe(joints: Mapping[str, Point], side: str) -> Iterator[Stroke]:
    """Sole and upper, out to the toes ahead of the ball."""
    heel, ball, ankle = (joints[f"{name}_{side}"] for name in ("heel", "ball", "ankle"))
    toe = heel + (ball - heel) * 1.35
    yield heel, toe
    yield ankle, toe
    yield ankle, heel


def _bent(centre: Point, radius: float, start: float, end: float) -> Iterator[Stroke]:
    """An arc as short strokes."""
    turn = math.remainder(end - start, math.tau)
    yield from pairwise(centre + cmath.rect(radius, start + turn * step / 8) for step in range(9))


def _length_strokes(scene: Scene) -> Iterator[Stroke]:
    bracket, deep = scene.bike.bottom_bracket, -1j * DIMENSION_DEPTH
    yield bracket, complex(bracket.real, 0.0)
    yield scene.rear_contact + deep, scene.front_contact + deep
    if scene.posture == "seated":
        high, low = saddle_line(scene.bike)
        aside = saddle_aside(scene.bike)
        yield high + aside, low + aside
        yield high + aside * 0.12, high + aside


def kept_clear(scene: Scene, show: Sequence[Layer]) -> tuple[Box, ...]:
    """Areas where no words may stand at all: hubs, saddle, hands, head, and every layer's marks."""
    bike = scene.bike
    saddle = Box(
        bike.saddle.real - 0.14,
        bike.saddle.imag - 0.05,
        bike.saddle.real + 0.15,
        bike.saddle.imag + 0.02,
    )
    marks = [
        around(0.045, bike.front_axle),
        around(0.060, bike.rear_axle),
        around(0.045, bike.bottom_bracket),
        around(0.012, bike.bottom_bracket + bike.crank),
        around(0.012, bike.bottom_bracket - bike.crank),
        around(0.028, bike.grip),
        saddle,
    ]
    if "rider" in show:
        marks.append(around(0.07 * scene.stature, scene.joints["head"]))
    for name, made in _CLEAR.items():
        if name in show:
            marks += made(scene)
    return tuple(marks)


def around(reach: float, *points: Point) -> Box:
    """The box round some points, `reach` wider on every side."""
    return Box(
        min(point.real for point in points) - reach,
        min(point.imag for point in points) - reach,
        max(point.real for point in points) + reach,
        max(point.imag for point in points) + reach,
    )


def _clear_of_loads(scene: Scene) -> Iterator[Box]:
    yield around(0.026, scene.mass_centre)
    for foot, load in (
        (scene.rear_contact, scene.rear_load),
        (scene.front_contact, scene.front_load),
    ):
        yield around(0.012, foot - 0.012j, foot - 1j * (0.008 + ARROW * load))


def _clear_of_joints(scene: Scene) -> Iterator[Box]:
    for name in ("hip", "shoulder", "elbow", "hand", "knee_front", "ankle_front"):
        yield around(0.018, scene.joints[name])


def _clear_of_sag(scene: Scene) -> Iterator[Box]:
    if scene.bike.fork_travel > 0:
        yield around(0.017, *sag_line(scene.bike))
    if scene.bike.rear_travel > 0:
        yield around(0.012, *bicycle.shock_ends(scene.bike))


def _clear_of_insertion(scene: Scene) -> Iterator[Box]:
    end = post_end(scene)
    for point in (*(at for _, at in insertion_marks(scene)), *(() if end is None else (end,))):
        yield around(0.012, point - 0.025, point + 0.025)


def _clear_of_blade(scene: Scene) -> Iterator[Box]:
    yield around(0.012, blade(scene, pulled=True), blade(scene, pulled=False))


_CLEAR: Mapping[Layer, Callable[[Scene], Iterator[Box]]] = {
    "loads": _clear_of_loads,
    "angles": _clear_of_joints,
    "sag": _clear_of_sag,
    "insertion": _clear_of_insertion,
    "sweep": _clear_of_blade,
}


def _millimetres(length: float) -> str:
    return f"{length * 1000:.0f} mm"


def _percent(share: float) -> str:
    return f"{share * 100:.0f}\u00a0%"


def _kilograms(load: float) -> str:
    return f"{load / GRAVITY:.0f} kg"


def _degrees(angle: float) -> str:
    return f"{math.degrees(angle):.0f}°"
