"""How answers look: bars stay inside their strip, numbers are those of the tool."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from cyclewright.bench import views
from cyclewright.errors import Problem
from cyclewright.setting import Limit, Setting

PSI = 6894.757293168361


def setting(value: float | None, low: float | None, high: float | None, *limits: Limit) -> Setting:
    """A pressure to show."""
    return Setting(
        "fork_pressure", value, "Pa", low, high, "maker", "s", "b", "psi", 1.0, "Fork", limits
    )


def test_value_interval_and_unit_are_those_of_the_tool() -> None:
    shown = views.shown(setting(78.3 * PSI, 74.2 * PSI, 81.6 * PSI))
    assert (shown.value, shown.unit, shown.interval) == ("78", "psi", "74 to 82")


def test_a_setting_without_value_says_so() -> None:
    assert views.shown(setting(None, None, None)).value == "none"
    assert views.bar(setting(None, None, None)) is None


@given(st.floats(1.0, 200.0), st.floats(1.0, 200.0), st.floats(0.1, 100.0), st.floats(1.0, 400.0))
def test_a_bar_keeps_inside_its_strip(value: float, low: float, width: float, most: float) -> None:
    bar = views.bar(setting(value, low, low + width, Limit("maker", "max", most)))
    if bar is None:
        assert value >= most or low >= most
        return
    assert 0 <= bar.low <= bar.high <= 100
    assert 0 <= bar.value <= 100
    assert all(0 <= at <= 100 for at, _ in bar.limits)


def test_minutes_are_told_as_people_say_them() -> None:
    assert [views.minutes(m) for m in (0.2, 59.6, 60, 135)] == ["1 min", "1 h", "1 h", "2 h 15 min"]


def test_sentences_get_their_capital_and_stop() -> None:
    assert views.sentence("the maker's figure") == "The maker's figure."
    assert views.sentence("Right?") == "Right?"
    assert views.sentence("") == ""


def test_a_problem_names_its_field_in_words_unless_the_name_itself_is_wrong() -> None:
    high = Problem("outside", "bike.cockpit.bar_rise", "measure it again", "4000 mm")
    assert views.told(high) == "Bar rise is 4000 mm: measure it again."
    name = Problem("unknown-field", "bike.saddle.heigth", "did you mean bike.saddle.height?")
    assert views.told(name) == "bike.saddle.heigth: did you mean bike.saddle.height?"
