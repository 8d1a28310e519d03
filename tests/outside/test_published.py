"""Printed values for `calc`, each within the tolerance of its own row."""

from __future__ import annotations

import csv
import shlex
from pathlib import Path

import pytest

import evidence
from cyclewright.errors import InputError
from cyclewright.workshop import calc

PUBLISHED = Path(__file__).parents[1] / "data" / "published.csv"
ROWS = sorted(
    csv.DictReader(PUBLISHED.read_text(encoding="utf-8").splitlines()),
    key=lambda row: (row["source"], row["id"]),
)


def _name(row: dict[str, str]) -> str:
    return f"{row['source'].split(',')[0][:30]}-{row['id']}-{row['key']}"


@pytest.mark.parametrize("row", ROWS, ids=_name)
def test_published_value(row, record_property):
    built = {item.name for item in calc.catalogue()}
    if row["calc"] not in built:
        record_property("outside-not-built", row["calc"])
        with pytest.raises(InputError, match=row["calc"]):
            calc.run(row["calc"], shlex.split(row["inputs"]))
        return
    value, unit = calc.run(row["calc"], shlex.split(row["inputs"])).results[row["key"]]
    evidence.published(
        f"{row['id']}: {row['calc']} {row['inputs']} → {row['key']}",
        value,
        float(row["expected_si"]),
        row["tolerance"],
        row["source"],
        row["known"],
        unit,
    )
    record_property("outside-checked", row["calc"])


def test_every_row_has_a_source_and_says_how_it_is_known():
    known = {"read", "memory", "formula", "computed", "practice"}
    assert len({row["id"] for row in ROWS}) == len(ROWS) > 90
    for row in ROWS:
        assert row["source"].strip(), row["id"]
        assert known & set(row["known"].replace(",", " ").split()), row["id"]
