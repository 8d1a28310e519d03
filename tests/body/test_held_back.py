"""The survey predicted from two thirds of itself: the held-back third is what was measured."""

from __future__ import annotations

import csv
from functools import cache

import numpy as np
import pytest

import evidence
from body.bodies import DATA
from cyclewright.body import segments
from cyclewright.body.tables import SURVEY_COLUMNS, Survey

SOURCE = "ANSUR II (Gordon and others 2014): every third row, predicted from the other two"
NAMES = {
    "stature": "stature",
    "crotch_height": "crotchheight",
    "trochanter_height": "trochanterionheight",
    "knee_height": "lateralfemoralepicondyleheight",
    "ankle_height": "lateralmalleolusheight",
    "acromion_height": "acromialheight",
    "upper_arm": "acromionradialelength",
    "forearm": "radialestylionlength",
    "hand": "handlength",
    "foot": "footlength",
    "sitting_height": "sittingheight",
}
KNOWN = {"stature alone": False, "stature and inseam": True}
Z90 = 1.6448536269514722
# name: what a row measured, what a prediction says; all [m]
QUANTITIES = {
    "thigh": (
        lambda row: row["trochanter_height"] - row["knee_height"],
        lambda body: body.thigh,
    ),
    "shank": (lambda row: row["knee_height"] - row["ankle_height"], lambda body: body.shank),
    "trunk": (
        lambda row: (
            row["acromion_height"]
            - segments.SHOULDER_BELOW_ACROMION * row["upper_arm"]
            - row["trochanter_height"]
        ),
        lambda body: body.trunk,
    ),
    "upper arm": (
        lambda row: (1.0 - segments.SHOULDER_BELOW_ACROMION) * row["upper_arm"],
        lambda body: body.upper_arm,
    ),
    "forearm to the grip": (
        lambda row: row["forearm"] + segments.GRIP_OF_HAND * row["hand"],
        lambda body: body.forearm,
    ),
    "height of the hip": (
        lambda row: row["trochanter_height"],
        lambda body: body.leg + body.ankle_height,
    ),
    "height of the knee": (
        lambda row: row["knee_height"],
        lambda body: body.shank + body.ankle_height,
    ),
    "height of the shoulder": (
        lambda row: row["acromion_height"] - segments.SHOULDER_BELOW_ACROMION * row["upper_arm"],
        lambda body: body.leg + body.ankle_height + body.trunk,
    ),
}


@cache
def rows(sex: str) -> tuple[dict[str, np.ndarray], dict[str, np.ndarray]]:
    """The two thirds that are learnt from and the third that is held back [m]."""
    with (DATA / "ansur2_reduced.csv").open(encoding="utf-8", newline="") as file:
        numbered = list(enumerate(csv.DictReader(file)))
    found = []
    for held in (False, True):
        chosen = [row for at, row in numbered if row["sex"] == sex and (at % 3 == 2) is held]
        found.append(
            {
                name: np.array([float(row[theirs]) for row in chosen]) / 1000.0
                for name, theirs in NAMES.items()
            }
        )
    return found[0], found[1]


@cache
def learnt(sex: str) -> Survey:
    """The statistics of the two thirds, as the package holds those of all."""
    columns, _ = rows(sex)
    table = np.array([columns[name] for name in SURVEY_COLUMNS])
    return Survey(sex, table.shape[1], table.mean(axis=1), np.cov(table), SOURCE)


@pytest.fixture
def two_thirds(monkeypatch):
    """Prediction that has never seen the third it is held against."""
    monkeypatch.setattr(segments, "survey", learnt)


def _residuals(with_inseam: bool, quantity: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Predicted less measured for everybody held back, the spread foretold for each, measured."""
    measure, read = QUANTITIES[quantity]
    draws = np.random.default_rng(11).standard_normal((segments.DEVIATES, 4096))
    off, spread, seen = [], [], []
    for sex in ("M", "F"):
        _, held = rows(sex)
        crotch = held["crotch_height"] if with_inseam else None
        body = segments.predict(held["stature"], crotch, sex)
        one = segments.predict(1.7, 0.82 if with_inseam else None, sex, deviates=draws)
        off.append(read(body) - measure(held))
        spread.append(np.full(off[-1].shape, read(one).std()))
        seen.append(measure(held))
    return np.concatenate(off), np.concatenate(spread), np.concatenate(seen)


@pytest.mark.parametrize("quantity", QUANTITIES)
@pytest.mark.parametrize("known", KNOWN)
def test_the_third_held_back_is_foretold(known, quantity, two_thirds):
    off, spread, seen = _residuals(KNOWN[known], quantity)
    assert off.size == 2022
    named = f"{quantity} from {known}"
    evidence.measured(
        f"{named}: mean of the third", (seen + off).mean(), seen.mean(), SOURCE, rel=0.003
    )
    evidence.measured(
        f"{named}: spread about the prediction",
        float(np.sqrt(np.mean(spread**2))),
        off.std(),
        SOURCE,
        rel=0.05,
    )
    evidence.measured(
        f"{named}: share inside the 90 % interval",
        float(np.mean(np.abs(off) <= Z90 * spread)),
        0.90,
        SOURCE,
        rel=0.0,
        within=0.02,
    )


def test_the_third_is_not_in_what_it_is_foretold_from(two_thirds):
    everybody = sum(part["stature"].size for sex in "MF" for part in rows(sex))
    assert everybody == 6068
    assert sum(learnt(sex).count for sex in "MF") == 4046


def test_the_inseam_says_more_of_the_legs_than_stature_does(two_thirds):
    for quantity, share in (("shank", 0.8), ("height of the hip", 0.8), ("thigh", 0.95)):
        alone, _, _ = _residuals(False, quantity)
        both, _, _ = _residuals(True, quantity)
        assert both.std() < share * alone.std()
