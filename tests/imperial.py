"""What counts as a metric figure where a person asked for imperial ones, and what may stay."""

from __future__ import annotations

import re

UNITS = (
    r"mm|cm|km|m|kg|g|kN|N|N·m|N\.m|Nm|N/mm|N/m|kN/m|bar|kPa|MPa|Pa|°C|degC|K|km/h|m/s|mm/s|ml|l|"
    r"cm³|cm2|mm²|J|litres?|metres?|millimetres?|kilograms?"
)
METRIC = re.compile(rf"(?<![\w.])\d+(?:[.,]\d+)?[ \u00a0]?(?:{UNITS})(?![\w²³/·])")
SIZE = r"\d+(?:\.\d+)?(?: mm)?"
ALLOWED: dict[str, str] = {
    rf"(?:{SIZE}(?:,| or| and) )*{SIZE} (?:hex|open|socket|spanner|pedal spanner)": (
        "a tool's size is its name"
    ),
    r"200 mm is not 203 mm": "a rotor's size is its name",
    r"=[-+]?\d+(?:\.\d+)? \w+": "a change as it is typed, in the sheet's own words",
    r"\"[^\"]*\"": "somebody's own words",
}
"""What may stay in millimetres, and why."""


def metric(text: str) -> list[str]:
    """Every metric figure in a text that no exception allows, with a few words around it."""
    for pattern in ALLOWED:
        text = re.sub(pattern, " ", text)
    return [
        text[max(0, found.start() - 40) : found.end() + 20].strip()
        for found in METRIC.finditer(text)
    ]
