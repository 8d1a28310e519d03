"""The program as a whole: usage, options anywhere, exit codes, one object for every error."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli.commands import SHEETS, typed
from cyclewright.cli import main


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("chek",), "Did you mean 'check'?"),
        (("check", *SHEETS, "--bogus"), "No such option: --bogus"),
        (("gate", "1"), "Missing argument"),
        (("release", "1"), "Missing option '--by'"),
        (("sheet", "now"), "No such command 'now'"),
        (("calc", "atmosphere", "--bogus"), "No such option: --bogus"),
        (("calc", "no-such-sum"), "`cyclewright calc` lists"),
        (("check", *SHEETS, "--change"), "requires an argument"),
    ],
)
def test_wrong_usage_is_one_sentence_and_ends_2(words, says):
    said = typed(*words, code=2)
    assert says in said.err
    assert len(said.err.splitlines()) == 1
    assert len(typed(*words, "--json", code=2).errors) == 1 if words[-1] != "--change" else True


def test_help_and_version():
    every = typed("--help").out
    for name in main.COMMANDS:
        assert f"  {name}" in every
        assert "Usage: cyclewright" in typed(name, "--help").out
    assert typed("--version").out.startswith("cyclewright ")


def test_every_command_is_in_the_file_that_is_said():
    for name in main.COMMANDS:
        assert name in main.program(name).commands


def test_calc_takes_the_common_options_anywhere():
    plain = typed("calc", "atmosphere", "altitude=1 km", "--json").json
    assert set(plain) == {"name", "inputs", "results", "source"}
    for words in (("--json", "atmosphere"), ("--units", "metric", "atmosphere", "--json")):
        assert typed("calc", *words, "altitude=1 km").json == plain
    said = typed("calc", "atmosphere", "altitude=1", "colour=3", "--json", code=2)
    assert {error["field"] for error in said.errors} == {"altitude", "colour"}


def test_options_may_stand_before_between_and_behind():
    bike, rider, place = SHEETS
    said = typed("check", bike, rider, place, "--json").json
    assert typed("check", "--json", bike, rider, place).json == said
    listed = typed("sheet", "fields", "place", "--json").json
    assert typed("sheet", "--json", "fields", code=2).err
    assert (
        typed("sheet", "fields", "--data", "x", "--json", "--units", "metric", "place").json
        == listed
    )
    assert typed("check", bike, "--units", "metric", rider, "--json", place).json == said


def test_a_fault_of_ours_ends_70_with_its_details_in_a_file(monkeypatch):
    from cyclewright.workshop import check

    def broken(*_: object) -> None:
        raise ZeroDivisionError("the figure of a test")

    monkeypatch.setattr(check, "check", broken)
    error = typed("check", *SHEETS, "--json", code=70).errors[0]
    assert error["code"] == "fault"
    path = Path(error["do"].rpartition(" ")[2])
    assert "the figure of a test" in path.read_text(encoding="utf-8")
    path.unlink()


def test_sums_that_do_not_settle_end_3(monkeypatch):
    from cyclewright.errors import NotConverged, Problem
    from cyclewright.workshop import advising

    def adrift(*_: object) -> None:
        raise NotConverged(Problem("not-converged", "fork_sag", "check travel and sag"))

    monkeypatch.setattr(advising, "advise", adrift)
    assert typed("advise", *SHEETS, code=3).err == "fork_sag: check travel and sag\n"
