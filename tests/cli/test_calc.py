from __future__ import annotations

import json

import pytest

from cyclewright.cli.calc import calc
from cyclewright.errors import InputError


def test_the_list_names_every_sum(capsys):
    calc(None, [], False)
    said = capsys.readouterr().out
    assert "bolt-torque" in said
    assert "Stopping" not in said
    calc(None, [], True)
    assert len(json.loads(capsys.readouterr().out)["calculations"]) >= 13


def test_a_name_alone_shows_inputs_source_and_example(capsys):
    calc("air-spring", [], False)
    said = capsys.readouterr().out
    for words in ("piston_area", "default 1", "source:", "example: cyclewright calc air-spring"):
        assert words in said
    calc("air-spring", [], True)
    assert json.loads(capsys.readouterr().out)["example"].startswith("cyclewright calc")


def test_an_answer_for_a_person_and_for_a_program(capsys):
    pairs = ["wheelbase=1.2 m", "mass_to_front=0.6 m", "mass_height=1.1 m", "mass=90 kg"]
    calc("braking", [*pairs, "deceleration=8 m/s^2"], False)
    said = capsys.readouterr().out
    assert "rear_load   0 N" in said
    assert "rear wheel has lifted" in said
    calc("braking", pairs, True)
    data = json.loads(capsys.readouterr().out)
    assert set(data) == {"name", "inputs", "results", "source"}
    assert data["inputs"]["slope"] == {"value": 0.0, "unit": "1"}
    assert data["results"]["limit"]["unit"] == "m/s²"


def test_an_unknown_sum_ends_in_an_input_error():
    with pytest.raises(InputError, match="did you mean steering"):
        calc("steerin", [], False)
