"""This rider on this bike, to scale: one SVG from the Solution, one user unit a millimetre.

Everything stands on classes, so that a page's stylesheet (`drawing.css`) colours it for light,
dark and print; `style=True` embeds that stylesheet for a file that has to stand alone.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from html import escape
from importlib import resources
from typing import TYPE_CHECKING, Any, Literal

from cyclewright.printing import bicycle, figure, svg
from cyclewright.printing.bicycle import Bike, Details
from cyclewright.printing.placing import Box, Label, Placed, place
from cyclewright.printing.svg import Point

if TYPE_CHECKING:
    from cyclewright.solve.solution import Geometry, Solution

Layer = Literal["rider", "angles", "loads", "sag", "lengths", "levers"]
Labels = Literal["page", "print", "phone", "none"]
LAYERS: tuple[Layer, ...] = ("rider", "angles", "loads", "sag", "lengths", "levers")

_GRAVITY = 9.80665
_TYPE = {"page": 0.036, "print": 0.045, "phone": 0.066, "none": 0.036}
_ARROW = 0.00022  # metres of arrow a newton


@dataclass(frozen=True, slots=True)
class _Scene:
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
    front_drop: float
    rear_drop: float


def bike_svg(
    solution: Solution,
    posture: str = "seated",
    show: Sequence[Layer] = LAYERS,
    before: Solution | None = None,
    *,
    title: str = "Rider on bike, to scale",
    labels: Labels = "page",
    details: Details | None = None,
    style: bool = False,
    ident: str = "bike",
) -> str:
    """The drawing of a solved bike at its nominal (index 0), to scale in millimetres.

    `show` names the layers; `before` draws another solution's outline behind this one instead of
    the unloaded bike. `ident` prefixes the ids when several drawings share a page.
    """
    parts = details or Details()
    scene = _scene(solution, posture, parts)
    ghost = _ghost(scene, before, show, parts)
    view = _view(scene, show)
    placed = () if labels == "none" else _placed(scene, show, _TYPE[labels], view)
    extent = _extent(view, placed)
    layers = (
        _ground(scene, extent),
        *_body_layers(scene, show, parts, f"{ident}-ground", ghost),
        _measures(scene, show),
        _words(placed),
        _scale(scene, extent, _TYPE[labels], before is not None, "sag" in show),
    )
    described = description(solution, posture)
    box = (extent.left, -extent.top, extent.right - extent.left, extent.top - extent.bottom)
    clip = svg.element(
        "clipPath",
        svg.element(
            "rect",
            x=svg.number(extent.left * 1000),
            y=svg.number(-extent.top * 1000),
            width=svg.number(box[2] * 1000),
            height=svg.number(extent.top * 1000),
        ),
        id=f"{ident}-ground",
    )
    head = (
        f'<title id="{ident}-title">{escape(title)}</title>'
        f'<desc id="{ident}-desc">{escape(described)}</desc>'
        + (f"<style>{stylesheet(flat=True)}</style>" if style else "")
        + f"<defs>{clip}</defs>"
    )
    return svg.element(
        "svg",
        head + "".join(layers),
        xmlns="http://www.w3.org/2000/svg",
        class_="cw-drawing",
        viewBox=" ".join(svg.number(value * 1000) for value in box),
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
    )


def stylesheet(*, flat: bool = False) -> str:
    """The drawing's stylesheet; `flat` puts the light values in place of its custom properties."""
    source = resources.files("cyclewright.printing") / "drawing.css"
    written = source.read_text(encoding="utf-8")
    if not flat:
        return written
    written = re.sub(r"/\*.*?\*/", "", written, flags=re.S).split("@media", 1)[0]
    values = dict(re.findall(r"(--[\w-]+):\s*([^;]+);", written))
    flattened = re.sub(r"var\((--[\w-]+)\)", lambda found: values[found[1]], written)
    flattened = re.sub(r"\s*--[\w-]+:[^;]+;", "", flattened)
    return re.sub(r"\s+", " ", flattened).strip()


