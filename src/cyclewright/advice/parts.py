"""Parts against each other: tyres and rims, springs, threads and keys, posts, rails, spokes."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from cyclewright.knowledge import fasteners, rules
from cyclewright.mechanics import tyre as tyre_sums
from cyclewright.setting import Finding, Question
from cyclewright.units import show

if TYPE_CHECKING:
    from cyclewright.sheets.bike import ChartRow, Tyre, Wheel
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.units import Quantity

End = Literal["front", "rear"]
ENDS: tuple[End, End] = ("front", "rear")
Said = Iterator[Finding | Question]


def tyres(sheets: Sheets) -> Said:
    """Each tyre against its rim's seat, width and hooks, the frame or fork, and its pressures."""
    bike = sheets.bike
    for end in ENDS:
        tyre: Tyre = getattr(bike.tyre, end)
        wheel: Wheel = getattr(bike.wheel, end)
        yield from _bead(end, tyre, wheel)
        yield from _rim_width(end, tyre, wheel)
        yield from _hooks(end, tyre, wheel)
        yield from _pressures(end, tyre, wheel)
        room = bike.fork.tyre_clearance if end == "front" else bike.frame.tyre_clearance
        yield from _clearance(end, tyre, wheel, room)


def _bead(end: End, tyre: Tyre, wheel: Wheel) -> Said:
    if tyre.bead is None or wheel.bead is None or round(tyre.bead * 1000) == wheel.bead:
        return
    yield Finding(
        "tyre-bead",
        "stop",
        (
            f"{end} tyre {tyre.size}: bead seat {tyre.bead * 1000:.0f} mm",
            f"{end} rim: bead seat {wheel.bead} mm",
        ),
        "Tyre and rim have the same bead seat diameter (ISO 5775).",
        "Read both markings again and fit the tyre that belongs to the rim.",
        (f"bike.tyre.{end}.size", f"bike.wheel.{end}.bead"),
    )


def _rim_width(end: End, tyre: Tyre, wheel: Wheel) -> Said:
    if tyre.width is None or wheel.rim_width is None:
        return
    rim, row = wheel.rim_width.value, rules.tyre_on_rim(tyre.width)
    if row is None or row.rim_min - 1e-6 <= rim <= row.rim_max + 1e-6:
        return
    ratio = tyre.width / rim
    far = not (rules.rule("tyre_rim_tightest").value < ratio < rules.rule("tyre_rim_loosest").value)
    yield Finding(
        "tyre-rim-width",
        "stop" if far else "warn",
        (f"{end} tyre {tyre.size}: {_mm(tyre.width)} wide", f"{end} rim: {_mm(rim)} inside"),
        f"A tyre this wide suits rims of {_mm(row.rim_min)} to {_mm(row.rim_max)} "
        f"({row.source}); the makers' own tables win.",
        "Look the pair up in the tyre's and the rim's tables before it is mounted.",
        (f"bike.tyre.{end}.size", f"bike.wheel.{end}.rim_width"),
    )


def _hooks(end: End, tyre: Tyre, wheel: Wheel) -> Said:
    fields = (f"bike.wheel.{end}.hooked", f"bike.tyre.{end}.hookless_ok")
    if wheel.hooked is None:
        yield Question(
            fields[0],
            f"Has the {end} rim hooks for the tyre's bead?",
            "Without hooks the tyre needs its maker's approval and less pressure.",
            ("true", "false"),
        )
    elif not wheel.hooked and tyre.hookless_ok is None:
        yield Question(
            fields[1],
            f"Does the {end} tyre's maker approve it for rims without hooks?",
            "Without that approval there is no pressure at which it may be ridden.",
            ("true", "false"),
        )
    elif not wheel.hooked and not tyre.hookless_ok:
        yield Finding(
            "tyre-hookless",
            "stop",
            (f"{end} rim: without hooks", f"{end} tyre: not approved for rims without hooks"),
            "An unapproved tyre on a rim without hooks is a no, not a pressure.",
            "Fit a tyre that its maker approves for rims without hooks, or a hooked rim.",
            fields,
        )


