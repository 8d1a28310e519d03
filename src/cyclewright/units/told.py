"""Sentences with their figures in another system of units.

What the program says is written once, in the units of the trade. Where a person asked for metric
or imperial units, every figure with a unit is turned on its way out, as finely as it was told.
What is a name and no measure stays: a tool's size, a rotor's size, a tyre's, a thread. So does
what stands in double quotes or behind `=`, which is somebody's own words or what to type.
"""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Mapping
from typing import Any, TypeVar

from cyclewright.units import INCH, LB, LBF, PSI, System

_POUND_INCH = INCH * LBF
_FOOT = 12 * INCH
# unit as told: (unit in the other system, how much 1 of it is there)
_IMPERIAL: dict[str, tuple[str, float]] = {
    "mm": ("in", 1e-3 / INCH),
    "cm": ("in", 1e-2 / INCH),
    "m": ("ft", 1 / _FOOT),
    "km": ("mi", 1e3 / (5280 * _FOOT)),
    "kg": ("lb", 1 / LB),
    "N": ("lbf", 1 / LBF),
    "kN": ("lbf", 1e3 / LBF),
    "N·m": ("in·lbf", 1 / _POUND_INCH),
    "N.m": ("in·lbf", 1 / _POUND_INCH),
    "N/mm": ("lb/in", 1e3 * INCH / LBF),
    "kN/m": ("lb/in", 1e3 * INCH / LBF),
    "N/m": ("lb/in", INCH / LBF),
    "bar": ("psi", 1e5 / PSI),
    "kPa": ("psi", 1e3 / PSI),
    "°C": ("°F", 1.8),
    "degC": ("°F", 1.8),
    "K": ("°F", 1.8),
    "km/h": ("mph", 1 / 1.609344),
    "m/s": ("ft/s", 1 / _FOOT),
    "mm/s": ("in/s", 1e-3 / INCH),
    "ml": ("fl oz", 1 / 29.5735295625),
    "cm³": ("in³", 1e-6 / INCH**3),
    "J": ("ft·lbf", 1 / (_FOOT * LBF)),
}
_METRIC: dict[str, tuple[str, float]] = {
    "psi": ("bar", PSI / 1e5),
    "lb": ("kg", LB),
    "lbf": ("N", LBF),
    "lb/in": ("N/mm", LBF / INCH / 1e3),
    "mph": ("km/h", 1.609344),
    "in·lbf": ("N·m", _POUND_INCH),
    "°F": ("°C", 1 / 1.8),
}
_TABLES: dict[System, dict[str, tuple[str, float]]] = {
    "trade": {},
    "metric": _METRIC,
    "imperial": _IMPERIAL,
}
_ZEROS = {"°C": 32.0, "degC": 32.0, "°F": -32.0 / 1.8}
_LEAST = {"psi": 1, "in·lbf": 1}
"""Decimals of limits that a whole number would move: 5 bar are 72.5 psi, not 73."""

_N = r"[-−+]?\d+(?:\.\d+)?"
_JOIN = r"(?: to | or |–|-| ± | \(| and at most | and under )"
_NUMBER = re.compile(r"(?<![\d.])[-−+]?\d+(?:\.\d+)?")
_SIZE = r"\d+(?:\.\d+)?(?: mm)?"
_TOOL = rf"(?:{_SIZE}(?:,| or| and) ){{0,3}}{_SIZE} (?=hex|open|socket|spanner|pedal spanner|box)"
_QUOTED = r'"[^"\n]{0,80}"|&#34;[^&\n]{0,80}&#34;'
_ROTORS = re.compile(r"(?:140|160|180|200|203|220|223)")
_BORES = re.compile(r"(?:22\.2|25\.4|27\.2|30\.9|31\.6|31\.8|34\.9|35)")
_NEAR_BORE = re.compile(r"\b(?:bar|stem|post|tube|collar|shim)", re.I)


def _pattern(table: Mapping[str, object]) -> re.Pattern[str]:
    units = "|".join(re.escape(unit) for unit in sorted(table, key=len, reverse=True))
    return re.compile(
        rf"(?P<kept>{_QUOTED}|(?<![\w.]){_TOOL})"
        rf"|(?<![\w.,/=×·-])(?P<numbers>(?:(?<=between )(?:{_N}) and )?{_N}(?:{_JOIN}{_N})*\)?)"
        rf"(?P<gap>[ \u00a0]?)(?P<unit>{units})(?P<spread> ± \d+(?:\.\d+)?)?(?![\w²³/·^])"
    )


_PATTERNS = {system: _pattern(table) for system, table in _TABLES.items() if table}


def told(text: str, system: System) -> str:
    """A sentence with its figures in a system of units.

    >>> told("an inseam of 890 mm ± 6, at 20 °C; set 5 to 6 N·m, 4 mm hex", "imperial")
    'an inseam of 35.04 in ± 0.24, at 68 °F; set 44.3 to 53.1 in·lbf, 4 mm hex'
    >>> told("at most 5 bar", "imperial"), told("at most 80 psi", "metric")
    ('at most 72.5 psi', 'at most 5.52 bar')
    """
    if system == "trade":
        return text
    return _PATTERNS[system].sub(lambda found: _turned(found, _TABLES[system]), text)


