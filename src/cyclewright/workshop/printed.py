"""What a paper says of one bike on record: settings, torques, names, dates, in words."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any, Literal

from cyclewright import units
from cyclewright.units import System
from cyclewright.units.told import unit_apart
from cyclewright.workshop import as_set

if TYPE_CHECKING:
    from cyclewright.advice.torque import TorqueWindow
    from cyclewright.printing.data import (
        BikeFace,
        Caution,
        HistoryLine,
        How,
        Recheck,
        Role,
        SagBand,
        SettingBlock,
        SettingLine,
        TorqueLine,
        WorkLine,
    )
    from cyclewright.record.made import Stands
    from cyclewright.record.plan import Bolt, Plan, PlannedStep
    from cyclewright.record.state import StepState
    from cyclewright.setting import Setting
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.workshop.answers import AdviceAnswer
    from cyclewright.workshop.care import ShowAnswer, ShowStep
    from cyclewright.workshop.shop import Shop

_GROUPS: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    ("Tyres", (("front_tyre_pressure", "Front"), ("rear_tyre_pressure", "Rear"))),
    (
        "Fork",
        (
            ("fork_pressure", "Pressure"),
            ("fork_rate", "Coil"),
            ("fork_sag", "Sag, {fork}"),
            ("fork_rebound", "Rebound"),
            ("fork_compression", "Compression"),
        ),
    ),
    (
        "Shock",
        (
            ("shock_pressure", "Pressure"),
            ("shock_rate", "Coil"),
            ("shock_preload", "Preload"),
            ("shock_sag", "Sag, {shock}"),
            ("rear_wheel_sag", "Wheel at that sag"),
            ("shock_rebound", "Rebound"),
            ("shock_compression", "Compression"),
        ),
    ),
    (
        "Fit",
        (
            ("saddle_height", "Saddle height"),
            ("saddle_setback", "Saddle behind middle"),
            ("saddle_tilt", "Saddle tilt"),
            ("post_insertion", "Post in frame"),
            ("spacers_under", "Spacers under stem"),
            ("bar_height", "Grips above ground"),
            ("lever_angle", "Levers below level"),
            ("lever_inboard", "Levers inboard"),
            ("lever_reach", "Lever blade from bar"),
        ),
    ),
    (
        "Balance and geometry at sag",
        (
            ("front_load_seated", "Front wheel, seated"),
            ("front_load_standing", "Front wheel, standing"),
            ("head_angle_at_sag", "Head angle"),
            ("trail_at_sag", "Trail"),
            ("bb_height_at_sag", "Bottom bracket"),
        ),
    ),
)


class Printed:
    """A bike on record, read once for one document."""

    def __init__(self, shop: Shop, bike: int, system: System) -> None:
        from cyclewright.workshop import build, care

        self.shop = shop
        self.number = bike
        self.system = system
        self.state = shop.state(bike)
        self.seen: ShowAnswer = care.show(shop, bike)
        self.sheets: Sheets = shop.sheets(self.state)
        self.plan: Plan = build.plan_for(shop, bike)
        self._filled: Sheets | None = None
        self._advice: AdviceAnswer | None = None

    @property
    def filled(self) -> Sheets:
        """The sheets with every labelled default filled in, as they are where no mass is known."""
        from cyclewright.knowledge.defaults import fill

        if self._filled is None:
            unknown = riding_mass(self.sheets) is None
            self._filled = self.sheets if unknown else fill(self.sheets).sheets
        return self._filled

    @property
    def advice(self) -> AdviceAnswer:
        """The settings as advised after every reading so far."""
        from cyclewright.workshop import advising

        if self._advice is None:
            self._advice = advising.advise_bike(self.shop, self.number)
        return self._advice

    @property
    def date(self) -> str:
        """Day of the release, else of the last entry: papers never carry the printer's clock."""
        released = self.seen.released
        return day(released["at"] if released else self.seen.updated)

    @property
    def rider(self) -> str:
        """Who it is set up for, with mass, in a few words."""
        mass = riding_mass(self.filled)
        named = self.seen.rider
        return named if mass is None else f"{named}, {mass} with kit"

    def face(self) -> BikeFace:
        """Which bike this is."""
        from cyclewright.printing.data import BikeFace

        return BikeFace(self.number, self.seen.name, self.seen.serial, tuple(facts(self)))

    def blocks(self, keep: Callable[[str], bool] = lambda name: True) -> tuple[SettingBlock, ...]:
        """The settings in their groups, with what was set and read."""
        from cyclewright.printing.data import SettingBlock

        by_name = {item.name: item for item in self.advice.settings if keep(item.name)}
        postures = {
            "fork": self.filled.bike.fork.posture or "",
            "shock": self.filled.bike.shock.posture or "",
        }
        found = []
        for title, rows in _GROUPS:
            lines = tuple(
                self._line(by_name.pop(name), label.format(**postures))
                for name, label in rows
                if name in by_name
            )
            if lines:
                found.append(SettingBlock(title, lines))
        # What else follows from the sums is told on the page; paper carries what somebody sets.
        set_by_hand = (
            item for item in by_name.values() if self.stands(item.name).value is not None
        )
        rest = tuple(self._line(item, item.label) for item in set_by_hand)
        return (*found, SettingBlock("More", rest)) if rest else tuple(found)

    def _line(self, setting: Setting, label: str) -> SettingLine:
        """A setting as paper tells it: what is on the bike, else what is advised, and which."""
        from dataclasses import replace

        from cyclewright.printing.data import SettingLine

        found, labelled = self.stands(setting.name), replace(setting, label=label)
        role, why = _role(setting.name), as_set.short(found.why)
        if found.how == "lapsed" and found.was == "read":
            why = f"{self.shown(setting, found.value)} read before; {why}"
        done = found.physical
        return SettingLine(labelled, done, how_of(found), role, "" if found.holds else why)

    def stands(self, name: str) -> Stands:
        """How a setting stands."""
        return as_set.stands(self.shop, self.state, name)

    def shown(self, setting: Setting, value: float | None) -> str:
        """A value of a setting as its tool shows it."""
        return setting.show_value(value, self.system)


