"""Bodies and bikes that the tests of this room share."""

import csv
import math
from pathlib import Path

import numpy as np

from cyclewright.body.posture import Contacts

DATA = Path(__file__).parent.parent / "data" / "body"
SEAT_ANGLE = math.radians(76.0)


def survey_columns(sex):
    """The survey's columns [m] for one sex, or for everybody."""
    with (DATA / "ansur2_reduced.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if sex in (None, row["sex"])]
    names = [name for name in rows[0] if name not in ("sex", "weight")]
    return {name: np.array([float(row[name]) for row in rows]) * 1e-3 for name in names}


def trail_bike(stature, saddle_height, seat_angle=SEAT_ANGLE, scale=1.0):
    """Contacts and wheelbase of a usual trail bike in a size for this stature."""
    larger = np.atleast_1d(np.asarray(stature, float)) / scale - 1.755
    height = np.atleast_1d(np.asarray(saddle_height, float))
    still = np.zeros_like(larger + height)
    bottom_bracket = scale * np.stack([still + 0.436, still + 0.335], axis=-1)
    post = np.array([-math.cos(seat_angle), math.sin(seat_angle)])
    contacts = Contacts(
        saddle=bottom_bracket + height[:, None] * post,
        bottom_bracket=bottom_bracket,
        grip=scale * np.stack([0.916 + 0.25 * larger + still, 1.035 + 0.15 * larger + still], -1),
        crank_length=scale * (still + 0.17),
        foot_stack=scale * (still + 0.03),
        grip_half_width=scale * 0.33,
    )
    return contacts, scale * (1.24 + 0.3 * larger)
