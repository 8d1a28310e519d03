"""The rider's sheet: a person's measures, and what they ride and wish for."""

from __future__ import annotations

from typing import Annotated, Literal

from cyclewright.sheets import spec
from cyclewright.sheets.bike import Hands
from cyclewright.sheets.spec import Measure, Table

Ride = Literal["cross-country", "trail", "enduro", "park", "mixed"]
Ground = Literal["smooth", "mixed", "rough"]
InseamKind = Literal["firm", "light"]
Sex = Literal["M", "F"]


class Rider(Table):
    """A rider sheet."""

    name: Annotated[str | None, spec.text("What to call the rider")] = None
    mass: Annotated[
        Measure,
        spec.quantity(
            "mass", "The rider, with kit if mass_includes_kit says so", 15, 250, "ask", "always"
        ),
    ] = None
    kit_mass: Annotated[
        Measure,
        spec.quantity("mass", "Clothes, shoes, helmet, pack and water", 0, 40, "labelled default"),
    ] = None
    mass_includes_kit: Annotated[
        bool | None, spec.flag("Whether mass was taken with kit on", "labelled default")
    ] = None
    height: Annotated[
        Measure,
        spec.quantity("length", "Standing height without shoes", 1.0, 2.3, "ask", "always"),
    ] = None
    inseam: Annotated[
        Measure,
        spec.quantity("length", "Floor to crotch, without shoes", 0.35, 1.15, "labelled default"),
    ] = None
    inseam_kind: Annotated[
        InseamKind | None, spec.choice("Pressed up firmly or measured lightly", "labelled default")
    ] = None
    sex: Annotated[Sex | None, spec.choice("Which body survey to use; both if left out")] = None
    arm_length: Annotated[
        Measure,
        spec.quantity(
            "length", "Shoulder to the middle of a gripping hand, arm straight", 0.35, 1.0
        ),
    ] = None
    hand_length: Annotated[
        Measure, spec.length("Crease of the wrist to the tip of the middle finger", 110, 250)
    ] = None
    shoe_stack: Annotated[
        Measure,
        spec.length("Sole of the shoe under the ball of the foot", 5, 60, "labelled default"),
    ] = None
    power: Annotated[Measure, spec.quantity("power", "Power held for an hour", 30, 600)] = None
    ride: Annotated[Ride | None, spec.choice("What the bike is for", "labelled default")] = None
    ground: Annotated[Ground | None, spec.choice("How rough the ground is", "labelled default")] = (
        None
    )
    hands_wish: Annotated[
        Hands | None, spec.choice("The rider's own signed order for the front brake", "ask")
    ] = None
    sag_wish: Annotated[
        Measure, spec.quantity("ratio", "Sag the rider asks for, both ends", 0.05, 0.5)
    ] = None
