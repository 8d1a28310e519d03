"""The countries against the facts of standards and of the trade kept beside the tests."""

import csv
from pathlib import Path

import pytest

from cyclewright.knowledge.countries import countries, country, front_hand

RULES = Path(__file__).parents[1] / "data" / "rules.csv"


def brake_hand_rows() -> list[tuple[str, str, str]]:
    """Country code, hand and basis of every outside row on brake hands."""
    found = []
    with RULES.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            if row["topic"] != "brake hands" or row["applies"] == "all":
                continue
            hand = "front-left" if row["value"].startswith("left") else "front-right"
            basis = "practice" if row["known"] == "practice" else "law"
            found += [(code, hand, basis) for code in row["applies"].split()]
    return found


def test_the_outside_rows_are_there() -> None:
    assert {"US", "GB", "DE", "JP", "IE"} <= {code for code, _, _ in brake_hand_rows()}


@pytest.mark.parametrize(("code", "hand", "basis"), brake_hand_rows())
def test_hand_of_each_country(code: str, hand: str, basis: str) -> None:
    found = front_hand(code)
    assert found is not None
    assert (found.hands, found.basis) == (hand, basis)


def test_no_country_has_a_row_that_nothing_outside_supports() -> None:
    assert set(countries()) == {code for code, _, _ in brake_hand_rows()}


@pytest.mark.parametrize("code", ["ZZ", "KE", "", None, 7])
def test_no_row_means_ask(code: object) -> None:
    assert front_hand(code) is None


def test_code_in_lower_case() -> None:
    found = country(" gb ")
    assert found is not None
    assert found.name == "Great Britain"


def test_a_reflector_rule_comes_with_its_source() -> None:
    found = country("US")
    assert found is not None
    assert any("reflectors" in item.text and "1512.16" in item.source for item in found.fittings)


def test_every_row_and_fitting_says_what_it_rests_on() -> None:
    for row in countries().values():
        for source in (row.front.source, *(item.source for item in row.fittings)):
            assert len(source) > 10
        if row.front.basis == "practice":
            assert row.front.source.startswith("common practice, no source")
