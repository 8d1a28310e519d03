"""Papers print nothing as set that is not: every paper, every setting, every way it can stand.

What is expected stands in tables written by hand, and is looked for in the words of the PDFs.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from cyclewright.record import made
from cyclewright.sheets.quickstart import quick_start
from cyclewright.sheets.sheets import load
from cyclewright.workshop import as_set, build, care, erase, paper, readings, receive, release
from cyclewright.workshop.readings import append_settings
from cyclewright.workshop.shop import Shop
from printing import claims
from workshop.shops import opened, sheets, text_of

PSI = 6894.757293168361
SPRINGS = {
    "front_tyre_pressure", "rear_tyre_pressure", "fork_pressure", "fork_sag", "fork_rebound",
    "fork_compression", "shock_pressure", "shock_sag", "shock_rebound", "shock_compression",
}  # fmt: skip
STEPPED = SPRINGS | {"saddle_height", "post_insertion", "lever_angle"}
"""Settings that a step of the plan writes down."""
RINGS = {"fork_sag", "shock_sag"}
SUMS = {
    "rear_wheel_sag", "front_load_seated", "front_load_standing", "head_angle_at_sag",
    "trail_at_sag", "bb_height_at_sag",
}  # fmt: skip
NEVER = {"saddle_setback", "saddle_tilt", "spacers_under", "bar_height", "lever_inboard",
         "lever_reach"}  # fmt: skip
"""Settings of this bike that no step writes down: advised, until somebody says otherwise."""
CARD = SPRINGS | {"saddle_height", "saddle_setback", "saddle_tilt", "spacers_under", "lever_angle"}
MARKS = {"saddle_height", "post_insertion", "saddle_setback", "saddle_tilt", "spacers_under",
         "bar_height", "lever_angle", "lever_inboard"}  # fmt: skip
ON = {
    "hand-over": STEPPED | NEVER | SUMS,
    "setting-card": CARD,
    "sag-strip": RINGS,
    "marks": MARKS,
    "tag": SPRINGS,
}
"""What each paper prints of this bike; the tag only once it may be ridden."""
LABEL = {
    "front_tyre_pressure": ("Tyres", "Front"),
    "rear_tyre_pressure": ("Tyres", "Rear"),
    "fork_pressure": ("Fork", "Pressure"),
    "fork_sag": ("Fork", "Sag, standing"),
    "fork_rebound": ("Fork", "Rebound"),
    "fork_compression": ("Fork", "Compression"),
    "shock_pressure": ("Shock", "Pressure"),
    "shock_sag": ("Shock", "Sag, seated"),
    "shock_rebound": ("Shock", "Rebound"),
    "shock_compression": ("Shock", "Compression"),
    "rear_wheel_sag": ("Shock", "Wheel at that sag"),
    "saddle_height": ("Fit", "Saddle height"),
    "saddle_setback": ("Fit", "Saddle behind middle"),
    "saddle_tilt": ("Fit", "Saddle tilt"),
    "post_insertion": ("Fit", "Post in frame"),
    "spacers_under": ("Fit", "Spacers under stem"),
    "bar_height": ("Fit", "Grips above ground"),
    "lever_angle": ("Fit", "Levers below level"),
    "lever_inboard": ("Fit", "Levers inboard"),
    "lever_reach": ("Fit", "Lever blade from bar"),
}
MARK_LABEL = {
    "saddle_height": "Saddle height",
    "post_insertion": "Seat post in frame",
    "saddle_setback": "Saddle on its rails",
    "saddle_tilt": "Saddle tilt",
    "spacers_under": "Spacers under the stem",
    "bar_height": "Grips above ground",
    "lever_angle": "Brake levers",
    "lever_inboard": "Levers inboard of the grips",
}
WORDS = {
    "set": "set(?! before)",
    "read": "read",
    "before": "set before: ",
    "advised": "advised, not set",
    "sums": "by the sums",
}


def _nothing(shop: Shop) -> None:
    """The bike as it is."""


def _mass(shop: Shop) -> None:
    build.change_sheet(shop, 1, ["rider.mass=62 kg"], by="Ada")


def _inseam(shop: Shop) -> None:
    build.change_sheet(shop, 1, ["rider.inseam=84 cm"], by="Ada")


def _target(shop: Shop) -> None:
    build.change_sheet(shop, 1, ["bike.fork.sag_target=22 %"], by="Ada")


def _warmer(shop: Shop) -> None:
    build.change_sheet(shop, 1, ["place.trail.temperature=30 degC"], by="Ada")


def _pumped(shop: Shop) -> None:
    readings.read(shop, 1, "fork-pressure", "66 psi", by="Ada")


def _pumped_the_same(shop: Shop) -> None:
    readings.read(shop, 1, "fork-pressure", "60.4 psi", by="Ada")


def _pumped_in_error(shop: Shop) -> None:
    _pumped(shop)
    build.undo(shop, 1, by="Ada")


def _flat(shop: Shop) -> None:
    readings.read(shop, 1, "front-tyre", "7 psi", by="Ada")


def _wheel_out(shop: Shop) -> None:
    build.touch(shop, 1, ["rear_tyre"], "a puncture", by="Ada")


def _put_off(shop: Shop) -> None:
    build.record_step(shop, 1, "shock-compression", put_off="dial stuck", by="Ada")


def _mass_and_back(shop: Shop) -> None:
    _mass(shop)
    build.undo(shop, 1, by="Ada")


SPRUNG = {"front_tyre_pressure", "rear_tyre_pressure", "fork_pressure", "shock_pressure"}
CASES: dict[str, tuple[Callable[[Shop], None], set[str], set[str]]] = {
    # what happened to a bike on which all was set: what stands there set for something else, and
    # which rings say nothing any more
    "nothing": (_nothing, set(), set()),
    "another mass": (
        _mass,
        SPRUNG | {"fork_rebound", "shock_rebound", "fork_compression", "shock_compression"},
        RINGS,
    ),
    "another inseam": (_inseam, {"saddle_height", "lever_angle", "post_insertion"}, RINGS),
    "another goal": (_target, {"fork_pressure", "fork_rebound"}, {"fork_sag"}),
    "a warmer trail": (_warmer, SPRUNG | {"fork_rebound", "shock_rebound"}, RINGS),
    "pumped up": (_pumped, {"fork_rebound"}, {"fork_sag"}),
    "read again, the same": (_pumped_the_same, set(), set()),
    "pumped in error": (_pumped_in_error, set(), set()),
    "a flat tyre": (_flat, set(), set()),
    "wheel out": (_wheel_out, {"rear_tyre_pressure"}, set()),
    "put off": (_put_off, {"shock_compression"}, set()),
    "a change undone": (_mass_and_back, set(), set()),
}
DOUBTED = {"a flat tyre": {"front_tyre_pressure"}}
"""What was read last is not believed: the paper prints what is advised."""


def words_on(shop: Shop, what: str) -> str:
    """A paper's words."""
    return text_of(paper.print_document(shop, what, 1))


