"""Printed tables of bolt standards, read once from the packaged files."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from typing import Final

_DATA: Final = Path(__file__).with_name("data")


@cache
def coarse_pitches() -> dict[float, float]:
    """Coarse pitch [m] by nominal diameter [m]."""
    rows = _rows("iso_262_coarse_pitch.csv")
    return {_metres(row["diameter_mm"]): _metres(row["pitch_mm"]) for row in rows}


@cache
def heads() -> dict[tuple[str, float], tuple[float, float]]:
    """Bearing diameter and clearance hole [m] by kind of head and nominal diameter [m]."""
    return {
        (row["head"], _metres(row["diameter_mm"])): (
            _metres(row["bearing_diameter_mm"]),
            _metres(row["hole_mm"]),
        )
        for row in _rows("iso_4014_4762_273_heads.csv")
    }


@cache
def proof_stresses() -> dict[str, float]:
    """Stress at 0.2 % permanent strain [Pa] by property class."""
    rows = _rows("iso_898_3506_yield.csv")
    return {row["grade"]: float(row["proof_stress_mpa"]) * 1e6 for row in rows}


def _rows(name: str) -> list[dict[str, str]]:
    text = (_DATA / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _metres(millimetres: str) -> float:
    return round(float(millimetres) / 1000.0, 9)