def how_of(found: Stands) -> How:
    """What paper says of a setting; a reading that lapsed is worth no more than advice."""
    if found.how == "lapsed":
        return "before" if found.was == "set" else "advised"
    return found.how


def facts(bike: Printed) -> Iterator[tuple[str, str]]:
    """Short facts under the bike's name."""
    paper = bike.sheets.bike
    if bike.seen.serial:
        yield "Serial", bike.seen.serial
    travels = [q for q in (paper.fork.travel, paper.rear.travel) if q is not None]
    if travels:
        mm = " / ".join(f"{q.value * 1000:.0f}" for q in travels)
        yield ("Travel, front / rear" if len(travels) > 1 else "Fork travel"), f"{mm} mm"
    tyres = [tyre.size for tyre in (paper.tyre.front, paper.tyre.rear) if tyre.size]
    if tyres:
        yield "Tyres", " / ".join(dict.fromkeys(tyres))
    if hand := front_brake(bike):
        yield "Front brake", hand
    if (mass := riding_mass(bike.filled)) is not None:
        yield "Rider with kit", mass
    if paper.mass_limit is not None:
        whole = " with bike" if paper.mass_limit_includes_bike else ""
        yield "Mass limit", units.show(paper.mass_limit.value, "kg", 1.0, bike.system) + whole
    if paper.use_class is not None:
        yield "Use", f"class {paper.use_class}"


HANDS_PROVED = "hands-proved"
"""The step that proves which hand works the front brake."""


def front_brake(bike: Printed) -> str:
    """The hand that works the front brake, and whether that was proved; empty where nobody knows.

    Only a hand that was proved on the bike, and is the agreed one, is told without more words.
    """
    from cyclewright.advice.brakes import HAND_WORDS, hands

    wanted = HAND_WORDS.get(hands(bike.sheets).wanted or "", "")
    proved = proved_hand(bike)
    if proved and proved == wanted:
        return f"{wanted} hand"
    if not wanted:
        return f"{proved} hand proved, none agreed" if proved else ""
    return f"{wanted} hand wanted, {f'{proved} proved' if proved else 'not proved'}"


