"""The joints of a bicycle: labelled torque defaults, tools, compounds, verbs, front to back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

from cyclewright.knowledge.conditions import Condition, Facts, conditions_from, holds
from cyclewright.knowledge.data import knowledge_error, table

FILE = "fasteners.toml"
Verb = Literal["set", "check", "leave"]
Kind = Literal["range", "max", "target", "hand", "ask"]
_OWN = {"label", "place", "verb", "kind", "low", "high", "tool", "drive", "thread", "hand"}
_KEYS = _OWN | {"least", "most", "begin", "compound", "carbon", "applies", "touched_by", "source"}

# Key across a socket head, button head and countersunk head, mm (ISO 4762, 7380, 10642).
_HEX_KEYS: dict[str, tuple[str, ...]] = {
    "socket": ("2.5", "3", "4", "5", "6", "8"),
    "button": ("2", "2.5", "3", "4", "5", "6"),
    "countersunk": ("2", "2.5", "3", "4", "5", "6"),
}
_THREADS = ("M3", "M4", "M5", "M6", "M8", "M10")


@dataclass(frozen=True, slots=True)
class Fastener:
    """One joint with its labelled default; torques in N·m."""

    name: str
    label: str
    place: int
    """Where it stands from the front of the bike to its back."""
    verb: Verb
    kind: Kind
    low: float | None
    high: float | None
    tool: str
    drive: str
    thread: str
    hand: str
    """Thread hand in words; empty where it is right-hand."""
    compound: str
    carbon: tuple[str, ...]
    """Fields that forbid the default when their value is carbon."""
    applies: tuple[Condition, ...]
    touched_by: tuple[str, ...]
    """Sheet fields (or tables) whose change means that the joint was opened."""
    source: str
    variants: tuple[tuple[tuple[Condition, ...], Mapping[str, Any]], ...] = ()
    least: float | None = None
    most: float | None = None
    """Between which such a joint can be set at all, whoever made it: catches slips, no figure."""

    begin: float | None = None
    """Share of its most [1] at which tightening begins, where the least that holds is enough."""

    def default_allowed(self, facts: Facts) -> bool:
        """Whether the labelled default may stand in: never for an asked or a carbon part's."""
        if self.kind in ("ask", "hand"):
            return False
        return all(facts.get(field) != "carbon" for field in self.carbon)


@lru_cache(maxsize=1)
def fasteners() -> dict[str, Fastener]:
    """Every joint by its name, in order from the front of the bike to its back."""
    rows = {name: _fastener(name, row) for name, row in table(FILE).items()}
    return dict(sorted(rows.items(), key=lambda item: item[1].place))


def fastener(name: str, facts: Facts) -> Fastener | None:
    """The joint as it is on this bike, variants laid over it; None for an unknown name."""
    found = fasteners().get(name)
    return None if found is None else _resolved(found, facts)


def begins(name: str, facts: Facts) -> float | None:
    """Share of its most [1] at which a clamp begins that is tightened only until it holds."""
    found = fastener(name, facts)
    return None if found is None else found.begin


def applying(facts: Facts) -> tuple[Fastener, ...]:
    """The joints this bike is known to have, front to back."""
    return tuple(
        _resolved(item, facts) for item in fasteners().values() if holds(item.applies, facts)
    )


def joints_of_field(field: str) -> tuple[str, ...]:
    """The joints that a change of this sheet field opens: `bike.cockpit.spacers_under`."""
    named = [name for name, item in fasteners().items() if _touches(item.touched_by, field)]
    if field.startswith("bike.fastener."):
        named.append(field.split(".")[2])
    return tuple(dict.fromkeys(named))


def hex_key(thread: str, head: str) -> str | None:
    """The hex key of a metric thread and head, in mm: `4` for an M5 socket head.

    >>> hex_key("M5x0.8", "socket")
    '4'
    """
    size = thread.split("x")[0].strip()
    if size not in _THREADS or head not in _HEX_KEYS:
        return None
    return _HEX_KEYS[head][_THREADS.index(size)]


def _touches(names: tuple[str, ...], field: str) -> bool:
    return any(field == name or field.startswith(f"{name}.") for name in names)


def _resolved(item: Fastener, facts: Facts) -> Fastener:
    changes: dict[str, Any] = {}
    for when, over in item.variants:
        if holds(when, facts):
            changes.update(over)
    if not changes:
        return item
    fields = {name: getattr(item, name) for name in item.__slots__} | changes
    if fields["kind"] in ("hand", "ask"):
        fields["low"] = fields["high"] = None
    return Fastener(**fields)


def _fastener(name: str, row: dict[str, Any]) -> Fastener:
    where = f"{FILE} [{name}]"
    row = dict(row)
    variants = tuple(
        (conditions_from(over.pop("when", None), where), over)
        for over in map(dict, row.pop("variant", []))
    )
    for entry in (row, *(over for _, over in variants)):
        if unknown := set(entry) - _KEYS:
            raise knowledge_error(where, f"unknown keys: {', '.join(sorted(unknown))}")
    if missing := {"label", "place", "verb", "kind", "tool", "compound", "source"} - set(row):
        raise knowledge_error(where, f"missing keys: {', '.join(sorted(missing))}")
    return Fastener(
        name=name,
        label=row["label"],
        place=row["place"],
        verb=row["verb"],
        kind=row["kind"],
        low=row.get("low"),
        high=row.get("high"),
        tool=row["tool"],
        drive=row.get("drive", ""),
        thread=row.get("thread", ""),
        hand=row.get("hand", ""),
        compound=row["compound"],
        carbon=tuple(row.get("carbon", ())),
        applies=conditions_from(row.get("applies", []), where),
        touched_by=tuple(row.get("touched_by", ())),
        source=row["source"],
        variants=variants,
        least=row.get("least"),
        most=row.get("most"),
        begin=row.get("begin"),
    )
