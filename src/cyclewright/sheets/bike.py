"""The bike's sheet: every part of it as it is on paper, each field described once."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from cyclewright.sheets import spec
from cyclewright.sheets.spec import Measure, Spec, Table
from cyclewright.units import Quantity, tyre_size

BikeKind = Literal["full-suspension", "hardtail", "rigid"]
Hands = Literal["front-left", "front-right"]
ForkKind = Literal["air", "coil", "rigid"]
ShockKind = Literal["air", "coil"]
Posture = Literal["standing", "seated"]
Material = Literal["alloy", "carbon", "steel", "titanium"]
Linkage = Literal["single-pivot", "rocker", "four-bar", "twin-link", "table", "mean"]
AxleKind = Literal["tool", "lever", "quick-release", "nuts"]
Casing = Literal["light", "trail", "heavy"]
PostKind = Literal["plain", "dropper", "integrated"]
Remote = Literal["inside", "outside", "wireless"]
RailShape = Literal["round", "oval"]
ClampShape = Literal["round", "oval", "any"]
AxleHead = Literal["flat", "conical"]
PedalKind = Literal["flat", "clip"]
PedalKey = Literal["hex-6", "hex-8", "spanner-15"]
BrakeKind = Literal["hydraulic", "cable"]
Lever = Literal["two-way", "one-way"]
Fluid = Literal["mineral", "dot3", "dot4", "dot5", "dot5.1"]
Coupling = Literal["open", "sealed"]
RotorMount = Literal["six-bolt", "spline"]
HoseRoute = Literal["outside", "inside", "headset"]
Pull = Literal["cable-normal", "cable-reverse", "electronic"]
ThreadHand = Literal["right", "left"]
Compound = Literal["grease", "anti-seize", "paste", "threadlock", "patch", "dry"]
Verb = Literal["set", "check", "leave"]


class Frame(Table):
    """The frame and its plane geometry, unloaded."""

    size: Annotated[str | None, spec.text("The maker's word for the frame's size")] = None
    material: Annotated[
        Material | None, spec.choice("What the frame is made of; carbon changes the steps", "ask")
    ] = None
    reach: Annotated[
        Measure,
        spec.length(
            "Bottom bracket to top of head tube, horizontally", 250, 600, "labelled default"
        ),
    ] = None
    stack: Annotated[
        Measure,
        spec.length("Bottom bracket to top of head tube, vertically", 450, 800, "labelled default"),
    ] = None
    head_angle: Annotated[
        Measure, spec.angle("Steering axis from the ground", 58, 78, "labelled default")
    ] = None
    head_tube: Annotated[
        Measure, spec.length("Top of the head tube down to the fork's crown race", 70, 260)
    ] = None
    seat_angle: Annotated[
        Measure,
        spec.angle(
            "Effective: bottom bracket to the saddle at the height of the head tube's top",
            66,
            84,
            "labelled default",
        ),
    ] = None
    seat_angle_actual: Annotated[
        Measure, spec.angle("The seat tube's own line from the ground", 58, 84, "labelled default")
    ] = None
    seat_tube: Annotated[
        Measure,
        spec.length(
            "Bottom bracket to the top of the seat tube, along it", 240, 620, "labelled default"
        ),
    ] = None
    chainstay: Annotated[
        Measure, spec.length("Bottom bracket to rear axle, straight", 370, 520, "labelled default")
    ] = None
    bb_drop: Annotated[
        Measure,
        spec.length(
            "Bottom bracket below the rear axle; above is negative", -60, 110, "labelled default"
        ),
    ] = None
    wheelbase: Annotated[
        Measure, spec.length("Between the axles, horizontally", 850, 1450, "labelled default")
    ] = None
    post_diameter: Annotated[
        Measure, spec.length("Inside of the seat tube for the post", 25, 36, "ask")
    ] = None
    insertion_min: Annotated[
        Measure, spec.length("Least post inside the frame, by the frame's maker", 30, 250, "ask")
    ] = None
    insertion_max: Annotated[
        Measure, spec.length("Most post that the frame lets in", 60, 500, "ask")
    ] = None
    rotor_max: Annotated[
        Measure, spec.length("Largest rear rotor the frame may carry", 140, 250, "ask")
    ] = None
    tyre_clearance: Annotated[
        Measure, spec.length("Widest rear tyre the frame lets through", 30, 135, "ask")
    ] = None
    axle_diameter: Annotated[
        Measure, spec.length("Axle that the frame is made for, its diameter", 4, 25, "ask")
    ] = None
    axle_width: Annotated[
        Measure, spec.length("Hub width that the frame is made for", 90, 200, "ask")
    ] = None
    axle_pitch: Annotated[
        Measure, spec.length("Thread pitch in the frame for the axle", 0.5, 3, "ask")
    ] = None
    axle_length: Annotated[
        Measure, spec.length("Length of axle that the frame is made for", 90, 260, "ask")
    ] = None
    axle_head: Annotated[
        AxleHead | None, spec.choice("Seat in the frame for the axle's head", "ask")
    ] = None
    rotor_mount_size: Annotated[
        Measure,
        spec.length("Rotor that the frame's mount takes without an adapter", 140, 250, "ask"),
    ] = None
    steerer_stack_max: Annotated[
        Measure, spec.length("Most spacers allowed under the stem", 0, 100, "ask")
    ] = None
    headset_height: Annotated[
        Measure, spec.length("Headset's cover above the top of the head tube", 0, 60, "ask")
    ] = None


class ChartRow(Table):
    """One row of a maker's pressure chart."""

    mass_min: Annotated[
        Measure, spec.quantity("mass", "Riding mass from", 0, 300, required="always")
    ] = None
    mass_max: Annotated[
        Measure, spec.quantity("mass", "Riding mass to", 0, 300, required="always")
    ] = None
    pressure: Annotated[
        Measure,
        spec.quantity("pressure", "Pressure the maker starts from", 0, 40e5, required="always"),
    ] = None


