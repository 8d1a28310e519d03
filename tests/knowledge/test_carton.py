"""Terms for a claim on a carrier: the row that fits best, each with its source."""

from __future__ import annotations

import itertools

import pytest

from cyclewright.knowledge.carton import term
from cyclewright.workshop.carton import CARRIAGES


@pytest.mark.parametrize(
    ("country", "carriage", "days"),
    [("GB", "parcel", 3), ("GB", "air", 14), ("DE", "parcel", 7), ("de", "road-abroad", 7)],
)
def test_the_days_by_country_and_carriage(country: str, carriage: str, days: int) -> None:
    assert term(country, carriage).days == days


def test_every_carriage_has_a_term_with_its_source() -> None:
    for country, carriage in itertools.product(("", "GB", "DE", "XX"), CARRIAGES):
        found = term(country, carriage)
        assert 1 <= found.days <= 30
        assert "no source" in found.source or any(char.isdigit() for char in found.source)
        assert "memory" not in found.source
