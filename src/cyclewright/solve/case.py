"""Case: one bike, rider and place as SI arrays, the nominal first and the draws behind it.

Every array has shape (n,): element 0 is the nominal value, elements 1 to n-1 are the draws of
the uncertain inputs (512 fixed Sobol points), so that one vectorised solve gives value and
interval together. Plane frame coordinates: origin at the rear contact of the unloaded bike,
x forward, y up; angles from the ground.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from cyclewright.body.segments import Segments
from cyclewright.mechanics.leverage import Leverage

Array = NDArray[np.float64]
Posture = Literal["seated", "standing"]
SpringKind = Literal["air", "coil", "rigid"]


@dataclass(frozen=True, slots=True)
class Spring:
    """One suspension end as a spring: an air chamber, or a coil chosen by its rate.

    For `air`, `area` [m²], `air_length` and `negative_length` [m] (each chamber's volume over
    area at full length, spacers already out of it) hold; for `coil`, `preload` [m]. `rigid` has
    zero travel. Full length is the length it tops out at.
    """

    kind: SpringKind
    travel: Array
    """Travel of the unit itself along its axis [m]: fork travel, or shock stroke."""
    sag_target: Array
    """Goal as a share of `travel` [1]."""
    posture: Posture
    """The posture in which the goal is read."""
    area: Array
    air_length: Array
    negative_length: Array
    preload: Array
    friction: Array
    """Offset force that friction leaves at rest [N], zero for the nominal."""
    rod_force: Array
    """Outward force of the damper's gas on its rod [N]; zero on a fork."""
    kept_pressure: Array | None = None
    """Gauge pressure [Pa] (or rate [N/m] of a coil) to keep; None solves for the target."""


@dataclass(frozen=True, slots=True)
class Tyre:
    """One tyre on its rim; `kept_pressure` [Pa gauge] keeps it, None solves for the goal.

    The goal is met on the whole ride; what is set is gauge at the workshop.
    """

    radius: Array
    """Unloaded outside radius [m]."""
    width: Array
    """Section width on this rim [m]."""
    height: Array
    """Section height above the rim's edge [m]."""
    rim_width: Array
    """Inside width of the rim [m]."""
    casing: Array
    """Share by which the casing stiffens the membrane [1], 0.10 to 0.25."""
    stiffness_factor: Array
    """Uncertain factor on the vertical stiffness, 1 for the nominal."""
    hit_factor: Array
    """Peak load on an edge over static load that the ground asks for [1]."""
    roll_off_factor: Array
    """Uncertain factor on the pressure that keeps the bead on, 1 for the nominal."""
    floor: Array
    """Highest of the lower limits [Pa gauge]."""
    ceiling: Array
    """Lowest of the upper limits at the workshop [Pa gauge]."""
    kept_pressure: Array | None = None
    cooling: float = 1.0
    """Temperature of the ride's coldest air over that of the workshop [1], at most 1."""
    outside: float | None = None
    """Ambient pressure at the ride's lowest point [Pa]; None for the workshop's."""


@dataclass(frozen=True, slots=True)
class Published:
    """The wheels and the fork that the frame's published geometry was measured with [m]."""

    front_radius: Array
    rear_radius: Array
    axle_to_crown: Array
    fork_offset: Array


@dataclass(frozen=True, slots=True)
class Case:
    """All that the coupled sums need, and nothing that they do not."""

    # frame and wheels, unloaded [m, rad]
    wheelbase: Array
    chainstay: Array
    bb_drop: Array
    head_angle: Array
    reach: Array
    stack: Array
    seat_angle: Array
    """Effective seat-tube angle: bottom bracket to the post's axis at stack height [rad]."""
    seat_angle_actual: Array
    """Angle of the post itself [rad]."""
    seat_tube: Array
    """Bottom bracket to the top of the seat tube [m]."""
    axle_to_crown: Array
    fork_offset: Array
    rear_travel: Array
    leverage: Leverage
    """One curve for every draw, in steps so fine that straight lines between them do; two rows
    where travel and stroke alone are known; a ratio of 1 where there is no shock."""
    leverage_factor: Array
    """Uncertain factor on every ratio of the curve [1], 1 for the nominal."""
    axle_path: Array | None
    """How far forward the rear axle moves in the frame at the curve's travels [m], (k,); None
    where nobody knows: then straight up."""
    # cockpit [m, rad]
    stem_length: Array
    stem_angle: Array
    spacers_under: Array
    stem_stack: Array
    """Height from the top of the spacers to the middle of the bar clamp [m]."""
    bar_rise: Array
    bar_backsweep_reach: Array
    """How far behind the clamp the grip's middle lies [m]."""
    # rider contact
    crank_length: Array
    foot_stack: Array
    """Pedal spindle to sole plus shoe sole [m]."""
    saddle_height: Array
    """Bottom bracket to saddle top along the post [m]."""
    saddle_setback: Array
    """Saddle middle behind the post's axis, in the rails [m]."""
    elbow_flexion: Array
    hip_shift: Array
    """Standing hips ahead of the neutral place [m], 0 for the nominal."""
    seated_shift: Array
    """Seated mass centre ahead of where segments put it [m], 0 for the nominal."""
    segments: Segments
    sex: Literal["M", "F"] | None
    rider_mass: Array
    """Body mass [kg]."""
    kit_mass: Array
    bike_mass: Array
    unsprung_front: Array
    unsprung_rear: Array
    fork: Spring
    shock: Spring
    front_tyre: Tyre
    rear_tyre: Tyre
    slope: Array
    """Ground slope [rad], downhill positive, for the settings: 0."""
    ambient: Array
    """Ambient pressure at the workshop [Pa]."""
    grip_half_width: Array | None = None
    """Middle of the bar to the middle of a hand [m]; None for a usual bar's."""
    published: Published | None = None
    """None where wheels and fork are those that the geometry was published with."""

    @property
    def leverage_mean(self) -> Array:
        """Whole wheel travel over whole shock stroke [1]."""
        curve = self.leverage
        mean: Array = self.leverage_factor * (curve.travel[-1] / curve.stroke[-1])
        return mean

    @property
    def leverage_known(self) -> bool:
        """Whether the curve says more than the mean."""
        return self.leverage.travel.size > 2


TABLE = frozenset({"leverage", "axle_path"})
"""Fields of a Case that are one table for every draw."""


def nominal(case: Case) -> Case:
    """The same case without its draws: every (n,) array cut to its first element."""
    cut: Case = _first(case, TABLE)
    return cut


def _first(part: Any, whole: frozenset[str]) -> Any:
    changes = {}
    for item in fields(part):
        value = getattr(part, item.name)
        if item.name in whole:
            continue
        if isinstance(value, np.ndarray):
            changes[item.name] = value[:1]
        elif is_dataclass(value):
            changes[item.name] = _first(value, whole)
    return replace(part, **changes)
