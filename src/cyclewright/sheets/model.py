"""Bike, rider and place as they are on paper: one model a sheet, every field described once.

A quantity is a `Quantity` (SI value, standard deviation, text as written), a count an int, a
choice a word. A table or field that the sheet leaves out is there all the same, filled with None,
so `bike.fork.travel is None` needs no guard. Each field carries a `Spec`: reading, writing, the
list of fields and the forms are all made from it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from cyclewright.units import DIMENSIONS, Quantity, tyre_size

Policy = Literal["ask", "labelled default", "optional"]
Shape = Literal["quantity", "count", "text", "choice", "flag", "size", "country", "thread"]
SheetKind = Literal["bike", "rider", "place"]

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
Ride = Literal["cross-country", "trail", "enduro", "park", "mixed"]
Ground = Literal["smooth", "mixed", "rough"]
InseamKind = Literal["firm", "light"]
Sex = Literal["M", "F"]


@dataclass(frozen=True, slots=True)
class Spec:
    """What one field means, what it is written in, what it may be, and whether it may be guessed.

    `low` and `high` are SI bounds of what can exist at all, not of what is wise. `required` says
    when a sheet without it is refused, empty for never.
    """

    shape: Shape
    meaning: str
    policy: Policy = "optional"
    dimension: str = ""
    low: float | None = None
    high: float | None = None
    many: bool = False
    required: str = ""

    @property
    def unit(self) -> str:
        """The unit to write it in, empty for counts and words."""
        if self.dimension == "length" and self.high is not None and self.high > 2:
            return "m"
        return DIMENSIONS[self.dimension][1] if self.dimension else ""


def _quantity(
    dimension: str,
    meaning: str,
    low: float,
    high: float,
    policy: Policy = "optional",
    required: str = "",
    many: bool = False,
) -> Spec:
    return Spec("quantity", meaning, policy, dimension, low, high, many, required)


def _length(
    meaning: str, low: float, high: float, policy: Policy = "optional", required: str = ""
) -> Spec:
    """A length whose bounds are given in millimetres."""
    return _quantity("length", meaning, low / 1000, high / 1000, policy, required)


def _pressure(meaning: str, high: float, policy: Policy = "ask", low: float = 0.0) -> Spec:
    """A gauge pressure whose bounds are given in bar."""
    return _quantity("pressure", meaning, low * 1e5, high * 1e5, policy)


def _angle(meaning: str, low: float, high: float, policy: Policy = "optional") -> Spec:
    """An angle whose bounds are given in degrees."""
    degree = DIMENSIONS["angle"][2]["deg"]
    return _quantity("angle", meaning, low * degree, high * degree, policy)


def _count(
    meaning: str, low: int, high: int, policy: Policy = "optional", many: bool = False
) -> Spec:
    return Spec("count", meaning, policy, "", low, high, many)


def _choice(meaning: str, policy: Policy = "optional", required: str = "") -> Spec:
    return Spec("choice", meaning, policy, required=required)


def _flag(meaning: str, policy: Policy = "optional") -> Spec:
    return Spec("flag", meaning, policy)


def _text(meaning: str, policy: Policy = "optional") -> Spec:
    return Spec("text", meaning, policy)


Measure = Quantity | None


class Table(BaseModel):
    """One table of a sheet: frozen, and with no field that is not named here."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    @classmethod
    def specs(cls) -> dict[str, Spec]:
        """The described leaf fields of this table by name; nested tables are not in it."""
        found: dict[str, Spec] = {}
        for name, info in cls.model_fields.items():
            spec = next((item for item in info.metadata if isinstance(item, Spec)), None)
            if spec is not None:
                found[name] = spec
        return found


def _table(kind: type[Any]) -> Any:
    return Field(default_factory=kind)