class ClickRow(Table):
    """One row of a maker's table of clicks, counted out from fully closed."""

    pressure_min: Annotated[
        Measure, spec.quantity("pressure", "Spring pressure from", 0, 40e5, required="always")
    ] = None
    pressure_max: Annotated[
        Measure, spec.quantity("pressure", "Spring pressure to", 0, 40e5, required="always")
    ] = None
    rebound: Annotated[int | None, spec.count("Rebound clicks out from closed", 0, 60)] = None
    compression: Annotated[int | None, spec.count("Compression clicks out from closed", 0, 60)] = (
        None
    )


class LeverageRow(Table):
    """One row of a leverage table."""

    travel: Annotated[
        Measure,
        spec.quantity("length", "Vertical wheel travel", 0, 0.3, required="always"),
    ] = None
    ratio: Annotated[
        Measure,
        spec.quantity("number", "Wheel travel over shock stroke there", 0.5, 6, required="always"),
    ] = None


class Fork(Table):
    """The fork."""

    kind: Annotated[ForkKind | None, spec.choice("How the fork is sprung", "labelled default")] = (
        None
    )
    travel: Annotated[
        Measure, spec.length("Travel along the fork", 40, 240, "ask", "unless the fork is rigid")
    ] = None
    axle_to_crown: Annotated[
        Measure,
        spec.length("Axle to crown race, unloaded, along the fork", 340, 660, "labelled default"),
    ] = None
    offset: Annotated[
        Measure, spec.length("Axle ahead of the steering axis", 20, 70, "labelled default")
    ] = None
    rotor_max: Annotated[
        Measure, spec.length("Largest front rotor the fork may carry", 140, 250, "ask")
    ] = None
    tyre_clearance: Annotated[
        Measure, spec.length("Widest front tyre the fork lets through", 30, 135, "ask")
    ] = None
    sag_target: Annotated[
        Measure,
        spec.quantity(
            "ratio", "Sag the maker asks for, of the travel", 0.05, 0.5, "labelled default"
        ),
    ] = None
    posture: Annotated[
        Posture | None,
        spec.choice("The rider's posture in which sag is read", "labelled default"),
    ] = None
    pressure_max: Annotated[Measure, spec.pressure("Most air the fork may hold", 40)] = None
    spacers: Annotated[int | None, spec.count("Volume spacers fitted", 0, 12)] = None
    spacers_max: Annotated[int | None, spec.count("Most volume spacers that go in", 0, 12)] = None
    rebound_clicks: Annotated[
        int | None, spec.count("Rebound clicks counted end to end", 1, 60, "ask")
    ] = None
    compression_clicks: Annotated[
        int | None, spec.count("Compression clicks counted end to end", 1, 60, "ask")
    ] = None
    material_steerer: Annotated[
        Material | None, spec.choice("What the steerer is made of", "ask")
    ] = None
    steerer_diameter: Annotated[
        Measure, spec.length("Steerer where the stem clamps it", 22, 45, "ask")
    ] = None
    steerer_length: Annotated[
        Measure, spec.length("Crown race to the top of the steerer", 100, 400, "ask")
    ] = None
    steerer_stack_max: Annotated[
        Measure, spec.length("Most spacers the fork's maker allows under the stem", 0, 100, "ask")
    ] = None
    steerer_stack_min: Annotated[
        Measure, spec.length("Least spacers the fork's maker wants under the stem", 0, 100, "ask")
    ] = None
    axle_diameter: Annotated[
        Measure, spec.length("Axle that the fork is made for, its diameter", 4, 25, "ask")
    ] = None
    axle_width: Annotated[
        Measure, spec.length("Hub width that the fork is made for", 90, 200, "ask")
    ] = None
    axle_pitch: Annotated[
        Measure, spec.length("Thread pitch in the fork for the axle", 0.5, 3, "ask")
    ] = None
    axle_length: Annotated[
        Measure, spec.length("Length of axle that the fork is made for", 90, 260, "ask")
    ] = None
    axle_head: Annotated[
        AxleHead | None, spec.choice("Seat in the fork for the axle's head", "ask")
    ] = None
    rotor_mount_size: Annotated[
        Measure,
        spec.length("Rotor that the fork's mount takes without an adapter", 140, 250, "ask"),
    ] = None
    chart: tuple[ChartRow, ...] = ()
    clicks: tuple[ClickRow, ...] = ()


