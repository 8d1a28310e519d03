"""Quantities as people type them, brought into the one form that is read: a number and a unit.

What can be meant in one way only is understood: feet with inches, stones with pounds, fractions
of an inch, inch marks straight and curly, a decimal comma, units in any case and their usual
spellings. What could mean two things is left as it stands, to be refused with what to write.
"""

from __future__ import annotations

import re

_MARKS = str.maketrans(
    {
        "′": "'", "’": "'", "‘": "'", "´": "'", "`": "'", "″": '"', "“": '"', "”": '"', "„": '"',
        "−": "-", "–": "-", "‐": "-", "\u2011": "-", "⋅": "·", "∙": "·", "•": "·",
        "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2007": " ",
        "º": "°", "˚": "°", "²": "2", "³": "3", "^": "", "⁄": "/",
        "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
    }
)  # fmt: skip
_COMMA = re.compile(r"(?<![\d.,])(0,\d+|\d*,\d{1,2})(?![\d.,])")
"""A comma that can only be a decimal one: three digits behind it may be thousands."""
_FRACTION = re.compile(
    r"(?<![\d.,/])(?:(?P<whole>\d+)(?:\s+|-))?(?P<over>\d{1,2})/(?P<under>2|4|8|16|32|64)(?!\d)"
)
_N = r"\d+(?:\.\d+)?"
_INCH = r"(?:\"|''|inches|inch|in\.?)"
_FEET = re.compile(rf"([+-]?)({_N})\s*(?:'(?!')|feet|foot|ft\.?)[\s,]*({_N})\s*{_INCH}?", re.I)
_STONES = re.compile(
    rf"([+-]?)({_N})\s*(?:stones|stone|st\.?)[\s,]*({_N})\s*(?:pounds|pound|lbs\.?|lb\.?)?", re.I
)
_PAIRS = {"length": (_FEET, 12, "in"), "mass": (_STONES, 14, "lb")}

_ALIASES: dict[str, dict[str, str]] = {
    "length": {
        '"': "in", "''": "in", "inches": "in", "'": "ft", "feet": "ft", "foot": "ft",
        "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
        "centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm",
        "metre": "m", "metres": "m", "meter": "m", "meters": "m",
    },
    "volume": {"cc": "cm3", "litre": "l", "litres": "l", "liter": "l", "liters": "l"},
    "mass": {
        "kgs": "kg", "kilo": "kg", "kilos": "kg", "kilogram": "kg", "kilograms": "kg",
        "gram": "g", "grams": "g", "pound": "lb", "pounds": "lb", "stone": "st", "stones": "st",
    },
    "force": {"lb": "lbf", "lbs": "lbf", "newton": "N", "newtons": "N"},
    "pressure": {"psig": "psi", "bars": "bar"},
    "angle": {"degree": "deg", "degrees": "deg"},
    "temperature": {
        "f": "degF", "fahrenheit": "degF", "degreesf": "degF",
        "celsius": "degC", "degreesc": "degC",
    },
    "speed": {"kmh": "km/h", "kph": "km/h", "mi/h": "mph"},
    "rate": {"lbs/in": "lb/in", "lb/inch": "lb/in", "lbs/inch": "lb/in", 'lb/"': "lb/in"},
    "time": {
        "sec": "s", "secs": "s", "second": "s", "seconds": "s", "mins": "min", "minute": "min",
        "minutes": "min", "hr": "h", "hrs": "h", "hour": "h", "hours": "h",
    },
}  # fmt: skip
_JOINED = {
    **dict.fromkeys(("nm", "newtonmetre", "newtonmetres", "newtonmeter", "newtonmeters"), "N.m"),
    **dict.fromkeys(
        ("inlb", "inlbs", "inlbf", "lbin", "lbsin", "lbfin", "inchpound", "inchpounds"), "in.lbf"
    ),
    **dict.fromkeys(
        ("ftlb", "ftlbs", "ftlbf", "lbft", "lbsft", "lbfft", "footpound", "footpounds"), "ft.lbf"
    ),
}
"""Torques, whose two halves people join with a dot, a dash, a space or nothing."""
_CASE_MATTERS = frozenset({"MPa", "MN", "ms"})
"""Units that in another case would be a million, or a thousand million, times as much."""


