"""Amounts as people type them on a page, made into what the sums read.

The written grammar (`units`) is small on purpose. A phone's keypad may have no decimal point and a
rider may think in feet, inches and stones, so what can be meant in one way only is put into that
grammar here; whatever else stands in a field is left to it, and refused with what to write.
"""

from __future__ import annotations

import re

from cyclewright.bench import forms

_LENGTHS = frozenset({"mm", "cm", "m", "in", "ft"})
_MASSES = frozenset({"kg", "lb"})
_MARKS = str.maketrans({"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "–": "-"})
_NUMBER = r"\d+(?:\.\d+)?"
_COMMA = re.compile(r"(?<![\d.,])(0,\d+|\d+,\d{1,2})(?![\d.,])")
"""A comma that can only be a decimal one: three digits behind it may be thousands."""
_INCH = r'(?:"|\'\'|in|inch|inches)'
_FEET = re.compile(rf"({_NUMBER})\s*(?:'(?!')|ft|foot|feet)\s*(?:({_NUMBER})\s*{_INCH}?)?")
_INCHES = re.compile(rf"({_NUMBER})\s*{_INCH}")
_STONES = re.compile(rf"({_NUMBER})\s*(?:st|stone|stones)\s*(?:({_NUMBER})\s*(?:lb|lbs)?)?")
_WORDS = {
    "kgs": "kg", "kilo": "kg", "kilos": "kg", "pound": "lb", "pounds": "lb", "metres": "m",
    "degrees": "deg", "nm": "N.m",
} | {spelling: spelling for spelling in ("mm", "cm", "kg", "lb", "lbs", "psi", "bar")}  # fmt: skip


def amount(typed: str, unit: str) -> str:
    """An amount as the sums read it, with the unit that its field shows when it has none.

    >>> amount("150", "mm"), amount("31,5", "cm"), amount("80 PSI", "psi")
    ('150 mm', '31.5 cm', '80 psi')
    >>> amount("5' 9\\"", "cm"), amount("12 st 8", "kg")
    ('69 in', '176 lb')
    >>> amount("1,500", "mm")
    '1,500'
    """
    text = _COMMA.sub(lambda found: found[1].replace(",", "."), typed.strip().translate(_MARKS))
    low = text.lower()
    if unit in _LENGTHS and (found := _FEET.fullmatch(low)):
        return f"{12 * float(found[1]) + float(found[2] or 0):.10g} in"
    if unit in _LENGTHS and (found := _INCHES.fullmatch(low)):
        return f"{found[1]} in"
    if unit in _MASSES and (found := _STONES.fullmatch(low)):
        return f"{14 * float(found[1]) + float(found[2] or 0):.10g} lb"
    if found := re.fullmatch(r"([\d.+-]+)\s*([a-z]+)", low):
        text = f"{found[1]} {_WORDS[found[2]]}" if found[2] in _WORDS else text
    return forms.with_unit(text, unit)


def tyre(typed: str) -> str:
    """A tyre's size without inch marks, and with a decimal point.

    >>> tyre('29" x 2,4"')
    '29 x 2.4'
    """
    return typed.translate(_MARKS).replace('"', "").replace(",", ".")
