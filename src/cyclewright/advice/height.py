"""The saddle height recommended for a rider, with its spread, straight from the sheets."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from cyclewright.body import posture, segments
from cyclewright.knowledge import rules
from cyclewright.knowledge.uncertainty import spread
from cyclewright.solve import seat

if TYPE_CHECKING:
    from cyclewright.sheets.bike import Bike
    from cyclewright.sheets.rider import Rider
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.units import Quantity

Z90 = 1.6448536269514722
"""Standard deviations from the middle to either end of a 90 % interval."""
_STEP = 0.005


@dataclass(frozen=True, slots=True)
class Height:
    """Bottom bracket to saddle top along the post [m], one standard deviation, how it came."""

    value: float
    sigma: float
    because: str

    @property
    def low(self) -> float:
        """Lower end of the 90 % interval [m]."""
        return self.value - Z90 * self.sigma

    @property
    def high(self) -> float:
        """Upper end of the 90 % interval [m]."""
        return self.value + Z90 * self.sigma


def saddle_height(filled: Sheets) -> Height | None:
    """The recommended saddle height off filled sheets; None without a stature to go by."""
    rider = filled.rider
    if rider is None or rider.height is None:
        return None
    inseam, sigma, because = _inseam(rider)
    ends = [_recommended(filled.bike, rider, inseam + step) for step in (0.0, -_STEP, _STEP)]
    slope = (ends[2] - ends[1]) / (2 * _STEP)
    method = rules.rule("saddle_height_method").value
    return Height(ends[0], math.hypot(slope * sigma, method), because)


def _inseam(rider: Rider) -> tuple[float, float, str]:
    """Firm inseam [m], one standard deviation [m], and where it comes from."""
    if rider.inseam is not None:
        crotch = segments.crotch_height(rider.inseam.value, rider.inseam_kind or "firm")
        sigma = spread(rider.inseam, "rider.inseam")
        return float(segments.inseam_of(crotch)), sigma, f"from an inseam of {rider.inseam.text}"
    assert rider.height is not None
    mean, scatter = segments.crotch_height_from_stature(rider.height.value, rider.sex)
    sigma = math.hypot(scatter, 0.55 * (rider.height.sigma or 0.0))
    because = f"from a height of {rider.height.text}; measure the inseam to do better"
    return float(segments.inseam_of(mean)), sigma, because


def _recommended(bike: Bike, rider: Rider, inseam: float) -> float:
    """The one height of `posture.recommended` for this inseam [m]."""
    body = segments.predict(_si(rider.height), segments.crotch_height(inseam), rider.sex)
    frame = bike.frame
    line = seat.line_angle(
        _si(frame.stack),
        _si(frame.seat_angle),
        _si(frame.seat_angle_actual),
        posture.by_inseam(inseam),
    )
    heights = posture.saddle_heights(
        body,
        inseam,
        _si(bike.crank.length),
        _si(bike.pedal.stack) + _si(rider.shoe_stack),
        line,
        0.0 if bike.saddle.setback is None else bike.saddle.setback.value,
    )
    return float(np.ravel(posture.recommended(heights))[0])


def _si(quantity: Quantity | None) -> float:
    assert quantity is not None, "filled sheets hold every figure that a default may stand in for"
    return quantity.value
