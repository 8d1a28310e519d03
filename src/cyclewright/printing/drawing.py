"""This rider on this bike, to scale: one SVG from the Solution, one user unit a millimetre.

Everything stands on classes, so that a page's stylesheet (`drawing.css`) colours it for light,
dark and print; `style=True` embeds that stylesheet for a file that has to stand alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from importlib import resources
from typing import TYPE_CHECKING, Literal

from cyclewright.printing import bicycle, figure, svg
from cyclewright.printing.bicycle import Details
from cyclewright.printing.callouts import callouts, description, words
from cyclewright.printing.marks import measures
from cyclewright.printing.placing import Box, Placed
from cyclewright.printing.scene import (
    ARROW,
    DIMENSION_DEPTH,
    USUAL,
    Layer,
    Scene,
    scene_of,
)

if TYPE_CHECKING:
    from cyclewright.solve.solution import Solution

Labels = Literal["page", "print", "phone", "none"]
OTHER_FONT = 0.2
"""How much wider words may be in a viewer that lacks the drawing's own font."""
TYPE_HEIGHT: dict[Labels, float] = {"page": 0.036, "print": 0.045, "phone": 0.074, "none": 0.036}
"""Height of the type on the bike's own scale [m]: small drawings need larger words."""


def bike_svg(
    solution: Solution,
    posture: str = "seated",
    show: Sequence[Layer] = USUAL,
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
    scene = scene_of(solution, posture, parts)
    ghost = _ghost(scene, before, show, parts)
    size, spare = TYPE_HEIGHT[labels], OTHER_FONT if style else 0.0
    view = _view(scene, show, 0.0 if labels == "none" else size)
    placed = () if labels == "none" else callouts(scene, show, size, view, spare)
    notes = _notes(scene, show, before is not None)
    extent = _extent(view, placed, len(notes) * size)
    layers = (
        _ground(extent),
        *_body_layers(scene, show, parts, f"{ident}-ground", ghost),
        measures(scene, show),
        words(placed),
        _scale(extent, size, notes),
    )
    head = (
        svg.element("title", svg.plain(title), id=f"{ident}-title"),
        svg.element("desc", svg.plain(description(scene)), id=f"{ident}-desc"),
        f"<style>{stylesheet(flat=True)}</style>" if style else "",
        f"<defs>{_above_ground(extent, f'{ident}-ground')}</defs>",
    )
    wide, high = extent.right - extent.left, extent.top - extent.bottom
    return svg.element(
        "svg",
        "".join((*head, *layers)),
        xmlns="http://www.w3.org/2000/svg",
        class_="cw-drawing",
        viewBox=_numbers(extent.left, -extent.top, wide, high),
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


def _ghost(scene: Scene, before: Solution | None, show: Sequence[Layer], details: Details) -> str:
    """What stood there before: another solution's bike and rider, else the bike unloaded."""
    if before is not None:
        earlier = scene_of(before, scene.posture, details)
        rider = figure.skeleton(earlier.joints) if "rider" in show else ""
        return svg.group((bicycle.outline(earlier.bike), rider), "before")
    rest = scene.bike.rest
    return "" if "sag" not in show or rest is None else bicycle.outline(rest)


def _body_layers(
    scene: Scene, show: Sequence[Layer], details: Details, clip: str, ghost: str
) -> Iterator[str]:
    """Rider behind, ghost, bike before, skeleton last: all stay readable where they cross."""
    bike = scene.bike
    if "rider" in show:
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
    if "angles" in show:
        yield svg.group((figure.skeleton(scene.joints),), "skeleton")


def _above_ground(extent: Box, ident: str) -> str:
    """A clip that cuts the tyres flat where they meet the ground."""
    area = svg.element(
        "rect",
        x=svg.number(extent.left * 1000),
        y=svg.number(-extent.top * 1000),
        width=svg.number((extent.right - extent.left) * 1000),
        height=svg.number(extent.top * 1000),
    )
    return svg.element("clipPath", area, id=ident)


def _ground(extent: Box) -> str:
    left, right = complex(extent.left + 0.02, 0.0), complex(extent.right - 0.02, 0.0)
    return svg.group((svg.line(left, right, "ground-line"),), "ground")


def _notes(scene: Scene, show: Sequence[Layer], changed: bool) -> tuple[str, ...]:
    """What cannot be reached, the posture, and what the dashed outline means."""
    ghost = "as it was before" if changed else "bike unloaded" if "sag" in show else ""
    said = f"rider {scene.posture}" + (f"; dashed: {ghost}" if ghost else "")
    return (f"out of reach: {scene.limit}", said) if scene.limit else (said,)


def _scale(extent: Box, size: float, notes: Sequence[str]) -> str:
    """A bar of half a metre in tenths, and the notes beside it."""
    start = complex(extent.left + 0.03, extent.bottom + 0.035)
    tenth = (0.0, 0.1, 0.1 + 0.012j, 0.012j)
    parts = [
        svg.path(
            svg.polyline([start + index * 0.1 + corner for corner in tenth], closed=True),
            "scale-off" if index % 2 else "scale-on",
        )
        for index in range(5)
    ]
    small, above = size * 0.86, start + 0.024j
    parts += [
        svg.text("0", above, small, "label second", "middle"),
        svg.text("500 mm", above + 0.5, small, "label second", "middle"),
    ]
    for line, said in enumerate(reversed(notes)):
        at = complex(extent.right - 0.03, start.imag + line * size)
        parts.append(svg.text(said, at, small, "label second", "end"))
    return svg.group(parts, "scale")


def _view(scene: Scene, show: Sequence[Layer], size: float) -> Box:
    """What has to be seen, with room for words at the sides and for two lines under the ground."""
    bike = scene.bike
    tops = [bike.grip.imag, bike.saddle.imag, bike.front_radius * 2]
    if "rider" in show:
        tops += [scene.joints["head"].imag + 0.075 * scene.stature, scene.joints["shoulder"].imag]
    deep = DIMENSION_DEPTH + 0.03 + 1.5 * size if "lengths" in show else 0.09
    if "loads" in show:
        deep = max(deep, 0.04 + ARROW * max(scene.front_load, scene.rear_load), 0.03 + 3.0 * size)
    return Box(
        bike.rear_axle.real - bike.rear_radius - 0.09,
        -deep,
        bike.front_axle.real + bike.front_radius + 0.09,
        max(tops) + 0.05,
    )


def _extent(view: Box, placed: Sequence[Placed], notes: float) -> Box:
    """The view grown until every word is inside, and a strip for scale and notes below."""
    boxes = [view, *(item.box for item in placed)]
    margin = 0.03
    return Box(
        min(view.left, *(box.left - margin for box in boxes)),
        min(view.bottom, *(box.bottom - margin for box in boxes)) - max(0.075, 0.025 + notes),
        max(view.right, *(box.right + margin for box in boxes)),
        max(view.top, *(box.top + margin for box in boxes)),
    )


def _numbers(*lengths: float) -> str:
    """Lengths in metres as millimetres in a row."""
    return " ".join(svg.number(length * 1000) for length in lengths)
