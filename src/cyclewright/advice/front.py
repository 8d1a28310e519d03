"""The front end on paper: stem on bar and steerer, the steerer's stack and gap, bar and grips."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from cyclewright.knowledge import rules
from cyclewright.setting import Finding, Question
from cyclewright.units import show

if TYPE_CHECKING:
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.units import Quantity

Said = Iterator[Finding | Question]


def clamps(sheets: Sheets) -> Said:
    """The stem's two clamps on the tubes that they were made for."""
    cockpit, fork = sheets.bike.cockpit, sheets.bike.fork
    pairs = (
        ("bar-clamp", "bar", cockpit.bar_diameter, "bike.cockpit.bar_diameter",
         cockpit.stem_bar_diameter, "bike.cockpit.stem_bar_diameter"),
        ("steerer-clamp", "steerer", fork.steerer_diameter, "bike.fork.steerer_diameter",
         cockpit.stem_steerer_diameter, "bike.cockpit.stem_steerer_diameter"),
    )  # fmt: skip
    for code, name, tube, tube_field, clamp, clamp_field in pairs:
        if tube is None or clamp is None:
            continue
        if abs(tube.value - clamp.value) <= rules.rule("diameter_fit").value + 1e-9:
            continue
        thinner = tube.value < clamp.value
        yield Finding(
            code,
            "stop",
            (f"{name}: {_fine(tube.value)}", f"the stem clamps {_fine(clamp.value)}"),
            "A clamp holds the diameter that it was bored for, no other.",
            f"Fit a stem made for this {name}"
            + (", or a shim that both makers allow." if thinner else "."),
            (tube_field, clamp_field),
        )


def stack(sheets: Sheets) -> Said:
    """Spacers under the stem inside the limits of frame and fork, and one over it on carbon."""
    frame, fork, cockpit = sheets.bike.frame, sheets.bike.fork, sheets.bike.cockpit
    carbon = fork.material_steerer == "carbon"
    owners = (
        ("frame", "bike.frame.steerer_stack_max", frame.steerer_stack_max),
        ("fork", "bike.fork.steerer_stack_max", fork.steerer_stack_max),
    )
    stated = [(limit.value, owner, field) for owner, field, limit in owners if limit is not None]
    if carbon and not stated:
        yield Question(
            "bike.frame.steerer_stack_max",
            "How many millimetres of spacers does the maker allow under the stem?",
            "A carbon steerer has a greatest stack, and nobody may guess it.",
        )
    under, over = cockpit.spacers_under, cockpit.spacers_over
    if under is not None and stated:
        yield from _too_tall(under, *min(stated))
    least = fork.steerer_stack_min
    if under is not None and least is not None and under.value < least.value - 1e-6:
        yield Finding(
            "steerer-stack-low",
            "stop",
            (f"spacers under the stem: {_mm(under)}", f"least, by the fork's maker: {_mm(least)}"),
            "The stem clamps where the steerer is backed from inside, and no lower.",
            f"Put {_mm(least.value - under.value)} of spacers more under the stem.",
            ("bike.cockpit.spacers_under", "bike.fork.steerer_stack_min"),
        )
    if carbon and over is not None and over.value < 1e-6:
        yield Finding(
            "spacer-over-carbon",
            "warn",
            ("steerer: carbon", "spacers over the stem: none"),
            "On a carbon steerer a spacer stands above the stem, so that the clamp does not "
            "bear on the steerer's cut edge (common practice; the fork's maker wins).",
            "Put a spacer of 5 mm above the stem, or show the maker's word that none is wanted.",
            ("bike.cockpit.spacers_over", "bike.fork.material_steerer"),
        )


def _too_tall(under: Quantity, most: float, owner: str, field: str) -> Said:
    if under.value <= most + 1e-6:
        return
    yield Finding(
        "steerer-stack",
        "stop",
        (
            f"spacers under the stem: {_mm(under)}",
            f"most allowed by the {owner}'s maker: {_mm(most)}",
        ),
        "The stack under the stem stays within the maker's limit, the lower of frame and fork.",
        f"Move {_mm(under.value - most)} of spacers above the stem; a bar with more rise "
        "wins the height back.",
        ("bike.cockpit.spacers_under", field),
    )


