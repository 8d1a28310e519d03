"""The chain's part of a climb: against plain statics, and where nobody knows the pivots."""

from __future__ import annotations

import math
from itertools import cycle

import numpy as np
import pytest

from advice.builds import advised, filled, setting, value
from cyclewright.advice import chain
from cyclewright.advice.advise import Advice
from cyclewright.body import balance
from cyclewright.errors import NotConverged
from cyclewright.mechanics import airpair, squat
from cyclewright.solve import chassis, coupled
from evidence import identity, second_method

G = 9.80665


def names(advice: Advice) -> set[str]:
    return {one.name for one in advice.settings}


def test_each_kind_of_bike_tells_what_its_sheet_can() -> None:
    told = {"anti_squat_at_sag", "rear_sag_climbing"}
    by_pivots = {"chain_growth", "pedal_kick_back"}
    assert told | by_pivots <= names(advised(bike="longtravel"))
    trail = advised(bike="trail")
    assert told <= names(trail) and not by_pivots & names(trail)
    assert "default: an axle path" in setting(trail, "rear_sag_climbing").because
    assert not (told | by_pivots) & names(advised(bike="hardtail"))
    bike = filled().sheets.bike
    bare = bike.model_copy(update={"drive": bike.drive.model_copy(update={"sprockets": None})})
    assert chain.lowest(bike) == (32, 51) and chain.lowest(bare) is None


def test_the_rear_on_a_climb_is_in_balance_with_chain_and_drive() -> None:
    """Forces on the rear by hand, at the sag that was told."""
    advice = advised(bike="longtravel")
    case, seated, sheet = advice.outcome.case, advice.outcome.seated, filled(bike="longtravel")
    slope = math.atan(sheet.sheets.place.trail.slope.value)  # type: ignore[union-attr]
    sag = value(advice, "rear_sag_climbing")
    mass = float((case.rider_mass + case.kit_mass + case.bike_mass)[0])
    x, y = seated.mass_centre[0]
    base = float(seated.geometry.wheelbase[0])
    rear = mass * G * ((base - x) * math.cos(slope) + y * math.sin(slope)) / base
    parts = chassis.frame(case)
    at = np.array([sag - 5e-4, sag + 5e-4])
    path = np.interp(at, case.leverage.travel, case.axle_path)
    away = (parts.rear_axle - parts.bottom_bracket)[0]
    teeth = chain.lowest(sheet.sheets.bike)
    assert teeth == (30, 51)
    grown = squat.chain_growth(away[0] + path, away[1] + at, *teeth)
    drive = mass * G * math.sin(slope)
    wheel = float(case.rear_tyre.radius[0] - seated.rear_drop[0])
    tension = drive * wheel / float(squat.pitch_radius(51))
    lift = tension * (grown[1] - grown[0]) / 1e-3 - drive * (path[1] - path[0]) / 1e-3
    stroke = float(coupled.shock_travel(case, np.array([sag]))[0])
    ratio = float(coupled.leverage(case, np.array([sag]))[0])
    shock = case.shock
    spring = (
        airpair.pair_force(
            shock.area[0],
            shock.air_length[0],
            shock.negative_length[0],
            advice.outcome.shock_setting[0],
            stroke,
            case.ambient[0],
        )
        if shock.kind == "air"
        else advice.outcome.shock_setting[0] * (stroke + shock.preload[0])
    )
    second_method(
        "rear on a climb: spring and rod over leverage, chain, drive and load",
        (float(spring) + shock.rod_force[0]) / ratio, rear - 4.0 * G - lift,
        "forces by hand, growth by differences", rel=2e-3,
    )  # fmt: skip


def test_anti_squat_of_one_carries_all_that_a_climb_shifts_to_the_rear() -> None:
    """What is left for the spring is then the level's load times the slope's cosine."""
    outcome = advised(bike="longtravel").outcome
    case, seated, slope = outcome.case, outcome.seated, math.atan(0.2)
    mass, base = case.rider_mass + case.kit_mass + case.bike_mass, seated.geometry.wheelbase
    _, rear = balance.axle_loads(mass, *seated.mass_centre.T, base, -slope)
    held = mass * G * math.sin(slope) * seated.mass_centre[:, 1] / base
    identity("rear load on a climb less what the chain carries", rear - held,
             seated.rear_load * math.cos(slope), rel=1e-6)  # fmt: skip


def test_more_anti_squat_stands_higher_on_the_climb() -> None:
    """A pivot higher up pulls the axle back as it rises; the chain then holds up more."""
    low, high = (advised(f"bike.rear.points.pivot.y={y} mm", bike="longtravel") for y in (78, 98))
    assert value(high, "anti_squat_at_sag") > value(low, "anti_squat_at_sag") + 0.05
    assert value(high, "rear_sag_climbing") < value(low, "rear_sag_climbing")
    assert value(high, "pedal_kick_back") > value(low, "pedal_kick_back")


def test_kick_back_is_growth_over_the_chainring() -> None:
    advice = advised(bike="longtravel")
    identity("kick-back", value(advice, "pedal_kick_back"),
             value(advice, "chain_growth") / float(squat.pitch_radius(30)))  # fmt: skip


def test_no_climb_on_level_ground() -> None:
    flat = advised("place.trail.slope=0 %", bike="longtravel")
    assert "rear_sag_climbing" not in names(flat)
    assert "anti_squat_at_sag" in names(flat)


def test_a_path_that_nobody_knows_is_told_wider_than_pivots() -> None:
    def width(bike: str) -> float:
        one = setting(advised(bike=bike), "anti_squat_at_sag")
        assert one.low is not None and one.high is not None
        return one.high - one.low

    assert width("trail") > 1.5 * width("longtravel")


def test_what_never_settles_says_so() -> None:
    outcome = advised(bike="longtravel").outcome
    factors = cycle((1.2, 1.0))
    with pytest.raises(NotConverged, match="do not settle"):
        coupled.rear_travel_under(
            outcome.case,
            outcome.shock_setting,
            lambda _: outcome.seated.rear_load * next(factors),
            outcome.seated.rear_travel,
        )
