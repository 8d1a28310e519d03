"""A change is looked at before it is made, refused where it breaks a limit, and made whole."""

from __future__ import annotations

import json

import pytest

from cyclewright.errors import InputError, Refusal
from cyclewright.record.events import attachments
from cyclewright.record.telling import tell
from cyclewright.sheets.sheets import change, load
from cyclewright.sheets.write import dump
from cyclewright.workshop import advising, build, care, erase, receive, release
from cyclewright.workshop.changing import look, make
from cyclewright.workshop.shop import Shop
from cyclewright.workshop.wanted import Wanted, swappable
from workshop.shops import EXAMPLES, build_to_gate, build_until, opened, record, sheets

LIGHT = (EXAMPLES / "riders/light.toml").read_text(encoding="utf-8")
HEAVY = (EXAMPLES / "riders/heavy.toml").read_text(encoding="utf-8")
BIKE = dump(change(sheets(), ["bike.year=2019", "bike.cockpit.spacers_under=20 mm"]).bike)
STACK = "bike.cockpit.spacers_under=45 mm"

BREAKS = {
    "more spacers than the steerer takes": ([STACK], "steerer-stack"),
    "a rotor larger than the frame carries": (
        ["bike.brake.rear.rotor_diameter=220 mm"], "rotor-size",
    ),
    "a rotor larger than the fork carries": (
        ["bike.brake.front.rotor_diameter=223 mm"], "rotor-size",
    ),
    "a tyre wider than the frame lets through": (["bike.tyre.rear.size=29x2.8"], "tyre-clearance"),
    "a tyre for another rim": (["bike.tyre.front.size=27.5x2.4"], "tyre-bead"),
    "a post too thick for the frame": (["bike.post.diameter=34.9 mm"], "post-diameter"),
    "a dropper too long for the rider": (
        ["bike.post.travel=210 mm", "bike.post.length=555 mm"], "dropper-too-long",
    ),
    "an axle that is not the frame's": (["bike.axle.rear.diameter=15 mm"], "axle-diameter"),
    "a bar too thick for the stem": (["bike.cockpit.bar_diameter=31.8 mm"], "bar-clamp"),
    "a chain too short at the longest point": (["bike.drive.chain_links=100"], "chain-short"),
    "a chain of an odd number": (["bike.drive.chain_links=119"], "chain-odd"),
    "more sprockets than the shifter knows": (["bike.drive.speeds=11"], "speeds"),
    "more teeth than the derailleur takes up": (
        ["bike.drive.sprockets=10, 12, 14, 16, 18, 21, 24, 28, 32, 36, 42, 60"],
        "derailleur-capacity",
    ),
    "rails that the clamp does not take": (
        ["bike.post.rail_shape=round", "bike.saddle.rail_shape=oval"], "rail-shape",
    ),
    "a saddle so tall that the post is too long": (
        ["bike.saddle.height=90 mm"], "dropper-too-long",
    ),
}  # fmt: skip
"""What a person can mount or set that no maker allows: changes, and the finding that says so."""

TRUTHS = {
    "a lower mass limit": ("bike.mass_limit=60 kg", "mass-and-use"),
    "a lower use class": ("bike.use_class=1", "mass-and-use"),
    "a lower stack": ("bike.frame.steerer_stack_max=10 mm", "bar-and-stem"),
    "a smaller largest rotor": ("bike.fork.rotor_max=160 mm", "brake-bolts"),
    "a deeper mark": ("bike.frame.insertion_min=240 mm", "post"),
    "less clearance": ("bike.frame.tyre_clearance=55 mm", "tyre-pressures"),
    "a heavier rider": ("rider.mass=150 kg", "mass-and-use"),
    "rougher riding": ("rider.ride=park", "mass-and-use"),
    "less air in the fork": ("bike.fork.pressure_max=40 psi", "fork_pressure"),
}
"""What is only found out: it is recorded whatever it breaks, and this item of a gate holds."""


def wants(shop: Shop, gate: str = "ride") -> set[str]:
    """Items that a gate still wants."""
    return {row.item for row in release.gate(shop, 1, gate, pass_it=False).missing}


def kept(shop: Shop) -> set[str]:
    """Names of all attachments that are kept."""
    return {path.name for path in (shop.data / "attachments").rglob("*") if path.is_file()}