class Frame(Table):
    """The frame and its plane geometry, unloaded."""

    size: Annotated[str | None, _text("The maker's word for the frame's size")] = None
    material: Annotated[
        Material | None, _choice("What the frame is made of; carbon changes the steps", "ask")
    ] = None
    reach: Annotated[
        Measure,
        _length("Bottom bracket to top of head tube, horizontally", 250, 600, "labelled default"),
    ] = None
    stack: Annotated[
        Measure,
        _length("Bottom bracket to top of head tube, vertically", 450, 800, "labelled default"),
    ] = None
    head_angle: Annotated[
        Measure, _angle("Steering axis from the ground", 58, 78, "labelled default")
    ] = None
    head_tube: Annotated[
        Measure, _length("Top of the head tube down to the fork's crown race", 70, 260)
    ] = None
    seat_angle: Annotated[
        Measure,
        _angle(
            "Effective: bottom bracket to the saddle at the height of the head tube's top",
            66,
            84,
            "labelled default",
        ),
    ] = None
    seat_angle_actual: Annotated[
        Measure, _angle("The seat tube's own line from the ground", 58, 84, "labelled default")
    ] = None
    seat_tube: Annotated[
        Measure,
        _length(
            "Bottom bracket to the top of the seat tube, along it", 240, 620, "labelled default"
        ),
    ] = None
    chainstay: Annotated[
        Measure, _length("Bottom bracket to rear axle, straight", 370, 520, "labelled default")
    ] = None
    bb_drop: Annotated[
        Measure,
        _length(
            "Bottom bracket below the rear axle; above is negative", -60, 110, "labelled default"
        ),
    ] = None
    wheelbase: Annotated[
        Measure, _length("Between the axles, horizontally", 850, 1450, "labelled default")
    ] = None
    post_diameter: Annotated[
        Measure, _length("Inside of the seat tube for the post", 25, 36, "ask")
    ] = None
    insertion_min: Annotated[
        Measure, _length("Least post inside the frame, by the frame's maker", 30, 250, "ask")
    ] = None
    insertion_max: Annotated[
        Measure, _length("Most post that the frame lets in", 60, 500, "ask")
    ] = None
    rotor_max: Annotated[
        Measure, _length("Largest rear rotor the frame may carry", 140, 250, "ask")
    ] = None
    tyre_clearance: Annotated[
        Measure, _length("Widest rear tyre the frame lets through", 30, 135, "ask")
    ] = None
    axle_diameter: Annotated[
        Measure, _length("Axle that the frame is made for, its diameter", 4, 25, "ask")
    ] = None
    axle_width: Annotated[
        Measure, _length("Hub width that the frame is made for", 90, 200, "ask")
    ] = None
    axle_pitch: Annotated[
        Measure, _length("Thread pitch in the frame for the axle", 0.5, 3, "ask")
    ] = None
    axle_length: Annotated[
        Measure, _length("Length of axle that the frame is made for", 90, 260, "ask")
    ] = None
    axle_head: Annotated[
        AxleHead | None, _choice("Seat in the frame for the axle's head", "ask")
    ] = None
    rotor_mount_size: Annotated[
        Measure, _length("Rotor that the frame's mount takes without an adapter", 140, 250, "ask")
    ] = None
    steerer_stack_max: Annotated[
        Measure, _length("Most spacers allowed under the stem", 0, 100, "ask")
    ] = None
    headset_height: Annotated[
        Measure, _length("Headset's cover above the top of the head tube", 0, 60, "ask")
    ] = None


class ChartRow(Table):
    """One row of a maker's pressure chart."""

    mass_min: Annotated[
        Measure, _quantity("mass", "Riding mass from", 0, 300, required="always")
    ] = None
    mass_max: Annotated[Measure, _quantity("mass", "Riding mass to", 0, 300, required="always")] = (
        None
    )
    pressure: Annotated[
        Measure,
        _quantity("pressure", "Pressure the maker starts from", 0, 40e5, required="always"),
    ] = None


