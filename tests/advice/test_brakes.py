from __future__ import annotations

import pytest

from advice.clean import clean, planted, without
from cyclewright.advice.brakes import derived, hands
from cyclewright.sheets.sheets import change

WRONG = "bike.hands_delivered=front-left"
ONE_WAY = ("bike.brake.front.lever=one-way", "bike.brake.rear.lever=one-way")
SEALED = ("bike.brake.front.coupling=sealed", "bike.brake.rear.coupling=sealed")
CABLES = ("bike.brake.front.kind=cable", "bike.brake.rear.kind=cable")


def test_hands_that_are_right_stay():
    found = hands(clean())
    assert (found.wanted, found.basis) == ("front-right", "law")
    assert found.change_needed is False
    assert (found.route, found.findings()) == ("none", ())


@pytest.mark.parametrize(
    ("changes", "route", "said"),
    [
        ((), "whole-levers", "bleed ports"),
        (CABLES, "cables", "housings"),
        (("bike.brake.front.lever=one-way",), "open-hoses", "new olive and insert"),
        (ONE_WAY, "open-hoses", "kit for mineral"),
        ((*ONE_WAY, *SEALED), "sealed-couplings", "30 s"),
        ((*ONE_WAY, SEALED[0]), "open-hoses", "new olive"),
        ((*ONE_WAY, *SEALED, "bike.brake.rear.fluid=dot4"), "other-levers", "never meet"),
        ((*ONE_WAY, CABLES[1]), "other-levers", "come from the maker"),
    ],
)
def test_the_cheapest_safe_route(changes, route, said):
    found = hands(planted(WRONG, *changes))
    assert found.change_needed is True
    assert found.route == route
    assert said in " ".join(found.consequences)
    (finding,) = found.findings()
    assert (finding.code, finding.severity) == ("brake-hands", "stop")
    assert said in finding.do


def test_a_hose_inside_the_frame_is_looked_at_where_it_enters():
    assert any("kink" in said for said in hands(planted(WRONG)).consequences)
    outside = planted(WRONG, "bike.brake.rear.hose_route=outside")
    assert not any("kink" in said for said in hands(outside).consequences)


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("bike.brake.front.kind", ()),
        ("bike.brake.rear.lever", ()),
        ("bike.brake.front.fluid", ONE_WAY),
        ("bike.brake.rear.coupling", ONE_WAY),
    ],
)
def test_an_unknown_that_decides_the_route_is_asked(field, changes):
    found = hands(change(without(field), [WRONG, *changes]))
    assert (found.change_needed, found.route) == (True, "ask")
    assert [question.field for question in found.questions] == [field]
    assert "derived.brake_route" not in derived(change(without(field), [WRONG, *changes]))


def test_nothing_is_asked_about_the_route_when_the_hands_are_right():
    assert hands(without("bike.brake.front.lever")).questions == ()


def test_hands_as_delivered_are_never_guessed():
    found = hands(without("bike.hands_delivered"))
    assert found.change_needed is None
    assert [question.field for question in found.questions] == ["bike.hands_delivered"]
    known = derived(without("bike.hands_delivered"))
    assert known["derived.brake_hands"] == "front-right"
    assert not {"derived.brake_change_needed", "derived.brake_route"} & set(known)


def test_a_country_without_a_row_is_asked():
    found = hands(planted("place.country=AQ"))
    assert found.wanted is None
    assert "Nothing is on file for AQ" in found.questions[0].why
    assert "Ask the importer or the national standards body" in found.questions[0].ask


def test_the_specific_country_decides():
    assert hands(planted("place.country=US")).wanted == "front-left"
    assert hands(planted("place.country=US")).change_needed is True


def test_a_riders_own_order_wins_signed_and_tagged():
    found = hands(planted("rider.hands_wish=front-left"))
    assert (found.wanted, found.basis, found.change_needed) == ("front-left", "rider", True)
    assert any("signed order" in said and "tag" in said for said in found.consequences)


def test_a_wish_that_is_the_custom_rests_on_the_custom():
    found = hands(planted("rider.hands_wish=front-right"))
    assert (found.basis, found.consequences) == ("law", ())


def test_the_place_s_own_word_against_its_country_s_custom_is_told():
    """The place's sheet said the left hand in a country of the right one, and nobody was told."""
    given = change(clean(), ["place.country=GB", "place.hands=front-left"])
    found = {finding.code: finding for finding in hands(given).findings()}
    assert found["place-hands"].severity == "warn" and hands(given).wanted == "front-right"
    agreed = hands(change(given, ["place.hands=front-right"]))
    assert "place-hands" not in {finding.code for finding in agreed.findings()}