def plain(text: str) -> str:
    """Typed text with plain marks, minus signs and spaces, and a point for a decimal comma.

    >>> plain("5′ 9½″"), plain("−2,5\u00a0mm"), plain("1,200 mm")
    ('5\\' 9 1/2"', '-2.5 mm', '1,200 mm')
    """
    return _COMMA.sub(lambda found: found[1].replace(",", "."), text.translate(_MARKS))


def whole(text: str, dimension: str) -> str:
    """A quantity of two parts or with a fraction as one number and a unit; else as it is.

    >>> whole('5\\' 9"', "length"), whole("12 st 4 lb", "mass"), whole("5 1/2 in", "length")
    ('69 in', '172 lb', '5.5 in')
    """
    if dimension == "length":
        text = _FRACTION.sub(_decimal, text)
    if dimension in _PAIRS:
        pattern, many, unit = _PAIRS[dimension]
        found = pattern.fullmatch(text.strip())
        if found is not None and float(found[3]) < many:
            return f"{found[1]}{many * float(found[2]) + float(found[3]):.10g} {unit}"
    return text


def misfit(text: str, dimension: str) -> str:
    """What to write instead of two parts that do not add up; empty for anything else.

    >>> misfit("5' 13", "length")
    'write less than 12 in behind the feet, or all of it in inches'
    """
    if dimension not in _PAIRS or _PAIRS[dimension][0].fullmatch(text.strip()) is None:
        return ""
    _, many, unit = _PAIRS[dimension]
    first, all_of_it = {"in": ("feet", "inches"), "lb": ("stones", "pounds")}[unit]
    return f"write less than {many} {unit} behind the {first}, or all of it in {all_of_it}"


def spelled(unit: str, dimension: str, table: dict[str, float]) -> str:
    """A unit as the table spells it, where only one can be meant; else as it is.

    >>> spelled("PSI", "pressure", {"psi": 1.0}), spelled("in-lbs", "torque", {"in.lbf": 1.0})
    ('psi', 'in.lbf')
    """
    if unit in table:
        return unit
    low = unit.rstrip(".").lower()
    if dimension == "torque" and (joined := re.sub(r"[·.*-]", "", low)) in _JOINED:
        return _JOINED[joined]
    if low in _ALIASES.get(dimension, {}):
        return _ALIASES[dimension][low]
    same = [one for one in table if one.lower() == low and one not in _CASE_MATTERS]
    return same[0] if same else unit


_HAND = re.compile(r"(?:front[\s_-]*)?(left|right|l|r)(?:[\s_-]*(?:hand|front))?\.?")


def hand(text: str) -> str:
    """Which hand works the front brake, as the sheets have it; what names no hand as it is.

    >>> hand("right"), hand("L"), hand("Left hand"), hand("front right"), hand("both")
    ('front-right', 'front-left', 'front-left', 'front-right', 'both')
    """
    found = _HAND.fullmatch(text.strip().lower())
    return text if found is None else {"l": "front-left", "r": "front-right"}[found[1][0]]


def apart(text: str) -> list[str]:
    """Amounts with commas or semicolons between them; a decimal comma parts nothing.

    >>> apart("12,5 mm, 13 mm"), apart("12 mm,13 mm; 14 mm")
    (['12,5 mm', '13 mm'], ['12 mm', '13 mm', '14 mm'])
    """
    return [part.strip() for part in re.split(r"(?<!\d),|,(?!\d)|;", text)]


def comma(text: str) -> str:
    """What to write instead of a comma that could mean two things.

    >>> comma("1,200 mm")
    'write 1200 or 1.200: with three digits behind it a comma can be read both ways'
    """
    found = re.search(r"(?<![\d.,])(\d{1,3}),(\d{3})(?![\d.,])", text)
    if found is None:
        return "write a decimal point, not a comma, and nothing between thousands"
    both = f"{found[1]}{found[2]} or {found[1]}.{found[2]}"
    return f"write {both}: with three digits behind it a comma can be read both ways"


def _decimal(found: re.Match[str]) -> str:
    part = int(found["over"]) / int(found["under"])
    return f"{int(found['whole'] or 0) + part:.10g}"
