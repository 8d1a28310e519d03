"""Plans stored as plain data come back as they were, also across versions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.record.plain import from_plain, to_plain


@dataclass(frozen=True)
class Inner:
    name: str
    low: float | None = None


@dataclass(frozen=True)
class Outer:
    id: str
    inner: Inner | None = None
    many: tuple[Inner, ...] = ()
    words: tuple[str, ...] = ()
    pair: tuple[str, Inner] | None = None
    table: Mapping[str, Inner] = field(default_factory=dict)


INNER = st.builds(Inner, st.text(max_size=3), st.none() | st.floats(-9, 9))


@given(
    st.builds(
        Outer,
        st.text(max_size=3),
        st.none() | INNER,
        st.lists(INNER, max_size=3).map(tuple),
        st.lists(st.text(max_size=3), max_size=3).map(tuple),
        st.none() | st.tuples(st.text(max_size=3), INNER),
        st.dictionaries(st.text(max_size=3), INNER, max_size=2),
    )
)
def test_there_and_back(item: Outer) -> None:
    assert from_plain(Outer, to_plain(item)) == item


def test_fields_that_came_or_went() -> None:
    assert from_plain(Outer, {"id": "a", "gone": 1}) == Outer("a")
    with pytest.raises(TypeError, match="id"):
        from_plain(Outer, {})
