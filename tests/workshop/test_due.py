"""Care of a bike on record: use, wear, what is due, and its calendar."""

from __future__ import annotations

import time
from datetime import UTC, date, datetime, timedelta

import pytest

from cyclewright.errors import InputError, RangeError, Refusal
from cyclewright.workshop import build, due, recall, receive
from cyclewright.workshop.shop import Shop
from days import other_day
from workshop.shops import opened, record, sheets

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


@pytest.mark.parametrize("ahead", [True, False])
def test_days_are_those_of_the_workshops_calendar(
    released: Shop, monkeypatch: pytest.MonkeyPatch, ahead: bool
) -> None:
    """Moments are on record in UTC, where an evening's work may be tomorrow's."""
    with monkeypatch.context() as patch:
        patch.setenv("TZ", other_day(ahead))
        time.tzset()
        here, utc = date.today(), datetime.now(UTC).date()
        assert (here > utc, here < utc) == (ahead, not ahead)
        for value in ("0.05 %", "0.15 %"):
            due.note_use(released, 1, rides=5, hours=10.0)
            row = due.read_wear(released, 1, "chain-wear", value)
        answer = due.due(released, 1)
        due.care_done(released, 1, "sealant", note="60 ml each")
        cared = due.due(released, 1).rows
    time.tzset()
    assert (answer.released, answer.rides, answer.hours) == (here.isoformat(), 10, 20.0)
    assert {line["day"] for line in row.readings} == {here.isoformat()}
    assert row.by
    assert next(row for row in cared if row.item == "sealant").since == here.isoformat()


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
    assert worn.worn_out and worn.said.endswith("replace it")
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


def _booked(shop: Shop, today: date = TODAY) -> due.DueRow | None:
    return _rows(shop, today).get("booked")


def test_the_day_booked_at_hand_over_stands_in_care_and_in_the_diary(released: Shop) -> None:
    day = TODAY + timedelta(days=14)
    row = _booked(released)
    assert row is not None and row.by == day.isoformat() and row.days_left == 14
    assert row.why == f"booked: {day}, as it should be" and not row.overdue
    assert due.due_all(released, 14)[0].item == "booked"
    text = due.calendar(released, 1).replace("\r\n ", "")
    entry = next(e for e in text.split("BEGIN:VEVENT") if "SUMMARY:Re-check" in e)
    assert f"DTSTART;VALUE=DATE:{day:%Y%m%d}" in entry
    uid = next(line for line in entry.split("\r\n") if line.startswith("UID:"))
    late = _booked(released, day + timedelta(days=1))
    assert late is not None and late.overdue
    on_the_day = _booked(released, day)
    assert on_the_day is not None and not on_the_day.overdue

    moved = TODAY + timedelta(days=20)
    said = due.book(released, 1, moved, note="the rider is away").said
    assert said == f"re-check booked for {moved}"
    row = _booked(released)
    assert row is not None and (row.by, row.why) == (str(moved), "booked: the rider is away")
    text = due.calendar(released, 1).replace("\r\n ", "")
    assert uid in text and f"DTSTART;VALUE=DATE:{moved:%Y%m%d}" in text
    build.undo(released, 1)
    assert getattr(_booked(released), "by", "") == day.isoformat()


@pytest.mark.parametrize("way", ["booked", "bolts", "step"])
def test_a_re_check_that_was_done_is_booked_no_more(released: Shop, way: str) -> None:
    if way == "step":
        record(released, 1, next(s for s in build.plan_for(released, 1).steps if s.id == FIRST))
    else:
        due.care_done(released, 1, way)
    assert _booked(released) is None
    assert _rows(released)["bolts"].times == 1
    build.undo(released, 1)
    assert _booked(released) is not None and _rows(released)["bolts"].times == 0


FIRST = "first-recheck"


def test_what_cannot_be_booked(released: Shop) -> None:
    with pytest.raises(InputError, match="write the day like"):
        due.book(released, 1, "in May")
    with pytest.raises(RangeError, match="book a day that lies ahead"):
        due.book(released, 1, "2020-05-24")
    step = "explained-first-recheck"
    with pytest.raises(InputError, match="write the day that was booked into it"):
        build.record_step(released, 1, step, value="after the first ride", by="Ada")
    with pytest.raises(RangeError, match="book a day that lies ahead"):
        build.record_step(released, 1, step, value="2020-05-24, manuals", by="Ada")


def test_a_bike_without_a_rider_is_handed_over_without_a_day(shop: Shop) -> None:
    receive.open_bike(shop, sheets(rider=None, mass="80 kg"), by="Ada")
    asked = {s.id: s for s in build.plan_for(shop, 1).steps}["explained-first-recheck"].record
    assert asked is not None and not asked.day


@pytest.mark.parametrize(
    ("kind", "values", "limit", "worn"),
    [
        ("sprocket-lift", ("0.2 mm", "0.5 mm", "0.8 mm"), "1.0 mm", "1.1 mm"),
        ("chainring-lift", ("0.5 mm", "1.2 mm", "1.9 mm"), "3.0 mm", "3 mm"),
        ("rear-tread", ("4.4 mm", "3.9 mm", "3.4 mm"), "2.2 mm", "2.1 mm"),
    ],
)
def test_sprockets_and_tread_wear_towards_their_day(
    released: Shop, kind: str, values: tuple[str, ...], limit: str, worn: str
) -> None:
    for value in values:
        due.note_use(released, 1, rides=5, hours=20.0)
        row = due.read_wear(released, 1, kind, value)
    assert (row.shown_limit, row.worn_out, row.counted_in) == (limit, False, "hours")
    assert row.by and row.earliest <= row.by and "at the pace so far" in row.said
    assert not row.latest or row.by <= row.latest
    assert "no source" in row.whose
    end = due.read_wear(released, 1, kind, worn)
    assert end.worn_out and end.said.endswith(
        "replace it before the next ride" if kind == "rear-tread" else "replace it"
    )
    part = {"sprocket-lift": "cassette", "chainring-lift": "chainring"}.get(kind, "rear tyre")
    recall.fit_part(released, 1, part, maker="Invented", model="Next")
    assert due.read_wear(released, 1, kind, values[0]).readings[0]["shown"] == values[0]


def test_two_readings_close_together_leave_the_day_open(released: Shop) -> None:
    for value in ("4.0 mm", "3.9 mm"):
        due.note_use(released, 1, rides=1, hours=2.0)
        row = due.read_wear(released, 1, "front-tread", value)
    assert row.by and not row.latest
    assert "too few readings to say until when" in row.said


def test_a_chain_is_read_over_its_pitches_too(released: Shop) -> None:
    row = due.read_wear(released, 1, "chain-wear", "305.8 mm")
    assert row.readings[-1]["value"] == pytest.approx(305.8 / 304.8 - 1)
    assert due.read_wear(released, 1, "chain-wear", "304.7 mm").readings[-1]["value"] == 0.0
    with pytest.raises(RangeError, match="no such part wears so"):
        due.read_wear(released, 1, "chain-wear", "290 mm")


def test_what_wears_says_how_it_is_read() -> None:
    assert all(row.how and row.unit in ("mm", "%") for row in due.wear_kinds())
