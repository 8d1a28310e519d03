"""Intervals from draws, and Settings built with them."""

from __future__ import annotations

import numpy as np

from cyclewright.setting import Basis, Limit, Setting
from cyclewright.solve.case import Array


def interval(draws: Array) -> tuple[float, float]:
    """The 90 % interval of the draws; element 0, the nominal, is not one of them.

    Between draws by p (n + 1), which leaves a further value outside as often as it says.
    """
    low, high = np.quantile(draws[1:], (0.05, 0.95), method="weibull")
    return float(low), float(high)


def setting(
    name: str,
    label: str,
    draws: Array,
    unit: str,
    display: str,
    graduation: float,
    *,
    basis: Basis,
    source: str,
    because: str,
    value: float | None = None,
    impossible: bool = False,
    limits: tuple[Limit, ...] = (),
    cautions: tuple[str, ...] = (),
    beside: tuple[str, ...] = (),
    wanted: float | None = None,
    cure: str = "",
) -> Setting:
    """A Setting whose interval is that of the draws; `value` stands in for the nominal."""
    low, high = interval(draws)
    chosen = None if impossible else float(draws[0]) if value is None else value
    return Setting(
        name=name,
        label=label,
        value=chosen,
        unit=unit,
        low=low,
        high=high,
        basis=basis,
        source=source,
        because=because,
        display=display,
        graduation=graduation,
        limits=limits,
        cautions=cautions,
        beside=beside,
        wanted=wanted,
        cure=cure,
    )
