"""Fit: saddle, cockpit and levers of one rider, a fit carried over, and a fit done again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from cyclewright.setting import Finding, Question, Setting
from cyclewright.units import System
from cyclewright.workshop.advising import change_of
from cyclewright.workshop.answers import Change
from cyclewright.workshop.known import known_of

if TYPE_CHECKING:
    from cyclewright.advice.advise import Advice, Moved
    from cyclewright.advice.carry import Carried
    from cyclewright.advice.droppers import Dropper as Dropper
    from cyclewright.advice.fit import Saddle
    from cyclewright.advice.fitting import Fit
    from cyclewright.advice.handles import Effect
    from cyclewright.knowledge.defaults import Filled
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.workshop.shop import Shop

PROVED_BY = "car-park-ride"
"""The step that proves a position: it has been ridden."""
POSITION = (
    "saddle_height", "saddle_setback", "saddle_tilt", "post_insertion", "spacers_under",
    "bar_height", "lever_angle", "lever_inboard", "lever_reach", "lever_gain",
)  # fmt: skip
"""Settings of the position among all that are solved together."""


@dataclass(frozen=True, slots=True)
class HandleRow:
    """One step of one handle and what it moves, differences in SI."""

    name: str
    label: str
    step: str
    """The step in words; "no room" where a limit leaves none."""
    stop: str
    """Whose limit shortened the step or turned it round, "" for nobody's."""
    changes: tuple[str, ...]
    """The step as FIELD=VALUE."""
    now: float
    low: float
    high: float
    reach: float
    height: float
    trunk: float
    hip: float
    front_seated: float
    front_standing: float
    fork_sag: float | None
    shock_sag: float | None
    trail: float


@dataclass(frozen=True, slots=True)
class FitAnswer:
    """The whole fit of one rider on one bike."""

    recommended: Setting
    """The saddle height to set."""
    recommended_said: str
    wanted: Setting
    """The saddle height that suits the rider at full height, whatever the post makes of it."""
    methods: tuple[Setting, ...]
    """Four saddle heights side by side, at full height."""
    position: tuple[Setting, ...]
    """What is set: saddle, cockpit, levers."""
    angles: tuple[Setting, ...]
    contacts: tuple[Setting, ...]
    droppers: tuple[Dropper, ...]
    dropper_said: str
    rough: tuple[float, float] | None
    """Saddle heights of a plain post for rough ground [m]; None for a dropper."""
    setback_said: str
    tilt: tuple[tuple[str, str], ...]
    """Level, nose up, nose down, to the rest of the fit: what each costs."""
    handles: tuple[HandleRow, ...]
    lever_said: str
    steerer: tuple[Setting, ...]
    steerer_said: str
    findings: tuple[Finding, ...]
    questions: tuple[Question, ...]

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The fit as plain data."""
        return {
            "recommended": self.recommended.to_json(system),
            "recommended_said": self.recommended_said,
            "wanted": self.wanted.to_json(system),
            "methods": _settings(self.methods, system),
            "position": _settings(self.position, system),
            "angles": _settings(self.angles, system),
            "contacts": _settings(self.contacts, system),
            "droppers": [{**_plain(row), "said": row.words()} for row in self.droppers],
            "dropper_said": self.dropper_said,
            "rough": None if self.rough is None else list(self.rough),
            "setback_said": self.setback_said,
            "tilt": [{"way": way, "costs": costs} for way, costs in self.tilt],
            "handles": [_plain(row) for row in self.handles],
            "lever_said": self.lever_said,
            "steerer": _settings(self.steerer, system),
            "steerer_said": self.steerer_said,
            "findings": [item.to_json() for item in self.findings],
            "questions": [item.to_json() for item in self.questions],
        }


@dataclass(frozen=True, slots=True)
class MatchRow:
    """One distance between contacts [m]: along and above, as it was, and got less was."""

    what: str
    was: tuple[float, float]
    miss: tuple[float, float]
    close: bool


@dataclass(frozen=True, slots=True)
class CarryAnswer:
    """A fit carried over: where to set this bike, how near it comes, what had to give."""

    settings: tuple[Setting, ...]
    matches: tuple[MatchRow, ...]
    gave: tuple[str, ...]
    parts: tuple[str, ...]
    changes: tuple[str, ...]
    position: tuple[Setting, ...]
    """Everything that is set by the fit, once it is carried over."""
    angles: tuple[Setting, ...]
    """The posture that comes of it, on this bike at its own sag."""
    said: str

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The answer as plain data."""
        return {
            "settings": _settings(self.settings, system),
            "matches": [_plain(row) for row in self.matches],
            "gave": list(self.gave),
            "parts": list(self.parts),
            "changes": list(self.changes),
            "position": _settings(self.position, system),
            "angles": _settings(self.angles, system),
            "said": self.said,
        }


