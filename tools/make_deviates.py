"""Write the fixed normal deviates that every solve samples with.

512 scrambled Sobol points in 32 dimensions (Joe and Kuo direction numbers as in
scipy.stats.qmc.Sobol, seed 1), put through the inverse normal distribution and centred so that
each dimension has mean 0 and variance 1. Run once; the file is part of the package.
"""

from pathlib import Path

import numpy as np
from scipy.stats import norm, qmc

DRAWS, DIMENSIONS = 512, 32
TARGET = Path(__file__).parent.parent / "src/cyclewright/solve/deviates.npy"

points = qmc.Sobol(DIMENSIONS, scramble=True, rng=np.random.default_rng(1)).random(DRAWS)
strata = (np.floor(points * DRAWS) + 0.5) / DRAWS
deviates = norm.ppf(strata).T
deviates /= deviates.std(axis=1, keepdims=True)
np.save(TARGET, np.round(deviates, 6).astype(np.float32))
print(f"{TARGET.name}: {deviates.shape}, {TARGET.stat().st_size} bytes")