def proved_hand(bike: Printed) -> str:
    """`left` or `right` as it was proved on the bike and still holds; else empty."""
    from cyclewright.advice.brakes import HAND_WORDS

    held = bike.state.step(HANDS_PROVED)
    said = _noted(held.evidence).casefold().replace(" ", "-") if held.status == "done" else ""
    return HAND_WORDS.get(said, "")


def riding_mass(sheets: Sheets) -> str | None:
    """Rider with kit, or the stated mass of a bike without a rider."""
    rider = sheets.rider
    if rider is None or rider.mass is None:
        mass = None if sheets.mass is None else sheets.mass.value
    else:
        kit = 0.0 if rider.mass_includes_kit or rider.kit_mass is None else rider.kit_mass.value
        mass = rider.mass.value + kit
    return None if mass is None else units.show(mass, "kg", 0.5)


def _role(name: str) -> Role:
    if name.endswith("_rebound"):
        return "rebound"
    return "compression" if name.endswith("_compression") else ""


def by_hand(name: str) -> bool:
    """Whether a setting is one that is pumped, turned or read on tyre, fork or shock."""
    return any(name in dict(rows) for _, rows in _GROUPS[:3]) and name != "rear_wheel_sag"


def torques(bike: Printed) -> Iterator[TorqueLine]:
    """Every joint of the bolt round, and joints that only a step knows, front to back."""
    seen = set()
    for bolt in bike.plan.bolts():
        seen.add(bolt.joint)
        yield _torque_line(bolt, bike)
    for step in bike.plan.steps:
        if step.torque is not None and step.joints and not seen.intersection(step.joints):
            from cyclewright.record.plan import Bolt

            seen.update(step.joints)
            label = words(step.joints[0])
            own = Bolt(step.joints[0], label, 99, "set", step.tool, step.compound, step.torque)
            yield _torque_line(own, bike)


def _torque_line(bolt: Bolt, bike: Printed) -> TorqueLine:
    from cyclewright.printing.data import TorqueLine
    from cyclewright.record.plan import short

    window = bolt.torque
    return TorqueLine(
        joint=capital(bolt.label),
        window="" if window is None else _window(window, bike.system),
        whose=_word_on(bolt, bike) if window is None else whose(window),
        set=""
        if window is None or bolt.verb == "leave"
        else torque_number(window.set, bike.system),
        recorded=_recorded(bolt, bike),
        waits=_waits(bolt, bike),
        tool=bolt.tool.removeprefix("torque wrench, "),
        compound=short(bolt.compound),
        verb=bolt.verb,
        place=bolt.place,
        worth=_worth(bolt),
        clamp=_clamp(bolt),
        wrench="" if window is None or bolt.verb != "set" else window.wrench,
        beyond=bolt.verb == "set" and window is not None and bool(window.unreached),
    )


def _worth(bolt: Bolt) -> str:
    """The preload of one screw over the spread of friction, for joints that are set."""
    held = bolt.holding
    if held is None or bolt.verb != "set":
        return ""
    count = f"{held.screws} screws, each " if held.screws > 1 else ""
    return f"{count}{held.preload_low / 1000:.1f} to {held.preload_high / 1000:.1f} kN"


def _clamp(bolt: Bolt) -> str:
    """What a clamp holds at the least, else what it takes to let it hold: no sum that alarms."""
    held = None if bolt.holding is None else bolt.holding.clamp
    if held is None:
        return ""
    if held.sure:
        return f"holds {held.low:.0f} N·m or more, {held.asked:.0f} asked"
    return "grips by friction alone: no grease inside the clamp"


def _recorded(bolt: Bolt, bike: Printed) -> str:
    """The torque on record for a joint, else what the bolt round says of it.

    Nothing is told that was recorded before a step which sets the joint was opened again.
    """
    planned = {step.id: step for step in bike.plan.steps}
    since = max(
        (step.number for step in _setting_it(bolt, bike) if step.status in _STUCK), default=0
    )
    done = [step for step in bike.seen.steps if step.status == "done" and step.number > since]
    torques = [
        (shown.number, float(shown.evidence["torque"]["value"]))
        for shown in done
        if "torque" in shown.evidence and bolt.joint in planned[shown.id].joints
    ]
    if torques:
        return torque_number(max(torques)[1], bike.system)
    rounds = [s for s in done if any(b.joint == bolt.joint for b in planned[s.id].bolts)]
    if not rounds:
        return ""
    said = {"check": "not moved", "leave": "left bonded"}
    return said.get(bolt.verb, "in the round")


