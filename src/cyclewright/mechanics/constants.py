"""Constants that the rooms of mechanics share."""

from __future__ import annotations

from typing import Final

STANDARD_GRAVITY: Final = 9.80665
"""Standard acceleration of free fall [m/s²], ISO 80000-3."""

STANDARD_PRESSURE: Final = 101325.0
"""Pressure of the standard atmosphere at sea level [Pa], ISO 2533."""
