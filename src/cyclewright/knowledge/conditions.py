"""When an entry of the knowledge applies: lists of {field, op, value} over known facts.

A fact that nobody has stated is unknown, not false: a condition on it answers None, and the
caller asks. Only `stated` and `absent` ask whether a fact is there at all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from cyclewright.knowledge.data import knowledge_error

Facts = Mapping[str, object]


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return float(getattr(value, "value"))  # noqa: B009  # a written quantity
    return float(value)


_TESTS: dict[str, Callable[[Any, Any], bool]] = {
    "is": lambda fact, value: bool(fact == value),
    "is-not": lambda fact, value: bool(fact != value),
    "in": lambda fact, value: fact in value,
    "not-in": lambda fact, value: fact not in value,
    "at-least": lambda fact, value: _number(fact) >= value,
    "at-most": lambda fact, value: _number(fact) <= value,
    "above": lambda fact, value: _number(fact) > value,
    "below": lambda fact, value: _number(fact) < value,
}
_PRESENCE = ("stated", "absent")
OPERATORS: tuple[str, ...] = (*_TESTS, *_PRESENCE)


@dataclass(frozen=True, slots=True)
class Condition:
    """One test of one fact; `value` is unused by `stated` and `absent`."""

    field: str
    op: str
    value: Any = None

    def holds(self, facts: Facts) -> bool | None:
        """True, False, or None when the fact is not known."""
        fact = facts.get(self.field)
        if self.op in _PRESENCE:
            return (fact is not None or _has_table(self.field, facts)) == (self.op == "stated")
        return None if fact is None else _TESTS[self.op](fact, self.value)


def holds(conditions: Iterable[Condition], facts: Facts) -> bool | None:
    """True when all hold, False when one fails, None when it hangs on an unknown fact."""
    answers = [condition.holds(facts) for condition in conditions]
    if False in answers:
        return False
    return None if None in answers else True


def unknown_fields(conditions: Iterable[Condition], facts: Facts) -> tuple[str, ...]:
    """The fields whose unknown facts leave these conditions open; none when one fails anyway."""
    conditions = tuple(conditions)
    if holds(conditions, facts) is not None:
        return ()
    return tuple(item.field for item in conditions if item.holds(facts) is None)


def conditions_from(rows: object, where: str) -> tuple[Condition, ...]:
    """Conditions from their TOML rows; an operator nobody knows is a knowledge error."""
    if not isinstance(rows, list):
        raise knowledge_error(where, "write conditions as a list of {field, op, value}")
    return tuple(_condition(row, where) for row in rows)


def _condition(row: Any, where: str) -> Condition:
    if not isinstance(row, dict) or not {"field", "op"} <= set(row) <= {"field", "op", "value"}:
        raise knowledge_error(where, "a condition is {field, op, value} and nothing else")
    if row["op"] not in OPERATORS:
        raise knowledge_error(where, f"use one of the operators {', '.join(OPERATORS)}")
    if (row["op"] in _PRESENCE) == ("value" in row):
        raise knowledge_error(where, f"{row['op']} takes {'no' if 'value' in row else 'a'} value")
    value = row.get("value")
    return Condition(row["field"], row["op"], tuple(value) if isinstance(value, list) else value)


def _has_table(name: str, facts: Facts) -> bool:
    """Whether any fact lies under this name, for tables such as `bike.electric`."""
    return any(key.startswith(f"{name}.") for key in facts)
