"""The tightest limit binds, with its owner; where nothing is left, there is no number."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advice.builds import advised, filled, setting, value
from cyclewright.advice import limits
from cyclewright.advice.advise import Advice
from cyclewright.mechanics import gas
from cyclewright.setting import Finding, Limit
from evidence import identity

bounds = st.lists(
    st.builds(
        Limit,
        st.sampled_from(["one", "two", "three"]),
        st.sampled_from(["min", "max"]),
        st.floats(0.0, 10.0),
    ),
    max_size=5,
)


@given(value=st.floats(0.0, 10.0), found=bounds)
def test_held_is_the_nearest_allowed_value_and_says_what_holds_it(
    value: float, found: list[Limit]
) -> None:
    inside, marked = limits.held(value, found)
    least, most = limits.tightest(found)
    assert [(m.owner, m.kind, m.value) for m in marked] == [
        (f.owner, f.kind, f.value) for f in found
    ]
    binding = [limit for limit in marked if limit.binds]
    if least > most:
        assert inside is None
        assert {limit.kind for limit in binding} == {"min", "max"}
    else:
        assert inside is not None
        assert least <= inside <= most
        assert bool(binding) == (inside != value)
        assert all(limit.value == inside for limit in binding)


def finding(advice: Advice, code: str) -> Finding:
    return next(item for item in advice.findings if item.code == code)


def binds(advice: Advice, name: str) -> set[str]:
    return {limit.owner for limit in setting(advice, name).limits if limit.binds}


MOVED = re.compile(r"wanted [\d.]+ \w+, possible [\d.]+ \w+, [\d.]+ \w+ too \w+: .{12,} cures it$")
"""What a setting says first where a limit moved it."""


@pytest.mark.parametrize(
    ("change", "name", "owner"),
    [
        ("bike.tyre.front.pressure_max=20 psi", "front_tyre_pressure", "front tyre's maker"),
        ("bike.wheel.rear.pressure_max=1.5 bar", "rear_tyre_pressure", "rear rim's maker"),
        ("bike.tyre.rear.pressure_min=36 psi", "rear_tyre_pressure", "rear tyre's maker"),
        ("bike.fork.pressure_max=70 psi", "fork_pressure", "the fork's maker"),
        ("bike.shock.pressure_max=150 psi", "shock_pressure", "the shock's maker"),
        ("bike.frame.insertion_min=200 mm", "saddle_height", "the frame's least insertion"),
        ("bike.frame.steerer_stack_max=10 mm", "spacers_under", "the frame's maker"),
    ],
)
def test_a_changed_limit_moves_its_setting_and_names_its_owner(
    change: str, name: str, owner: str
) -> None:
    free, bound = advised(), advised(change)
    assert owner not in binds(free, name)
    assert binds(bound, name) == {owner}
    held = next(limit for limit in setting(bound, name).limits if limit.binds)
    assert value(bound, name) == held.value
    assert value(bound, name) != pytest.approx(value(free, name), rel=1e-4)
    told = setting(bound, name)
    assert told.low is not None and told.high is not None and told.wanted is not None
    assert told.low <= held.value <= told.high
    assert (told.low if held.kind == "min" else told.high) == held.value
    identity("what is wanted is as it was", told.wanted, value(free, name), rel=2e-3)
    assert MOVED.match(told.moved()), told.moved()


def test_a_spring_limit_shows_in_the_sag_and_is_said() -> None:
    free, bound = advised(), advised("bike.fork.pressure_max=70 psi")
    assert value(bound, "fork_sag") > value(free, "fork_sag")
    assert "allows 70 psi" in " ".join(finding(bound, "fork-pressure-limit").facts)


@pytest.mark.parametrize("end", ["front", "rear"])
def test_floor_above_ceiling_gives_no_number_and_names_both(end: str) -> None:
    advice = advised(f"bike.tyre.{end}.pressure_min=40 psi", f"bike.wheel.{end}.pressure_max=2 bar")
    told = setting(advice, f"{end}_tyre_pressure")
    assert told.value is None
    assert told.show() == "none"
    facts = " ".join(finding(advice, "no-tyre-pressure").facts)
    assert f"{end} tyre's maker: at least 40.0 psi" in facts
    assert f"{end} rim's maker: at most" in facts
    assert math.isfinite(value(advice, "front_load_seated"))


def test_post_limits_that_leave_nothing_give_no_height() -> None:
    advice = advised("bike.post.length=300 mm")
    assert setting(advice, "saddle_height").value is None
    assert not any(item.name == "post_insertion" for item in advice.settings)
    facts = " ".join(finding(advice, "no-saddle-height").facts)
    assert "least insertion" in facts
    assert "the dropper's travel and head" in facts


def test_a_post_that_holds_the_saddle_away_from_the_rider_says_how_far() -> None:
    advice = advised(rider="light")
    height = setting(advice, "saddle_height")
    assert height.value is not None and height.high is not None
    assert height.wanted is not None and height.value > height.wanted + 0.02
    assert height.show() == "675 mm"
    told = finding(advice, "dropper-too-long")
    assert told.severity == "stop"
    assert "mm too high" in " ".join(told.facts)
    assert "150 mm" in told.do
    assert MOVED.match(height.moved())
    assert "or a smaller frame cures it" in height.moved()
    assert finding(advice, "seated-out-of-reach").do.startswith("Mend the saddle height first")
    mended = advised("bike.post.travel=150 mm", "bike.post.length=430 mm", rider="light")
    assert not mended.findings
    assert value(mended, "saddle_height") < height.value


def test_a_guessed_seat_tube_bounds_no_saddle() -> None:
    from advice.clean import without
    from cyclewright.advice import fit
    from cyclewright.knowledge.defaults import fill

    found = fit.saddle(fill(without("bike.frame.seat_tube")))
    assert found.limits == ()
    identity("the height wanted is the height set", found.held, found.height.value)


@pytest.mark.parametrize(
    ("changes", "code", "asked"),
    [
        (("bike.wheel.front.hooked=false", "bike.tyre.front.hookless_ok=false"), True, False),
        (("bike.wheel.front.hooked=false", "bike.tyre.front.hookless_ok=true"), False, False),
    ],
)
def test_a_rim_without_hooks_takes_approved_tyres_only(
    changes: tuple[str, ...], code: bool, asked: bool
) -> None:
    advice = advised(*changes)
    assert (setting(advice, "front_tyre_pressure").value is None) == code
    assert ("hookless-not-approved" in {item.code for item in advice.findings}) == code
    assert bool(advice.questions) == asked
    owners = {limit.owner for limit in setting(advice, "front_tyre_pressure").limits}
    assert "ISO 5775-1, rims without hooks" in owners


@pytest.mark.parametrize(
    ("left_out", "field"),
    [
        ("bike.tyre.front.hookless_ok", "bike.tyre.front.hookless_ok"),
        ("bike.wheel.front.hooked", "bike.wheel.front.hooked"),
    ],
)
def test_unknown_hooks_or_approval_give_no_number_but_a_question(left_out: str, field: str) -> None:
    from advice.clean import without
    from cyclewright.advice.advise import advise
    from cyclewright.knowledge.defaults import fill

    advice = advise(fill(without(left_out)))
    assert setting(advice, "front_tyre_pressure").value is None
    assert setting(advice, "rear_tyre_pressure").value is not None
    assert field in {question.field for question in advice.questions}


def test_ceilings_come_down_by_what_the_climb_and_the_sun_add() -> None:
    cool = filled("place.trail.altitude=2000 m", "place.workshop.altitude=0 m", place="high")
    place = cool.sheets.place
    assert place.workshop.temperature is not None and place.trail.temperature is not None
    hottest = max(place.workshop.temperature.value, place.trail.temperature.value + 15.0)
    ours = limits.at_workshop(place, 3e5)
    there = gas.shifted_gauge(ours, place.workshop.temperature.value, hottest, 0.0, 2000.0)
    identity("at the top it reaches the ceiling", there, 3e5, rel=1e-9)
    assert 0.15e5 < 3e5 - ours < 0.6e5
