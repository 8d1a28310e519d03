"""Invented papers to look at: one bike of each document's data."""

from __future__ import annotations

import math

from fixture import TRAIL, Build, solution

from cyclewright.printing.bicycle import Details
from cyclewright.printing.data import (
    BikeFace,
    Caution,
    HandOver,
    PlanCard,
    PlanLine,
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

PSI = 6894.757293168361
MM = 1e-3
DEG = math.pi / 180

SHOP = ShopFace("Two Rivers Workshop", ("Old Mill Yard, Lower Fold", "mornings 8 to 12"))
BIKE = BikeFace(
    12,
    "Ferrow Tindale 140",
    "FT14-00872",
    (
        ("Serial", "FT14-00872"),
        ("Fork, rear", "150 / 140 mm"),
        ("Wheels", "29 × 2.4"),
        ("Front brake", "right hand"),
    ),
)
RIDER = RiderFace("M. Harrow", (("Rider with kit", "57 kg"), ("Height", "1.58 m")))


def setting(
    name: str,
    label: str,
    value: float | None,
    spread: float,
    scale: float,
    unit: str,
    display: str,
    graduation: float,
    basis: Basis = "model",
    limits: tuple[Limit, ...] = (),
) -> Setting:
    """A setting whose value and half interval are given in `scale`."""
    middle = value if value is not None else 0.0
    return Setting(
        name=name,
        value=None if value is None else value * scale,
        unit=unit,
        low=None if value is None else (middle - spread) * scale,
        high=None if value is None else (middle + spread) * scale,
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
    psi = ("Pa", "psi")
    fit = SettingBlock(
        "Fit",
        (
            SettingLine(
                setting("saddle_height", "Saddle height", 618, 9, MM, "m", "mm", 1.0), done=0.618
            ),
            SettingLine(
                setting("saddle_setback", "Saddle setback", 0, 8, MM, "m", "mm", 1.0), done=0.0
            ),
            SettingLine(
                setting("saddle_tilt", "Saddle tilt", -1, 1, DEG, "rad", "°", 0.5, "practice"),
                done=-1 * DEG,
            ),
            SettingLine(
                setting("post_insertion", "Post in frame", 192, 0, MM, "m", "mm", 1.0, "maker")
            ),
            SettingLine(
                setting("spacers_under", "Spacers under stem", 20, 10, MM, "m", "mm", 5.0),
                done=0.020,
            ),
            SettingLine(setting("bar_height", "Bar height", 1012, 14, MM, "m", "mm", 1.0)),
            SettingLine(
                setting("lever_angle", "Levers below level", 42, 5, DEG, "rad", "°", 1.0),
                done=42 * DEG,
            ),
            SettingLine(
                setting("lever_inboard", "Levers inboard", 22, 6, MM, "m", "mm", 1.0, "practice"),
                done=0.022,
            ),
        ),
    )
    tyres = SettingBlock(
        "Tyres",
        (
            SettingLine(
                setting("front_tyre_pressure", "Front", 18.5, 2.2, PSI, *psi, 0.5),
                done=18.5 * PSI,
            ),
            SettingLine(
                setting(
                    "rear_tyre_pressure", "Rear", 21, 2.6, PSI, *psi, 0.5,
                    limits=(Limit("tyre maker", "min", 20 * PSI, binds=True),),
                ),
                done=21 * PSI,
            ),
        ),
    )  # fmt: skip
    fork = SettingBlock(
        "Fork",
        (
            SettingLine(
                setting("fork_pressure", "Pressure", 58, 6, PSI, *psi, 1.0, "maker"), done=61 * PSI
            ),
            SettingLine(
                setting("fork_sag", "Sag, standing", 39, 5, MM, "m", "mm", 1.0),
                done=0.040,
                how="read",
            ),
            SettingLine(
                setting("fork_rebound", "Rebound", 11, 0, 1, "1", "clicks", 1.0, "maker"),
                done=11.0,
                role="rebound",
            ),
            SettingLine(
                setting("fork_compression", "Compression", 8, 0, 1, "1", "clicks", 1.0, "maker"),
                done=8.0,
                role="compression",
            ),
        ),
    )
    shock = SettingBlock(
        "Shock",
        (
            SettingLine(
                setting(
                    "shock_pressure", "Pressure", 125, 12, PSI, *psi, 5.0, "maker",
                    limits=(Limit("shock maker", "max", 300 * PSI),),
                ),
                done=130 * PSI,
            ),
            SettingLine(setting("shock_sag", "Sag, seated", 16, 2, MM, "m", "mm", 1.0), done=0.016, how="read"),
            SettingLine(setting("rear_wheel_sag", "Wheel at that sag", 42, 5, MM, "m", "mm", 1.0)),
            SettingLine(setting("shock_rebound", "Rebound", 7, 0, 1, "1", "clicks", 1.0, "maker"), done=7.0, role="rebound"),
            SettingLine(setting("shock_compression", "Compression", 5, 0, 1, "1", "clicks", 1.0, "practice"), done=5.0, role="compression"),
        ),
    )  # fmt: skip
    balance = SettingBlock(
        "Balance and geometry at sag",
        (
            SettingLine(
                setting("front_load_seated", "Front wheel, seated", 33, 2, 0.01, "1", "%", 1.0)
            ),
            SettingLine(
                setting("front_load_standing", "Front wheel, standing", 44, 4, 0.01, "1", "%", 1.0)
            ),
            SettingLine(
                setting("head_angle_at_sag", "Head angle", 65.3, 0.4, DEG, "rad", "°", 0.1)
            ),
            SettingLine(setting("trail_at_sag", "Trail", 122, 4, MM, "m", "mm", 1.0)),
            SettingLine(
                setting("bb_height_at_sag", "Bottom bracket height", 287, 4, MM, "m", "mm", 1.0)
            ),
        ),
    )
    return (tyres, fork, shock, fit, balance)


def torques() -> tuple[TorqueLine, ...]:
    """A bike's fasteners, front to back."""
    rows = (
        ("Front axle", "10 to 12", "fork maker", "11.0", "11.0", "6 mm hex", "grease", "set"),
        ("Front rotor bolts (6)", "6.2", "rotor maker", "6.2", "6.2", "T25", "threadlock", "set"),
        ("Front caliper bolts", "6 to 8", "brake maker", "7.0", "7.0", "5 mm hex", "dry", "set"),
        (
            "Stem faceplate (4)",
            "5",
            "bar and stem makers",
            "4.7",
            "4.7",
            "4 mm hex",
            "paste",
            "set",
        ),
        ("Stem pinch bolts (2)", "5 to 6", "stem maker", "5.5", "5.5", "4 mm hex", "grease", "set"),
        ("Brake lever clamps", "max 4", "brake maker", "3.7", "3.7", "4 mm hex", "dry", "set"),
        ("Seat clamp", "max 6", "frame maker", "5.6", "5.6", "5 mm hex", "paste", "set"),
        ("Saddle clamp", "8 to 10", "post maker", "9.0", "9.0", "5 mm hex", "grease", "set"),
        (
            "Main pivot",
            "14 to 16",
            "frame maker",
            "",
            "left bonded",
            "8 mm hex",
            "threadlock",
            "leave",
        ),
        ("Shock bolts", "10", "frame maker", "10.0", "10.0", "5 mm hex", "threadlock", "check"),
        ("Crank bolt", "48 to 54", "crank maker", "50", "50", "8 mm hex", "grease", "set"),
        ("Pedals", "35", "", "35", "35", "8 mm hex", "grease", "set"),
        ("Rear axle", "12 to 15", "frame maker", "13.5", "13.5", "6 mm hex", "grease", "set"),
        ("Rear rotor bolts (6)", "6.2", "rotor maker", "6.2", "6.2", "T25", "threadlock", "set"),
        ("Rear caliper bolts", "6 to 8", "brake maker", "7.0", "7.0", "5 mm hex", "dry", "set"),
        ("Hanger bolt", "", "frame maker", "", "not moved", "4 mm hex", "threadlock", "check"),
    )
    return tuple(
        TorqueLine(
            joint=joint,
            window=window,
            whose=whose or "common practice",
            set=set_to,
            recorded=recorded,
            tool=tool,
            compound=compound,
            verb=verb,
            place=index,
            is_default=not whose,
        )
        for index, (joint, window, whose, set_to, recorded, tool, compound, verb) in enumerate(rows)
    )


CAUTIONS = (
    Caution("stop", "Suspension air is at high pressure: only a suspension pump, never open a charged chamber."),
    Caution("check", "Both axles shut and both brakes firm before every ride."),
    Caution("know", "A first ride is on ground you know. New brakes bite later than they will."),
)  # fmt: skip


def hand_over(build: Build = TRAIL) -> HandOver:
    """A hand-over sheet with everything on it."""
    return HandOver(
        shop=SHOP,
        bike=BIKE,
        rider=RIDER,
        date="14 May 2031",
        drawing=bike_svg(
            solution(build),
            style=True,
            labels="print",
            details=Details(post_insertion=0.192, post_travel=0.15),
        ),
        blocks=blocks(),
        torques=torques(),
        work=(
            WorkLine("Receive and front end", "9 of 9", "Ada", "12 May 09:40"),
            WorkLine("Brakes", "7 of 7", "Ada", "12 May 10:25"),
            WorkLine("Wheels and tyres", "8 of 8", "Bo", "12 May 10:50"),
            WorkLine("Drive", "6 of 6", "Bo", "12 May 11:30"),
            WorkLine("Saddle, post, pedals", "5 of 5", "Ada", "12 May 11:45"),
            WorkLine("Base setting", "6 of 6", "Ada", "13 May 09:20"),
            WorkLine("Ride gate", "passed", "Ada", "13 May 09:41"),
            WorkLine("Prove", "4 of 4", "Bo", "13 May 10:30"),
            WorkLine("Release", "passed", "Ada", "14 May 16:02"),
        ),
        explained=(
            "Which hand works which brake: front on the right",
            "Axle levers and how they shut",
            "Sag ring, pump and where the clicks count from",
            "Dropper remote and post",
        ),
        handed_over=("Makers' manuals", "Suspension pump", "Spare hanger, small parts bag"),
        cautions=CAUTIONS,
        rechecks=(
            Recheck("28 May 2031", "Bolt round, spokes, brakes, sag read again. Free of charge."),
            Recheck("after the first ride", "axles, stem and bar bolts"),
        ),
        head="6f1c2a90d4be77815e03aa92bb1477f0c9d2e6510f3a48b7d1e5902c7a66e4f3",
        open_items=(),
        released_by="Ada Quill",
        checked_by="Bo Lindqvist",
        signature="8f2a 11c0 9be4 73d1",
    )


def plan() -> WallPlan:
    """A wall plan of a few cards, some lines done."""
    front = (
        PlanLine(
            "fork-direction",
            "Turn the fork to face forward without twisting the hoses; axle ahead of the steerer.",
            cautions=(Caution("check", "Caliper on the rider's left."),),
            record="photo",
            minutes=3,
            safety=True,
            done=True,
        ),
        PlanLine("headset-preload", "Set the headset preload until the play is gone.", "5 mm hex", "2", "common practice", minutes=3, safety=True),
        PlanLine("stem-pinch", "Tighten the stem's pinch bolts in turn.", "4 mm hex", "5.5", "stem maker", "grease", minutes=2, safety=True),
        PlanLine("faceplate", "Tighten the faceplate crosswise, gaps alike.", "4 mm hex", "4.7", "bar and stem makers", "paste", (Caution("stop", "A crushed or scored carbon bar is not ridden."),), minutes=4, safety=True),
    )  # fmt: skip
    brakes = (
        PlanLine("hands", "Swap the levers so that the front brake is on the right hand.", "4 mm hex", "3.7", "brake maker", minutes=12, safety=True),
        PlanLine("spacers-out", "Take the pad spacers out, slide the rotor between the pads.", minutes=2, cautions=(Caution("stop", "Never squeeze a lever without a rotor between the pads."),)),
        PlanLine("pump-up", "Pump both levers upright until firm, then hold hard for 30 s.", record="sink in mm", minutes=4, safety=True),
    )  # fmt: skip
    wheels = (
        PlanLine("tyre-direction", "Check the tyres' direction and that the beads sit all round.", minutes=3),
        PlanLine("front-axle", "Fit the front wheel, axle from the rider's left.", "6 mm hex", "11", "fork maker", "grease", minutes=2, safety=True),
        PlanLine("rear-axle", "Fit the rear wheel, chain on the smallest sprocket.", "6 mm hex", "13.5", "frame maker", "grease", minutes=3, safety=True),
    )  # fmt: skip
    cards = (
        PlanCard("Build", "Front end", front),
        PlanCard("Build", "Brakes", brakes),
        PlanCard("Build", "Wheels and tyres", wheels),
        PlanCard("Build", "Drive", tuple(PlanLine(f"d{i}", text, minutes=4) for i, text in enumerate(("Check the hanger with the gauge.", "Set the limits, then the indexing.", "Set the upper-pulley gap with the rider at sag.")))),
        PlanCard("Base", "Base setting", tuple(PlanLine(f"b{i}", text, minutes=5, record="mm") for i, text in enumerate(("Read fork sag standing.", "Read shock sag seated.")))),
        PlanCard("Prove", "Car-park ride", tuple(PlanLine(f"p{i}", text, minutes=6) for i, text in enumerate(("Bed the brakes in.", "Ride round the car park, all gears.")))),
    )  # fmt: skip
    questions = (("Rotor thickness the maker allows?", "worn rotors are replaced at it"),)
    return WallPlan(BIKE, "M. Harrow, 57 kg", cards, questions, "12 May 2031")


def torque_card() -> TorqueCard:
    """A torque card by tool."""
    return TorqueCard(BIKE, torques(), "12 May 2031")


def setting_card() -> SettingCard:
    """A card with every setting one sets by hand."""
    return SettingCard(BIKE, "M. Harrow, 57 kg with kit", blocks()[:4], "14 May 2031")


def sag_strip() -> SagStrip:
    """Strips for fork and shock."""
    hold = "Hold the top line to the seal after getting off gently: the ring stands in the grey."
    return SagStrip(
        BIKE,
        "M. Harrow, 57 kg with kit",
        (
            SagBand("Fork", 150, 39, 34, 44, "standing", hold),
            SagBand("Shock", 55, 16, 14, 18, "seated", hold),
        ),
    )


def tag(missing: tuple[str, ...] = ()) -> Tag:
    """A tag, or with something missing the one that forbids riding."""
    due = (Recheck("28 May 2031", "bolt round, spokes, sag"),)
    hands = "Front brake: right hand"
    return Tag(BIKE, "M. Harrow", blocks()[:3], hands, due, "6f1c2a90d4be7781", missing)


def tag_stop() -> Tag:
    """A tag that forbids riding."""
    return tag(("Front axle: torque not recorded", "Brakes held hard for 30 s"))