class ClickRow(Table):
    """One row of a maker's table of clicks, counted out from fully closed."""

    pressure_min: Annotated[
        Measure, _quantity("pressure", "Spring pressure from", 0, 40e5, required="always")
    ] = None
    pressure_max: Annotated[
        Measure, _quantity("pressure", "Spring pressure to", 0, 40e5, required="always")
    ] = None
    rebound: Annotated[int | None, _count("Rebound clicks out from closed", 0, 60)] = None
    compression: Annotated[int | None, _count("Compression clicks out from closed", 0, 60)] = None


class LeverageRow(Table):
    """One row of a leverage table."""

    travel: Annotated[
        Measure,
        _quantity("length", "Vertical wheel travel", 0, 0.3, required="always"),
    ] = None
    ratio: Annotated[
        Measure,
        _quantity("number", "Wheel travel over shock stroke there", 0.5, 6, required="always"),
    ] = None


class Fork(Table):
    """The fork."""

    kind: Annotated[ForkKind | None, _choice("How the fork is sprung", "labelled default")] = None
    travel: Annotated[
        Measure, _length("Travel along the fork", 40, 240, "ask", "unless the fork is rigid")
    ] = None
    axle_to_crown: Annotated[
        Measure,
        _length("Axle to crown race, unloaded, along the fork", 340, 660, "labelled default"),
    ] = None
    offset: Annotated[
        Measure, _length("Axle ahead of the steering axis", 20, 70, "labelled default")
    ] = None
    rotor_max: Annotated[
        Measure, _length("Largest front rotor the fork may carry", 140, 250, "ask")
    ] = None
    tyre_clearance: Annotated[
        Measure, _length("Widest front tyre the fork lets through", 30, 135, "ask")
    ] = None
    sag_target: Annotated[
        Measure,
        _quantity("ratio", "Sag the maker asks for, of the travel", 0.05, 0.5, "labelled default"),
    ] = None
    posture: Annotated[
        Posture | None,
        _choice("The rider's posture in which sag is read", "labelled default"),
    ] = None
    pressure_max: Annotated[Measure, _pressure("Most air the fork may hold", 40)] = None
    spacers: Annotated[int | None, _count("Volume spacers fitted", 0, 12)] = None
    spacers_max: Annotated[int | None, _count("Most volume spacers that go in", 0, 12)] = None
    rebound_clicks: Annotated[
        int | None, _count("Rebound clicks counted end to end", 1, 60, "ask")
    ] = None
    compression_clicks: Annotated[
        int | None, _count("Compression clicks counted end to end", 1, 60, "ask")
    ] = None
    material_steerer: Annotated[Material | None, _choice("What the steerer is made of", "ask")] = (
        None
    )
    steerer_diameter: Annotated[
        Measure, _length("Steerer where the stem clamps it", 22, 45, "ask")
    ] = None
    steerer_length: Annotated[
        Measure, _length("Crown race to the top of the steerer", 100, 400, "ask")
    ] = None
    steerer_stack_max: Annotated[
        Measure, _length("Most spacers the fork's maker allows under the stem", 0, 100, "ask")
    ] = None
    steerer_stack_min: Annotated[
        Measure, _length("Least spacers the fork's maker wants under the stem", 0, 100, "ask")
    ] = None
    axle_diameter: Annotated[
        Measure, _length("Axle that the fork is made for, its diameter", 4, 25, "ask")
    ] = None
    axle_width: Annotated[
        Measure, _length("Hub width that the fork is made for", 90, 200, "ask")
    ] = None
    axle_pitch: Annotated[
        Measure, _length("Thread pitch in the fork for the axle", 0.5, 3, "ask")
    ] = None
    axle_length: Annotated[
        Measure, _length("Length of axle that the fork is made for", 90, 260, "ask")
    ] = None
    axle_head: Annotated[
        AxleHead | None, _choice("Seat in the fork for the axle's head", "ask")
    ] = None
    rotor_mount_size: Annotated[
        Measure, _length("Rotor that the fork's mount takes without an adapter", 140, 250, "ask")
    ] = None
    chart: tuple[ChartRow, ...] = ()
    clicks: tuple[ClickRow, ...] = ()


