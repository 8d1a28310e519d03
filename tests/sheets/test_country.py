"""Country codes: which are taken, and which are refused with the one that was meant."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cyclewright.errors import InputError
from cyclewright.sheets.country import meant, names
from cyclewright.sheets.quickstart import quick_start
from cyclewright.sheets.read import read
from cyclewright.sheets.sheets import change, load
from sheets.samples import LEAST

MEANT = {
    "UK": "GB", "uk": "GB", "England": "GB", "Great Britain": "GB", "United Kingdom": "GB",
    "GBR": "GB", "EL": "GR", "Greece": "GR", "Hellas": "GR", "SW": "SE", "Sweden": "SE",
    "sverige": "SE", "Germany": "DE", "Deutschland": "DE", "DEU": "DE", "Germny": "DE",
    "USA": "US", "U.S.A.": "US", "United States": "US", "JA": "JP", "Österreich": "AT",
    "AUS": "AU", "Holland": "NL", "Schweiz": "CH", "Éire": "IE", "Czech Republic": "CZ",
    "New  Zealand": "NZ", "Türkiye": "TR", "Turkey": "TR", "Danmark": "DK", "Sth Africa": "ZA",
}  # fmt: skip
"""What people write where two letters are wanted, and the country they mean."""
NOBODY = ("Atlantis", "ZZ", "XX", "QQ", "7", "--", "somewhere else")


@pytest.mark.parametrize(("typed", "code"), MEANT.items())
def test_what_is_no_code_is_refused_with_the_one_meant_wherever_it_is_given(
    typed: str, code: str
) -> None:
    told = f"write {code} for {names()[code]}"
    for give in (
        lambda: read(f'country = "{typed}"', "place"),
        lambda: change(
            load(LEAST["bike"], LEAST["rider"], LEAST["place"]), [f"place.country={typed}"]
        ),
        lambda: quick_start({"country": typed}),
    ):
        with pytest.raises(InputError) as caught:
            give()
        (said,) = [one.do for one in caught.value.problems if one.code == "not-a-country"]
        assert said == told


@pytest.mark.parametrize("typed", NOBODY)
def test_what_nothing_comes_near_to_is_told_the_form(typed: str) -> None:
    with pytest.raises(InputError, match='write its two letters, like "GB"'):
        read(f'country = "{typed}"', "place")


def test_every_code_of_the_standard_is_taken_in_either_case() -> None:
    for code in names():
        assert read(f'country = "{code.lower()}"', "place").country == code


def test_every_short_name_is_sent_to_its_own_code() -> None:
    for code, name in names().items():
        assert meant(name) == (code,), name


def test_the_codes_are_those_of_the_standard() -> None:
    file = Path("/usr/share/iso-codes/json/iso_3166-1.json")
    if not file.is_file():
        pytest.skip("the standard's list is not on this machine")
    listed = json.loads(file.read_text(encoding="utf-8"))["3166-1"]
    assert set(names()) == {row["alpha_2"] for row in listed}
    for row in listed:
        assert meant(row["alpha_3"]) == (row["alpha_2"],)


def test_an_earlier_record_with_letters_of_no_country_asks_for_it() -> None:
    """A version before took any two letters: the bike is read, the country is a question."""
    assert read('country = "UK"', "place", stored=True).country is None
    with pytest.raises(InputError, match="slope"):
        read('country = "UK"\n[trail]\nslope = "steep"', "place", stored=True)
