"""Geometry anywhere in the travel."""

from __future__ import annotations

import math

import numpy as np
import pytest

from advice.builds import advised, filled, value
from cyclewright.advice import case
from cyclewright.advice.handling import at_travel, through_travel
from cyclewright.errors import InputError, RangeError
from cyclewright.solve.case import nominal
from cyclewright.solve.coupled import solve
from cyclewright.solve.solution import Geometry
from cyclewright.workshop import advising
from evidence import identity, second_method


def test_through_the_travel_each_end_turns_the_bike_its_way() -> None:
    outcome = advised().outcome
    rows = {row.words: row for row in through_travel(outcome)}
    assert len(rows) == 6
    still, dived, squatted = (
        rows[words] for words in ("unloaded", "dived: fork 70 %", "squatted: rear 50 %")
    )
    assert dived.head_angle > still.head_angle > squatted.head_angle
    assert dived.trail < still.trail < squatted.trail
    assert max(dived.bb_height, squatted.bb_height) < still.bb_height
    identity("the row at sag is the setting", rows["at sag, standing"].head_angle,
             value(advised(), "head_angle_at_sag"), rel=1e-9)  # fmt: skip


def test_the_head_angle_by_the_lowered_ends() -> None:
    outcome = advised().outcome
    none, fork = at_travel(outcome, 0.0, 0.0), at_travel(outcome, 0.5, 0.0)
    lowered = 0.5 * 0.14 * math.sin((none.head_angle + fork.head_angle) / 2)
    second_method(
        "head angle as the fork goes in", fork.head_angle - none.head_angle,
        np.arctan(lowered / ((none.wheelbase + fork.wheelbase) / 2)),
        "fall of the front over the wheelbase", rel=0.03,
    )  # fmt: skip


@pytest.mark.parametrize("bike", ["hardtail", "longtravel"])
def test_every_kind_of_bike_has_its_rows(bike: str) -> None:
    rows = through_travel(advised(bike=bike).outcome)
    assert len(rows) == (5 if bike == "hardtail" else 6)
    assert all(math.isfinite(row.trail) and row.wheelbase > 1.0 for row in rows)


def test_geometry_is_asked_by_shares_of_travel() -> None:
    from advice.builds import sheets

    *usual, found = advising.advise(sheets(), at=[advising.shares("30 %, 0.3")]).geometry
    assert len(usual) == 6 and found.words == "asked: fork 30 %, rear 30 %"
    assert found.fork_travel == pytest.approx(0.042)
    assert found.rear_travel == pytest.approx(0.039)
    assert advising.shares("25 %") == (0.25, 0.25)
    with pytest.raises(RangeError, match="share of the travel") as caught:
        advising.shares("120 %, -10 %")
    assert len(caught.value.problems) == 2
    with pytest.raises(InputError, match="the fork's share and the rear's"):
        advising.shares("1, 2, 3")


def _unloaded(*changes: str) -> Geometry:
    """The bike without its rider; changed ones keep the frame of the sheet."""
    return solve(nominal(case.build(filled(*changes), filled()))).unloaded


@pytest.mark.parametrize("end", ["rear", "front"])
def test_a_smaller_wheel_tips_the_frame_that_it_is_put_in(end: str) -> None:
    """The sheet's angles are those of its own wheels, and of no others."""
    was, now = _unloaded(), _unloaded(f"bike.tyre.{end}.size=27.5x2.4")
    axles = [(one.rear_axle[0], one.front_axle[0]) for one in (was, now)]
    spans = [front - rear for rear, front in axles]
    length = [float(np.hypot(*span)) for span in spans]
    identity("a frame is rigid", length[1], length[0], rel=1e-12)
    fell = [math.asin(span[1] / length[0]) for span in spans]
    tipped = fell[1] - fell[0]
    assert abs(tipped) > math.radians(0.7)
    second_method(
        "the head angle", now.head_angle[0], was.head_angle[0] - tipped,
        "what the line of the axles turns by", rel=1e-12,
    )  # fmt: skip
    to_bb = was.bottom_bracket[0] - axles[0][0]
    height = axles[1][0][1] + math.sin(tipped) * to_bb[0] + math.cos(tipped) * to_bb[1]
    second_method(
        "the bottom bracket", now.bb_height[0], height, "turned about the rear axle", rel=1e-12
    )


def test_a_longer_fork_tips_the_frame_too() -> None:
    was, now = _unloaded(), _unloaded("bike.fork.axle_to_crown+=20 mm")
    reach = float(np.hypot(*(was.front_axle[0] - was.rear_axle[0])))
    second_method(
        "the head angle", now.head_angle[0] - was.head_angle[0],
        -0.020 * math.sin(was.head_angle[0]) / reach,
        "rise of the front over the wheelbase", rel=0.03,
    )  # fmt: skip
    assert now.bb_height[0] > was.bb_height[0]
    crowns = [one.crown[0] - one.bottom_bracket[0] for one in (was, now)]
    identity("the crown keeps its place", *(float(np.hypot(*one)) for one in crowns), rel=1e-12)
