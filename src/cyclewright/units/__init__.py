"""Read and write quantities as people write them; SI everywhere inside.

A written quantity is a number, a unit, and optionally one standard deviation:
`20mm`, `20 mm`, `+5 °C`, `2.2 bar abs`, `10 %`, `84 kg ± 1`. What else people type is understood
where it can be meant in one way only (`5'9"`, `12 st 4 lb`, `2,5 bar`, `30 PSI`, see `typed`); a
missing unit and a comma that may part thousands are refused with what to write instead.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from cyclewright.errors import InputError, Problem
from cyclewright.units import typed

System = Literal["trade", "metric", "imperial"]
Within = tuple[float, float]
"""Least and most that a number may be shown as, in SI."""
NO_LIMIT: Within = (-math.inf, math.inf)

PSI = 6894.757293168361
LB = 0.45359237
LBF = 4.4482216152605
INCH = 0.0254

# dimension: (SI unit as printed, unit to suggest, {spelling: factor to SI})
_LENGTH = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "km": 1e3, "in": INCH, "inch": INCH, "ft": 0.3048}
_ANGLE = {"deg": math.pi / 180, "°": math.pi / 180, "rad": 1.0}
_TORQUE = {
    "N.m": 1.0,
    "Nm": 1.0,
    "N·m": 1.0,
    "in.lbf": INCH * LBF,
    "ft.lbf": 0.3048 * LBF,
}
_RATE = {"N/m": 1.0, "kN/m": 1e3, "N/mm": 1e3, "lb/in": LBF / INCH, "lbf/in": LBF / INCH}
DIMENSIONS: dict[str, tuple[str, str, dict[str, float]]] = {
    "length": ("m", "mm", _LENGTH),
    "area": ("m²", "mm^2", {"mm2": 1e-6, "cm2": 1e-4, "m2": 1.0}),
    "volume": ("m³", "cm^3", {"mm3": 1e-9, "cm3": 1e-6, "ml": 1e-6, "l": 1e-3, "m3": 1.0}),
    "mass": ("kg", "kg", {"kg": 1.0, "g": 1e-3, "lb": LB, "lbs": LB, "st": 14 * LB}),
    "force": ("N", "N", {"N": 1.0, "kN": 1e3, "MN": 1e6, "lbf": LBF}),
    "torque": ("N·m", "N.m", _TORQUE),
    "pressure": (
        "Pa",
        "psi",
        {"Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "GPa": 1e9, "bar": 1e5, "psi": PSI},
    ),
    "angle": ("rad", "deg", _ANGLE),
    "temperature": (
        "K",
        "degC",
        {"degC": 1.0, "°C": 1.0, "C": 1.0, "degF": 1.0, "°F": 1.0, "K": 1.0},
    ),
    "speed": ("m/s", "km/h", {"m/s": 1.0, "km/h": 1 / 3.6, "mph": 0.44704}),
    "acceleration": ("m/s²", "m/s^2", {"m/s2": 1.0}),
    "rate": ("N/m", "N/mm", _RATE),
    "power": ("W", "W", {"W": 1.0, "kW": 1e3}),
    "frequency": ("Hz", "Hz", {"Hz": 1.0, "kHz": 1e3}),
    "cadence": ("1/s", "rpm", {"rpm": 1 / 60}),
    "time": ("s", "s", {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0}),
    "spatial_frequency": ("1/m", "1/m", {"1/m": 1.0, "/m": 1.0}),
    "inertia": ("kg·m²", "kg*m^2", {"kg*m2": 1.0, "kg·m2": 1.0, "kg.m2": 1.0}),
    "ratio": ("1", "%", {"": 1.0, "%": 1e-2}),
    "number": ("1", "", {"": 1.0}),
}

_BARE = {"": "write the bare number, without a unit", "%": 'write it like 0.25 or "25 %"'}
_OFFSET = {"degC": 273.15, "°C": 273.15, "C": 273.15, "K": 0.0}
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_UNIT = r"(?:1/)?[^\d\s±+.-][^±]*?"
_QUANTITY = re.compile(
    rf"^\s*(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT})??\s*"
    rf"(?:(?:±|\+/-)\s*(?P<sigma>{_NUMBER})\s*(?P<unit2>{_UNIT})?)?\s*$"
)


@dataclass(frozen=True, slots=True)
class Quantity:
    """An SI value, its standard deviation when the writer gave one, and the text as written."""

    value: float
    sigma: float | None = None
    text: str = ""

    def __float__(self) -> float:
        return self.value


def parse(text: object, dimension: str, field: str = "value") -> Quantity:
    """A written quantity as SI; pressure is gauge unless it says `abs`.

    >>> parse("10 %", "ratio").value
    0.1
    >>> round(parse("80 psi", "pressure").value)
    551581
    """
    _, want, table = DIMENSIONS[dimension]
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise _problem("not-a-quantity", field, text, f'write it as text, like "20 {want}"', want)
    written = str(text)
    if len(written) > 60:
        raise _problem("not-a-quantity", field, written, "write one number and its unit", want)
    read = typed.plain(written)
    if re.search(r"\d,\d", read):
        raise _problem("decimal-comma", field, written, typed.comma(read), want)
    match = _QUANTITY.match(_whole(read, dimension))
    if match is None:
        do = _BARE.get(want, f'write a number and a unit, like "20 {want}"')
        raise _problem("not-a-quantity", field, written, do, want)
    unit = re.sub(r"\s+", "", match["unit"] or match["unit2"] or "")
    absolute = unit.lower().endswith("abs") and dimension == "pressure"
    spelling = typed.spelled(unit[:-3] if absolute else unit, dimension, table)
    if spelling == "" and "" not in table:
        raise _problem("unit-missing", field, written, f"add the unit, for example {want}", want)
    if spelling not in table:
        do = typed.misfit(read, dimension) or f"use one of: {', '.join(table)}"
        do = _BARE.get(want, do)
        raise _problem("unit-wrong", field, written, do, want)
    number = float(match["number"])
    if not math.isfinite(number):
        raise _problem("not-a-quantity", field, written, "write a finite number", want)
    value, factor = _to_si(number, spelling, table)
    if absolute:
        value -= 101325.0
    sigma = _sigma(match, spelling, factor, dimension, field, written)
    return Quantity(value, sigma, written)


def unit_written(text: str, dimension: str) -> str:
    """The unit a readable quantity is written in; the smaller one of two.

    >>> unit_written("80 psi ± 2", "pressure"), unit_written("5'9", "length")
    ('psi', 'in')
    """
    match = _QUANTITY.match(_whole(typed.plain(text), dimension))
    return "" if match is None else (match["unit"] or match["unit2"] or "").strip()


def _whole(text: str, dimension: str) -> str:
    """Both sides of a `±`, each as one number and a unit."""
    sides = re.split(r"(±|\+/-)", text)
    return " ".join(typed.whole(side.strip(), dimension) for side in sides)


CHILDRENS = (
    "is a child's size: the sums know grown riders on bead seats of 559, 584 and 622 mm (26, 27.5 "
    "and 29 inch); build and set such a bike by its maker's book"
)


def tyre_size(text: str, field: str = "tyre.size") -> tuple[float, float]:
    """Section width and bead seat diameter [m] of a size off the sidewall.

    >>> tyre_size("61-622")
    (0.061, 0.622)
    >>> tyre_size("27.5x2.6")[1], tyre_size('29" x 2,4"') == tyre_size("29x2.4")
    (0.584, True)
    """
    written = re.sub(r"[\s\"]", "", typed.plain(str(text))).lower().replace("×", "x")
    if match := re.fullmatch(r"(\d{2,3}(?:\.\d)?)-(\d{3})", written):
        width, bead = float(match[1]) / 1000, float(match[2]) / 1000
    elif match := re.fullmatch(r"(29|28|27\.5|650b|26)(?:in)?x(\d(?:\.\d{1,3})?)(?:in)?", written):
        width = float(match[2]) * INCH
        bead = {"29": 0.622, "28": 0.622, "27.5": 0.584, "650b": 0.584, "26": 0.559}[match[1]]
    elif re.fullmatch(r"(12|14|16|18|20|24)(?:in)?x.*", written):
        raise _problem("tyre-size", field, str(text), CHILDRENS, "")
    else:
        raise _problem(
            "tyre-size",
            field,
            str(text),
            'write the size off the sidewall, like "61-622" or "29x2.4"',
            "",
        )
    if not 0.018 <= width <= 0.135 or not 0.2 <= bead <= 0.7:
        raise _problem(
            "tyre-size",
            field,
            str(text),
            "no bicycle tyre has this size: read the sidewall again",
            "",
        )
    return width, bead


def convert(value: float, display: str) -> float:
    """An SI value in the unit named by `display` (`psi`, `mm`, `°`, `%`, `clicks`, …)."""
    if display in ("°C", "degC"):
        return value - 273.15
    if display == "°F":
        return (value - 273.15) * 1.8 + 32
    return value / _DISPLAY.get(display, 1.0)


def show(
    value: float,
    display: str,
    graduation: float,
    system: System = "trade",
    within: Within = NO_LIMIT,
) -> str:
    """A value rounded to the tool it is set with, and its unit; never past what it lies within.

    >>> show(552000.0, "psi", 1.0)
    '80 psi'
    >>> show(552000.0, "psi", 1.0, within=(0.0, 550000.0))
    '80 psi'
    >>> show(549000.0, "psi", 1.0, within=(0.0, 550000.0))
    '79 psi'
    """
    display, graduation = in_system(display, graduation, system)
    return f"{_inside(value, display, graduation, within)}{_spaced(display)}"


def show_interval(
    value: float,
    low: float | None,
    high: float | None,
    display: str,
    graduation: float,
    system: System = "trade",
    within: Within = NO_LIMIT,
) -> str:
    """Value and interval rounded to the tool; no number is rounded past what it lies within.

    >>> show_interval(538000.0, 510000.0, 565000.0, "psi", 1.0)
    '78 (74 to 82) psi'
    """
    display, graduation = in_system(display, graduation, system)
    middle = _inside(value, display, graduation, within)
    if low is None or high is None:
        return f"{middle}{_spaced(display)}"
    left, right = (_inside(end, display, graduation, within) for end in (low, high))
    if left == right == middle:
        return f"{middle}{_spaced(display)}"
    return f"{middle} ({left} to {right}){_spaced(display)}"


_DISPLAY = {
    "psi": PSI,
    "bar": 1e5,
    "kPa": 1e3,
    "mm": 1e-3,
    "cm": 1e-2,
    "in": INCH,
    "kg": 1.0,
    "lb": LB,
    "N": 1.0,
    "lbf": LBF,
    "N·m": 1.0,
    "in·lbf": INCH * LBF,
    "N/mm": 1e3,
    "lb/in": LBF / INCH,
    "°": math.pi / 180,
    "%": 1e-2,
    "min": 60.0,
    "km/h": 1 / 3.6,
    "mph": 0.44704,
}
_METRIC = {"psi": ("bar", 0.05), "in": ("mm", 1.0), "lb": ("kg", 0.5), "lb/in": ("N/mm", 1.0)}
_IMPERIAL = {
    "bar": ("psi", 1.0),
    "mm": ("in", 0.05),
    "kg": ("lb", 1.0),
    "N": ("lbf", 1.0),
    "N·m": ("in·lbf", 1.0),
    "N/mm": ("lb/in", 5.0),
    "°C": ("°F", 1.0),
    "km/h": ("mph", 0.5),
}
_FINE_INCH = 0.02
"""Step of a rule in inches where the metric one reads parts of a millimetre."""


_ON_THE_MARK = 1e-6
"""How near a mark, in steps, a value counts as on it."""


def in_system(display: str, graduation: float, system: System) -> tuple[str, float]:
    """The unit and the tool's step that a system of units has for a unit of the trade.

    >>> in_system("psi", 1.0, "metric")
    ('bar', 0.05)
    >>> in_system("mm", 0.5, "imperial")
    ('in', 0.02)
    """
    if system == "imperial" and display == "mm" and graduation < 1.0:
        return "in", _FINE_INCH
    table = {"trade": {}, "metric": _METRIC, "imperial": _IMPERIAL}[system]
    return table.get(display, (display, graduation))


def _inside(value: float, display: str, graduation: float, within: Within) -> str:
    """The nearest mark, or the one on the other side where that lies past a limit."""
    least, most = (convert(end, display) / graduation for end in within)
    marks = convert(value, display) / graduation
    whole = math.copysign(math.floor(abs(marks) + 0.5), marks)
    if marks <= most + _ON_THE_MARK < whole:
        whole = math.floor(marks + _ON_THE_MARK)
    elif whole < least - _ON_THE_MARK <= marks:
        whole = math.ceil(marks - _ON_THE_MARK)
    return _marked(whole, graduation)


def _marked(whole: float, graduation: float) -> str:
    """So many of the tool's steps, with the decimals that its marks have."""
    decimals = max(0, -math.floor(math.log10(graduation) + 1e-9))
    if decimals and not math.isclose(graduation * 10**decimals, round(graduation * 10**decimals)):
        decimals += 1
    return f"{whole * graduation + 0.0:.{decimals}f}"