class Shock(Table):
    """The rear shock."""

    kind: Annotated[ShockKind | None, _choice("How the shock is sprung", "labelled default")] = None
    stroke: Annotated[
        Measure, _length("Stroke of the shock", 20, 120, "ask", "on a full-suspension bike")
    ] = None
    sag_target: Annotated[
        Measure,
        _quantity("ratio", "Sag the maker asks for, of the stroke", 0.05, 0.5, "labelled default"),
    ] = None
    posture: Annotated[
        Posture | None,
        _choice("The rider's posture in which sag is read", "labelled default"),
    ] = None
    pressure_max: Annotated[Measure, _pressure("Most air the shock may hold", 40)] = None
    spacers: Annotated[int | None, _count("Volume spacers fitted", 0, 12)] = None
    rebound_clicks: Annotated[
        int | None, _count("Rebound clicks counted end to end", 1, 60, "ask")
    ] = None
    compression_clicks: Annotated[
        int | None, _count("Compression clicks counted end to end", 1, 60, "ask")
    ] = None
    rates: Annotated[
        tuple[Quantity, ...],
        _quantity("rate", "Coil rates that are sold for it", 5e3, 3e5, "ask", many=True),
    ] = ()
    preload_max: Annotated[
        Measure, _length("Most preload the coil may be given", 0, 15, "labelled default")
    ] = None
    chart: tuple[ChartRow, ...] = ()
    clicks: tuple[ClickRow, ...] = ()


class Point(Table):
    """One pivot, from the bottom bracket: x forward, y up."""

    x: Annotated[
        Measure, _quantity("length", "Ahead of the bottom bracket", -0.8, 0.8, required="always")
    ] = None
    y: Annotated[
        Measure, _quantity("length", "Above the bottom bracket", -0.5, 0.8, required="always")
    ] = None


class Rear(Table):
    """The rear suspension."""

    travel: Annotated[
        Measure,
        _length("Vertical travel of the rear wheel", 40, 260, "ask", "on a full-suspension bike"),
    ] = None
    linkage: Annotated[
        Linkage | None,
        _choice(
            "How the wheel is led; mean when only travel and stroke are known", "labelled default"
        ),
    ] = None
    chain_growth: Annotated[
        Measure, _length("How much longer the chain stay gets in the travel", -20, 80, "ask")
    ] = None
    points: dict[str, Point] = Field(default_factory=dict)
    leverage: tuple[LeverageRow, ...] = ()


class Wheel(Table):
    """One wheel."""

    bead: Annotated[
        Literal[559, 584, 622] | None,
        _choice("Bead seat diameter of the rim in millimetres", "labelled default"),
    ] = None
    rim_width: Annotated[
        Measure, _length("Inside width of the rim", 13, 60, "labelled default")
    ] = None
    hooked: Annotated[
        bool | None, _flag("Whether the rim has hooks for the tyre's bead", "ask")
    ] = None
    pressure_max: Annotated[Measure, _pressure("Most air the rim may hold", 9)] = None
    spokes: Annotated[int | None, _count("Spokes in the wheel", 12, 48)] = None
    hole_count: Annotated[int | None, _count("Spoke holes in the rim", 12, 48)] = None


class Axle(Table):
    """One wheel's axle."""

    kind: Annotated[AxleKind | None, _choice("How the axle is held", "ask")] = None
    diameter: Annotated[Measure, _length("Diameter of the axle", 4, 25, "ask")] = None
    width: Annotated[Measure, _length("Hub width between the dropouts", 90, 200, "ask")] = None
    pitch: Annotated[Measure, _length("Thread pitch of the axle", 0.5, 3, "ask")] = None
    length: Annotated[Measure, _length("Length of the axle", 90, 260, "ask")] = None
    head: Annotated[AxleHead | None, _choice("Shape of the axle's head", "ask")] = None
    torque: Annotated[
        Measure, _quantity("torque", "Torque marked for the axle", 0.5, 60, "ask")
    ] = None


