"""Changes that are tried add up as a person expects."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from cyclewright.bench.changes import MOST, settle, texts


def test_a_typed_value_replaces_the_steps_before_it() -> None:
    assert texts(settle(["bike.a+=5 mm", "bike.a=30 mm"])) == ("bike.a=30 mm",)


def test_a_step_after_a_typed_value_moves_it() -> None:
    assert texts(settle(["bike.a=30 mm", "bike.a+=-5 mm"])) == ("bike.a=25 mm",)


def test_what_cannot_be_read_is_passed_on_to_be_told() -> None:
    assert texts(settle(["nonsense"])) == ("nonsense",)


def test_no_more_than_a_page_can_tell() -> None:
    assert len(settle([f"bike.f{i}=1 mm" for i in range(MOST + 10)])) == MOST


@given(st.lists(st.sampled_from([-5, 5]), max_size=20))
def test_presses_of_a_stepper_come_to_their_sum(steps: list[int]) -> None:
    found = settle([f"bike.a+={step} mm" for step in steps])
    total = sum(steps)
    assert texts(found) == ((f"bike.a+={total} mm",) if total else ())


@given(st.text(max_size=60))
def test_any_text_is_settled_without_failing(text: str) -> None:
    assert len(settle([text, text])) <= 2