def gap(sheets: Sheets) -> Said:
    """How far the steerer ends under the top: as measured, and as its parts add up."""
    stated, drawn = sheets.bike.cockpit.steerer_gap, _drawn_gap(sheets)
    fields = ["bike.cockpit.steerer_gap"] if stated is not None else list(_GAP)
    value = stated.value if stated is not None else drawn
    if value is None:
        return
    allowed = rules.rule("gap_closure").value
    if stated is not None and drawn is not None and abs(stated.value - drawn) > allowed:
        yield Finding(
            "steerer-length",
            "warn",
            (f"gap on the sheet: {_mm(stated)}", f"gap by the parts' heights: {_mm(drawn)}"),
            f"Head tube, headset, spacers and stem add up to the steerer within {_mm(allowed)}.",
            "Measure the gap with the top cap off, and read the spacers again.",
            ("bike.cockpit.steerer_gap", *_GAP),
        )
    low, usual = rules.rule("stem_gap_low").value, rules.rule("stem_gap_high").value
    most = rules.rule("stem_gap_max")
    facts = (
        f"top of stem or spacer down to the steerer: {_mm(value)}",
        f"wanted: {_mm(low)} to {_mm(usual)}, never more than {_mm(most.value)} ({most.source})",
    )
    rule = "With less the cap bottoms on the steerer, with more the stem grips air."
    if value > most.value + 1e-6:
        do = "Take spacers out, or fit a fork with a longer steerer; do not ride it."
        yield Finding("steerer-gap", "stop", facts, rule, do, tuple(fields))
    elif value < low - 1e-6:
        do = f"Put {_mm(low - value)} to {_mm(usual - value)} of spacers more on top."
        yield Finding("steerer-gap", "stop", facts, rule, do, tuple(fields))


_GAP = (
    "bike.fork.steerer_length",
    "bike.frame.head_tube",
    "bike.frame.headset_height",
    "bike.cockpit.stem_clamp_height",
    "bike.cockpit.spacers_under",
    "bike.cockpit.spacers_over",
)


def _drawn_gap(sheets: Sheets) -> float | None:
    """Gap that the heights leave [m]; None while one of them is not known."""
    frame, fork, cockpit = sheets.bike.frame, sheets.bike.fork, sheets.bike.cockpit
    heights = (
        frame.head_tube,
        frame.headset_height,
        cockpit.spacers_under,
        cockpit.stem_clamp_height,
        cockpit.spacers_over,
    )
    if fork.steerer_length is None or any(item is None for item in heights):
        return None
    return sum(item.value for item in heights if item is not None) - fork.steerer_length.value


def bar(sheets: Sheets) -> Said:
    """The bar's overall width inside the standard's."""
    width = sheets.bike.cockpit.bar_width
    least, most = rules.rule("bar_width_min"), rules.rule("bar_width_max")
    if width is None or least.value - 1e-6 <= width.value <= most.value + 1e-6:
        return
    yield Finding(
        "bar-width",
        "stop",
        (f"bar: {_mm(width)} wide", f"allowed: {_mm(least.value)} to {_mm(most.value)}"),
        f"A handlebar is between {_mm(least.value)} and {_mm(most.value)} wide ({least.source}).",
        "Measure it end to end, and fit another bar if that is what it is.",
        ("bike.cockpit.bar_width",),
    )


def grips(sheets: Sheets) -> Said:
    """Grips over the saddle, the bar at its highest and the saddle at its lowest."""
    over = _grips_over_saddle(sheets)
    american = sheets.place.country == "US"
    limit = rules.rule("grip_over_saddle_us" if american else "grip_over_saddle")
    if over is None or over <= limit.value:
        return
    yield Finding(
        "grip-height",
        "stop",
        (
            f"grips over the saddle, bar highest and saddle lowest: {_mm(over)}",
            f"allowed: {_mm(limit.value)}",
        ),
        f"The grips stand at most {_mm(limit.value)} over the saddle ({limit.source}).",
        "Fit a lower bar or fewer spacers; read stack, rise and seat tube again.",
        (
            "bike.cockpit.bar_rise",
            "bike.cockpit.spacers_over",
            "bike.frame.stack",
            "bike.frame.seat_tube",
        ),
    )


def _grips_over_saddle(sheets: Sheets) -> float | None:
    """Grips over the saddle [m] with every spacer under the stem and the post all the way in."""
    frame, cockpit, saddle = sheets.bike.frame, sheets.bike.cockpit, sheets.bike.saddle
    wanted = (frame.stack, frame.head_angle, frame.seat_tube, frame.seat_angle_actual)
    if any(item is None for item in (*wanted, cockpit.bar_rise, saddle.height)):
        return None
    stack_, head, tube, seat = (float(item) for item in wanted if item is not None)
    spacers = sum(_si(item) for item in (cockpit.spacers_under, cockpit.spacers_over))
    along = _si(frame.headset_height) + spacers + _si(cockpit.stem_clamp_height) / 2
    tilt = math.pi / 2 - head + _si(cockpit.stem_angle)
    grip = stack_ + along * math.sin(head) + _si(cockpit.stem_length) * math.sin(tilt)
    lowest = (tube + _si(sheets.bike.post.head_height) + _si(saddle.height)) * math.sin(seat)
    return grip + _si(cockpit.bar_rise) - lowest


def _si(quantity: Quantity | None) -> float:
    return 0.0 if quantity is None else quantity.value


def _mm(length: float | Quantity) -> str:
    return f"{float(length) * 1000:.0f} mm"


def _fine(length: float) -> str:
    return show(length, "mm", 0.1)
