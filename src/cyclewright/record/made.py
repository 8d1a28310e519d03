"""What each setting of a bike is now: set, read, set for something else since, or only advised.

A pure function of the state. What somebody set stays as it was set, but it is worth what it was
set under: the step that wrote it down, the visit, and for a sag the spring that it was read at.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from cyclewright.knowledge.steps import Record
from cyclewright.record.state import SETTING_OF_READING, BikeState, Made, Reading, StepState
from cyclewright.record.steps import Step

How = Literal["set", "read", "lapsed", "advised", "sums"]

_PSI = 6894.757293168361
_COIL = 175.126835
"""One pound an inch [N/m]."""
SPRINGS: Mapping[str, float] = {
    "front_tyre_pressure": 0.5 * _PSI,
    "rear_tyre_pressure": 0.5 * _PSI,
    "fork_pressure": _PSI,
    "shock_pressure": 5.0 * _PSI,
    "fork_rate": _COIL,
    "shock_rate": _COIL,
}
"""Springs that a sag or a drop is read at, and one mark of the tool that sets each [SI]."""
BY_HAND = frozenset(SPRINGS) | {
    "shock_preload",
    "fork_rebound",
    "fork_compression",
    "shock_rebound",
    "shock_compression",
    "saddle_height",
    "saddle_setback",
    "saddle_tilt",
    "post_insertion",
    "spacers_under",
    "bar_height",
    "lever_angle",
    "lever_inboard",
    "lever_reach",
}
"""What a person sets."""
_FORK, _SHOCK = ("fork_pressure", "fork_rate"), ("shock_pressure", "shock_rate")
OUTCOMES: Mapping[str, tuple[str, str, tuple[str, ...]]] = {
    "fork_sag": ("fork-sag", "fork", _FORK),
    "shock_sag": ("shock-sag", "shock", _SHOCK),
    "front_tyre_drop": ("front-drop", "front", ("front_tyre_pressure",)),
    "rear_tyre_drop": ("rear-drop", "rear", ("rear_tyre_pressure",)),
}
"""What a person reads: the kind of reading, where its spring is kept, and what that may be. All
else is by the sums, whatever anybody recorded under its name."""
_STUCK = {"put-off": "put off", "problem": "problem", "reopened": "reopened"}


@dataclass(frozen=True, slots=True)
class Stands:
    """How one setting stands: what it is, what it was when it lapsed, and why it did."""

    name: str
    how: How
    value: float | None = None
    """What was set or read last [SI]; None where nobody did."""
    unit: str = ""
    was: Literal["", "set", "read"] = ""
    """What a lapsed one was."""
    why: str = ""
    number: int = 0
    by: int | None = None
    at: str = ""

    @property
    def holds(self) -> bool:
        """Whether it may be told as set or read."""
        return self.how in ("set", "read")

    @property
    def physical(self) -> float | None:
        """The value that is on the bike as far as the record knows [SI]."""
        there = self.how in ("set", "read") or self.was == "set"
        return self.value if there else None

    def lapse(self, why: str) -> Stands:
        """The same, worth nothing any more for this reason."""
        if not self.holds:
            return self
        was: Literal["set", "read"] = "read" if self.how == "read" else "set"
        return replace(self, how="lapsed", was=was, why=why)

    def doubted(self, why: str) -> Stands:
        """The same as a reading that is not believed: nothing is known to be set by it."""
        return replace(self, how="lapsed", was="read", why=why)


def stands(state: BikeState, name: str) -> Stands:
    """How one setting stands by the record alone."""
    if name not in BY_HAND and name not in OUTCOMES:
        return Stands(name, "sums")
    made = newest(state, name)
    if made is None:
        return Stands(name, "advised", why=_waiting(state, name))
    how: How = "read" if name in OUTCOMES else "set"
    found = Stands(
        name, how, made.value, made.unit, number=made.number, by=made.by, at=made.at
    )  # fmt: skip
    why = _moved(state, name, made.number) or _spring_moved(state, name)
    return found.lapse(why) if why else found


def newest(state: BikeState, name: str) -> Made | Reading | None:
    """The newest word on a setting, from a step, a reading or by hand; None before the first."""
    made = state.settings.get(name)
    read = next((item for item in reversed(state.readings) if _is_of(item, name)), None)
    if made is None or read is None:
        return made or read
    return made if made.number >= read.number else read


def asking(state: BikeState, name: str) -> Iterator[Step]:
    """Steps of the plan in force that write this setting down."""
    for step in state.planned_steps().values():
        record = step.data.get("record")
        if isinstance(record, Mapping) and _is_name(
            name, str(record.get("setting") or ""), str(record.get("reading") or "")
        ):
            yield step


def writes_down(record: Record | None, name: str) -> bool:
    """Whether a step of the knowledge writes this setting down."""
    return record is not None and _is_name(name, record.setting, record.reading)


def _is_name(name: str, setting: str, reading: str) -> bool:
    return name in (setting, setting_of(reading))


def spring_at(state: BikeState, reading: Reading) -> tuple[str, float] | None:
    """The spring that a sag or drop was read at, by name, and how it was set [SI] then.

    A reading of its own carries it; one that a step wrote down was taken at what was set before.
    """
    row = OUTCOMES.get(setting_of(reading.kind))
    if row is None:
        return None
    _, key, names = row
    before = _springs_before(state, reading)
    held = reading.extra.get(key)
    if held is not None:
        named = reading.extra.get("setting")
        return str(named or (before[-1].name if before else names[0])), float(held)
    return (before[-1].name, before[-1].value) if before else None


def was_set(state: BikeState, reading: Reading) -> bool:
    """Whether anybody had said how the spring was set when a sag or drop was read."""
    return bool(_springs_before(state, reading))


def _springs_before(state: BikeState, reading: Reading) -> list[Made]:
    names = OUTCOMES[setting_of(reading.kind)][2]
    return [made for made in state.made if made.name in names and made.number < reading.number]


def _is_of(reading: Reading, name: str) -> bool:
    return setting_of(reading.kind) == name


_NAMES = {kind: name for name, (kind, _, _) in OUTCOMES.items()} | SETTING_OF_READING


def setting_of(kind: str) -> str:
    """The setting that a kind of reading is about."""
    return _NAMES.get(kind, kind.replace("-", "_"))


def _waiting(state: BikeState, name: str) -> str:
    """Why nobody has set it, where somebody said so."""
    held = (state.step(step.id) for step in asking(state, name))
    return next((_told(one) for one in held if one.status in _STUCK), "")


def _moved(state: BikeState, name: str, number: int) -> str:
    """What happened since to the step that writes a setting down; empty where nothing did."""
    steps = [(step, state.step(step.id)) for step in asking(state, name)]
    for _, held in steps:
        if held.status in _STUCK and held.number >= number:
            return _told(held)
    earlier = number < state.visit_number
    if earlier and steps and not any(held.status == "done" for _, held in steps):
        return "from an earlier visit, not done again in this one"
    return ""


def _told(held: StepState) -> str:
    """Why a step does not hold: what reopened it speaks for itself."""
    word = _STUCK[held.status]
    if not held.said:
        return word
    return held.said if held.status == "reopened" else f"{word}: {held.said}"


def _spring_moved(state: BikeState, name: str) -> str:
    """Whether a sag or drop belongs to another spring than the one that is set now."""
    if name not in OUTCOMES:
        return ""
    kind, _, names = OUTCOMES[name]
    read = next((item for item in reversed(state.readings) if item.kind == kind), None)
    sprung = [made for made in state.made if made.name in names]
    if read is None or not sprung:
        return ""
    now, then = sprung[-1], spring_at(state, read)
    if then is None:
        return f"it was read before the {_words(now.name)} was known"
    if then[0] != now.name:
        return f"it was read before the {_words(now.name)} was set"
    if abs(now.value - then[1]) > 0.5 * SPRINGS[now.name]:
        return f"the {_words(now.name)} was changed after it was read"
    undone = _moved(state, now.name, now.number)
    return f"the {_words(now.name)} it was read at: {undone}" if undone else ""


def _words(name: str) -> str:
    return name.replace("_rate", "_coil").replace("_", " ")
