"""Every figure that a command tells a person is in the units that were asked for."""

from __future__ import annotations

import json
import re

import pytest

from cli.commands import EXAMPLES, typed
from imperial import ALLOWED, METRIC, metric

BIKES = {
    "trail": ("light", "left"),
    "hardtail": ("heavy", "right"),
    "longtravel": ("heavy", "high"),
}
BEFORE = (
    ("check",), ("check", "--brief"), ("plan",), ("plan", "--steps"), ("plan", "--brief"),
    ("advise",), ("advise", "--why"), ("advise", "--fit"), ("advise", "--at", "30 %, 25 %"),
    ("advise", "--change", "rider.mass+=5 kg"),
    ("advise", "--fit", "--change", "rider.height+=3 cm"),
    ("check", "--change", "bike.fork.travel=90 mm"), ("sheet", "show"),
)  # fmt: skip
"""What is asked of sheets."""
ON_RECORD = (
    ("show", 1), ("list",), ("receive", 1), ("care", 1), ("inspect", 1), ("pack", 1), ("tools",),
    ("plan", "--bike-id", 1), ("advise", "--bike-id", 1, "--why"), ("check", "--bike-id", 1),
    ("tools", "set", 1, "5 N.m", "--crowfoot", "30 mm"),
)  # fmt: skip
REFUSED = (
    ("gate", 1, "ride"), ("gate", 1, "release"), ("release", 1, "--by", "Ada"),
    ("reading", 1, "fork-sag", "900 mm"), ("record", 1, "bar-in-stem", "--torque", "60 N.m"),
    ("record", 1, "hanger-gauged", "--value", "40 mm"), ("tools", "set", 1, "500 N.m"),
)  # fmt: skip


def paths(name: str) -> tuple[object, ...]:
    """The sheets of one of the three."""
    rider, place = BIKES[name]
    return (
        EXAMPLES / f"bikes/{name}.toml",
        EXAMPLES / f"riders/{rider}.toml",
        EXAMPLES / f"places/{place}.toml",
    )


@pytest.mark.parametrize("words", BEFORE, ids=" ".join)
@pytest.mark.parametrize("name", BIKES)
def test_what_sheets_say_is_told_in_imperial_units(name, words):
    command = words[:2] if words[0] == "sheet" else words[:1]
    said = typed(*command, *paths(name), *words[len(command) :], "--units", "imperial")
    assert metric(said.out) == []
    assert said.err == ""


@pytest.fixture
def begun(data):
    """A bike on record with a reading, a note and a torque tool."""
    by = ("--by", "Ada")
    typed("open", *paths("trail"), *by)
    typed("tools", "keep", "click", "2 N.m", "20 N.m", "--arm", "200 mm", *by)
    typed("reading", 1, "fork-sag", "28 mm", *by)
    typed("record", 1, "hands-delivered", "--value", "left", *by)
    return data


def test_what_a_record_says_is_told_in_imperial_units(begun):
    for words in ON_RECORD:
        said = typed(*words, "--units", "imperial")
        assert metric(said.out) == [], words
    for words in REFUSED:
        said = typed(*words, "--units", "imperial", code=None)
        assert said.code != 0, words
        for line in said.err.splitlines():
            assert len(metric(line)) <= (str(words[-1]) in line), line  # what was typed stays


def test_units_change_no_data(begun):
    """JSON is SI whatever is asked; only `shown` and `moved` follow."""

    def bare(found):
        if isinstance(found, dict):
            told = [key for key in found if key.startswith("shown") or key == "moved"]
            return {key: bare(one) for key, one in found.items() if key not in told}
        return [bare(one) for one in found] if isinstance(found, list) else found

    for words in (("advise",), ("plan",), ("check",), ("advise", "--fit")):
        one = typed(*words, *paths("trail"), "--json").json
        two = typed(*words, *paths("trail"), "--json", "--units", "imperial").json
        assert bare(one) == bare(two)
    one, two = (typed("show", 1, "--json", "--units", name).json for name in ("trade", "imperial"))
    assert bare(one) == bare(two)
    assert json.dumps(one) != json.dumps(two)


def test_trade_is_what_is_told_when_nothing_is_asked_after_something_was():
    typed("advise", *paths("trail"), "--units", "imperial")
    assert METRIC.search(typed("advise", *paths("trail"), "--why").out)


def test_every_exception_is_used():
    told = "".join(
        typed(*words, *paths(name), "--units", "imperial").out
        for name in BIKES
        for words in (("plan", "--steps"), ("check",))
    )
    for pattern, reason in ALLOWED.items():
        if "name" in reason:
            assert re.search(pattern, told), pattern


def test_a_torque_is_told_with_its_ends_in_inch_pounds():
    trade = typed("plan", *paths("trail")).out
    other = typed("plan", *paths("trail"), "--units", "imperial").out
    assert "set 6 N·m (the rotor)" in trade
    assert "set 53.1 in·lbf (the rotor)" in other
    assert "set 40 N·m (the cassette)" in trade
    assert "set 354 in·lbf (the cassette)" in other
    assert "set 5.4 N·m (the stem: 5 to 6 N·m; 5.3 to 5.6 N·m, 6 % off" in trade
    assert "set 47.8 in·lbf (the stem: 44.3 to 53.1 in·lbf; 46.9 to 49.6 in·lbf, 6 % off" in other


def test_metric_units_leave_no_psi():
    for words in (("advise", "--why"), ("plan", "--steps"), ("check",)):
        said = typed(*words, *paths("trail"), "--units", "metric").out
        assert re.findall(r"\d (?:psi|lb|lbf|in)\b", said) == []