def whole(shop: Shop) -> tuple[object, ...]:
    """All that the record knows of how a bike stands, apart from its history."""
    state = shop.state(1)
    sheet = shop.sheets(state)
    return (
        sheet,
        {name: held.status for name, held in state.steps.items()},
        dict(state.settings),
        {name: part.serial for name, part in state.parts.items()},
        sorted(state.gates),
        state.released is not None,
        len(state.setups),
    )


@pytest.mark.parametrize("case", BREAKS)
def test_what_breaks_a_limit_is_refused_at_the_change(shop: Shop, case: str) -> None:
    changes, code = BREAKS[case]
    bike = opened(shop)
    before = shop.state(bike).number
    with pytest.raises(InputError, match="record it as found: the gates then hold") as refused:
        build.change_sheet(shop, bike, changes, by="Ada")
    found = {problem.code for problem in refused.value.problems}
    assert code in found
    assert shop.state(bike).number == before
    assert look(shop, bike, Wanted(changes=tuple(changes))).refused == refused.value.problems


def test_a_stack_over_the_steerers_limit_is_not_recorded_with_one_tap(built: Shop) -> None:
    with pytest.raises(InputError, match=r"45 mm.*most allowed by the frame's maker: 40 mm"):
        build.change_sheet(built, 1, [STACK], by="Ada")
    assert wants(built) == set()
    said = build.change_sheet(built, 1, [STACK], by="Ada", as_found=True)
    assert "stem-pinch" in said.reopened
    row = next(row for row in release.missing(built, built.state(1), "ride") if "40 mm" in row.why)
    assert row.item == "bar-and-stem" and row.never_override
    event = built.events(1)[-2]
    assert event.data["as_found"] is True and tell(event).endswith("changed, as found")


@pytest.mark.parametrize("case", TRUTHS)
def test_what_is_only_found_out_is_recorded_and_holds_the_gate(built: Shop, case: str) -> None:
    told, item = TRUTHS[case]
    assert wants(built) == set()
    assert look(built, 1, Wanted(changes=(told,))).refused == ()
    build.change_sheet(built, 1, [told], by="Ada")
    assert item in wants(built)


def test_a_limit_that_was_broken_before_refuses_no_other_change(shop: Shop) -> None:
    bike = opened(shop)
    build.change_sheet(shop, bike, [STACK], by="Ada", as_found=True)
    build.change_sheet(shop, bike, ["bike.cockpit.bar_roll=2 deg"], by="Ada")
    with pytest.raises(InputError, match="43 mm"):
        build.change_sheet(shop, bike, ["bike.cockpit.spacers_under=43 mm"], by="Ada")
    build.change_sheet(shop, bike, ["bike.cockpit.spacers_under=20 mm"], by="Ada")
    assert "bar-and-stem" not in {
        row.item for row in release.missing(shop, shop.state(bike), "ride") if row.step is None
    }


LOOKED = {
    "spacers": Wanted(changes=("bike.cockpit.spacers_under+=5 mm",)),
    "a fact that moves nothing": Wanted(changes=("bike.year=2024",)),
    "the country": Wanted(changes=("place.country=US",)),
    "an axle by lever": Wanted(changes=("bike.axle.front.kind=lever",)),
    "another rider": Wanted(rider=HEAVY),
    "nobody": Wanted(mass="80 kg"),
    "a rotor": Wanted(part="front rotor", changes=("bike.brake.front.rotor_diameter=180 mm",)),
    "pads": Wanted(part="rear pads", marks=(("batch", "P-7"),)),
    "a sheet": Wanted(sheet=BIKE),
    "found so": Wanted(changes=(STACK,), as_found=True),
}


@pytest.mark.parametrize("case", LOOKED)
def test_what_is_said_before_is_what_happens(released: Shop, case: str) -> None:
    wanted = LOOKED[case]
    before, number = whole(released), released.state(1).number
    steps = set(released.state(1).planned_steps())
    held = kept(released)
    said = look(released, 1, wanted)
    assert whole(released) == before and released.state(1).number == number
    assert kept(released) == held
    done = make(released, 1, wanted, by="Ada")
    after = set(released.state(1).planned_steps())
    assert said.reopened == done.reopened
    assert set(said.come) == after - steps and set(said.go) == steps - after
    for gate in ("ride", "release"):
        fell = gate in said.falls
        assert fell == bool(wants(released, gate) or gate not in released.state(1).gates), gate
        assert fell == (f"the {gate} gate falls" in done.said)
    assert ("released" in said.falls) == ("the release falls" in done.said)
    assert all(word in done.said for word in said.reopened)


