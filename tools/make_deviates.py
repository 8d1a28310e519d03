"""Write the fixed normal deviates that every solve samples with.

512 scrambled Sobol points in 32 dimensions (Joe and Kuo direction numbers as in
scipy.stats.qmc.Sobol, seed 1), one in each 1/512 stratum of every dimension, put through the
inverse normal distribution with mean 0 and variance 1, and ranked anew until no dimension leans
on another (Iman and Conover 1982, A distribution-free approach to inducing rank correlation
among input variables; from memory). Run once; the file is part of the package.
"""

from pathlib import Path

import numpy as np
from scipy.stats import norm, qmc

DRAWS, DIMENSIONS, ROUNDS = 512, 32, 8
TARGET = Path(__file__).parent.parent / "src/cyclewright/solve/deviates.npy"

points = qmc.Sobol(DIMENSIONS, scramble=True, rng=np.random.default_rng(1)).random(DRAWS).T
middles = norm.ppf((np.arange(DRAWS) + 0.5) / DRAWS)
middles /= middles.std()


def ranked(rows: np.ndarray) -> np.ndarray:
    """The strata's middles in the order of each row."""
    return middles[rows.argsort(axis=1).argsort(axis=1)]


deviates = ranked(points)
for _ in range(ROUNDS):
    leaning = np.linalg.cholesky(np.corrcoef(deviates))
    deviates = ranked(np.linalg.solve(leaning, deviates))
np.save(TARGET, np.round(deviates, 6).astype(np.float32))
largest = np.abs(np.corrcoef(deviates) - np.eye(DIMENSIONS)).max()
print(f"{TARGET.name}: {deviates.shape}, {TARGET.stat().st_size} bytes, likeness {largest:.4f}")
