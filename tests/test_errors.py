"""Errors: one sentence a field, all at once, the same object on every face."""

from __future__ import annotations

import pytest

from cyclewright.errors import (
    Conflict,
    CyclewrightError,
    InputError,
    Integrity,
    NotConverged,
    Problem,
    RangeError,
    Refusal,
    input_error,
    range_error,
    refusal,
)

CODES = {
    InputError: (2, ValueError),
    RangeError: (2, ValueError),
    NotConverged: (3, RuntimeError),
    Refusal: (1, RuntimeError),
    Conflict: (1, RuntimeError),
    Integrity: (4, RuntimeError),
}


@pytest.mark.parametrize("kind", CODES)
def test_every_error_has_its_exit_code_and_its_built_in_parent(kind: type) -> None:
    code, parent = CODES[kind]
    made = kind(Problem("x", "field", "do this"))
    assert made.exit_code == code
    assert isinstance(made, parent)
    assert isinstance(made, CyclewrightError)
    assert str(made) == "field: do this"


def test_all_problems_are_told_at_once_and_alike_in_json() -> None:
    both = InputError(
        Problem(code, field, "mend it", value="-3", unit="mm", allowed="0 to 9")
        for code, field in (("negative", "bike.mass"), ("negative", "bike.fork.travel"))
    )
    assert str(both).splitlines() == [
        "bike.mass is -3 (allowed: 0 to 9): mend it",
        "bike.fork.travel is -3 (allowed: 0 to 9): mend it",
    ]
    assert [row["field"] for row in both.to_json()["errors"]] == ["bike.mass", "bike.fork.travel"]
    assert set(both.to_json()["errors"][0]) == {"code", "field", "value", "unit", "allowed", "do"}


def test_what_a_user_typed_never_breaks_the_line() -> None:
    line = Problem("x", "f", "do", value="a\nb\x1b[31m" + "c" * 200).line()
    assert "\n" not in line
    assert "\x1b" not in line
    assert len(line) < 100


@pytest.mark.parametrize(
    ("make", "kind"), [(input_error, InputError), (range_error, RangeError), (refusal, Refusal)]
)
def test_short_forms_make_one_problem(make, kind: type) -> None:
    with pytest.raises(kind, match=r"^f is 3: do that$"):
        raise make("c", "f", "do that", value="3")