def test_a_look_says_it_in_words(released: Shop) -> None:
    found = look(released, 1, Wanted(changes=("bike.cockpit.spacers_under+=5 mm",)))
    assert found.fields[0].before == "15 mm" and found.fields[0].after == "20 mm"
    assert found.line() == (
        f"opens {len(found.reopened)} steps again (about 25 min), the ride gate falls, "
        "the release gate falls, the release falls"
    )
    steps = released.state(1).planned_steps()
    assert found.minutes == sum(steps[name].data["minutes"] for name in found.reopened)
    assert found.grave and found.steps["stem-pinch"]
    quiet = look(released, 1, Wanted(changes=("bike.year=2024",)))
    assert not quiet.grave and quiet.line() == "nothing that was proved is opened again"


def test_a_rider_for_a_stock_bike(shop: Shop) -> None:
    bike = receive.open_bike(shop, sheets(None, "80 kg"), by="Ada")
    build_to_gate(shop, bike)
    release.gate(shop, bike, "ride", by="Ada")
    build_until(shop, bike, "Prove", "Release")
    assert "rider not fitted" in release.release(shop, bike, by="Ada").said

    said = look(shop, bike, Wanted(rider=LIGHT))
    assert "saddle-height" in said.come and "released" in said.falls
    done = make(shop, bike, Wanted(rider=LIGHT), by="Ada")
    assert done.said.startswith("a rider fitted") and "the release falls" in done.said
    wanted = {row.step for row in release.missing(shop, shop.state(bike), "ride")}
    assert wanted >= {"post-insertion", "fork-pressure", "fork-sag", "rear-tyre-pressure"}
    with pytest.raises(Refusal):
        release.release(shop, bike, by="Ada")

    kept = care.show(shop, bike).setups
    assert [row.rider for row in kept] == ["rider not fitted, 80 kg"]
    then = {row.name: row.shown for row in kept[0].settings}
    assert then["fork_pressure"] == "60 psi" and then["front_tyre_pressure"] == "24.0 psi"
    assert care.show(shop, bike).rider == "Wren Tolliquay"


def test_what_is_personal_stays_out_of_events(shop: Shop) -> None:
    bike = receive.open_bike(shop, sheets(None, "80 kg"), by="Ada")
    make(shop, bike, Wanted(rider=LIGHT), by="Ada")
    changed = next(event for event in shop.events(bike) if event.kind == "rider-changed")
    told = json.dumps(changed.data)
    for word in ("Wren", "52 kg", "1.58 m", "730 mm"):
        assert word not in told
    assert "rider.height" in changed.data["fields"]
    assert changed.data["rider"] == shop.events(bike)[-1].data["rider"]


def test_another_rider_after_release_and_back_to_the_first(released: Shop) -> None:
    first = released.state(1).rider
    done = make(released, 1, Wanted(rider=HEAVY), by="Ada")
    for gone in ("saddle-height", "fork-pressure", "rear-tyre-pressure", "mass-and-use-agreed"):
        assert gone in done.reopened, gone
    assert "the release falls" in done.said
    build.record_step(released, 1, "fork-pressure", value="95 psi", by="Ada")

    back = make(released, 1, Wanted(earlier=1), by="Ada")
    assert back.said.startswith("back to set-up 1")
    state = released.state(1)
    assert state.rider == first
    # What is set on the bike is the other rider's: the first one's stands beside as advice only.
    assert care.shown_setting(state.settings["fork_pressure"]) == "95 psi"
    assert state.step("fork-pressure").status != "done"
    then = advising.advise_bike(released, 1).then
    assert then is not None and then.current and then.rider == "Wren Tolliquay"
    row = next(row for row in then.settings if row.name == "fork_pressure")
    assert (row.shown, row.now) == ("60 psi", "95 psi")
    assert [item.rider for item in care.show(released, 1).setups] == [
        "Wren Tolliquay", "Osk Brannerhythe",
    ]  # fmt: skip
    assert advising.advise_bike(released, 1).to_json()["then"]["id"] == 1