class Shock(Table):
    """The rear shock."""

    kind: Annotated[
        ShockKind | None, spec.choice("How the shock is sprung", "labelled default")
    ] = None
    stroke: Annotated[
        Measure, spec.length("Stroke of the shock", 20, 120, "ask", "on a full-suspension bike")
    ] = None
    sag_target: Annotated[
        Measure,
        spec.quantity(
            "ratio", "Sag the maker asks for, of the stroke", 0.05, 0.5, "labelled default"
        ),
    ] = None
    posture: Annotated[
        Posture | None,
        spec.choice("The rider's posture in which sag is read", "labelled default"),
    ] = None
    pressure_max: Annotated[Measure, spec.pressure("Most air the shock may hold", 40)] = None
    spacers: Annotated[int | None, spec.count("Volume spacers fitted", 0, 12)] = None
    rebound_clicks: Annotated[
        int | None, spec.count("Rebound clicks counted end to end", 1, 60, "ask")
    ] = None
    compression_clicks: Annotated[
        int | None, spec.count("Compression clicks counted end to end", 1, 60, "ask")
    ] = None
    rates: Annotated[
        tuple[Quantity, ...],
        spec.quantity("rate", "Coil rates that are sold for it", 5e3, 3e5, "ask", many=True),
    ] = ()
    preload_max: Annotated[
        Measure, spec.length("Most preload the coil may be given", 0, 15, "labelled default")
    ] = None
    chart: tuple[ChartRow, ...] = ()
    clicks: tuple[ClickRow, ...] = ()


