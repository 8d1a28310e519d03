"""What comes due and where parts are worn out: every entry whole, each with its source."""

from __future__ import annotations

import pytest

from cyclewright.knowledge import care


def test_every_item_says_what_to_do_by_what_and_whose_it_is() -> None:
    names = [item.id for item in care.items()]
    assert len(set(names)) == len(names)
    for item in care.items():
        assert item.do and item.source
        assert item.every_rides or item.every_hours or item.every_days


def test_only_what_the_bike_has_comes_due() -> None:
    rigid = {"bike.kind": "rigid", "bike.fork.kind": "rigid", "bike.drive.pull": "electronic"}
    names = {item.id for item in care.chosen(rigid)}
    assert not names & {"fork-lowers", "shock-damper", "pivots", "cables"}
    assert {"bolts", "chain", "pads", "tyres", "sprockets"} <= names


def test_every_reading_says_how_it_is_taken_and_where_it_ends() -> None:
    kinds = [wear.kind for wear in care.wears()]
    assert len(set(kinds)) == len(kinds)
    assert {"chain-wear", "sprocket-lift", "chainring-lift", "front-tread", "rear-tread"} <= {
        *kinds
    }
    for wear in care.wears():
        assert wear.how and wear.whose and len(wear.source) > 8
        assert wear.limit is not None or wear.field
        assert 0 < wear.spread < (wear.limit or 0.0018) < wear.most
        if wear.limit is not None and not wear.field:
            assert "default" in wear.whose


@pytest.mark.parametrize("stated", [0.0015, None])
def test_a_marked_limit_wins_and_an_unmarked_rotor_is_asked(stated: float | None) -> None:
    rotor = next(row for row in care.wears() if row.kind == "front-rotor")
    facts = {} if stated is None else {rotor.field: stated}
    assert care.limit_of(rotor, facts)[0] == stated


@pytest.mark.parametrize(("speeds", "limit"), [(12, 0.005), (11, 0.005), (10, 0.0075), (1, 0.0075)])
def test_a_narrow_chain_ends_sooner(speeds: int, limit: float) -> None:
    chain = next(row for row in care.wears() if row.kind == "chain-wear")
    found, whose = care.limit_of(chain, {"bike.drive.speeds": speeds})
    assert found == limit and "default" in whose
    assert care.limit_of(chain, {})[0] == 0.005


@pytest.mark.parametrize(("new", "limit"), [(0.004, 0.002), (0.0015, 0.001), (None, 0.001)])
def test_tread_ends_at_half_of_what_it_was_new(new: float | None, limit: float) -> None:
    tread = next(row for row in care.wears() if row.kind == "rear-tread")
    assert care.limit_of(tread, {}, new)[0] == pytest.approx(limit)
