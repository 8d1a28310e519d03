"""Torque tools kept: their scale, class and calibration decide what a joint is set to."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.errors import InputError, RangeError
from cyclewright.record import gates
from cyclewright.workshop import build, release, tools
from cyclewright.workshop.paper import print_document
from cyclewright.workshop.shop import Shop
from workshop.shops import build_until, opened, record, text_of

TODAY = date.today()


def evidence_lacking(shop: Shop, bike: int, step: str) -> str:
    """What the evidence of a step lacks."""
    state = shop.state(bike)
    return gates.evidence_lacking(state.planned_steps()[step], state.step(step))


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
    assert [tool.in_date for tool in tools.for_sums(shop)] == [True, True]
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
    assert [tool.low for tool in tools.for_sums(shop) if tool.in_date] == [2.0]
    assert not any(tool.in_date for tool in tools.for_sums(shop, later))
    bike = opened(shop)
    wrenches = {s.torque.wrench for s in build.plan_for(shop, bike).steps if s.torque is not None}
    assert "small click (tool 1)" in wrenches
    assert "fine click (tool 2, calibration overdue)" not in wrenches
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


UNREACHED = "no kept tool reaches 40 N·m: small click (tool 1) is marked 2 to 20 N·m"


def test_a_joint_beyond_every_kept_tool_keeps_its_figure_and_says_so(shop: Shop) -> None:
    _small(shop)
    bike = opened(shop)
    step = build.plan_for(shop, bike).step("cassette-lockring")
    assert step is not None and step.torque is not None
    assert (step.torque.low, step.torque.high, step.torque.set) == (40.0, 40.0, None)
    assert step.torque.unreached == UNREACHED
    bar = build.plan_for(shop, bike).step("bar-in-stem")
    assert bar is not None and bar.torque is not None
    assert bar.torque.wrench == "small click (tool 1)"
    by_code = {f.fields[0]: f for f in release.papers(shop, bike).findings if f.fields}
    finding = by_code["bike.fastener.cassette_lockring"]
    assert (finding.severity, finding.facts[-1]) == ("stop", UNREACHED)
    # cranks come mounted: their bolts are looked at, and nobody has to set them
    assert by_code["bike.fastener.crank"].severity == "note"

    for what in ("plan", "torque-card"):
        said = text_of(print_document(shop, what, bike))
        assert "no kept tool reaches it" in said and "40.0" in said, what
    assert "small click (tool 1)" in text_of(print_document(shop, "torque-card", bike))


def test_a_borrowed_tool_is_named_with_the_torque_before_the_gate_is_passed(shop: Shop) -> None:
    _small(shop)
    bike = opened(shop)
    build_until(shop, bike, "Receive")
    lacking = {row.step: row.why for row in release.missing(shop, shop.state(bike), "ride")}
    assert any("40 N·m" in why for step, why in lacking.items() if step is None)
    for step in build.plan_for(shop, bike).steps:
        if step.id == "cassette-lockring":
            with pytest.raises(InputError, match=re.escape(f"{UNREACHED}; give the torque")):
                build.record_step(shop, bike, step.id, as_set=True)
            with pytest.raises(RangeError, match="40 to 40 N·m"):
                build.record_step(shop, bike, step.id, torque="35 N.m")
            build.record_step(shop, bike, step.id, torque="40 N.m", by="Ada")
            why = evidence_lacking(shop, bike, step.id)
            assert why == f"{UNREACHED}; record with the torque which tool it was set with"
            word = "lent by the frame builder, 20 to 100 N·m"
            build.record_step(shop, bike, step.id, torque="40 N.m", word=word, by="Ada")
            assert evidence_lacking(shop, bike, step.id) == ""
        elif step.torque is not None and step.torque.unreached and step.stage == "Build":
            given = f"{step.torque.high} N.m"
            build.record_step(shop, bike, step.id, torque=given, word="the same", by="Ada")
        elif step.stage in ("Build", "Fit", "Base"):
            record(shop, bike, step)
    assert release.gate(shop, bike, "ride", by="Ada").missing == ()


def test_a_tool_kept_later_takes_no_gate_away(built: Shop) -> None:
    assert release.gate(built, 1, "ride", by="Ada").passed
    _small(built)
    assert release.missing(built, built.state(1), "ride") == ()


def test_the_best_kept_tool_is_named_in_the_plan(shop: Shop) -> None:
    _small(shop)
    tools.keep_tool(shop, "big click", "10 N.m", "60 N.m", calibrated=TODAY, by="Ada")
    tools.keep_tool(shop, "fine click", "2 N.m", "14 N.m", tolerance="3 %", calibrated=TODAY)
    bike = opened(shop)
    taken = {
        step.id: step.torque.wrench
        for step in build.plan_for(shop, bike).steps
        if step.torque is not None
    }
    assert taken["cassette-lockring"] == taken["pedals-on"] == "big click (tool 2)"
    assert taken["front-caliper"] == taken["stem-pinch"] == "fine click (tool 3)"
    assert not any(row.code == "torque-tool-range" for row in release.papers(shop, bike).findings)


def test_a_tool_out_of_date_is_used_where_no_other_reaches_and_says_so(shop: Shop) -> None:
    _small(shop)
    old = TODAY - timedelta(days=400)
    tools.keep_tool(shop, "big click", "10 N.m", "60 N.m", calibrated=old, by="Ada")
    bike = opened(shop)
    step = build.plan_for(shop, bike).step("cassette-lockring")
    assert step is not None and step.torque is not None
    assert step.torque.wrench == "big click (tool 2, calibration overdue)"
    assert "torque-tool-calibration" in {row.code for row in release.papers(shop, bike).findings}