_STUCK = ("problem", "reopened", "put-off")
"""How a step stands that is worse than open, the gravest first."""


def _setting_it(bolt: Bolt, bike: Printed) -> Iterator[ShowStep]:
    """The steps whose torque is the joint's."""
    planned = {step.id: step for step in bike.plan.steps}
    for shown in bike.seen.steps:
        step = planned[shown.id]
        if bolt.joint in step.joints and "torque" in step.evidence:
            yield shown


def _word_on(bolt: Bolt, bike: Printed) -> str:
    """Whose figure a torque without one was set by, as it was said with it."""
    planned = bike.state.planned_steps()
    said = [
        str(bike.state.step(step.id).evidence.get("word") or "")
        for step in planned.values()
        if step.torque is None
        and "torque" in step.evidence
        and bolt.joint in step.joints
        and bike.state.step(step.id).status == "done"
    ]
    return next((word for word in said if word), "")


def _waits(bolt: Bolt, bike: Printed) -> str:
    """How the steps that set a joint stand: the gravest word of them."""
    statuses = {shown.status for shown in _setting_it(bolt, bike)}
    return next((words(status) for status in _STUCK if status in statuses), "open")


def _window(window: TorqueWindow, system: System) -> str:
    low, high = (torque_number(end, system) for end in (window.low, window.high))
    if not high:
        return "none" if not low else f"min {low}"
    if not low:
        return f"max {high}"
    return high if low == high else f"{low} to {high}"


def wall_torque(window: TorqueWindow | None, system: System = "trade") -> str:
    """The setting of a step on the wall plan, or the makers' figure where no tool reaches it."""
    if window is None or (window.set is None and not window.unreached):
        return ""
    return _window(window, system) if window.set is None else torque_number(window.set, system)


def torque_number(torque: float | None, system: System = "trade") -> str:
    """A torque [N·m] as the tool shows it, without its unit; empty for none."""
    return "" if torque is None else unit_apart(f"{torque:.1f}", "N·m", system)[0]


def whose(window: TorqueWindow) -> str:
    """Whose figure a window is, in a word or two."""
    beyond = ", no kept tool reaches it" if window.unreached else ""
    if window.basis == "practice":
        return f"our default{beyond}"
    part, least, most = re.sub(r"\bthe ", "", window.whose), window.least, window.most
    if most is None or window.high is None or window.high > most - 1e-9:
        return part + beyond
    figure = f"max {most:g}" if least is None else f"{least:g} to {most:g}"
    figure = f"{most:g}" if least == most else figure
    return f"{part} {figure}{beyond}"


def work(seen: ShowAnswer) -> Iterator[WorkLine]:
    """Who did what: a line a station, the gates where they were passed."""
    from cyclewright.printing.data import WorkLine

    stations: dict[tuple[str, str], list[ShowStep]] = {}
    for step in seen.steps:
        if step.stage != "Care":
            stations.setdefault((step.stage, step.station), []).append(step)
    told: list[WorkLine] = []
    gate = _gate_line(seen, "ride", "Ride gate passed")
    for (stage, station), steps in stations.items():
        if stage in ("Prove", "Release") and gate is not None:
            told.append(gate)
            gate = None
        done = [step for step in steps if step.status == "done"]
        names = ", ".join(dict.fromkeys(step.by for step in done if step.by))
        last = _moment(max((step.at for step in done), default=""))
        told.append(WorkLine(capital(station), f"{len(done)} of {len(steps)}", names, last))
    final = _gate_line(seen, "release", "Release gate passed")
    yield from (*told, *(line for line in (gate, final) if line is not None))


def _gate_line(seen: ShowAnswer, gate: str, words: str) -> WorkLine | None:
    from cyclewright.printing.data import WorkLine

    passed = seen.passed.get(gate)
    return None if passed is None else WorkLine(words, "", passed["by"], _moment(passed["at"]))