def unit_apart(numbers: str, unit: str, system: System) -> tuple[str, str]:
    """Numbers and their unit where these stand apart, in a system of units.

    >>> unit_apart("max 8", "N·m", "imperial"), unit_apart("5–6", "N·m", "trade")
    (('max 70.8', 'in·lbf'), ('5–6', 'N·m'))
    """
    new, _ = _TABLES[system].get(unit, (unit, 1.0))
    return told(f"{numbers} {unit}", system).removesuffix(f" {new}"), new


def page(html: str, system: System) -> str:
    """A page or drawing with the figures of its text turned; what is typed or sent stays.

    >>> page('<b title="5 mm">5 mm</b><option>5 mm</option>', "imperial")
    '<b title="5 mm">0.20 in</b><option>5 mm</option>'
    """
    if system == "trade":
        return html
    html = _APART.sub(lambda found: _small(found, system), html)
    return _MARKUP.sub(lambda found: told(found[0], system) if found["text"] else found[0], html)


def _small(found: re.Match[str], system: System) -> str:
    numbers, unit = unit_apart(found[1], found[3], system)
    return f"{numbers}{found[2]}<small>{unit}</small>"


_APART = re.compile(rf"({_N}(?:–{_N})?)(\s?)<small>({'|'.join(_IMPERIAL)})</small>")
"""A figure whose unit is set smaller than its number."""
_MARKUP = re.compile(
    r"<(?P<whole>script|style|textarea|code|option)\b.*?</(?P=whole)>|<[^>]*>|(?P<text>[^<]+)",
    re.S,
)
_KEPT = frozenset({"id", "name", "serial", "tool", "head", "signature", "shop", "unit", "display"})
"""Fields of a paper that are names, or a size of a tool."""
_Any = TypeVar("_Any")


def throughout(data: _Any, system: System) -> _Any:
    """A paper's data with the figures of every sentence in it turned.

    >>> throughout({"do": ("cut 5 mm off",), "tool": "4 mm hex"}, "imperial")
    {'do': ('cut 0.20 in off',), 'tool': '4 mm hex'}
    """
    return data if system == "trade" else _inside(data, system)


def _inside(data: Any, system: System) -> Any:
    if isinstance(data, str):
        return page(data, system) if data.lstrip().startswith("<") else told(data, system)
    if isinstance(data, Mapping):
        return {key: one if key in _KEPT else _inside(one, system) for key, one in data.items()}
    if isinstance(data, tuple | list):
        return type(data)(_inside(one, system) for one in data)
    if dataclasses.is_dataclass(data) and not isinstance(data, type):
        fields = (item.name for item in dataclasses.fields(data) if item.init)
        turned = {
            name: _inside(getattr(data, name), system) for name in fields if name not in _KEPT
        }
        return dataclasses.replace(data, **turned)
    return data


def _turned(found: re.Match[str], table: Mapping[str, tuple[str, float]]) -> str:
    if found["kept"] is not None or _is_name(found):
        return found[0]
    unit, factor = table[found["unit"]]
    zero = _ZEROS.get(found["unit"], 0.0)
    every = _NUMBER.findall(found["numbers"])
    decimals = max(_decimals(one, factor, unit) for one in every)

    def other(number: re.Match[str]) -> str:
        value = _value(number[0])
        if value == 0 and zero == 0:
            return number[0]
        turned = f"{value * factor + zero:{'+' if number[0][0] == '+' else ''}.{decimals}f}"
        return turned.replace("-", "−") if "−" in number[0] else turned

    numbers = _NUMBER.sub(other, found["numbers"])
    spread = found["spread"] or ""
    if spread:
        spread = f" ± {float(spread[3:]) * factor:.{decimals}f}"
    return f"{numbers}{found['gap']}{unit}{spread}"


def _value(number: str) -> float:
    return float(number.replace("−", "-"))


def _decimals(number: str, factor: float, unit: str) -> int:
    """As many as keep the last digit that was told."""
    told_to = 10.0 ** -len(number.partition(".")[2])
    finest = math.ceil(-math.log10(told_to * factor) - 1e-9)
    return max(0, finest, _LEAST.get(unit, 0) if "." in number or abs(_value(number)) < 20 else 0)


def _is_name(found: re.Match[str]) -> bool:
    """Whether a length in millimetres is what a rotor or a tube is sold as."""
    if found["unit"] != "mm":
        return False
    text = found.string
    start = max(text.rfind(mark, 0, found.start()) for mark in (". ", ";", "\n")) + 1
    ends = (text.find(mark, found.end()) for mark in (". ", ";", "\n"))
    around = text[start : min((end for end in ends if end >= 0), default=len(text))]
    every = _NUMBER.findall(found["numbers"])
    if "rotor" in around.lower() and all(_ROTORS.fullmatch(one) for one in every):
        return True
    return bool(_NEAR_BORE.search(around)) and all(_BORES.fullmatch(one) for one in every)
