"""The example sheets, and the smallest sheets that can be read."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

Kind = Literal["bike", "rider", "place"]

EXAMPLES = Path(__file__).parents[2] / "examples"
BIKES = tuple(sorted((EXAMPLES / "bikes").glob("*.toml")))
RIDERS = tuple(sorted((EXAMPLES / "riders").glob("*.toml")))
PLACES = tuple(sorted((EXAMPLES / "places").glob("*.toml")))
EVERY: tuple[tuple[Kind, Path], ...] = (
    *(("bike", path) for path in BIKES),
    *(("rider", path) for path in RIDERS),
    *(("place", path) for path in PLACES),
)

LEAST: dict[Kind, str] = {
    "bike": (
        'kind = "hardtail"\n[fork]\ntravel = "120 mm"\n'
        '[tyre.front]\nsize = "29x2.4"\n[tyre.rear]\nsize = "29x2.4"\n'
    ),
    "rider": 'mass = "80 kg"\nheight = "1.8 m"\n',
    "place": 'country = "GB"\n',
}
"""The smallest sheet of each kind."""


def example(bike: str = "trail", rider: str = "light", place: str = "left") -> list[Path]:
    """The paths of three example sheets."""
    return [
        EXAMPLES / "bikes" / f"{bike}.toml",
        EXAMPLES / "riders" / f"{rider}.toml",
        EXAMPLES / "places" / f"{place}.toml",
    ]
