"""The plan of one bike: only the steps that it needs, in a right order, each with its torque.

Conditions have three values. A step that hangs on an unknown fact stays out, and the plan asks
for that fact. The plan runs no sums: torque windows and derived facts are handed to it.
"""

from __future__ import annotations

import heapq
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from typing import Any

from cyclewright.advice.holding import Holding
from cyclewright.advice.torque import TorqueWindow
from cyclewright.knowledge import compounds
from cyclewright.knowledge.conditions import Facts, holds, unknown_fields
from cyclewright.knowledge.data import knowledge_error
from cyclewright.knowledge.derived import derived as derived_facts
from cyclewright.knowledge.fasteners import Fastener, applying, fastener, fasteners, hex_key
from cyclewright.knowledge.questions import (
    asked_when_absent,
    beside,
    questions,
    torque_questions,
)
from cyclewright.knowledge.steps import Caution, Evidence, Record, Step, steps
from cyclewright.setting import Question

_HANDS = {"front-left": "left", "front-right": "right"}
_TITANIUM = ("titanium", "ti", "grade 5", "ti-6al-4v")
_PUMP = "suspension_pump"
_OVER_MAST = "how far the head reaches over the frame's mast"
_BLANK = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True, slots=True)
class Bolt:
    """One joint of a round: what turns it, what it is set to, and whether it is set at all."""

    joint: str
    label: str
    place: int
    """Where it stands from the front of the bike to its back."""
    verb: str
    tool: str
    compound: str
    torque: TorqueWindow | None
    hand: str = ""
    """Hand of its thread in words; empty where it is right-hand."""
    holding: Holding | None = None
    """What its setting is worth in preload and moment, where that can be said."""


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """One step as this bike needs it."""

    id: str
    stage: str
    station: str
    do: str
    tool: str
    torque: TorqueWindow | None
    compound: str
    cautions: tuple[Caution, ...]
    evidence: tuple[Evidence, ...]
    needs: tuple[str, ...]
    """Steps of this plan that come before it."""
    minutes: float
    safety: str
    """The gate item that it proves; empty for none."""
    joints: tuple[str, ...]
    """Joints it sets or proves: touching one takes its evidence away."""
    why: str
    group: str
    """Lines of one group are ticked together on the station's card; empty stands alone."""
    record: Record | None = None
    bolts: tuple[Bolt, ...] = ()
    packing: str = ""
    """What undoes it for travel; empty for nothing."""
    loosens: tuple[str, ...] = ()
    """Joints that its packing opens, and so those that are done again on arrival."""
    source: str = ""
    after: tuple[str, ...] = ()
    """Those of `needs` that only come before: done again, they take nothing away here."""
    reads: bool = False
    """Whether it only reads or proves its joints: done again, it opens none of them."""
    if_opened: str = ""
    """The joint without whose opening nobody needs it; empty where it is needed anyway."""
    may_wait: bool = False
    """Whether it may be put off past the release."""

    def to_json(self) -> dict[str, Any]:
        """The contract's step."""
        data = asdict(self)
        for name in ("evidence", "needs", "joints", "cautions", "bolts", "loosens", "after"):
            data[name] = list(data[name])
        if self.record is not None:
            data["record"]["options"] = list(self.record.options)
        return data


@dataclass(frozen=True, slots=True)
class Undecided:
    """A step that this bike may need: nobody has said the facts that decide it."""

    id: str
    stage: str
    safety: str
    """The gate item that it would prove; empty for none."""
    fields: tuple[str, ...]
    """What to look up, as fields of the sheets."""
    ask: str
    """The first of them as a question."""
    holds: bool = True
    """Whether a gate waits for it: not where silence usually means that there is no such part."""


@dataclass(frozen=True, slots=True)
class Card:
    """One station's card: its lines, each the steps that are ticked together."""

    stage: str
    station: str
    lines: tuple[tuple[PlannedStep, ...], ...]

    @property
    def minutes(self) -> float:
        """How long the card takes."""
        return sum(step.minutes for line in self.lines for step in line)


