from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advice.clean import clean, planted, without
from cyclewright.advice.torque import Figure, Tool, asked, own_limits, window, windows
from cyclewright.errors import RangeError
from cyclewright.sheets.sheets import change

MAX5 = Figure("bar", "max", None, 5.0)
RANGE = Figure("stem", "range", 5.0, 6.0)
WRENCH = Tool("2 to 24 N·m wrench", 2.0, 24.0, 0.1)


def target(torque: float, whose: str = "stem") -> Figure:
    return Figure(whose, "target", torque, torque)


def test_a_maximum_is_kept_under_by_one_tolerance_without_an_invented_minimum():
    found, findings = window("faceplate", [MAX5])
    assert (found.kind, found.low, found.high, found.set) == ("max", None, 4.7, 4.7)
    assert findings == ()


def test_a_range_is_narrowed_from_both_ends():
    found, findings = window("faceplate", [RANGE])
    assert (found.low, found.high, found.set) == (5.3, 5.6, 5.4)
    assert not found.needs_word
    assert findings == ()


def test_a_target_is_set_exactly():
    found, findings = window("pedals", [target(35.0)])
    assert (found.kind, found.low, found.high, found.set) == ("target", 35.0, 35.0, 35.0)
    assert findings == ()


def test_where_only_the_tool_empties_the_overlap_the_least_maximum_less_tolerance_is_set():
    found, (finding,) = window("faceplate", [MAX5, RANGE])
    assert found.set == 4.7
    assert found.needs_word
    assert finding.code == "torque-tool-empties-overlap"
    assert finding.severity == "stop"
    assert "4.7 N·m" in finding.do and "maker's word" in finding.do
    assert "certified closer" not in finding.do  # one point cannot be met by any tool
    assert finding.facts[:2] == ("bar: max 5 N·m", "stem: 5 to 6 N·m")


def test_a_closer_tool_finds_the_room_that_a_coarse_one_does_not():
    parts = [Figure("bar", "max", None, 5.4), RANGE]
    coarse, (finding,) = window("faceplate", parts)
    assert coarse.set == 5.0 and coarse.needs_word
    assert finding.severity == "warn" and "certified closer" in finding.do
    fine, findings = window("faceplate", parts, [Tool("certified", 2, 10, 0.05, 0.02)])
    assert fine.set is not None and 5.1 <= fine.set <= 5.292
    assert findings == ()


def test_a_minimum_above_the_partners_maximum_leaves_no_number():
    found, (finding,) = window("faceplate", [Figure("bar", "max", None, 4.0), RANGE])
    assert found.set is None and found.needs_word
    assert (finding.code, finding.severity) == ("torque-clash", "stop")


def test_a_target_above_the_partners_maximum_leaves_no_number():
    found, (finding,) = window("faceplate", [target(6.0), MAX5])
    assert found.set is None
    assert finding.code == "torque-clash"


def test_a_target_that_the_tool_might_carry_past_a_maximum_is_lowered_with_a_finding():
    found, (finding,) = window("faceplate", [target(5.0), MAX5])
    assert found.set == 4.7 and found.needs_word
    assert finding.code == "torque-tool-empties-overlap"


def test_a_tool_outside_its_marked_scale_is_refused():
    found, (finding,) = window("faceplate", [RANGE], [Tool("big wrench", 10.0, 60.0, 0.5)])
    assert found.set is None
    assert (finding.code, finding.severity) == ("torque-tool-range", "stop")
    said = "no kept tool reaches 5 to 6 N·m: big wrench is marked 10 to 60 N·m"
    assert finding.facts[-1] == found.unreached == said
    # the makers' own window stays, and the word that is needed is which tool it was
    assert (found.low, found.high, found.needs_word) == (5.0, 6.0, True)
    most, _ = window("shifter", [MAX5], [Tool("big wrench", 10.0, 60.0, 0.5)])
    assert most.unreached.startswith("no kept tool reaches 5 N·m or less: ")