@dataclass(frozen=True, slots=True)
class RefitAnswer:
    """A fit done again because the rider or a part changed."""

    fit: FitAnswer
    changes: tuple[Change, ...]
    """What moved: as it was, with everything left as it was set, and set again."""
    new: tuple[Finding, ...]
    gone: tuple[Finding, ...]
    redo: tuple[str, ...]
    """What has to be set again, in words."""

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The answer as plain data."""
        return {
            "fit": self.fit.to_json(system),
            "changes": [item.to_json() for item in self.changes],
            "new": [item.to_json() for item in self.new],
            "gone": [item.to_json() for item in self.gone],
            "redo": list(self.redo),
        }


def fit(sheets: Sheets, *, proved: bool = False, with_handles: bool = True) -> FitAnswer:
    """The fit of these sheets; `proved` once the rider has ridden the position.

    The table of handles solves the bike once for each of them and may be left out.
    """
    from cyclewright.advice.advise import advise
    from cyclewright.knowledge.defaults import fill

    filled = fill(sheets)
    return _fit(filled, sheets, advise(filled), proved, with_handles)


def fit_bike(shop: Shop, bike: int, *, with_handles: bool = True) -> FitAnswer:
    """The fit of a bike on record; its position is proved once the first ride is recorded."""
    known = known_of(shop, bike)
    return _fit(known.filled, known.sheets, known.advice, proved(shop, bike), with_handles)


def proved(shop: Shop, bike: int) -> bool:
    """Whether a bike's position has been ridden since it was last touched."""
    return PROVED_BY in shop.state(bike).done()


def carry_over(previous: Sheets, sheets: Sheets) -> CarryAnswer:
    """The previous bike's saddle, pedals and grips on this bike, as near as its limits allow."""
    from cyclewright.advice import fit, fitting
    from cyclewright.advice.advise import advise
    from cyclewright.advice.carry import carry_over as carried
    from cyclewright.advice.case import Kept
    from cyclewright.knowledge.defaults import fill
    from cyclewright.sheets.sheets import change

    filled = fill(sheets)
    found = carried(fill(previous), filled)
    by_name = {item.name: item for item in found.settings}
    height = by_name["saddle_height"].value
    now = fill(change(sheets, list(found.changes)))
    after = advise(now, filled, made=Kept(saddle_height=height))
    depth = fit.insertion(replace(fit.saddle(now), inside=height))
    if depth is not None:
        by_name[depth.name] = replace(depth, low=None, high=None)
    position = tuple(by_name.get(item.name, item) for item in _of_position(after))
    return _carried(found, position, fitting.angles(after))


def carry_from(shop: Shop, bike: int, previous: int) -> CarryAnswer:
    """The rider's place on another bike on record, carried over to this one.

    Where that bike's saddle height was recorded as set, it is the place the rider is used to.
    """
    from cyclewright.sheets.sheets import change

    sheets, state = shop.sheets(shop.state(bike)), shop.state(previous)
    before = replace(sheets, bike=shop.sheets(state).bike)
    made = state.settings.get("saddle_height")
    if made is not None:
        before = change(before, [f"bike.saddle.ridden_height={made.value * 1000:.1f} mm"])
    return carry_over(before, sheets)


def refit(before: Sheets, after: Sheets) -> RefitAnswer:
    """The fit again after a change of rider or part: what moved, and what has to be set again."""
    from cyclewright.advice.advise import advise, compare
    from cyclewright.knowledge.defaults import fill

    was, now = fill(before), fill(after)
    advice = advise(was)
    fresh, moved = compare(advice, now, was)
    answer = _fit(now, after, fresh, False, True)
    old, new = set(_codes(advice.findings)), set(_codes(fresh.findings))
    return RefitAnswer(
        answer,
        tuple(change_of(one) for one in moved),
        tuple(item for item in fresh.findings if item.code not in old),
        tuple(item for item in advice.findings if item.code not in new),
        tuple(_redo(moved)),
    )


