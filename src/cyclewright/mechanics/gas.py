"""Air around the bike and inside its chambers: the standard atmosphere, warmth and altitude."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.mechanics.bounds import Array, Bound, arrays, refuse
from cyclewright.mechanics.constants import STANDARD_GRAVITY, STANDARD_PRESSURE

SPECIFIC_GAS_CONSTANT: Final = 287.05287
"""Of dry air [J/(kg K)], ISO 2533."""

# ISO 2533, table of layers: geopotential altitude of the base [m], temperature gradient [K/m]
_LAYERS: Final = (
    (0.0, -6.5e-3),
    (11_000.0, 0.0),
    (20_000.0, 1.0e-3),
    (32_000.0, 2.8e-3),
    (47_000.0, 0.0),
    (51_000.0, -2.8e-3),
    (71_000.0, -2.0e-3),
)
_LOWEST, _HIGHEST = -5_000.0, 80_000.0
_SEA_LEVEL_TEMPERATURE: Final = 288.15

_ALTITUDE = Bound(_LOWEST, _HIGHEST, "m")
_TEMPERATURE = Bound(0.0, 1000.0, "K", low_open=True)


@dataclass(frozen=True, slots=True)
class Atmosphere:
    """Still air at one altitude: pressure [Pa absolute], temperature [K], density [kg/m³]."""

    pressure: Array
    temperature: Array
    density: Array


def standard_atmosphere(altitude: ArrayLike) -> Atmosphere:
    """Pressure, temperature and density of the standard atmosphere.

    In a layer with base values ``p_b, T_b, H_b`` and gradient ``β``:
    ``T = T_b + β (H - H_b)`` and ``p = p_b (T/T_b)^(-g/(β R))``, or where ``β = 0``
    ``p = p_b exp(-g (H - H_b)/(R T))``; ``ρ = p/(R T)``.

    Parameters
    ----------
    altitude : geopotential altitude [m], any shape, -5 000 to 80 000

    Returns
    -------
    Atmosphere : pressure [Pa absolute], temperature [K] and density [kg/m³] of that shape

    Raises
    ------
    RangeError : an altitude outside the tables of the standard

    Notes
    -----
    Weather moves the true pressure by about ±2 % and the season the true temperature by tens of
    kelvin: read a thermometer where one is at hand. Geometric altitude differs from geopotential
    by less than 0.1 % below 6 000 m.

    Examples
    --------
    >>> air = standard_atmosphere(2000.0)
    >>> round(float(air.pressure)), round(float(air.temperature), 2)
    (79495, 275.15)

    References
    ----------
    ISO 2533:1975, Standard Atmosphere, clauses 2 and 3; the same as ICAO Doc 7488.
    """
    (height,) = arrays(altitude=(altitude, _ALTITUDE))
    base_pressure, base_temperature = STANDARD_PRESSURE, _SEA_LEVEL_TEMPERATURE
    pressure, temperature = _in_layer(height, base_pressure, base_temperature, *_LAYERS[0])
    for (below, slope), (base, gradient) in pairwise(_LAYERS):
        at_base = _in_layer(np.float64(base), base_pressure, base_temperature, below, slope)
        base_pressure, base_temperature = (float(value) for value in at_base)
        inside = _in_layer(height, base_pressure, base_temperature, base, gradient)
        pressure = np.where(height > base, inside[0], pressure)
        temperature = np.where(height > base, inside[1], temperature)
    return Atmosphere(pressure, temperature, pressure / (SPECIFIC_GAS_CONSTANT * temperature))


def shifted_gauge(
    pressure_gauge: ArrayLike,
    temperature_from: ArrayLike,
    temperature_to: ArrayLike,
    altitude_from: ArrayLike = 0.0,
    altitude_to: ArrayLike = 0.0,
) -> Array:
    """Gauge pressure of a closed chamber taken to another temperature and altitude.

    ``p₂ = (p₁ + p_air(H₁)) T₂/T₁ - p_air(H₂)``: the absolute pressure follows the absolute
    temperature, and the gauge reads what is left above the air outside.

    Parameters
    ----------
    pressure_gauge : gauge pressure at the start [Pa], above minus the ambient pressure
    temperature_from, temperature_to : of the gas [K], above 0
    altitude_from, altitude_to : geopotential altitudes [m], -5 000 to 80 000
        All broadcast together.

    Returns
    -------
    gauge pressure at the end [Pa]; below zero where the air outside would press harder

    Raises
    ------
    RangeError : absolute pressure or temperature at or below zero, or altitude off the tables

    Notes
    -----
    Volume and mass of gas are held: a tyre grows by a few parts in a thousand and a suspension
    chamber not at all. Leakage, water vapour and real-gas corrections (below 1 % at 20 bar)
    are left out. The gas of a spring in use is some 15 ± 10 K warmer than the air around it
    (common practice, no source).

    Examples
    --------
    >>> round(float(shifted_gauge(2.0e5, 293.15, 313.15)))
    220558

    References
    ----------
    Gay-Lussac's law for a closed volume; ISO 2533:1975 for the air outside.
    """
    gauge, start, end = arrays(
        pressure_gauge=(pressure_gauge, Bound(unit="Pa")),
        temperature_from=(temperature_from, _TEMPERATURE),
        temperature_to=(temperature_to, _TEMPERATURE),
    )
    outside_from = standard_atmosphere(altitude_from).pressure
    outside_to = standard_atmosphere(altitude_to).pressure
    absolute = gauge + outside_from
    refuse(
        "below-vacuum",
        "pressure_gauge",
        absolute <= 0.0,
        gauge,
        "give a gauge pressure above a perfect vacuum",
    )
    return np.asarray(absolute * end / start - outside_to)


def _in_layer(
    height: Array | np.float64,
    base_pressure: float,
    base_temperature: float,
    base: float,
    gradient: float,
) -> tuple[Array, Array]:
    """Pressure and temperature by one layer's law, at any height."""
    above = np.asarray(height) - base
    if gradient == 0.0:
        temperature = np.full_like(above, base_temperature)
        fall = np.exp(-STANDARD_GRAVITY * above / (SPECIFIC_GAS_CONSTANT * base_temperature))
        return base_pressure * fall, temperature
    # far outside the layer the line would cross zero; those values are never chosen
    temperature = np.maximum(base_temperature + gradient * above, 1.0)
    power = -STANDARD_GRAVITY / (gradient * SPECIFIC_GAS_CONSTANT)
    with np.errstate(over="ignore"):
        return base_pressure * (temperature / base_temperature) ** power, temperature
