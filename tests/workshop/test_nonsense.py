"""Every step with evidence, recorded at nonsense: refused, or not proved; at what is right, proved.

What right looks like stands in tables written from the trade's view. The bikes are the three
examples and as many generated ones as it takes to meet every step that wants evidence;
`make nonsense` walks many more of them.
"""

from __future__ import annotations

import math
import os
from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path

import pytest

from advice.generated import drawn, fitted
from cyclewright import units
from cyclewright.advice import brakes, torque
from cyclewright.errors import InputError, Refusal
from cyclewright.knowledge.fasteners import fasteners
from cyclewright.knowledge.steps import steps as knowledge_steps
from cyclewright.record import gates
from cyclewright.record.plan import PlannedStep, make_plan
from cyclewright.sheets.sheets import Sheets, change, facts, load
from cyclewright.workshop import advising, build, receive, release
from cyclewright.workshop.evidence import Number, dimension_of
from cyclewright.workshop.shop import Shop
from workshop.shops import EXAMPLES, photo, sheets

WORD = "the maker's manual, page 12"
COMING = f"{date.today() + timedelta(days=20)}"
GONE = f"{date.today() - timedelta(days=20)}"

# What right looks like, by step: a figure, a word, or where the bike says it. "figure" is the
# setting beside the joint, "advised" what the sums say, "marks" a post between its marks.
RIGHT: dict[str, str] = {
    "serial-read": "BX 20417",
    "hands-delivered": "hand",
    "order-signed": "signed 2031-05-02: front brake on the {hand} hand",
    "hands-proved": "hand",
    "car-park-ride": "a quiet tick from the saddle, else nothing",
    "explained-first-recheck": f"{COMING}, manuals and spare spokes",
    "wheels-true": "0.3 mm",
    "steerer-gap": "3 mm",
    "hanger-straight": "2 mm",
    "lever-angle": "30 deg",
    "saddle-height-not-fitted": "700 mm",
    "post-insertion": "marks",
    **dict.fromkeys(
        ("saddle-height", "front-tyre-pressure", "rear-tyre-pressure", "fork-pressure",
         "fork-coil", "fork-sag", "shock-pressure", "shock-coil", "shock-sag", "shock-sag-coil",
         "fork-rebound", "fork-compression", "shock-rebound", "shock-compression"), "advised"),
    **dict.fromkeys(
        ("carton-outside", "fork-forward", "finished-photographed", "front-wheel-lever-axle",
         "front-wheel-quick-release", "rear-wheel-lever-axle", "rear-wheel-quick-release"),
        "photo"),
    **dict.fromkeys(
        ("bar-in-stem", "front-rotor", "rear-rotor", "cassette-lockring", "front-wheel-tool-axle",
         "front-wheel-nuts", "rear-wheel-tool-axle", "rear-wheel-nuts", "expander-set",
         "stem-pinch", "hands-changed-open-hoses", "hoses-closed", "front-adapter",
         "front-caliper",
         "rear-adapter", "rear-caliper", "derailleur-on", "cable-anchored",
         "cable-anchored-reverse",
         "front-derailleur-set", "chain-guide-set", "grips-clamped", "pedals-on",
         "seat-collar-set", "mast-head-set", "saddle-clamp-set", "bar-rolled", "levers-clamped",
         "shifter-clamped", "remote-clamped"), "figure"),
}  # fmt: skip

# What is nonsense elsewhere and right here, each with its reason.
RIGHT_AS_WELL = {
    ("wheels-true", "none"): "a wheel may run dead true",
    ("wheels-true", "a tenth"): "it is truer still",
    ("hanger-straight", "none"): "a hanger may be dead straight",
    ("hanger-straight", "a tenth"): "it is straighter still",
}

