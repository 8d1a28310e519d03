"""Two figures disagree: the lowest ceiling, the deepest insertion, maker over habit, or a test."""

from __future__ import annotations

from random import Random

import pytest

from cyclewright.advice import disputes
from cyclewright.advice.disputes import WHOSE_WORDS, Claim
from cyclewright.errors import CyclewrightError, InputError
from cyclewright.sheets.fields import fields
from cyclewright.workshop.check import settle


@pytest.mark.parametrize(
    ("field", "a", "b", "whose", "winner", "rule"),
    [
        ("bike.wheel.front.pressure_max", "3.5 bar", "3 bar", ("part", "maker"), "b", "lowest"),
        ("bike.wheel.front.pressure_max", "6 bar", "5 bar", ("part", "standard"), "b", "lowest"),
        ("bike.mass_limit", "130 kg", "120 kg", ("maker", "part"), "b", "lowest"),
        ("bike.use_class", "4", "3", ("maker", "part"), "b", "lowest"),
        ("bike.frame.insertion_max", "250 mm", "230 mm", ("maker", "maker"), "b", "lowest"),
        ("bike.frame.insertion_min", "80 mm", "100 mm", ("part", "maker"), "b", "deepest"),
        ("bike.post.insertion_min", "110 mm", "90 mm", ("maker", "part"), "a", "deepest"),
        ("bike.brake.front.rotor_min", "1.5 mm", "1.7 mm", ("part", "maker"), "b", "deepest"),
        ("bike.fastener.faceplate.max", "5 N.m", "6 N.m", ("part", "maker"), "a", "lowest"),
        ("bike.tyre.front.pressure_max", "3 bar", "2 bar", ("maker", "practice"), "a", "habit"),
        ("bike.fork.sag_target", "20 %", "25 %", ("maker", "practice"), "a", "habit"),
        ("bike.brake.front.fluid", "dot4", "mineral", ("maker", "part"), "b", "the mark"),
        ("bike.fork.offset", "44 mm", "51 mm", ("maker", "part"), "b", "the mark"),
        ("bike.post.diameter", "31.6 mm", "30.9 mm", ("part", "measured"), "b", "measured"),
        ("bike.cockpit.bar_width", "780 mm", "760 mm", ("maker", "measured"), "b", "measured"),
        ("bike.tyre.rear.size", "29x2.4", "61-584", ("maker", "part"), "b", "the mark"),
    ],
)
def test_which_wins(field, a, b, whose, winner, rule) -> None:
    found = settle(field, a, b, *whose)
    assert found.winner == winner
    assert (a if winner == "a" else b) in found.holds
    assert rule in found.rule
    assert found.because and found.source
    turned = settle(field, b, a, *reversed(whose))
    assert turned.winner == {"a": "b", "b": "a"}[winner] and turned.holds == found.holds


@pytest.mark.parametrize(
    ("field", "a", "b", "said"),
    [
        ("bike.hands_delivered", "front-left", "front-right", "pull that lever"),
        ("bike.shock.stroke", "55 mm", "57.5 mm", "ring"),
        ("bike.wheel.front.hooked", "true", "false", "tyre off"),
        ("bike.fork.rebound_clicks", "18", "16", "closed to open"),
        ("rider.inseam", "800 mm", "830 mm", "pressed up firmly"),
        ("bike.fork.chart", "80 psi at 80 kg", "74 psi at 80 kg", "measured sag"),
        ("bike.fastener.seat_collar.target", "5 N.m", "6 N.m", ".a and .b"),
    ],
)
def test_where_paper_cannot_say_a_test_decides(field, a, b, said) -> None:
    found = settle(field, a, b)
    assert found.winner is None and said in found.test
    assert "test" in found.rule


def test_until_the_test_is_done_the_safer_one_holds() -> None:
    found = settle("bike.fastener.seat_collar.target", "5 N.m", "6 N.m")
    assert found.holds.startswith("until then no more than 5 N.m")


def test_two_words_of_one_rank_are_not_decided() -> None:
    found = settle("bike.fork.offset", "44 mm", "51 mm", "maker", "maker")
    assert found.winner is None and found.test and "neither" in found.because


def test_what_agrees_needs_no_verdict_in_whatever_unit() -> None:
    assert settle("bike.mass_limit", "100 kg", "220.46226 lb").winner in ("both", "a", "b")
    assert settle("bike.frame.insertion_min", "100 mm", "10 cm").winner == "both"


def test_a_habit_never_moves_a_makers_limit() -> None:
    for low, high in (("2 bar", "3 bar"), ("3 bar", "2 bar")):
        found = settle("bike.tyre.front.pressure_max", low, high, "maker", "practice")
        assert found.winner == "a"


def test_the_verdict_never_lies_outside_both_limits() -> None:
    """Drawn figures: a ceiling never above either, a floor never below either."""
    random = Random(3)
    for _ in range(300):
        one, other = (round(random.uniform(1, 6), 2) for _ in range(2))
        whose = random.sample(["part", "law", "maker", "standard"], 2)
        ceiling = settle("bike.wheel.rear.pressure_max", f"{one} bar", f"{other} bar", *whose)
        assert ceiling.winner == ("both" if one == other else "a" if one < other else "b")
        floor = settle("bike.tyre.rear.pressure_min", f"{one} bar", f"{other} bar", *whose)
        assert floor.winner == ("both" if one == other else "a" if one > other else "b")


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (("bike.wheel.front.pressure", "3 bar", "2 bar"), "pressure_max"),
        (("bike.mass_limit", "100", "120 kg"), "add the unit"),
        (("bike.mass_limit", "9000 kg", "120 kg"), "cannot be"),
        (("bike.mass_limit", "100 kg", "120 kg", "neighbour"), "say whose figure it is"),
        (("bike.fork.kind", "air", "steam"), "write what may be"),
        (("bike.wheel.front.hooked", "true", "perhaps"), "write what may be"),
    ],
)
def test_what_cannot_be_is_refused(call, said) -> None:
    with pytest.raises(InputError, match=said):
        settle(*call)


def test_all_that_is_wrong_is_told_at_once() -> None:
    with pytest.raises(CyclewrightError) as caught:
        settle("bike.mass_limit", "100", "120", "neighbour", "part")
    assert len(caught.value.problems) >= 2


def test_every_row_is_of_fields_that_exist() -> None:
    paths = [item.path for item in fields()]
    named = [path.replace(".NAME", ".faceplate") for path in paths]
    tables = {path.split("[]")[0] for path in paths if "[]" in path}
    for row in disputes.rows():
        assert row.why and row.source and (row.test or row.rule != "test")
        for pattern in row.fields:
            hit = any(disputes._fits(path, pattern) for path in (*named, *tables))
            assert hit or pattern.endswith(".*.max") or ".*.*" in pattern, pattern


def test_every_maximum_and_minimum_of_the_sheets_has_its_rule() -> None:
    for item in fields():
        name = item.path.rsplit(".", 1)[-1]
        path = item.path.replace("NAME", "faceplate")
        if "[]" in path or item.shape not in ("quantity", "count"):
            continue
        found = disputes.row(path)
        if name.endswith("_max") or name == "max":
            assert found is not None and found.rule == "lowest", path
        if name.endswith("_min") or name == "min":
            assert found is not None and found.rule == "deepest", path


def test_every_owner_has_words() -> None:
    claim = Claim("x", "maker")
    assert claim.text == "x (the maker's booklet)"
    assert set(WHOSE_WORDS) == set(disputes._RANK)
