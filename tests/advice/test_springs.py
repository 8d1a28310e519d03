"""Force in hand at full travel, spacers, and what a pump's hose takes."""

from __future__ import annotations

import numpy as np
import pytest

from advice.builds import advised, filled, setting, value
from cyclewright.advice import units_at_sag
from cyclewright.advice.advise import advise, compare
from cyclewright.solve.case import nominal
from evidence import second_method

PSI = 6894.757293168361


def test_force_at_full_travel_by_hand() -> None:
    outcome = advised().outcome
    case = nominal(outcome.case)
    fork, stroke = case.fork, units_at_sag.compression(outcome, "fork")[:1]
    whole = units_at_sag.setting(outcome, "fork")[:1] + case.ambient
    long, short = fork.air_length, fork.negative_length
    at_sag = whole * (long / (long - stroke) - short / (short + stroke))
    n = units_at_sag.EXPONENT

    def fast(length: np.ndarray, sign: float) -> np.ndarray:
        there, full = length - sign * stroke, length - sign * fork.travel
        return whole * length / there * (there / full) ** n

    at_full = fast(long, 1.0) - fast(short, -1.0)
    found = setting(advised(), "fork_reserve")
    second_method("fork reserve", found.value, at_full / at_sag, "p Vⁿ by hand", rel=1e-6)


def test_a_spacer_more_raises_what_is_in_hand_and_says_so_before_it_is_fitted() -> None:
    before, after = filled(), filled("bike.fork.spacers+=1")
    told = setting(advise(before), "fork_reserve").because
    promised = float(told.split("one spacer more: about ")[1].split(" ×")[0])
    pressure = float(told.split(" × at ")[1].split(" psi")[0]) * PSI
    resolved, _ = compare(advise(before), after, before)
    assert value(resolved, "fork_reserve") == pytest.approx(promised, abs=0.06)
    assert value(resolved, "fork_pressure") == pytest.approx(pressure, abs=0.6 * PSI)


def test_no_spacer_is_promised_where_none_goes_in_or_comes_out() -> None:
    full = setting(advised("bike.fork.spacers=4"), "fork_reserve").because
    assert "one spacer fewer" in full
    assert "more" not in full
    bare = setting(advised("bike.fork.spacers=0"), "fork_reserve").because
    assert "fewer" not in bare


@pytest.mark.parametrize(("name", "least", "most"), [("fork", 0.5, 4.0), ("shock", 3.0, 15.0)])
def test_the_hose_takes_more_of_a_small_shock_and_it_is_told(
    name: units_at_sag.Name, least: float, most: float
) -> None:
    advice = advised()
    case = nominal(advice.goal.case)
    spring, at = getattr(case, name), units_at_sag.setting(advice.goal, name)[:1]
    taken = units_at_sag.hose_takes(spring, at, case.ambient)
    assert least < taken[0] / PSI < most
    back = units_at_sag.before_the_hose(spring, float(at[0] - taken[0]), case.ambient)
    second_method("there and back", back, at, "before and after connecting", rel=1e-9)
    caution = setting(advice, f"{name}_pressure").cautions[1]
    assert f"costs about {taken[0] / PSI:.0f} psi" in caution


def test_a_coils_force_in_hand_is_travel_over_sag() -> None:
    outcome = advised(bike="longtravel")
    stroke = value(outcome, "shock_sag")
    found = value(outcome, "shock_reserve")
    assert found == pytest.approx((0.065 + 0.001) / (stroke + 0.001), rel=1e-6)
