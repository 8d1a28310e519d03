"""What the chain does to the rear: sag on a climb, anti-squat, growth and pedal kick-back."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache
from statistics import NormalDist

import numpy as np

from cyclewright.advice.needed import given
from cyclewright.advice.spread import setting
from cyclewright.body import balance
from cyclewright.knowledge.defaults import Filled
from cyclewright.mechanics import squat
from cyclewright.setting import Setting
from cyclewright.sheets.bike import Bike
from cyclewright.solve import chassis, coupled
from cyclewright.solve.case import Array, Case
from cyclewright.solve.solution import Solution
from cyclewright.units import show

SOURCE = "chain and climb, docs/sums.md"
LEAN = -0.02
"""How far the axle goes forward per rise about sag where no pivots are on the sheet [1]
(judgement): most paths lean a little back there, and turn forward deeper in the travel."""
LEAN_SPREAD = 0.03
"""One standard deviation of it between frames [1] (judgement)."""
PIVOT_SPREAD = 0.01
"""The same of an axle path by pivots that are read to some 4 mm on an arm of 0.4 m [1]."""


@dataclass(frozen=True, slots=True)
class _Chain:
    """The lowest gear on a bike as it stands, with its draws."""

    ring: int
    cog: int
    wheel: Array
    """Radius of the loaded rear wheel [m]."""
    bb: Array
    """From the rear axle unloaded to the bottom bracket, in the frame (n, 2) [m]."""
    case: Case

    def axle(self, travel: Array) -> tuple[Array, Array]:
        """The axle from the bottom bracket at this vertical travel [m]."""
        path = self.case.axle_path
        if path is None:
            forward = self._lean() * travel
        else:
            forward = np.interp(travel, self.case.leverage.travel, path)
        return forward - self.bb[..., 0], travel - self.bb[..., 1]

    def slope(self, travel: Array) -> Array:
        """How far forward the axle goes per rise, dx/dz [1]."""
        path = self.case.axle_path
        if path is None:
            return np.broadcast_to(self._lean(), travel.shape)
        along = self.case.leverage.travel
        there: Array = np.interp(travel, along, np.gradient(path, along))
        return there + PIVOT_SPREAD * _even(there.size)

    def _lean(self) -> Array:
        return LEAN + LEAN_SPREAD * _even(self.bb.shape[0])

    def holds_up(self, travel: Array) -> Array:
        """Vertical force at the wheel that drive and chain take off the spring, over the drive."""
        lean = self.slope(travel)
        pull = squat.growth_slope(lean, *self.axle(travel), self.ring, self.cog)
        radius = squat.pitch_radius(self.cog)
        return self.wheel / radius * pull - lean


def settings(filled: Filled, outcome: Solution) -> tuple[Setting, ...]:
    """Anti-squat and sag on a climb; where the pivots are known, growth and kick-back too."""
    gear = lowest(filled.sheets.bike)
    if outcome.case.shock.kind == "rigid" or gear is None:
        return ()
    chain = _chain(outcome, *gear)
    known = outcome.case.axle_path is not None
    words = f"lowest gear, {gear[0]}-{gear[1]}"
    squatting = _anti_squat(outcome, chain, words, known)
    slope = math.atan(given(filled.sheets.place.trail.slope).value)
    climb = (_climbing(outcome, chain, slope, words, known),) if slope > 0.0 else ()
    return (squatting, *climb, *(_growth(outcome, chain, words) if known else ()))


def lowest(bike: Bike) -> tuple[int, int] | None:
    """Teeth of the smallest chainring and the largest sprocket, None where they are not known."""
    if not bike.drive.chainrings or not bike.drive.sprockets:
        return None
    return min(bike.drive.chainrings), max(bike.drive.sprockets)


def _chain(outcome: Solution, ring: int, cog: int) -> _Chain:
    case = outcome.case
    parts = chassis.frame(case)
    wheel = case.rear_tyre.radius - outcome.seated.rear_drop
    return _Chain(ring, cog, wheel, parts.bottom_bracket - parts.rear_axle, case)


def _anti_squat(outcome: Solution, chain: _Chain, words: str, known: bool) -> Setting:
    seated = outcome.seated
    share = seated.geometry.wheelbase / seated.mass_centre[..., 1]
    return setting(
        "anti_squat_at_sag",
        "Anti-squat at sag",
        share * chain.holds_up(seated.rear_travel),
        "1",
        "%",
        1.0,
        basis="model",
        source=SOURCE,
        because=f"seated, {words}: the share of what a climb shifts to the rear that the chain "
        f"carries{_labelled(known)}",
    )


def _climbing(outcome: Solution, chain: _Chain, slope: float, words: str, known: bool) -> Setting:
    """The rear at rest on a climb, seated as on the level, at an even speed."""
    case, seated = outcome.case, outcome.seated
    whole = case.rider_mass + case.kit_mass + case.bike_mass
    base = seated.geometry.wheelbase
    _, load = balance.axle_loads(
        whole, seated.mass_centre[..., 0], seated.mass_centre[..., 1], base, -slope
    )
    drive = whole * balance.STANDARD_GRAVITY * math.sin(slope)

    def on_spring(travel: Array) -> Array:
        return load - drive * chain.holds_up(travel)

    level = seated.rear_travel
    there = coupled.rear_travel_under(case, outcome.shock_setting, on_spring, level)
    without = coupled.rear_travel_under(case, outcome.shock_setting, lambda _: load, level)
    full = float(case.rear_travel[0])
    pull = float(drive[0] * chain.wheel[0] / squat.pitch_radius(chain.cog))
    return setting(
        "rear_sag_climbing",
        "Rear sag at the wheel, climbing",
        there,
        "m",
        "mm",
        1.0,
        basis="model",
        source=SOURCE,
        because=f"{float(there[0]) / full:.0%} of {full * 1000:.0f} mm, seated up "
        f"{math.tan(slope):.0%} at an even speed, {words}; {_mm(level)} on the level, "
        f"{_mm(without)} without the chain's {show(pull, 'N', 10)}{_labelled(known)}",
    )


def _growth(outcome: Solution, chain: _Chain, words: str) -> tuple[Setting, Setting]:
    """Growth of the upper run over the whole travel, and how far it turns the cranks back."""
    ends = np.array([0.0, float(outcome.case.leverage.travel[-1])])
    forward, up = replace(chain, bb=chain.bb[:, None]).axle(ends)
    lean = PIVOT_SPREAD * _even(chain.bb.shape[0])
    teeth = chain.ring, chain.cog
    axle = forward + lean[:, None] * ends, np.broadcast_to(up, (lean.size, 2))

    def one(name: str, label: str, draws: Array, unit: str, display: str, told: str) -> Setting:
        return setting(
            name, label, draws[:, -1], unit, display, 1.0, basis="model", source=SOURCE,
            because=f"over the whole travel, {words}: {told}",
        )  # fmt: skip

    grown, back = squat.chain_growth(*axle, *teeth), squat.kick_back(*axle, *teeth)
    return (
        one("chain_growth", "Chain growth", grown, "m", "mm",
            "what the upper run takes up, wheel held"),
        one("pedal_kick_back", "Pedal kick-back", back, "rad", "°",
            "the most that it turns the cranks back, wheel not turning"),
    )  # fmt: skip


def _labelled(known: bool) -> str:
    return "" if known else "; default: an axle path leaning back by 2 %"


def _mm(lengths: Array) -> str:
    return show(float(lengths[0]), "mm", 1)


@cache
def _even(count: int) -> Array:
    """Standard normal values spread evenly, in an order that no draw knows; the nominal is 0."""
    turn = (np.arange(1, count) * 0.6180339887498949) % 1.0
    normal = NormalDist()
    return np.array([0.0, *(normal.inv_cdf(float(share)) for share in turn)])
