"""The packaged tables of the body: survey statistics and segment masses, read once."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SURVEY_COLUMNS = (
    "stature",
    "crotch_height",
    "trochanter_height",
    "knee_height",
    "ankle_height",
    "acromion_height",
    "upper_arm",
    "forearm",
    "hand",
    "foot",
    "sitting_height",
)


@dataclass(frozen=True, slots=True)
class Survey:
    """Mean [m] and covariance [m²] of the survey's columns for one group of people."""

    group: str
    count: int
    mean: Array
    covariance: Array
    source: str


def _rows(name: str) -> list[dict[str, str]]:
    """The rows of one packaged table."""
    text = files("cyclewright.body").joinpath(name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@cache
def survey(group: str) -> Survey:
    """Statistics of men (`M`), women (`F`) or both together (`any`)."""
    rows = [row for row in _rows("survey.csv") if row["set"] == group]
    values = np.array([[float(row[name]) for name in SURVEY_COLUMNS] for row in rows])
    return Survey(
        group=group,
        count=int(rows[0]["count"]),
        mean=values[0] * 1e-3,
        covariance=values[1:] * 1e-6,
        source=rows[0]["source"],
    )


@cache
def mass_table(name: str, group: str) -> dict[tuple[str, str], float]:
    """Mass fractions and centres of one set: `(segment, quantity) -> value`."""
    return {
        (row["segment"], row["quantity"]): float(row["value"])
        for row in _rows("masses.csv")
        if row["set"] == name and row["sex"] in (group, "any")
    }
