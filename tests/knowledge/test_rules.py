from __future__ import annotations

from itertools import pairwise

import pytest

from cyclewright.knowledge import rules
from cyclewright.knowledge.data import table


def test_every_entry_has_a_source_and_a_meaning():
    data = table(rules.FILE)
    for kind, entries in data.items():
        for entry in entries if isinstance(entries, list) else [entries]:
            assert entry.get("source"), (kind, entry)
    assert all(rule.meaning for rule in rules.rules().values())


@pytest.mark.parametrize(
    ("name", "value", "source"),
    [
        ("hookless_pressure", 500e3, "ISO 5775-1 / ETRTO"),
        ("wheel_clearance", 1.6e-3, "16 CFR 1512.11(b)"),
        ("stem_gap_max", 5e-3, "ISO 4210-2 4.7.4"),
        ("bar_width_max", 1.0, "ISO 4210-2 4.7.1"),
        ("grip_span", 89e-3, "16 CFR 1512.5(b)(3)"),
    ],
)
def test_published_limits(name, value, source):
    assert rules.rule(name).value == pytest.approx(value)
    assert source in rules.rule(name).source


def test_tool_tolerances_of_iso_6789():
    assert rules.tool_class(10.0).tolerance == 0.06
    assert rules.tool_class(10.1).tolerance == 0.04
    assert rules.tool_class(1e4).tolerance == 0.04


def test_wider_tyres_want_wider_rims():
    rows = rules.tyres_on_rims()
    for one, other in pairwise(rows):
        assert one.section_max < other.section_min <= one.section_max + 1.5e-3
        assert one.rim_min <= other.rim_min and one.rim_max <= other.rim_max
    assert all(row.rim_min < row.rim_max < row.section_max for row in rows)


def test_a_tyre_between_two_rows_takes_the_narrower_one():
    assert rules.tyre_on_rim(0.0349) is not None
    assert rules.tyre_on_rim(0.0625) == rules.tyre_on_rim(0.060)
    assert rules.tyre_on_rim(0.020) is None


def test_dropper_travels_ascend():
    travels = rules.dropper_travels()
    assert list(travels) == sorted(set(travels))


def test_fluids_that_may_never_meet():
    fluids = rules.fluids()
    assert fluids["dot5"].family != fluids["dot4"].family
    assert fluids["dot4"].family == fluids["dot5.1"].family
    assert fluids["mineral"].family not in (fluids["dot4"].family, fluids["dot5"].family)
