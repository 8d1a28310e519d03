"""The countries against the facts of standards, laws and the trade kept beside the tests."""

import csv
import re
import runpy
from collections.abc import Iterator
from pathlib import Path

import pytest

from cyclewright import units
from cyclewright.knowledge.countries import (
    SURE_WORDS,
    TOPICS,
    WHEN_WORDS,
    Country,
    Stated,
    countries,
    country,
    front_hand,
    tightest_speed,
    whom_to_ask,
)
from cyclewright.sheets.country import names

RULES = Path(__file__).parents[1] / "data" / "rules.csv"
TABLE = """
hfem US CA GB AU NZ
hfe  JP CH
hf   IN
em   SG KR CN
fe   NO
hfem AT BE CY CZ DE DK ES FR IE IT NL PL SE
hem  MT
fem  BG EE FI GR HR HU LT LU RO SI SK
em   LV PT
"""
"""Which topics somebody has read of each country: hand, fittings, electric drive, mark."""
KNOWN = {code: row.split()[0] for row in TABLE.split("\n") for code in row.split()[1:]}
LETTER = {"hand": "h", "fittings": "f", "electric": "e", "mark": "m"}
MENTIONS = {
    "US": ("reflectors",), "CA": ("bell", "brake"), "GB": ("bell", "reflectors", "two brakes"),
    "AU": ("bell", "reflectors", "brake"), "NZ": ("brake", "reflector", "lamp"),
    "JP": ("brake", "bell"), "IN": ("reflectors",), "CH": ("two strong brakes", "bell"),
    "NO": ("two brakes", "bell"), "DE": ("bell", "lamp", "two brakes"),
    "AT": ("two brakes", "reflector"), "FR": ("two brakes", "bell", "reflectors"),
    "ES": ("brakes", "bell"), "IT": ("brake", "bell", "lamps"), "NL": ("brake", "bell"),
    "BE": ("bell", "reflectors"), "LU": ("bell", "two brakes"), "PL": ("brake", "bell"),
    "CZ": ("two brakes", "reflector"), "SK": ("two brakes", "bell"), "SI": ("brake", "bell"),
    "HR": ("brake", "amber"), "HU": ("two brakes", "bell"), "RO": ("brake", "sounds"),
    "BG": ("brakes", "bell"), "GR": ("lamp", "reflector"), "DK": ("two brakes", "bell"),
    "SE": ("bell", "brake"), "FI": ("bell", "reflectors"), "EE": ("brake", "bell"),
    "LT": ("brake", "reflector"), "IE": ("brake", "bell", "reflector"),
    "CY": ("two brakes", "bell"),
}  # fmt: skip
"""What the rules that were read ask to be on the bike."""


def outside(topic: str) -> Iterator[dict[str, str]]:
    """The outside rows on a topic."""
    with RULES.open(encoding="utf-8", newline="") as lines:
        yield from (row for row in csv.DictReader(lines) if row["topic"] == topic)


def brake_hand_rows() -> list[tuple[str, str, str]]:
    """Country code, hand and basis of every outside row on brake hands."""
    found = []
    for row in outside("brake hands"):
        if row["applies"] == "all":
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


def test_no_hand_is_told_that_nothing_outside_supports() -> None:
    told = {code for code, row in countries().items() if row.front is not None}
    assert told == {code for code, _, _ in brake_hand_rows()}


def test_speed_and_power_of_a_drive_are_those_of_the_outside_rows() -> None:
    walked = set()
    for row in outside("electric drive"):
        speed, _, power = re.fullmatch(
            r"(-|[\d.]+ (?:km/h|mph)) ()(-|\d+ W)", row["value"]
        ).groups()  # type: ignore[union-attr]
        for code in row["applies"].split():
            fastest = max(countries()[code].electric, key=lambda one: one.speed or 0)
            wanted = [
                None if text == "-" else units.parse(text, name, name).value
                for text, name in ((speed, "speed"), (power, "power"))
            ]
            assert [fastest.speed, fastest.power] == pytest.approx(wanted), code
            walked.add(code)
    assert walked == {code for code, row in countries().items() if row.electric}


