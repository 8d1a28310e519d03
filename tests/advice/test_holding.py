"""What a torque is worth: preload over the spread of friction, and clamps against the rider."""

from __future__ import annotations

import json

import pytest

from advice.clean import clean, planted, without
from advice.generated import fitted
from cyclewright.advice.holding import findings, holdings
from cyclewright.advice.torque import windows
from cyclewright.knowledge import rules
from cyclewright.mechanics import bolt
from cyclewright.record.plain import from_plain, to_plain
from cyclewright.record.plan import Bolt
from cyclewright.sheets.sheets import change
from cyclewright.workshop.check import check, plan

BAR = ("bike.cockpit.bar_diameter=35 mm", "bike.fastener.faceplate.count=4")


def held(sheets):
    return holdings(sheets, windows(sheets)[0])


def test_preload_spreads_as_friction_does_and_sets_back_to_the_torque() -> None:
    found = held(planted(*BAR))["faceplate"]
    thread = bolt.thread("M5")
    for force, friction in (
        (found.preload_high, found.friction_low),
        (found.preload_low, found.friction_high),
    ):
        back = float(bolt.torque(thread, force, friction, friction, "socket"))
        assert back == pytest.approx(found.torque, rel=1e-9)
    # second method: T = 0.2 F d at a friction near 0.15 lies inside the spread
    assert found.preload_low < found.torque / (0.2 * 0.005) < found.preload_high


def test_the_clamp_by_hand() -> None:
    """M = μ D F at worst, (π/2) μ D F at best, over four screws."""
    found = held(planted(*BAR))["faceplate"]
    assert found.clamp is not None and found.screws == 4
    low, high = (rules.rule(f"friction_clamp_{end}").value for end in ("low", "high"))
    assert found.clamp.low == pytest.approx(low * 0.035 * 4 * found.preload_low)
    assert found.clamp.high == pytest.approx(1.5707963 * high * 0.035 * 4 * found.preload_high)
    assert found.clamp.asked == 80 and "ISO 4210-5" in found.clamp.source


def test_the_stem_is_held_against_its_own_moment() -> None:
    found = held(planted(*BAR))["stem_pinch"]
    assert found.clamp is not None and found.clamp.asked == 50
    assert any("steerer 28.6 mm" in item for item in found.assumed)
    assert any("2 screws" in item for item in found.assumed)
    stated = held(planted("bike.fork.steerer_diameter=28.6 mm"))["stem_pinch"]
    assert stated.clamp == found.clamp and not any("steerer" in item for item in stated.assumed)


def test_a_dry_screw_is_worth_less_at_the_same_torque() -> None:
    wet = held(planted(*BAR))["faceplate"]
    dry = held(planted(*BAR, "bike.fastener.faceplate.compound=dry"))["faceplate"]
    assert dry.preload_low < wet.preload_low and dry.preload_high < wet.preload_high


def test_a_clamp_that_cannot_hold_is_a_finding() -> None:
    weak = change(
        without("bike.fastener.faceplate.min", "bike.fastener.faceplate.max"),
        ["bike.fastener.faceplate.max=1.2 N.m", "bike.cockpit.bar_diameter=25.4 mm"],
    )
    (finding,) = findings(held(weak))
    assert finding.code == "clamp-holds-less" and "80 N·m" in finding.facts[1]
    assert "clamp-holds-less" in {item.code for item in check(weak).findings}
    assert findings(held(clean())) == ()


def test_no_drawn_bike_has_a_clamp_that_cannot_hold() -> None:
    sums = 0
    for seed in range(60):
        found = held(fitted(seed))
        assert findings(found) == ()
        for item in found.values():
            assert 0 < item.preload_low < item.preload_high
            assert item.clamp is None or item.clamp.low < item.clamp.high
            sums += 1
    assert sums > 300


def test_no_preload_is_said_where_the_screw_is_not_known() -> None:
    found = held(planted("bike.fastener.faceplate.head=button"))
    assert "faceplate" not in found
    assert "pedals" not in found  # 9/16 in: no metric thread


def test_the_bolt_round_goes_front_to_back_with_its_sums() -> None:
    sheets = planted(*BAR)
    made = plan(sheets, holding=True)
    places = [item.place for item in made.bolts()]
    assert places == sorted(places)
    worth = {item.joint: item.holding for item in made.bolts()}
    assert worth["faceplate"] is not None and worth["faceplate"].clamp is not None
    whose = {item.joint: item.torque.whose for item in made.bolts() if item.torque}
    assert whose["faceplate"] and whose["stem_pinch"] == "default for this joint"
    assert {item.verb for item in made.bolts()} <= {"set", "check", "leave"}


def test_the_sums_come_back_whole_from_the_record() -> None:
    for item in plan(planted(*BAR), holding=True).bolts():
        again = from_plain(Bolt, json.loads(json.dumps(to_plain(item), allow_nan=False)))
        assert again == item


def test_thread_hands_are_said_where_they_are_left() -> None:
    left = planted("bike.fastener.rocker.target=12 N.m", "bike.fastener.rocker.hand=left")
    hands = {item.joint: item.hand for item in plan(left).bolts()}
    assert hands["rocker"] == "left-hand" and "left-hand" in hands["pedals"]
    assert "left-hand" in hands["bottom_bracket"] and hands["stem_pinch"] == ""
