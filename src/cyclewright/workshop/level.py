"""Saddle and lever angles off the phone's own level, or typed, kept in the record as readings."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cyclewright.errors import InputError, Problem, input_error
from cyclewright.setting import Setting
from cyclewright.workshop import angles
from cyclewright.workshop.answers import ReadingAnswer
from cyclewright.workshop.photo import Z90

if TYPE_CHECKING:
    from cyclewright.workshop.readings import By
    from cyclewright.workshop.shop import Shop

KINDS: dict[str, str] = {
    "saddle-tilt": "saddle",
    "lever-left": "lever-left",
    "lever-right": "lever-right",
}
"""Kinds of reading, and what each is called among angles."""
AGAINST = {
    "saddle-tilt": "saddle-clamp-set",
    "lever-left": "lever-angle",
    "lever-right": "lever-angle",
}
"""The step whose proof an angle far off takes away, by kind of reading."""
FAR = {"saddle_tilt": math.radians(3.0), "lever_angle": math.radians(10.0)}
"""How far outside what is advised an angle says that a clamp has turned [rad] (judgement)."""
ADVISED = {"saddle-tilt": "saddle_tilt", "lever-left": "lever_angle", "lever-right": "lever_angle"}
LIES = {"saddle-tilt": 0.4, "lever-left": 1.0, "lever-right": 1.0}
"""One standard deviation of how well a phone lies along it [degrees] (judgement)."""
MOST = 400
"""Samples that one take may hold."""

Samples = Sequence[Sequence[float]]


@dataclass(frozen=True, slots=True)
class Take:
    """What the phone's accelerometer read while it lay still [m/s²], y along its long side."""

    samples: Samples
    turned: Samples | None = None
    """The same with the phone turned end for end, which cancels its own zero."""


def measured(kind: str, take: Take) -> Setting:
    """The angle of a take with its 90 % interval; a lever's counts below level."""
    from cyclewright.measure import angle

    _known(kind)
    _small(take)
    found = angle.level(take.samples, take.turned)
    sign = 1.0 if kind == "saddle-tilt" else -1.0
    value = sign * found.angle
    half = Z90 * math.hypot(found.spread, math.radians(LIES[kind]))
    count = len(take.samples) + len(take.turned or ())
    zero = "both ways round, so that its own zero cancels" if take.turned else "one way round"
    name = KINDS[kind]
    return Setting(
        f"{name.replace('-', '_')}_measured", value, "rad", value - half, value + half, "measured",
        "the phone's own level", f"{count} samples held still, {zero}; the spread holds how well "
        "a phone lies along it (judgement)", "°", 0.1, angles.LABELS[name],
    )  # fmt: skip


def told(shop: Shop, bike: int, kind: str, angle: float) -> tuple[str, ...]:
    """What this angle [rad] says to do, and whether both levers are alike."""
    said = angles.said_of({KINDS[kind]: math.degrees(angle)}, _advised(shop, bike))
    other = {"lever-left": "lever-right", "lever-right": "lever-left"}.get(kind)
    known = [item.value for item in shop.state(bike).readings if item.kind == other]
    if not known:
        return said
    return (*said, *angles.alike(math.degrees(angle), math.degrees(known[-1])))


def read(
    shop: Shop,
    bike: int,
    kind: str,
    given: Take | str,
    by: By = None,
    *,
    uuid: str | None = None,
    seen: int | None = None,
    device_time: str | None = None,
) -> ReadingAnswer:
    """Record an angle, off the phone's level or typed with its unit; says what to do with it."""
    from cyclewright.workshop.readings import append_reading

    _known(kind)
    name = KINDS[kind]
    if isinstance(given, Take):
        taken, how = measured(kind, given), "level"
        angles.in_range(name, math.degrees(taken.value or 0.0))
    else:
        taken, how = angles.typed_setting(name, angles.parsed({name: given})[name]), "typed"
    assert taken.value is not None
    extra = {"text": taken.show(), "low": taken.low, "high": taken.high, "how": how}
    doubt = _doubt(shop, bike, kind, taken.value)
    numbers = append_reading(
        shop, bike, kind, taken.value, "rad", by, extra, complete=not doubt,
        uuid=uuid, seen=seen, device_time=device_time,
        doubt=doubt, against=(AGAINST[kind],),
    )  # fmt: skip
    said = told(shop, bike, kind, taken.value)
    stop = said[0].endswith("leave it.") and len(said) == 1
    wanted = None if stop else advised(shop, bike, kind)
    return ReadingAnswer(
        kind, taken.value, "rad", " ".join(said), stop, wanted, None, (), numbers
    )  # fmt: skip


def _doubt(shop: Shop, bike: int, kind: str, angle: float) -> str:
    """Why this angle [rad] proves nothing; empty where a mechanic would leave it."""
    wanted, far = advised(shop, bike, kind), FAR[ADVISED[kind]]
    made = shop.state(bike).settings.get(wanted.name)
    as_made = made is not None and abs(made.value - angle) <= far
    if as_made or wanted.low is None or wanted.high is None:
        return ""
    if wanted.low - far <= angle <= wanted.high + far:
        return ""
    return f"about {wanted.show()} is advised"


def advised(shop: Shop, bike: int, kind: str) -> Setting:
    """What is advised for this angle."""
    _known(kind)
    return _advised(shop, bike)[ADVISED[kind]]


def _advised(shop: Shop, bike: int) -> Mapping[str, Setting]:
    from cyclewright.workshop.advising import advise_bike

    return {item.name: item for item in advise_bike(shop, bike).settings}


def _known(kind: str) -> None:
    if kind not in KINDS:
        raise input_error("reading-kind", "kind", f"use one of: {', '.join(KINDS)}", value=kind)


def _small(take: Take) -> None:
    """Takes longer than anybody holds still are refused before they are worked on."""
    problems = [
        Problem("too-many", name, f"send at most {MOST} samples")
        for name, samples in (("samples", take.samples), ("turned", take.turned or ()))
        if len(samples) > MOST
    ]
    if problems:
        raise InputError(problems)
