"""The example sheets read, are complete, and agree with themselves."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from cyclewright.knowledge.defaults import fill
from cyclewright.sheets import closure
from cyclewright.sheets.bike import Bike
from cyclewright.sheets.read import read
from cyclewright.sheets.sheets import load
from sheets.samples import BIKES, EVERY, PLACES, RIDERS

NAMES = [path.stem for path in BIKES]


@pytest.fixture(params=BIKES, ids=NAMES)
def bike(request) -> Bike:
    return read(request.param, "bike")


def test_there_are_three_bikes_two_riders_and_three_places():
    assert sorted(NAMES) == ["hardtail", "longtravel", "trail"]
    assert sorted(path.stem for path in RIDERS) == ["heavy", "light"]
    assert sorted(path.stem for path in PLACES) == ["high", "left", "right"]


@pytest.mark.parametrize(("kind", "path"), EVERY, ids=lambda item: getattr(item, "stem", item))
def test_every_example_reads(kind, path):
    assert read(path, kind)


def test_geometry_closes_within_three_millimetres(bike):
    made = closure.of_bike(bike)
    assert made is not None
    assert made.wheelbase == pytest.approx(bike.frame.wheelbase.value, abs=0.003)
    assert made.head_tube == pytest.approx(bike.frame.head_tube.value, abs=0.003)


def test_wheelbase_by_a_second_way(bike):
    """Second method: walk the points of the frame one by one instead of one formula."""
    frame, fork = bike.frame, bike.fork
    rear = bike.tyre.rear.bead / 2 + bike.tyre.rear.width
    front = bike.tyre.front.bead / 2 + bike.tyre.front.width
    bracket = (math.sqrt(frame.chainstay.value**2 - frame.bb_drop.value**2),
               rear - frame.bb_drop.value)  # fmt: skip
    angle = frame.head_angle.value
    top = (bracket[0] + frame.reach.value, bracket[1] + frame.stack.value)
    down = frame.head_tube.value + fork.axle_to_crown.value
    axle = (
        top[0] + down * math.cos(angle) + fork.offset.value * math.sin(angle),
        top[1] - down * math.sin(angle) + fork.offset.value * math.cos(angle),
    )
    assert axle[0] == pytest.approx(frame.wheelbase.value, abs=0.003)
    assert axle[1] == pytest.approx(front, abs=0.003)


def test_leverage_tables_give_the_shocks_stroke(bike):
    rows = [(row.travel.value, row.ratio.value) for row in bike.rear.leverage]
    if not rows:
        pytest.skip("no table on this sheet")
    assert rows[0][0] == 0
    assert rows[-1][0] == pytest.approx(bike.rear.travel.value)
    # between rows the ratio is linear: the stroke is the integral of dz / ratio
    stroke = sum(
        (after - before) * math.log(high / low) / (high - low)
        for (before, low), (after, high) in pairwise(rows)
    )
    assert stroke == pytest.approx(bike.shock.stroke.value, rel=0.01)


def test_single_pivot_points_give_the_shocks_stroke():
    bike = next(read(path, "bike") for path in BIKES if path.stem == "longtravel")
    at = {name: (point.x.value, point.y.value) for name, point in bike.rear.points.items()}
    pivot, frame, arm = at["pivot"], at["shock_frame"], at["shock_arm"]
    axle = (-math.sqrt(bike.frame.chainstay.value**2 - bike.frame.bb_drop.value**2),
            bike.frame.bb_drop.value)  # fmt: skip
    reach = math.dist(axle, pivot)
    before = math.asin((axle[1] - pivot[1]) / reach)
    after = math.asin((axle[1] + bike.rear.travel.value - pivot[1]) / reach)
    turn = -(after - before)  # the axle is behind its pivot: rising turns it clockwise
    x, y = arm[0] - pivot[0], arm[1] - pivot[1]
    moved = (
        pivot[0] + x * math.cos(turn) - y * math.sin(turn),
        pivot[1] + x * math.sin(turn) + y * math.cos(turn),
    )
    stroke = math.dist(frame, arm) - math.dist(frame, moved)
    assert stroke == pytest.approx(bike.shock.stroke.value, abs=0.001)


@pytest.mark.parametrize("rider", RIDERS, ids=lambda path: path.stem)
@pytest.mark.parametrize("place", PLACES, ids=lambda path: path.stem)
@pytest.mark.parametrize("path", BIKES, ids=NAMES)
def test_examples_leave_nothing_to_a_default(path, rider, place):
    assert fill(load(path, rider, place)).defaults == ()


def test_the_trail_bike_tells_the_story_of_its_carton():
    by_name = {path.stem: read(path, "bike") for path in BIKES}
    trail = by_name["trail"]
    bar, stem = (trail.fastener["faceplate"].parts[name] for name in "ab")
    assert bar.max.value == stem.min.value == 5.0
    assert trail.hands_delivered == "front-left"
    assert {trail.brake.front.lever, trail.brake.rear.lever} == {"two-way"}
    light = next(read(path, "rider") for path in RIDERS if path.stem == "light")
    saddle = 0.883 * light.inseam.value
    above_collar = saddle - trail.frame.seat_tube.value - trail.saddle.height.value
    post, frame = trail.post, trail.frame

    def fits(travel: float, length: float) -> bool:
        """The fixed body goes in far enough, and no further than post and frame allow."""
        inside = length - above_collar
        body = length - travel - post.head_height.value
        return max(post.insertion_min.value, frame.insertion_min.value) <= inside and (
            inside <= min(body, frame.insertion_max.value)
        )

    assert not fits(post.travel.value, post.length.value)
    assert fits(0.150, 0.430)
    assert fits(0.150, post.length.value), "as when only the travel is changed on the sheet"


def test_the_three_bikes_differ_where_the_plans_should():
    by_name = {path.stem: read(path, "bike") for path in BIKES}
    hardtail, long = by_name["hardtail"], by_name["longtravel"]
    assert {hardtail.axle.front.kind, hardtail.axle.rear.kind} == {"quick-release"}
    assert hardtail.post.kind == "plain"
    assert hardtail.tyre.front.tubeless is False
    assert long.shock.kind == "coil"
    assert len(long.shock.rates) > 3
    assert (long.tyre.front.bead, long.tyre.rear.bead) == (0.622, 0.584)
    assert long.fork.chart == long.shock.chart == ()
