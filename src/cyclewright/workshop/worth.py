"""What a value is held against before it proves a step: limits, what is advised, what can be.

A limit refuses. A value inside every limit but far from what is advised for this bike is more
often a slip (another unit, another gauge) than a wish, so it wants the word of whoever says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from cyclewright import units
from cyclewright.errors import CyclewrightError, Problem
from cyclewright.setting import Limit
from cyclewright.workshop import bounds
from cyclewright.workshop.evidence import display_of

if TYPE_CHECKING:
    from cyclewright.record.state import BikeState
    from cyclewright.record.steps import Step
    from cyclewright.setting import Setting
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.workshop.shop import Shop

# Shares of the advised value inside which a recorded one is believed; whatever lies inside its own
# interval is believed as well, but for a sag: its interval says what is unknown, not what may be. A
# tyre at 60 % of its goal strikes the rim; a spring a third harder, or a ring a quarter off its
# goal, is another set-up; a saddle 3 % higher is a stretched leg. More than taste wants a word
# (judgement).
_TYRE, _SPRING, _SAG = (0.6, 1.6), (0.75, 1.33), (0.75, 1.25)
_DIAL, _HEIGHT = (0.5, 1.6), (0.97, 1.03)
BELIEVED: dict[str, tuple[float, float]] = {
    "front_tyre_pressure": _TYRE,
    "rear_tyre_pressure": _TYRE,
    "saddle_height": _HEIGHT,
    **{
        f"{end}_{what}": share
        for end in ("fork", "shock")
        for what, share in (
            ("pressure", _SPRING),
            ("rate", _SPRING),
            ("sag", _SAG),
            ("rebound", _DIAL),
            ("compression", _DIAL),
        )
    },
}
NEVER_UNADVISED = ("pressure", "rate", "sag")
"""Settings that prove nothing while nothing is advised for them: nobody knows what is right."""
AS_SAID = 0.15
"""How near a later reading is to what somebody gave their word for, as a share of it."""


@dataclass(frozen=True, slots=True)
class Span:
    """What a joint can have at all [N·m]: wide, never a figure, only against slips."""

    joint: str
    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a value proves nothing: what is allowed or advised; `final` where no word helps."""

    allowed: str
    final: bool


