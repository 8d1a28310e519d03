"""Whose figure a torque is: the makers' own, what the tool takes off it, and our defaults."""

from __future__ import annotations

import pytest

from cyclewright.advice.torque import DEFAULT, Figure, Tool, window, windows
from cyclewright.knowledge.fasteners import fasteners
from cyclewright.record.steps import torque_fits
from cyclewright.sheets.sheets import Sheets

BAR = Figure("the bar", "max", None, 5.0)
STEM = Figure("the stem", "range", 5.0, 7.0)


def test_a_maximum_is_its_makers_and_what_is_left_for_the_tool_is_ours() -> None:
    found, _ = window("faceplate", [BAR])
    assert (found.high, found.most, found.least) == (4.7, 5.0, None)
    assert found.said == "the bar: max 5 N·m; 4.7 N·m, 6 % less for the tool, is ours"


def test_a_range_is_its_makers_and_the_narrower_one_is_ours() -> None:
    found, _ = window("faceplate", [STEM])
    assert (found.least, found.most) == (5.0, 7.0)
    assert found.said == "the stem: 5 to 7 N·m; 5.3 to 6.5 N·m, 6 % off for the tool, is ours"


def test_a_target_is_set_as_its_maker_says_and_nothing_is_ours() -> None:
    found, _ = window("crank", [Figure("the crank", "target", 40.0, 40.0)])
    assert found.said == "the crank: 40 N·m" and found.set == 40.0


def test_a_default_is_in_nobodys_mouth_but_ours() -> None:
    found, _ = window("grips", [Figure(DEFAULT, "range", 2.0, 3.0)], basis="practice")
    assert found.said.startswith("our default: 2 to 3 N·m")


@pytest.mark.parametrize(
    ("torque", "word", "passes"),
    [(4.7, False, True), (5.0, False, False), (5.0, True, True), (5.1, True, False)],
)
def test_the_makers_own_key_passes_at_its_figure(torque: float, word: bool, passes: bool) -> None:
    found = window("faceplate", [BAR])[0].to_json()
    assert torque_fits(found, torque, word) is passes


def test_what_a_tool_leaves_below_a_least_passes_with_the_makers_word() -> None:
    found = window("faceplate", [BAR, STEM])[0].to_json()
    assert found["set"] == 4.7 < found["least"] == found["most"] == 5.0
    assert torque_fits(found, 4.7) and torque_fits(found, 4.7, True)
    assert torque_fits(found, 5.0, True) and not torque_fits(found, 5.0)


def test_an_older_plan_that_knows_no_makers_ends_keeps_its_window() -> None:
    old = {"low": None, "high": 4.7, "set": 4.7}
    assert torque_fits(old, 4.7, True) and not torque_fits(old, 5.0, True)


HELD_BY_LITTLE = {"brake_levers", "shifter", "dropper_remote", "grips"}
"""Clamps that the trade tightens only until they hold; a dropper's collar besides."""


def test_clamps_that_need_little_begin_low_and_stop_at_what_holds() -> None:
    assert {name for name, item in fasteners().items() if item.begin} == HELD_BY_LITTLE
    assert fasteners()["seat_collar"].begin is None
    for kind, begins in (("dropper", True), ("plain", False)):
        found = windows(sheets_with(kind))[0]["seat_collar"]
        assert found.begins is begins, kind
    for name in HELD_BY_LITTLE:
        found = windows(sheets_with("dropper", f"bike.fastener.{name}.max=5 N.m"))[0][name]
        assert found.begins and found.high == 4.7, name
        assert found.set is not None and 2.0 <= found.set < 3.5, name
        assert "stop at what holds" in found.said and "max 5 N·m" in found.said
        assert all(torque_fits(found.to_json(), at) for at in (found.set, 4.0, 4.7))


def test_a_clamp_with_a_least_begins_there() -> None:
    found, _ = window("grips", [Figure("the grips", "range", 3.0, 5.0)], begin=0.6)
    assert found.set == found.low and found.begins
    tool = Tool("large", 4.0, 20.0)
    assert window("grips", [BAR], [tool], begin=0.6)[0].set == 4.0


def sheets_with(kind: str, *changes: str) -> Sheets:
    """An example bike whose post is of that kind."""
    from advice.builds import sheets

    return sheets(*changes, bike="trail" if kind == "dropper" else "hardtail")
