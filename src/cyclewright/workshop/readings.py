"""Readings and settings as they were made, kept in the record."""

from __future__ import annotations

import math
import re
import uuid as uuids
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cyclewright.errors import Problem, RangeError, input_error
from cyclewright.workshop.people import who
from cyclewright.workshop.receive import follow
from cyclewright.workshop.shop import Shop, checked_uuid

if TYPE_CHECKING:
    from cyclewright.record.events import Draft
    from cyclewright.record.state import BikeState

By = str | int | None
_NAME = re.compile(r"[a-z][a-z0-9]*([-_][a-z0-9]+)*")


def append_reading(
    shop: Shop,
    bike: int,
    kind: str,
    value: float,
    unit: str,
    by: By = None,
    extra: Mapping[str, Any] | None = None,
    *,
    complete: bool = False,
    uuid: str | None = None,
    seen: int | None = None,
    device_time: str | None = None,
) -> tuple[int, ...]:
    """Record one measured value [SI] and how it was read; gives the numbers of its events.

    A pressure reading is also how the unit is set now. With `complete` the step of the plan
    that asks for this reading is done with it, when nothing else holds that step up.
    """
    from cyclewright.record.events import Draft

    _checked(kind, value)
    own, author = _own(uuid), who(shop, by)
    data = {"kind": kind, "value": float(value), "unit": unit, "extra": dict(extra or {})}

    also = [own, follow(own, "step")] if complete else [own]

    def decide(state: BikeState) -> list[Draft]:
        taken = Draft("reading-taken", f"reading:{kind}", data, author, own, seen, device_time)
        name = _step_of(state, kind) if complete else None
        if name is None:
            return [taken]
        text = str((extra or {}).get("text") or f"{value:g} {unit}")
        evidence = {"tick": True, "value": {"value": float(value), "unit": unit, "text": text}}
        done = {"step": name, "evidence": evidence, "from_reading": True}
        return [taken, Draft("step-done", f"step:{name}", done, author, also[1], seen)]

    events, _ = shop.act(bike, decide, also)
    return tuple(event.number for event in events)


def append_settings(
    shop: Shop,
    bike: int,
    settings: Sequence[Mapping[str, Any]],
    by: By = None,
    *,
    uuid: str | None = None,
) -> tuple[int, ...]:
    """Record settings as made on the bike: mappings with name, value [SI], unit, and more.

    Everything beside those three (`shown`, `low`, `high`, `basis`, …) is kept as given.
    """
    drafts = setting_drafts(settings, who(shop, by), _own(uuid))
    events, _ = shop.act(bike, lambda _: drafts, [draft.uuid for draft in drafts])
    return tuple(event.number for event in events)


def setting_drafts(
    settings: Sequence[Mapping[str, Any]], author: int | None, base: str
) -> list[Draft]:
    """Settings as made, ready to be recorded: the first carries the UUID `base`."""
    from cyclewright.record.events import Draft

    if not settings:
        raise input_error("empty", "settings", "give at least one setting")
    drafts: list[Draft] = []
    for item in settings:
        name = str(item["name"])
        _checked(name, item["value"])
        data = {
            "name": name,
            "value": float(item["value"]),
            "unit": item["unit"],
            "extra": {key: item[key] for key in item if key not in ("name", "value", "unit")},
        }
        own = follow(base, name) if drafts else base
        drafts.append(Draft("setting-made", f"setting:{name}", data, author, own))
    return drafts


def _step_of(state: BikeState, kind: str) -> str | None:
    """The step that this reading proves, when it asks for nothing else and may be done now."""
    for name, step in state.planned_steps().items():
        record = step.data.get("record")
        asks = record.get("reading") if isinstance(record, Mapping) else None
        if asks == kind and set(step.evidence) <= {"tick", "value"} and not state.unmet(name):
            return name
    return None


def _checked(name: str, value: object) -> None:
    if not _NAME.fullmatch(name) or len(name) > 60:
        raise input_error("kind", "kind", "name it in small letters, like fork-sag", value=name)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise RangeError(Problem("not-a-quantity", name, "give a finite number", str(value)))


def _own(uuid: str | None) -> str:
    return checked_uuid(uuid) if uuid is not None else str(uuids.uuid4())