class Worth:
    """What the values of one bike are held against, each found when it is first asked for."""

    def __init__(self, shop: Shop, state: BikeState) -> None:
        self._shop, self._state = shop, state

    @cached_property
    def sheets(self) -> Sheets:
        """The sheets in force."""
        return self._shop.sheets(self._state)

    @cached_property
    def limits(self) -> Mapping[str, tuple[Limit, ...]]:
        """Limits by setting, makers' first."""
        return bounds.bounds(self.sheets)

    def span(self, step: Step) -> Span | None:
        """What the joint that a step sets can have at all; None where nobody can say."""
        from cyclewright.knowledge.steps import steps

        joint = next((item.torque for item in steps() if item.id == step.id), "")
        key = ("span", *self._shop.sheet_key(self._state), joint)
        return self._shop.once(key, lambda: span(self.sheets, joint)) if joint else None

    def unfit(self, step: Step, word: str | None) -> tuple[Problem, ...]:
        """Why no value at all proves this step: a fact that must be known before."""
        record = step.data.get("record")
        asked = record if isinstance(record, Mapping) else {}
        name = str(asked.get("setting") or asked.get("limit") or "")
        found = [self._tyre(step.id, end, bool(name)) for end in _tyres(step, name)]
        if name == "post_insertion":
            found.append(self._marks(step.id, word))
        return tuple(problem for problem in found if problem is not None)

    def doubt(self, name: str, value: float) -> Doubt | None:
        """Why this setting [SI] proves nothing on this bike, or None when it can be believed."""
        limit = bounds.outside(name, value, self.limits.get(name, ()))
        setting = None if limit else self._advised(name)
        display = _display(name, setting)
        if limit is not None:
            return Doubt(bounds.told(limit, *display), True)
        if name not in BELIEVED:
            return None
        if _near(setting, value):
            return self._strange(name, value)
        if setting is None or setting.value is None:
            if not name.endswith(NEVER_UNADVISED):
                return None
            return Doubt("nothing is advised for it: the sheets say too little", False)
        learned = self._learned(name)
        if _near(learned, value):
            return None
        return Doubt(f"about {units.show(setting.value, *display)} is advised", False)

    def beside(self, kind: str, each: tuple[float, ...]) -> dict[str, Any]:
        """What is kept beside a sag: what was set, the posture, each sit-down."""
        from cyclewright.workshop.known import known_of

        try:
            return known_of(self._shop, self._state.bike).extra(kind, each)
        except CyclewrightError:
            return {"each": list(each)}

    def _strange(self, name: str, value: float) -> Doubt | None:
        """A ring that what is set now does not explain: something else is wrong first."""
        from cyclewright.workshop.known import known_of

        if not name.endswith("_sag"):
            return None
        try:
            usual = known_of(self._shop, self._state.bike).strange(name.replace("_", "-"), value)
        except CyclewrightError:
            return None
        if usual is None:
            return None
        return Doubt(f"about {units.show(usual, 'mm', 1.0)} was expected at what is set", False)

    def of_reading(self, name: str, value: float) -> Doubt | None:
        """The same for what was read: it may be what somebody gave their word for before."""
        found = self.doubt(name, value) if name else None
        if found is None or found.final or not self.as_said(name, value):
            return found
        return None

    def as_said(self, name: str, value: float) -> bool:
        """Whether somebody gave their word for a value near this one, and it holds."""
        for step in self._state.planned_steps().values():
            record, held = step.data.get("record"), self._state.step(step.id)
            said = held.evidence.get("value") or {}
            if not isinstance(record, Mapping) or record.get("setting") != name:
                continue
            if held.status == "done" and "word" in held.evidence and "value" in said:
                return abs(value - float(said["value"])) <= AS_SAID * abs(float(said["value"]))
        return False

    def _advised(self, name: str) -> Setting | None:
        """What is advised by the sheets in force alone, solved once for them."""
        key = ("advised", *self._shop.sheet_key(self._state))
        return self._shop.once(key, lambda: _settings(self.sheets)).get(name)

    def _learned(self, name: str) -> Setting | None:
        """What is advised after every reading so far."""
        from cyclewright.workshop.known import known_of

        try:
            return known_of(self._shop, self._state.bike).setting(name)
        except CyclewrightError:
            return None

    def _tyre(self, name: str, end: str, inflates: bool) -> Problem | None:
        """A tyre that nobody allowed on its rim has no pressure, and is not fitted."""
        bike = self.sheets.bike
        wheel, tyre = getattr(bike.wheel, end), getattr(bike.tyre, end)
        hooks, allowed = f"bike.wheel.{end}.hooked", f"bike.tyre.{end}.hookless_ok"
        if wheel.hooked or (wheel.hooked is None and not inflates):
            return None
        if wheel.hooked is None:
            do = f"look whether the {end} rim has hooks, and put {hooks} on the sheet: a rim "
            return Problem("tyre-unknown", name, f"{do}without them takes approved tyres only")
        if tyre.hookless_ok is None:
            do = "find this tyre in the rim maker's list and put what it says on the sheet "
            return Problem("tyre-unknown", name, f"{do}({allowed}): until then it has no pressure")
        if not tyre.hookless_ok:
            do = "fit a tyre that its rim's maker allows without hooks: this one has no pressure"
            return Problem("tyre-not-approved", name, do)
        return None

    def _marks(self, name: str, word: str | None) -> Problem | None:
        """A measured insertion proves nothing while the marks that it is held against are open."""
        bike = self.sheets.bike
        wanted = {"bike.post.insertion_min": bike.post.insertion_min}
        wanted["bike.frame.insertion_min"] = bike.frame.insertion_min
        open_ones = [field for field, known in wanted.items() if known is None]
        one_is_enough = bike.post.kind == "integrated"
        if not open_ones or (one_is_enough and len(open_ones) < 2):
            return None
        if len(open_ones) == 1 and open_ones[0].startswith("bike.frame") and word is not None:
            return None
        look = {
            "bike.post.insertion_min": "the mark on the post",
            "bike.frame.insertion_min": "the frame maker's figure",
        }
        places = " and ".join(look[field] for field in open_ones)
        do = f"look for {places} and put it on the sheet ({', '.join(open_ones)})"
        if open_ones != ["bike.frame.insertion_min"]:
            return Problem("marks-unknown", name, f"{do}: no insertion is enough before")
        return Problem(
            "word-missing", name, f"{do}, or say whose word it is that the frame has none"
        )


