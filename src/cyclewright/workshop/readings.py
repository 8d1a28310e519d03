"""Readings as they are taken, and settings as they are made: refused, or kept in the record."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from cyclewright import units
from cyclewright.errors import InputError, Problem, RangeError, input_error, range_error
from cyclewright.workshop import verdicts
from cyclewright.workshop.answers import ReadingAnswer
from cyclewright.workshop.bounds import POSSIBLE
from cyclewright.workshop.known import ENDS, known_of
from cyclewright.workshop.people import who
from cyclewright.workshop.receive import follow
from cyclewright.workshop.shop import Entry, Shop, own_uuid

if TYPE_CHECKING:
    from cyclewright.record.events import Draft
    from cyclewright.record.state import BikeState
    from cyclewright.record.steps import Step
    from cyclewright.setting import Setting
    from cyclewright.workshop.known import Known

By = str | int | None
READINGS: dict[str, tuple[str, str]] = {
    "fork-sag": ("length", "fork_sag"),
    "shock-sag": ("length", "shock_sag"),
    "fork-pressure": ("pressure", "fork_pressure"),
    "shock-pressure": ("pressure", "shock_pressure"),
    "front-tyre": ("pressure", "front_tyre_pressure"),
    "rear-tyre": ("pressure", "rear_tyre_pressure"),
    "front-drop": ("length", "front_tyre_pressure"),
    "rear-drop": ("length", "rear_tyre_pressure"),
}
"""Kinds of reading: their dimension and the setting they are read against. A drop is how much
lower the axle stands with the rider standing on the bike than without."""
MOST_SITS = 9
"""How many sit-downs one reading may average."""
_NAME = re.compile(r"[a-z][a-z0-9]*([-_][a-z0-9]+)*")


def read(
    shop: Shop,
    bike: int,
    kind: str,
    text: str,
    by: By = None,
    *,
    uuid: str | None = None,
    seen: int | None = None,
    device_time: str | None = None,
    at: str | None = None,
) -> ReadingAnswer:
    """Record a reading and say what it means: the next setting, when to stop, what to suspect.

    Of several sit-downs, `27 mm, 28 mm, 26 mm`, the mean counts. A value that cannot be, longer
    than the travel, is refused and not recorded; a pressure above a limit is kept, says to let
    air out and proves nothing. `at` is the pressure in
    the spring as the ring was read, recorded with it; it is asked for where a ring fits a
    pressure that was advised and that nobody recorded as set.
    """
    from cyclewright.workshop import level

    if kind in level.KINDS:
        return level.read(
            shop, bike, kind, text, by, uuid=uuid, seen=seen, device_time=device_time
        )  # fmt: skip
    if kind not in READINGS:
        do = f"use one of: {', '.join((*READINGS, *level.KINDS))}"
        raise input_error("reading-kind", "kind", do, value=kind)
    dimension, against = READINGS[kind]
    each = sit_downs(text, dimension, kind)
    value = math.fsum(each) / len(each)
    known = known_of(shop, bike)
    setting = known.setting(against)
    if setting is None:
        raise input_error(
            "no-such-part", "kind", "this bike has no such spring or tyre", value=kind
        )
    for one in each:
        _possible(known, kind, one)
    if dimension == "length":
        own = own_uuid(uuid)
        known, uuid = put_at(shop, bike, kind, each, at, by, own), own
    extra = known.extra(kind, each) if dimension == "length" else {}
    unit = "m" if dimension == "length" else setting.unit
    numbers = append_reading(
        shop, bike, kind, value, unit, by, {**extra, "text": text}, complete=True,
        uuid=uuid, seen=seen, device_time=device_time,
    )  # fmt: skip
    if dimension == "pressure":
        answer = verdicts.of_pressure(known, kind, value, setting, numbers)
    else:
        answer = verdicts.of_newest(known_of(shop, bike), kind, numbers)
    why = shop.events(bike)[numbers[0] - 1].data.get("unproved")
    return answer if why is None or answer.above else verdicts.unproved(answer, str(why))


def put_at(
    shop: Shop, bike: int, kind: str, each: tuple[float, ...], at: str | None, by: By, uuid: str
) -> Known:
    """The pressure that a ring was read at, recorded first where it is said; asked where it is not.

    Gives what is known once it is recorded.
    """
    known, spring = known_of(shop, bike), ENDS[kind] in ("fork", "shock")
    if at is not None and spring:
        pressure = f"{ENDS[kind]}-pressure"
        value = units.parse(at, "pressure", "at").value
        _possible(known, pressure, value)
        held = known.state.settings.get(f"{ENDS[kind]}_pressure")
        if held is None or abs(held.value - value) > SAME * value:
            extra = {"text": at, "with": kind}
            append_reading(
                shop, bike, pressure, value, "Pa", by, extra, complete=True,
                uuid=follow(uuid, "made"),
            )  # fmt: skip
    elif spring and (found := known.obeyed(kind, each)) is not None:
        told, held_at = found
        new, was = (
            units.show(p, told.display, told.graduation) for p in (told.value or 0.0, held_at)
        )
        do = f"it fits {new} as advised, and {was} is on record: say which is in the spring now"
        shown = units.show(math.fsum(each) / len(each), "mm", 1)
        raise input_error("which-pressure", "at", do, value=shown, allowed=f"{new}, {was}")
    return known_of(shop, bike)


SAME = 0.002
"""Share by which two pressures may differ and be one: a unit's rounding."""