@dataclass(frozen=True, slots=True)
class Plan:
    """Steps in order, and what to look up before the plan is whole."""

    steps: tuple[PlannedStep, ...]
    questions: tuple[Question, ...]
    undecided: tuple[Undecided, ...] = ()
    """Steps left out while a fact that decides them is unknown: they hold their gates."""

    @property
    def minutes(self) -> float:
        """How long the whole plan takes."""
        return sum(step.minutes for step in self.steps)

    def step(self, name: str) -> PlannedStep | None:
        """The step of that id, or None when this bike does not need it."""
        return next((step for step in self.steps if step.id == name), None)

    def cards(self) -> tuple[Card, ...]:
        """The station cards in order."""
        stations: dict[tuple[str, str], list[list[PlannedStep]]] = {}
        for step in self.steps:
            lines = stations.setdefault((step.stage, step.station), [])
            if lines and step.group and lines[-1][-1].group == step.group:
                lines[-1].append(step)
            else:
                lines.append([step])
        return tuple(
            Card(stage, station, tuple(tuple(line) for line in lines))
            for (stage, station), lines in stations.items()
        )

    def bolts(self) -> tuple[Bolt, ...]:
        """Every joint of the bolt round, front to back."""
        found = {bolt.joint: bolt for step in self.steps for bolt in step.bolts}
        return tuple(sorted(found.values(), key=lambda bolt: bolt.place))

    def to_json(self) -> dict[str, Any]:
        """The contract's `plan` document."""
        return {
            "steps": [step.to_json() for step in self.steps],
            "questions": [item.to_json() for item in self.questions],
            "undecided": [asdict(item) | {"fields": list(item.fields)} for item in self.undecided],
        }


def make_plan(
    facts: Facts,
    torques: Mapping[str, TorqueWindow],
    derived: Facts | None = None,
    holdings: Mapping[str, Holding] | None = None,
    spare: bool = False,
) -> Plan:
    """The plan of the bike with these facts; `torques` are its windows by joint.

    `holdings` say what each setting is worth, for the torque card. What closes and proves a joint
    is in the plan where one of its own steps opens it; with `spare` the rest of it, too, marked
    with the joint, for the record to bring in once that was opened.
    """
    known = _known(facts, derived or {})
    chosen: list[Step] = []
    asked: dict[str, Question] = {}
    undecided: list[Undecided] = []
    opened = {joint for step in steps() if holds(step.applies, known) for joint in step.opens}
    for step in steps():
        if step.if_opened:
            if (spare or step.if_opened in opened) and holds(step.applies, known) is not False:
                chosen.append(step)
            continue
        if holds(step.applies, known):
            chosen.append(step)
        found = _asks(step, known)
        undecided += _undecided(step, found, True) + _undecided(step, _silent(step, known), False)
        for question in found:
            for one in (question, *beside(question.field, known)):
                asked.setdefault(one.field, one)
    undecided += _closing(undecided, chosen, known)
    needs = {step.id: _needs(step, chosen) for step in chosen}
    planned = [
        replace(item, if_opened="") if item.if_opened in opened else item
        for item in (_planned(s, needs[s.id], known, torques) for s in _ordered(chosen, needs))
    ]
    set_by = {step.torque: step.id for step in chosen if step.torque}
    planned = _one_compound(planned, set_by)
    worth = [_with_holdings(step, holdings) for step in planned] if holdings else planned
    whole = _without_empty_rounds(worth, chosen)
    for step in chosen:
        if step.if_opened and step.if_opened not in opened:
            continue
        for question in _asks_torque(step, known, torques):
            asked.setdefault(question.field, question)
    return Plan(whole, tuple(asked.values()), tuple(undecided))


def _known(facts: Facts, derived: Facts) -> dict[str, object]:
    """Sheet facts and derived ones together; what is None is not known."""
    stated = {name: value for name, value in facts.items() if value is not None}
    given = {name: value for name, value in derived.items() if value is not None}
    return stated | derived_facts(stated) | given


def _asks(step: Step, known: Facts) -> tuple[Question, ...]:
    """What to look up before it can be said whether this bike needs the step.

    Later conditions matter only once the earlier ones hold, so the first unknown one is asked.
    """
    if holds(step.applies, known) is not None:
        return ()
    first = next(item for item in step.applies if item.holds(known) is None)
    return questions(first.field, known)


def _silent(step: Step, known: Facts) -> tuple[Question, ...]:
    """What a sheet's silence alone leaves out: named, and demanded by nobody."""
    failed = [item for item in step.applies if item.holds(known) is False]
    if len(failed) != 1 or failed[0].op != "stated" or not asked_when_absent(failed[0].field):
        return ()
    return questions(failed[0].field, known)


def _closing(
    undecided: Sequence[Undecided], chosen: Sequence[Step], known: Facts
) -> list[Undecided]:
    """Steps needed once a joint is opened, where nobody can say yet whether a step opens it."""
    there = {step.id for step in chosen}
    asked = {joint: row for row in undecided for joint in _opens()[row.id]}
    return [
        replace(row, id=step.id, stage=step.stage, safety=step.safety)
        for step in steps()
        if (row := asked.get(step.if_opened)) is not None
        and step.id not in there
        and holds(step.applies, known) is not False
    ]


