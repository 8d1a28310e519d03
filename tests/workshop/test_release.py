"""Gates refuse by name, release signs, verify names what was changed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cyclewright.errors import InputError, Integrity, RangeError, Refusal
from cyclewright.record import events
from cyclewright.record.gates import ITEMS
from cyclewright.sheets.sheets import load
from cyclewright.workshop import build, care, recall, receive, release
from cyclewright.workshop.shop import Shop
from store.shelves import change_byte
from workshop.shops import EXAMPLES, build_to_gate, build_until, do_again, opened, record, sheets


def _items(shop: Shop, gate: str) -> set[str]:
    return {item.item for item in release.gate(shop, 1, gate, pass_it=False).missing}


def _to_release(shop: Shop) -> None:
    assert release.gate(shop, 1, "ride", by="Ada").passed
    build_until(shop, 1, "Prove", "Release")


def test_a_gate_asked_too_early_names_all_that_is_missing(shop: Shop) -> None:
    opened(shop)
    answer = release.gate(shop, 1, "ride")
    assert not answer.passed
    asked = {i.id for i in ITEMS if i.gate == "ride" and i.id != "whole-plan"}
    assert {item.item for item in answer.missing} == asked
    assert all(item.step for item in answer.missing)
    never = {item.item for item in answer.missing if item.never_override}
    assert {"axles", "post", "brake-hold", "mass-and-use", "fork-direction"} <= never
    assert "pedals" not in never
    assert shop.state(1).gates == {}


def test_a_built_bike_passes_once(built: Shop) -> None:
    assert release.gate(built, 1, "ride", by="Ada").passed
    number = built.state(1).number
    assert release.gate(built, 1, "ride", by="Ada").passed
    assert built.state(1).number == number


def test_asking_is_not_passing(built: Shop) -> None:
    answer = release.gate(built, 1, "ride", pass_it=False)
    assert (answer.passed, answer.missing) == (False, ())
    assert built.state(1).gates == {}


@pytest.mark.parametrize("name", ["", "Ride", "exit"])
def test_a_gate_nobody_knows(built: Shop, name: str) -> None:
    with pytest.raises(InputError, match="ask for ride or release"):
        release.gate(built, 1, name)


def test_moving_the_bar_fells_the_gate(built: Shop) -> None:
    release.gate(built, 1, "ride")
    answer = build.change_sheet(built, 1, ["bike.cockpit.spacers_under+=5 mm"])
    with pytest.raises(Refusal, match="pass the ride gate first, it still wants"):
        build.record_step(built, 1, "bedding-in")
    for step in build.plan_for(built, 1).steps:
        if step.id in answer.reopened:
            record(built, 1, step)
    with pytest.raises(Refusal, match="was reopened: "):
        build.record_step(built, 1, "bedding-in")
    assert release.gate(built, 1, "ride").passed
    build.record_step(built, 1, "bedding-in")


def test_the_mass_limit_stops_whatever_was_ticked(built: Shop) -> None:
    build.change_sheet(built, 1, ["rider.mass=150 kg"])
    found = {item.item: item for item in release.gate(built, 1, "ride").missing}
    assert "maker's limit" in found["mass-and-use"].why
    assert found["mass-and-use"].never_override


def test_the_wrong_hand_proves_nothing(built: Shop) -> None:
    with pytest.raises(RangeError, match=r"front-left .allowed: front-right.: put it right"):
        build.record_step(built, 1, "hands-proved", value="front left")
    build.record_step(built, 1, "hands-proved", value="Front right")


def test_an_unknown_mass_limit_is_asked_for(shop: Shop) -> None:
    loaded = sheets()
    unknown = replace(loaded, bike=loaded.bike.model_copy(update={"mass_limit": None}))
    receive.open_bike(shop, unknown)
    found = [item for item in release.gate(shop, 1, "ride").missing if item.item == "mass-and-use"]
    assert any("bike.mass_limit is not known" in item.why for item in found)


def test_the_makers_word_is_wanted_where_figures_leave_nothing(built: Shop) -> None:
    build.record_step(built, 1, "bar-rolled", as_set=True)
    assert _items(built, "ride") >= {"bar-and-stem"}
    build.record_step(built, 1, "bar-rolled", as_set=True, word="4.7 is enough, says the stem's")
    build.record_step(built, 1, "bar-and-stem-hold")
    assert "bar-and-stem" not in _items(built, "ride")


def test_a_setting_beyond_a_limit_that_came_later(built: Shop) -> None:
    build.change_sheet(built, 1, ["bike.fork.pressure_max=40 psi"])
    found = {item.item: item.why for item in release.gate(built, 1, "ride").missing}
    assert "set to 60 psi, at most 40 psi, the fork's maker" in found["fork_pressure"]


def test_release_is_refused_by_name(built: Shop) -> None:
    with pytest.raises(Refusal, match="ride-gate: it has not been passed") as caught:
        release.release(built, 1, by="Ada")
    fields = {item.field for item in caught.value.problems}
    assert {"bedding-in", "bolt-round", "function-tests", "car-park-ride", "explained"} <= fields
    assert built.state(1).released is None


def test_a_gate_that_comes_first_is_what_comes_next(built: Shop) -> None:
    shown = care.show(built, 1)
    assert (shown.next_step, shown.next_gate) == (None, "ride")
    assert shown.gate_line == "ride gate: nothing is missing, pass it"
    _to_release(built)
    assert care.show(built, 1).next_gate == "release"
    release.release(built, 1, by="Ada")
    assert (care.show(built, 1).next_step, care.show(built, 1).next_gate) == ("first-recheck", "")
    build.touch(built, 1, ["stem_pinch"], "turned in a fall", by="Ada")
    assert care.show(built, 1).next_step == "steerer-gap"
    do_again(built)
    assert (care.show(built, 1).next_step, care.show(built, 1).next_gate) == (None, "release")
    recall.open_recall(built, "stem", why="it cracks", do="replace it", source="notice 4")
    shown = care.show(built, 1)
    assert (shown.next_step, shown.next_gate) == (None, "ride")
    assert shown.gate_line == "ride gate: recall"


def test_release_wants_a_name_and_another_second(built: Shop) -> None:
    _to_release(built)
    with pytest.raises(InputError, match="say who releases the bike"):
        release.release(built, 1, by=None)
    with pytest.raises(InputError, match="the second person is somebody else"):
        release.release(built, 1, by="Ada", second="ada")


def test_released_signed_and_verified(built: Shop) -> None:
    _to_release(built)
    answer = release.release(built, 1, by="Ada", second="Bo")
    shown = care.show(built, 1)
    assert shown.stage == "Care"
    assert shown.gates == {"ride": (), "release": ()}
    assert shown.released is not None
    assert (shown.released["by"], shown.released["second"]) == ("Ada", "Bo")
    assert shown.released["signature"]["hash"][:16] in answer.said
    assert shown.next_step == "first-recheck"
    verified = care.verify(built)
    assert (verified.ok, verified.signatures) == (True, 1)
    assert receive.list_bikes(built)[0].stage == "Care"
    with pytest.raises(Refusal, match="it is released as it stands"):
        release.release(built, 1, by="Ada")


@pytest.mark.parametrize(("bike", "rider"), [("hardtail", "light"), ("longtravel", "heavy")])
def test_the_other_bikes_go_from_carton_to_hand_over(shop: Shop, bike: str, rider: str) -> None:
    given = load(
        EXAMPLES / f"bikes/{bike}.toml",
        EXAMPLES / f"riders/{rider}.toml",
        EXAMPLES / "places/right.toml",
    )
    receive.open_bike(shop, given, by="Ada")
    build_to_gate(shop, 1)
    _to_release(shop)
    assert "released" in release.release(shop, 1, by="Ada").said
    assert care.verify(shop).ok


def test_touching_a_released_bike_blocks_it(built: Shop) -> None:
    _to_release(built)
    release.release(built, 1, by="Ada")
    assert not receive.list_bikes(built)[0].blocked
    build.touch(built, 1, ["front_axle"], "wheel out for a tube")
    assert receive.list_bikes(built)[0].blocked


def test_one_byte_changed_is_named(built: Shop) -> None:
    change_byte(built.store, 1, 7)
    with Shop.open(built.data) as changed:
        answer = care.verify(changed)
        assert not answer.ok
        assert [(fault.bike, fault.event) for fault in answer.faults] == [(1, 7)]
        with pytest.raises(Integrity, match="bike 1 event 7"):
            care.show(changed, 1)
    change_byte(built.store, 1, 7)
    assert care.verify(built, 1).ok
    with pytest.raises(InputError, match="no such bike"):
        care.verify(built, 5)


def test_show_has_the_shape_of_the_contract(built: Shop) -> None:
    data = care.show(built, 1).to_json()
    assert {"id", "stage", "head", "events", "settings", "gates"} <= set(data)
    assert data["stage"] == "Prove"
    assert len(data["head"]) == 64
    assert set(data["gates"]) == {"ride", "release"}
    assert {"item", "why", "step", "never_override"} == set(data["gates"]["release"][0])
    metric = care.show(built, 1).to_json("metric")
    shown = {item["name"]: item["shown"] for item in metric["settings"]}
    assert shown["front_tyre_pressure"].endswith("bar")


def test_a_bike_of_a_newer_version_can_only_be_looked_at(
    built: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(events.KINDS, "from-the-future", 1)
    built.store.append(1, [events.Draft("from-the-future", "x", {})])
    monkeypatch.undo()
    assert care.show(built, 1).read_only
    assert receive.list_bikes(built)[0].read_only
    with pytest.raises(Refusal, match="a newer Cyclewright has recorded on it"):
        build.record_step(built, 1, "carton-open")
    assert care.verify(built).ok


def test_summaries_are_only_a_cache(built: Shop) -> None:
    before = receive.list_bikes(built)
    with built.store.engine.begin() as connection:
        connection.exec_driver_sql("DELETE FROM summary")
    assert receive.list_bikes(built) == before
