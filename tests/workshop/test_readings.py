"""A reading is refused or kept, and says the next setting, when to stop and what to suspect."""

from __future__ import annotations

import pytest

from cyclewright.errors import InputError, RangeError
from cyclewright.sheets.sheets import change, load
from cyclewright.workshop import (
    advising,
    build,
    changing,
    readings,
    receive,
    rehearsal,
    release,
    undo,
)
from cyclewright.workshop.answers import AdviceAnswer
from cyclewright.workshop.wanted import Wanted
from sheets.samples import example
from workshop.shops import build_to_gate, opened, record

LONG = ("bike.fork.travel=160 mm", "bike.fork.axle_to_crown=571 mm")


def of_kind(kind: str):
    """The example bike of that kind in the shop's sheets."""
    return load(*example(kind, "heavy"))


def psi(answer: AdviceAnswer, name: str) -> float:
    found = answer.setting(name)
    assert found is not None and found.value is not None
    return found.value / 6894.757293168361


def test_an_odd_reading_changes_no_air_and_two_that_agree_are_believed(shop):
    bike = receive.open_bike(shop, change(of_kind("trail"), LONG))
    before = advising.advise_bike(shop, bike)
    odd = readings.read(shop, bike, "fork-sag", "8 mm")
    assert "8 mm where about 32 mm was expected: change no air yet" in odd.said
    assert len(odd.suspects) == 3
    assert odd.next_setting is None
    assert not odd.stop
    assert odd.numbers
    assert advising.advise_bike(shop, bike) == before
    believed = readings.read(shop, bike, "fork-sag", "9 mm")
    assert not believed.suspects
    assert believed.next_setting is not None and believed.next_setting.value is not None
    assert psi(advising.advise_bike(shop, bike), "fork_pressure") < psi(before, "fork_pressure")
    assert "read again, then stop" in believed.said
    told = advising.advise_bike(shop, bike).setting("fork_pressure")
    assert told is not None
    assert told.basis == "measured"
    assert told.because.endswith("corrected by the sag read on this bike")


def test_sit_downs_are_averaged_and_told_when_they_lie_too_far_apart(shop):
    bike = receive.open_bike(shop, of_kind("trail"))
    alike = readings.read(shop, bike, "fork-sag", "27 mm, 28 mm, 26 mm")
    assert alike.value == pytest.approx(0.027)
    assert alike.said.startswith("27 mm, the mean of 3 sit-downs")
    assert "apart" not in alike.said
    apart = readings.read(shop, bike, "fork-sag", "18 mm, 36 mm, 27 mm")
    assert "that lie 18 mm apart" in apart.said
    with pytest.raises(InputError, match="add the unit"):
        readings.read(shop, bike, "fork-sag", "27 mm, 28")
    with pytest.raises(InputError, match="average at most 9"):
        readings.read(shop, bike, "fork-sag", ", ".join(["27 mm"] * 10))
    with pytest.raises(RangeError, match="read the ring again"):
        readings.read(shop, bike, "fork-sag", "27 mm, 280 mm")


def test_a_tyres_drop_says_how_stiff_it_is_and_what_to_set(shop):
    bike = receive.open_bike(shop, of_kind("trail"))
    before = psi(advising.advise_bike(shop, bike), "rear_tyre_pressure")
    answer = readings.read(shop, bike, "rear-drop", "3.2 mm, 3.4 mm")
    assert "stiffer than taken; set" in answer.said
    assert not answer.stop
    after = advising.advise_bike(shop, bike)
    assert psi(after, "rear_tyre_pressure") < before
    readings.read(shop, bike, "rear-tyre", f"{psi(after, 'rear_tyre_pressure')} psi")
    usual = advising.advise_bike(shop, bike).setting("rear_tyre_drop")
    assert usual is not None and usual.value is not None
    again = readings.read(shop, bike, "rear-drop", f"{usual.value * 1000:.2f} mm")
    assert again.stop and "leave it at" in again.said
    strange = readings.read(shop, bike, "rear-drop", "20 mm")
    assert "not believed" in strange.said
    with pytest.raises(RangeError, match="measure the axle above the ground again"):
        readings.read(shop, bike, "rear-drop", "90 mm")


def test_a_pump_just_screwed_on_has_taken_some(shop):
    bike = receive.open_bike(shop, of_kind("trail"))
    assert "it held about 19" in readings.read(shop, bike, "shock-pressure", "190 psi").said


@pytest.mark.parametrize(
    ("kind", "text", "error", "match"),
    [
        ("fork-sag", "141 mm", RangeError, r"fork-sag is 141 mm \(allowed: 0 to 140 mm\)"),
        ("shock-sag", "-3 mm", RangeError, "read the ring again"),
        ("rear-tyre", "-1 psi", RangeError, r"allowed: 0 to 130\.5 psi\): read the gauge again"),
        ("shock-pressure", "2000 psi", RangeError, r"allowed: 0 to 580 psi\): read the gauge"),
        ("fork-sag", "20", InputError, "add the unit, for example mm"),
        ("fork-sag", "20 psi", InputError, "use one of: mm"),
        ("fork-sagg", "20 mm", InputError, "use one of: fork-sag"),
    ],
)
def test_what_cannot_be_read_is_refused_and_not_recorded(shop, kind, text, error, match):
    bike = receive.open_bike(shop, of_kind("trail"))
    events = len(shop.events(bike))
    with pytest.raises(error, match=match) as caught:
        readings.read(shop, bike, kind, text)
    assert caught.value.exit_code == 2
    assert len(shop.events(bike)) == events