def test_the_same_sheet_brings_its_set_up_back(released: Shop) -> None:
    first = released.state(1).rider
    make(released, 1, Wanted(rider=HEAVY), by="Ada")
    assert make(released, 1, Wanted(rider=LIGHT), by="Ada").said.startswith("back to set-up 1")
    assert released.state(1).rider == first


def test_where_bar_and_spacers_stood_is_kept_too(released: Shop) -> None:
    make(released, 1, Wanted(rider=HEAVY), by="Ada")
    build.change_sheet(released, 1, ["bike.cockpit.spacers_under=25 mm"], by="Ada")
    make(released, 1, Wanted(earlier=1), by="Ada")
    then = advising.advise_bike(released, 1).then
    assert then is not None
    assert [(row.name, row.shown, row.now) for row in then.places] == [
        ("bike.cockpit.spacers_under", "15 mm", "25 mm")
    ]


def test_a_reading_with_the_rider_before_is_judged_by_that_rider(built: Shop) -> None:
    before = advising.advise_bike(built, 1).setting("fork_pressure")
    make(built, 1, Wanted(rider=HEAVY), by="Ada")
    heavy = advising.advise_bike(built, 1).setting("fork_pressure")
    make(built, 1, Wanted(earlier=1), by="Ada")
    again = advising.advise_bike(built, 1).setting("fork_pressure")
    assert before is not None and heavy is not None and again is not None
    assert again.value == before.value
    assert heavy.value is not None and before.value is not None and heavy.value > before.value


@pytest.mark.parametrize(
    ("wanted", "match"),
    [
        (Wanted(), "at least one change"),
        (Wanted(rider=LIGHT), "who rides it already"),
        (Wanted(rider='name = "Nobody"'), "mass"),
        (Wanted(earlier=3), "none is kept"),
        (Wanted(mass="80 kg", rider=HEAVY), "one change at a time"),
        (Wanted(mass="80 kg", changes=("bike.year=2024",)), "one change at a time"),
        (Wanted(mass="eighty"), "mass"),
        (Wanted(sheet="kind ="), "TOML"),
        (Wanted(sheet=BIKE.replace("TW-14-000731", "TW-14-000732")), "another bike's sheet"),
        (Wanted(part="nose"), "front rotor, rear rotor"),
        (Wanted(part="chain", marks=(("maker", " "),)), "maker, model, serial or batch"),
        (Wanted(changes=("bike.year=2024",), marks=(("maker", "Quill"),)), "say which part"),
    ],
)
def test_what_cannot_be_is_told_and_changes_nothing(shop: Shop, wanted: Wanted, match: str) -> None:
    bike = opened(shop)
    number = shop.state(bike).number
    for act in (look, make):
        with pytest.raises(InputError, match=match):
            act(shop, bike, wanted)
    assert shop.state(bike).number == number


def test_an_erased_rider_is_erased_from_every_set_up(released: Shop) -> None:
    make(released, 1, Wanted(rider=HEAVY), by="Ada")
    named = {
        address
        for event in released.events(1)
        for key in ("rider",)
        for address in attachments(event.data.get(key) or {})
    }
    assert len(named) == 2
    erase.erase_bike(released, 1, ("rider",), reason="asked for", by="Ada")
    assert all(released.store.shelf.get(address) is None for address in named)
    shown = care.show(released, 1)
    assert [(row.rider, row.erased) for row in shown.setups] == [("rider erased", True)]
    assert {row.name for row in shown.setups[0].settings} >= {"fork_pressure", "saddle_height"}
    with pytest.raises(Refusal, match="that rider's sheet was erased"):
        make(released, 1, Wanted(earlier=1), by="Ada")
    make(released, 1, Wanted(rider=HEAVY), by="Ada")
    assert care.verify(released).ok


