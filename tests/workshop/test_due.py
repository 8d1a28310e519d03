"""Care of a bike on record: use, wear, what is due, and its calendar."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cyclewright.errors import InputError, RangeError, Refusal
from cyclewright.workshop import build, due, recall
from cyclewright.workshop.shop import Shop
from workshop.shops import opened, record

TODAY = date.today()


def _rows(shop: Shop, today: date = TODAY) -> dict[str, due.DueRow]:
    return {row.item: row for row in due.due(shop, 1, today).rows}


def test_nothing_is_due_before_the_release(shop: Shop) -> None:
    opened(shop)
    answer = due.due(shop, 1)
    assert (answer.released, answer.rows) == ("", ())


def test_due_from_use_to_done(released: Shop) -> None:
    assert {"bolts", "fork-lowers", "shock-can", "sealant", "pivots"} <= set(_rows(released))
    due.note_use(released, 1, rides=1, hours=2.5, by="Ada")
    row = _rows(released)["bolts"]
    assert row.overdue and row.rides_left == 0 and row.source == "common practice, no source"
    assert due.due_all(released, 0)[0].item == "bolts"
    step = next(s for s in build.plan_for(released, 1).steps if s.id == "first-recheck")
    record(released, 1, step)
    row = _rows(released)["bolts"]
    assert (row.times, row.rides_left) == (1, 4)
    due.care_done(released, 1, "sealant", note="60 ml each")
    assert _rows(released)["sealant"].times == 1
    later = _rows(released, TODAY + timedelta(days=100))
    assert later["sealant"].overdue and later["chain"].overdue
    build.undo(released, 1)
    assert _rows(released)["sealant"].times == 0


def test_what_cannot_be_noted(shop: Shop) -> None:
    opened(shop)
    with pytest.raises(InputError, match="give rides, hours or both"):
        due.note_use(shop, 1)
    with pytest.raises(RangeError, match="give whole rides"):
        due.note_use(shop, 1, rides=-1)
    with pytest.raises(RangeError, match="give hours"):
        due.note_use(shop, 1, hours=float("nan"))
    with pytest.raises(Refusal, match="record it when it has happened"):
        due.note_use(shop, 1, rides=1, on=TODAY + timedelta(days=9))
    with pytest.raises(InputError, match="allowed: bolts, chain"):
        due.care_done(shop, 1, "prayers")


def test_a_chain_wears_towards_its_day(released: Shop) -> None:
    first = due.read_wear(released, 1, "chain-wear", "0.05 %", "Ada")
    assert "no trend yet" in first.said
    for value in ("0.15 %", "0.25 %"):
        due.note_use(released, 1, rides=5, hours=10.0)
        row = due.read_wear(released, 1, "chain-wear", value)
    assert (row.counted_in, row.worn_out, row.shown_limit) == ("hours", False, "0.50 %")
    assert row.rate == pytest.approx(1e-4)
    # 25 h are left, and 20 h in what counts as a week are 2.86 h a day.
    assert row.by == (TODAY + timedelta(days=8)).isoformat()
    assert row.earliest <= row.by <= row.latest
    assert "default" in row.whose
    assert "UID:" in due.calendar(released, 1)
    worn = due.read_wear(released, 1, "chain-wear", "0.55 %")
    assert worn.worn_out and "replace it before the next ride" in worn.said
    recall.fit_part(released, 1, "chain", maker="Invented", model="Twelve")
    fresh = due.read_wear(released, 1, "chain-wear", "0 %")
    assert len(fresh.readings) == 1 and not fresh.worn_out


def test_new_pads_begin_a_new_line(released: Shop) -> None:
    for value in ("4.0 mm", "3.4 mm", "4.1 mm"):
        row = due.read_wear(released, 1, "front-pad", value)
    assert [reading["shown"] for reading in row.readings] == ["4.1 mm"]


def test_a_rotor_wears_to_its_own_mark(released: Shop) -> None:
    stated = released.sheets(released.state(1)).bike.brake.front.rotor_min
    assert stated is not None
    row = due.read_wear(released, 1, "front-rotor", "1.8 mm")
    assert row.limit == pytest.approx(stated.value)
    with pytest.raises(RangeError, match="no such part wears so"):
        due.read_wear(released, 1, "front-rotor", "18 mm")
    with pytest.raises(InputError, match="for example %"):
        due.read_wear(released, 1, "chain-wear", "0.5")
    with pytest.raises(InputError, match="name a reading of wear"):
        due.read_wear(released, 1, "saddle", "0.5 mm")


def test_the_same_record_gives_the_same_calendar(released: Shop) -> None:
    first = due.calendar(released, None, TODAY)
    assert first == due.calendar(released, None, TODAY)
    assert first.startswith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n")
    assert first.count("BEGIN:VEVENT") == sum(bool(r.by) for r in due.due(released, 1).rows)
    uids = [line for line in first.split("\r\n") if line.startswith("UID:")]
    assert len(set(uids)) == len(uids)
    due.note_use(released, 1, rides=3, hours=6.0)
    moved = due.calendar(released, 1, TODAY)
    assert [u for u in uids if u in moved] == uids
