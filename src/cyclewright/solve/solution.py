"""Solution: what the coupled sums answer, the nominal first and the draws behind it."""

from __future__ import annotations

from dataclasses import dataclass

from cyclewright.body.posture import Pose
from cyclewright.solve.case import Array, Case, Posture


@dataclass(frozen=True, slots=True)
class Geometry:
    """Plane geometry of the bike standing on the ground in one state.

    Points have shape (n, 2) [m], origin at the rear contact, x forward, y up; the rest (n,).
    """

    rear_axle: Array
    front_axle: Array
    front_contact: Array
    bottom_bracket: Array
    head_top: Array
    """Top of the head tube, where the spacers begin."""
    crown: Array
    """Fork crown race on the steering axis."""
    saddle: Array
    """Middle of the saddle's top."""
    seat_clamp: Array
    """Where the post leaves the frame."""
    bar_clamp: Array
    grip: Array
    pitch: Array
    """Rotation of the frame from its unloaded state [rad], nose up positive."""
    wheelbase: Array
    head_angle: Array
    trail: Array
    bb_height: Array


@dataclass(frozen=True, slots=True)
class State:
    """One posture in balance: what carries what, and where everything is."""

    geometry: Geometry
    pose: Pose
    mass_centre: Array
    """Of rider, kit and bike, ground coordinates (n, 2) [m]."""
    front_load: Array
    """Normal force under the front wheel [N]."""
    rear_load: Array
    fork_compression: Array
    """Along the fork's axis [m]."""
    shock_compression: Array
    """Along the shock [m]."""
    rear_travel: Array
    """Vertical wheel travel [m]."""
    front_drop: Array
    """Tyre drop [m]."""
    rear_drop: Array


@dataclass(frozen=True, slots=True)
class Rider:
    """A rider's pose in frame coordinates, and the mass centre of rider and kit in it (n, 2)."""

    pose: Pose
    centre: Array


@dataclass(frozen=True, slots=True)
class Solution:
    """The bike unloaded, seated and standing, and the pressures that make it so."""

    case: Case
    unloaded: Geometry
    seated: State
    standing: State
    fork_setting: Array
    """Fork pressure [Pa gauge] or coil rate [N/m]; 0 for a rigid fork."""
    shock_setting: Array
    front_tyre_pressure: Array
    """Tyre pressures inside their limits [Pa gauge]."""
    rear_tyre_pressure: Array
    front_tyre_goal: Array
    """Tyre pressures that would just meet the goal, before limits [Pa gauge]."""
    rear_tyre_goal: Array
    riders: dict[Posture, Rider]
    """Both postures as the frame has them, for another solution of this bike and rider."""
    iterations: int
    residual: float

    def at(self, posture: str) -> State:
        """The state of the named posture."""
        return self.seated if posture == "seated" else self.standing
