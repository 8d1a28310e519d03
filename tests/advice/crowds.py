"""The people of the open survey on the example bikes."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import numpy as np

from cyclewright.advice.population import Crowd, People, crowd
from cyclewright.knowledge.defaults import fill
from cyclewright.sheets.sheets import load

ROOT = Path(__file__).parents[2]
SURVEY = ROOT / "tests/data/body/ansur2_reduced.csv"
BIKES = ("trail", "hardtail", "longtravel")


@cache
def everybody() -> People:
    """All people of the survey."""
    with SURVEY.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return People(
        stature=np.array([float(row["stature"]) for row in rows]) / 1000.0,
        crotch_height=np.array([float(row["crotchheight"]) for row in rows]) / 1000.0,
        mass=np.array([float(row["weight"]) for row in rows]),
        male=np.array([row["sex"] == "M" for row in rows]),
    )


@cache
def on(bike: str) -> Crowd:
    """Everybody on one example bike, in one call."""
    examples = ROOT / "examples"
    sheets = load(
        examples / "bikes" / f"{bike}.toml",
        examples / "riders" / "heavy.toml",
        examples / "places" / "left.toml",
    )
    return crowd(fill(sheets), everybody())