@pytest.mark.parametrize(
    ("kind", "text", "whose"),
    [
        ("fork-pressure", "400 psi", "the fork's maker"),
        ("shock-pressure", "400 psi", "the shock's maker"),
        ("front-tyre", "60 psi", "front tyre's maker"),
    ],
)
def test_a_pressure_above_a_limit_is_kept_and_takes_the_proof_away(shop, kind, text, whose):
    """Refused, the worst reading of all left a released bike released."""
    bike = opened(shop)
    build_to_gate(shop, bike)
    assert release.gate(shop, bike, "ride", by="Ada").passed
    said = readings.read(shop, bike, kind, text, by="Ada")
    assert "let air out now, at most" in said.said and whose in said.said
    assert said.said.endswith("It is kept and proves nothing") and not said.stop and said.numbers
    assert not release.gate(shop, bike, "ride", pass_it=False).passed
    wants = [row.why for row in release.gate(shop, bike, "ride", pass_it=False).missing]
    assert any("at most" in why for why in wants), wants
    advising.advise_bike(shop, bike)


def test_a_hardtail_has_no_shock_to_read(shop):
    bike = receive.open_bike(shop, of_kind("hardtail"))
    with pytest.raises(InputError, match="this bike has no such spring or tyre"):
        readings.read(shop, bike, "shock-sag", "12 mm")


def test_a_pressure_as_advised_is_left_and_another_is_told(shop):
    bike = receive.open_bike(shop, of_kind("trail"))
    advised = advising.advise_bike(shop, bike).setting("front_tyre_pressure")
    assert advised is not None
    left = readings.read(shop, bike, "front-tyre", f"{advised.value} Pa")
    assert left.said.endswith("as advised, leave it")
    assert left.stop
    told = readings.read(shop, bike, "front-tyre", "32 psi")
    assert told.said == f"32.0 psi recorded; advised is {advised.show()}"


@pytest.mark.parametrize("truth", [rehearsal.TRUTH, 200])
@pytest.mark.parametrize("end", ["fork", "shock"])
def test_a_rehearsed_bike_is_set_right_within_four_readings(shop, end, truth):
    """A ring, the next pressure, again, until told to stop: then the sag is what was asked."""
    sheets = of_kind("trail")
    bike = receive.open_bike(shop, sheets)
    pressure = psi(advising.advise_bike(shop, bike), f"{end}_pressure")
    for turn in range(4):
        readings.read(shop, bike, f"{end}-pressure", f"{pressure} psi")
        shown = rehearsal.sit_downs(sheets, end, pressure * 6894.757293168361, turn, truth)
        answer = readings.read(shop, bike, f"{end}-sag", shown)
        if answer.stop:
            break
        assert answer.next_setting is not None and answer.next_setting.value is not None
        pressure = answer.next_setting.value / 6894.757293168361
    assert answer.stop
    travel, goal = {"fork": (140, 28), "shock": (50, 15)}[end]
    read = [float(item.split()[0]) for item in shown.split(",")]
    assert len(set(read)) > 1, "sit-downs differ"
    assert abs(sum(read) / len(read) - goal) <= 0.03 * travel + 0.5
    assert readings.latest(shop, bike, f"{end}-sag") is not None


def _before(shop, bike: int, name: str) -> None:
    """Every step that comes before this one, as it should be."""
    for step in build.plan_for(shop, bike).steps:
        if step.id == name:
            return
        record(shop, bike, step)


@pytest.mark.parametrize("typed", ["27 mm", "26 mm, 27 mm, 28 mm"])
def test_a_sag_step_is_the_reading(shop, typed: str) -> None:
    """The same value as a step and as a reading is kept alike and says the same."""
    bikes = [opened(shop), opened(shop)]
    for bike in bikes:
        _before(shop, bike, "fork-sag")
    step = build.record_step(shop, bikes[0], "fork-sag", value=typed, by="Ada").reading
    said = readings.read(shop, bikes[1], "fork-sag", typed, by="Ada")
    assert step is not None
    assert (step.said, step.stop, step.next_setting) == (said.said, said.stop, said.next_setting)
    kept = [shop.state(bike).readings[-1] for bike in bikes]
    beside = [{k: v for k, v in one.extra.items() if k not in ("step", "text")} for one in kept]
    assert beside[0] == beside[1] and beside[0]["posture"] == "standing"
    assert kept[0].value == kept[1].value == pytest.approx(0.027)
    assert [shop.state(bike).step("fork-sag").status for bike in bikes] == ["done", "done"]
    assert shop.state(bikes[0]).settings["fork_sag"].value == pytest.approx(0.027)