class Tyre(Table):
    """One tyre."""

    size: Annotated[
        str | None,
        Spec("size", "Size off the sidewall, like 29x2.4 or 61-622", "ask", required="always"),
    ] = None
    pressure_min: Annotated[Measure, _pressure("Least pressure marked on the tyre", 9)] = None
    pressure_max: Annotated[Measure, _pressure("Most pressure marked on the tyre", 9)] = None
    tubeless: Annotated[bool | None, _flag("Without an inner tube", "ask")] = None
    hookless_ok: Annotated[
        bool | None, _flag("The maker allows it on rims without hooks", "ask")
    ] = None
    casing: Annotated[Casing | None, _choice("How stout the casing is", "labelled default")] = None
    insert: Annotated[bool | None, _flag("A foam insert is fitted")] = None

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
        Measure, _length("Steerer to bar clamp, along the stem", 0, 150, "labelled default")
    ] = None
    stem_angle: Annotated[
        Measure,
        _angle("Stem from the square to the steerer, rising positive", -45, 45, "labelled default"),
    ] = None
    stem_clamp_height: Annotated[
        Measure, _length("Height of the stem's clamp on the steerer", 20, 70, "labelled default")
    ] = None
    spacers_under: Annotated[
        Measure, _length("Spacers under the stem", 0, 100, "labelled default")
    ] = None
    spacers_over: Annotated[
        Measure, _length("Spacers over the stem", 0, 100, "labelled default")
    ] = None
    stem_bar_diameter: Annotated[
        Measure, _length("Bar that the stem's faceplate is made for", 22, 36, "ask")
    ] = None
    stem_steerer_diameter: Annotated[
        Measure, _length("Steerer that the stem is made for", 22, 45, "ask")
    ] = None
    steerer_gap: Annotated[
        Measure, _length("Top of stem or spacer down to the top of the steerer", -5, 40, "ask")
    ] = None
    bar_width: Annotated[Measure, _length("Bar from end to end", 300, 1100, "labelled default")] = (
        None
    )
    bar_rise: Annotated[
        Measure, _length("Bar ends above the clamp", -40, 120, "labelled default")
    ] = None
    bar_backsweep: Annotated[Measure, _angle("Bar ends swept back", 0, 45, "labelled default")] = (
        None
    )
    bar_roll: Annotated[
        Measure, _angle("Bar rolled forward from its neutral mark", -30, 30, "labelled default")
    ] = None
    bar_material: Annotated[Material | None, _choice("What the bar is made of", "ask")] = None
    bar_diameter: Annotated[Measure, _length("Bar at the clamp", 22, 36, "ask")] = None
    grip_length: Annotated[Measure, _length("Length of the grip", 80, 180, "labelled default")] = (
        None
    )
    lever_blade: Annotated[
        Measure,
        _length(
            "Brake lever's pivot to the outer end of its blade, along the bar",
            40,
            140,
            "labelled default",
        ),
    ] = None


class Post(Table):
    """The seat post."""

    kind: Annotated[PostKind | None, _choice("What kind of post", "labelled default")] = None
    travel: Annotated[Measure, _length("Drop of the dropper", 25, 260, "ask")] = None
    length: Annotated[
        Measure, _length("Lower end to the rails, at full height", 100, 700, "ask")
    ] = None
    head_height: Annotated[
        Measure,
        _length(
            "What of the post stays above the frame, to the rails, a dropper fully down",
            20,
            90,
            "labelled default",
        ),
    ] = None
    insertion_min: Annotated[
        Measure, _length("Least insertion marked on the post", 30, 250, "ask")
    ] = None
    material: Annotated[Material | None, _choice("What the post is made of", "ask")] = None
    diameter: Annotated[Measure, _length("Outside of the post", 25, 36, "ask")] = None
    remote: Annotated[Remote | None, _choice("How the dropper's remote is led", "ask")] = None
    rail_shape: Annotated[
        ClampShape | None, _choice("Section of rails that the post's clamp takes", "ask")
    ] = None
    rail_height: Annotated[
        Measure, _length("Height of rails that the post's clamp takes", 5, 14, "ask")
    ] = None


