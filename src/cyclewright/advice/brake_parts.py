"""Brakes on paper: rotors against fork, frame, mount, adapter and caliper; fluids and hoses."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from cyclewright.advice.parts import ENDS, End
from cyclewright.knowledge import rules
from cyclewright.setting import Finding, Question
from cyclewright.units import show

if TYPE_CHECKING:
    from cyclewright.sheets.bike import Brake, Fork, Frame
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.units import Quantity

Said = Iterator[Finding | Question]


def rotors(sheets: Sheets) -> Said:
    """Each rotor against fork or frame, its mount and adapter, its caliper and its own mark."""
    bike = sheets.bike
    for end in ENDS:
        brake: Brake = getattr(bike.brake, end)
        part = "fork" if end == "front" else "frame"
        holder: Fork | Frame = bike.fork if end == "front" else bike.frame
        yield from _rotor_limit(end, brake, part, holder.rotor_max)
        yield from _adapter(end, brake, part, holder.rotor_mount_size)
        yield from _thickness(end, brake)


def _rotor_limit(end: End, brake: Brake, part: str, limit: Quantity | None) -> Said:
    size = brake.rotor_diameter
    if size is None or limit is None or size.value <= limit.value + 5e-4:
        return
    near = size.value - limit.value < 5e-3
    yield Finding(
        "rotor-size",
        "stop",
        (f"{end} rotor: {_mm(size.value)}", f"most for the {part}: {_mm(limit.value)}"),
        "A rotor is no larger than the maker of fork or frame allows."
        + (" Sizes 3 mm apart need different adapters." if near else ""),
        f"Fit a rotor of {_mm(limit.value)} or smaller, with its own adapter.",
        (f"bike.brake.{end}.rotor_diameter", f"bike.{part}.rotor_max"),
    )


def _adapter(end: End, brake: Brake, part: str, mount: Quantity | None) -> Said:
    """The adapter is the rotor's; without one the mount is; and a mount takes nothing smaller."""
    size, adapter = brake.rotor_diameter, brake.rotor_adapter
    fit = rules.rule("rotor_fit").value
    if size is None:
        return
    fact = f"{end} rotor: {_mm(size.value)}"
    rule = "Adapter, mount and rotor belong together: 200 mm is not 203 mm."
    mount_field = f"bike.{part}.rotor_mount_size"
    rotor_field = f"bike.brake.{end}.rotor_diameter"
    if adapter is not None and abs(adapter.value - size.value) > fit:
        yield Finding(
            "rotor-adapter",
            "stop",
            (fact, f"its adapter is made for {_mm(adapter.value)}"),
            rule,
            f"Fit the adapter for {_mm(size.value)}, or the rotor that this one is made for.",
            (rotor_field, f"bike.brake.{end}.rotor_adapter"),
        )
    elif mount is not None and size.value < mount.value - fit:
        yield Finding(
            "rotor-mount",
            "stop",
            (fact, f"the {part}'s mount begins at {_mm(mount.value)}"),
            "An adapter moves a caliper outwards only: no rotor is smaller than the mount's own.",
            f"Fit a rotor of {_mm(mount.value)} or larger.",
            (rotor_field, mount_field),
        )
    elif mount is not None and adapter is None and size.value > mount.value + fit:
        yield Finding(
            "rotor-adapter",
            "warn",
            (fact, f"the {part}'s mount takes {_mm(mount.value)}, and no adapter is listed"),
            rule,
            f"Find the adapter from {_mm(mount.value)} to {_mm(size.value)} in the carton.",
            (rotor_field, f"bike.brake.{end}.rotor_adapter", mount_field),
        )


def _thickness(end: End, brake: Brake) -> Said:
    """The new rotor between what the caliper takes, and the mark that says when it is worn."""
    thick, field = brake.rotor_thickness, f"bike.brake.{end}.rotor_thickness"
    if thick is None:
        return
    rule = "Pads and pistons reach only rotors of the thickness that the caliper is made for."
    bounds = (
        ("caliper_rotor_max", brake.caliper_rotor_max, 1, "at most", "a thinner"),
        ("caliper_rotor_min", brake.caliper_rotor_min, -1, "at least", "a thicker"),
    )
    for name, limit, way, word, other in bounds:
        if limit is None or way * (thick.value - limit.value) <= 2e-5:
            continue
        yield Finding(
            "rotor-thickness",
            "stop",
            (
                f"{end} rotor: {show(thick.value, 'mm', 0.05)} thick when new",
                f"the caliper takes {word} {show(limit.value, 'mm', 0.05)}",
            ),
            rule,
            f"Fit {other} rotor, or the caliper that this one belongs to.",
            (field, f"bike.brake.{end}.{name}"),
        )
    if brake.rotor_min is None and thick.value > rules.rule("rotor_unmarked").value + 2e-5:
        yield Question(
            f"bike.brake.{end}.rotor_min",
            f"Which least thickness is marked on the {end} rotor, or given by its maker?",
            "The habit of 1.5 mm holds only for a rotor of 1.8 mm; a thicker one has its own.",
        )


def fluids(sheets: Sheets) -> Said:
    """Two brakes with fluids that may never meet on one bench."""
    front, rear = sheets.bike.brake.front, sheets.bike.brake.rear
    if front.fluid is None or rear.fluid is None or front.fluid == rear.fluid:
        return
    known = rules.fluids()
    one, other = known[front.fluid], known[rear.fluid]
    yield Finding(
        "brake-fluids",
        "note" if one.family == other.family else "warn",
        (f"front brake: {front.fluid}", f"rear brake: {rear.fluid}"),
        f"Fluids need their own seals and are never mixed or swapped ({one.source}).",
        "Keep one bleed kit for each fluid, marked, and trust the mark on the lever.",
        ("bike.brake.front.fluid", "bike.brake.rear.fluid"),
    )


def brake_fluids(sheets: Sheets) -> Said:
    """Lever, caliper and hose of one brake made for the same fluid."""
    known = rules.fluids()
    for end in ENDS:
        brake: Brake = getattr(sheets.bike.brake, end)
        if brake.fluid is None:
            continue
        others = (
            ("brake-fluid-parts", "caliper", "caliper_fluid", brake.caliper_fluid),
            ("hose-fluid", "hose", "hose_fluid", brake.hose_fluid),
        )
        for code, part, field, fluid in others:
            if fluid is None or fluid == brake.fluid:
                continue
            apart = known[fluid].family != known[brake.fluid].family
            yield Finding(
                code,
                "stop" if apart else "note",
                (f"{end} lever: marked {brake.fluid}", f"{end} {part}: made for {fluid}"),
                f"Seals and hoses swell and fail in another fluid ({known[fluid].source}); the "
                "mark on the lever wins.",
                f"Do not fill it: find the {part} that belongs to this lever."
                if apart
                else f"Fill with {brake.fluid}, as the lever is marked.",
                (f"bike.brake.{end}.fluid", f"bike.brake.{end}.{field}"),
            )


def _mm(length: float) -> str:
    return f"{length * 1000:.0f} mm"