def explained(bike: Printed) -> Iterator[str]:
    """What was gone through with the rider, and the note of what was handed over."""
    from cyclewright.advice.brakes import derived
    from cyclewright.knowledge.steps import told
    from cyclewright.record.plan import filled

    for step in bike.plan.steps:
        held = bike.state.step(step.id)
        if held.status == "done" and (step.safety == "explained" or step.id == FITTED):
            noted = _noted(held.evidence)
            said = filled(told(step.id, step.do), derived(bike.sheets))
            yield f"{said} Noted: {noted}" if noted else said


FITTED = "fittings-on"
"""The step that fits what the country's law wants on the bike."""


def _noted(evidence: Mapping[str, Any]) -> str:
    return str((evidence.get("text") or {}).get("text") or "")


def rechecks(bike: Printed) -> Iterator[Recheck]:
    """The re-check that is booked, or the day noted in the step that a step of Care waits for."""
    from cyclewright.knowledge.care import items
    from cyclewright.knowledge.steps import told
    from cyclewright.printing.data import Recheck
    from cyclewright.record.care import RECHECK, RECHECK_STEP

    booked = bike.state.booked
    if booked is not None:
        first = next((step for step in bike.plan.steps if step.id == RECHECK_STEP), None)
        if first is not None and bike.state.step(first.id).status != "done":
            yield Recheck(day(booked.day), told(first.id, first.do), capital(first.station))
        else:
            item = next(row for row in items() if row.id == RECHECK)
            yield Recheck(day(booked.day), told(RECHECK_STEP, item.do), "Re-check")
        return
    for step in bike.plan.steps:
        if step.stage != "Care" or bike.state.step(step.id).status == "done":
            continue
        for need in step.needs:
            noted = _noted(bike.state.step(need).evidence)
            if noted and bike.state.step(need).status == "done":
                yield Recheck(noted, told(step.id, step.do), capital(step.station))


def meant(bike: Printed) -> Iterator[str]:
    """Values far from what is advised, or unmarked, that stand on somebody's word."""
    for step in bike.state.planned_steps().values():
        held = bike.state.step(step.id)
        if held.status == "done" and {"value", "word"} <= set(held.evidence):
            said = held.evidence["value"]["text"]
            yield f"{capital(words(step.id))}, {said}, on somebody's word: {held.evidence['word']}"


_MOST_OPEN = 12
"""Steps that are named one by one as still open; more of them are counted by station."""


def open_items(bike: Printed) -> Iterator[str]:
    """What was overridden, steps that are not done, questions that nobody has answered."""
    for row in bike.seen.overridden:
        yield capital(row.line())
    yield from meant(bike)
    left = [s for s in bike.seen.steps if s.stage != "Care" and s.status != "done"]
    plain = [step for step in left if step.status == "open" and not step.said]
    by_station = plain if len(plain) > _MOST_OPEN else []
    for step in left:
        if step in by_station:
            continue
        said = f": {step.said}" if step.said else ""
        yield f"{capital(words(step.id))}, {step.status.replace('-', ' ')}{said}"
    for station, count in Counter(step.station for step in by_station).items():
        yield f"{capital(station)}: {count} {'step' if count == 1 else 'steps'} open"
    for question in bike.plan.questions:
        yield question.ask


def warning(seen: ShowAnswer) -> str:
    """Why a hand-over sheet is only a draft; empty when it is not."""
    if seen.released is not None:
        return ""
    if seen.was_released:
        return (
            "Released once, and no more: not to be ridden until checked. "
            f"{capital(as_set.plain(seen.lapsed))}."
        )
    return "Draft: this bike is not released. It is not to be ridden by its rider yet."


def cautions(sheets: Sheets) -> Iterator[Caution]:
    """What a rider has to know before the first ride, gravest first."""
    bike = sheets.bike
    if "air" in (bike.fork.kind, bike.shock.kind):
        yield caution(
            "stop",
            "Suspension air is at high pressure: use a suspension pump only, and never open a "
            "chamber that holds air.",
        )
    if "carbon" in (bike.cockpit.bar_material, bike.frame.material, bike.post.material):
        yield caution(
            "stop",
            "A carbon part that is crushed, scored or cracked is not ridden until a qualified "
            "mechanic has looked at it.",
        )
    yield caution(
        "check",
        "Before every ride: axles shut, both brakes firm, bar and saddle do not turn, tyres hard.",
    )
    yield caution(
        "know",
        "The first rides are on ground you know and no test of courage. Bolts, spokes and cables "
        "settle: come to the re-check.",
    )


