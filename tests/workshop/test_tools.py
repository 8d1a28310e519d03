"""Torque tools kept: their scale, class and calibration decide what a joint is set to."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.errors import InputError, RangeError
from cyclewright.workshop import build, release, tools
from cyclewright.workshop.shop import Shop
from workshop.shops import opened

TODAY = date.today()


def _small(shop: Shop, **more: object) -> tools.ToolRow:
    told: dict[str, object] = {"tolerance": "6 %", "calibrated": TODAY, "by": "Ada"}
    return tools.keep_tool(shop, "small click", "2 N.m", "20 N.m", **told | more)  # type: ignore[arg-type]


def _faceplate(shop: Shop, bike: int) -> tuple[float | None, bool]:
    window = next(
        step.torque
        for step in build.plan_for(shop, bike).steps
        if step.torque is not None and "faceplate" in step.joints
    )
    return window.set, window.needs_word


def test_bar_five_stem_five_to_six_and_a_tool_of_six_percent(shop: Shop) -> None:
    _small(shop)
    bike = opened(shop)
    assert _faceplate(shop, bike) == (4.7, True)
    codes = {finding.code for finding in release.papers(shop, bike).findings}
    assert "torque-tool-empties-overlap" in codes


def test_a_tool_from_ten_to_sixty_is_refused(shop: Shop) -> None:
    tools.keep_tool(shop, "big click", "10 N.m", "60 N.m", calibrated=TODAY)
    bike = opened(shop)
    assert _faceplate(shop, bike)[0] is None
    found = {finding.code for finding in release.papers(shop, bike).findings}
    assert "torque-tool-range" in found
    _small(shop)
    build.plan_again(shop, bike)
    assert _faceplate(shop, bike)[0] == 4.7


def test_a_closer_tool_is_taken_while_it_is_in_date(shop: Shop) -> None:
    _small(shop)
    fine = tools.keep_tool(
        shop, "fine click", "1 N.m", "10 N.m", mark="0.05 N.m", tolerance="4 %", calibrated=TODAY
    )
    assert len(tools.for_sums(shop)) == 2
    later = TODAY + timedelta(days=366)
    tools.keep_tool(
        shop,
        "fine click",
        "1 N.m",
        "10 N.m",
        tolerance="4 %",
        calibrated=TODAY - timedelta(days=400),
        tool=fine.id,
    )
    assert [tool.low for tool in tools.for_sums(shop)] == [2.0]
    assert [tool.low for tool in tools.for_sums(shop, later)] == [1.0, 2.0]
    codes = [finding.code for finding in tools.findings(shop)]
    assert codes == ["torque-tool-calibration"]


def test_calibration_states(shop: Shop) -> None:
    known, unknown = _small(shop, days=30), _small(shop, calibrated=None)
    assert (known.state, unknown.state) == ("in-date", "unknown")
    after = TODAY + timedelta(days=31)
    assert {row.id: row.state for row in tools.tools(shop, after)}[known.id] == "overdue"
    facts = [finding.facts[0] for finding in tools.findings(shop, after)]
    assert any("good until" in fact for fact in facts)
    assert any("no calibration" in fact for fact in facts)


def test_the_class_of_iso_6789_where_no_certificate_says(shop: Shop) -> None:
    """Published: ISO 6789, setting tools up to 10 N·m 6 %, above 4 %."""
    small = tools.keep_tool(shop, "a", "1 N.m", "10 N.m")
    large = tools.keep_tool(shop, "b", "5 N.m", "25 N.m")
    assert (small.tolerance, large.tolerance) == (0.06, 0.04)
    assert "6789" in small.tolerance_source


def test_a_retired_tool_sets_nothing(shop: Shop) -> None:
    row = _small(shop)
    tools.retire_tool(shop, row.id, "fell from the bench", by="Ada")
    assert tools.for_sums(shop) == ()
    assert tools.tools(shop) == ()
    assert tools.tools(shop, all_of_them=True)[0].retired == "fell from the bench"
    with pytest.raises(InputError, match="allowed: none kept"):
        tools.tool_setting(shop, row.id, "5 N.m")


def test_only_a_crowfoot_changes_the_setting(shop: Shop) -> None:
    """Exact identity: statics of the lever, T L/(L + E)."""
    row = tools.keep_tool(shop, "long", "5 N.m", "50 N.m", arm="300 mm", calibrated=TODAY)
    straight = tools.tool_setting(shop, row.id, "40 N.m", fitting="straight", extension="100 mm")
    assert straight.set == 40.0 and "changes nothing" in straight.said
    foot = tools.tool_setting(shop, row.id, "40 N.m", fitting="crowfoot", extension="30 mm")
    assert foot.set == pytest.approx(36.3)
    assert foot.at_bolt == pytest.approx(36.3 * 330 / 300)
    square = tools.tool_setting(
        shop, row.id, "40 N.m", fitting="crowfoot", extension="30 mm", angle="90 deg"
    )
    assert square.set == pytest.approx(40.0, abs=0.1)


def test_a_crowfoot_wants_both_lengths(shop: Shop) -> None:
    row = _small(shop)
    with pytest.raises(InputError, match="keep the arm of tool 1") as caught:
        tools.tool_setting(shop, row.id, "5 N.m", fitting="crowfoot")
    assert [problem.field for problem in caught.value.problems] == ["extension", "arm"]
    with pytest.raises(RangeError, match="only inside its scale"):
        tools.tool_setting(shop, row.id, "40 N.m")
    with pytest.raises(InputError, match="allowed: none, straight, crowfoot"):
        tools.tool_setting(shop, row.id, "5 N.m", fitting="banana")


def test_all_that_is_wrong_with_a_tool_is_told_at_once(shop: Shop) -> None:
    with pytest.raises(InputError, match="write the day like") as caught:
        tools.keep_tool(shop, " ", "2", "20 N.m", tolerance="4 apples", calibrated="soon")
    fields = {problem.field for problem in caught.value.problems}
    assert fields == {"low", "tolerance", "name", "calibrated"}
    with pytest.raises(RangeError, match="lowest and highest mark"):
        tools.keep_tool(shop, "x", "20 N.m", "2 N.m")
    with pytest.raises(RangeError, match="the day on the certificate"):
        _small(shop, calibrated=TODAY + timedelta(days=9))
    assert tools.tools(shop) == ()


@given(st.floats(2.0, 20.0))
def test_the_bolt_never_gets_more_than_it_should(tmp_path_factory, torque: float) -> None:
    kept = _KEPT.setdefault("shop", None) or _open(tmp_path_factory)
    found = tools.tool_setting(
        kept, 1, f"{torque} N.m", fitting="crowfoot", extension="25 mm", angle="20 deg"
    )
    assert found.at_bolt <= torque + 1e-9
    assert found.set <= torque


_KEPT: dict[str, Shop | None] = {}


def _open(factory) -> Shop:
    shop = Shop.open(factory.mktemp("tools") / "data")
    tools.keep_tool(shop, "a", "1 N.m", "30 N.m", arm="250 mm")
    _KEPT["shop"] = shop
    return shop