def test_a_part_swapped_in_mid_build(built: Shop) -> None:
    from cyclewright.workshop.recall import fit_part

    fit_part(built, 1, "Front Rotor", maker="Quill", serial="OLD", marks_only=True, by="Ada")
    wanted = Wanted(
        part="front disc",
        changes=("bike.brake.front.rotor_diameter=180 mm",),
        marks=(("maker", "Quill"), ("serial", "NEW")),
    )
    done = make(built, 1, wanted, by="Ada")
    assert done.said.startswith("front rotor swapped: bike.brake.front.rotor_diameter=180 mm")
    for gone in ("front-rotor", "front-caliper", "front-wheel-tool-axle", "brakes-held-hard"):
        assert gone in done.reopened, gone
    assert "rear-rotor" not in done.reopened and "pedals-on" not in done.reopened
    parts = {row.part: row.serial for row in care.show(built, 1).parts if row.number}
    assert parts == {"Front Rotor": "NEW"}
    assert len(done.numbers) == 3


def test_a_part_swapped_for_the_same_one_is_opened_all_the_same(built: Shop) -> None:
    done = make(built, 1, Wanted(part="left pedal"), by="Ada")
    assert done.reopened[0] == "pedals-on"
    assert "front-rotor" not in done.reopened


def test_every_part_of_the_table_is_swapped_or_is_not_on_the_bike(shop: Shop) -> None:
    hardtail = load(
        EXAMPLES / "bikes/hardtail.toml", EXAMPLES / "riders/heavy.toml",
        EXAMPLES / "places/right.toml",
    )  # fmt: skip
    full, hard = opened(shop), receive.open_bike(shop, hardtail, by="Ada")
    for part in swappable():
        assert look(shop, full, Wanted(part=part)).fields == ()
        if part != "shock":
            assert look(shop, hard, Wanted(part=part)).refused == ()
    with pytest.raises(InputError, match="no such part by its sheet"):
        make(shop, hard, Wanted(part="shock"), by="Ada")


def test_a_swapped_part_whose_marks_nobody_wrote_down_is_not_the_old_one(built: Shop) -> None:
    from cyclewright.workshop.recall import fit_part

    fit_part(built, 1, "chain", batch="C-1", by="Ada")
    make(built, 1, Wanted(part="chain"), by="Ada")
    (chain,) = built.state(1).parts.values()
    assert (chain.part, chain.batch) == ("chain", "")


def test_a_sheet_corrected_late_is_compared_field_by_field(built: Shop) -> None:
    text = built.state(1).sheets["bike"].replace('model = "Bracken Fourteen"', 'model = "B14"')
    text = text.replace('spacers_under = "15 mm"', 'spacers_under = "20 mm"')
    said = look(built, 1, Wanted(sheet=text))
    assert [(row.field, row.before, row.after) for row in said.fields] == [
        ("bike.model", "Bracken Fourteen", "B14"),
        ("bike.cockpit.spacers_under", "15 mm", "20 mm"),
    ]
    done = make(built, 1, Wanted(sheet=text), by="Ada")
    assert "stem-pinch" in done.reopened and len(done.numbers) == 2
    assert built.state(1).name.endswith("B14")
    with pytest.raises(InputError, match="on record already"):
        make(built, 1, Wanted(sheet=text), by="Ada")
    broken = text.replace('spacers_under = "20 mm"', 'spacers_under = "45 mm"')
    with pytest.raises(InputError, match="most allowed by the frame's maker: 40 mm"):
        make(built, 1, Wanted(sheet=broken), by="Ada")


def test_a_field_taken_off_the_sheet_is_told(shop: Shop) -> None:
    bike = opened(shop)
    text = shop.state(bike).sheets["bike"].replace('steerer_stack_max = "40 mm"\n', "")
    done = make(shop, bike, Wanted(sheet=text), by="Ada")
    assert "bike.frame.steerer_stack_max left out" in done.said
    assert shop.sheets(shop.state(bike)).bike.frame.steerer_stack_max is None


ACTS = {
    "fields": Wanted(changes=("bike.cockpit.spacers_under+=5 mm",)),
    "rider": Wanted(rider=HEAVY),
    "nobody": Wanted(mass="80 kg"),
    "swap": LOOKED["a rotor"],
    "same part": LOOKED["pads"],
    "sheet": Wanted(sheet=BIKE),
}


@pytest.mark.parametrize("case", ACTS)
def test_every_change_sent_twice_is_made_once(built: Shop, case: str) -> None:
    uuid = "0b5a2c4e-5a6e-4d0a-9a57-3b9b0e6f1c11"
    first = make(built, 1, ACTS[case], by="Ada", uuid=uuid)
    again = make(built, 1, ACTS[case], by="Ada", uuid=uuid)
    assert again.numbers == first.numbers


