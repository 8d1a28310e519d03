"""What a reading says: the next setting, when to stop, and what to suspect."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from cyclewright import units
from cyclewright.workshop import bounds
from cyclewright.workshop.answers import ReadingAnswer
from cyclewright.workshop.known import ENDS

if TYPE_CHECKING:
    from cyclewright.advice.advise import Advice
    from cyclewright.advice.readings import SagReading
    from cyclewright.setting import Limit, Setting
    from cyclewright.workshop.known import Known

RANGE_95 = (0.0, 0.0, 2.77, 3.31, 3.63, 3.86, 4.03, 4.17, 4.29, 4.39)
"""Range that 95 % of so many normal values stay inside, in standard deviations (tables of the
studentised range with known deviation; from memory)."""
MARK = 0.001
"""A ring is read to a millimetre [m]."""


def of_pressure(
    known: Known, kind: str, value: float, setting: Setting, numbers: tuple[int, ...]
) -> ReadingAnswer:
    """What a pressure says: leave it, what is advised instead, or to let air out."""
    shown = units.show(value, setting.display, setting.graduation)
    if (limit := bounds.outside(setting.name, value, _ceilings(setting))) is not None:
        allowed = bounds.told(limit, setting.display, setting.graduation)
        said = f"{shown}: let air out now, {allowed}. It is kept and proves nothing"
        return ReadingAnswer(
            kind, value, setting.unit, said, False, setting, None, (), numbers, above=True
        )
    step = units.convert(1.0, setting.display)
    close = setting.value is not None and abs(value - setting.value) * step < setting.graduation
    said = (
        f"{shown}: as advised, leave it"
        if close
        else f"{shown} recorded; advised is {setting.show()}"
    )
    said += _before_the_hose(known, kind, value, setting)
    return ReadingAnswer(kind, value, setting.unit, said, close, setting, None, (), numbers)


def _ceilings(setting: Setting) -> tuple[Limit, ...]:
    """What a setting may not be more than, the tightest first."""
    found = (limit for limit in setting.limits if limit.kind == "max")
    return tuple(sorted(found, key=lambda limit: limit.value))


def unproved(answer: ReadingAnswer, why: str) -> ReadingAnswer:
    """A reading that is kept and proves nothing: why, before what else it says."""
    again = "read the gauge and its unit again, or record the step with whose word it is"
    if "pressure" not in answer.kind and "tyre" not in answer.kind:
        again = "read the ring again, or record the step with whose word it is"
    said = f"{answer.said}. It is kept and proves nothing: {why}; {again}"
    return replace(answer, said=said, stop=False)


def _before_the_hose(known: Known, kind: str, value: float, setting: Setting) -> str:
    """What a spring held before this pump was screwed on, where that is worth a mark."""
    from cyclewright.advice import units_at_sag
    from cyclewright.solve.case import nominal

    if kind not in ("fork-pressure", "shock-pressure"):
        return ""
    case = nominal(known.advice.goal.case)
    spring = case.fork if kind == "fork-pressure" else case.shock
    held = units_at_sag.before_the_hose(spring, value, case.ambient)
    if held - value < 0.5 * _step(setting):
        return ""
    was = units.show(held, setting.display, 1.0)
    return f" (if just screwed on: its hose took some, it held about {was})"


def of_newest(known: Known, kind: str, numbers: tuple[int, ...]) -> ReadingAnswer:
    """What the newest ring or drop of a kind says: the next setting, stop, or look elsewhere."""
    from cyclewright.advice import readings, suspects

    name = ENDS[kind]
    newest, odd = next(
        pair
        for pair in reversed(tuple(zip(known.readings, known.odd, strict=True)))
        if pair[0].name == name
    )
    after = known.advice
    if name in ("front", "rear"):
        return _of_drop(known, kind, newest, odd, numbers)
    shown = units.show(newest.value, "mm", 1) + _sits(known, newest)
    if odd:
        expected = readings.expected(after.goal.case, newest)
        usual = units.show(expected, "mm", 1)
        what = "coil" if getattr(after.goal.case, name).kind == "coil" else "air"
        said = f"{shown} where about {usual} was expected: change no {what} yet, check these first"
        asked = suspects.findings(after.goal.case, newest)
        return ReadingAnswer(kind, newest.value, "m", said, False, None, None, asked, numbers)
    setting = known.setting(f"{name}_pressure", f"{name}_rate")
    ring = known.setting(f"{name}_sag")
    enough = readings.enough(after, after.goal.case, newest, _step(setting))
    coil = setting is not None and setting.name.endswith("_rate")
    same = getattr(newest.kept, name) == getattr(after.kept, name)
    if enough:
        why = "no coil that is sold comes nearer" if coil and same else enough
        said = f"{shown}: stop here, {why}"
    elif setting is not None and ring is not None and _stands(newest, after, name, setting):
        said = (
            f"{shown}: leave {'the coil' if coil else 'the air'} as it is and sit down again; "
            f"the readings do not settle it yet, expect {ring.show()}"
        )
    elif setting is not None and ring is not None:
        what = f"fit a coil of {setting.show()}" if coil else f"set {setting.show()}"
        said = f"{shown}: {what} next and expect {ring.show()}; read again, then stop"
    else:
        said = f"{shown} recorded"
    return ReadingAnswer(kind, newest.value, "m", said, bool(enough), setting, ring, (), numbers)


def _stands(newest: SagReading, after: Advice, name: str, setting: Setting) -> bool:
    """Whether what is advised next is what was set as the ring was read."""
    was, will = getattr(newest.kept, name), getattr(after.kept, name)
    return was is not None and will is not None and abs(will - was) < _step(setting) / 2


def _of_drop(
    known: Known, kind: str, newest: SagReading, odd: bool, numbers: tuple[int, ...]
) -> ReadingAnswer:
    """What a tyre's drop says of its stiffness, and the pressure that follows."""
    from cyclewright.advice import readings

    after = known.advice
    shown = units.show(newest.value, "mm", 0.5)
    setting = known.setting(f"{newest.name}_tyre_pressure")
    if odd:
        usual = units.show(readings.expected(after.goal.case, newest), "mm", 0.5)
        said = (
            f"{shown} where about {usual} was expected: not believed; read the gauge, stand on "
            "the bike off the saddle, measure at the axle and measure again"
        )
        return ReadingAnswer(kind, newest.value, "m", said, False, None, None, (), numbers)
    tyre = getattr(after.goal.case, f"{newest.name}_tyre")
    factor = float(tyre.stiffness_factor[0]) - 1.0
    words = "as stiff as taken"
    if abs(factor) >= 0.01:
        words = f"{abs(factor) * 100:.0f} % {'stiffer' if factor > 0 else 'softer'} than taken"
    was = getattr(newest.kept, f"{newest.name}_tyre")
    said, stop = f"{shown}: the tyre is {words}", True
    if setting is not None and setting.value is not None:
        stop = was is not None and abs(setting.value - was) < _step(setting) / 2
        said += f"; {'leave it at' if stop else 'set'} {setting.show()}"
    return ReadingAnswer(kind, newest.value, "m", said, stop, setting, None, (), numbers)


def _sits(known: Known, newest: SagReading) -> str:
    """That several sit-downs were averaged, and whether they lie further apart than they should."""
    from cyclewright.advice import readings

    sits = len(newest.each)
    if sits < 2:
        return ""
    apart = max(newest.each) - min(newest.each)
    usual = RANGE_95[sits] * readings.one_sit_down(known.advice.goal.case, newest)
    most = math.ceil(usual / MARK) * MARK
    told = f", the mean of {sits} sit-downs"
    if apart < most + MARK / 2:
        return told
    far, allowed = units.show(apart, "mm", 1), units.show(most, "mm", 1)
    return f"{told} that lie {far} apart (more than {allowed} is not chance: sit alike each time)"


def _step(setting: Setting | None) -> float:
    """The tool's step in SI."""
    return 0.0 if setting is None else setting.graduation / units.convert(1.0, setting.display)