@lru_cache(maxsize=1)
def _opens() -> dict[str, tuple[str, ...]]:
    """The joints that each step of the knowledge opens by its own doing."""
    return {step.id: step.opens for step in steps()}


def _undecided(step: Step, asks: Sequence[Question], holds_up: bool) -> list[Undecided]:
    if not asks:
        return []
    fields = tuple(question.field for question in asks)
    return [Undecided(step.id, step.stage, step.safety, fields, asks[0].ask, holds_up)]


def _asks_torque(
    step: Step, known: Facts, torques: Mapping[str, TorqueWindow]
) -> tuple[Question, ...]:
    """The figure of a joint that this step sets and that nobody may guess."""
    joint = fastener(step.torque, known) if step.torque else None
    if joint is None or joint.kind == "hand" or joint.name in torques:
        return ()
    if _verb(joint, known) == "leave":
        return ()
    for when, over in joint.variants:
        if "kind" in over and (fields := unknown_fields(when, known)):
            return questions(fields[0], known)
    return torque_questions(joint.name, joint.label)


def _needs(step: Step, chosen: Sequence[Step]) -> tuple[str, ...]:
    """Ids of the steps in this plan that come before; a joint stands for those that set it.

    A round rests on every step that sets its joints: a clamp left open is not gone round.
    """
    found: list[str] = []
    ids = {other.id for other in chosen}
    for need in (*step.needs, *step.round):
        if need in ids:
            found.append(need)
        elif need in fasteners():
            setting = [o for o in chosen if need in o.joints and o.place < step.place]
            found += [o.id for o in setting if not (o.reads and need in step.round)]
    return tuple(dict.fromkeys(found))


def _ordered(chosen: Sequence[Step], needs: Mapping[str, tuple[str, ...]]) -> list[Step]:
    """Every step after what it needs, else in the order of the knowledge."""
    rank = {step.id: place for place, step in enumerate(chosen)}
    waiting = {name: len(first) for name, first in needs.items()}
    after: dict[str, list[str]] = {name: [] for name in rank}
    for name, first in needs.items():
        for need in first:
            after[need].append(name)
    ready = [rank[name] for name, count in waiting.items() if count == 0]
    heapq.heapify(ready)
    found: list[Step] = []
    while ready:
        step = chosen[heapq.heappop(ready)]
        found.append(step)
        for name in after[step.id]:
            waiting[name] -= 1
            if waiting[name] == 0:
                heapq.heappush(ready, rank[name])
    if len(found) < len(chosen):
        stuck = sorted(set(rank) - {step.id for step in found})
        raise knowledge_error("steps", f"these steps wait for each other: {', '.join(stuck)}")
    return found


def _planned(
    step: Step, needs: tuple[str, ...], known: Facts, torques: Mapping[str, TorqueWindow]
) -> PlannedStep:
    """The step as it is on this bike."""
    bolts = tuple(_bolts(step, known, torques))
    planned = PlannedStep(
        id=step.id,
        stage=step.stage,
        station=step.station,
        do=filled(step.do, known),
        tool=_once(filled(_there(step.tool, known), known)),
        torque=None,
        compound=_between(step, known) or step.compound,
        cautions=step.cautions,
        evidence=step.evidence,
        needs=needs,
        minutes=step.minutes,
        safety=step.safety,
        joints=tuple(dict.fromkeys((*step.joints, *(bolt.joint for bolt in bolts)))),
        why=step.why,
        group=step.group,
        record=_recorded(step.record, known),
        bolts=bolts,
        packing=step.packing,
        loosens=step.loosens,
        source=step.source,
        after=tuple(need for need in needs if need in step.after),
        reads=step.reads,
        if_opened=step.if_opened,
        may_wait=step.may_wait,
    )
    joint = fastener(step.torque, known) if step.torque else None
    return planned if joint is None else _torqued(planned, step, joint, known, torques)


def _torqued(
    planned: PlannedStep,
    step: Step,
    joint: Fastener,
    known: Facts,
    torques: Mapping[str, TorqueWindow],
) -> PlannedStep:
    """The step with its joint's window, tool and compound; a bonded joint is left alone."""
    verb = _verb(joint, known)
    if verb == "leave":
        evidence = tuple(kind for kind in step.evidence if kind != "torque") or ("tick",)
        do = f"Leave the {joint.label} as it came: see that its bond or paint line is whole."
        return replace(planned, do=do, evidence=evidence, tool="eyes", compound="")
    return replace(
        planned,
        do=step.check if verb == "check" and step.check else planned.do,
        tool=planned.tool or _tool(joint, known),
        compound=_both(planned.compound, joint, known),
        torque=torques.get(joint.name),
    )