def says(text: str, what: str, name: str, how: str) -> bool:
    """Whether a paper says this of a setting, in its own block."""
    if what == "marks":
        value = r"bike 1 [−\d.]+ ?(mm|°)"
        return bool(re.search(f"{MARK_LABEL[name]} {value} {WORDS[how].rstrip(': ')}", text))
    if what == "sag-strip":
        unit = LABEL[name][0]
        return bool(re.search(f"{unit} \\d+ mm goal \\d+ % of \\d+ mm, \\w+ {WORDS[how]}", text))
    if name not in LABEL:
        return how == "sums" and "geometry at sag by the sums" in text
    block, label = LABEL[name]
    first = f"{block} {label}"
    blocks = ("Tyres Front", "Fork Pressure", "Shock Pressure", "Fit Saddle height")
    begin = max(text.rfind(start) for start in blocks if start.startswith(f"{block} "))
    ends = [text.find(start, begin + 5) for start in blocks]
    ends += [text.find("Balance and geometry", begin), text.find("Set and read so far", begin)]
    end = min((at for at in ends if at > 0), default=len(text))
    part = text[begin:end]
    assert first in part or f" {label} " in part, (what, name, part)
    return bool(re.search(f" {label} {WORDS[how]}", part))


def holds(shop: Shop, what: str, expected: dict[str, str]) -> None:
    """A paper's words, and what it was made of, say what is expected of every setting on it."""
    text = words_on(shop, what)
    made = {name: how for _, name, how in claims.papers_claims(shop, 1, (what,))}
    if what == "tag" and "Do not ride" in text:
        assert not made and not re.search("(Fork Pressure|Tyres Front)", text)
        return
    assert set(made) == ON[what]
    for name, how in made.items():
        assert how == expected[name], (what, name, how)
        assert says(text, what, name, how), (what, name, how, text)
        others = set(WORDS) - {how}
        assert not any(says(text, what, name, other) for other in others), (what, name, text)


@pytest.mark.parametrize("case", CASES)
def test_every_paper_says_how_every_setting_stands(released: Shop, case: str) -> None:
    act, before, gone = CASES[case]
    act(released)
    expected = dict.fromkeys(STEPPED - RINGS, "set") | dict.fromkeys(RINGS, "read")
    expected |= dict.fromkeys(NEVER, "advised") | dict.fromkeys(SUMS, "sums")
    expected |= dict.fromkeys(before, "before") | dict.fromkeys(gone, "advised")
    expected |= dict.fromkeys(DOUBTED.get(case, ()), "advised")
    for what in ON:
        holds(released, what, expected)
    assert not claims.unfounded(released, 1)