def test_the_tool_that_reaches_is_taken():
    big, fine = Tool("big wrench", 10.0, 60.0, 0.5), Tool("fine wrench", 2.0, 24.0, 0.1, 0.03)
    coarse = Tool("coarse wrench", 2.0, 20.0, 0.1, 0.06)
    found, findings = window("faceplate", [RANGE], [big, WRENCH])
    assert found.set is not None and 5.2 <= found.set <= 5.76
    assert findings == () and found.wrench == WRENCH.name
    for kept in itertools.permutations((big, coarse, fine)):
        # finest where several reach, the one that reaches where only one does, none beyond
        assert window("faceplate", [RANGE], kept)[0].wrench == "fine wrench"
        assert window("cassette", [target(40.0)], kept)[0].wrench == "big wrench"
        beyond, _ = window("bottom bracket", [target(80.0)], kept)
        assert beyond.set is None and beyond.wrench == ""
    assert window("faceplate", [RANGE])[0].wrench == ""


def test_the_class_of_a_tool_is_that_of_the_end_of_its_scale():
    assert Tool("small", 1, 10).spread == 0.06
    assert WRENCH.spread == 0.04


def test_assembly_paste_holds_at_the_lower_end_and_never_below_the_minimum():
    dry, _ = window("post", [Figure("post", "range", 4.0, 7.0)])
    paste, _ = window("post", [Figure("post", "range", 4.0, 7.0)], paste=True)
    assert paste.set is not None and dry.set is not None
    assert paste.set < dry.set
    assert paste.set == 4.3 >= 4.0 * 1.06


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ((10.0, 5.0, 0.1, None), "lowest and highest mark"),
        ((0.0, 5.0, 0.1, None), "lowest and highest mark"),
        ((2.0, math.inf, 0.1, None), "lowest and highest mark"),
        ((2.0, 10.0, 0.0, None), "lowest and highest mark"),
        ((2.0, 10.0, 0.1, 0.7), "certificate"),
    ],
)
def test_a_tool_that_cannot_be_is_refused(values, said):
    with pytest.raises(RangeError, match=said):
        Tool("odd", *values)


torques = st.floats(0.5, 60.0).map(lambda value: round(value, 1))


@st.composite
def figures(draw):
    one = draw(st.sampled_from(["max", "range", "target"]))
    low, high = sorted((draw(torques), draw(torques)))
    if one == "max":
        return Figure("a", "max", None, high)
    if one == "target":
        return target(high, "a")
    return Figure("a", "range", low, high)


@given(st.lists(figures(), min_size=1, max_size=3))
def test_no_setting_lets_the_tool_pass_a_maximum_or_fall_short_in_silence(parts):
    found, findings = window("joint", parts)
    low = max((p.low for p in parts if p.low is not None), default=None)
    high = min(p.high for p in parts)
    if low is not None and low > high:
        assert found.set is None and findings[0].code == "torque-clash"
        return
    assert found.set is not None
    spread = 0.06 if high <= 10 else 0.04
    for part in parts:
        if part.kind != "target":
            assert found.set <= part.high * (1 - spread) + 1e-6
        if part.kind == "range" and part.low is not None and not findings:
            assert found.set >= part.low * (1 + spread) - 1e-6
        if part.kind == "target" and not findings:
            assert found.set == part.high
    assert found.needs_word == bool(findings)


@given(torques, st.floats(0.0, 0.1))
def test_a_coarser_tool_never_sets_a_maximum_higher(top, spread):
    def at(tolerance: float) -> float:
        tool = Tool("tool", 0.1, 100.0, 0.1, tolerance)
        found, _ = window("joint", [Figure("a", "max", None, top)], [tool])
        return found.set or 0.0

    assert at(spread + 0.02) <= at(spread)


def test_the_sheets_own_figure_wins_over_the_default():
    found, findings = windows(clean())
    assert found["faceplate"].basis == "maker" and found["faceplate"].set == 5.4
    assert found["stem_pinch"].basis == "practice"
    assert findings == ()