def of_step(shop: Shop, bike: int, step: Step, numbers: tuple[int, ...]) -> ReadingAnswer | None:
    """What the reading that a step just recorded says; None where it is none."""
    record = step.data.get("record")
    kind = str(record.get("reading") or "") if isinstance(record, Mapping) else ""
    if kind not in READINGS:
        return None
    known = known_of(shop, bike)
    if kind in ENDS:
        return verdicts.of_newest(known, kind, numbers)
    setting = known.setting(READINGS[kind][1])
    newest = next(item for item in reversed(known.state.readings) if item.kind == kind)
    if setting is None:
        return None
    return verdicts.of_pressure(known, kind, newest.value, setting, numbers)


def latest(shop: Shop, bike: int, kind: str) -> ReadingAnswer | None:
    """What the newest sag reading of this kind says, or None before the first."""
    known = known_of(shop, bike)
    if not any(item.name == ENDS[kind] for item in known.readings):
        return None
    return verdicts.of_newest(known, kind, ())


def sit_downs(text: str, dimension: str, kind: str) -> tuple[float, ...]:
    """The values typed: several lengths are sit-downs to average, all that are wrong told."""
    several = dimension == "length" and isinstance(text, str)
    parts = units.typed.apart(text) if several else [text]
    if len(parts) > MOST_SITS:
        do = f"average at most {MOST_SITS} sit-downs"
        raise input_error("too-many", kind, do, value=f"{len(parts)} of them")
    values: list[float] = []
    problems: list[Problem] = []
    for part in parts:
        try:
            values.append(units.parse(part, dimension, kind).value)
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    return tuple(values)


def _possible(known: Known, kind: str, value: float) -> None:
    """Refuse what cannot be read on this bike."""
    dimension, against = READINGS[kind]
    if kind.endswith("-drop"):
        _possible_drop(known, kind, value)
    elif dimension == "length":
        _possible_sag(known, kind, value)
    elif (setting := known.setting(against)) is not None:
        _possible_pressure(setting, kind, value)


def _possible_drop(known: Known, kind: str, value: float) -> None:
    """Refuse a drop of nothing, or of more than the section has above its rim."""
    tyre = getattr(known.advice.goal.case, f"{ENDS[kind]}_tyre")
    most = float(tyre.height[0])
    if not 0.0005 <= value <= most:
        raise range_error(
            "no-such-drop",
            kind,
            "measure the axle above the ground again, with the rider standing and without",
            value=units.show(value, "mm", 0.5),
            allowed=f"0.5 to {units.show(most, 'mm', 1)}",
        )


