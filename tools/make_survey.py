"""Write the means and covariances of body dimensions that segment prediction rests on.

Reads the open survey of body dimensions (see the source row below) and writes, for men, women
and both together, the mean and the covariance of every dimension used. Run as
`python tools/make_survey.py SURVEY.csv`; the table written is part of the package.
"""

import csv
import sys
from pathlib import Path

import numpy as np

TARGET = Path(__file__).parent.parent / "src/cyclewright/body/survey.csv"
SOURCE = (
    "ANSUR II, 2012 Anthropometric Survey of US Army Personnel (Gordon and others 2014), "
    "public release; 4,082 men, 1,986 women"
)
COLUMNS = {
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


def main(survey: Path) -> None:
    """Read the survey's rows (mm) and write the table (mm, mm²)."""
    with survey.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    with TARGET.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["set", "count", "row", *COLUMNS, "unit", "source"])
        for group in ("M", "F", "any"):
            chosen = [row for row in rows if group in ("any", row["sex"])]
            values = np.array([[float(row[c]) for c in COLUMNS.values()] for row in chosen])
            writer.writerow(_line(group, len(chosen), "mean", values.mean(axis=0), "mm"))
            for name, line in zip(COLUMNS, np.cov(values.T), strict=True):
                writer.writerow(_line(group, len(chosen), name, line, "mm^2"))


def _line(group: str, count: int, name: str, values: np.ndarray, unit: str) -> list[str | int]:
    """One row of the table: a mean, or one row of the covariance."""
    return [group, count, name, *(f"{value:.4f}" for value in values), unit, SOURCE]


if __name__ == "__main__":
    main(Path(sys.argv[1]))