class Point(Table):
    """One pivot, from the bottom bracket: x forward, y up."""

    x: Annotated[
        Measure,
        spec.quantity("length", "Ahead of the bottom bracket", -0.8, 0.8, required="always"),
    ] = None
    y: Annotated[
        Measure, spec.quantity("length", "Above the bottom bracket", -0.5, 0.8, required="always")
    ] = None


class Rear(Table):
    """The rear suspension."""

    travel: Annotated[
        Measure,
        spec.length(
            "Vertical travel of the rear wheel", 40, 260, "ask", "on a full-suspension bike"
        ),
    ] = None
    linkage: Annotated[
        Linkage | None,
        spec.choice(
            "How the wheel is led; mean when only travel and stroke are known", "labelled default"
        ),
    ] = None
    chain_growth: Annotated[
        Measure, spec.length("How much longer the chain stay gets in the travel", -20, 80, "ask")
    ] = None
    points: dict[str, Point] = Field(default_factory=dict)
    leverage: tuple[LeverageRow, ...] = ()


class Wheel(Table):
    """One wheel."""

    bead: Annotated[
        Literal[559, 584, 622] | None,
        spec.choice("Bead seat diameter of the rim in millimetres", "labelled default"),
    ] = None
    rim_width: Annotated[
        Measure, spec.length("Inside width of the rim", 13, 60, "labelled default")
    ] = None
    hooked: Annotated[
        bool | None, spec.flag("Whether the rim has hooks for the tyre's bead", "ask")
    ] = None
    pressure_max: Annotated[Measure, spec.pressure("Most air the rim may hold", 9, low=0.5)] = None
    spokes: Annotated[int | None, spec.count("Spokes in the wheel", 12, 48)] = None
    hole_count: Annotated[int | None, spec.count("Spoke holes in the rim", 12, 48)] = None


class Axle(Table):
    """One wheel's axle."""

    kind: Annotated[AxleKind | None, spec.choice("How the axle is held", "ask")] = None
    diameter: Annotated[Measure, spec.length("Diameter of the axle", 4, 25, "ask")] = None
    width: Annotated[Measure, spec.length("Hub width between the dropouts", 90, 200, "ask")] = None
    pitch: Annotated[Measure, spec.length("Thread pitch of the axle", 0.5, 3, "ask")] = None
    length: Annotated[Measure, spec.length("Length of the axle", 90, 260, "ask")] = None
    head: Annotated[AxleHead | None, spec.choice("Shape of the axle's head", "ask")] = None
    torque: Annotated[
        Measure, spec.quantity("torque", "Torque marked for the axle", 0.5, 60, "ask")
    ] = None


class Tyre(Table):
    """One tyre."""

    size: Annotated[
        str | None,
        Spec("size", "Size off the sidewall, like 29x2.4 or 61-622", "ask", required="always"),
    ] = None
    pressure_min: Annotated[Measure, spec.pressure("Least pressure marked on the tyre", 9)] = None
    pressure_max: Annotated[
        Measure, spec.pressure("Most pressure marked on the tyre", 9, low=0.5)
    ] = None
    tubeless: Annotated[bool | None, spec.flag("Without an inner tube", "ask")] = None
    hookless_ok: Annotated[
        bool | None, spec.flag("The maker allows it on rims without hooks", "ask")
    ] = None
    casing: Annotated[Casing | None, spec.choice("How stout the casing is", "labelled default")] = (
        None
    )
    insert: Annotated[bool | None, spec.flag("A foam insert is fitted")] = None

    @property
    def width(self) -> float | None:
        """Nominal section width off the size [m]."""
        return None if self.size is None else tyre_size(self.size)[0]

    @property
    def bead(self) -> float | None:
        """Bead seat diameter off the size [m]."""
        return None if self.size is None else tyre_size(self.size)[1]


