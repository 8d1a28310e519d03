"""Random histories of two mechanics: what is released is proved, and every face says the same."""

from __future__ import annotations

import json
import shutil
from copy import deepcopy
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from cyclewright.errors import InputError, Refusal
from cyclewright.record.gates import ITEMS, evidence_lacking
from cyclewright.record.state import BikeState
from cyclewright.sheets.sheets import facts, value_at
from cyclewright.workshop import build, care, carton, inspection, paper, readings, receive, release
from cyclewright.workshop import recall as recalls
from cyclewright.workshop.shop import Shop
from cyclewright.workshop.standing import standing
from printing.claims import unfounded
from walks import tally
from walks.bikes import BIKES, FULL, own_folder, sheets
from walks.test_fields import NOTHING, expected
from walks.values import another_text
from workshop import shops

STAGES = ("opened", "built", "ridden", "released")
PEOPLE = ("Ada", "Ben")
FIELDS = (
    "bike.cockpit.spacers_under", "bike.cockpit.bar_roll", "bike.fork.travel", "bike.fork.spacers",
    "bike.frame.reach", "bike.frame.insertion_min", "bike.tyre.front.size", "bike.shock.sag_target",
    "bike.brake.front.rotor_diameter", "bike.axle.front.torque", "bike.model", "bike.mass_limit",
    "place.country", "place.trail.temperature", "rider.mass", "rider.inseam", "rider.name",
    "rider.ground", "bike.fastener.stem_pinch.max", "bike.serial",
)  # fmt: skip
JOINTS = ("stem_pinch", "faceplate", "front_axle", "rear_caliper", "seat_collar", "derailleur")
NEVER = {item.id for item in ITEMS if item.never_override}
EXAMPLES, STEPS = (60, 20) if FULL else (8, 10)
ENTRIES = [0]
"""Entries that all histories made."""
_MADE: dict[tuple[str, str], Path] = {}


def folder(name: str, stage: str) -> Path:
    """A shop with one of the three bikes at that stage, made once."""
    if (name, stage) not in _MADE:
        place = own_folder() / "data"
        before = STAGES.index(stage)
        if before:
            shutil.copytree(folder(name, STAGES[before - 1]), place)
        with Shop.open(place) as shop:
            _forward(shop, name, stage)
        _MADE[name, stage] = place
    return _MADE[name, stage]


def _forward(shop: Shop, name: str, stage: str) -> None:
    if stage == "opened":
        receive.open_bike(shop, sheets(name), by="Ada")
    elif stage == "built":
        shops.build_to_gate(shop, 1)
    elif stage == "ridden":
        assert release.gate(shop, 1, "ride", by="Ada").passed
        shops.build_until(shop, 1, "Prove")
    else:
        shops.build_until(shop, 1, "Release")
        release.release(shop, 1, by="Ada")


def seen(state: BikeState) -> dict[str, Any]:
    """All that a state says of the bike, without the record's own counting."""
    kept = ("steps", "sheets", "rider", "settings", "gates", "released", "joints", "carton",
            "findings", "parts", "plan_kind", "visit", "overrides", "pack")  # fmt: skip
    found = {name: deepcopy(getattr(state, name)) for name in kept}
    found["plan"] = None if state.plan is None else state.plan.number
    found["readings"] = [row.number for row in state.readings]
    return found


