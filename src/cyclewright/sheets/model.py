"""The three sheets and their models.

A quantity is a `Quantity` (SI value, standard deviation, text as written), a count an int, a
choice a word. A table or field that the sheet leaves out is there all the same, filled with None,
so `bike.fork.travel is None` needs no guard. Each field carries a `Spec`: reading, writing, the
list of fields and the forms are all made from it.
"""

from __future__ import annotations

from typing import Literal

from cyclewright.sheets.bike import Bike
from cyclewright.sheets.place import Place
from cyclewright.sheets.rider import Rider
from cyclewright.sheets.spec import Table

SheetKind = Literal["bike", "rider", "place"]

MODELS: dict[SheetKind, type[Table]] = {"bike": Bike, "rider": Rider, "place": Place}