class Cockpit(Table):
    """Stem, spacers and bar."""

    stem_length: Annotated[
        Measure, spec.length("Steerer to bar clamp, along the stem", 0, 150, "labelled default")
    ] = None
    stem_angle: Annotated[
        Measure,
        spec.angle(
            "Stem from the square to the steerer, rising positive", -45, 45, "labelled default"
        ),
    ] = None
    stem_clamp_height: Annotated[
        Measure,
        spec.length("Height of the stem's clamp on the steerer", 20, 70, "labelled default"),
    ] = None
    spacers_under: Annotated[
        Measure, spec.length("Spacers under the stem", 0, 100, "labelled default")
    ] = None
    spacers_over: Annotated[
        Measure, spec.length("Spacers over the stem", 0, 100, "labelled default")
    ] = None
    stem_bar_diameter: Annotated[
        Measure, spec.length("Bar that the stem's faceplate is made for", 22, 36, "ask")
    ] = None
    stem_steerer_diameter: Annotated[
        Measure, spec.length("Steerer that the stem is made for", 22, 45, "ask")
    ] = None
    steerer_gap: Annotated[
        Measure, spec.length("Top of stem or spacer down to the top of the steerer", -5, 40, "ask")
    ] = None
    bar_width: Annotated[
        Measure, spec.length("Bar from end to end", 300, 1100, "labelled default")
    ] = None
    bar_rise: Annotated[
        Measure, spec.length("Bar ends above the clamp", -40, 120, "labelled default")
    ] = None
    bar_backsweep: Annotated[
        Measure, spec.angle("Bar ends swept back", 0, 45, "labelled default")
    ] = None
    bar_roll: Annotated[
        Measure, spec.angle("Bar rolled forward from its neutral mark", -30, 30, "labelled default")
    ] = None
    bar_material: Annotated[Material | None, spec.choice("What the bar is made of", "ask")] = None
    bar_diameter: Annotated[Measure, spec.length("Bar at the clamp", 22, 36, "ask")] = None
    grip_length: Annotated[
        Measure, spec.length("Length of the grip", 80, 180, "labelled default")
    ] = None
    lever_blade: Annotated[
        Measure,
        spec.length(
            "Brake lever's pivot to the outer end of its blade, along the bar",
            40,
            140,
            "labelled default",
        ),
    ] = None


class Post(Table):
    """The seat post."""

    kind: Annotated[PostKind | None, spec.choice("What kind of post", "labelled default")] = None
    travel: Annotated[Measure, spec.length("Drop of the dropper", 25, 260, "ask")] = None
    length: Annotated[
        Measure, spec.length("Lower end to the rails, at full height", 100, 700, "ask")
    ] = None
    head_height: Annotated[
        Measure,
        spec.length(
            "What of the post stays above the frame, to the rails, a dropper fully down",
            20,
            90,
            "labelled default",
        ),
    ] = None
    insertion_min: Annotated[
        Measure, spec.length("Least insertion marked on the post", 30, 250, "ask")
    ] = None
    material: Annotated[Material | None, spec.choice("What the post is made of", "ask")] = None
    diameter: Annotated[Measure, spec.length("Outside of the post", 25, 36, "ask")] = None
    remote: Annotated[Remote | None, spec.choice("How the dropper's remote is led", "ask")] = None
    rail_shape: Annotated[
        ClampShape | None, spec.choice("Section of rails that the post's clamp takes", "ask")
    ] = None
    rail_height: Annotated[
        Measure, spec.length("Height of rails that the post's clamp takes", 5, 14, "ask")
    ] = None


class Saddle(Table):
    """The saddle."""

    rail_length: Annotated[
        Measure, spec.length("Straight, marked part of the rails", 20, 120, "labelled default")
    ] = None
    rail_shape: Annotated[RailShape | None, spec.choice("Section of the rails", "ask")] = None
    rail_height: Annotated[Measure, spec.length("Height of the rails' section", 5, 14, "ask")] = (
        None
    )
    height: Annotated[Measure, spec.length("Rails to saddle top", 25, 90, "labelled default")] = (
        None
    )
    setback: Annotated[
        Measure,
        spec.length(
            "Saddle pushed back from the middle of its rails; forward is negative", -60, 60
        ),
    ] = None
    ridden_height: Annotated[
        Measure,
        spec.length(
            "Bottom bracket to saddle top along the post, as the bike is ridden", 350, 1000
        ),
    ] = None