def _possible_sag(known: Known, kind: str, value: float) -> None:
    """Refuse a sag of more than the unit's travel."""
    travel = float(getattr(known.advice.goal.case, ENDS[kind]).travel[0])
    if not 0.0 <= value <= travel:
        raise range_error(
            "longer-than-travel" if value > travel else "negative",
            kind,
            "read the ring again: it cannot have moved further than the unit's travel",
            value=units.show(value, "mm", 1),
            allowed=f"0 to {units.show(travel, 'mm', 1)}",
        )


def _possible_pressure(setting: Setting, kind: str, value: float) -> None:
    """Refuse a pressure that no gauge reads; one above a limit is a fact, and kept."""
    most = POSSIBLE[setting.name][2]
    if not 0.0 <= value <= most:
        raise range_error(
            "no-such-pressure",
            kind,
            "read the gauge again, and its unit",
            value=units.show(value, "psi", setting.graduation),
            allowed=f"0 to {units.show(most, 'psi', setting.graduation)}",
        )


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
    that asks for this reading is done with it, when nothing else holds that step up. What lies
    beyond a limit or far from what is advised is kept as a fact, and proves nothing.
    """
    from cyclewright.record.events import Draft
    from cyclewright.workshop.worth import Worth, unproved

    _checked(kind, value)
    own, author = own_uuid(uuid), who(shop, by)
    data = {"kind": kind, "value": float(value), "unit": unit, "extra": dict(extra or {})}

    also = [own, follow(own, "step")] if complete else [own]

    def decide(state: BikeState) -> list[Draft]:
        worth, against = Worth(shop, state), _proves(kind)
        doubt = worth.of_reading(against, value)
        told = data | unproved(doubt)
        taken = Draft("reading-taken", f"reading:{kind}", told, author, own, seen, device_time)
        name = _step_of(state, kind) if complete and doubt is None else None
        if name is None or worth.as_said(against, value):
            return [taken]
        text = str((extra or {}).get("text") or f"{value:g} {unit}")
        evidence = {"tick": True, "value": {"value": float(value), "unit": unit, "text": text}}
        done = {"step": name, "evidence": evidence, "from_reading": True}
        return [taken, Draft("step-done", f"step:{name}", done, author, also[1], seen)]

    entry = Entry(also, "reading-taken", f"reading:{kind}", lambda taken: taken["value"] == value)
    events, _ = shop.act(bike, decide, entry)
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
    drafts = setting_drafts(settings, who(shop, by), own_uuid(uuid), doubts(shop, bike, settings))
    entry = Entry([draft.uuid for draft in drafts], drafts[0].kind, drafts[0].subject)
    events, _ = shop.act(bike, lambda _: drafts, entry)
    return tuple(event.number for event in events)


def doubts(shop: Shop, bike: int, settings: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """Why these settings as made prove nothing on this bike, by name; none for those that may."""
    from cyclewright.workshop.worth import Worth

    worth, found = Worth(shop, shop.state(bike)), {}
    for item in settings:
        name, value = str(item["name"]), item["value"]
        _checked(name, value)
        if (doubt := worth.doubt(name, float(value))) is not None:
            found[name] = doubt.allowed
    return found


def setting_drafts(
    settings: Sequence[Mapping[str, Any]],
    author: int | None,
    base: str,
    doubted: Mapping[str, str] = MappingProxyType({}),
) -> list[Draft]:
    """Settings as made, ready to be recorded: the first carries the UUID `base`.

    `doubted` says by name why what was made proves nothing.
    """
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
        if name in doubted:
            data["unproved"] = doubted[name]
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


def _proves(kind: str) -> str:
    """The setting that a reading proves; empty for a drop or an angle, which prove none."""
    return "" if kind.endswith("-drop") else READINGS.get(kind, ("", ""))[1]


def _checked(name: str, value: object) -> None:
    if not _NAME.fullmatch(name) or len(name) > 60:
        raise input_error("kind", "kind", "name it in small letters, like fork-sag", value=name)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise RangeError(Problem("not-a-quantity", name, "give a finite number", str(value)))