# A usual torque [N·m] of each joint that may come without any figure, and what no such joint has.
UNFIGURED: dict[str, tuple[float, tuple[float, ...]]] = {
    "bar-in-stem": (5.0, (0.1, 0.5, 50.0, 60.0)),
    "bar-rolled": (5.0, (0.1, 0.5, 50.0, 60.0)),
    "front-rotor": (5.0, (0.1, 0.5, 60.0, 500.0)),
    "rear-rotor": (5.0, (0.1, 0.5, 60.0, 500.0)),
    "expander-set": (6.0, (0.1, 0.6, 60.0)),
    "stem-pinch": (5.0, (0.1, 0.5, 50.0)),
    "mast-head-set": (6.0, (0.1, 0.6, 60.0)),
    "seat-collar-set": (5.0, (0.1, 0.5, 50.0)),
    "levers-clamped": (3.0, (0.1, 0.3, 30.0)),
    "shifter-clamped": (2.5, (0.1, 0.25, 25.0)),
    "remote-clamped": (2.5, (0.1, 0.25, 25.0)),
    "front-derailleur-set": (5.0, (0.1, 0.5, 50.0)),
}

# Between which a careful mechanic would believe a torque at all, joint by joint [N·m]: the spans
# of the knowledge lie inside, and hold what the trade's usual figure is.
BELIEVABLE: dict[str, tuple[float, float, float]] = {
    "front_axle": (2, 12, 70), "rear_axle": (2, 12, 70), "front_rotor": (1, 5, 60),
    "rear_rotor": (1, 5, 60), "front_caliper": (1, 7, 20), "rear_caliper": (1, 7, 20),
    "front_adapter": (1, 7, 20), "rear_adapter": (1, 7, 20), "front_pads": (0.2, 3, 10),
    "rear_pads": (0.2, 3, 10), "expander": (1, 6, 20), "stem_pinch": (1, 5, 20),
    "faceplate": (1, 5, 20), "brake_levers": (0.5, 3, 10), "shifter": (0.5, 2.5, 10),
    "dropper_remote": (0.5, 2.5, 10), "grips": (0.5, 2.5, 10), "hose_nuts": (1, 5, 20),
    "shock_front": (1, 10, 50), "shock_rear": (1, 10, 50), "pivots": (1, 15, 70),
    "bottle_cage": (0.5, 2.5, 10), "motor": (1, 25, 70), "battery": (0.5, 5, 40),
    "bottom_bracket": (10, 40, 90), "crank": (4, 40, 80), "chainring": (2, 10, 30),
    "chain_guide": (1, 6, 20), "front_derailleur": (1, 6, 20), "pedals": (10, 35, 70),
    "seat_collar": (1, 5, 20), "mast_head": (1, 6, 30), "saddle_clamp": (1, 8, 30),
    "cassette_lockring": (15, 40, 70), "hanger": (0.5, 6, 30), "derailleur": (2, 9, 30),
    "jockey_wheels": (0.5, 2.5, 10), "cable_anchor": (1, 5, 15),
}  # fmt: skip
OTHER = {"pressure": "5 N.m", "length": "24 psi", "torque": "24 psi", "angle": "24 psi",
         "number": "24 psi", "rate": "24 psi"}  # fmt: skip
BARE = {"Pa": ("psi", 6894.757), "m": ("mm", 1e-3), "N·m": ("N.m", 1.0), "N/m": ("N/mm", 1e3),
        "rad": ("deg", math.pi / 180), "1": ("", 1.0)}  # fmt: skip


def test_the_tables_know_every_step_and_every_joint() -> None:
    wants = {step.id for step in knowledge_steps() if set(step.evidence) - {"tick"}}
    assert set(RIGHT) == wants
    set_by = {item.name for item in fasteners().values() if item.kind != "hand"}
    assert set(BELIEVABLE) == set_by
    for name, (least, usual, most) in BELIEVABLE.items():
        item = fasteners()[name]
        rows = [{"least": item.least, "most": item.most}]
        rows += [over for _, over in item.variants if "least" in over]
        for row in rows:
            assert least <= row["least"] < row["most"] <= most, name
        assert item.least is not None and item.most is not None
        assert item.least <= usual <= item.most, name
        figures = [item.low, item.high]
        assert all(item.least <= figure <= item.most for figure in figures if figure), name


@lru_cache(maxsize=1)
def covering() -> tuple[tuple[str, int], ...]:
    """Generated bikes that between them have every step that wants evidence."""
    found: dict[tuple[str, int], set[str]] = {}
    for seed in range(120):
        for kind in ("fitted", "drawn"):
            try:
                given = _generated(kind, seed)
                windows, _ = torque.windows(given)
            except AssertionError:  # no post on sale fits this rider
                continue
            plan = make_plan(facts(given), windows, brakes.derived(given))
            found[kind, seed] = {s.id for s in plan.steps if set(s.evidence) - {"tick"}}
    if many := int(os.environ.get("NONSENSE", "0")):
        return tuple(sorted(found))[:many]
    left, chosen = set(RIGHT), []
    while left:
        best = max(found, key=lambda key: len(found[key] & left))
        assert found[best] & left, left
        chosen.append(best)
        left -= found[best]
    return tuple(chosen)


