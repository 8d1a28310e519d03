"""What a field of the sheets is to whoever changes it: mounted, set, a limit, or only told."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import Literal, cast

from cyclewright.knowledge.data import knowledge_error, table

FILE = "roles.toml"
Role = Literal["mounted", "set", "limit", "described", "rider", "place"]
BY_HAND: tuple[Role, ...] = ("mounted", "set")
"""What a person puts on the bike, so that another or another place can be chosen."""


@cache
def role(field: str) -> Role:
    """The role of a field; the longest name that stands for it decides.

    >>> role("bike.cockpit.spacers_under"), role("bike.frame.rotor_max"), role("rider.mass")
    ('set', 'limit', 'rider')
    """
    parts = _parts(field)
    fits = [(len(name), found) for name, found in _names() if _stands_for(name, parts)]
    if not fits:
        raise knowledge_error(FILE, f"give {field} a role")
    return max(fits, key=lambda item: item[0])[1]


def by_hand(field: str) -> bool:
    """Whether a person mounts or sets this."""
    return role(field) in BY_HAND


def _parts(field: str) -> tuple[str, ...]:
    return tuple(re.sub(r"\[\d*\]", "", field).split("."))


def _stands_for(name: tuple[str, ...], parts: tuple[str, ...]) -> bool:
    """Whether a name is the field or a table that it stands in."""
    pairs = zip(name, parts, strict=False)
    return len(name) <= len(parts) and all(one in ("*", part) for one, part in pairs)


@lru_cache(maxsize=1)
def _names() -> tuple[tuple[tuple[str, ...], Role], ...]:
    content = {name: row for name, row in table(FILE).items() if name != "source"}
    listed = [
        (_parts(field), cast("Role", name))
        for name, row in content.items()
        for field in row["fields"]
    ]
    if len({field for field, _ in listed}) != len(listed):
        raise knowledge_error(FILE, "name each field once")
    return tuple(listed)
