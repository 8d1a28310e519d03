"""Quick start: nine answers make a usable bike, rider and place.

The sheets hold what was answered and nothing else; every other field stands in them as a comment
that says whether it is taken by a labelled default until it is written, or has to be looked up.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from cyclewright.errors import InputError, Problem
from cyclewright.sheets import path as paths
from cyclewright.sheets.bike import Fastener
from cyclewright.sheets.build import build
from cyclewright.sheets.layout import Slot, slots
from cyclewright.sheets.model import MODELS, SheetKind
from cyclewright.sheets.raw import from_text
from cyclewright.sheets.sheets import Sheets, load
from cyclewright.sheets.spec import Spec, Table
from cyclewright.sheets.write import toml_value


@dataclass(frozen=True, slots=True)
class Ask:
    """One answer: its key, the question, how it is written, and the fields it becomes."""

    key: str
    question: str
    example: str
    fields: tuple[str, ...]
    kinds: tuple[str, ...] = ()
    """Kinds of bike that are asked; empty for all."""
    optional: bool = False
    options: tuple[str, ...] = ()

    def asked_of(self, kind: str | None) -> bool:
        """Whether this is asked of a bike of that kind; what depends on a kind waits for one."""
        return not self.kinds or kind in self.kinds


_KINDS = ("full-suspension", "hardtail", "rigid")
_YES_NO = ("yes", "no")

ASKS: tuple[Ask, ...] = (
    Ask("kind", "Which ends are sprung?", "full-suspension", ("bike.kind",), options=_KINDS),
    Ask("country", "Which country is it ridden in (two letters)?", "GB", ("place.country",)),
    Ask("fork_travel", "How much travel has the fork?", "140 mm", ("bike.fork.travel",),
        ("full-suspension", "hardtail")),
    Ask("rear_travel", "How much travel has the rear wheel?", "130 mm", ("bike.rear.travel",),
        ("full-suspension",)),
    Ask("shock_stroke", "How long is the shock's stroke?", "50 mm", ("bike.shock.stroke",),
        ("full-suspension",)),
    Ask("tyre", "What size is on the tyre's sidewall?", "29x2.4",
        ("bike.tyre.front.size", "bike.tyre.rear.size")),
    Ask("tubeless", "Tubeless, without inner tubes?", "yes",
        ("bike.tyre.front.tubeless", "bike.tyre.rear.tubeless"), options=_YES_NO),
    Ask("hooked", "Have the rims hooks inside their edges?", "yes",
        ("bike.wheel.front.hooked", "bike.wheel.rear.hooked"), options=_YES_NO),
    Ask("height", "How tall is the rider?", "1.75 m", ("rider.height",)),
    Ask("mass", "What does the rider weigh with kit on?", "82 kg", ("rider.mass",)),
    Ask("inseam", "What is the rider's inseam, if known?", "800 mm", ("rider.inseam",),
        optional=True),
)  # fmt: skip
KEYS: tuple[str, ...] = tuple(ask.key for ask in ASKS)


@dataclass(frozen=True, slots=True)
class QuickStart:
    """The three sheets as TOML."""

    bike_toml: str
    rider_toml: str
    place_toml: str

    def sheets(self) -> Sheets:
        """The sheets that these texts make."""
        return load(self.bike_toml, self.rider_toml, self.place_toml)


def quick_start(answers: Mapping[str, str]) -> QuickStart:
    """The sheets of these answers; every answer that is missing or wrong is told at once."""
    given = {key: str(text).strip() for key, text in answers.items() if str(text).strip()}
    problems = list(_misfits(given))
    tables: dict[SheetKind, dict[str, Any]] = {"bike": {}, "rider": {}, "place": {}}
    owners: dict[str, str] = {}
    for ask in ASKS:
        for field in ask.fields:
            owners[field] = ask.key
            if ask.key in given:
                place = paths.find(field)
                paths.put(tables[place.kind], place, from_text(given[ask.key], place.slot))
    tables["rider"]["mass_includes_kit"] = True
    models: dict[SheetKind, Table] = {}
    for kind, table in tables.items():
        found: list[Problem] = []
        models[kind] = build(table, kind, found)
        problems.extend(_as_answers(found, owners))
    if problems:
        raise InputError(dict.fromkeys(problems))
    return QuickStart(*(_sheet(kind, tables[kind]) for kind in MODELS))


def check(key: str, text: str) -> tuple[Problem, ...]:
    """What is wrong with one answer by itself."""
    try:
        quick_start({key: text})
    except InputError as error:
        return tuple(item for item in error.problems if item.field == key)
    return ()


def _misfits(given: Mapping[str, str]) -> Iterator[Problem]:
    """Answers that are missing, unknown, or belong to another kind of bike."""
    kind = given.get("kind")
    for ask in ASKS:
        if ask.key in given and kind in _KINDS and not ask.asked_of(kind):
            do = f"a {kind} has none: leave this answer out, or correct kind"
            yield Problem("not-asked", ask.key, do, given[ask.key])
        elif ask.key not in given and not ask.optional and ask.asked_of(kind):
            do = f'is missing: {ask.question} Write it like "{ask.example}"'
            yield Problem("missing", ask.key, do)
    for key in given:
        if key not in KEYS:
            near = difflib.get_close_matches(key, KEYS, 1)
            do = f"did you mean {near[0]}?" if near else f"the answers are {', '.join(KEYS)}"
            yield Problem("unknown-key", key[:40], do)


def _as_answers(problems: list[Problem], owners: Mapping[str, str]) -> Iterator[Problem]:
    """A sheet's problems under the answers' own names; what is missing was told already."""
    for problem in problems:
        key = owners.get(problem.field)
        if key is None or problem.code in ("missing", "kinds-clash"):
            continue
        do = problem.do
        for field, owner in owners.items():
            do = do.replace(field, owner)
        do = do.replace("write true or false, without quotes", "write yes or no")
        yield Problem(problem.code, key, do, problem.value, problem.unit, problem.allowed)


_HEAD = {
    "bike": "A bike from the quick start: only what was answered is written.",
    "rider": "A rider from the quick start: only what was answered is written.",
    "place": "A place from the quick start: only what was answered is written.",
}
_LEGEND = (
    'A line after # is not written yet. "look up": nobody may guess it, it is asked for when a\n'
    '# step needs it. "usual": a labelled default stands in until it is written. "if known":\n'
    "# it helps, and nothing stands in for it."
)
_WORDS = {"ask": "look up", "labelled default": "usual", "optional": "if known"}


def _sheet(kind: SheetKind, table: dict[str, Any]) -> str:
    skip = _not_of(table) if kind == "bike" else frozenset()
    lines = [f"# {_HEAD[kind]}", f"# {_LEGEND}", "", *_body(MODELS[kind], table, "", skip)]
    return "\n".join(lines) + "\n"


def _not_of(table: dict[str, Any]) -> frozenset[str]:
    """Tables that a bike of this kind has not."""
    return frozenset() if table.get("kind") == "full-suspension" else frozenset({"shock", "rear"})


def _body(
    model: type[Table], table: Mapping[str, Any], path: str, skip: frozenset[str]
) -> Iterator[str]:
    """Every field of a table, written or as a comment; then the tables inside it."""
    names = slots(model)
    for name, slot in names.items():
        if slot.spec is not None:
            yield _line(name, slot, slot.spec, table.get(name))
    for name, slot in names.items():
        inner = f"{path}.{name}" if path else name
        if slot.table is None or inner in skip:
            continue
        if slot.role == "table":
            yield ""
            if any(item.spec is not None for item in slots(slot.table).values()):
                yield f"[{inner}]"
            yield from _body(slot.table, table.get(name, {}), inner, skip)
        elif slot.table is not Fastener:
            yield ""
            yield f"# {_sample(name, inner, slot)}"
    if model is MODELS["bike"]:
        yield from _FASTENERS


_FASTENERS = (
    "",
    "# One table for each joint whose figure you read on the part, for example:",
    "# [fastener.stem_pinch]",
    '# part = "stem"',
    '# min = "5 N.m"  # or target = …, or max = … alone: as it is marked',
    '# max = "6 N.m"',
)


def _line(name: str, slot: Slot, spec: Spec, value: Any) -> str:
    if value is not None:
        return f"{name} = {toml_value(value)}"
    return f"# {name} = {_blank(slot, spec)}  # {_WORDS[spec.policy]}: {spec.meaning}"


def _blank(slot: Slot, spec: Spec) -> str:
    """How the value would be written, with an ellipsis for what is not known."""
    if spec.shape == "quantity":
        one = f'"… {spec.unit}"' if spec.unit else "…"
    elif spec.shape == "choice":
        text = isinstance(slot.allowed[0], str)
        one = " or ".join(f'"{item}"' if text else str(item) for item in slot.allowed)
    else:
        one = {"count": "…", "flag": "true or false"}.get(spec.shape, '"…"')
    return f"[{one}]" if spec.many else one


def _sample(name: str, path: str, slot: Slot) -> str:
    assert slot.table is not None
    fields = ", ".join(slots(slot.table))
    header = f"[[{path}]]" if slot.role == "rows" else f"[{path}.NAME]"
    return f"{header} once for each, with {fields}"
