"""Hands off at sag: where the bike's slow swing dies away and where it slowly falls.

The linear equations of the benchmark bicycle want masses and inertias that no sheet has. They are
estimates here, and the interval is what they leave open; what a change moves is far surer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace

import numpy as np

from cyclewright.body import balance, inertia, segments
from cyclewright.mechanics import handling
from cyclewright.mechanics.handling import Parameters
from cyclewright.setting import Setting
from cyclewright.solve.case import Case, nominal
from cyclewright.solve.solution import Solution

SOURCE = "hands off at sag, docs/sums.md"
Z90 = 1.6449
"""Half of a 90 % interval in standard deviations."""
FRAME_GYRATION = 0.22, 0.18
"""Of the frame about its centre, along and up [m] (judgement)."""
FORK_LEGS = 0.065
"""Fork legs from the bike's plane [m] (judgement)."""
CAUTION = "A comparison by sums only: nobody tries it hands off."
_TOLD = (
    ("weave_speed", "Rights itself hands off above", "a swing from side to side dies away"),
    ("capsize_speed", "Slowly falls hands off above", "it leans over more and more"),
)
SPEEDS = tuple(float(speed) for speed in range(2, 13))
"""Speeds of the table [m/s]."""


@dataclass(frozen=True, slots=True)
class Estimates:
    """What no sheet has: nominal here, with one standard deviation in `SPREAD` (judgement)."""

    rear_wheel: float = 0.19
    """Share of the bike's mass in its rear wheel, tyre, sprockets and rotor [1]."""
    front_wheel: float = 0.15
    front_end: float = 0.22
    """Fork, stem, bar and levers."""
    rear_rim: float = 0.58
    """Inertia of a wheel about its axle over mass and radius squared [1]."""
    front_rim: float = 0.70
    fork_share: float = 0.62
    """Share of the fork in the front end; the rest is at the bar [1]."""
    fork_up: float = 0.45
    """Mass centre of the fork between axle and crown [1]."""
    ahead: float = 0.0
    """Mass centre of the front end ahead of that [m]."""
    rider_x: float = 0.0
    """Mass centre of the rider ahead of where the segments put it [m]."""
    rider_y: float = 0.0
    lean: float = 1.0
    """Factor on the rider's inertia about the length of the bike [1]."""
    turn: float = 1.0
    product: float = 1.0


