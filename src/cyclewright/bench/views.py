"""How answers look: interval bars, words for kinds, split values. No sums and no state."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, is_dataclass, replace
from datetime import date, datetime
from typing import Any

from cyclewright import units
from cyclewright.bench.titles import title
from cyclewright.errors import Problem
from cyclewright.setting import BASIS_WORD, BASIS_WORDS, Setting

STAGES = ("Receive", "Build", "Fit", "Base", "Prove", "Release", "Care")
RIDE_GATE_BEFORE = "Prove"
"""The ride gate stands between Base and Prove."""

_CAUTION_WORDS = {"stop": "Stop.", "check": "Check.", "know": "Know."}
_SEVERITY_ICONS = {"stop": "stop", "warn": "check", "note": "know"}
_SEVERITY_WORDS = {"stop": "Stop", "warn": "Look at this", "note": "Good to know"}


@dataclass(frozen=True, slots=True)
class Bar:
    """An interval drawn on a strip 100 wide: band, value and the limits that fall on it."""

    low: float
    high: float
    value: float
    limits: tuple[tuple[float, str], ...]

    @property
    def width(self) -> float:
        """Width of the band."""
        return round(self.high - self.low, 2)


@dataclass(frozen=True, slots=True)
class Shown:
    """A setting's number in the unit of its tool, in parts that a page can align."""

    value: str
    unit: str
    interval: str
    """`74 to 82`, empty when the ends round to the value."""


_PARTS = re.compile(r"(?P<value>[-+.\d]+)(?: \((?P<interval>[^)]*)\))? ?(?P<unit>.*)")


def shown(setting: Setting, system: units.System = "trade") -> Shown:
    """A setting's value, unit and interval rounded to the tool, in a system of units."""
    parts = _PARTS.fullmatch(setting.show(system))
    if parts is None:
        return Shown("none", "", "")
    return Shown(parts["value"], parts["unit"], parts["interval"] or "")


def bar(setting: Setting) -> Bar | None:
    """The interval bar of a setting, None when it has no interval."""
    value, low, high = setting.value, setting.low, setting.high
    if value is None or low is None or high is None or high <= low:
        return None
    left, right = min(low, value), max(high, value)
    reach = right - left
    near = [lim for lim in setting.limits if left - reach <= lim.value <= right + reach]
    left = min([left, *(lim.value for lim in near)])
    right = max([right, *(lim.value for lim in near)])
    edge = 0.12 * (right - left)
    left, right = left - edge, right + edge

    def along(point: float) -> float:
        return round(100.0 * (point - left) / (right - left), 2)

    limits = tuple((along(lim.value), lim.kind) for lim in near)
    return Bar(along(low), along(high), along(value), limits)


def caution_word(kind: str) -> str:
    """The word that goes with a caution's icon."""
    return _CAUTION_WORDS.get(kind, "Know.")


def basis_short(basis: str) -> str:
    """The basis of a setting in a word."""
    return BASIS_WORD.get(basis, basis)


def basis_words(basis: str) -> str:
    """The basis of a setting in a phrase."""
    return BASIS_WORDS.get(basis, basis)


def severity_icon(severity: str) -> str:
    """The icon of a finding."""
    return _SEVERITY_ICONS.get(severity, "know")


def severity_word(severity: str) -> str:
    """The word of a finding."""
    return _SEVERITY_WORDS.get(severity, "Good to know")


def number(value: float) -> str:
    """A number without a tail of zeros."""
    return f"{value:.10g}"


def in_unit(
    value: float | None, display: str, graduation: float, system: units.System = "trade"
) -> str:
    """An SI value rounded to its tool, or a dash."""
    return "–" if value is None else units.show(value, display, graduation, system)


def minutes(total: float) -> str:
    """Minutes as people say them."""
    whole = max(1, round(total))
    hours, rest = divmod(whole, 60)
    if hours == 0:
        return f"{whole} min"
    return f"{hours} h" if rest == 0 else f"{hours} h {rest} min"


def count(number_of: int, one: str, many: str) -> str:
    """`1 step`, `3 steps`."""
    return f"{number_of} {one if number_of == 1 else many}"


def grouped(items: Iterable[Any], key: Callable[[Any], str]) -> dict[str, list[Any]]:
    """Items under their key, in order of first appearance."""
    out: dict[str, list[Any]] = {}
    for item in items:
        out.setdefault(key(item), []).append(item)
    return out


def plain(answer: Any) -> Any:
    """An answer as plain data: its own `to_json`, or its fields."""
    if hasattr(answer, "to_json"):
        return answer.to_json()
    if is_dataclass(answer) and not isinstance(answer, type):
        return asdict(answer)
    return answer


def told(problem: Problem) -> str:
    """A problem as a sentence, its sheet field in words, unless it is the field's name itself."""
    if not _FIELD.fullmatch(problem.field):
        return sentence(replace(problem, field=problem.field.replace("_", " ")).line())
    if "did you mean" in problem.do:
        return problem.line()
    return sentence(replace(problem, field=field_words(problem.field)).line())


def pressures(problems: Iterable[Problem]) -> tuple[str, ...]:
    """The pressures between which a ring asks: as advised, and as on record."""
    asked = next((one for one in problems if one.code == "which-pressure"), None)
    return () if asked is None else tuple((asked.allowed or "").split(", "))


def sentence(text: object) -> str:
    """Text with a capital at its start and a full stop at its end."""
    said = sentence_start(text)
    return said if not said or said[-1] in ".!?:" else f"{said}."