def bands(bike: Printed) -> Iterator[SagBand]:
    """Sag bands in millimetres: the goal, and how far from it is still good."""
    from cyclewright.measure.sag import TOLERANCE
    from cyclewright.printing.data import SagBand

    on = bike.filled.bike
    for name, kind, travel, target, posture in (
        ("Fork", on.fork.kind, on.fork.travel, on.fork.sag_target, on.fork.posture),
        ("Shock", on.shock.kind, on.shock.stroke, on.shock.sag_target, on.shock.posture),
    ):
        if kind in (None, "rigid") or travel is None or target is None:
            continue
        if name == "Shock" and on.kind != "full-suspension":
            continue
        full = travel.value * 1000
        coil = name == "Shock" and kind == "coil"
        yield SagBand(
            name=name,
            travel=full,
            target=target.value * full,
            low=max(target.value - TOLERANCE, 0.0) * full,
            high=(target.value + TOLERANCE) * full,
            posture=posture or "",
            measure=_COIL_READ if coil else _RING_READ,
            edge="eye" if coil else "seal",
            read=_sag_read(bike, f"{name.lower()}_sag"),
        )


def _sag_read(bike: Printed, name: str) -> str:
    """What the ring said and still holds; the band itself is advice."""
    found = bike.stands(name)
    if found.how == "read" and found.value is not None:
        return f"read {units.show(found.value, 'mm', 1, bike.system)}, {_short(found.at)}"
    return (
        as_set.words(found)
        if found.how == "advised"
        else f"advised, not set: {as_set.plain(found.why)}"
    )


def history(bike: Printed) -> Iterator[HistoryLine]:
    """What was set and read on springs and tyres, the newest first."""
    from cyclewright.printing.data import HistoryLine

    for row in reversed(bike.seen.history):
        if not by_hand(row.name):
            continue
        by = "".join(word[:1] for word in row.by.split())
        yield HistoryLine(
            row.part,
            row.shown(bike.system) if row.noted else "–",
            row.shown_read(bike.system),
            _short(row.at),
            by,
        )


_RING_READ = (
    "Full kit and water, damper open, brakes off. Bounce, settle, push the ring to the seal, get "
    "off gently. Hold the top line to the seal: the ring stands in the grey."
)
_COIL_READ = (
    "A coil has no ring. Mark the eye-to-eye length unloaded, hold the top line there, let the "
    "rider settle: the eye comes to stand in the grey."
)


def caution(kind: Literal["stop", "check", "know"], text: str) -> Caution:
    """A caution of a kind."""
    from cyclewright.printing.data import Caution

    return Caution(kind, text)


def asked(step: PlannedStep) -> str:
    """What a step writes down, in a few words."""
    if step.record is not None and {"value", "text"} & set(step.evidence):
        return f"{step.record.what}{f', {step.record.unit}' if step.record.unit else ''}"
    return "photo" if "photo" in step.evidence else ""


def waiting(held: StepState) -> str:
    """Why a step is not done or has to be done again; empty while it is only open."""
    if held.status in ("open", "done"):
        return ""
    word = "do again" if held.status == "reopened" else words(held.status)
    return f"{word}: {as_set.plain(held.said)}" if held.said else word


def words(name: str) -> str:
    """A name as words."""
    return name.replace("-", " ").replace("_", " ")


def capital(text: str) -> str:
    """The text with a capital letter."""
    return text[:1].upper() + text[1:]


def day(text: str) -> str:
    """An ISO day or moment as `14 May 2031`; what is not one stays as it is."""
    moment = _parsed(text)
    return text if moment is None else f"{moment.day} {moment:%B} {moment.year}"


def _short(text: str) -> str:
    moment = _parsed(text)
    return text if moment is None else f"{moment.day} {moment:%b %y}"


def _moment(text: str) -> str:
    moment = _parsed(text)
    return text if moment is None else f"{moment.day} {moment:%b %H:%M}"


def _parsed(text: str) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment.astimezone() if moment.tzinfo is not None else moment