def test_the_three_classes_of_the_united_states() -> None:
    classes = {one.name: one for one in countries()["US"].electric}
    assert [round((one.speed or 0) / 0.44704) for one in classes.values()] == [20, 20, 28]
    assert [name for name, one in classes.items() if one.throttle] == ["class 2"]


@pytest.mark.parametrize("code", ["US", "CA", "AU"])
def test_where_states_and_provinces_differ_it_says_so(code: str) -> None:
    row = countries()[code]
    assert "differ" in row.note
    assert all("ask the" in one.text for one in row.electric)
    assert row.asks["electric"].startswith(("the state", "the province"))


def test_the_table_walks_every_row() -> None:
    assert len(countries()) >= 35
    assert set(KNOWN) == set(countries())
    assert {code for code, letters in KNOWN.items() if "f" in letters} == set(MENTIONS)


@pytest.mark.parametrize("code", sorted(KNOWN))
def test_every_row_has_what_was_read_and_says_whom_to_ask_for_the_rest(code: str) -> None:
    row = countries()[code]
    assert row.code == code and row.name == names()[code]
    for topic in TOPICS:
        assert row.stated(topic) == (LETTER[topic] in KNOWN[code]), topic
        assert row.asks[topic].startswith("the ") and len(row.asks[topic]) > 10
    for word in MENTIONS.get(code, ()):
        assert any(word in item.text for item in row.fittings), word


@pytest.mark.parametrize("code", sorted(KNOWN))
def test_every_statement_names_its_rule_and_where_it_was_read(code: str) -> None:
    row = countries()[code]
    for item in entries(row):
        assert min(len(item.text), len(item.source), len(item.read)) > 10, item
        assert item.sure in SURE_WORDS
        for text in (item.text, item.source, item.read, item.words):
            assert text == text.strip() and "  " not in text and not text.endswith(".")
            assert "memory" not in text and "—" not in text
    if row.front is not None and row.front.sure is None:
        assert row.front.source.startswith("common practice, no source")
    if row.front is not None and row.front.sure is not None:
        assert len(row.front.source) > 10 and len(row.front.read) > 10
    if row.front is not None and row.front.basis != "practice":
        assert any(char.isdigit() for char in row.front.source), "a law has its number"
    for fitting in row.fittings:
        assert fitting.name and fitting.when in WHEN_WORDS


def entries(row: Country) -> tuple[Stated, ...]:
    """Everything that a row states."""
    return (*row.fittings, *row.electric, *row.marks)


def test_nobody_is_told_a_hand_in_words_of_the_workshop() -> None:
    for row in countries().values():
        if row.front is not None:
            assert "no source" not in row.front.words and row.front.words


def test_the_page_on_countries_is_that_of_the_rows() -> None:
    root = Path(__file__).parents[2]
    made = runpy.run_path(str(root / "tools" / "countries.py"))["page"]()
    assert made == (root / "docs" / "countries.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("code", ["ZZ", "KE", "", None, 7])
def test_no_row_means_ask(code: object) -> None:
    assert front_hand(code) is None
    for topic in TOPICS:
        assert whom_to_ask(code, topic).startswith("the ")


def test_a_row_without_a_hand_means_ask() -> None:
    assert country("NO") is not None and front_hand("NO") is None


def test_code_in_lower_case() -> None:
    found = country(" gb ")
    assert found is not None
    assert found.name == "Great Britain"


def test_a_reflector_rule_comes_with_its_source() -> None:
    found = country("US")
    assert found is not None
    assert any("front colourless" in x.text and "1512.16" in x.source for x in found.fittings)


def test_the_tightest_speed_is_that_of_japan() -> None:
    assert tightest_speed() * 3.6 == pytest.approx(24.0)
