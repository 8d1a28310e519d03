"""The steps of a build, as data: what to do, when, after what, how it is proved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Literal, cast

from cyclewright.knowledge import data
from cyclewright.knowledge.compounds import USES, Use
from cyclewright.knowledge.conditions import Condition, conditions_from
from cyclewright.knowledge.states import ways_from

STAGES = ("Receive", "Build", "Fit", "Base", "Prove", "Release", "Care")
Evidence = Literal["tick", "torque", "value", "photo", "text"]
EVIDENCE: tuple[Evidence, ...] = ("tick", "torque", "value", "photo", "text")
CautionKind = Literal["stop", "check", "know"]
CAUTIONS: tuple[CautionKind, ...] = ("stop", "check", "know")
_REQUIRED = {"id", "do", "why", "minutes"}
_OPTIONAL = {
    "applies", "needs", "joints", "tool", "torque", "compound", "cautions", "evidence",
    "record", "safety", "group", "packing", "loosens", "round", "others", "check", "pair",
    "source", "after", "reads", "opens", "if_opened", "told", "finds", "leaves", "seated",
    "may_wait",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution on a step: stop, check or know."""

    kind: CautionKind
    text: str


@dataclass(frozen=True, slots=True)
class Record:
    """What a step writes down: in which unit, within what, and which setting it is."""

    what: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    expect: float | None = None
    """Where a stepper starts when no setting says."""
    setting: str = ""
    """Name of the advised setting whose value is expected."""
    reading: str = ""
    """Kind of the reading that this is."""
    options: tuple[str, ...] = ()
    """Words to choose from instead of typing."""
    day: bool = False
    """Whether its words must hold a day, like 2031-05-24; in a plan only where a rider is known."""
    must_be: str = ""
    """In the knowledge the fact, in a plan the word, that alone proves the step."""
    sheet: str = ""
    """The sheet's field that it reads off the bike: another answer is put on the sheet first."""
    limit: str = ""
    """Name of the limit it is held against, where it is no setting."""
    names: str = ""
    """In the knowledge the fact, in a plan the word, that its words must name."""
    letters: int = 0
    """How many letters and digits its words hold at least."""


@dataclass(frozen=True, slots=True)
class Materials:
    """The two parts whose materials say what goes between them: fields, or a material itself."""

    use: Use
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the trade's knowledge, before it is laid on a bike."""

    id: str
    stage: str
    station: str
    place: int
    """Position in the knowledge, which orders steps of one station."""
    do: str
    why: str
    applies: tuple[Condition, ...]
    needs: tuple[str, ...]
    """Steps that come before this one, or joints, for the steps that set them."""
    after: tuple[str, ...]
    """Those of them that only come before: done again, they take nothing away here."""
    joints: tuple[str, ...]
    """Joints it sets or proves: touching one takes its evidence away."""
    reads: bool
    """Whether it only reads or proves its joints: done again, it opens none of them."""
    tool: str
    torque: str
    """The joint whose torque it sets; empty for none."""
    compound: str
    cautions: tuple[Caution, ...]
    evidence: tuple[Evidence, ...]
    record: Record | None
    safety: str
    """The gate item that it proves; empty for none."""
    minutes: float
    group: str
    """Lines of one group are ticked together on the station's card."""
    packing: str
    """What undoes it for travel; empty for nothing."""
    loosens: tuple[str, ...]
    """Joints that its packing opens, and so those that are done again on arrival."""
    round: tuple[str, ...]
    """Joints it goes round in one go."""
    check: str
    """What to do instead where the sheet says that its joint is only checked."""
    others: bool
    """Whether its round takes in what the sheet lists and no other step knows."""
    pair: Materials | None
    """The parts between which its compound goes, where their materials decide."""
    source: str
    opens: tuple[str, ...] = ()
    """Joints that doing it opens, and which further steps close again."""
    if_opened: str = ""
    """The joint it closes or proves: it is needed only once that was opened; empty for always."""
    may_wait: bool = False
    """Whether it may be put off past the release: it then stands on the sheet, with why."""
    told: str = ""
    """What paper says of it to the rider, by the shop; empty for the words of the bench."""
    finds: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """How things of the bike have to stand before it, each in one of these ways."""
    leaves: Mapping[str, str] = field(default_factory=dict)
    """How things of the bike stand after it."""
    seated: bool = False
    """Whether somebody sits on the bike: then all stands as it may be ridden."""


@lru_cache(maxsize=1)
def steps() -> tuple[Step, ...]:
    """Every step, in stage, station and file order."""
    found: list[Step] = []
    for name in data.files():
        if name.startswith("steps/"):
            found.extend(_file(name, len(found)))
    stations = list(dict.fromkeys((step.stage, step.station) for step in found))
    return tuple(
        sorted(
            found,
            key=lambda s: (STAGES.index(s.stage), stations.index((s.stage, s.station)), s.place),
        )
    )


