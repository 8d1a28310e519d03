"""What was set and read on a bike, in order: the pressure, and the sag it gave."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from cyclewright import units
from cyclewright.units import System

if TYPE_CHECKING:
    from cyclewright.record.state import BikeState, Made, Reading

SAME = 1e-3
"""How far two pressures may be apart, relative, and still be one setting."""
_OF_READING = {
    "fork-sag": "fork_pressure",
    "shock-sag": "shock_pressure",
    "front-drop": "front_tyre_pressure",
    "rear-drop": "rear_tyre_pressure",
}
"""Readings that follow from a setting, and its usual name."""
_PARTS = {
    "fork_pressure": "Fork",
    "fork_rate": "Fork coil",
    "shock_pressure": "Shock",
    "shock_rate": "Shock coil",
    "front_tyre_pressure": "Front tyre",
    "rear_tyre_pressure": "Rear tyre",
}


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """Something set, something read, or what was read at what was set."""

    number: int
    """Of the newest entry that it tells of."""
    at: str
    by: str
    name: str
    """Name of the setting."""
    part: str
    value: float | None
    """What was set [SI], None where the record does not say."""
    unit: str
    display: str
    graduation: float
    read: float | None = None
    """Sag or drop that it gave [m]."""
    how: str = ""
    """Posture and sit-downs of the reading."""
    earlier: bool = False
    """Whether it belongs to an earlier visit."""
    noted: bool = True
    """Whether somebody set it; else the value is what was advised then."""

    def shown(self, system: System = "trade") -> str:
        """What was set, as its tool shows it; a dash where nobody said."""
        if self.value is None:
            return "–"
        return units.show(self.value, self.display, self.graduation, system)

    def shown_read(self, system: System = "trade") -> str:
        """What was read, in the tool's step; empty where nothing was."""
        if self.read is None:
            return ""
        return units.show(self.read, "mm", 0.5 if "tyre" in self.name else 1, system)

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The row as plain data."""
        return asdict(self) | {"shown": self.shown(system), "shown_read": self.shown_read(system)}


def rows(state: BikeState, people: dict[int, str]) -> tuple[HistoryRow, ...]:
    """Everything set and read on a bike, oldest first; a reading joins the setting it followed."""
    from cyclewright.record.state import SETTING_OF_READING

    found: list[HistoryRow] = []
    newest: dict[str, int] = {}
    entries: list[Made | Reading] = [item for item in state.made if item.name not in _read(state)]
    told = {item.number for item in entries}
    entries += [
        item
        for item in state.readings
        if item.kind not in SETTING_OF_READING and item.number not in told
    ]
    for entry in sorted(entries, key=lambda item: item.number):
        row = _row(state, entry, people, entry.number < state.visit_number)
        last = newest.get(row.name)
        if last is not None and found[last].read is None and _same(row, found[last]):
            found[last] = row
            continue
        newest[row.name] = len(found)
        found.append(row if row.noted else _as_advised(row))
    return tuple(found)


def _read(state: BikeState) -> set[str]:
    """What was read as a setting's outcome: the step that it proves need not tell it again."""
    kinds = {item.kind for item in state.readings}
    return {kind.replace("-", "_") for kind in kinds & set(_OF_READING)}


def _same(row: HistoryRow, other: HistoryRow) -> bool:
    """Whether both are of one setting as it stood."""
    if row.value is None or other.value is None:
        return row.value is other.value
    return abs(row.value - other.value) <= SAME * abs(other.value)


def _as_advised(row: HistoryRow) -> HistoryRow:
    """A reading before anybody said what was set: taken at what was advised then."""
    told = "as advised, not noted"
    return replace(row, how=f"{row.how}; {told}" if row.how else told)


def _row(
    state: BikeState, entry: Made | Reading, people: dict[int, str], earlier: bool
) -> HistoryRow:
    from cyclewright.record.made import spring_at, was_set
    from cyclewright.record.state import Made
    from cyclewright.workshop.evidence import display_of

    by = people.get(entry.by or 0, "")
    if isinstance(entry, Made):
        display, graduation = display_of(entry.unit, entry.name)
        return HistoryRow(
            entry.number, entry.at, by, entry.name, _part(entry.name), entry.value, entry.unit,
            entry.extra.get("display", display), entry.extra.get("graduation", graduation),
            earlier=earlier,
        )  # fmt: skip
    if entry.kind not in _OF_READING:
        display, graduation = display_of(entry.unit, entry.kind)
        return HistoryRow(
            entry.number, entry.at, by, entry.kind, _part(entry.kind), entry.value, entry.unit,
            display, graduation, earlier=earlier,
        )  # fmt: skip
    sprung = spring_at(state, entry)
    name = _OF_READING[entry.kind] if sprung is None else sprung[0]
    unit = "N/m" if name.endswith("_rate") else "Pa"
    display, graduation = ("lb/in", 1.0) if unit == "N/m" else display_of(unit, name)
    return HistoryRow(
        entry.number, entry.at, by, name, _part(name), None if sprung is None else sprung[1], unit,
        display, graduation, entry.value, _how(entry), earlier, was_set(state, entry),
    )  # fmt: skip


def _part(name: str) -> str:
    words = name.replace("_", " ").replace("-", " ")
    return _PARTS.get(name, f"{words[:1].upper()}{words[1:]}")


def _how(reading: Reading) -> str:
    """Posture, and each sit-down where there were several."""
    posture, each = str(reading.extra.get("posture") or ""), reading.extra.get("each") or ()
    if len(each) < 2:
        return posture
    sits = ", ".join(f"{one * 1000:.0f}" for one in each)
    return f"{posture}, mean of {sits}" if posture else f"mean of {sits}"
