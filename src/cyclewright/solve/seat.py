"""Where the saddle is seen from the bottom bracket, whatever line the post takes."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.solve.case import Array


def line_angle(
    stack: ArrayLike, seat_angle: ArrayLike, seat_angle_actual: ArrayLike, height: ArrayLike
) -> Array:
    """Angle from the ground of the line from the bottom bracket to the saddle [rad].

    The post's axis meets the effective seat-tube line at stack height and stands at the actual
    angle; the saddle lies on it at the straight distance `height` from the bottom bracket. All
    in SI, shape (n,); the saddle in the middle of its rails.

    >>> up = np.radians([76.0, 74.0])
    >>> round(float(np.degrees(line_angle(0.62, up[0], up[1], 0.75))), 2)
    75.7
    """
    stack, actual = np.asarray(stack, np.float64), np.asarray(seat_angle_actual, np.float64)
    foot = (-stack / np.tan(seat_angle), stack)
    post = (-np.cos(actual), np.sin(actual))
    along = foot[0] * post[0] + foot[1] * post[1]
    aside = foot[0] ** 2 + foot[1] ** 2 - along**2
    further = np.sqrt(np.maximum(np.asarray(height, np.float64) ** 2 - aside, 0.0)) - along
    saddle = (foot[0] + further * post[0], foot[1] + further * post[1])
    return np.asarray(np.arctan2(saddle[1], -saddle[0]))