def _bolts(step: Step, known: Facts, torques: Mapping[str, TorqueWindow]) -> Iterator[Bolt]:
    """The joints of a round that this bike has; its catch-all takes what no round names."""
    if not step.round:
        return
    has = {item.name: item for item in applying(known)}
    for name in step.round:
        if name in has:
            yield _bolt(has[name], known, torques)
    if step.others:
        rounds = {name for other in steps() for name in other.round}
        for name in _listed(known):
            if name not in rounds or name not in has:
                yield _bolt(fastener(name, known) or _unknown(name), known, torques)


def _bolt(item: Fastener, known: Facts, torques: Mapping[str, TorqueWindow]) -> Bolt:
    verb = _verb(item, known)
    left = verb == "leave"
    return Bolt(
        joint=item.name,
        label=item.label,
        place=item.place,
        verb=verb,
        tool="eyes" if left else _tool(item, known),
        compound="" if left else _compound(item, known),
        torque=None if left else torques.get(item.name),
        hand=_hand(item, known),
    )


def _hand(item: Fastener, known: Facts) -> str:
    """The hand of the joint's thread, where it is not simply right-hand."""
    stated = _stated(item.name, "hand", known)
    return f"{stated}-hand" if stated == "left" else item.hand


def _one_compound(planned: list[PlannedStep], set_by: Mapping[str, str]) -> list[PlannedStep]:
    """Rounds that say of each joint the compound that the step which sets it says."""
    said = {step.id: step.compound for step in planned if step.torque is not None}

    def as_set(bolt: Bolt) -> Bolt:
        compound = said.get(set_by.get(bolt.joint, ""), "")
        return replace(bolt, compound=compound) if compound and bolt.verb != "leave" else bolt

    return [
        replace(step, bolts=tuple(map(as_set, step.bolts))) if step.bolts else step
        for step in planned
    ]


def short(compound: str) -> str:
    """A compound in the few words that a card has room for.

    >>> short("patch bolt: replace, do not grease")
    'patch bolt'
    >>> short("thread: grease; between the parts: clean and dry")
    'grease on the thread, the parts clean and dry'
    >>> short("nothing: clean and dry")
    'clean and dry'
    """
    thread, between, parts = compound.partition("; between the parts: ")
    if between:
        return f"{thread.removeprefix('thread: ')} on the thread, the parts {parts}"
    return compound.removeprefix("nothing: ").split(":")[0]


def _with_holdings(step: PlannedStep, holdings: Mapping[str, Holding]) -> PlannedStep:
    bolts = tuple(
        bolt if bolt.torque is None else replace(bolt, holding=holdings.get(bolt.joint))
        for bolt in step.bolts
    )
    return replace(step, bolts=bolts) if bolts else step


def _without_empty_rounds(
    planned: Iterable[PlannedStep], chosen: Iterable[Step]
) -> tuple[PlannedStep, ...]:
    """A round with no joint on this bike is no step of it, and nothing waits for it."""
    rounds = {step.id for step in chosen if step.round}
    listed = tuple(planned)
    empty = {step.id for step in listed if step.id in rounds and not step.bolts}
    return tuple(
        replace(
            step,
            needs=tuple(need for need in step.needs if need not in empty),
            after=tuple(need for need in step.after if need not in empty),
        )
        for step in listed
        if step.id not in empty
    )


def _listed(known: Facts) -> tuple[str, ...]:
    """Names of the fasteners that the sheet lists."""
    names = (name.split(".")[2] for name in known if name.startswith("bike.fastener."))
    return tuple(dict.fromkeys(names))


def _unknown(name: str) -> Fastener:
    """A joint that only the sheet knows: checked, unless the sheet says otherwise."""
    return Fastener(
        name=name,
        label=name.replace("_", " ").replace("-", " "),
        place=63,
        verb="check",
        kind="ask",
        low=None,
        high=None,
        tool="torque wrench, by the sheet",
        drive="",
        thread="",
        hand="",
        compound="",
        carbon=(),
        applies=(),
        touched_by=(),
        source="the bike's sheet",
    )


def _stated(joint: str, what: str, known: Facts) -> str:
    """What the sheet says of a joint, on its own or on one of its parts; empty for nothing."""
    start = f"bike.fastener.{joint}."
    given = (known.get(f"{start}{part}{what}") for part in ("", "a.", "b."))
    return next((str(value) for value in given if value is not None), "")