SPREAD = Estimates(
    rear_wheel=0.03, front_wheel=0.02, front_end=0.03, rear_rim=0.08, front_rim=0.06,
    fork_share=0.06, fork_up=0.10, ahead=0.015, rider_x=0.025, rider_y=0.03,
    lean=0.15, turn=0.15, product=0.25,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Motion:
    """How lean and steer move at one speed, nominally; None where there is no such motion."""

    speed: float
    """[m/s]."""
    weave_growth: float | None
    """Of the swing from side to side [1/s]; negative dies away."""
    weave_frequency: float | None
    """[Hz]."""
    capsize: float | None
    """Growth of the fall to one side [1/s]."""


def settings(outcome: Solution, spread: bool = True) -> tuple[Setting, ...]:
    """The two speeds between which the bike rights itself, seated at sag; none it has not.

    Without their spread where only the value is looked at: it takes most of the time.
    """
    rider, case = _rider(outcome), nominal(outcome.case)

    def speeds(of: Estimates) -> handling.StableSpeeds:
        return handling.stable_speeds(handling.matrices(_bicycle(case, outcome, of, rider)))

    usual = speeds(Estimates())
    moved = [speeds(one) for one in each_moved()] if spread else []
    found = []
    for name, label, meaning in _TOLD:
        value = getattr(usual, name)
        if value is None:
            continue
        ends = [getattr(one, name) for one in moved]
        wide = Z90 * math.hypot(*(end - value for end in ends if end is not None))
        found.append(
            Setting(
                name, value, "m/s", max(value - wide, 0.0), value + wide, "model", SOURCE,
                f"above it {meaning}: rigid rider seated at sag, no hands, wheels without slip; "
                "masses and inertias are estimates: read it for what a change moves",
                "km/h", 0.5, label, cautions=(CAUTION,),
            )
        )  # fmt: skip
    return tuple(found)


def each_moved() -> Iterator[Estimates]:
    """The estimates with one of them at a time off by its own standard deviation."""
    for item in fields(Estimates):
        off = getattr(Estimates(), item.name) + getattr(SPREAD, item.name)
        yield replace(Estimates(), **{item.name: off})


def table(outcome: Solution) -> tuple[Motion, ...]:
    """The motions over a range of speeds, nominally."""
    found = handling.modes(handling.matrices(bicycle(outcome)), np.array(SPEEDS))
    return tuple(
        Motion(
            speed,
            float(found.weave_real[at]) if found.weaves[at] else None,
            float(found.weave_imag[at]) / (2.0 * math.pi) if found.weaves[at] else None,
            float(found.capsize[at]) if found.falls[at] else None,
        )
        for at, speed in enumerate(SPEEDS)
    )


def bicycle(outcome: Solution, of: Estimates | None = None) -> Parameters:
    """The benchmark's parameters of this bike and rider, nominally, seated at sag on the level."""
    return _bicycle(nominal(outcome.case), outcome, of or Estimates(), _rider(outcome))


def _bicycle(case: Case, outcome: Solution, of: Estimates, rider: _Body) -> Parameters:
    leaning = replace(
        rider,
        x=rider.x + of.rider_x,
        y=rider.y + of.rider_y,
        lean=of.lean * rider.lean,
        turn=of.turn * rider.turn,
        product=of.product * rider.product,
    )
    geometry = outcome.seated.geometry
    base, head = float(geometry.wheelbase[0]), float(geometry.head_angle[0])
    bike = float(case.bike_mass[0])
    rear = _Wheel(of.rear_wheel * bike, _loaded(case, outcome, "rear"), of.rear_rim)
    front = _Wheel(of.front_wheel * bike, _loaded(case, outcome, "front"), of.front_rim)
    end = _front_end(case, outcome, of)
    body = _joined(_frame(outcome, base, rear, front, end), leaning)
    return Parameters(
        w=base, c=float(geometry.trail[0]), lam=math.pi / 2.0 - head,
        rR=rear.radius, mR=rear.mass, IRxx=rear.spin / 2.0, IRyy=rear.spin,
        xB=body.x, zB=-body.y, mB=body.mass, IBxx=body.lean, IBxz=body.product, IBzz=body.turn,
        xH=end.x, zH=-end.y, mH=end.mass, IHxx=end.lean, IHxz=end.product, IHzz=end.turn,
        rF=front.radius, mF=front.mass, IFxx=front.spin / 2.0, IFyy=front.spin,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Wheel:
    mass: float
    radius: float
    rim: float

    @property
    def spin(self) -> float:
        """Inertia about the axle [kg·m²]."""
        return self.rim * self.mass * self.radius**2


@dataclass(frozen=True, slots=True)
class _Body:
    """A rigid body: mass [kg], centre [m] on the ground, inertias about it [kg·m²]."""

    mass: float
    x: float
    y: float
    lean: float
    turn: float
    product: float


def _joined(*bodies: _Body) -> _Body:
    """Several bodies as one, by parallel axes."""
    mass = math.fsum(one.mass for one in bodies)
    x = math.fsum(one.mass * one.x for one in bodies) / mass
    y = math.fsum(one.mass * one.y for one in bodies) / mass
    return _Body(
        mass, x, y,
        math.fsum(one.lean + one.mass * (one.y - y) ** 2 for one in bodies),
        math.fsum(one.turn + one.mass * (one.x - x) ** 2 for one in bodies),
        math.fsum(one.product + one.mass * (one.x - x) * (one.y - y) for one in bodies),
    )  # fmt: skip


def _loaded(case: Case, outcome: Solution, end: str) -> float:
    """Radius of a loaded wheel, seated [m]."""
    tyre, drop = getattr(case, f"{end}_tyre"), getattr(outcome.seated, f"{end}_drop")
    return float(tyre.radius[0] - drop[0])


def _front_end(case: Case, outcome: Solution, of: Estimates) -> _Body:
    """All that turns with the bar but the wheel: the fork as a rod, bar and levers across it."""
    points = outcome.seated.geometry
    axle, crown, clamp = points.front_axle[0], points.crown[0], points.bar_clamp[0]
    mass, along = of.front_end * float(case.bike_mass[0]), crown - axle
    fork, bar = of.fork_share * mass, (1.0 - of.fork_share) * mass
    middle = axle + of.fork_up * along
    aside = FORK_LEGS**2
    across = 0.0 if case.grip_half_width is None else (2 * float(case.grip_half_width[0])) ** 2 / 12
    both = _joined(
        _Body(
            fork, float(middle[0]), float(middle[1]), fork * (along[1] ** 2 / 12.0 + aside),
            fork * (along[0] ** 2 / 12.0 + aside), fork * along[0] * along[1] / 12.0,
        ),
        _Body(bar, float(clamp[0]), float(clamp[1]), bar * across, bar * across, 0.0),
    )  # fmt: skip
    return replace(both, x=both.x + of.ahead)


def _frame(outcome: Solution, base: float, rear: _Wheel, front: _Wheel, end: _Body) -> _Body:
    """What is left of the bike, its centre such that all of it stands where the loads have it."""
    bb = outcome.seated.geometry.bottom_bracket[:1, 1]
    whole, centre = float(outcome.case.bike_mass[0]), balance.bike_mass_centre([base], bb)[0]
    mass = whole - rear.mass - front.mass - end.mass
    x = (whole * centre[0] - front.mass * base - end.mass * end.x) / mass
    wheels = rear.mass * rear.radius + front.mass * front.radius
    y = (whole * centre[1] - wheels - end.mass * end.y) / mass
    along, up = FRAME_GYRATION
    return _Body(mass, float(x), float(y), mass * up**2, mass * along**2, 0.0)


def _rider(outcome: Solution) -> _Body:
    """The rider seated, as the pose has the limbs."""
    case, pose = nominal(outcome.case), outcome.seated.pose
    still = replace(pose, points={name: place[:1] for name, place in pose.points.items()})
    masses = segments.segment_masses(case.sex)
    found = inertia.rider_inertia(still, case.rider_mass, case.kit_mass, masses)
    centre = balance.mass_centre(still, case.rider_mass, case.kit_mass, masses)[0]
    return _Body(
        *(float(one) for one in (found.mass[0], *centre)),
        *(float(one[0]) for one in (found.lean, found.turn, found.product)),
    )