class Saddle(Table):
    """The saddle."""

    rail_length: Annotated[
        Measure, _length("Straight, marked part of the rails", 20, 120, "labelled default")
    ] = None
    rail_shape: Annotated[RailShape | None, _choice("Section of the rails", "ask")] = None
    rail_height: Annotated[Measure, _length("Height of the rails' section", 5, 14, "ask")] = None
    height: Annotated[Measure, _length("Rails to saddle top", 25, 90, "labelled default")] = None
    setback: Annotated[
        Measure,
        _length("Saddle pushed back from the middle of its rails; forward is negative", -60, 60),
    ] = None
    ridden_height: Annotated[
        Measure,
        _length("Bottom bracket to saddle top along the post, as the bike is ridden", 350, 1000),
    ] = None


class Pedal(Table):
    """The pedals."""

    kind: Annotated[PedalKind | None, _choice("Flat or clip", "labelled default")] = None
    stack: Annotated[
        Measure, _length("Spindle to where the sole stands", 0, 40, "labelled default")
    ] = None
    key: Annotated[PedalKey | None, _choice("What turns the pedal's spindle", "ask")] = None


class Crank(Table):
    """The cranks."""

    length: Annotated[
        Measure, _length("Bottom bracket to pedal spindle", 120, 190, "labelled default")
    ] = None


class Brake(Table):
    """One brake."""

    kind: Annotated[BrakeKind | None, _choice("What moves the pads", "labelled default")] = None
    lever: Annotated[Lever | None, _choice("Whether the lever works on either side", "ask")] = None
    fluid: Annotated[
        Fluid | None, _choice("The fluid marked on the lever; never guessed", "ask")
    ] = None
    caliper_fluid: Annotated[
        Fluid | None, _choice("The fluid marked on the caliper; never guessed", "ask")
    ] = None
    hose_fluid: Annotated[
        Fluid | None, _choice("The fluid that hose and fittings are made for", "ask")
    ] = None
    coupling: Annotated[
        Coupling | None, _choice("Whether the hose parts without letting air in", "ask")
    ] = None
    rotor_diameter: Annotated[Measure, _length("Diameter of the rotor", 140, 250, "ask")] = None
    rotor_thickness: Annotated[Measure, _length("Rotor when new", 1.2, 4, "ask")] = None
    rotor_min: Annotated[Measure, _length("Least thickness marked on the rotor", 1, 4, "ask")] = (
        None
    )
    rotor_adapter: Annotated[
        Measure, _length("Rotor that the caliper's adapter is made for", 140, 250, "ask")
    ] = None
    caliper_rotor_max: Annotated[
        Measure, _length("Thickest rotor that the caliper takes", 1.2, 4, "ask")
    ] = None
    caliper_rotor_min: Annotated[
        Measure, _length("Thinnest new rotor that the caliper takes", 1.2, 4, "ask")
    ] = None
    rotor_mount: Annotated[RotorMount | None, _choice("How the rotor sits on the hub", "ask")] = (
        None
    )
    hose_route: Annotated[HoseRoute | None, _choice("How hose or cable is led", "ask")] = None


class Drive(Table):
    """The drivetrain."""

    chainrings: Annotated[
        tuple[int, ...], _count("Teeth of each chainring", 18, 64, "ask", many=True)
    ] = ()
    sprockets: Annotated[
        tuple[int, ...], _count("Teeth of each sprocket", 8, 60, "ask", many=True)
    ] = ()
    speeds: Annotated[int | None, _count("Sprockets that the shifter knows", 1, 14, "ask")] = None
    capacity: Annotated[int | None, _count("Teeth the derailleur can take up", 0, 60, "ask")] = None
    pull: Annotated[Pull | None, _choice("How the derailleur is pulled", "labelled default")] = None
    chain_links: Annotated[
        int | None, _count("Pitches in the chain, joining link counted", 60, 160, "ask")
    ] = None