class Pedal(Table):
    """The pedals."""

    kind: Annotated[PedalKind | None, spec.choice("Flat or clip", "labelled default")] = None
    stack: Annotated[
        Measure, spec.length("Spindle to where the sole stands", 0, 40, "labelled default")
    ] = None
    key: Annotated[PedalKey | None, spec.choice("What turns the pedal's spindle", "ask")] = None


class Crank(Table):
    """The cranks."""

    length: Annotated[
        Measure, spec.length("Bottom bracket to pedal spindle", 120, 190, "labelled default")
    ] = None


class Brake(Table):
    """One brake."""

    kind: Annotated[BrakeKind | None, spec.choice("What moves the pads", "labelled default")] = None
    lever: Annotated[Lever | None, spec.choice("Whether the lever works on either side", "ask")] = (
        None
    )
    fluid: Annotated[
        Fluid | None, spec.choice("The fluid marked on the lever; never guessed", "ask")
    ] = None
    caliper_fluid: Annotated[
        Fluid | None, spec.choice("The fluid marked on the caliper; never guessed", "ask")
    ] = None
    hose_fluid: Annotated[
        Fluid | None, spec.choice("The fluid that hose and fittings are made for", "ask")
    ] = None
    coupling: Annotated[
        Coupling | None, spec.choice("Whether the hose parts without letting air in", "ask")
    ] = None
    rotor_diameter: Annotated[Measure, spec.length("Diameter of the rotor", 140, 250, "ask")] = None
    rotor_thickness: Annotated[Measure, spec.length("Rotor when new", 1.2, 4, "ask")] = None
    rotor_min: Annotated[
        Measure, spec.length("Least thickness marked on the rotor", 1, 4, "ask")
    ] = None
    rotor_adapter: Annotated[
        Measure, spec.length("Rotor that the caliper's adapter is made for", 140, 250, "ask")
    ] = None
    caliper_rotor_max: Annotated[
        Measure, spec.length("Thickest rotor that the caliper takes", 1.2, 4, "ask")
    ] = None
    caliper_rotor_min: Annotated[
        Measure, spec.length("Thinnest new rotor that the caliper takes", 1.2, 4, "ask")
    ] = None
    rotor_mount: Annotated[
        RotorMount | None, spec.choice("How the rotor sits on the hub", "ask")
    ] = None
    hose_route: Annotated[HoseRoute | None, spec.choice("How hose or cable is led", "ask")] = None


class Drive(Table):
    """The drivetrain."""

    chainrings: Annotated[
        tuple[int, ...], spec.count("Teeth of each chainring", 18, 64, "ask", many=True)
    ] = ()
    sprockets: Annotated[
        tuple[int, ...], spec.count("Teeth of each sprocket", 8, 60, "ask", many=True)
    ] = ()
    speeds: Annotated[int | None, spec.count("Sprockets that the shifter knows", 1, 14, "ask")] = (
        None
    )
    capacity: Annotated[
        int | None, spec.count("Teeth the derailleur can take up", 0, 60, "ask")
    ] = None
    pull: Annotated[
        Pull | None, spec.choice("How the derailleur is pulled", "labelled default")
    ] = None
    chain_links: Annotated[
        int | None, spec.count("Pitches in the chain, joining link counted", 60, 160, "ask")
    ] = None


class Electric(Table):
    """An electric drive, where there is one."""

    motor: Annotated[str | None, spec.text("The motor as marked")] = None
    battery: Annotated[str | None, spec.text("The battery as marked, with its energy")] = None
    assist_speed: Annotated[
        Measure, spec.quantity("speed", "Speed at which the drive stops helping", 1, 30, "ask")
    ] = None
    power: Annotated[
        Measure, spec.quantity("power", "Continuous rated power as marked on it", 20, 5000, "ask")
    ] = None


