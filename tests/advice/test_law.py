"""Fittings, marks and electric drives by the law of each country."""

from __future__ import annotations

import pytest

from advice.clean import planted
from cyclewright.advice.crosscheck import crosscheck
from cyclewright.advice.law import SLACK
from cyclewright.knowledge.countries import countries
from cyclewright.setting import Finding

DRIVE = ("bike.electric.motor=M-1",)


def told(*changes: str) -> dict[str, Finding]:
    """The findings about an electric drive of the clean bike after these changes."""
    findings, _ = crosscheck(planted(*DRIVE, *changes))
    return {item.code: item for item in findings if item.code.startswith("drive-")}


@pytest.mark.parametrize("code", sorted(x for x, row in countries().items() if row.electric))
def test_each_country_bounds_speed_and_power_by_its_own_row(code: str) -> None:
    speeds = [one.speed for one in countries()[code].electric]
    powers = [one.power for one in countries()[code].electric]
    within, beyond = [], []
    if None not in speeds:
        top = max(speed for speed in speeds if speed is not None) * 3.6
        within.append(f"bike.electric.assist_speed={top:.3f} km/h")
        beyond.append(f"bike.electric.assist_speed={top * SLACK + 0.2:.3f} km/h")
    if None not in powers:
        most = max(power for power in powers if power is not None)
        within.append(f"bike.electric.power={most:.0f} W")
        beyond.append(f"bike.electric.power={most * SLACK + 1:.0f} W")
    assert within
    found = told(f"place.country={code}", *within)
    assert list(found) == ["drive-law"] and found["drive-law"].severity == "note"
    for change in beyond:
        found = told(f"place.country={code}", *within, change)
        assert list(found) == ["drive-out-of-scope"]
        assert found["drive-out-of-scope"].severity == "stop"
        assert countries()[code].name in found["drive-out-of-scope"].facts[1]


@pytest.mark.parametrize(
    ("code", "speed", "out"),
    [
        ("DE", "25 km/h", False), ("GB", "25 km/h", False), ("DE", "32 km/h", True),
        ("JP", "24 km/h", False), ("JP", "25 km/h", True), ("CA", "32 km/h", False),
        ("CA", "45 km/h", True), ("US", "28 mph", False), ("US", "30 mph", True),
        ("NZ", "45 km/h", False), ("AU", "25 km/h", False), ("AU", "32 km/h", True),
    ],
)  # fmt: skip
def test_one_rule_no_longer_stands_for_all_countries(code: str, speed: str, out: bool) -> None:
    found = told(f"place.country={code}", f"bike.electric.assist_speed={speed}")
    assert ("drive-out-of-scope" in found) == out


@pytest.mark.parametrize(
    ("speed", "classes"),
    [("20 mph", ["class 1", "class 2", "class 3"]), ("28 mph", ["class 3"])],
)
def test_the_classes_of_the_united_states_that_a_drive_may_be(
    speed: str, classes: list[str]
) -> None:
    note = told("place.country=US", f"bike.electric.assist_speed={speed}")["drive-law"]
    assert [fact.split(", ")[1].split(":")[0] for fact in note.facts[1:]] == classes
    assert "the state" in note.do


def test_strong_but_slow_is_out_where_power_is_bounded() -> None:
    slow = ("bike.electric.assist_speed=20 km/h", "bike.electric.power=350 W")
    assert "drive-out-of-scope" in told("place.country=NZ", *slow)
    assert "drive-out-of-scope" not in told("place.country=JP", *slow)


def test_what_the_law_bounds_and_nobody_has_read_is_asked() -> None:
    _, asked = crosscheck(planted(*DRIVE, "place.country=DE"))
    assert {"bike.electric.assist_speed", "bike.electric.power"} <= {one.field for one in asked}
    _, asked = crosscheck(planted(*DRIVE, "place.country=NZ"))
    fields = {one.field for one in asked}
    assert "bike.electric.power" in fields and "bike.electric.assist_speed" not in fields
    _, asked = crosscheck(planted("place.country=DE"))
    assert not {one.field for one in asked if one.field.startswith("bike.electric")}


@pytest.mark.parametrize("code", ["KE", "BR", "IN"])
@pytest.mark.parametrize(("speed", "severity"), [("25 km/h", "stop"), ("24 km/h", "warn")])
def test_a_country_with_no_law_on_file_stops_beyond_the_tightest(
    code: str, speed: str, severity: str
) -> None:
    found = told(f"place.country={code}", f"bike.electric.assist_speed={speed}")
    assert list(found) == ["drive-unknown"]
    assert found["drive-unknown"].severity == severity
    assert "Ask the authority that approves vehicles" in found["drive-unknown"].do


def test_the_authoritys_answer_settles_what_is_not_on_file() -> None:
    answered = ("place.country=KE", "place.assist_speed=25 km/h", "place.assist_power=250 W")
    slow = ("bike.electric.assist_speed=25 km/h", "bike.electric.power=250 W")
    assert list(told(*answered, *slow)) == ["drive-law"]
    assert list(told(*answered, "bike.electric.assist_speed=32 km/h")) == ["drive-out-of-scope"]
    # a row on file goes before it
    assert "drive-out-of-scope" in told(
        "place.country=DE", "place.assist_speed=45 km/h", "bike.electric.assist_speed=45 km/h"
    )


@pytest.mark.parametrize("code", sorted(countries()))
def test_fittings_and_marks_are_told_or_asked(code: str) -> None:
    row = countries()[code]
    findings, _ = crosscheck(planted(*DRIVE, f"place.country={code}"))
    fittings = [item for item in findings if item.code == "legal-fittings"]
    marks = [item for item in findings if item.code == "frame-mark"]
    assert len(fittings) == max(len(row.fittings), 1)
    assert len(marks) == len(row.marks)
    if not row.fittings:
        assert f"Ask {row.asks['fittings']}" in fittings[0].do
    for item in (*fittings, *marks):
        assert item.severity == "note" and "memory" not in item.rule
    plain, _ = crosscheck(planted(f"place.country={code}"))
    assert sum(item.code == "frame-mark" for item in plain) == sum(not x.drive for x in row.marks)


def test_a_country_without_a_row_is_asked_for_its_fittings() -> None:
    findings, _ = crosscheck(planted("place.country=KE"))
    (note,) = [item for item in findings if item.code == "legal-fittings"]
    assert "Kenya" in note.facts[0] and "the national road traffic authority" in note.do
