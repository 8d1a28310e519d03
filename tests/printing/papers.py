"""Invented papers to look at: the data of every document."""

from __future__ import annotations

import io
import math

from cyclewright.printing.data import (
    BikeFace,
    BrakeCard,
    Caution,
    ClaimNote,
    ClaimPart,
    DamageRow,
    HandOver,
    HistoryLine,
    Picture,
    PlanCard,
    PlanLine,
    PositionMark,
    PositionMarks,
    Recheck,
    RiderFace,
    SagBand,
    SagStrip,
    SettingBlock,
    SettingCard,
    SettingLine,
    ShopFace,
    Tag,
    TorqueCard,
    TorqueLine,
    WallPlan,
    WorkLine,
)
from cyclewright.printing.drawing import bike_svg
from cyclewright.setting import Basis, Limit, Setting
from printing.bikes import solution

# SI in one unit of the display, and the SI unit's name
SCALE = {
    "psi": (6894.757293168361, "Pa"),
    "mm": (1e-3, "m"),
    "°": (math.pi / 180, "rad"),
    "%": (1e-2, "1"),
    "clicks": (1.0, "1"),
}
BIKE = BikeFace(12, "Ferrow Tindale 140", "FT14-00872", (("Travel", "150 / 140 mm"),))
WHO = "M. Harrow, 57 kg with kit"
HEAD = "6f1c2a90d4be77815e03aa92bb1477f0c9d2e6510f3a48b7d1e5902c7a66e4f3"


def setting(
    label: str,
    value: float | None,
    spread: float = 0.0,
    display: str = "mm",
    graduation: float = 1.0,
    basis: Basis = "model",
    limits: tuple[Limit, ...] = (),
) -> Setting:
    """A setting whose value and half interval are given in its display unit."""
    scale, unit = SCALE[display]
    ends = (None, None) if value is None else ((value - spread) * scale, (value + spread) * scale)
    return Setting(
        name=label.casefold().replace(" ", "_"),
        value=None if value is None else value * scale,
        unit=unit,
        low=ends[0],
        high=ends[1],
        basis=basis,
        source="invented",
        because="an example",
        display=display,
        graduation=graduation,
        label=label,
        limits=limits,
    )


def blocks() -> tuple[SettingBlock, ...]:
    """The settings of a whole bike, in the order of the sheet."""
    psi = SCALE["psi"][0]
    floor = Limit("tyre maker", "min", 20 * psi, binds=True)
    return (
        SettingBlock(
            "Tyres",
            (
                SettingLine(setting("Front", 18.5, 2.2, "psi", 0.5), 18.5 * psi),
                SettingLine(setting("Rear", 21, 2.6, "psi", 0.5, limits=(floor,)), 21 * psi),
            ),
        ),
        SettingBlock(
            "Fork",
            (
                SettingLine(setting("Pressure", 58, 6, "psi", basis="maker"), 61 * psi),
                SettingLine(setting("Sag, standing", 39, 5), 0.040, "read"),
                SettingLine(setting("Rebound", 11, 0, "clicks"), 11.0, role="rebound"),
                SettingLine(setting("Compression", 8, 0, "clicks"), role="compression"),
            ),
        ),
        SettingBlock(
            "Fit",
            (
                SettingLine(setting("Saddle height", 618, 9), 0.618),
                SettingLine(setting("Saddle tilt", -1, 1, "°", 0.5, "practice")),
                SettingLine(setting("Post in frame", None)),
            ),
        ),
    )


def torques() -> tuple[TorqueLine, ...]:
    """A few fasteners, front to back."""
    rows = (
        ("Front axle", "10.0 to 12.0", "fork", "11.0", "11.0", "6 mm hex", "grease", "set"),
        ("Stem faceplate", "4.7", "bar and stem", "4.7", "4.7", "4 mm hex", "paste", "set"),
        ("Lever clamps", "max 3.7", "brake lever", "3.7", "", "4 mm hex", "", "set"),
        ("Main pivot", "", "frame", "", "left bonded", "eyes", "", "leave"),
        ("Shock bolts", "10.0", "frame", "10.0", "not moved", "5 mm hex", "threadlock", "check"),
        ("Rear axle", "12.0", "frame", "12.0", "12.0", "6 mm hex", "grease", "set"),
    )
    return tuple(
        TorqueLine(joint, window, whose, set_to, done, tool, compound, verb, place)
        for place, (joint, window, whose, set_to, done, tool, compound, verb) in enumerate(rows)
    )