def _spaced(display: str) -> str:
    return display if display in ("°", "") else f" {display}"


def _to_si(number: float, spelling: str, table: dict[str, float]) -> tuple[float, float]:
    if spelling in ("degF", "°F"):
        return (number - 32) / 1.8 + 273.15, 1 / 1.8
    if spelling in _OFFSET:
        return number + _OFFSET[spelling], 1.0
    return number * table[spelling], table[spelling]


def _sigma(
    match: re.Match[str],
    spelling: str,
    factor: float,
    dimension: str,
    field: str,
    written: str,
) -> float | None:
    if match["sigma"] is None:
        return None
    _, want, table = DIMENSIONS[dimension]
    other = typed.spelled(re.sub(r"\s+", "", match["unit2"] or ""), dimension, table)
    if other and other not in table:
        raise _problem("unit-wrong", field, written, f"give the ± in {spelling or want} too", want)
    sigma = float(match["sigma"]) * (
        factor if other in ("", spelling) else _to_si(1.0, other, table)[1]
    )
    if not 0 <= sigma < math.inf:
        raise _problem(
            "not-a-quantity", field, written, "the ± is one standard deviation, zero or more", want
        )
    return sigma


def _problem(code: str, field: str, value: object, do: str, unit: str) -> InputError:
    """What is wrong with a written quantity, with the unit to suggest."""
    return InputError(Problem(code, field, do, value=str(value), unit=unit or None))