def sentence_start(text: object) -> str:
    """Text with a capital at its start."""
    said = str(text).strip()
    return said[:1].upper() + said[1:]


def clip(text: str, longest: int) -> str:
    """Text cut at a word when it is longer than fits.

    >>> clip("Turn the fork to face forward", 16)
    'Turn the fork …'
    """
    return text if len(text) <= longest else f"{text[: longest - 1].rpartition(' ')[0]} …"


def words(name: str) -> str:
    """A field or setting name in words."""
    return sentence_start(name.replace("_", " ").replace("-", " "))


_FIELD = re.compile(r"\b(?:bike|rider|place)\.([a-z][a-z0-9_.]*[a-z0-9])(\+?=)?")
_DAY = re.compile(r"\b(\d{4})-(\d{2})-(\d{2})\b(?!T)")
_ENTRY = re.compile(r" ?\(event \d+\)")
_OWNERS = frozenset({"front", "rear", "fork", "shock", "post", "pedal"})
"""Parts without whose name a field of theirs could be another's."""
_ENDS = {"max": "at most", "min": "at least", "target": "target"}


def field_words(path: str) -> str:
    """A sheet field as a person calls it.

    >>> field_words("bike.fastener.grips.max"), field_words("bike.cockpit.bar_rise")
    ('Grips torque, at most', 'Bar rise')
    >>> field_words("bike.fork.travel"), field_words("bike.tyre.front.size")
    ('Fork travel', 'Front tyre size')
    >>> field_words("bike.shock.sag_target"), field_words("bike.wheel.rear.rim_width")
    ('Shock sag target', 'Rear rim width')
    """
    *parts, last = path.split(".")
    if "fastener" in parts and parts[-1] != "fastener":
        return f"{words(parts[-1])} torque, {_ENDS.get(last, words(last).lower())}"
    owner = parts[-1] if parts else ""
    last = last.replace("bb_", "bottom_bracket_")
    if owner in ("", "place") or ("_" in last and owner not in _OWNERS):
        return words(last)
    named = parts[-2] if owner in ("front", "rear") and "_" not in last else ""
    return words(f"{owner} {named if named not in ('', 'bike') else ''} {last}".replace("  ", " "))


def plainly(text: str) -> str:
    """What the record says with its sheet fields and days in words, without numbers of entries.

    >>> plainly("bike.cockpit.bar_rise=30 mm changed (event 9)")
    'Bar rise 30 mm changed'
    >>> plainly("bike.cockpit.bar_rise+=-5 mm changed; fork: promised for 2026-12-04")
    'Bar rise by -5 mm changed; fork: promised for 4 December 2026'
    """

    def named(found: re.Match[str]) -> str:
        by = {"+=": " by ", "=": " "}.get(found[2] or "", "")
        return field_words(found[0].rstrip("+=")) + by

    def called(found: re.Match[str]) -> str:
        try:
            when = date(*map(int, found.groups()))
        except ValueError:
            return found[0]
        return f"{when.day} {when:%B %Y}"

    return _DAY.sub(called, _FIELD.sub(named, _ENTRY.sub("", text)))


def choice_words(option: str) -> str:
    """A word that a step offers, as its button says it.

    >>> choice_words("front-left"), choice_words("nothing to remark")
    ('Left hand', 'Nothing to remark')
    """
    hands = {"front-left": "Left hand", "front-right": "Right hand"}
    return hands.get(option, sentence_start(option))


def written(value: str) -> str:
    """A value of a sheet as a page shows it; a dash where nothing is written.

    >>> written("true"), written("30 mm"), written("")
    ('yes', '30 mm', '–')
    """
    return {"true": "yes", "false": "no", "": "–"}.get(value, value)


def moment(stamp: str) -> str:
    """A server time as a day and an hour, in this machine's zone."""
    try:
        when = datetime.fromisoformat(stamp).astimezone()
    except ValueError:
        return stamp
    return f"{when.day} {when:%B %Y, %H:%M}"


def day(stamp: str) -> str:
    """A server time as a day."""
    return moment(stamp).rpartition(",")[0] or stamp


def once(items: Sequence[Any]) -> list[Any]:
    """Findings and questions told once, the gravest first."""
    grave = {"stop": 0, "warn": 1}
    kept = {
        getattr(item, "code", item.field if hasattr(item, "field") else "")
        + "|".join(getattr(item, "facts", ())): item
        for item in reversed(items)
    }
    found = list(reversed(kept.values()))
    return sorted(found, key=lambda item: grave.get(getattr(item, "severity", ""), 2))


def _small(text: str) -> str:
    """Words that go on after a colon."""
    return text[:1].lower() + text[1:]


TEMPLATE_GLOBALS: Mapping[str, Any] = {
    "STAGES": STAGES,
    "RIDE_GATE_BEFORE": RIDE_GATE_BEFORE,
    "bar": bar,
    "basis_short": basis_short,
    "basis_words": basis_words,
    "caution_word": caution_word,
    "count": count,
    "fresh": lambda: str(uuid.uuid4()),
    "in_unit": in_unit,
    "severity_icon": severity_icon,
    "severity_word": severity_word,
    "shown": shown,
}
TEMPLATE_FILTERS: Mapping[str, Callable[..., Any]] = {
    "choice_words": choice_words,
    "clip": clip,
    "day": day,
    "field_words": field_words,
    "minutes": minutes,
    "moment": moment,
    "number": number,
    "plainly": plainly,
    "written": written,
    "told": told,
    "sentence": sentence,
    "sentence_start": sentence_start,
    "title_of": lambda code: _small(title(code)),
    "words": words,
}
