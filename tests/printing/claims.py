"""What the papers of a bike claim to be set or read on it, and whether the record bears that out.

`papers_claims` lists what every paper says of every setting; `unfounded` holds it against the
events alone, by a reading of its own, so that a random history can ask for the invariant "papers
print nothing as set that is not":

    assert not unfounded(shop, bike)
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from cyclewright.errors import InputError, Refusal
from cyclewright.printing.data import HandOver, Paper, PositionMarks, SagStrip, SettingCard, Tag
from cyclewright.workshop import paper
from cyclewright.workshop.shop import Shop

CLAIMING = ("set", "read")
PAPERS = ("tag", "setting-card", "sag-strip", "marks", "hand-over")
"""Papers that print settings; the last takes longest, for its drawing."""
SPRING_OF = {
    "fork_sag": ("fork_pressure", "fork_rate"),
    "shock_sag": ("shock_pressure", "shock_rate"),
}
NAME_OF = {
    "front-tyre": "front_tyre_pressure",
    "rear-tyre": "rear_tyre_pressure",
}
"""Kinds of reading that are not called like their setting."""
MARK = {"fork_pressure": 3447.5, "shock_pressure": 17237.0, "fork_rate": 87.6, "shock_rate": 87.6}
"""Half a mark of the tool that sets each spring [SI]."""


@dataclass(frozen=True, slots=True)
class Claim:
    """What one paper says of one setting."""

    paper: str
    setting: str
    how: str
    """set, read, before, advised or sums."""
    value: float | None = None
    """What it says is on the bike [SI]; None where it does not, or only in words."""


def papers_claims(
    shop: Shop, bike: int, papers: tuple[str, ...] = PAPERS
) -> list[tuple[str, str, str]]:
    """Paper, setting and claim (`set`, `read`, `before`, `advised` or `sums`) of all papers."""
    return [(one.paper, one.setting, one.how) for one in claims(shop, bike, papers)]


def claims(shop: Shop, bike: int, papers: tuple[str, ...] = PAPERS) -> list[Claim]:
    """The same with the value that is said to be on the bike."""
    found: list[Claim] = []
    for what in papers:
        try:
            said = paper.contents(shop, what, bike)
        except (InputError, Refusal):
            continue
        found += [Claim(what, name, how, value) for name, how, value in _said(said)]
    return found


def _said(data: Paper) -> Iterator[tuple[str, str, float | None]]:
    if isinstance(data, HandOver | Tag | SettingCard):
        for block in data.blocks:
            for line in block.lines:
                yield line.setting.name, line.claim, line.done
    elif isinstance(data, PositionMarks):
        for mark in data.marks:
            yield mark.name, mark.stands, None
    elif isinstance(data, SagStrip):
        for band in data.bands:
            claimed = "read" if band.read.startswith("read ") else "advised"
            yield f"{band.name.lower()}_sag", claimed, None


def unfounded(shop: Shop, bike: int, papers: tuple[str, ...] = PAPERS[:-1]) -> list[str]:
    """Every claim of these papers that the events do not bear out, with the reason."""
    said = claims(shop, bike, papers)
    names = {one.setting for one in said if one.how in CLAIMING}
    told = {name: _newest(shop, bike, name) for name in names}
    found = []
    for one in said:
        if one.how not in CLAIMING:
            continue
        value, why = told[one.setting]
        if value is None or why:
            found.append(f"{one.paper}: {one.setting} {one.how}: {why or 'nobody set it'}")
        elif one.value is not None and abs(one.value - value) > 1e-9 * abs(value):
            found.append(f"{one.paper}: {one.setting} is {value}, not {one.value}")
    return found


def _newest(shop: Shop, bike: int, name: str) -> tuple[float | None, str]:
    """The newest value that an event which counts gave a setting, and what happened to it since.

    Read off the events one by one: a step or reading gives the value; a spring set otherwise, a
    plan that says its step lapses, and a step put off or in trouble take its worth away.
    """
    undone = shop.state(bike).undone
    plan: dict[str, Mapping[str, Any]] = {}
    value: float | None = None
    why = ""
    springs: dict[str, float] = {}
    for event in shop.events(bike):
        if event.number in undone or not event.known:
            continue
        data = event.data
        if event.kind == "planned":
            plan = {step["id"]: step.get("record") or {} for step in data["steps"]}
            lapsed = [step for step in data.get("lapsed") or () if _names(plan.get(step), name)]
            why = f"{lapsed[0]} lapsed in event {event.number}" if lapsed and not why else why
        given = dict(_given(event.kind, data, plan))
        for spring in SPRING_OF.get(name, ()):
            if spring in given:
                before = springs.get(spring)
                springs[spring] = given[spring]
                if before is not None and abs(before - given[spring]) > MARK[spring]:
                    why = f"the spring was changed in event {event.number}"
        if name in given:
            value = given[name]
            why = "it proves nothing" if data.get("unproved") else ""
        stuck = event.kind in ("step-put-off", "step-problem") and _names(
            plan.get(data["step"]), name
        )
        why = f"{event.kind} in event {event.number}" if stuck else why
    return value, why


def _given(
    kind: str, data: Mapping[str, Any], plan: Mapping[str, Mapping[str, Any]]
) -> Iterator[tuple[str, float]]:
    """Settings that an event gives a value."""
    if kind == "setting-made":
        yield data["name"], data["value"]
    elif kind == "reading-taken":
        yield NAME_OF.get(data["kind"], data["kind"].replace("-", "_")), data["value"]
    elif kind == "step-done" and "value" in (said := data.get("evidence", {}).get("value") or {}):
        record = plan.get(data["step"], {})
        if name := record.get("setting") or record.get("reading", "").replace("-", "_"):
            yield name, said["value"]


def _names(record: Mapping[str, Any] | None, name: str) -> bool:
    """Whether a planned step writes this setting down."""
    if not record:
        return False
    read = record.get("reading", "")
    return name in (record.get("setting"), NAME_OF.get(read, read.replace("-", "_")))