def _verb(item: Fastener, known: Facts) -> str:
    return _stated(item.name, "verb", known) or item.verb


def _tool(item: Fastener, known: Facts) -> str:
    """The tool and its size: by the sheet's drive or thread and head, else the usual one."""
    drive = _drive(item, known)
    if not drive:
        return item.tool
    return _bit(drive) if item.kind == "hand" else f"torque wrench, {_bit(drive)}"


def _drive(item: Fastener, known: Facts) -> str:
    """What turns the joint by the sheet; empty where the sheet does not say."""
    stated = _stated(item.name, "drive", known)
    if stated:
        return stated
    key = hex_key(*(_stated(item.name, what, known) for what in ("thread", "head")))
    return f"hex {key}" if key else ""


def filled(text: str, known: Facts) -> str:
    """The text with the agreed hand and the keys of this bike's joints in it."""
    return _BLANK.sub(lambda match: _word(match[1], known), text)


def _there(tools: str, known: Facts) -> str:
    """A list of tools without those for joints and springs that this bike does not have."""
    has = {item.name for item in applying(known)}
    if "air" in (known.get("bike.fork.kind"), known.get("bike.shock.kind")):
        has.add(_PUMP)
    return ", ".join(
        tool
        for tool in tools.split(", ")
        if not (blank := _BLANK.fullmatch(tool))
        or blank[1] in has
        or blank[1] not in (*fasteners(), _PUMP)
    )


def _once(tools: str) -> str:
    """A list of tools without the same one twice."""
    return ", ".join(dict.fromkeys(tools.split(", ")))


def _word(name: str, known: Facts) -> str:
    if name == "front_hand":
        return _HANDS.get(str(known.get("derived.brake_hands")), "agreed")
    if name in ("country", "fittings"):
        return str(known.get(f"derived.{name}", "this country"))
    if name == _PUMP:
        return "suspension pump"
    if name == "post_depth":
        mast = known.get("bike.post.kind") == "integrated"
        return _OVER_MAST if mast else "how much post is inside the frame"
    if name == "seat_clamp":
        name = "mast_head" if known.get("bike.post.kind") == "integrated" else "seat_collar"
    joint = fastener(name, known)
    if joint is None:
        raise knowledge_error("steps", f"no joint is called {name}")
    return _bit(_drive(joint, known) or joint.drive) or joint.tool


def _recorded(record: Record | None, known: Facts) -> Record | None:
    """What a step records: the one word that proves it, and no day while there is no rider."""
    if record is None:
        return None
    fact = record.must_be or record.sheet
    must_be = str(known.get(fact, "")) if fact else ""
    names = _HANDS.get(str(known.get(record.names)), "") if record.names else ""
    day = record.day and any(name.startswith("rider.") for name in known)
    return replace(record, must_be=must_be, names=names, day=day)


def _bit(drive: str) -> str:
    """A drive as a mechanic asks for it: `hex 5` is a 5 mm hex, `star T25` a T25."""
    kind, _, size = drive.partition(" ")
    if kind == "hex" and size:
        return f"{size} mm hex"
    if kind == "star" and size:
        return size
    return drive


def _compound(item: Fastener, known: Facts) -> str:
    """What goes on the joint: the sheet's word, else anti-seize on titanium, else the usual."""
    stated = _stated(item.name, "compound", known)
    if stated:
        return compounds.WORDS.get(stated, stated)
    bolt = "titanium" if _stated(item.name, "grade", known).casefold() in _TITANIUM else "steel"
    pair = compounds.between("thread", bolt, "alloy")
    if item.kind != "hand" and pair is not None and pair.a == bolt:
        return compounds.WORDS[pair.compound]
    return item.compound


def _both(between: str, item: Fastener, known: Facts) -> str:
    """What goes between the parts and, where the sheet has a word of it, on the bolt's thread.

    Paste is for the faces that are clamped; every other word of a sheet is for the thread.
    """
    stated = _stated(item.name, "compound", known)
    if not between or stated == "paste":
        return _compound(item, known)
    thread = compounds.WORDS.get(stated, stated)
    if thread in ("", between):
        return between
    return f"thread: {thread}; between the parts: {between.removeprefix('nothing: ')}"


def _between(step: Step, known: Facts) -> str:
    """What goes between the step's two parts by their materials; empty while that is open."""
    if step.pair is None:
        return ""
    one, other = (known.get(name) if "." in name else name for name in (step.pair.a, step.pair.b))
    pair = compounds.between(step.pair.use, one, other)
    return "" if pair is None else compounds.WORDS[pair.compound]