def _generated(kind: str, seed: int) -> Sheets:
    return fitted(seed) if kind == "fitted" else drawn(seed)


def _example(bike: str, rider: str, place: str) -> Sheets:
    if bike == "trail":
        return sheets(rider)
    return load(*(EXAMPLES / f"{kind}s/{name}.toml" for kind, name in
                  (("bike", bike), ("rider", rider), ("place", place))))  # fmt: skip


def right(shop: Shop, step: PlannedStep) -> str | None:
    """What is right for this step of bike 1, as a mechanic would write it; None for a photo."""
    told, state = RIGHT[step.id], shop.state(1)
    given = shop.sheets(state)
    if told == "photo":
        return None
    if told == "hand":
        wanted = brakes.hands(given).wanted
        return given.bike.hands_delivered if step.id == "hands-delivered" else wanted
    if told == "figure":
        assert step.torque is not None and step.torque.set is not None, step.id
        return f"{step.torque.set:g} N.m"
    if told == "marks":
        return _between_marks(given)
    if told == "advised":
        assert step.record is not None
        found = shop.once(("advised", 1), lambda: advising.advise(given))
        setting = found.setting(step.record.setting)
        assert setting is not None and setting.value is not None, step.id
        return units.show(setting.value, setting.display, setting.graduation).removesuffix(
            " clicks"
        )
    wanted = str(brakes.hands(given).wanted).removeprefix("front-")
    return told.format(hand=wanted)


def _between_marks(given: Sheets) -> str:
    post, frame = given.bike.post, given.bike.frame
    least = max(q.value for q in (post.insertion_min, frame.insertion_min) if q is not None)
    most = min([q.value for q in (frame.insertion_max, post.length) if q is not None] or [0.3])
    return f"{(least + most) / 2 * 1000:.0f} mm"


def numbers(step: PlannedStep, good: str, unit: str) -> Iterator[tuple[str, Number]]:
    """What a number can be instead of what it should be."""
    dimension = dimension_of(unit)
    si = units.parse(good, dimension).value
    spelled, size = BARE[units.DIMENSIONS[dimension][0]]
    shown = si / size
    for name, factor in (("none", 0.0), ("negative", -1.0), ("ten times", 10.0), ("a tenth", 0.1)):
        yield name, f"{shown * factor:g} {spelled}".strip()
        yield name, si * factor
    yield "other unit", OTHER[dimension]
    if dimension == "pressure":
        yield "read as another unit", f"{si / 1e5:g} psi"
        yield "read as another unit", f"{si / 6894.757:g} bar"
    for text in (
        "",
        " ",
        "five",
        "about right",
        "nan",
        f"nan {spelled}",
        f"inf {spelled}",
        "1e400",
    ):
        yield "no number", text
    for value in (math.nan, math.inf, -math.inf):
        yield "no number", value


def words(step: PlannedStep, good: str) -> Iterator[tuple[str, str]]:
    """What words can be instead of what they should be."""
    yield from (("nothing", ""), ("nothing", " \u202e "), ("nothing", "--"), ("nothing", "."))
    if step.id == "serial-read":
        yield "too short", "7"
    if step.record is not None and len(step.record.options) > 1:
        other = {"front-left": "front-right", "front-right": "front-left"}[good]
        yield from (("the other hand", other), ("no hand", "rear-left"), ("no hand", "0"))
    if step.id == "order-signed":
        hand = {"left": "right", "right": "left"}
        yield "the other hand", f"signed: front brake {hand['left' if 'left' in good else 'right']}"
        yield "no hand", "signed 2031-05-02"
    if step.id == "explained-first-recheck":
        yield from (("no day", "manuals and spares"), ("gone by", f"{GONE}, manuals"))


