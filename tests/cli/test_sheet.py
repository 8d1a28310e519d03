"""`cyclewright sheet` as a person types it."""

from __future__ import annotations

import json
import shlex

import pytest
from typer.testing import CliRunner

from cyclewright.cli.sheet import app
from cyclewright.errors import InputError
from sheets.samples import EXAMPLES

NEW = shlex.split(
    "new --kind full-suspension --country GB --tyre 29x2.4 --tubeless --hookless "
    "--fork-travel 140mm --rear-travel 130mm --shock-stroke 50mm --height 1.75m --mass 82kg"
)


def said(*arguments, stdin=None) -> str:
    result = CliRunner().invoke(app, [str(item) for item in arguments], input=stdin)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == 0
    return result.stdout


def test_options_write_three_sheets(tmp_path):
    text = said(*NEW, "--to", tmp_path)
    assert "taken as usual until a sheet says otherwise" in text
    assert "still to be looked up" in text
    assert "bike.tyre.front.hookless_ok" in text
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "bike.toml",
        "place.toml",
        "rider.toml",
    ]
    shown = json.loads(said("show", tmp_path / "bike.toml", tmp_path / "rider.toml",
                            tmp_path / "place.toml", "--json"))  # fmt: skip
    assert shown["bike"] == "full-suspension, 140mm and 130mm"
    with pytest.raises(InputError, match="stands there already"):
        said(*NEW, "--to", tmp_path)


def test_a_country_nobody_has_is_refused_with_the_one_meant(tmp_path):
    for typed, meant in (("UK", "GB for Great Britain"), ("Sweden", "SE for Sweden")):
        given = [typed if word == "GB" else word for word in NEW]
        with pytest.raises(InputError, match=f"write {meant}"):
            said(*given, "--to", tmp_path)
    assert not list(tmp_path.iterdir())


def test_json_is_one_document(tmp_path):
    data = json.loads(said(*NEW, "--to", tmp_path, "--json"))
    assert len(data["written"]) == 3
    assert data["defaults"]
    assert data["questions"]


def test_without_options_it_asks_until_the_answer_can_be(tmp_path):
    answers = ["hardtail", "GB", "120", "120 mm", "29x2.2", "no", "yes", "1.8 m", "90 kg", ""]
    text = said("new", "--to", tmp_path, stdin="\n".join(answers) + "\n")
    assert "hardtail, 120 mm" in text


def test_answers_that_end_too_early_write_nothing(tmp_path):
    with pytest.raises(InputError, match="ended too early"):
        said("new", "--to", tmp_path / "none", stdin="hardtail\n")
    assert not (tmp_path / "none").exists()


def test_too_few_options_name_the_rest(tmp_path):
    with pytest.raises(InputError, match="fork_travel: is missing") as caught:
        said("new", "--kind", "hardtail", "--to", tmp_path)
    assert len(caught.value.problems) == 7


def test_fields_are_listed_with_unit_and_policy():
    text = said("fields", "bike")
    assert "bike.fork.travel" in text
    assert "labelled default" in text
    data = json.loads(said("fields", "--json"))
    assert {item["path"].partition(".")[0] for item in data["fields"]} == {"bike", "rider", "place"}
    with pytest.raises(InputError, match="write bike, rider or place"):
        said("fields", "horse")


def test_a_complete_sheet_shows_what_is_left():
    text = said("show", EXAMPLES / "bikes/hardtail.toml", EXAMPLES / "places/left.toml",
                "--mass", "80 kg")  # fmt: skip
    assert "rider not fitted, 80 kg" in text