def test_an_axles_torque_may_stand_with_the_axle():
    found, _ = windows(planted("bike.axle.front.kind=tool", "bike.axle.front.torque=12 N.m"))
    assert (found["front_axle"].kind, found["front_axle"].set) == ("target", 12.0)
    assert found["front_axle"].whose == "the front axle"


def test_two_parts_figures_are_read_off_the_sheet_and_named():
    sheets = change(
        without("bike.fastener.faceplate"),
        [
            "bike.fastener.faceplate.a.part=carbon bar",
            "bike.fastener.faceplate.a.max=5 N.m",
            "bike.fastener.faceplate.b.min=5 N.m",
            "bike.fastener.faceplate.b.max=6 N.m",
        ],
    )
    found, (finding,) = windows(sheets)
    assert found["faceplate"].set == 4.7
    assert "the carbon bar: max 5 N·m" in finding.facts


def test_a_carbon_parts_maximum_is_asked_for_and_never_defaulted():
    sheets = change(without("bike.fastener.faceplate"), ["bike.cockpit.bar_material=carbon"])
    found, _ = windows(sheets)
    assert "faceplate" not in found
    assert "bike.fastener.faceplate.max" in {question.field for question in asked(sheets)}
    assert list(asked(clean())) == []


def test_a_bonded_bolt_that_is_left_alone_has_no_setting():
    found, _ = windows(
        planted("bike.fastener.pivots.target=14 N.m", "bike.fastener.pivots.verb=leave")
    )
    assert "pivots" not in found


def dry(torque: float, compound: str = "dry") -> list[str]:
    sheets = change(
        without("bike.fastener.faceplate"),
        [
            "bike.fastener.faceplate.thread=M5",
            "bike.fastener.faceplate.head=socket",
            "bike.fastener.faceplate.grade=8.8",
            f"bike.fastener.faceplate.compound={compound}",
            f"bike.fastener.faceplate.target={torque} N.m",
        ],
    )
    return [item.code for item in windows(sheets)[1]]


def test_grease_on_a_screw_specified_dry_is_told_where_it_would_pass_the_yield():
    # 90 % of yield of an M5 8.8 socket head at 0.08 comes to 4.59 N·m
    assert dry(4.2) == []
    assert dry(5.5) == ["dry-thread"]
    assert dry(5.5, "grease") == []


def test_the_window_is_plain_data():
    found, _ = window("faceplate", [RANGE])
    assert found.to_json() == {
        "kind": "range",
        "low": 5.3,
        "high": 5.6,
        "set": 5.4,
        "whose": "stem",
        "basis": "maker",
        "unit": "N·m",
        "needs_word": False,
        "wrench": "",
        "unreached": "",
        "least": 5.0,
        "most": 6.0,
        "begins": False,
        "said": "stem: 5 to 6 N·m; 5.3 to 5.6 N·m, 6 % off for the tool, is ours",
    }


def test_a_carbon_part_is_asked_for_its_own_limit():
    """The collar's figure was the frame's alone, and a carbon post stood in it."""
    made = planted(
        "bike.post.material=carbon",
        "bike.fastener.seat_collar.max=6 N.m",
        "bike.fastener.seat_collar.part=frame",
    )
    (found,) = own_limits(made)
    assert found.code == "carbon-limit" and "no figure of the post is on the sheet" in found.facts
    assert not list(own_limits(change(made, ["bike.post.material=alloy"])))
    assert not list(own_limits(change(made, ["bike.fastener.seat_collar.part=post"])))


def test_one_large_saddle_bolt_has_a_figure_of_its_own():
    """The default is that of two bolts: one alone would let the saddle turn."""
    made = clean()
    assert windows(made)[0]["saddle_clamp"].basis == "practice"
    assert "saddle_clamp" not in windows(change(made, ["bike.fastener.saddle_clamp.count=1"]))[0]