def description(solution: Solution, posture: str) -> str:
    """What the drawing shows in words, for those who hear it."""
    scene = _scene(solution, posture)
    total = scene.front_load + scene.rear_load
    parts = [
        f"Rider {posture} on the bike, seen from the right, standing on level ground.",
        f"Front wheel carries {_percent(scene.front_load / total)}, "
        f"{_kilograms(scene.front_load)} of {_kilograms(total)}.",
        f"Trunk {_degrees(scene.angles.get('trunk'))} from horizontal, "
        f"elbow bent {_degrees(scene.angles.get('elbow'))}.",
    ]
    if posture == "seated":
        bent = _degrees(scene.angles.get("knee_bottom"))
        parts.append(f"Knee bent {bent} at the bottom of the stroke.")
    if scene.bike.fork_travel > 0:
        parts.append(f"Fork sags {_millimetres(scene.bike.fork_compression)}.")
    if scene.bike.rear_travel > 0:
        parts.append(
            f"Shock sags {_millimetres(scene.shock_sag)}, rear wheel {_millimetres(scene.rear_sag)}."
        )
    return " ".join(parts)


def _scene(solution: Solution, posture: str, details: Details | None = None) -> _Scene:
    """The nominal of one posture as plain points and numbers."""
    drop = details.post_travel if details and posture == "standing" else 0.0
    case, state = solution.case, solution.at(posture)
    pose = state.pose
    angles = {name: float(value[0]) for name, value in pose.angles.items()}
    # one line of the levers for both drawings: a standing rider does not turn them
    lever = float(solution.seated.pose.angles.get("forearm", [0.6])[0])
    rest = _bike(solution, solution.unloaded, lever, 0.0)
    bike = _bike(solution, state.geometry, lever, _first(state.fork_compression))
    bike = replace(bike, rest=rest).lowered(drop)
    return _Scene(
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
        front_drop=_first(state.front_drop),
        rear_drop=_first(state.rear_drop),
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


def _ghost(scene: _Scene, before: Solution | None, show: Sequence[Layer], details: Details) -> str:
    """What stood there before: another solution's bike and rider, else the bike unloaded."""
    if before is not None:
        earlier = _scene(before, scene.posture, details)
        rider = figure.skeleton(earlier.joints) if "rider" in show else ""
        return svg.group((bicycle.outline(earlier.bike), rider), "before")
    rest = scene.bike.rest
    return "" if "sag" not in show or rest is None else bicycle.outline(rest)


def _body_layers(
    scene: _Scene, show: Sequence[Layer], details: Details, clip: str, ghost: str
) -> Iterator[str]:
    """Rider behind, ghost, bike before, skeleton last: all stay readable where they cross."""
    bike, rider = scene.bike, "rider" in show
    if rider:
        shapes = (
            figure.far_leg(scene.joints, scene.stature),
            figure.body(scene.joints, scene.stature),
            figure.near_leg(scene.joints, scene.stature),
            figure.near_arm(scene.joints, scene.stature),
        )
        yield svg.group(shapes, "rider")
    yield ghost
    yield bicycle.far_crank(bike)
    yield bicycle.wheels(bike, details, clip)
    yield bicycle.drive(bike, details)
    yield bicycle.frame(bike)
    yield bicycle.fork(bike)
    yield bicycle.post_and_saddle(bike, details)
    yield bicycle.cockpit(bike)
    yield bicycle.near_crank(bike, details)
    yield bicycle.controls(bike)
    if rider and "angles" in show:
        yield svg.group((figure.skeleton(scene.joints),), "skeleton")


def _measures(scene: _Scene, show: Sequence[Layer]) -> str:
    """Arrows, arcs and dimension lines, without their words."""
    layers = {
        "angles": _angle_marks,
        "loads": _load_marks,
        "sag": _sag_marks,
        "lengths": _length_marks,
        "levers": _lever_marks,
    }
    return "".join(
        svg.group(marks(scene), f"layer {name}", data_layer=name)
        for name, marks in layers.items()
        if name in show
    )


def _bottom_leg(scene: _Scene) -> tuple[Point, Point, Point] | None:
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


def _angle_marks(scene: _Scene) -> Iterator[str]:
    joints = scene.joints
    hip, shoulder, elbow = joints["hip"], joints["shoulder"], joints["elbow"]
    yield svg.line(hip, hip + 0.20, "thin dash")
    yield _arc(hip, 0.15, 0.0, cmath.phase(shoulder - hip))
    yield _arc(elbow, 0.085, cmath.phase(elbow - shoulder), cmath.phase(joints["hand"] - elbow))
    yield svg.line(elbow, elbow + 0.11 * _unit(elbow - shoulder), "thin dash")
    leg = _bottom_leg(scene)
    if leg is not None:
        start, knee, ankle = leg
        yield svg.path(svg.polyline(leg), "thin dash")
        yield svg.line(knee, knee + 0.13 * _unit(knee - start), "thin dash")
        yield _arc(knee, 0.10, cmath.phase(knee - start), cmath.phase(ankle - knee))


def _load_marks(scene: _Scene) -> Iterator[str]:
    """Ground reactions to scale, the mass centre and its plumb line."""
    rear = complex(scene.bike.rear_axle.real, 0.0)
    for foot, load in ((rear, scene.rear_load), (scene.front_contact, scene.front_load)):
        yield _arrow(foot - 0.020j - 1j * _ARROW * load, foot - 0.006j, 0.024)
    centre = scene.mass_centre
    yield svg.line(centre, complex(centre.real, 0.0), "plumb")
    quarter = (
        f"M{svg.xy(centre)}L{svg.xy(centre + 0.020)}A20 20 0 0 0 {svg.xy(centre + 0.020j)}Z"
        f"M{svg.xy(centre)}L{svg.xy(centre - 0.020)}A20 20 0 0 0 {svg.xy(centre - 0.020j)}Z"
    )
    yield svg.circle(centre, 0.020, "centre")
    yield svg.path(quarter, "centre-quarter")


def _sag_marks(scene: _Scene) -> Iterator[str]:
    bike = scene.bike
    if bike.fork_travel > 0 and bike.fork_compression > 0.0005:
        yield from _span(*_sag_line(bike))


def _length_marks(scene: _Scene) -> Iterator[str]:
    bike = scene.bike
    if scene.posture == "seated":
        high, low = _saddle_line(bike)
        aside = _saddle_aside(bike)
        for end in (high, low):
            yield svg.line(end + aside * 0.12, end + aside * 1.12, "extension")
        yield from _dimension(high + aside, low + aside, 0.018)
    rear, front = complex(bike.rear_axle.real, 0), complex(bike.front_axle.real, 0)
    low = -1j * _dimension_depth(scene)
    yield svg.line(rear - 0.012j, rear + low - 0.015j, "extension")
    yield svg.line(front - 0.012j, front + low - 0.015j, "extension")
    yield from _dimension(rear + low, front + low, 0.018)
    foot = complex(bike.bottom_bracket.real - 0.0, 0.0)
    yield from _dimension(foot, foot + 1j * (bike.bottom_bracket.imag - 0.032), 0.016)


def _lever_marks(scene: _Scene) -> Iterator[str]:
    bike = scene.bike
    way = cmath.rect(1.0, -bike.lever_angle)
    yield svg.line(bike.grip + way * 0.10, bike.grip + way * 0.26, "lever-line")
    yield svg.line(bike.grip + 0.06, bike.grip + 0.22, "thin dash")
    yield _arc(bike.grip, 0.17, 0.0, -bike.lever_angle)


def _labels(scene: _Scene, show: Sequence[Layer], size: float) -> Iterator[Label]:
    bike = scene.bike
    if "loads" in show:
        total = scene.front_load + scene.rear_load
        for name, x, load, toward in (
            ("Rear", bike.rear_axle.real, scene.rear_load, math.pi),
            ("Front", scene.front_contact.real, scene.front_load, 0.0),
        ):
            words = (f"{name} {_percent(load / total)}", _kilograms(load))
            anchor = complex(x, -0.02 - _ARROW * load * 0.5)
            yield Label(words, anchor, size, toward, 0.025, "label strong", 3.0)
    if "sag" in show and bike.fork_travel > 0:
        high, low = _sag_line(bike)
        share = bike.fork_compression / bike.fork_travel
        words = (f"Fork {_millimetres(bike.fork_compression)}", f"{_percent(share)} sag")
        yield Label(words, (high + low) / 2, size, 0.1, 0.03, "label strong", 2.6)
    if "sag" in show and bike.rear_travel > 0:
        link = bicycle.linkage(bike)
        share = scene.shock_sag / bike.shock_stroke
        words = (
            f"Shock {_millimetres(scene.shock_sag)}",
            f"{_percent(share)} sag",
            f"wheel {_millimetres(scene.rear_sag)}",
        )
        middle = (link.upper_eye + link.lower_eye) / 2
        yield Label(words, middle, size, -0.6, 0.03, "label strong", 2.5)
    if "angles" in show and "rider" in show:
        yield from _angle_labels(scene, size)
    if "levers" in show:
        way = cmath.rect(1.0, -bike.lever_angle / 2)
        words = (f"Levers {_degrees(bike.lever_angle)} down",)
        yield Label(words, bike.grip + way * 0.17, size, -bike.lever_angle / 2, 0.03)
    if "lengths" in show and scene.posture == "seated":
        high, low = _saddle_line(bike)
        words = (f"Saddle {_millimetres(abs(high - low))}",)
        anchor = high * 0.72 + low * 0.28 + _saddle_aside(bike)
        yield Label(words, anchor, size, math.pi, 0.022, weight=1.6)
    if "lengths" in show:
        middle = (bike.rear_axle.real + bike.front_axle.real) / 2
        words = (f"Wheelbase {_millimetres(bike.front_axle.real - bike.rear_axle.real)}",)
        anchor = complex(middle, -_dimension_depth(scene))
        yield Label(words, anchor, size, -math.pi / 2, 0.016, weight=1.4)
        foot = complex(bike.bottom_bracket.real, bike.bottom_bracket.imag / 2)
        words = (f"BB {_millimetres(bike.bottom_bracket.imag)}",)
        yield Label(words, foot, size, 0.0, 0.016, weight=2.7)


def _angle_labels(scene: _Scene, size: float) -> Iterator[Label]:
    joints, angles = scene.joints, scene.angles
    trunk = cmath.phase(joints["shoulder"] - joints["hip"])
    if "trunk" in angles:
        anchor = joints["hip"] + cmath.rect(0.15, trunk / 2)
        yield Label((f"Trunk {_degrees(angles['trunk'])}",), anchor, size, trunk / 2, 0.02)
    if "elbow" in angles:
        yield Label((f"Elbow {_degrees(angles['elbow'])}",), joints["elbow"], size, 0.25, 0.05)
    if "hip" in angles:
        yield Label((f"Hip {_degrees(angles['hip'])}",), joints["hip"], size, math.pi, 0.125)
    leg = _bottom_leg(scene)
    if leg is not None:
        words = (f"Knee {_degrees(angles['knee_bottom'])}", "at the bottom")
        yield Label(words, leg[1], size, math.pi, 0.06, weight=1.2)


def _placed(scene: _Scene, show: Sequence[Layer], size: float, view: Box) -> tuple[Placed, ...]:
    labels = tuple(_labels(scene, show, size))
    return place(labels, _busy(scene, show), view, _taken(scene, show))


def _busy(scene: _Scene, show: Sequence[Layer]) -> list[Point]:
    """Points along every stroke that words should not cover."""
    strokes = list(bicycle.lines(scene.bike))
    if "rider" in show:
        joints = scene.joints
        for names in (
            ("hip", "shoulder", "elbow", "hand"),
            ("hip", "knee_front", "ankle_front", "ball_front"),
            ("hip", "knee_rear", "ankle_rear", "ball_rear"),
        ):
            chain = [joints[name] for name in names]
            strokes += list(zip(chain, chain[1:], strict=False))
    if "loads" in show:
        strokes.append((scene.mass_centre, complex(scene.mass_centre.real, 0.0)))
    if "lengths" in show:
        strokes.append((scene.bike.bottom_bracket, complex(scene.bike.bottom_bracket.real, 0.0)))
        low_line = -1j * _dimension_depth(scene)
        strokes.append((scene.bike.rear_axle.real + low_line, scene.front_contact + low_line))
        high, low = (end + _saddle_aside(scene.bike) for end in _saddle_line(scene.bike))
        strokes.append((high, low))
    if scene.bike.rear_travel > 0:
        link = bicycle.linkage(scene.bike)
        strokes += [(link.upper_eye, link.lower_eye), (link.stay, scene.bike.rear_axle)]
    leg = _bottom_leg(scene) if "angles" in show else None
    if leg is not None:
        strokes += [(leg[0], leg[1]), (leg[1], leg[2])]
    if "sag" in show and scene.bike.fork_travel > 0:
        strokes.append(_sag_line(scene.bike))
    if "levers" in show:
        way = cmath.rect(1.0, -scene.bike.lever_angle)
        grip = scene.bike.grip
        strokes += [(grip, grip + way * 0.26), (grip, grip + 0.22)]
        strokes.append((grip + way * 0.17, grip + 0.17))
    strokes.append((-0.5 + 0j, scene.front_contact + 0.5))
    points: list[Point] = []
    for start, end in strokes:
        count = max(2, round(abs(end - start) / 0.009))
        points += [start + (end - start) * step / count for step in range(count + 1)]
    return points


def _taken(scene: _Scene, show: Sequence[Layer]) -> list[Box]:
    """Areas where no words may stand at all: arrows and the head."""
    boxes = []
    if "loads" in show:
        for x, load in (
            (scene.bike.rear_axle.real, scene.rear_load),
            (scene.front_contact.real, scene.front_load),
        ):
            boxes.append(Box(x - 0.012, -0.02 - _ARROW * load, x + 0.012, 0.0))
    if "rider" in show:
        head, size = scene.joints["head"], 0.07 * scene.stature
        boxes.append(Box(head.real - size, head.imag - size, head.real + size, head.imag + size))
    return boxes


def _words(placed: Sequence[Placed]) -> str:
    leaders = [svg.line(item.leader[0], item.leader[1], "leader") for item in placed if item.leader]
    dots = [svg.circle(item.leader[0], 0.005, "leader-dot") for item in placed if item.leader]
    words = []
    for item in placed:
        label, box = item.label, item.box
        middle, anchor = _alignment(item)
        for index, line in enumerate(label.words):
            baseline = box.top - label.size * (0.72 + 1.16 * index)
            class_ = label.class_ if index == 0 else "label second"
            words.append(svg.text(line, complex(middle, baseline), label.size, class_, anchor))
    return svg.group((*leaders, *dots), "leaders") + svg.group(words, "words")


def _alignment(item: Placed) -> tuple[float, str]:
    """Lines of one label align on the side towards what they name."""
    box, anchor = item.box, item.label.anchor
    if len(item.label.words) == 1 or box.left <= anchor.real <= box.right:
        return (box.left + box.right) / 2, "middle"
    return (box.left, "start") if anchor.real < box.left else (box.right, "end")


def _ground(scene: _Scene, extent: Box) -> str:
    left, right = extent.left + 0.02, extent.right - 0.02
    return svg.group((svg.line(complex(left, 0), complex(right, 0), "ground-line"),), "ground")


def _scale(scene: _Scene, extent: Box, size: float, changed: bool, sag: bool) -> str:
    """A bar of half a metre in tenths, and what the dashed outline means."""
    y = extent.bottom + 0.035
    left = extent.left + 0.03
    parts = []
    for index in range(5):
        box = [
            complex(left + index * 0.1 + x, y + h)
            for x, h in ((0, 0), (0.1, 0), (0.1, 0.012), (0, 0.012))
        ]
        parts.append(
            svg.path(svg.polyline(box, closed=True), "scale-on" if index % 2 == 0 else "scale-off")
        )
    small = size * 0.86
    parts.append(svg.text("0", complex(left, y + 0.024), small, "label second", "middle"))
    parts.append(
        svg.text("500 mm", complex(left + 0.5, y + 0.024), small, "label second", "middle")
    )
    ghost = "as it was before" if changed else "bike unloaded" if sag else ""
    words = f"rider {scene.posture}" + (f"; dashed: {ghost}" if ghost else "")
    if words:
        at = complex(extent.right - 0.03, y)
        parts.append(svg.text(words, at, small, "label second", "end"))
    return svg.group(parts, "scale")


def _view(scene: _Scene, show: Sequence[Layer]) -> Box:
    """What has to be seen, with room for words at the sides."""
    bike = scene.bike
    tops = [bike.grip.imag, bike.saddle.imag, bike.front_radius * 2]
    if "rider" in show:
        tops += [scene.joints["head"].imag + 0.075 * scene.stature, scene.joints["shoulder"].imag]
    deep = _dimension_depth(scene) + 0.075 if "lengths" in show else 0.09
    if "loads" in show:
        deep = max(deep, 0.04 + _ARROW * max(scene.front_load, scene.rear_load))
    return Box(
        bike.rear_axle.real - bike.rear_radius - 0.09,
        -deep,
        bike.front_axle.real + bike.front_radius + 0.09,
        max(tops) + 0.05,
    )


def _extent(view: Box, placed: Sequence[Placed]) -> Box:
    """The view grown until every word is inside, and a strip for the scale below."""
    boxes = [view, *(item.box for item in placed)]
    margin = 0.03
    return Box(
        min(view.left, *(box.left - margin for box in boxes)),
        min(view.bottom, *(box.bottom - margin for box in boxes)) - 0.075,
        max(view.right, *(box.right + margin for box in boxes)),
        max(view.top, *(box.top + margin for box in boxes)),
    )


def _dimension_depth(scene: _Scene) -> float:
    return 0.055


def _saddle_line(bike: Bike) -> tuple[Point, Point]:
    """From the bottom bracket to where the post's axis meets the saddle's top."""
    along = ((bike.saddle - bike.seat_clamp) * bike.post_way.conjugate()).real
    return bike.seat_clamp + bike.post_way * along, bike.bottom_bracket


def _sag_line(bike: Bike) -> tuple[Point, Point]:
    """Beside the fork: the seal now, and where it stood along the stanchion unloaded."""
    seal = bicycle.fork_seal(bike) - 1j * bike.axis * 0.060
    return seal, seal - bike.axis * bike.fork_compression


def _saddle_aside(bike: Bike) -> Point:
    """How far behind the post the saddle's height is drawn."""
    high, low = _saddle_line(bike)
    return _unit(high - low) * 0.165j


def _dimension(start: Point, end: Point, head: float) -> Iterator[str]:
    yield svg.line(start, end, "dimension")
    for tip, way in ((start, _unit(start - end)), (end, _unit(end - start))):
        yield _head(tip, way, head)


def _span(start: Point, end: Point) -> Iterator[str]:
    """A short length between two ticks, where arrowheads would not fit."""
    side = _unit(end - start) * 1j * 0.016
    strokes = [(start, end), *((tip - side, tip + side) for tip in (start, end))]
    for class_ in ("halo", "dimension"):
        for one, two in strokes:
            yield svg.line(one, two, class_)


def _arrow(start: Point, end: Point, head: float) -> str:
    way = _unit(end - start)
    return svg.line(start, end - way * head * 0.8, "load") + _head(end, way, head, 0.42)


def _head(tip: Point, way: Point, length: float, slim: float = 0.28) -> str:
    side = way * 1j * length * slim
    back = tip - way * length
    return svg.path(svg.polyline([tip, back + side, back - side], closed=True), "arrowhead")


def _arc(centre: Point, radius: float, start: float, end: float) -> str:
    return svg.path(svg.arc_path(centre, radius, start, end), "arc")


def _unit(vector: Point) -> Point:
    return vector / abs(vector)


def _point(array: Any) -> Point:
    return complex(float(array[0][0]), float(array[0][1]))


def _first(array: Any) -> float:
    return float(array[0])


def _millimetres(length: float) -> str:
    return f"{length * 1000:.0f} mm"


def _percent(share: float) -> str:
    return f"{share * 100:.0f}\u00a0%"


def _kilograms(load: float) -> str:
    return f"{load / _GRAVITY:.0f} kg"


def _degrees(angle: float | None) -> str:
    return "unknown" if angle is None else f"{math.degrees(angle):.0f}°"