@pytest.mark.parametrize("case", ACTS)
def test_every_change_is_undone_whole_and_put_back(built: Shop, case: str) -> None:
    before = whole(built)
    make(built, 1, ACTS[case], by="Ada")
    after = whole(built)
    assert after != before
    build.undo(built, 1, by="Ada")
    assert whole(built) == before
    build.undo(built, 1, put_back=True, by="Ada")
    assert whole(built) == after


def test_a_rider_that_was_worked_on_is_not_undone(built: Shop) -> None:
    make(built, 1, Wanted(rider=HEAVY), by="Ada")
    steps = build.plan_for(built, 1)
    record(built, 1, next(step for step in steps.steps if step.id == "rear-tyre-pressure"))
    number = next(e.number for e in built.events(1) if e.kind == "rider-changed")
    with pytest.raises(Refusal, match="fit the earlier rider again"):
        build.undo(built, 1, number=number, by="Ada")


def test_two_changes_of_the_rider_at_once_are_a_conflict(shop: Shop) -> None:
    from cyclewright.errors import Conflict

    bike = opened(shop)
    seen = shop.state(bike).number
    make(shop, bike, Wanted(rider=HEAVY), by="Ada", seen=seen)
    with pytest.raises(Conflict):
        make(shop, bike, Wanted(mass="70 kg"), by="Bo", seen=seen)


def test_doing_again_what_a_swap_opened_passes_the_gate_again(built: Shop) -> None:
    release.gate(built, 1, "ride", by="Ada")
    said = make(built, 1, Wanted(part="stem"), by="Ada")
    assert "the ride gate falls" in said.said
    for step in build.plan_for(built, 1).steps:
        if step.id in said.reopened:
            record(built, 1, step)
    assert release.gate(built, 1, "ride", by="Ada").passed


def test_settings_of_one_rider_are_not_kept_as_another_s(released: Shop) -> None:
    """Whoever had nothing set went down with what was set for the one before."""
    first = set(released.state(1).settings)
    assert "fork_pressure" in first
    make(released, 1, Wanted(rider=EXAMPLES / "riders/heavy.toml"), by="Ada")
    make(released, 1, Wanted(earlier=1), by="Ada")
    kept = released.state(1).setups
    assert set(kept[0].settings) == first and kept[1].settings == {}


def test_a_look_tells_a_stop_before_it_is_made(released: Shop) -> None:
    found = look(released, 1, Wanted(mass="135 kg"))
    stops = [item for item in found.findings if item.severity == "stop"]
    assert any("135" in " ".join(item.facts) for item in stops)
    with pytest.raises(InputError, match="over its maker's mass limit"):
        make(released, 1, Wanted(mass="135 kg"), by="Ada")
    assert released.state(1).rider is not None
    make(released, 1, Wanted(mass="135 kg", as_found=True), by="Ada")
    assert "mass-and-use" in {row.item for row in release.gate(released, 1, "ride").missing}


def test_brakes_changed_over_before_the_country_changed_have_a_way_back(shop: Shop) -> None:
    """The plan lost the change of hands, and the truth was refused without a word on what to do."""
    given = sheets()
    changes = ("bike.hands_delivered=front-left", "place.country=GB")
    receive.open_bike(shop, change(given, changes), by="Ada")
    build_until(shop, 1, "Receive", "Build", "Fit", "Base")
    assert any(name.startswith("hands-changed") for name in shop.state(1).done())
    make(shop, 1, Wanted(changes=("place.country=DE",)), by="Ada")
    assert not any(name.startswith("hands-changed") for name in shop.state(1).planned_steps())
    steps = {step.id: step for step in build.plan_for(shop, 1).steps}
    record(shop, 1, steps["controls-in-order"])
    with pytest.raises(
        InputError, match=r"correct the sheet first \(bike.hands_delivered=front-right"
    ):
        build.record_step(shop, 1, "hands-proved", value="front-right", by="Ada")
    assert not release.gate(shop, 1, "ride", by="Ada").passed
    make(shop, 1, Wanted(changes=("bike.hands_delivered=front-right",)), by="Ada")
    again = [n for n in shop.state(1).planned_steps() if n.startswith("hands-changed")]
    assert again and shop.state(1).step(again[0]).status != "done"
