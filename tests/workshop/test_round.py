"""The bolt round is worth what its bolts are: every fastener stands in it and holds its gate."""

from __future__ import annotations

import pytest

from cyclewright.errors import Refusal
from cyclewright.knowledge.fasteners import applying
from cyclewright.sheets.sheets import change, facts, load
from cyclewright.workshop import build, receive, release
from cyclewright.workshop.check import plan
from cyclewright.workshop.shop import Shop
from workshop.shops import EXAMPLES, build_until, do_again, opened, record, sheets

MORE = (
    "bike.fastener.bottle_cage.target=3 N.m",
    "bike.fastener.bash_guard.max=6 N.m",
    "bike.fastener.front_adapter.target=8 N.m",
    "bike.fastener.chain_guide.max=5 N.m",
)


def ready(shop: Shop) -> None:
    """The trail bike with more on it than usual, ready to be released."""
    receive.open_bike(shop, change(sheets(), MORE), by="Ada")
    build_until(shop, 1, "Receive", "Build", "Fit", "Base")
    assert release.gate(shop, 1, "ride", by="Ada").passed
    build_until(shop, 1, "Prove", "Release")
    assert release.gate(shop, 1, "release", by="Ada").passed


def wanted(shop: Shop) -> dict[str | None, str]:
    """What the release gate wants: step to why."""
    return {row.step: row.why for row in release.missing(shop, shop.state(1), "release")}


@pytest.mark.parametrize("bike", ["trail", "hardtail", "longtravel"])
def test_every_fastener_of_a_bike_is_in_a_round_or_set_by_hand(bike: str) -> None:
    found = load(EXAMPLES / f"bikes/{bike}.toml", None, EXAMPLES / "places/left.toml", "80 kg")
    found = change(found, MORE)
    made = plan(found)
    listed = set(found.bike.fastener)
    rounds = {bolt.joint for bolt in made.bolts()}
    has = {item.name: item for item in applying(facts(found))}
    assert listed <= rounds and {"bash_guard", "bottle_cage", "shifter"} <= rounds
    by_hand = {name for name in has if name not in rounds}
    assert by_hand == {"front_tyre", "rear_tyre", "top_cap"}
    gated = {joint for step in made.steps if step.safety for joint in step.joints}
    assert {*has, *listed} <= gated


def test_any_fastener_opened_after_the_round_blocks_the_release_by_its_name(shop: Shop) -> None:
    ready(shop)
    rounds = {bolt.joint: step.id for step in build.plan_for(shop, 1).steps for bolt in step.bolts}
    assert {"shifter", "dropper_remote", "bottle_cage", "bash_guard", "grips"} <= set(rounds)
    for joint, step in rounds.items():
        said = build.touch(shop, 1, [joint], "opened for a look", by="Ada")
        assert step in said.reopened, joint
        why = wanted(shop)
        assert why[step].startswith(f"reopened: {joint.replace('_', ' ')}: opened"), joint
        with pytest.raises(Refusal, match=joint.replace("_", " ")):
            release.release(shop, 1, by="Ada")
        build.undo(shop, 1)
        if "ride-gate" in why or None in why:
            release.gate(shop, 1, "ride", by="Ada")
    assert release.gate(shop, 1, "release", by="Ada").passed


@pytest.mark.parametrize("step", ["shifter-clamped", "remote-clamped"])
def test_a_clamp_left_open_is_not_gone_round(shop: Shop, step: str) -> None:
    opened(shop)
    for item in build.plan_for(shop, 1).steps:
        if item.id == step:
            build.record_step(shop, 1, step, put_off="waits for the rider", by="Ada")
        elif item.stage in ("Receive", "Build", "Fit", "Base") and step not in item.needs:
            record(shop, 1, item)
    assert release.gate(shop, 1, "ride", by="Ada").passed
    build_until(shop, 1, "Prove")
    with pytest.raises(Refusal, match=rf"do {step} first \(put-off: waits for the rider\)"):
        build.record_step(shop, 1, "bolts-cockpit", by="Ada")
    assert wanted(shop)["bolts-cockpit"] == f"not done yet; first {step} (put off)"
    record(shop, 1, next(item for item in build.plan_for(shop, 1).steps if item.id == step))
    do_again(shop)
    assert release.gate(shop, 1, "release", by="Ada").passed
    # and one that comes to light afterwards takes the round with it
    said = build.record_step(shop, 1, step, problem="it slips", by="Ada")
    assert "bolts-cockpit" in said.said
    assert wanted(shop)["bolts-cockpit"].endswith(f"; first {step} (problem)")


def test_a_bolt_that_is_new_on_the_sheet_has_not_been_gone_round(shop: Shop) -> None:
    ready(shop)
    said = build.change_sheet(shop, 1, ["bike.fastener.fender.max=4 N.m"], by="Ada")
    assert "bolts-frame-and-seat" in said.reopened
    assert "fender: new on the sheet" in wanted(shop)["bolts-frame-and-seat"]


def reopened(shop: Shop, joint: str) -> set[str]:
    """What touching a joint takes away, taken back again."""
    said = build.touch(shop, 1, [joint], "looked into", by="Ada")
    build.undo(shop, 1)
    return set(said.reopened)


def test_only_what_rests_on_it_is_done_again(shop: Shop) -> None:
    ready(shop)
    # a wheel that was out asks for no gears to be set, and a collar for no remote
    assert reopened(shop, "rear_axle") == {
        "rear-wheel-tool-axle", "axles-hold", "bolts-wheels-and-brakes",
        "function-stops-and-steers", "function-holds-and-shifts",
    }  # fmt: skip
    assert "remote-clamped" not in reopened(shop, "seat_collar")
    # new pads are bedded in and held, and the wheels stay in
    pads = reopened(shop, "front_pads")
    assert {"pads-looked-over", "brakes-held-hard", "bedding-in", "brakes-held-again"} <= pads
    assert "front-wheel-tool-axle" not in pads


def test_reading_or_proving_a_joint_again_opens_no_bolt(shop: Shop) -> None:
    ready(shop)
    said = build.record_step(shop, 1, "shock-pressure", value="125 psi", by="Ada")
    assert set(said.reopened) - {"explained-settings"} == {
        "shock-sag", "shock-rebound", "pulley-gap-at-sag",
    }  # fmt: skip
    build.undo(shop, 1)
    for step in ("axles-hold", "chain-and-gears-turn", "headset-without-play"):
        said = build.record_step(shop, 1, step, by="Ada")
        assert not {name for name in said.reopened if name.startswith("bolts-")}, step
        build.undo(shop, 1)
    # but what sets a joint does
    said = build.record_step(shop, 1, "shifter-clamped", as_set=True, by="Ada")
    assert "bolts-cockpit" in said.reopened