def refused(shop: Shop, step: PlannedStep, what: str, **given: object) -> None:
    """The step is refused so, in words, or is not proved by it."""
    try:
        build.record_step(shop, 1, step.id, by="Ada", **given)  # type: ignore[arg-type]
    except (InputError, Refusal) as error:
        assert all(problem.do and "nan" not in problem.do for problem in error.problems)
        return
    state = shop.state(1)
    lacking = gates.evidence_lacking(state.planned_steps()[step.id], state.step(step.id))
    assert state.step(step.id).status != "done" or lacking, f"{step.id} is proved by {what}"


def walk(shop: Shop, step: PlannedStep, met: Counter[str]) -> None:
    """One step: all nonsense, then what is right."""
    good, wants = right(shop, step), set(step.evidence) - {"tick"}
    picture = photo() if "photo" in wants else None
    word = WORD if step.torque is not None and step.torque.needs_word else None
    if "torque" in wants:
        assert good is not None
        for what, value in numbers(step, good, "N·m"):
            refused(shop, step, f"{what}: {value}", torque=value, word=word)
            met[what] += 1
    if "value" in wants:
        assert good is not None and step.record is not None
        for what, value in numbers(step, good, step.record.unit):
            if (step.id, what) in RIGHT_AS_WELL or _may_be_shut(shop, step, what):
                continue
            refused(shop, step, f"{what}: {value}", value=value, photo=picture)
            met[what] += 1
    if "text" in wants:
        assert good is not None
        for what, text in words(step, good):
            refused(shop, step, f"{what}: {text}", value=text)
            met[what] += 1
    if "photo" in wants:
        refused(shop, step, "no photo", value=good)
        refused(shop, step, "no picture", value=good, photo=b"a note, not a picture")
        met["no picture"] += 2
    refused(shop, step, "a tick alone")
    kind = {"torque": good} if "torque" in wants else {"value": good}
    build.record_step(shop, 1, step.id, photo=picture, word=word, by="Ada", **kind)  # type: ignore[arg-type]
    state = shop.state(1)
    assert state.step(step.id).status == "done", step.id
    assert gates.evidence_lacking(state.planned_steps()[step.id], state.step(step.id)) == ""
    met["right"] += 1


def _may_be_shut(shop: Shop, step: PlannedStep, what: str) -> bool:
    """A dial that may be shut, or nearly, for this rider, by what is advised: no nonsense."""
    share = {"none": 0.0, "a tenth": 0.1}.get(what)
    if step.record is None or step.record.unit != "clicks" or share is None:
        return False
    given = shop.sheets(shop.state(1))
    setting = shop.once(("advised", 1), lambda: advising.advise(given)).setting(step.record.setting)
    assert setting is not None and setting.value is not None and setting.low is not None
    clicks = share * setting.value
    return setting.low <= clicks and clicks == round(clicks)


def played(shop: Shop, *stages: str) -> tuple[Counter[str], set[str]]:
    """Bike 1 built through these stages, every step with evidence tried at nonsense first."""
    met: Counter[str] = Counter()
    seen: set[str] = set()
    for step in build.plan_for(shop, 1).steps:
        if step.stage not in stages:
            continue
        if set(step.evidence) == {"tick"}:
            build.record_step(shop, 1, step.id, by="Ada")
            continue
        walk(shop, step, met)
        seen.add(step.id)
    return met, seen


TO_GATE = ("Receive", "Build", "Fit", "Base")


@pytest.mark.parametrize(
    ("bike", "rider", "place"),
    [("trail", "light", "left"), ("hardtail", "light", "right"), ("longtravel", "heavy", "right")],
)
def test_nonsense_proves_nothing_on_the_examples(
    shop: Shop, bike: str, rider: str, place: str
) -> None:
    receive.open_bike(shop, _example(bike, rider, place), by="Ada")
    met, _ = played(shop, *TO_GATE)
    assert release.gate(shop, 1, "ride", by="Ada").missing == ()
    more, seen = played(shop, "Prove", "Release")
    assert {"car-park-ride", "explained-first-recheck", "finished-photographed"} <= seen
    met += more
    assert release.gate(shop, 1, "release", by="Ada").missing == ()
    print(f"\n{bike}: {met['right']} steps, {sum(met.values()) - met['right']} entries of nonsense")


