"""Papers in imperial units, and torques recorded as they were told."""

from __future__ import annotations

import pytest

from cyclewright.errors import InputError
from cyclewright.sheets.sheets import load
from cyclewright.units import parse
from cyclewright.units.told import told
from cyclewright.workshop import build, carton, paper, receive
from cyclewright.workshop.evidence import _at_a_mark
from cyclewright.workshop.shop import Shop
from imperial import metric
from workshop.shops import EXAMPLES, record, text_of

BIKES = {
    "trail": ("light", "left"),
    "hardtail": ("heavy", "right"),
    "longtravel": ("heavy", "high"),
}
LEFT_IN_MM = ("sag-strip", "marks")
"""Papers that are a rule: they are printed to scale in millimetres and held against the bike."""


def _opened(shop: Shop, name: str) -> int:
    rider, place = BIKES[name]
    read = load(
        EXAMPLES / f"bikes/{name}.toml",
        EXAMPLES / f"riders/{rider}.toml",
        EXAMPLES / f"places/{place}.toml",
    )
    return receive.open_bike(shop, read, by="Ada")


@pytest.mark.parametrize("name", BIKES)
def test_every_paper_is_in_imperial_units(shop: Shop, name: str) -> None:
    bike = _opened(shop, name)
    carton.arrive(shop, bike, carrier="Hill Parcels", damage="corner crushed")
    for what in paper.DOCUMENTS:
        if what in LEFT_IN_MM:
            continue
        try:
            made = text_of(paper.print_document(shop, what, bike, "imperial"))
        except InputError:
            continue
        assert metric(made) == [], what
        assert "N·m" not in made


def test_the_torque_card_says_its_unit(shop: Shop) -> None:
    bike = _opened(shop, "trail")
    trade, other = (
        text_of(paper.print_document(shop, "torque-card", bike, system))
        for system in ("trade", "imperial")
    )
    assert "N·m" in trade and "in·lbf" not in trade
    assert "in·lbf" in other


@pytest.mark.parametrize("name", BIKES)
def test_a_torque_is_recorded_as_it_was_told(shop: Shop, name: str) -> None:
    """What is told in inch pounds passes, for every joint, and is the figure itself at its ends."""
    bike = _opened(shop, name)
    seen = 0
    for step in build.plan_for(shop, bike).steps:
        window = step.torque
        if window is None or window.set is None:
            continue
        seen += 1
        ends = {"low": window.low, "high": window.high}
        for value in (window.set, window.low, window.high):
            if value is None:
                continue
            text = told(f"{value:g} N·m", "imperial")
            kept = _at_a_mark(parse(text, "torque").value, ends, text)
            assert window.low is None or kept >= window.low - 1e-6, (step.id, text)
            assert window.high is None or kept <= window.high + 1e-6, (step.id, text)
    assert seen > 10


def test_a_wrench_with_whole_marks_meets_a_single_figure(shop: Shop) -> None:
    bike = _opened(shop, "trail")
    step = next(
        item
        for item in build.plan_for(shop, bike).steps
        if item.torque is not None and item.torque.low == item.torque.high == 6.0
    )
    for before in build.plan_for(shop, bike).steps:
        if before.id == step.id:
            break
        record(shop, bike, before)
    with pytest.raises(InputError, match="torque"):
        build.record_step(shop, bike, step.id, torque="58 in-lb", by="Ada")
    build.record_step(shop, bike, step.id, torque="53 in-lb", by="Ada")
    kept = shop.state(bike).step(step.id).evidence["torque"]
    assert (kept["value"], kept["text"]) == (6.0, "53 in-lb")