def told(step: str, do: str) -> str:
    """What paper says to the rider of a step that reads `do` on the bench.

    >>> told("explained-settings", "Go through the setting card.").startswith("We went through")
    True
    >>> told("a-step-of-an-older-plan", "Fit the rack.")
    'Fit the rack.'
    """
    known = next((item.told for item in steps() if item.id == step), "")
    return known or do


def digest() -> str:
    """SHA-256 over all knowledge data, by which a plan knows what it was made from."""
    return data.digest()


def _file(name: str, start: int) -> list[Step]:
    content = data.table(name)
    if content.get("stage") not in STAGES or not content.get("station"):
        raise data.knowledge_error(name, f"name a station and one of the stages {STAGES}")
    rows = content.get("step", [])
    return [_step(name, content, start + offset, row) for offset, row in enumerate(rows)]


def _step(name: str, content: Mapping[str, Any], place: int, row: Mapping[str, Any]) -> Step:
    where = f"{name} [{row.get('id', f'step {place}')}]"
    if missing := _REQUIRED - set(row):
        raise data.knowledge_error(where, f"missing keys: {', '.join(sorted(missing))}")
    if unknown := set(row) - _REQUIRED - _OPTIONAL:
        raise data.knowledge_error(where, f"unknown keys: {', '.join(sorted(unknown))}")
    return Step(
        id=row["id"],
        stage=content["stage"],
        station=content["station"],
        place=place,
        do=row["do"],
        why=row["why"],
        applies=conditions_from(row.get("applies", []), where),
        needs=tuple(row.get("needs", ())),
        after=_after(row, where),
        joints=tuple(row.get("joints", ())),
        reads=bool(row.get("reads", False)),
        tool=row.get("tool", ""),
        torque=row.get("torque", ""),
        compound=row.get("compound", ""),
        cautions=_cautions(row.get("cautions", []), where),
        evidence=_evidence(row.get("evidence", ["tick"]), where),
        record=_record(row.get("record"), where),
        safety=row.get("safety", ""),
        minutes=float(row["minutes"]),
        group=row.get("group", ""),
        packing=row.get("packing", ""),
        loosens=tuple(row.get("loosens", ())),
        round=tuple(row.get("round", ())),
        check=row.get("check", ""),
        others=bool(row.get("others", False)),
        pair=_materials(row.get("pair"), where),
        source=row.get("source", content.get("source", "")),
        opens=tuple(row.get("opens", ())),
        if_opened=row.get("if_opened", ""),
        may_wait=bool(row.get("may_wait", False)),
        told=row.get("told", ""),
        finds=ways_from(row.get("finds", {}), where),
        leaves=_leaves(row.get("leaves", {}), where),
        seated=bool(row.get("seated", False)),
    )


def _leaves(row: object, where: str) -> dict[str, str]:
    found = ways_from(row, where)
    if several := [name for name, ways in found.items() if len(ways) != 1]:
        raise data.knowledge_error(where, f"leave {', '.join(several)} in one way")
    return {name: ways[0] for name, ways in found.items()}


def _after(row: Mapping[str, Any], where: str) -> tuple[str, ...]:
    after = tuple(row.get("after", ()))
    if strange := set(after) - set(row.get("needs", ())):
        raise data.knowledge_error(where, f"not among its needs: {', '.join(sorted(strange))}")
    return after


def _cautions(rows: list[dict[str, str]], where: str) -> tuple[Caution, ...]:
    if len(rows) > 3:
        raise data.knowledge_error(where, "at most three cautions on a step")
    for row in rows:
        if set(row) != {"kind", "text"} or row["kind"] not in CAUTIONS:
            raise data.knowledge_error(where, "a caution is {kind, text}: stop, check or know")
    return tuple(Caution(cast(CautionKind, row["kind"]), row["text"]) for row in rows)


def _materials(row: dict[str, str] | None, where: str) -> Materials | None:
    if row is None:
        return None
    if set(row) != {"use", "a", "b"} or row["use"] not in USES:
        raise data.knowledge_error(where, f"a pair is {{use, a, b}}, use one of {', '.join(USES)}")
    return Materials(row["use"], row["a"], row["b"])


def _evidence(kinds: list[str], where: str) -> tuple[Evidence, ...]:
    if not kinds or any(kind not in EVIDENCE for kind in kinds):
        raise data.knowledge_error(where, f"evidence is of {', '.join(EVIDENCE)}")
    return tuple(cast(Evidence, kind) for kind in kinds)


def _record(row: dict[str, Any] | None, where: str) -> Record | None:
    try:
        return None if row is None else Record(**row | {"options": tuple(row.get("options", ()))})
    except TypeError as error:
        raise data.knowledge_error(where, f"put the record right: {error}") from error
