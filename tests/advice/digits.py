"""Every advised number of the example bikes in full: `python tests/advice/digits.py > TABLE`.

A pin of our own output, by which other machines and other days are told how far they are off.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterator
from itertools import product
from pathlib import Path

from cyclewright.workshop.advising import advise
from cyclewright.workshop.sheets import read_sheets

EXAMPLES = Path(__file__).parents[2] / "examples"
TABLE = Path(__file__).parents[1] / "data" / "advised.csv"
BIKES = {"hardtail": "left", "trail": "right", "longtravel": "high"}
"""Each bike with the place it is set up for."""
RIDERS = ("light", "heavy")
NUMBERS = ("value", "low", "high")
HEAD = ("bike", "rider", "place", "setting", "unit", *NUMBERS)

PROMISED = 7
"""Digits that every machine gives alike, of the largest of a setting's three numbers.

The coupled solve ends once nothing moves by more than a nanometre. Rounding decides, now and
then, whether that takes one round more; a nanometre of a centimetre is one in ten million.
"""


def rows() -> Iterator[tuple[str, ...]]:
    """A row a setting, with every digit."""
    for (bike, place), rider in product(BIKES.items(), RIDERS):
        files = (("bikes", bike), ("riders", rider), ("places", place))
        sheets = read_sheets(*(EXAMPLES / folder / f"{name}.toml" for folder, name in files))
        for setting in advise(sheets).settings:
            numbers = (getattr(setting, name) for name in NUMBERS)
            told = ("" if number is None else repr(float(number)) for number in numbers)
            yield (bike, rider, place, setting.name, setting.unit, *told)


def main() -> None:
    table = csv.writer(sys.stdout, lineterminator="\n")
    table.writerow(HEAD)
    table.writerows(rows())


if __name__ == "__main__":
    main()