def _fit(
    filled: Filled, sheets: Sheets, advice: Advice, proved: bool, with_handles: bool
) -> FitAnswer:
    from cyclewright.advice import fitting, tilt
    from cyclewright.advice.handles import effects

    found = fitting.fitting(filled, advice, proved)
    by_name = {item.name: item for item in advice.settings}
    plain = filled.sheets.bike.post.kind == "plain"
    return FitAnswer(
        recommended=by_name["saddle_height"],
        recommended_said=fitting.recommended_words(found.methods, found.saddle),
        wanted=_wanted(found.saddle, by_name["saddle_height"]),
        methods=found.methods,
        position=_of_position(advice),
        angles=found.angles,
        contacts=found.contacts,
        droppers=found.droppers,
        dropper_said=_dropper_said(found),
        rough=fitting.rough_heights(found.saddle) if plain else None,
        setback_said=fitting.setback_words(filled),
        tilt=tilt.words(filled, advice.outcome),
        handles=tuple(_handle(one) for one in effects(advice, filled, sheets))
        if with_handles
        else (),
        lever_said=found.levers.said,
        steerer=found.steerer.settings,
        steerer_said=found.steerer.said,
        findings=advice.findings,
        questions=(*advice.questions, *found.steerer.questions),
    )


def _of_position(advice: Advice) -> tuple[Setting, ...]:
    """What is set of the position, in its order."""
    by_name = {item.name: item for item in advice.settings}
    return tuple(by_name[name] for name in POSITION if name in by_name)


def _wanted(saddle: Saddle, recommended: Setting) -> Setting:
    """The height before the post and the ground have their say, with its interval."""
    height = saddle.height
    because = "0.883 × inseam, held where the knee is bent 25 to 35° at the bottom of the stroke"
    return Setting(
        "saddle_wanted", height.value, "m", height.low, height.high, recommended.basis,
        recommended.source, because, "mm", 1.0, "Suits this rider",
    )  # fmt: skip


def _dropper_said(found: Fit) -> str:
    """The longest dropper that fits, and how far off the next one is."""
    from cyclewright.advice.droppers import next_longer

    rows = found.droppers
    if not rows:
        return "Seat tube and post are not known well enough to say which dropper fits."
    fitting = [row for row in rows if row.fits]
    if not fitting:
        return "No dropper that is sold fits this rider on this frame: fit a plain post."
    longest = fitting[-1]
    said = (
        f"Up to {_mm(longest.travel)} of travel fits with {_mm(longest.spare)} to spare "
        f"({longest.limit})"
    )
    after = next_longer(rows)
    if after is None:
        return f"{said}; it is the longest that is sold."
    return f"{said}; {_mm(after.travel)} is {_mm(-after.spare)} too long ({after.limit})."


def _handle(effect: Effect) -> HandleRow:
    handle = effect.handle
    return HandleRow(
        handle.name, handle.label, handle.words(), handle.stop, handle.changes(), handle.now,
        handle.low, handle.high, effect.reach, effect.height, effect.trunk, effect.hip,
        effect.front_seated, effect.front_standing, effect.fork_sag, effect.shock_sag,
        effect.trail,
    )  # fmt: skip


def _carried(
    found: Carried, position: tuple[Setting, ...], angles: tuple[Setting, ...]
) -> CarryAnswer:
    matches = tuple(MatchRow(item.what, item.was, item.miss, item.close) for item in found.matches)
    if found.gave:
        said = f"What had to give: {'; '.join(found.gave)}."
    else:
        said = "All three contacts come out where they were, within 3 mm."
    if found.parts:
        said += f" For it: {' and '.join(found.parts)}."
    return CarryAnswer(
        found.settings, matches, found.gave, found.parts, found.changes, position, angles, said
    )


def _redo(moved: Sequence[Moved]) -> Sequence[str]:
    """Settings that are made by hand and have moved by more than half a mark of their tool."""
    from cyclewright import units

    told = []
    for one in moved:
        item = one.setting
        if one.before is None or one.resolved is None or item.name not in _BY_HAND:
            continue
        step = units.convert(one.resolved, item.display) - units.convert(one.before, item.display)
        if abs(step) > 0.5 * item.graduation:
            told.append(f"{item.label or item.name}: {item.show()}")
    return told


_BY_HAND = {
    "saddle_height", "saddle_setback", "saddle_tilt", "spacers_under", "lever_angle",
    "lever_inboard", "lever_reach", "front_tyre_pressure", "rear_tyre_pressure", "fork_pressure",
    "shock_pressure", "shock_rate", "fork_rate", "fork_rebound", "fork_compression",
    "shock_rebound", "shock_compression",
}  # fmt: skip


def _codes(findings: Sequence[Finding]) -> list[str]:
    return [item.code for item in findings]


def _settings(items: Sequence[Setting], system: System) -> list[dict[str, Any]]:
    return [item.to_json(system) for item in items]


def _plain(row: Any) -> dict[str, Any]:
    from dataclasses import asdict

    return {
        key: list(value) if isinstance(value, tuple) else value
        for key, value in asdict(row).items()
    }


def _mm(length: float) -> str:
    return f"{length * 1000:.0f} mm"
