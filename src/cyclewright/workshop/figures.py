"""The figures of a plan beside its steps: what each is set to or may read, bolt by bolt."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from cyclewright.units import System
from cyclewright.units.told import told

if TYPE_CHECKING:
    from cyclewright.advice.torque import TorqueWindow
    from cyclewright.knowledge.steps import Record
    from cyclewright.record.plan import Bolt, Plan
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.workshop.answers import AdviceAnswer
    from cyclewright.workshop.shop import Shop

NONE = "no figure advised: the maker's paper or the mark on the part says it"


def figures(
    made: Plan, known: Mapping[str, str], shown: System = "trade"
) -> dict[str, tuple[str, ...]]:
    """What each step of a plan is set to or may read, by its id; none for a step without a figure.

    `known` are advised settings and limits by name, as a person reads them; empty while nobody
    worked them out. A torque of a step's own stands beside it already.
    """
    found: dict[str, tuple[str, ...]] = {}
    for step in made.steps:
        wanted = () if step.record is None else _wanted(step.record, known)
        bolts = (bolt_words(bolt, shown) for bolt in step.bolts)
        if lines := (*(told(line, shown) for line in wanted), *bolts):
            found[step.id] = lines
    return found


def advised(sheets: Sheets, system: System = "trade") -> dict[str, str]:
    """Advised settings and limits of these sheets by name; none where they do not say enough."""
    from cyclewright.workshop import advising

    return _texts(lambda: advising.advise(sheets), sheets, system)


def advised_for(shop: Shop, bike: int, system: System = "trade") -> dict[str, str]:
    """The same of a bike on record, after every reading so far."""
    from cyclewright.workshop import advising

    sheets = shop.sheets(shop.state(bike))
    return _texts(lambda: advising.advise_bike(shop, bike), sheets, system)


def bolt_words(bolt: Bolt, shown: System = "trade") -> str:
    """One bolt of a round: what is done, to what, at which figure, and with which tool."""
    parts = (torque_words(bolt.torque, shown).removeprefix("set "), bolt.tool, bolt.hand)
    return f"{bolt.verb} {bolt.label}: {', '.join(part for part in parts if part)}"


def torque_words(window: TorqueWindow | None, shown: System = "trade") -> str:
    """A torque as it is set, whose figure it is, and between what."""
    if window is None:
        return ""
    if window.high is None:
        return f"no torque: {window.whose}"
    span = f"max {window.high:g}"
    if window.low is not None:
        one = window.low == window.high
        span = f"{window.high:g}" if one else f"{window.low:g} to {window.high:g}"
    if window.set is None:
        return told(f"{span} N·m ({window.whose}), {window.unreached}", shown)
    whose = window.said.removesuffix(f": {window.set:g} N·m")
    said = "; ".join(part for part in (whose, window.wrench) if part)
    return told(f"set {window.set:g} N·m ({said})", shown)


def _texts(advise: Callable[[], AdviceAnswer], sheets: Sheets, system: System) -> dict[str, str]:
    from cyclewright.errors import InputError
    from cyclewright.workshop.bounds import bounds
    from cyclewright.workshop.bounds import told as limit_told

    try:
        settings = advise().settings
    except InputError:
        return {}
    limits = bounds(sheets)
    seating = {f"{end}_tyre_seating": limits[f"{end}_tyre_seating"][0] for end in ("front", "rear")}
    found = {name: limit_told(limit, "psi", 0.5) for name, limit in seating.items()}
    return found | {item.name: item.show(system) for item in settings if item.value is not None}


def _wanted(record: Record, known: Mapping[str, str]) -> tuple[str, ...]:
    """The advised value of what a step writes down, else between what it may read."""
    name = record.setting or record.limit
    if name in known:
        return (f"{record.what}: {known[name]}",)
    if record.low is None or record.high is None:
        return (f"{record.what}: {NONE}",) if name and known else ()
    unit = "" if record.unit == "°" else " "
    span = f"{record.low:g} to {record.high:g}" if record.low else f"at most {record.high:g}"
    return (f"{record.what}: {span}{unit}{record.unit}",)