class Histories(RuleBasedStateMachine):
    """Two people work on one bike; an oracle of its own remembers what is no longer proved."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(mkdtemp(prefix="history-"))
        self.shop: Shop | None = None
        self.start = 0
        self.stale: dict[str, int] = {}
        """Gate item to the event after which its proofs have to come."""

    @initialize(name=st.sampled_from(sorted(BIKES)), stage=st.sampled_from(STAGES))
    def begin(self, name: str, stage: str) -> None:
        shutil.copytree(folder(name, stage), self.folder / "data")
        self.shop = Shop.open(self.folder / "data")
        self.start = self.state.number

    def teardown(self) -> None:
        if self.shop is not None:
            ENTRIES[0] += self.shop.state(1).number - self.start
            self.shop.close()
        shutil.rmtree(self.folder, ignore_errors=True)

    @property
    def own(self) -> Shop:
        assert self.shop is not None
        return self.shop

    @property
    def state(self) -> BikeState:
        return self.own.state(1)

    @rule(by=st.sampled_from(PEOPLE), count=st.integers(1, 40))
    def work_on(self, by: str, count: int) -> None:
        """The next steps in order, as far as they can be done."""
        for step in build.plan_for(self.own, 1).steps:
            held = self.state.step(step.id)
            if count and held.status in ("open", "reopened", "put-off", "problem"):
                try:
                    shops.record(self.own, 1, step, by=by)
                except (InputError, Refusal):
                    continue
                count -= 1

    @rule(by=st.sampled_from(PEOPLE), field=st.sampled_from(FIELDS))
    def change(self, by: str, field: str) -> None:
        """A field corrected, as far as it is on the sheets and may be another."""
        now = self.own.sheets(self.state)
        if field not in facts(now):
            return
        text = another_text(now, field, facts(now)[field])
        if text is None:
            return
        number = self.state.number
        try:
            build.change_sheet(self.own, 1, [f"{field}={text}"], by=by)
        except (InputError, Refusal):
            return
        for item in expected(field) or ():
            self.stale[item] = number

    @rule(by=st.sampled_from(PEOPLE), joint=st.sampled_from(JOINTS))
    def touch(self, by: str, joint: str) -> None:
        try:
            build.touch(self.own, 1, [joint], "looked into", by=by)
        except InputError:
            return

    @rule(by=st.sampled_from(PEOPLE), pick=st.integers(0, 200), put_off=st.booleans())
    def stuck(self, by: str, pick: int, put_off: bool) -> None:
        steps = list(self.state.planned_steps())
        said = {"put_off": "no time"} if put_off else {"problem": "cracked through"}
        try:
            build.record_step(self.own, 1, steps[pick % len(steps)], by=by, **said)  # type: ignore[arg-type]
        except Refusal:
            return

    @rule(by=st.sampled_from(PEOPLE), kind=st.sampled_from(("fork-pressure", "front-tyre")),
          psi=st.sampled_from((7, 24, 60, 72, 290)))  # fmt: skip
    def read(self, by: str, kind: str, psi: int) -> None:
        try:
            readings.read(self.own, 1, kind, f"{psi} psi", by=by)
        except (InputError, Refusal):
            return

    @rule(by=st.sampled_from(PEOPLE), part=st.sampled_from(("front rotor", "left pedal", "stem")),
          here=st.booleans())  # fmt: skip
    def tick(self, by: str, part: str, here: bool) -> None:
        try:
            carton.tick_parts(self.own, 1, {part: "here" if here else "missing"}, by=by)
        except (InputError, Refusal):
            return

    @rule(by=st.sampled_from(PEOPLE))
    def undo(self, by: str) -> None:
        try:
            build.undo(self.own, 1, by=by)
        except (InputError, Refusal):
            return

    @rule(by=st.sampled_from(PEOPLE), joint=st.sampled_from(JOINTS))
    def act_and_undo(self, by: str, joint: str) -> None:
        """An act taken back at once leaves everything as it was."""
        before = seen(self.state)
        try:
            build.touch(self.own, 1, [joint], "a slip of the thumb", by=by)
            build.undo(self.own, 1, by=by)
        except InputError:
            return
        assert seen(self.state) == before

    @rule(by=st.sampled_from(PEOPLE), field=st.sampled_from(FIELDS))
    def change_and_undo(self, by: str, field: str) -> None:
        """So does a change of the sheets."""
        before, stale = seen(self.state), dict(self.stale)
        number = self.state.number
        self.change(by, field)
        if self.state.number == number:
            return
        try:
            build.undo(self.own, 1, by=by)
        except Refusal:
            return
        self.stale = stale
        assert seen(self.state) == before

    @rule(gate=st.sampled_from(("ride", "release")), by=st.sampled_from(PEOPLE))
    def pass_gate(self, gate: str, by: str) -> None:
        answer = release.gate(self.own, 1, gate, by=by)
        assert answer.passed == (not answer.missing)

    @rule(by=st.sampled_from(PEOPLE))
    def let_go(self, by: str) -> None:
        try:
            release.release(self.own, 1, by=by)
        except Refusal:
            return
        assert standing(self.own, self.state).released is not None

    @rule(lift=st.booleans())
    def recall(self, lift: bool) -> None:
        standing_now = recalls.recalls(self.own)
        if lift and standing_now:
            recalls.lift_recall(self.own, standing_now[0].id, reason="a mistake", by="Ada")
        elif not standing_now:
            told = {"why": "cracks", "do": "a new one", "source": "its maker", "by": "Ada"}
            recalls.open_recall(self.own, "frame", **told)

    @rule()
    def inspect(self) -> None:
        if self.state.visit < 3:
            inspection.open_inspection(self.own, 1, "crashed", by="Ada")
            self.stale = {}

    def since(self, item: str) -> int:
        """The event after which an item's proofs have to come; none where it was taken back."""
        number = self.stale.get(item, 0)
        return 0 if number + 1 in self.state.undone else number

    @invariant()
    @precondition(lambda self: self.shop is not None)
    def what_is_released_is_proved(self) -> None:
        """Asked without the gates' own words: of every step, its evidence and what went stale."""
        state = self.state
        if standing(self.own, state).released is None:
            return
        assert state.released is not None
        for name, step in state.planned_steps().items():
            held = state.step(name)
            assert held.status != "problem", name
            assert held.status != "reopened" or step.stage == "Care", name
            if step.safety and step.safety not in state.overrides:
                assert held.status == "done" and not evidence_lacking(step, held), name
                pressure = (held.evidence.get("value") or {}).get("unit") == "Pa"
                assert pressure or held.number < state.released.number
                assert held.number > self.since(step.safety), name
        assert not [part for part in state.carton.parts.values() if part.followed]
        assert not recalls.blocking(self.own, state)
        for name in ("bike.mass_limit", "bike.use_class"):
            assert value_at(self.own.sheets(state), name) is not None

    @invariant()
    @precondition(lambda self: self.shop is not None)
    def every_face_says_the_same(self) -> None:
        stands = standing(self.own, self.state)
        shown = care.show(self.own, 1)
        (row,) = receive.list_bikes(self.own)
        assert (shown.released is None) == (stands.released is None)
        assert set(shown.passed) == set(stands.passed)
        assert row.stage == shown.stage == stands.stage
        assert (row.stage == "Care") == (stands.released is not None)
        assert bool(row.lapsed) == bool(shown.lapsed)
        for gate in ("ride", "release"):
            answer = release.gate(self.own, 1, gate, pass_it=False)
            assert answer.missing == shown.gates[gate]
            assert answer.passed == (gate in shown.passed)
        assert json.dumps(shown.to_json(), allow_nan=False)

    @rule()
    def print_papers(self) -> None:
        stands = standing(self.own, self.state)
        tag = shops.text_of(paper.print_document(self.own, "tag", 1))
        sheet = shops.text_of(paper.print_document(self.own, "hand-over", 1))
        assert ("Do not ride" in tag) == (not stands.may_ride or bool(stands.lapsed))
        draft = "Draft" in sheet or "not to be ridden until checked" in sheet
        assert draft == (stands.released is None)
        assert not unfounded(self.own, 1)


assert set(FIELDS) & set(NOTHING)
Histories.TestCase.settings = settings(
    max_examples=EXAMPLES,
    stateful_step_count=STEPS,
    deadline=None,
    derandomize=True,
    phases=(Phase.explicit, Phase.generate),
    suppress_health_check=list(HealthCheck),
)


class TestHistories(Histories.TestCase):  # type: ignore[name-defined,misc]
    """The histories, and how many entries they made."""

    @classmethod
    def tearDownClass(cls) -> None:
        tally.walked("entries in histories of two mechanics", f"{EXAMPLES} histories", ENTRIES[0])
