"""The fixed draws behind every interval, loaded once from the package."""

from __future__ import annotations

from functools import cache
from importlib.resources import as_file, files

import numpy as np

from cyclewright.solve.case import Array

DRAWS = 512
DIMENSIONS = 32


@cache
def deviates() -> Array:
    """Standard normal deviates, shape (32, 513): column 0 is zero (the nominal).

    512 Sobol points, one in each 1/512 stratum of every dimension and no dimension leaning on
    another, so that the same sheet always prints the same digits. Made by
    `tools/make_deviates.py`.

    >>> deviates().shape
    (32, 513)
    """
    with as_file(files("cyclewright.solve") / "deviates.npy") as path:
        drawn = np.load(path).astype(np.float64)
    table = np.concatenate((np.zeros((DIMENSIONS, 1)), drawn), axis=1)
    table.setflags(write=False)
    return table
