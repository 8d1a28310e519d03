"""Due by rides, hours and days; calendars by RFC 5545."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from cyclewright.knowledge.care import items
from cyclewright.record import care
from cyclewright.record.calendar import Entry, icalendar
from cyclewright.record.care import Cared, Due, Use

START = date(2031, 4, 1)


def _due(uses: list[Use], cared: list[Cared], today: date) -> dict[str, Due]:
    return {row.item.id: row for row in care.due(items(), START, uses, cared, today)}


def _day(after: int) -> str:
    return (START + timedelta(days=after)).isoformat()


def test_the_bolts_are_due_after_the_first_ride_and_again_after_a_few() -> None:
    before = _due([], [], START)["bolts"]
    assert (before.rides_left, before.overdue) == (1, False)
    assert before.why == "after 1 ride, else every 90 days"
    first = _due([Use(_day(2), 1, 2.0, 1)], [], START + timedelta(days=2))["bolts"]
    assert (first.rides_left, first.overdue) == (0, True)
    done = [Cared("bolts", _day(2), 2)]
    uses = [Use(_day(2), 1, 2.0, 1)]
    assert _due(uses, done, START + timedelta(days=3))["bolts"].rides_left == 4
    uses.append(Use(_day(9), 4, 8.0, 3))
    assert _due(uses, done, START + timedelta(days=9))["bolts"].overdue
    done.append(Cared("bolts", _day(9), 4))
    assert _due(uses, done, START + timedelta(days=9))["bolts"].rides_left == 10


def test_whatever_comes_first_is_the_day() -> None:
    uses = [Use(_day(14), 7, 14.0, 1)]
    row = _due(uses, [], START + timedelta(days=14))["chain"]
    assert (row.hours_left, row.rides_left, row.days_left) == (6.0, 3, 76)
    assert row.by == START + timedelta(days=20)
    assert "at the pace so far" in row.why
    idle = _due([], [], START)["chain"]
    assert (idle.by, idle.why) == (START + timedelta(days=90), "every 90 days")


def test_use_before_it_was_done_does_not_count_and_use_before_release_neither() -> None:
    uses = [Use("2031-03-01", 50, 99.0, 1), Use(_day(1), 2, 4.0, 2), Use(_day(5), 1, 3.0, 5)]
    row = _due(uses, [Cared("chain", _day(3), 4)], START + timedelta(days=5))["chain"]
    assert (row.hours_left, row.rides_left) == (17.0, 9)
    assert _due(uses, [], START + timedelta(days=5))["chain"].hours_left == 13.0


@given(st.integers(0, 40), st.integers(0, 60), st.integers(1, 200))
def test_more_use_is_never_due_later(rides: int, hours: int, days: int) -> None:
    today = START + timedelta(days=days)
    less = _due([Use(_day(0), rides, float(hours), 1)], [], today)
    more = _due([Use(_day(0), rides + 1, float(hours + 1), 1)], [], today)
    for name, row in more.items():
        assert (row.by or date.max) <= (less[name].by or date.max)
        assert row.overdue >= less[name].overdue


def _parsed(text: str) -> list[dict[str, str]]:
    """Second method: RFC 5545 read back, unfolded and unescaped by rules of its own."""
    assert text.endswith("\r\n") and "\n" not in text.replace("\r\n", "")
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    events: list[dict[str, str]] = []
    for line in text.replace("\r\n ", "").split("\r\n"):
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            events.append({})
        elif events:
            out, chars = "", iter(value)
            for char in chars:
                out += {"n": "\n"}.get(c := next(chars), c) if char == "\\" else char
            events[-1].setdefault(name.split(";")[0], out)
    return events


NOW = datetime(2031, 4, 1, 8, 30, tzinfo=UTC)


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=200))
def test_a_calendar_gives_back_what_was_written(text: str) -> None:
    entry = Entry("u-1", START, text, f"{text}\nsecond line", NOW)
    (event,) = _parsed(icalendar([entry], text))
    assert event["SUMMARY"] == text
    assert event["DESCRIPTION"] == f"{text}\nsecond line"
    assert (event["DTSTART"], event["DTEND"]) == ("20310401", "20310402")
    assert (event["UID"], event["DTSTAMP"]) == ("u-1", "20310401T083000Z")


def test_order_does_not_matter_and_nothing_breaks_out() -> None:
    rows = [Entry(f"u-{n}", START, "a\r\nEND:VCALENDAR", "b", NOW) for n in range(3)]
    assert icalendar(rows, "x") == icalendar(rows[::-1], "x")
    assert icalendar(rows, "x").count("\r\nEND:VCALENDAR") == 1


def test_a_day_is_found_in_the_words_that_hold_it() -> None:
    assert care.day_in("after a few rides, on 2031-05-24, with all manuals") == "2031-05-24"
    assert care.day_in("2031-02-30 cannot be, 2031-03-02 can") == "2031-03-02"
    assert care.day_in("after the first ride") == care.day_in("12031-05-24") == ""