def test_nonsense_proves_nothing_at_any_step_of_generated_bikes(tmp_path: Path) -> None:
    met: Counter[str] = Counter()
    seen = {"car-park-ride", "explained-first-recheck", "finished-photographed"}  # above
    for number, (kind, seed) in enumerate(covering()):
        with Shop.open(tmp_path / str(number)) as shop:
            receive.open_bike(shop, _generated(kind, seed), by="Ada")
            more, there = played(shop, *TO_GATE)
        met += more
        seen |= there
    wrong = sum(met.values()) - met["right"]
    print(f"\n{number + 1} bikes, {met['right']} steps with evidence, {wrong} entries of nonsense")
    print(dict(met))
    if report := os.environ.get("NONSENSE_REPORT"):
        write(Path(report), number + 1, met)
    assert seen == set(RIGHT)


def write(page: Path, bikes: int, met: Counter[str]) -> None:
    """The figures of a walk as a page of the documents."""
    wrong = sum(met.values()) - met["right"]
    rows = "\n".join(
        f"| {what} | {count} |" for what, count in met.most_common() if what != "right"
    )
    page.write_text(
        "# Nonsense at every step\n\n"
        f"{bikes} generated bikes were built to the ride gate. At the {met['right']} steps that "
        f"want evidence, {wrong} entries\nof nonsense in all were tried first: each was refused "
        "in a sentence or left its step unproved, and what\nis right then proved it. Made by "
        "`make nonsense`; `make test` walks as many bikes as have every such step\nbetween "
        f"them.\n\n| instead of what is right | tried |\n|---|---:|\n{rows}\n",
        encoding="utf-8",
    )


def unfigured(seed: int) -> Sheets:
    """A generated bike on whose sheet no joint has a figure, carbon wherever it may be."""
    given = fitted(seed)
    bike = given.bike.model_copy(update={"fastener": {}})
    found = change(
        Sheets(bike, given.rider, given.place),
        ["bike.cockpit.bar_material=carbon", "bike.fork.material_steerer=carbon",
         "bike.frame.material=carbon"],
    )  # fmt: skip
    ends = {
        end: getattr(found.bike.brake, end).model_copy(update={"rotor_mount": None})
        for end in ("front", "rear")
    }
    brake = found.bike.brake.model_copy(update=ends)
    return Sheets(found.bike.model_copy(update={"brake": brake}), found.rider, found.place)


def test_a_joint_without_a_figure_takes_a_torque_it_can_have_and_whose_it_is(
    tmp_path: Path,
) -> None:
    met: set[str] = set()
    for seed in (101, 108, 47, 3, 5, 11):
        with Shop.open(tmp_path / str(seed)) as shop:
            receive.open_bike(shop, unfigured(seed), by="Ada")
            for step in build.plan_for(shop, 1).steps:
                if step.stage not in ("Receive", "Build", "Fit"):
                    break
                if "torque" in step.evidence and step.torque is None:
                    _no_figure(shop, step)
                    met.add(step.id)
                elif set(step.evidence) == {"tick"}:
                    build.record_step(shop, 1, step.id, by="Ada")
                else:
                    walk(shop, step, Counter())
    assert met == set(UNFIGURED)


def _no_figure(shop: Shop, step: PlannedStep) -> None:
    usual, never = UNFIGURED[step.id]
    refused(shop, step, "as set", as_set=True)
    with pytest.raises(InputError, match="no figure is known for this joint: find it"):
        build.record_step(shop, 1, step.id, torque=f"{usual} N.m", by="Ada")
    for value in never:
        with pytest.raises(InputError, match=r"(more|less) than an? .* can have"):
            build.record_step(shop, 1, step.id, torque=f"{value} N.m", word=WORD, by="Ada")
    for text in ("0 N.m", "-5 N.m", "5 psi", "five", "nan N.m", ""):
        refused(shop, step, text, torque=text, word=WORD)
    with pytest.raises(InputError, match="write a few words"):
        build.record_step(shop, 1, step.id, torque=f"{usual} N.m", word=" ", by="Ada")
    assert shop.state(1).step(step.id).status == "open"
    build.record_step(shop, 1, step.id, torque=f"{usual} N.m", word=WORD, by="Ada")
    state = shop.state(1)
    assert gates.evidence_lacking(state.planned_steps()[step.id], state.step(step.id)) == ""