class Electric(Table):
    """An electric drive, where there is one."""

    motor: Annotated[str | None, _text("The motor as marked")] = None
    battery: Annotated[str | None, _text("The battery as marked, with its energy")] = None
    assist_speed: Annotated[
        Measure, _quantity("speed", "Speed at which the drive stops helping", 1, 30, "ask")
    ] = None


class Figures(Table):
    """One part's word on one joint: thread, compound, and its torque figure of one kind."""

    part: Annotated[str | None, _text("The part whose figure this is")] = None
    thread: Annotated[str | None, Spec("thread", "Thread, like M5 or M12x1.5", "ask")] = None
    head: Annotated[str | None, _text("Head of the screw, like socket or hex")] = None
    grade: Annotated[str | None, _text("Strength grade, like 8.8 or A2-70")] = None
    hand: Annotated[ThreadHand | None, _choice("Hand of the thread", "labelled default")] = None
    drive: Annotated[str | None, _text("What turns it, like hex 5 or star T25")] = None
    count: Annotated[int | None, _count("Screws in the joint", 1, 64)] = None
    compound: Annotated[Compound | None, _choice("What goes on the thread", "labelled default")] = (
        None
    )
    verb: Annotated[
        Verb | None, _choice("Set it, check that it has not moved, or leave it", "ask")
    ] = None
    target: Annotated[
        Measure, _quantity("torque", "Set exactly this", 0.1, 80, "labelled default")
    ] = None
    max: Annotated[Measure, _quantity("torque", "Stay under this", 0.1, 80, "labelled default")] = (
        None
    )
    min: Annotated[
        Measure, _quantity("torque", "At least this; needs max", 0.1, 80, "labelled default")
    ] = None


class Fastener(Figures):
    """One joint; `parts` holds `.a` and `.b` where two parts each have their own figure."""

    parts: dict[str, Figures] = Field(default_factory=dict)


class Wheels(Table):
    """Both wheels."""

    front: Wheel = _table(Wheel)
    rear: Wheel = _table(Wheel)


class Axles(Table):
    """Both axles."""

    front: Axle = _table(Axle)
    rear: Axle = _table(Axle)


class Tyres(Table):
    """Both tyres."""

    front: Tyre = _table(Tyre)
    rear: Tyre = _table(Tyre)


class Brakes(Table):
    """Both brakes."""

    front: Brake = _table(Brake)
    rear: Brake = _table(Brake)


class Bike(Table):
    """A bike sheet."""

    maker: Annotated[str | None, _text("Who makes the bike")] = None
    model: Annotated[str | None, _text("What the maker calls it")] = None
    year: Annotated[int | None, _count("Model year", 1950, 2100)] = None
    serial: Annotated[str | None, _text("Serial number stamped on the frame", "ask")] = None
    kind: Annotated[BikeKind | None, _choice("Which ends are sprung", "ask", required="always")] = (
        None
    )
    use_class: Annotated[int | None, _count("Condition of use by EN 17406", 1, 5, "ask")] = None
    mass: Annotated[
        Measure, _quantity("mass", "The bike as ridden, pedals on", 5, 60, "labelled default")
    ] = None
    mass_limit: Annotated[
        Measure, _quantity("mass", "Most the maker allows on the bike", 30, 350, "ask")
    ] = None
    mass_limit_includes_bike: Annotated[
        bool | None, _flag("Whether that limit counts the bike itself", "ask")
    ] = None
    hands_delivered: Annotated[
        Hands | None, _choice("Which hand works the front brake as delivered", "ask")
    ] = None
    hire: Annotated[bool | None, _flag("Whether the bike is hired out")] = None
    frame: Frame = _table(Frame)
    fork: Fork = _table(Fork)
    shock: Shock = _table(Shock)
    rear: Rear = _table(Rear)
    wheel: Wheels = _table(Wheels)
    axle: Axles = _table(Axles)
    tyre: Tyres = _table(Tyres)
    cockpit: Cockpit = _table(Cockpit)
    post: Post = _table(Post)
    saddle: Saddle = _table(Saddle)
    pedal: Pedal = _table(Pedal)
    crank: Crank = _table(Crank)
    brake: Brakes = _table(Brakes)
    drive: Drive = _table(Drive)
    electric: Electric = _table(Electric)
    fastener: dict[str, Fastener] = Field(default_factory=dict)


