import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.errors import Integrity
from cyclewright.knowledge.conditions import (
    OPERATORS,
    Condition,
    conditions_from,
    holds,
    unknown_fields,
)


@pytest.mark.parametrize(
    ("op", "value", "fact", "answer"),
    [
        ("is", "air", "air", True),
        ("is", "air", "coil", False),
        ("is", True, False, False),
        ("is-not", "air", "coil", True),
        ("is-not", "air", "air", False),
        ("in", ("air", "coil"), "coil", True),
        ("in", ("air", "coil"), "rigid", False),
        ("not-in", ("air", "coil"), "rigid", True),
        ("at-least", 2, 2, True),
        ("at-least", 2, 1, False),
        ("at-most", 2, 2, True),
        ("above", 2, 2, False),
        ("below", 2.0, 1.5, True),
        ("stated", None, "anything", True),
        ("absent", None, "anything", False),
    ],
)
def test_each_operator(op: str, value: object, fact: object, answer: bool) -> None:
    assert Condition("field", op, value).holds({"field": fact}) is answer


@pytest.mark.parametrize("op", [op for op in OPERATORS if op not in ("stated", "absent")])
def test_unknown_fact_is_neither_true_nor_false(op: str) -> None:
    assert Condition("field", op, ("air",)).holds({"other": 1}) is None


def test_presence_is_never_unknown() -> None:
    assert Condition("bike.electric", "stated").holds({}) is False
    assert Condition("bike.electric", "absent").holds({}) is True
    assert Condition("bike.electric", "stated").holds({"bike.electric.motor": "M1"}) is True


def test_a_written_quantity_compares_by_its_si_value() -> None:
    class Written:
        value = 0.2

    assert Condition("rotor", "at-least", 0.18).holds({"rotor": Written()}) is True


def test_one_false_outweighs_any_unknown() -> None:
    both = (Condition("a", "is", 1), Condition("b", "is", 1))
    assert holds(both, {"a": 2}) is False
    assert unknown_fields(both, {"a": 2}) == ()
    assert holds(both, {"a": 1}) is None
    assert unknown_fields(both, {"a": 1}) == ("b",)
    assert holds(both, {"a": 1, "b": 1}) is True
    assert holds((), {}) is True


@given(st.dictionaries(st.sampled_from("abcd"), st.integers(0, 2)), st.data())
def test_learning_a_fact_never_turns_an_answer_round(facts: dict[str, int], data: object) -> None:
    rows = st.builds(Condition, st.sampled_from("abcd"), st.just("is"), st.integers(0, 2))
    conditions = data.draw(st.lists(rows, max_size=4))  # type: ignore[attr-defined]
    less = dict(list(facts.items())[:-1])
    before = holds(conditions, less)
    assert before is None or holds(conditions, facts) is before


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("kind is air", "list of"),
        ([{"field": "a"}], "field, op, value"),
        ([{"field": "a", "op": "is", "value": 1, "or": 2}], "field, op, value"),
        ([{"field": "a", "op": "matches", "value": 1}], "use one of the operators"),
        ([{"field": "a", "op": "is"}], "takes a value"),
        ([{"field": "a", "op": "stated", "value": 1}], "takes no value"),
    ],
)
def test_a_bad_condition_is_named(rows: object, said: str) -> None:
    with pytest.raises(Integrity, match=said):
        conditions_from(rows, "steps [x]")
