"""Hands off at sag: the benchmark's equations fed with this bike, and what is sure about it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from advice.builds import advised, setting, value
from cyclewright.advice import steady
from cyclewright.mechanics import handling
from evidence import identity, second_method


@pytest.mark.parametrize("bike", ["trail", "hardtail", "longtravel"])
@pytest.mark.parametrize("rider", ["light", "heavy"])
def test_every_example_rights_itself_in_a_band_of_speeds(bike: str, rider: str) -> None:
    advice = advised(bike=bike, rider=rider)
    weave, capsize = (setting(advice, name) for name in ("weave_speed", "capsize_speed"))
    for one in (weave, capsize):
        assert one.value is not None and one.low is not None and one.high is not None
        assert one.low < one.value < one.high
        assert "estimates" in one.because and one.cautions
    assert 4.0 < value(advice, "weave_speed") < value(advice, "capsize_speed") < 14.0


def test_masses_and_moments_are_those_of_the_loads() -> None:
    """Four bodies together: the whole mass, and its centre where the axle loads have it."""
    outcome = advised().outcome
    of = steady.bicycle(outcome)
    parts = ((of.mR, 0.0, of.rR), (of.mB, of.xB, -of.zB), (of.mH, of.xH, -of.zH),
             (of.mF, of.w, of.rF))  # fmt: skip
    mass = sum(one[0] for one in parts)
    case = outcome.case
    identity("whole mass", mass, float((case.rider_mass + case.kit_mass + case.bike_mass)[0]))
    for axis, name in ((1, "ahead"), (2, "above")):
        identity(
            f"mass centre {name}", sum(one[0] * one[axis] for one in parts) / mass,
            float(outcome.seated.mass_centre[0, axis - 1]), rel=1e-9,
        )  # fmt: skip
    at = outcome.seated.geometry
    identity("geometry at sag", [of.w, of.c, math.pi / 2 - of.lam],
             [float(one[0]) for one in (at.wheelbase, at.trail, at.head_angle)])  # fmt: skip


def test_the_table_crosses_zero_at_the_speeds_told() -> None:
    advice = advised()
    rows = steady.table(advice.outcome)
    speeds = np.array([row.speed for row in rows])
    for name, of, sign in (("weave_speed", "weave_growth", -1), ("capsize_speed", "capsize", 1)):
        growth = np.array([getattr(row, of) for row in rows], float) * sign
        crossed = np.flatnonzero((growth[:-1] < 0.0) & (growth[1:] >= 0.0))[-1]
        at = float(np.interp(0.0, growth[crossed : crossed + 2], speeds[crossed : crossed + 2]))
        second_method(f"{name} by the roots over speeds", value(advice, name), at,
                      "straight line between the rows", rel=0.05)  # fmt: skip
    for row, root in zip(rows, _weave(advice.outcome, speeds), strict=True):
        assert row.weave_frequency == pytest.approx(root / (2.0 * math.pi))


def _weave(outcome: object, speeds: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
    of = handling.matrices(steady.bicycle(outcome))  # type: ignore[arg-type]
    return handling.modes(of, speeds).weave_imag


def test_what_a_change_moves_is_surer_than_the_speed_itself() -> None:
    """Each estimate off by its own, the shift of a higher bar changes by far less than it."""
    before, after = (advised(*change).outcome for change in ((), ("bike.cockpit.bar_rise=60 mm",)))

    def speed(outcome: object, of: steady.Estimates) -> float:
        found = handling.stable_speeds(handling.matrices(steady.bicycle(outcome, of)))  # type: ignore[arg-type]
        assert found.weave_speed is not None
        return found.weave_speed

    usual = steady.Estimates()
    shift = speed(after, usual) - speed(before, usual)
    absolute, moved = [], []
    for of in steady.each_moved():
        absolute.append(speed(before, of) - speed(before, usual))
        moved.append(speed(after, of) - speed(before, of) - shift)
    assert math.hypot(*moved) < 0.1 * math.hypot(*absolute)


def test_less_trail_settles_sooner_here() -> None:
    """A fork with more offset at the same geometry leaves less trail and a lower weave speed."""
    few, many = (advised(f"bike.fork.offset={offset} mm") for offset in (37, 51))
    assert value(many, "trail_at_sag") < value(few, "trail_at_sag")
    assert value(many, "weave_speed") < value(few, "weave_speed") - 0.05