def test_a_paper_that_forgot_what_happened_since_is_found_out(
    released: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(made, "_moved", lambda *_: "")
    monkeypatch.setattr(made, "_spring_moved", lambda *_: "")
    _put_off(released)
    _pumped(released)
    told = claims.unfounded(released, 1)
    assert any(line.startswith("setting-card: shock_compression set") for line in told)
    assert any(line.startswith("sag-strip: fork_sag read") for line in told)


def test_nothing_is_set_on_a_bike_that_was_only_opened(shop: Shop) -> None:
    opened(shop)
    expected = dict.fromkeys(STEPPED | NEVER, "advised") | dict.fromkeys(SUMS, "sums")
    for what in ON:
        holds(shop, what, expected)
    assert "right hand wanted, not proved" in words_on(shop, "hand-over")
    assert "Not proved on the bike yet" in words_on(shop, "brake-card")


def test_what_was_set_and_undone_was_never_set(shop: Shop) -> None:
    opened(shop)
    readings.read(shop, 1, "fork-pressure", "60 psi", by="Ada")
    assert says(words_on(shop, "setting-card"), "setting-card", "fork_pressure", "set")
    build.undo(shop, 1, by="Ada")
    assert says(words_on(shop, "setting-card"), "setting-card", "fork_pressure", "advised")


def test_nine_answers_make_papers_that_claim_nothing(shop: Shop) -> None:
    texts = quick_start(
        {
            "kind": "full-suspension", "country": "GB", "fork_travel": "150 mm",
            "rear_travel": "140 mm", "shock_stroke": "55 mm", "tyre": "29x2.4",
            "tubeless": "true", "hooked": "true", "height": "1.78 m", "mass": "80 kg",
        }
    )  # fmt: skip
    nine = load(texts.bike_toml, texts.rider_toml, texts.place_toml)
    receive.open_bike(shop, nine, by="Ada")
    said = claims.papers_claims(shop, 1)
    assert {paper for paper, _, _ in said} == {"setting-card", "hand-over", "marks", "sag-strip"}
    assert {how for _, _, how in said} == {"advised", "sums"}
    assert "Do not ride" in words_on(shop, "tag")
    assert words_on(shop, "setting-card").count("advised, not set") == 11


def test_a_setting_made_by_hand_is_set_and_lapses_with_the_facts_it_was_made_under(
    shop: Shop,
) -> None:
    opened(shop)
    append_settings(shop, 1, [{"name": "fork_pressure", "value": 60 * PSI, "unit": "Pa"}])
    card = words_on(shop, "setting-card")
    assert says(card, "setting-card", "fork_pressure", "set")
    _mass(shop)
    card = words_on(shop, "setting-card")
    assert "set before: rider mass changed" in card
    (row,) = care.show(shop, 1).to_json()["settings"]
    assert (row["stands"], row["was"]) == ("lapsed", "set") and "rider mass changed" in row["why"]
    build.undo(shop, 1, by="Ada")
    (row,) = care.show(shop, 1).to_json()["settings"]
    assert (row["stands"], row["why"]) == ("set", "")


def test_a_sag_belongs_to_the_pressure_it_was_read_at(shop: Shop) -> None:
    opened(shop)
    readings.read(shop, 1, "fork-sag", "28 mm", by="Ada")
    readings.read(shop, 1, "fork-pressure", "64 psi", by="Ada")
    readings.read(shop, 1, "fork-sag", "26 mm", by="Ada")
    assert "read 26 mm" in words_on(shop, "sag-strip")
    readings.read(shop, 1, "fork-pressure", "60 psi", by="Ada")
    strip = words_on(shop, "sag-strip")
    assert "read 26 mm" not in strip and "advised, not set: the fork pressure was changed" in strip
    assert "26 mm read before; the fork pressure was changed" in words_on(shop, "setting-card")
    *_, last = care.show(shop, 1).readings
    sag = [row for row in care.show(shop, 1).readings if row["kind"] == "fork-sag"]
    assert sag[-1]["why"] == "the fork pressure was changed after it was read"
    assert sag[0]["why"] == "set or read again since" and last["why"] == ""
    readings.read(shop, 1, "fork-pressure", "64 psi", by="Ada")
    assert "read 26 mm" in words_on(shop, "sag-strip")


def test_a_sag_read_before_anybody_set_the_spring_is_told_without_a_pressure(shop: Shop) -> None:
    opened(shop)
    readings.read(shop, 1, "fork-sag", "28 mm", by="Ada")
    card = words_on(shop, "setting-card")
    assert says(card, "setting-card", "fork_sag", "read")
    assert says(card, "setting-card", "fork_pressure", "advised")
    assert re.search(r"newest first Set Read Fork – 28 mm", card)


def test_a_visit_later_asks_for_what_it_sets_anew(released: Shop) -> None:
    build_again = sheets()
    bike = receive.open_bike(released, build_again, by="Ada")
    assert bike != 1, "a bike of its own: nothing is taken over"
    assert {how for _, _, how in claims.papers_claims(released, bike)} == {"advised", "sums"}


def test_an_erased_rider_leaves_nothing_set_for_anybody(released: Shop) -> None:
    erase.erase_bike(released, 1, reason="asked", by="Ada")
    build.change_sheet(released, 1, ["rider.mass=80 kg"], by="Ada")
    said = claims.papers_claims(released, 1, ("setting-card",))
    assert not [name for _, name, how in said if name in SPRUNG | RINGS and how in claims.CLAIMING]


def test_the_hand_is_told_as_proved_only_while_it_is(released: Shop) -> None:
    for what in ("tag", "hand-over"):
        said = words_on(released, what)
        assert "right hand" in said and "proved" not in said and "wanted" not in said
    assert "Proved on the bike: right hand." in words_on(released, "brake-card")
    build.change_sheet(released, 1, ["place.country=US"], by="Ada")
    assert "left hand wanted, not proved" in words_on(released, "hand-over")
    assert "Not proved on the bike yet" in words_on(released, "brake-card")
    tag = words_on(released, "tag")
    assert "Do not ride" in tag and "Front brake:" not in tag


def test_a_torque_is_recorded_only_while_its_joint_was_not_opened(released: Shop) -> None:
    assert "Stem pinch bolts on the steerer 4 mm hex 5.3 to 5.6 5.4 5.4" in words_on(
        released, "hand-over"
    )
    build.touch(released, 1, ["stem_pinch"], "bar turned", by="Ada")
    said = words_on(released, "hand-over")
    assert "Stem pinch bolts on the steerer 4 mm hex 5.3 to 5.6 5.4 reopened" in said
    card = words_on(released, "torque-card")
    assert re.search(
        r"Stem pinch bolts on the steerer grease on the thread, the parts clean and dry reopened",
        card,
    )
    assert "do again: stem pinch: bar turned" in words_on(released, "plan")
    build.record_step(released, 1, "stem-pinch", put_off="no time", by="Ada")
    assert "5.3 to 5.6 5.4 put off" in words_on(released, "hand-over")


def test_no_torque_is_recorded_on_a_bike_that_was_only_opened(shop: Shop) -> None:
    opened(shop)
    data = paper.contents(shop, "hand-over", 1)
    assert all(line.recorded == "" and line.waits == "open" for line in data.torques)
    assert "Window Advised Recorded" in words_on(shop, "hand-over")


def test_a_release_that_stands_no_more_says_so_at_the_top(released: Shop) -> None:
    assert "no more" not in words_on(released, "hand-over")
    _mass(released)
    said = words_on(released, "hand-over")
    assert said.index("Released once, and no more") < said.index("Before you ride")


def test_what_is_by_the_sums_is_never_set(released: Shop) -> None:
    append_settings(released, 1, [{"name": "rear_wheel_sag", "value": 0.04, "unit": "m"}])
    state = released.state(1)
    assert as_set.stands(released, state, "rear_wheel_sag").how == "sums"
    assert says(words_on(released, "hand-over"), "hand-over", "rear_wheel_sag", "sums")


def test_the_coil_of_a_shock_that_was_never_noted_is_advised(shop: Shop) -> None:
    from walks.bikes import sheets as of

    receive.open_bike(shop, of("longtravel"), by="Ada")
    said = {name: how for _, name, how in claims.papers_claims(shop, 1, ("setting-card",))}
    assert said["shock_rate"] == said["shock_preload"] == "advised"
    readings.read(shop, 1, "shock-sag", "18 mm", by="Ada")
    said = {name: how for _, name, how in claims.papers_claims(shop, 1, ("setting-card",))}
    assert said["shock_sag"] == "read" and said["shock_rate"] == "advised"
    rate = {"name": "shock_rate", "value": 70_000.0, "unit": "N/m"}
    append_settings(shop, 1, [rate])
    said = {name: how for _, name, how in claims.papers_claims(shop, 1, ("setting-card",))}
    assert said["shock_sag"] == "advised" and said["shock_rate"] == "set"


def test_a_gate_that_was_never_asked_leaves_the_tag_without_settings(built: Shop) -> None:
    assert "Do not ride" in words_on(built, "tag")
    release.gate(built, 1, "ride", by="Ada")
    expected = dict.fromkeys(SPRINGS - RINGS, "set") | dict.fromkeys(RINGS, "read")
    holds(built, "tag", expected)
