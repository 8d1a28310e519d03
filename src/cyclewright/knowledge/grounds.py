"""What the ground asks of a bicycle by kind of riding: hit factors, slope, speed, use class."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from cyclewright.knowledge.data import knowledge_error, table

FILE = "grounds.toml"
USUAL = "mixed"


@dataclass(frozen=True, slots=True)
class Ground:
    """One kind of riding."""

    name: str
    meaning: str
    hit_front: float
    """Peak load on a sharp edge over the static load at the front wheel [1]."""
    hit_rear: float
    hit_unsprung: float
    """How much harder an end without suspension hits [1]."""
    hit_sigma: float
    """One standard deviation of the hit factors, relative [1]."""
    slope: float
    """Steepest slope usually held for long, rise over run, downhill positive [1]."""
    speed: float
    """Usual speed on rough ground [m/s]."""
    use_class: int
    """Least use class (EN 17406) that this riding asks of the bike."""
    source: str


@lru_cache(maxsize=1)
def grounds() -> dict[str, Ground]:
    """Every kind of riding by its name."""
    try:
        return {name: Ground(name, **row) for name, row in table(FILE).items()}
    except TypeError as error:
        raise knowledge_error(FILE, f"put the rows right: {error}") from error


def ground(ride: object = None) -> Ground:
    """The row of a kind of riding; `mixed` when nobody has said."""
    return grounds().get(ride if isinstance(ride, str) else USUAL, grounds()[USUAL])