def hand_over(**more: object) -> HandOver:
    """A hand-over sheet with everything on it."""
    data: dict[str, object] = {
        "shop": ShopFace("Two Rivers Workshop", ("Old Mill Yard, Lower Fold",)),
        "bike": BIKE,
        "rider": RiderFace("M. Harrow", (("Rider with kit", "57 kg"),)),
        "date": "14 May 2031",
        "drawing": bike_svg(solution(), style=True, labels="print"),
        "blocks": blocks(),
        "torques": torques(),
        "work": (WorkLine("Brakes", "7 of 7", "Ada Quill", "12 May 10:25"),),
        "explained": ("Which hand works which brake.",),
        "handed_over": ("Makers' manuals",),
        "cautions": (
            Caution("stop", "Suspension air is at high pressure."),
            Caution("check", "Both axles shut and both brakes firm."),
            Caution("know", "A first ride is on ground you know."),
        ),
        "rechecks": (Recheck("28 May 2031", "Bolt round, spokes, brakes."),),
        "head": HEAD,
        "released_by": "Ada Quill",
        "checked_by": "Bo Lind",
        "signature": "8f2a11c09be473d1",
    }
    return HandOver(**{**data, **more})  # type: ignore[arg-type]


def plan(cards: int = 6) -> WallPlan:
    """A wall plan of a few cards, a line done."""
    lines = (
        PlanLine(
            "fork-direction",
            "Turn the fork to face forward without twisting the hoses.",
            cautions=(Caution("check", "Caliper on the rider's left."),),
            record="photo",
            minutes=3,
            safety=True,
            done=True,
        ),
        PlanLine("faceplate", "Tighten crosswise.", "4 mm hex", "4.7", "stem", "paste", minutes=4),
    )
    made = tuple(PlanCard("Build", f"Station {number}", lines) for number in range(1, cards + 1))
    return WallPlan(BIKE, WHO, made, (("Rotor thickness?", "worn rotors go"),), "12 May 2031")


def torque_card() -> TorqueCard:
    """A torque card by tool."""
    return TorqueCard(BIKE, torques(), "12 May 2031")


def setting_card() -> SettingCard:
    """A card with every setting one sets by hand."""
    return SettingCard(BIKE, WHO, blocks(), "14 May 2031")


def history(lines: int = 3) -> tuple[HistoryLine, ...]:
    """So many settings of a fork with the sag that each gave."""
    return tuple(
        HistoryLine("Fork", f"{90 - n} psi", f"{20 + n} mm", "14 May 31", "AQ")
        for n in range(lines)
    )


def sag_strip() -> SagStrip:
    """Strips for fork and shock."""
    hold = "Hold the top line to the seal: the ring stands in the grey."
    bands = (
        SagBand("Fork", 150, 39, 34, 44, "standing", hold),
        SagBand("Shock", 55, 16, 14, 18, "seated", hold),
    )
    return SagStrip(BIKE, WHO, bands)


def tag(missing: tuple[str, ...] = ()) -> Tag:
    """A tag, or with something missing the one that forbids riding."""
    due = (Recheck("28 May 2031", "bolt round, spokes, sag"),)
    return Tag(BIKE, WHO, blocks()[:2], "Front brake: right hand", due, HEAD, missing)


def photo(wide: int = 320, high: int = 200) -> bytes:
    """An invented photo."""
    from PIL import Image

    written = io.BytesIO()
    Image.new("RGB", (wide, high), (150, 120, 90)).save(written, "JPEG")
    return written.getvalue()


def claim(damages: int = 2) -> ClaimNote:
    """A claim with damage, a missing part and a photo."""
    rows = tuple(
        DamageRow("inside", f"rotor arm {n} bent", "14 May 2031") for n in range(1, damages + 1)
    )
    return ClaimNote(
        ShopFace("Ferrow Works", ("Hill Road 4",)),
        BIKE,
        "14 May 2031",
        "Hill Parcels",
        (("Sender", "Ferrow Cycles, Mill Lane 2"), ("Consignee", ""), ("Carrier", "Hill Parcels")),
        (("Consignment number", "HP 77 31"), ("Delivered", "12 May 2031")),
        ("Received unchecked: the contents were not looked at.",),
        rows,
        (ClaimPart("left pedal", "missing", "", "24 May 2031, seller"),),
        (Picture(photo(), "image/jpeg", "Damage: rotor arm 1 bent"),),
        "We give this notice within 3 days of delivery.",
        ("Sent 14 May 2031",),
        "M. Quill",
    )


def brake_card(order: bool = False) -> BrakeCard:
    """Brakes delivered on one hand and wanted on the other."""
    steps = ("Check the hoses for slack.", "Check the bleed ports.")
    route = "Move each lever with its hose to the other side of the bar."
    return BrakeCard(
        BIKE, "left", "right", "GB: law", True, route, steps, (), order, "M. Harrow", "14 May 2031"
    )


def position_marks() -> PositionMarks:
    """Labels for a journey."""
    marks = (
        PositionMark("Seat post in frame", "229 mm", "along the collar", True),
        PositionMark("Saddle tilt", "-1.0°", "from level"),
    )
    return PositionMarks(BIKE, WHO, marks, "14 May 2031")
