"""What follows from the sheet's facts alone, as facts that steps, joints and questions use.

A fact that hangs on something unknown has no key, so that a condition on it stays a question.
"""

from __future__ import annotations

from collections.abc import Sequence

from cyclewright.knowledge.conditions import Facts
from cyclewright.knowledge.countries import WHEN_WORDS, Country, country

ENDS = ("front", "rear")


def derived(facts: Facts) -> dict[str, object]:
    """Every derived fact that is known.

    >>> derived({"bike.brake.front.kind": "cable"})["derived.any_cable"]
    True
    """
    rings = _row(facts.get("bike.drive.chainrings"))
    row = country(facts.get("place.country"))
    kinds = [facts.get(f"bike.brake.{end}.kind") for end in ENDS]
    routes = [facts.get(f"bike.brake.{end}.hose_route") for end in ENDS]
    sealed = [
        facts.get(f"bike.brake.{end}.coupling")
        for end, kind in zip(ENDS, kinds, strict=True)
        if kind != "cable"
    ]
    found: dict[str, object | None] = {
        "derived.chainring_count": len(rings) or None,
        "derived.geared": _geared(facts),
        "derived.any_hydraulic": _any(kinds, "hydraulic"),
        "derived.any_cable": _any(kinds, "cable"),
        "derived.hoses_sealed": _all(sealed, "sealed"),
        "derived.hose_in_headset": _any(routes, "headset"),
        "derived.country": row.name if row is not None else None,
        "derived.fittings": _fittings(row) if row is not None else None,
    }
    for end in ENDS:
        adapter = f"bike.fastener.{end}_adapter"
        found[f"derived.{end}_adapter"] = f"bike.brake.{end}.rotor_adapter" in facts or any(
            name == adapter or name.startswith(f"{adapter}.") for name in facts
        )
    return {name: value for name, value in found.items() if value is not None and value != ""}


def _fittings(row: Country) -> str:
    """What is wanted in the country, by name, and when it is."""
    return "; ".join(f"{item.name} {WHEN_WORDS[item.when]}" for item in row.fittings)


def _geared(facts: Facts) -> bool:
    """Whether there is a derailleur: what nobody has called a single speed has gears to set."""
    return facts.get("bike.drive.speeds") != 1 and len(_row(facts.get("bike.drive.sprockets"))) != 1


def _any(values: Sequence[object], wanted: str) -> bool | None:
    """Whether one of them is the wanted one; None while an unknown one might be."""
    if wanted in values:
        return True
    return None if None in values else False


def _all(values: Sequence[object], wanted: str) -> bool | None:
    """Whether every one is the wanted one; None while an unknown one might not be."""
    if any(value not in (None, wanted) for value in values):
        return False
    return None if None in values else bool(values)


def _row(value: object) -> Sequence[object]:
    return value if isinstance(value, Sequence) and not isinstance(value, str) else ()
