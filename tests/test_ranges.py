"""An interval is no permission: it is cut where a limit stands, and holds what is set."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.setting import Limit, Setting

PSI = 6894.757293168361


def made(
    value: float | None,
    low: float,
    high: float,
    *limits: Limit,
    display: str = "psi",
    graduation: float = 1.0,
) -> Setting:
    """A setting with these limits; figures in Pa."""
    return Setting(
        "fork_pressure", value, "Pa", low, high, "model", "", "", display, graduation, "", limits
    )


def test_an_interval_ends_at_a_limit_that_lies_within_it() -> None:
    found = made(70 * PSI, 60 * PSI, 90 * PSI, Limit("the fork's maker", "max", 80 * PSI))
    assert (found.low, found.high) == (60 * PSI, 80 * PSI)
    assert found.show() == "70 (60 to 80) psi"


def test_a_goal_wholly_beyond_its_limit_leaves_no_interval() -> None:
    found = made(675e-3, 582e-3, 646e-3, Limit("the dropper", "min", 675e-3, binds=True),
                 display="mm")  # fmt: skip
    assert found.low == found.value == found.high
    assert found.show() == "675 mm"


def test_what_is_set_lies_in_its_interval_though_the_goal_is_elsewhere() -> None:
    """A coil is the nearest that is sold, which the interval of the goal may leave out."""
    found = made(450.0, 420.0, 440.0, Limit("the coils sold", "min", 400.0))
    assert found.low == 420.0 and found.high == 450.0


def test_no_value_has_no_interval() -> None:
    clash = Limit("tyre", "min", 4e5, binds=True), Limit("rim", "max", 3e5, binds=True)
    found = made(None, 2e5, 5e5, *clash)
    assert found.low is None and found.high is None and found.show() == "none"


@pytest.mark.parametrize("system", ["trade", "metric", "imperial"])
def test_neither_end_is_rounded_past_a_limit(system: str) -> None:
    most, least = 72.4 * PSI, 20.3 * PSI
    found = made(
        72.35 * PSI, 20.0 * PSI, 90.0 * PSI, Limit("rim", "max", most), Limit("tyre", "min", least),
        graduation=0.5,
    )  # fmt: skip
    shown = found.show(system)  # type: ignore[arg-type]
    middle, ends = shown.split(" (")
    low, high = ends.split(")")[0].split(" to ")
    factor = 1e5 if system == "metric" else PSI
    assert float(middle) * factor <= most and float(high) * factor <= most
    assert float(low) * factor >= least


@given(
    value=st.floats(1e4, 1e6), spread=st.floats(0.0, 5e5), shift=st.floats(-5e5, 5e5),
    least=st.floats(0.0, 5e5), room=st.floats(2e4, 1e6),
)  # fmt: skip
def test_every_interval_lies_in_its_limits_and_holds_its_value(
    value: float, spread: float, shift: float, least: float, room: float
) -> None:
    most = least + room
    held = min(max(value, least), most)
    found = made(
        held, value + shift - spread, value + shift + spread,
        Limit("a", "min", least), Limit("b", "max", most),
    )  # fmt: skip
    assert found.low is not None and found.high is not None
    assert least <= found.low <= held <= found.high <= most
