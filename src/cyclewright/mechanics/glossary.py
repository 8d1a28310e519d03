"""One name, symbol, unit and meaning for every quantity that the sums take.

`python -m cyclewright.mechanics.glossary` prints the table as `docs/glossary.md`.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Term:
    """A quantity: its name in code, the field's symbol, its SI unit, and what it is."""

    name: str
    symbol: str
    unit: str
    """SI unit; `1` for a ratio or count, `word` or `object` for what is no quantity."""
    meaning: str


TERMS: Final = tuple(
    Term(*row)
    for row in (
        # what readings teach
        ("each", "", "object", "draws of the same parameters by each of several views of readings"),
        ("weights", "w", "1", "how much each view of the readings counts"),
        # bolts and clamps
        ("thread", "", "object", "metric thread with its diameters and stress area"),
        ("designation", "", "word", "size as it is written: M8x1"),
        ("head", "", "word", "kind of a bolt's head: socket, hex, or its bearing face and hole"),
        ("grade", "", "word", "property class of a bolt: 8.8, A2-70"),
        ("friction", "μ", "1", "friction coefficient between two surfaces"),
        ("friction_thread", "μ_t", "1", "friction coefficient in a bolt's thread"),
        ("friction_head", "μ_h", "1", "friction coefficient under a bolt's head"),
        ("utilisation", "ν", "1", "share of a bolt's yield point that is used"),
        ("tension", "F", "N", "tensile force in a bolt, or in all bolts of a clamp together"),
        ("torque", "T", "N·m", "tightening torque"),
        ("length", "L", "m", "lever of a torque tool, from its drive to the middle of the hand"),
        ("extension", "E", "m", "distance from a torque tool's drive to the bolt"),
        ("angle", "φ", "rad", "angle of an extension from the tool's own line, 0 lengthens it"),
        ("diameter", "D", "m", "outside diameter of a tube or a wheel"),
        # air
        ("altitude", "H", "m", "geopotential altitude above sea level"),
        ("altitude_from", "H₁", "m", "geopotential altitude at the start"),
        ("altitude_to", "H₂", "m", "geopotential altitude at the end"),
        ("temperature_from", "T₁", "K", "temperature at the start"),
        ("temperature_to", "T₂", "K", "temperature at the end"),
        ("ambient", "p_a", "Pa", "absolute pressure of the air outside"),
        ("pressure_gauge", "p", "Pa", "pressure above that of the air outside"),
        # springs
        ("piston_area", "A", "m²", "area of an air spring's piston"),
        ("volume", "V", "m³", "volume of a chamber at stroke 0"),
        ("air_length", "L", "m", "a chamber's volume over the piston's area at stroke 0"),
        ("negative_length", "l", "m", "the negative chamber's volume over the piston's area"),
        ("stroke", "s", "m", "how far a unit is compressed along its axis"),
        ("exponent", "n", "1", "polytropic exponent: 1 slow, about 1.3 in fast strokes"),
        ("rate", "k", "N/m", "stiffness of a spring along its axis"),
        ("preload", "s₀", "m", "compression of a coil at stroke 0"),
        ("force", "F", "N", "force of a spring along its axis"),
        ("unit", "", "object", "an air spring's chambers, stops and constant forces"),
        ("charge", "C", "object", "gas in an air spring: pressure times volume of each chamber"),
        ("negative_volume", "V_n", "m³", "volume of the negative chamber at stroke 0"),
        ("negative_gauge", "p_n", "Pa", "gauge pressure in the negative chamber"),
        ("shaft_area", "", "m²", "area of the shaft through the negative chamber"),
        ("transfer_stroke", "s_t", "m", "stroke at which both chambers of an air spring connect"),
        ("spacers", "", "1", "volume spacers fitted"),
        ("spacer_volume", "V_s", "m³", "volume of one spacer"),
        ("top_out_rate", "", "N/m", "stiffness of the stop at full length"),
        ("top_out_length", "", "m", "stroke over which the stop at full length touches"),
        ("bump_rate", "", "N/m", "stiffness of the stop before the end of travel"),
        ("bump_length", "", "m", "stroke over which the stop before the end touches"),
        ("rod_force", "", "N", "force of a damper's gas charge on its rod"),
        ("about", "s₀", "m", "stroke of the ridden equilibrium that a fast stroke starts from"),
        ("hose_volume", "V_h", "m³", "volume of a pump's hose and gauge"),
        ("reading_gauge", "p'", "Pa", "gauge pressure that a pump shows while it is on"),
        # fork, linkage and leverage
        ("unsprung_mass", "m_u", "kg", "wheel and what moves with it"),
        ("brake_force", "B", "N", "braking force at the contact, rearward"),
        ("linkage", "", "object", "pivots of a rear suspension and the bodies they lie on"),
        ("points", "", "object", "pivots by name, x and y from the bottom bracket"),
        ("motion", "", "object", "a linkage moved through its travel"),
        ("travel", "z", "m", "whole travel of a unit, or rows of vertical wheel travel"),
        ("wheel_travel", "z", "m", "vertical travel of the axle in the frame"),
        ("leverage", "", "object", "leverage curve: rows of travel, ratio and stroke"),
        ("ratio", "LR", "1", "leverage ratio of the rows of a curve"),
        ("leverage_ratio", "LR", "1", "wheel travel over shock stroke, as a slope"),
        ("leverage_slope", "dLR/dz", "1/m", "change of the leverage ratio with wheel travel"),
        ("link_force", "", "N", "force of the moving links' weight on the shock"),
        ("chain_tension", "T", "N", "tension of the chain's upper run"),
        ("growth_slope", "dG/dz", "1", "growth of the chain's upper run per rise of the axle"),
        ("teeth", "N", "1", "teeth of a sprocket"),
        ("front_teeth", "N_f", "1", "teeth of the chainring"),
        ("rear_teeth", "N_r", "1", "teeth of the cog"),
        ("pitch", "p", "m", "pitch of the chain"),
        ("axle_x", "x", "m", "rear axle ahead of the origin that the sum names"),
        ("axle_y", "y", "m", "rear axle above the origin that the sum names"),
        ("axle_slope", "dx/dz", "1", "forward way of the rear axle per rise"),
        ("pivot_x", "x", "m", "pivot or instant centre ahead of the origin"),
        ("pivot_y", "y", "m", "pivot or instant centre above the origin"),
        ("bb_x", "x", "m", "bottom bracket ahead of the origin"),
        ("bb_y", "y", "m", "bottom bracket above the origin"),
        # dampers
        ("damping", "c", "N·s/m", "force over speed"),
        ("damping_ratio", "ζ", "1", "damping over critical damping"),
        ("low_slope", "c_l", "N·s/m", "damping below the knee"),
        ("high_slope", "c_h", "N·s/m", "damping beyond the knee"),
        ("knee", "v_k", "m/s", "speed at which a damper's slope changes"),
        ("velocity", "v", "m/s", "speed of a stroke, compressing positive"),
        ("compression", "", "object", "a damper's circuit while it is compressed"),
        ("rebound", "", "object", "a damper's circuit while it extends"),
        ("law", "", "object", "what a click does to the damping"),
        ("clicks", "n", "1", "clicks out from fully closed"),
        ("clicks_a", "n_a", "1", "clicks out from closed in the first take"),
        ("clicks_b", "n_b", "1", "clicks out from closed in the second take"),
        ("damping_a", "c_a", "N·s/m", "damping found in the first take"),
        ("damping_b", "c_b", "N·s/m", "damping found in the second take"),
        ("counted", "", "1", "clicks from closed to open, as counted"),
        ("temperature", "T", "K", "temperature"),
        ("viscosity", "ν", "m²/s", "kinematic viscosity"),
        ("viscosity_before", "ν₀", "m²/s", "kinematic viscosity before"),
        ("viscosity_40", "ν₄₀", "m²/s", "kinematic viscosity at 40 °C"),
        ("viscosity_100", "ν₁₀₀", "m²/s", "kinematic viscosity at 100 °C"),
        ("viscous_share", "β", "1", "share of a low-speed slope that is laminar flow"),
        # modes and handling
        ("sprung_mass", "m_s", "kg", "mass that a spring carries"),
        ("spring_rate", "k_s", "N/m", "stiffness of a spring at the wheel"),
        ("tyre_rate", "k_t", "N/m", "vertical stiffness of a tyre"),
        ("pitch_inertia", "J", "kg·m²", "moment of inertia about the mass centre, in pitch"),
        ("front_distance", "a", "m", "mass centre to the front spring"),
        ("rear_distance", "b", "m", "mass centre to the rear spring"),
        ("front_rate", "k_f", "N/m", "vertical stiffness at the front"),
        ("rear_rate", "k_r", "N/m", "vertical stiffness at the rear"),
        ("bicycle", "", "object", "masses, inertias and geometry of a bicycle that balances"),
        ("matrices", "", "object", "linear equations of motion in lean and steer"),
        # steering
        ("wheel_radius", "R", "m", "axle to ground as loaded"),
        ("head_angle", "θ", "rad", "steering axis from the ground"),
        ("offset", "o", "m", "front axle ahead of the steering axis, square to it"),
        ("trail", "c", "m", "front contact behind the steering axis, along the ground"),
        # tyres
        ("width", "w", "m", "section width of a tyre"),
        ("bead", "d", "m", "diameter of the bead seat"),
        ("rim_width", "b", "m", "inside width of the rim"),
        ("measuring_rim", "b_m", "m", "inside width of the rim a nominal width is measured on"),
        ("radius", "R", "m", "unloaded outside radius of a wheel with its tyre"),
        ("height", "h", "m", "height of a tyre's section above the rim's edge"),
        ("casing", "", "1", "share that the casing adds to the membrane's stiffness"),
        ("load", "N", "N", "normal force under a wheel"),
        ("side_force", "μ", "1", "side force under a wheel over its load"),
        ("spread_length", "L", "m", "length of rim over which the casing spreads a side force"),
        # jumps
        ("equivalent_fall_height", "h", "m", "height of a plain fall as hard as a landing"),
        ("landing_slope", "ψ", "rad", "slope of a landing, upward positive"),
        ("takeoff_angle", "θ", "rad", "angle of the lip, upward positive"),
        ("x", "x", "m", "place along the ground, forward positive"),
        ("y", "y", "m", "place above the ground or above the lip, up positive"),
        # braking and balance
        ("mass", "m", "kg", "mass of bike, rider and kit, or what a spring carries"),
        ("total_mass", "m", "kg", "mass of all that stands on the wheels"),
        ("mass_to_front", "l", "m", "mass centre to front contact along the ground"),
        ("mass_height", "h", "m", "mass centre above the ground"),
        ("wheelbase", "L", "m", "distance between both contacts"),
        ("deceleration", "a", "m/s²", "deceleration along the ground, slowing positive"),
        ("slope", "α", "rad", "slope of the ground, downhill positive"),
        ("speed", "v", "m/s", "forward speed; of a stop, that at its start"),
        ("distance", "s", "m", "stopping distance"),
        ("bb_height", "", "m", "bottom bracket above the ground"),
        # bodies
        ("stature", "", "m", "height of a person without shoes"),
        ("sex", "", "word", "M or F where it is known, for the survey's regressions"),
        ("inseam", "", "m", "floor to crotch as the shop measures it, pressed up"),
        ("kind", "", "word", "of an inseam: firm or light; of a linkage: how it leads the wheel"),
        ("crotch_height", "", "m", "floor to crotch as the survey measures it"),
        ("arm_length", "", "m", "length of the arm as the survey measures it"),
        ("deviates", "", "1", "standard normal draws, one row a body length"),
        ("set", "", "word", "the author of a table of segment masses"),
        ("masses", "", "object", "mass shares and centres of the body's segments"),
        ("segments", "", "object", "lengths of the body's segments"),
        ("contacts", "", "object", "where the bike carries the rider"),
        ("pose", "", "object", "points and angles of a rider on a bike"),
        ("heights", "", "object", "saddle heights by every method"),
        ("parts", "", "object", "pairs of mass and place"),
        ("body_mass", "", "kg", "mass of the rider without kit"),
        ("kit_mass", "", "kg", "mass of clothes, shoes, pack and water"),
        ("crank_length", "", "m", "bottom bracket to pedal spindle"),
        ("foot_stack", "", "m", "pedal spindle to the foot's sole, shoe included"),
        ("elbow_flexion", "", "rad", "bend of the elbow, 0 straight"),
        ("hip_above_saddle", "", "m", "hip's centre above the saddle's top"),
        ("hip_shift", "", "m", "standing hips ahead of their neutral place"),
        ("seat_angle", "", "rad", "post's axis from the ground"),
        ("setback", "", "m", "saddle's middle behind the post's axis"),
        # readings
        ("parameters", "", "object", "draws of the uncertain inputs, one row an input"),
        ("predicted", "", "m", "what each draw says that a reading should be"),
        ("outcome", "", "m", "what each draw says that will come of a setting"),
        ("observed", "", "m", "the reading itself"),
        ("spread", "σ", "m", "one standard deviation of a reading"),
        ("seen", "x, s₀", "m", "sit-downs of each reading, and what is usual for one of them"),
        ("use", "x", "any", "hours or days in use when each wear reading was taken"),
        ("worn", "y", "any", "what each wear reading says"),
        ("limit", "L", "any", "the reading at which a part is worn out"),
        ("now", "", "1", "chance of being inside the tolerance as things are set"),
        ("then", "", "1", "the same at the next setting"),
        ("change", "", "any", "how far the next setting lies from this one"),
        ("graduation", "", "any", "step to which a tool can be read or set"),
        ("first", "", "any", "point of a limb above the joint, in the picture"),
        ("joint", "", "any", "point of the joint itself, in the picture"),
        ("last", "", "any", "point of a limb below the joint, in the picture"),
        ("start", "", "any", "where a line begins, in the picture"),
        ("end", "", "any", "where a line ends, in the picture"),
        ("pixels", "", "px", "points of a photo by name, y downward"),
        ("rear_axle", "", "px", "where the rear axle is in the picture"),
        ("front_axle", "", "px", "where the front axle is in the picture"),
        ("rise", "", "m", "front axle above the rear one"),
        ("places", "", "m", "points from the middle of the picture"),
        ("camera", "", "object", "how a photo was taken and what is not known of it"),
        ("nearer", "z", "m", "how far a point stands towards the camera from the bike's plane"),
        ("nearer_spread", "", "m", "one standard deviation of `nearer`"),
        ("gravity", "g", "m/s²", "accelerometer samples of a phone at rest, in its own axes"),
        ("turned", "g", "m/s²", "the same of the phone in its place, turned end for end"),
        ("target", "", "m", "the value that is wanted"),
        ("tolerance", "", "m", "how far from the target still counts as there"),
    )
)


def markdown() -> str:
    """The glossary as a page of the documentation."""
    lines = [
        "# Glossary",
        "",
        "Made from the table in `src/cyclewright/mechanics/glossary.py` by `make docs`. Values are",
        "SI; a pressure is absolute unless its name ends in `_gauge`.",
        "",
        "| name | symbol | unit | meaning |",
        "|---|---|---|---|",
    ]
    rows = sorted(TERMS, key=lambda term: term.name)
    lines += [f"| `{row.name}` | {row.symbol} | {row.unit} | {row.meaning} |" for row in rows]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.stdout.write(markdown())
