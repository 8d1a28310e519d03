"""The rear end from a table, from pivots, from travel and stroke; and what sheets may hold."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from advice.builds import advised, filled, setting, value
from cyclewright.advice.advise import advise, compare
from cyclewright.advice.rear import findings, rear_end
from cyclewright.errors import InputError
from cyclewright.knowledge.defaults import Filled, fill
from cyclewright.mechanics import leverage, linkage
from cyclewright.sheets import pivots
from cyclewright.sheets.sheets import load
from evidence import identity, second_method
from sheets.samples import example


def bike(name: str, *changes: str):
    return filled(*changes, bike=name).sheets.bike


def test_sheet_and_sums_name_the_pivots_alike() -> None:
    assert set(pivots.PIVOTS) == set(linkage.KINDS)
    for kind, of in linkage.KINDS.items():
        assert pivots.PIVOTS[kind] == of.pivots
        assert set(pivots.SHOCK_ENDS[kind]) == set(of.shock)


def test_a_table_keeps_its_rows_and_the_stroke_is_their_integral() -> None:
    sheet = bike("trail")
    rows = [(row.travel.value, row.ratio.value) for row in sheet.rear.leverage]
    end = rear_end(sheet)
    identity(
        "rows come back",
        np.interp([row[0] for row in rows], end.leverage.travel, end.leverage.ratio),
        [row[1] for row in rows],
    )
    coarse = leverage.from_table(*np.array(rows).T)
    identity("stroke", end.leverage.stroke[-1], coarse.stroke[-1], rel=1e-9)
    assert end.axle_path is None


def test_pivots_give_curve_and_path() -> None:
    end = rear_end(bike("longtravel"))
    assert end.spread == "leverage.traced"
    assert end.axle_path is not None
    pivot = np.array((0.028, 0.088))
    sheet = bike("longtravel")
    stay, drop = sheet.frame.chainstay.value, sheet.frame.bb_drop.value
    axle = np.array((-np.sqrt(stay**2 - drop**2), drop))
    arm = np.hypot(*(axle - pivot))
    level = np.sqrt(arm**2 - (axle[1] + end.leverage.travel - pivot[1]) ** 2)
    second_method(
        "axle path of a single pivot",
        end.axle_path,
        pivot[0] - level - axle[0],
        "circle about the pivot",
        within=1e-5,
    )
    assert end.leverage.ratio[0] != pytest.approx(end.leverage.ratio[-1], rel=0.02)


def sheet_of(name: str, *, table: str = "", without_table: bool = False) -> Filled:
    """An example's sheets with its leverage rows taken out or these put in."""
    paths = example(name, "heavy")
    text = Path(paths[0]).read_text(encoding="utf-8")
    if without_table:
        text = re.sub(r"\[\[rear\.leverage\]\]\ntravel = .*\nratio = .*\n", "", text)
    return fill(load(text + table, *paths[1:]))


def test_the_makers_table_wins_over_pivots_for_leverage_and_the_path_stays() -> None:
    rows = "".join(
        f'\n[[rear.leverage]]\ntravel = "{travel} mm"\nratio = {ratio}\n'
        for travel, ratio in ((0, 3.0), (170, 2.4))
    )
    end = rear_end(sheet_of("longtravel", table=rows).sheets.bike)
    assert end.spread == "leverage.table"
    assert end.leverage.ratio[0] == pytest.approx(3.0)
    assert end.axle_path is not None


def test_travel_and_stroke_alone_give_the_mean_and_say_so() -> None:
    sheet = sheet_of("trail", without_table=True)
    end = rear_end(sheet.sheets.bike)
    assert end.spread == "leverage.mean"
    identity("mean", end.leverage.ratio, 130 / 50)
    told = setting(advise(sheet), "rear_wheel_sag").because
    assert "leverage taken as travel over stroke" in told
    assert "not the share of stroke" in setting(advised(), "rear_wheel_sag").because


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ("bike.rear.linkage=four-bar", r"points\.stay_pivot: is missing and wanted"),
        ("bike.rear.linkage=mean", r"name the kind of linkage"),
    ],
)
def test_pivots_that_do_not_fit_the_kind_are_refused(change: str, match: str) -> None:
    with pytest.raises(InputError, match=match):
        filled(change, bike="longtravel")


def test_pivots_that_cannot_reach_the_travel_say_so_at_the_sheet() -> None:
    with pytest.raises(InputError, match=r"bike\.rear\.points.*check the pivots"):
        advised("bike.rear.points.pivot.y=-0.28 m", "bike.rear.points.pivot.x=-360 mm",
                bike="longtravel")  # fmt: skip


def test_pivots_of_another_shock_are_told() -> None:
    assert findings(bike("longtravel")) == ()
    (found,) = findings(bike("longtravel", "bike.shock.stroke=60 mm"))
    assert found.code == "pivots-stroke"


def test_a_spacer_moves_the_spring_around_the_pin_and_not_the_chart() -> None:
    before, after = filled(), filled("bike.fork.spacers+=2")
    advice = advise(before)
    _, moved = compare(advice, after, before)
    rows = {one.setting.name: one for one in moved}
    assert rows["fork_sag"].kept < rows["fork_sag"].before
    assert rows["fork_pressure"].resolved < rows["fork_pressure"].before
    assert value(advise(after), "fork_pressure") == pytest.approx(value(advice, "fork_pressure"))


def test_more_spacers_than_the_chamber_holds_are_refused() -> None:
    before = filled("bike.shock.spacers=0")
    with pytest.raises(InputError, match=r"bike\.shock\.spacers.*fit fewer"):
        advise(filled("bike.shock.spacers=12"), before)