class Figures(Table):
    """One part's word on one joint: thread, compound, and its torque figure of one kind."""

    part: Annotated[str | None, spec.text("The part whose figure this is")] = None
    thread: Annotated[str | None, Spec("thread", "Thread, like M5 or M12x1.5", "ask")] = None
    head: Annotated[str | None, spec.text("Head of the screw, like socket or hex")] = None
    grade: Annotated[str | None, spec.text("Strength grade, like 8.8 or A2-70")] = None
    hand: Annotated[ThreadHand | None, spec.choice("Hand of the thread", "labelled default")] = None
    drive: Annotated[str | None, spec.text("What turns it, like hex 5 or star T25")] = None
    count: Annotated[int | None, spec.count("Screws in the joint", 1, 64)] = None
    compound: Annotated[
        Compound | None, spec.choice("What goes on the thread", "labelled default")
    ] = None
    verb: Annotated[
        Verb | None, spec.choice("Set it, check that it has not moved, or leave it", "ask")
    ] = None
    target: Annotated[
        Measure, spec.quantity("torque", "Set exactly this", 0.1, 80, "labelled default")
    ] = None
    max: Annotated[
        Measure, spec.quantity("torque", "Stay under this", 0.1, 80, "labelled default")
    ] = None
    min: Annotated[
        Measure, spec.quantity("torque", "At least this; needs max", 0.1, 80, "labelled default")
    ] = None


class Fastener(Figures):
    """One joint; `parts` holds `.a` and `.b` where two parts each have their own figure."""

    parts: dict[str, Figures] = Field(default_factory=dict)


class Wheels(Table):
    """Both wheels."""

    front: Wheel = spec.table(Wheel)
    rear: Wheel = spec.table(Wheel)


class Axles(Table):
    """Both axles."""

    front: Axle = spec.table(Axle)
    rear: Axle = spec.table(Axle)


class Tyres(Table):
    """Both tyres."""

    front: Tyre = spec.table(Tyre)
    rear: Tyre = spec.table(Tyre)


class Brakes(Table):
    """Both brakes."""

    front: Brake = spec.table(Brake)
    rear: Brake = spec.table(Brake)


class Bike(Table):
    """A bike sheet."""

    maker: Annotated[str | None, spec.text("Who makes the bike")] = None
    model: Annotated[str | None, spec.text("What the maker calls it")] = None
    year: Annotated[int | None, spec.count("Model year", 1950, 2100)] = None
    serial: Annotated[str | None, spec.text("Serial number stamped on the frame", "ask")] = None
    kind: Annotated[
        BikeKind | None, spec.choice("Which ends are sprung", "ask", required="always")
    ] = None
    use_class: Annotated[int | None, spec.count("Condition of use by EN 17406", 1, 5, "ask")] = None
    mass: Annotated[
        Measure, spec.quantity("mass", "The bike as ridden, pedals on", 5, 60, "labelled default")
    ] = None
    mass_limit: Annotated[
        Measure, spec.quantity("mass", "Most the maker allows on the bike", 30, 350, "ask")
    ] = None
    mass_limit_includes_bike: Annotated[
        bool | None, spec.flag("Whether that limit counts the bike itself", "ask")
    ] = None
    hands_delivered: Annotated[
        Hands | None, spec.choice("Which hand works the front brake as delivered", "ask")
    ] = None
    hire: Annotated[bool | None, spec.flag("Whether the bike is hired out")] = None
    frame: Frame = spec.table(Frame)
    fork: Fork = spec.table(Fork)
    shock: Shock = spec.table(Shock)
    rear: Rear = spec.table(Rear)
    wheel: Wheels = spec.table(Wheels)
    axle: Axles = spec.table(Axles)
    tyre: Tyres = spec.table(Tyres)
    cockpit: Cockpit = spec.table(Cockpit)
    post: Post = spec.table(Post)
    saddle: Saddle = spec.table(Saddle)
    pedal: Pedal = spec.table(Pedal)
    crank: Crank = spec.table(Crank)
    brake: Brakes = spec.table(Brakes)
    drive: Drive = spec.table(Drive)
    electric: Electric = spec.table(Electric)
    fastener: dict[str, Fastener] = Field(default_factory=dict)