def span(sheets: Sheets, joint: str) -> Span | None:
    """What a joint of these sheets can have at all, by its kind and, where stated, its screw."""
    from cyclewright.advice import brakes
    from cyclewright.knowledge.fasteners import fastener
    from cyclewright.sheets.sheets import facts

    found = fastener(joint, facts(sheets) | brakes.derived(sheets))
    if found is None or found.least is None or found.most is None:
        return None
    return Span(joint, found.least, min(found.most, _breaks(sheets, joint)))


_ROUGHEST = 0.2
"""Friction of a dry thread: a screw of its class takes no more torque than this lets it."""


def _breaks(sheets: Sheets, joint: str) -> float:
    """The torque [N·m] that no screw of the stated thread bears, infinite where none is stated."""
    stated = sheets.bike.fastener.get(joint)
    if stated is None or not stated.thread:
        return float("inf")
    # Few sheets state a thread, and only its sum wakes NumPy.
    from cyclewright.mechanics import bolt

    try:
        screw = bolt.thread(stated.thread)
        most = bolt.assembly(screw, stated.grade or "12.9", _ROUGHEST, _ROUGHEST)
    except CyclewrightError:
        return float("inf")
    return float(most.torque)


def _settings(sheets: Sheets) -> dict[str, Setting]:
    from cyclewright.advice.advise import advise
    from cyclewright.knowledge.defaults import fill

    try:
        return {item.name: item for item in advise(fill(sheets)).settings}
    except CyclewrightError:
        return {}


def _near(setting: Setting | None, value: float) -> bool:
    """Whether a value lies where people set it, or inside the advised interval."""
    if setting is None or setting.value is None:
        return False
    below, above = BELIEVED[setting.name]
    if setting.name.endswith("_sag"):
        # how far apart rings may fall says what is unknown, not how far off a goal may be
        return below * setting.value - 1e-9 <= value <= above * setting.value + 1e-9
    low = min(below * setting.value, *(() if setting.low is None else (setting.low,)))
    high = max(above * setting.value, *(() if setting.high is None else (setting.high,)))
    return bool(low - 1e-9 <= value <= high + 1e-9)


_UNITS = {"pressure": "Pa", "seating": "Pa", "rate": "N/m", "rebound": "1", "compression": "1"}


def _display(name: str, setting: Setting | None) -> tuple[str, float]:
    """The unit and step in which a setting is told: the advised one's, else the usual ones."""
    if setting is not None:
        return setting.display, setting.graduation
    return display_of(_UNITS.get(name.rpartition("_")[2], "m"), name)


def _tyres(step: Step, name: str) -> tuple[str, ...]:
    """The tyres that a step fits or inflates."""
    ends = ("front", "rear")
    return tuple(e for e in ends if f"{e}_tyre" in step.joints or name.startswith(f"{e}_tyre_"))


def unproved(doubt: Doubt | None) -> dict[str, Any]:
    """What an event keeps of a doubt, for the fold to take away what it disproves."""
    return {} if doubt is None else {"unproved": doubt.allowed}
