"""Whose limit binds: the floors and ceilings of a pressure, each with its owner."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

from cyclewright.advice.needed import given
from cyclewright.knowledge import rules
from cyclewright.knowledge.defaults import Filled
from cyclewright.mechanics import gas
from cyclewright.setting import Limit
from cyclewright.setting import tightest as of_all
from cyclewright.sheets.place import Place

HOTTER_IN_THE_SUN = 15.0
"""How much warmer than the air a tyre gets on the ride [K] (judgement)."""


def tyre_limits(filled: Filled, end: Literal["front", "rear"]) -> tuple[Limit, ...]:
    """Every limit of one tyre, as workshop gauge pressure.

    Ceilings hold at the hottest and highest point of the ride, so they come down by what the
    climb and the sun add after the tyre was set.
    """
    bike, place = filled.sheets.bike, filled.sheets.place
    tyre, wheel = getattr(bike.tyre, end), getattr(bike.wheel, end)
    found = []
    if tyre.pressure_min is not None:
        found.append(Limit(f"{end} tyre's maker", "min", tyre.pressure_min.value))
    ceilings = [
        (f"{end} tyre's maker", tyre.pressure_max and tyre.pressure_max.value),
        (f"{end} rim's maker", wheel.pressure_max and wheel.pressure_max.value),
        ("ISO 5775-1, rims without hooks", None if wheel.hooked is not False else _hookless()),
    ]
    found += [
        Limit(owner, "max", at_workshop(place, ceiling))
        for owner, ceiling in ceilings
        if ceiling is not None
    ]
    return tuple(found)


def spring_limits(owner: str, most: float | None) -> tuple[Limit, ...]:
    """The most air a fork or shock may hold."""
    return () if most is None else (Limit(owner, "max", most),)


def at_workshop(place: Place, ceiling: float) -> float:
    """Workshop gauge pressure [Pa] that reaches `ceiling` at the ride's hottest, highest point."""
    here, there = place.workshop, place.trail
    if here.temperature is None or there.temperature is None:
        return ceiling
    hottest = max(here.temperature.value, there.temperature.value + HOTTER_IN_THE_SUN)
    low = 0.0 if here.altitude is None else here.altitude.value
    high = max(low, 0.0 if there.altitude is None else there.altitude.value)
    return _shifted(ceiling, hottest, here.temperature.value, high, low)


def on_trail(place: Place, gauge: float) -> float:
    """What a tyre set to this at the workshop reads on the trail before it warms [Pa gauge]."""
    here, there = place.workshop, place.trail
    return _shifted(
        gauge,
        given(here.temperature).value,
        given(there.temperature).value,
        given(here.altitude).value,
        given(there.altitude).value,
    )


@lru_cache(maxsize=256)
def _shifted(gauge: float, warm: float, warm_to: float, high: float, high_to: float) -> float:
    return float(gas.shifted_gauge(gauge, warm, warm_to, high, high_to))


def tightest(limits: Sequence[Limit]) -> tuple[float, float]:
    """The highest floor, zero where nobody sets one, and the lowest ceiling."""
    least, most = of_all(limits)
    return max(least, 0.0), most


def held(value: float, limits: Sequence[Limit]) -> tuple[float | None, tuple[Limit, ...]]:
    """The value inside its limits and the limits with those that bind marked; None if none fit."""
    least, most = tightest(limits)
    inside = None if least > most else min(max(value, least), most)
    marked = tuple(
        Limit(
            limit.owner,
            limit.kind,
            limit.value,
            binds=_binds(limit, value, least, most, inside is None),
        )
        for limit in limits
    )
    return inside, marked


def _binds(limit: Limit, value: float, least: float, most: float, clash: bool) -> bool:
    if limit.kind == "min":
        return limit.value == least and (clash or value < least)
    return limit.value == most and (clash or value > most)


def _hookless() -> float:
    return rules.rule("hookless_pressure").value