def test_a_pressure_step_says_what_the_reading_says(shop) -> None:
    bike = opened(shop)
    _before(shop, bike, "fork-pressure")
    step = build.record_step(shop, bike, "fork-pressure", value="44 psi", by="Ada").reading
    assert step is not None and "advised is" in step.said


def _obeyed(shop) -> tuple[int, float, float]:
    """A fork whose first ring was off: the bike, what was advised next, and the ring then."""
    bike = opened(shop)
    _before(shop, bike, "fork-sag")
    held = shop.state(bike).settings["fork_pressure"].value
    said = readings.read(shop, bike, "fork-sag", "37 mm", by="Ada")
    said = readings.read(shop, bike, "fork-sag", "37 mm", by="Ada") if said.suspects else said
    assert said.next_setting is not None and said.next_setting.value is not None
    assert said.next_setting.value > held * 1.02
    ring = said.expected
    assert ring is not None and ring.value is not None
    return bike, said.next_setting.value, ring.value


@pytest.mark.parametrize("as_step", [True, False])
def test_whoever_obeys_is_asked_once_and_never_told_off(shop, as_step: bool) -> None:
    bike, advised, ring = _obeyed(shop)
    typed = f"{ring * 1000:.0f} mm"

    def read(**more):
        if as_step:
            return build.record_step(shop, bike, "fork-sag", value=typed, by="Ada", **more).reading
        return readings.read(shop, bike, "fork-sag", typed, by="Ada", **more)

    before = shop.state(bike).number
    with pytest.raises(InputError, match=r"as advised, and .* is on record: say which") as asked:
        read()
    assert shop.state(bike).number == before, "nothing is recorded before it is answered"
    (problem,) = asked.value.problems
    first, second = (problem.allowed or "").split(", ")
    said = read(at=first)
    assert said is not None and not said.suspects and said.stop
    state = shop.state(bike)
    assert state.settings["fork_pressure"].value == pytest.approx(advised, rel=0.02)
    assert state.settings["fork_sag"].value == pytest.approx(ring, abs=0.0006)
    assert state.step("fork-sag").status == "done"
    taken = undo.undo(shop, bike, by="Ada")
    assert shop.state(bike).number > state.number and taken.act is not None
    assert shop.state(bike).settings["fork_pressure"].value < advised * 0.99, (
        "one act, undone whole"
    )
    assert second != first


def test_a_ring_at_what_is_on_record_is_not_asked_about(shop) -> None:
    bike, _, _ = _obeyed(shop)
    assert readings.read(shop, bike, "fork-sag", "36 mm", by="Ada").numbers


def test_the_pressure_a_ring_was_read_at_may_be_any_other(shop) -> None:
    bike, _, ring = _obeyed(shop)
    said = readings.read(shop, bike, "fork-sag", f"{ring * 1000:.0f} mm", at="47 psi", by="Ada")
    assert said.numbers
    assert shop.state(bike).settings["fork_pressure"].value == pytest.approx(47 * 6894.757293168361)


@pytest.mark.parametrize("kit", ["0 kg", "3 kg", "4 kg", "5 kg ± 0.1"])
@pytest.mark.parametrize("rings", [(28, 15, 45, 45), (60, 30, 60, 30), (8, 3, 8, 3)])
def test_no_reading_takes_the_sums_of_a_bike_away(shop, kit: str, rings: tuple[int, ...]) -> None:
    facts = ("mass=78 kg ± 0.5", "height=1.76 m", "inseam=820 mm", f"kit_mass={kit}")
    bike = receive.open_bike(
        shop, change(of_kind("trail"), tuple(f"rider.{fact}" for fact in facts))
    )
    for at, ring in enumerate(rings):
        kind = "fork-sag" if at % 2 == 0 else "shock-sag"
        assert readings.read(shop, bike, kind, f"{ring} mm").numbers
        assert advising.advise_bike(shop, bike).setting("fork_pressure") is not None


@pytest.mark.parametrize("mass", ["62 kg", "125 kg"])
def test_what_one_rider_s_ring_said_sets_no_other_rider_s_spring(shop, mass: str) -> None:
    """A ring just as expected corrects nothing, whoever sits down next."""
    bike = opened(shop)
    for kind, (_, name) in readings.READINGS.items():
        if not kind.endswith("drop"):
            found = advising.advise_bike(shop, bike).setting(name)
            assert found is not None and found.value is not None
            unit = "Pa" if found.unit == "Pa" else "m"
            readings.read(shop, bike, kind, f"{found.value} {unit}", by="Ada")
    changing.make(shop, bike, Wanted(mass=mass, as_found=True), by="Ada")
    ours = advising.advise_bike(shop, bike)
    theirs = advising.advise(shop.sheets(shop.state(bike)))
    for name in ("fork_pressure", "shock_pressure"):
        one, other = ours.setting(name), theirs.setting(name)
        assert one is not None and other is not None and other.low is not None
        assert other.low <= (one.value or 0.0) <= (other.high or 0.0), (
            name,
            one.show(),
            other.show(),
        )