class Rider(Table):
    """A rider sheet."""

    name: Annotated[str | None, _text("What to call the rider")] = None
    mass: Annotated[
        Measure,
        _quantity(
            "mass", "The rider, with kit if mass_includes_kit says so", 15, 250, "ask", "always"
        ),
    ] = None
    kit_mass: Annotated[
        Measure,
        _quantity("mass", "Clothes, shoes, helmet, pack and water", 0, 40, "labelled default"),
    ] = None
    mass_includes_kit: Annotated[
        bool | None, _flag("Whether mass was taken with kit on", "labelled default")
    ] = None
    height: Annotated[
        Measure,
        _quantity("length", "Standing height without shoes", 0.9, 2.3, "ask", "always"),
    ] = None
    inseam: Annotated[
        Measure,
        _quantity("length", "Floor to crotch, without shoes", 0.35, 1.15, "labelled default"),
    ] = None
    inseam_kind: Annotated[
        InseamKind | None, _choice("Pressed up firmly or measured lightly", "labelled default")
    ] = None
    sex: Annotated[Sex | None, _choice("Which body survey to use; both if left out")] = None
    arm_length: Annotated[
        Measure,
        _quantity("length", "Shoulder to the middle of a gripping hand, arm straight", 0.35, 1.0),
    ] = None
    hand_length: Annotated[
        Measure, _length("Crease of the wrist to the tip of the middle finger", 110, 250)
    ] = None
    shoe_stack: Annotated[
        Measure, _length("Sole of the shoe under the ball of the foot", 5, 60, "labelled default")
    ] = None
    power: Annotated[Measure, _quantity("power", "Power held for an hour", 30, 600)] = None
    ride: Annotated[Ride | None, _choice("What the bike is for", "labelled default")] = None
    ground: Annotated[Ground | None, _choice("How rough the ground is", "labelled default")] = None
    hands_wish: Annotated[
        Hands | None, _choice("The rider's own signed order for the front brake", "ask")
    ] = None
    sag_wish: Annotated[
        Measure, _quantity("ratio", "Sag the rider asks for, both ends", 0.05, 0.5)
    ] = None


class Workshop(Table):
    """Where pressures are set."""

    altitude: Annotated[
        Measure,
        _quantity("length", "Height above the sea", -450, 6000, "labelled default"),
    ] = None
    temperature: Annotated[
        Measure,
        _quantity("temperature", "Air where pressures are set", 233.15, 328.15, "labelled default"),
    ] = None


class Trail(Table):
    """Where the bike is ridden."""

    altitude: Annotated[
        Measure,
        _quantity("length", "Height above the sea", -450, 6000, "labelled default"),
    ] = None
    temperature: Annotated[
        Measure,
        _quantity("temperature", "Air where it is ridden", 233.15, 328.15, "labelled default"),
    ] = None
    slope: Annotated[
        Measure,
        _quantity(
            "ratio", "Rise over run of the usual descent, down positive", -1, 1, "labelled default"
        ),
    ] = None


class Place(Table):
    """A place sheet."""

    country: Annotated[
        str | None,
        Spec("country", "Two-letter code of the country, like GB", "ask", required="always"),
    ] = None
    hands: Annotated[
        Hands | None,
        _choice("Which hand works the front brake there, where no row says so: ask the importer"),
    ] = None
    workshop: Workshop = _table(Workshop)
    trail: Trail = _table(Trail)


MODELS: dict[SheetKind, type[Table]] = {"bike": Bike, "rider": Rider, "place": Place}
