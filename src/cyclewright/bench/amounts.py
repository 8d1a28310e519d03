"""Amounts as people type them on a page: a bare number is in the unit that its field shows.

All else is left to the grammar that sheets and the command line have too (`units`): it reads
`5'9"`, `12 st 4 lb` or `2,5 bar`, and refuses what could mean two things.
"""

from __future__ import annotations

from cyclewright.bench import forms
from cyclewright.units import DIMENSIONS, typed


def amount(text: str, unit: str) -> str:
    """An amount as the sums read it, with the unit that its field shows when it has none.

    >>> amount("150", "mm"), amount("31,5", "cm"), amount("5 1/2", "in"), amount("80 PSI", "psi")
    ('150 mm', '31.5 cm', '5.5 in', '80 PSI')
    >>> amount("1,500", "mm")
    '1,500'
    """
    read = typed.plain(text.strip())
    dimension = "length" if unit in DIMENSIONS["length"][2] else ""
    with_unit = forms.with_unit(typed.whole(read, dimension), unit)
    return with_unit if with_unit != typed.whole(read, dimension) else text.strip()


def tyre(text: str) -> str:
    """A tyre's size without inch marks, and with a decimal point.

    >>> tyre('29" x 2,4"')
    '29 x 2.4'
    """
    return typed.plain(text).replace('"', "")