def _pressures(end: End, tyre: Tyre, wheel: Wheel) -> Said:
    """The least pressure of the tyre under every ceiling of tyre and rim."""
    if tyre.pressure_min is None:
        return
    ceilings = [
        (f"the {end} tyre", f"bike.tyre.{end}.pressure_max", _maybe(tyre.pressure_max)),
        (f"the {end} rim", f"bike.wheel.{end}.pressure_max", _maybe(wheel.pressure_max)),
    ]
    if wheel.hooked is False:
        hookless = rules.rule("hookless_pressure")
        ceilings.append(
            (
                f"any rim without hooks ({hookless.source})",
                f"bike.wheel.{end}.hooked",
                hookless.value,
            )
        )
    stated = [(owner, field, value) for owner, field, value in ceilings if value is not None]
    if not stated:
        return
    owner, field, ceiling = min(stated, key=lambda item: item[2])
    if ceiling >= tyre.pressure_min.value:
        return
    yield Finding(
        "tyre-pressure-window",
        "stop",
        (
            f"least pressure of the {end} tyre: {show(tyre.pressure_min.value, 'bar', 0.1)}",
            f"most pressure of {owner}: {show(ceiling, 'bar', 0.1)}",
        ),
        "A tyre is ridden between its least pressure and the lowest of all ceilings.",
        "Read both markings again; if they hold, this tyre does not belong on this rim.",
        (f"bike.tyre.{end}.pressure_min", field),
    )


def _clearance(end: End, tyre: Tyre, wheel: Wheel, room: Quantity | None) -> Said:
    if tyre.width is None or room is None:
        return
    on_rim = tyre.width
    if wheel.rim_width is not None:
        on_rim = float(tyre_sums.section_on_rim(tyre.width, wheel.rim_width.value))
    if max(on_rim, tyre.width) <= room.value + 1e-6:
        return
    sure, part = tyre.width > room.value + 1e-6, "fork" if end == "front" else "frame"
    least = rules.rule("wheel_clearance")
    yield Finding(
        "tyre-clearance",
        "stop" if sure else "warn",
        (
            f"{end} tyre {tyre.size}: about {_mm(on_rim)} wide on this rim",
            f"the {part} lets through {_mm(room.value)} at most",
        ),
        f"At least {least.value * 1000:.1f} mm of room on each side ({least.source}), and the "
        f"{part} maker's own limit.",
        f"Fit a narrower tyre; the widest this {part} takes is {_mm(room.value)}."
        if sure
        else "Measure the inflated tyre and its room on both sides before the wheel goes in.",
        (f"bike.tyre.{end}.size", f"bike.{part}.tyre_clearance"),
    )


def springs(sheets: Sheets) -> Said:
    """Charts inside what fork and shock may hold; travel against stroke."""
    bike = sheets.bike
    fork, shock = bike.fork, bike.shock
    yield from _chart("fork", fork.chart, fork.pressure_max)
    yield from _chart("shock", shock.chart, shock.pressure_max)
    yield from _leverage(sheets)


def _chart(name: str, chart: tuple[ChartRow, ...], most: Quantity | None) -> Said:
    highest = max((row.pressure.value for row in chart if row.pressure), default=0.0)
    if most is None or highest <= most.value + 1.0:
        return
    yield Finding(
        "chart-pressure",
        "stop",
        (
            f"{name} chart goes to {show(highest, 'psi', 1.0)}",
            f"most the {name} may hold: {show(most.value, 'psi', 1.0)}",
        ),
        "The marked maximum is never passed.",
        "Find the chart of this very unit; the mark on the part wins over the booklet.",
        (f"bike.{name}.chart", f"bike.{name}.pressure_max"),
    )


def _leverage(sheets: Sheets) -> Said:
    """Wheel travel over shock stroke is a ratio that bikes have, and that the table has."""
    travel, stroke = sheets.bike.rear.travel, sheets.bike.shock.stroke
    if travel is None or stroke is None:
        return
    mean, rows = travel.value / stroke.value, sheets.bike.rear.leverage
    least, most = rules.rule("leverage_low").value, rules.rule("leverage_high").value
    facts = (f"rear travel: {_mm(travel.value)}", f"shock stroke: {show(stroke.value, 'mm', 0.5)}")
    if not least <= mean <= most:
        yield Finding(
            "travel-stroke",
            "warn",
            facts,
            f"Travel over stroke lies between {least:g} and {most:g} (common practice, no source).",
            "Read both again: the shock may be of another size than the frame was made for.",
            ("bike.rear.travel", "bike.shock.stroke"),
        )
    if len(rows) < 2:
        return
    table = _table_stroke([(row.travel, row.ratio) for row in rows], travel.value)
    if table is not None and abs(table / stroke.value - 1) > rules.rule("leverage_closure").value:
        yield Finding(
            "leverage-table",
            "warn",
            (*facts, f"the leverage table needs {show(table, 'mm', 0.5)} of stroke"),
            "A leverage table uses up the shock's stroke over the travel.",
            "Find the table of this very frame and shock; until then the mean is used.",
            ("bike.rear.leverage", "bike.shock.stroke", "bike.rear.travel"),
        )


