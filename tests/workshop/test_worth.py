"""What a value is worth: told cases of proofs at nonsense, readings, and words for a value."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from cyclewright.errors import InputError, RangeError
from cyclewright.record import gates
from cyclewright.record.fold import fold
from cyclewright.record.steps import steps_from
from cyclewright.record.telling import tell
from cyclewright.sheets.quickstart import quick_start
from cyclewright.sheets.sheets import change
from cyclewright.workshop import build, readings, receive, release
from cyclewright.workshop.paper import print_document
from cyclewright.workshop.shop import Shop
from workshop.shops import opened, photo, record, sheets, text_of

QUICK = {
    "kind": "hardtail", "country": "GB", "fork_travel": "120 mm", "tyre": "29x2.4",
    "tubeless": "yes", "hooked": "no", "height": "1.75 m", "mass": "82 kg",
}  # fmt: skip


def until(shop: Shop, bike: int, step: str) -> None:
    """Every step that can be done before this one."""
    for planned in build.plan_for(shop, bike).steps:
        if planned.id == step:
            return
        state = shop.state(bike)
        if not state.unmet(planned.id) and planned.stage not in ("Prove", "Release", "Care"):
            try:
                record(shop, bike, planned)
            except (InputError, KeyError):
                continue


def quick(shop: Shop, **over: str) -> int:
    """A bike of nine answers in the record."""
    return receive.open_bike(shop, quick_start(QUICK | over).sheets(), by="Ada")


def lacking(shop: Shop, bike: int) -> dict[str | None, str]:
    """What the ride gate still wants, by step."""
    return {row.step: row.why for row in release.missing(shop, shop.state(bike), "ride")}


@pytest.mark.parametrize("given", ["0.1 N.m", "60 N.m"])
def test_rotor_bolts_take_no_torque_that_no_rotor_has(shop: Shop, given: str) -> None:
    bike = quick(shop)
    with pytest.raises(RangeError, match=r"than a front rotor can have"):
        build.record_step(shop, bike, "front-rotor", torque=given, word="I say so", by="Ada")
    with pytest.raises(InputError, match="say whose it is with the torque"):
        build.record_step(shop, bike, "front-rotor", torque="5 N.m", by="Ada")
    build.record_step(shop, bike, "front-rotor", torque="5 N.m", word="mark on the rotor", by="Ada")
    assert "front-rotor" not in lacking(shop, bike)


def test_a_screw_bears_no_more_than_its_thread(shop: Shop) -> None:
    given = change(
        quick_start(QUICK).sheets(),
        ["bike.fastener.front_rotor.thread=M5x0.8", "bike.fastener.front_rotor.grade=8.8"],
    )
    bike = receive.open_bike(shop, given, by="Ada")
    with pytest.raises(RangeError, match="more than a front rotor can have"):
        build.record_step(shop, bike, "front-rotor", torque="20 N.m", word="a guess", by="Ada")


def test_a_torque_of_an_older_record_without_figure_or_word_proves_nothing() -> None:
    planned = {"id": "front-rotor", "evidence": ["torque"], "torque": None, "safety": "brake-bolts"}
    step = steps_from([planned])["front-rotor"]
    held = {"torque": {"value": 60.0, "unit": "N·m", "text": "60 N.m"}}
    done = gates.StepState("done", 7, 1, "", held)
    assert "whose figure it is" in gates.evidence_lacking(step, done)
    worded = gates.StepState("done", 7, 1, "", held | {"word": "page 12"})
    assert gates.evidence_lacking(step, worded) == ""


def test_a_step_without_torque_takes_none(shop: Shop) -> None:
    bike = opened(shop)
    with pytest.raises(RangeError, match="leave the torque out"):
        build.record_step(shop, bike, "carton-open", torque="60 N.m", by="Ada")


MARKS = ("bike.post.insertion_min=100 mm", "bike.frame.insertion_min=90 mm")


@pytest.mark.parametrize(
    ("known", "asked", "word_helps"),
    [
        ((), ("the mark on the post", "the frame maker's figure"), False),
        (MARKS[1:], ("the mark on the post",), False),
        (MARKS[:1], ("the frame maker's figure",), True),
    ],
)
def test_an_insertion_proves_nothing_while_a_mark_is_unknown(
    shop: Shop, known: tuple[str, ...], asked: tuple[str, ...], word_helps: bool
) -> None:
    given = quick_start(QUICK | {"hooked": "yes", "tubeless": "no"}).sheets()
    bike = receive.open_bike(shop, change(given, known) if known else given, by="Ada")
    until(shop, bike, "post-insertion")
    for value in ("21 mm", "150 mm"):
        with pytest.raises(InputError, match=asked[0]) as error:
            build.record_step(shop, bike, "post-insertion", value=value, photo=photo(), by="Ada")
        assert all(words in str(error.value) for words in asked)
    given_word = {"value": "150 mm", "photo": photo(), "word": "no figure, frame maker's manual"}
    if word_helps:
        build.record_step(shop, bike, "post-insertion", by="Ada", **given_word)
    else:
        with pytest.raises(InputError, match=asked[0]):
            build.record_step(shop, bike, "post-insertion", by="Ada", **given_word)
    assert ("post-insertion" in shop.state(bike).done()) == word_helps


@pytest.mark.parametrize("step", ["front-tubeless", "front-tyre-pressure"])
@pytest.mark.parametrize(("approved", "said"), [(None, "rim maker's list"), ("false", "this one")])
def test_an_unapproved_tyre_on_a_hookless_rim_has_no_pressure(
    shop: Shop, step: str, approved: str | None, said: str
) -> None:
    given = quick_start(QUICK).sheets()
    changes = [] if approved is None else [f"bike.tyre.front.hookless_ok={approved}"]
    bike = receive.open_bike(shop, change(given, changes) if changes else given, by="Ada")
    for value in ("6 bar", "1.5 bar", None):
        with pytest.raises(InputError, match=said):
            build.record_step(shop, bike, step, value=value, word="it will hold", by="Ada")
    assert step not in shop.state(bike).done()


@pytest.mark.parametrize(
    ("changes", "value", "said"),
    [
        (["bike.tyre.front.hookless_ok=true"], "6 bar", "at most"),
        (["bike.tyre.front.hookless_ok=true", "bike.tyre.front.pressure_max=3 bar"], "3.2 bar",
         "43.5 psi, the front tyre's maker"),
        (["bike.tyre.front.hookless_ok=true", "bike.wheel.front.pressure_max=2.5 bar"], "2.6 bar",
         "the front rim's maker"),
        (["bike.wheel.front.hooked=true", "bike.tyre.front.pressure_max=8 bar"], "6 bar",
         "any bead"),
        (["bike.wheel.front.hooked=true"], "4.5 bar", "neither tyre nor rim marked"),
    ],
)  # fmt: skip
def test_a_tyre_is_seated_at_the_lowest_of_tyre_rim_and_standard(
    shop: Shop, changes: list[str], value: str, said: str
) -> None:
    given = change(quick_start(QUICK).sheets(), changes)
    bike = receive.open_bike(shop, given, by="Ada")
    with pytest.raises(RangeError, match=said):
        build.record_step(shop, bike, "front-tubeless", value=value, word="go", by="Ada")
    build.record_step(shop, bike, "front-tubeless", value="2.4 bar", by="Ada")
    assert "front-tubeless" in shop.state(bike).done()


@pytest.mark.parametrize(
    ("kind", "value", "step"),
    [
        ("front-tyre", "7 psi", "front-tyre-pressure"),
        ("rear-tyre", "5 psi", "rear-tyre-pressure"),
        ("shock-pressure", "290 psi", "shock-pressure"),
        ("fork-pressure", "6 psi", "fork-pressure"),
        ("fork-pressure", "125 psi", "fork-pressure"),
        ("fork-sag", "3 mm", "fork-sag"),
        ("shock-sag", "40 mm", "shock-sag"),
    ],
)
def test_a_reading_far_off_is_kept_and_takes_the_proof_away(
    built: Shop, kind: str, value: str, step: str
) -> None:
    assert release.gate(built, 1, "ride", by="Ada").passed
    answer = readings.read(built, 1, kind, value, by="Ada")
    state = built.state(1)
    assert state.readings[-1].kind == kind
    assert "proves nothing" in answer.said and not answer.stop
    held = state.step(step)
    assert held.status == "reopened"
    assert f"event {answer.numbers[0]}, which does not prove it" in held.said
    assert "ride" not in state.gates
    assert step in lacking(built, 1)
    assert fold(built.events(1)).step(step) == held


def test_a_reading_near_what_is_advised_proves_its_step(built: Shop) -> None:
    readings.read(built, 1, "front-tyre", "7 psi", by="Ada")
    readings.read(built, 1, "front-tyre", "20 psi", by="Ada")
    assert built.state(1).step("front-tyre-pressure").status == "done"


def test_a_value_that_is_meant_wants_a_word_and_the_word_is_printed(built: Shop) -> None:
    word = "the rider races on insert tyres at this"
    with pytest.raises(RangeError, match=r"about 16\.0 psi is advised: read it and its unit again"):
        build.record_step(built, 1, "front-tyre-pressure", value="40 psi", by="Ada")
    build.record_step(built, 1, "front-tyre-pressure", value="40 psi", word=word, by="Ada")
    readings.read(built, 1, "front-tyre", "39 psi", by="Ada")
    held = built.state(1).step("front-tyre-pressure")
    assert (held.status, held.evidence["word"]) == ("done", word)
    assert word in text_of(print_document(built, "hand-over", 1))
    told = [tell(event) for event in built.events(1)]
    assert f"front-tyre-pressure: done (40 psi, on the word of: {word})" in told
    readings.read(built, 1, "front-tyre", "31 psi", by="Ada")
    assert built.state(1).step("front-tyre-pressure").status == "reopened"
    assert "front-tyre read, proves nothing: about 16.0 psi is advised" in tell(built.events(1)[-1])


def test_a_reading_of_what_is_advised_takes_the_place_of_a_word(built: Shop) -> None:
    build.record_step(built, 1, "front-tyre-pressure", value="40 psi", word="racing", by="Ada")
    readings.read(built, 1, "front-tyre", "17 psi", by="Ada")
    held = built.state(1).step("front-tyre-pressure")
    assert held.status == "done" and "word" not in held.evidence
    assert held.evidence["value"]["text"] == "17 psi"


def test_no_word_lifts_a_limit(built: Shop) -> None:
    with pytest.raises(RangeError, match="allowed: at most"):
        build.record_step(built, 1, "front-tyre-pressure", value="80 psi", word="go", by="Ada")


def test_a_setting_made_by_hand_far_off_takes_the_proof_away(built: Shop) -> None:
    row = {"name": "shock_pressure", "value": 20e5, "unit": "Pa", "shown": "290 psi"}
    readings.append_settings(built, 1, [row], by="Ada")
    held = built.state(1).step("shock-pressure")
    assert held.status == "reopened" and "set to 290 psi" in held.said


def test_a_bike_without_a_rider_is_held_against_its_stated_mass(shop: Shop) -> None:
    bike = receive.open_bike(shop, sheets(None, "80 kg"), by="Ada")
    until(shop, bike, "front-tyre-pressure")
    with pytest.raises(RangeError, match=r"about 20\.5 psi is advised"):
        build.record_step(shop, bike, "front-tyre-pressure", value="38 psi", by="Ada")
    with pytest.raises(RangeError, match="at most 1000 mm"):
        build.record_step(shop, bike, "saddle-height-not-fitted", value="1100 mm", by="Ada")


@pytest.mark.parametrize(
    ("step", "text", "said"),
    [
        ("serial-read", "7", "at least 3 letters"),
        ("serial-read", "\u202e--", "at least 3 letters"),
        (
            "hands-delivered",
            "front-right",
            r"correct the sheet first \(bike.hands_delivered=front-right\)",
        ),
        ("hands-delivered", "both", "front-left or front-right"),
    ],
)
def test_words_that_prove_nothing(shop: Shop, step: str, text: str, said: str) -> None:
    bike = opened(shop)
    with pytest.raises(InputError, match=said):
        build.record_step(shop, bike, step, value=text, by="Ada")
    assert step not in shop.state(bike).done()


def test_what_is_advised_after_readings_is_never_far(built: Shop) -> None:
    for end in learned(built):
        build.record_step(built, 1, f"{end}-pressure", value=_next(built, end), by="Ada")
        assert built.state(1).step(f"{end}-pressure").status == "done"


def test_a_ring_that_what_is_set_does_not_explain_proves_nothing_until_it_is_read_twice(
    built: Shop,
) -> None:
    answer = readings.read(built, 1, "fork-sag", "40 mm", by="Ada")
    assert answer.suspects and "kept and proves nothing" in answer.said
    assert built.state(1).step("fork-sag").status == "reopened"
    with pytest.raises(RangeError, match="if it is meant so, say whose word"):
        build.record_step(built, 1, "fork-sag", value="18 mm", by="Ada")
    again = readings.read(built, 1, "fork-sag", "40 mm", by="Ada")
    assert again.next_setting is not None and again.next_setting.value is not None
    assert built.state(1).step("fork-sag").status == "reopened", "believed, and no goal met"
    readings.read(built, 1, "fork-pressure", f"{again.next_setting.value} Pa", by="Ada")
    readings.read(built, 1, "fork-sag", "28 mm", by="Ada")
    assert built.state(1).step("fork-sag").status == "done"


def learned(shop: Shop) -> Iterator[str]:
    """Springs whose advice a ring far off has moved."""
    for end, sag in (("fork", "33 mm"), ("shock", "18 mm")):
        readings.read(shop, 1, f"{end}-sag", sag, by="Ada")
        yield end


def _next(shop: Shop, end: str) -> str:
    found = readings.latest(shop, 1, f"{end}-sag")
    assert found is not None and found.next_setting is not None
    assert found.next_setting.value is not None
    return f"{found.next_setting.value / 6894.757:.0f} psi"