def _table_stroke(
    rows: list[tuple[Quantity | None, Quantity | None]], travel: float
) -> float | None:
    """Stroke [m] that a leverage table uses up over the whole travel, by trapezoids."""
    points = sorted((z.value, ratio.value) for z, ratio in rows if z and ratio)
    if not points or points[0][0] > 0.05 * travel or points[-1][0] < 0.95 * travel:
        return None
    points[0] = (0.0, points[0][1])
    points[-1] = (travel, points[-1][1])
    pairs = pairwise(points)
    return sum((z1 - z0) * (1 / r0 + 1 / r1) / 2 for (z0, r0), (z1, r1) in pairs)


def threads(sheets: Sheets) -> Said:
    """Thread hands of the pedals, keys of the screws, the post's own diameter."""
    bike = sheets.bike
    for name, item in bike.fastener.items():
        side = _pedal_side(name)
        if side and item.hand is not None and item.hand != side:
            yield Finding(
                "pedal-thread",
                "stop",
                (f"{name}: thread marked {item.hand}-hand", f"the {side} pedal is {side}-hand"),
                "Pedals tighten towards the front: right-hand thread right, left-hand left.",
                "Read the mark on the spindle; a crossed pedal ruins the crank.",
                (f"bike.fastener.{name}.hand",),
            )
        key = fasteners.hex_key(item.thread or "", item.head or "")
        written = (item.drive or "").split()
        if key and len(written) > 1 and written[0] == "hex" and written[1] != key:
            yield Finding(
                "hex-key",
                "note",
                (f"{name}: {item.thread} {item.head} head", f"drive on the sheet: {item.drive}"),
                f"That screw takes a {key} mm hex key (ISO 4762, 7380, 10642).",
                "Try the key by hand before it is loaded: a loose key rounds the screw.",
                (f"bike.fastener.{name}.drive", f"bike.fastener.{name}.thread"),
            )
    tube, post = bike.frame.post_diameter, bike.post.diameter
    gap = 0.0 if tube is None or post is None else post.value - tube.value
    if abs(gap) > rules.rule("diameter_fit").value:
        assert tube is not None and post is not None
        yield Finding(
            "post-diameter",
            "stop",
            (f"post: {show(post.value, 'mm', 0.1)}", f"seat tube: {show(tube.value, 'mm', 0.1)}"),
            "Post and seat tube have the same diameter.",
            "Fit the post made for this seat tube"
            + (", or a shim that both makers allow." if gap < 0 else "."),
            ("bike.post.diameter", "bike.frame.post_diameter"),
        )


def rails(sheets: Sheets) -> Said:
    """The saddle's rails in jaws of their own shape and height."""
    saddle, post = sheets.bike.saddle, sheets.bike.post
    rule = "Jaws hold rails of their own section; others are held by two edges, and cut."
    do = "Fit the jaws that the post's maker sells for these rails, or a saddle with others."
    fields = ("bike.saddle.rail_{}", "bike.post.rail_{}")
    shapes = (saddle.rail_shape, post.rail_shape)
    if None not in shapes and shapes[1] not in ("any", shapes[0]):
        yield Finding(
            "rail-shape",
            "stop",
            (f"saddle rails: {shapes[0]}", f"the post's clamp: for {shapes[1]} rails"),
            rule,
            do,
            tuple(field.format("shape") for field in fields),
        )
        return
    own, jaw = saddle.rail_height, post.rail_height
    if own is None or jaw is None or post.rail_shape == "any":
        return
    if abs(own.value - jaw.value) > rules.rule("rail_fit").value:
        yield Finding(
            "rail-height",
            "stop",
            (
                f"saddle rails: {show(own.value, 'mm', 0.1)} high",
                f"the post's clamp: for {show(jaw.value, 'mm', 0.1)}",
            ),
            rule,
            do,
            tuple(field.format("height") for field in fields),
        )


def wheels(sheets: Sheets) -> Said:
    """As many spokes as the rim has holes."""
    for end in ENDS:
        wheel: Wheel = getattr(sheets.bike.wheel, end)
        if None in (wheel.spokes, wheel.hole_count) or wheel.spokes == wheel.hole_count:
            continue
        yield Finding(
            "spokes",
            "stop",
            (f"{end} wheel: {wheel.spokes} spokes", f"{end} rim: {wheel.hole_count} holes"),
            "No spoke is missing (16 CFR 1512.11(a)).",
            "Count both again; a wheel with a spoke missing is mended before it is fitted.",
            (f"bike.wheel.{end}.spokes", f"bike.wheel.{end}.hole_count"),
        )


def _pedal_side(name: str) -> Literal["left", "right"] | None:
    words = name.lower().replace("-", "_").split("_")
    if not {"pedal", "pedals"} & set(words):
        return None
    return "left" if "left" in words else "right" if "right" in words else None


def _maybe(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.value


def _mm(length: float) -> str:
    return f"{length * 1000:.0f} mm"
