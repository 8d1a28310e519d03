"""Days that are due as an iCalendar file (RFC 5545): the same record gives the same bytes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta


@dataclass(frozen=True, slots=True)
class Entry:
    """One whole day: `uid` stays the same when the day is moved."""

    uid: str
    day: date
    summary: str
    text: str
    made: datetime
    """When what it rests on was recorded: the stamp, so that no clock gets in."""


def icalendar(entries: Iterable[Entry], name: str) -> str:
    """The calendar as text with CRLF line ends, folded at 75 octets."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Cyclewright//Care//EN",
        "CALSCALE:GREGORIAN",
        f"NAME:{_escaped(name)}",
    ]
    for entry in sorted(entries, key=lambda item: (item.day, item.uid)):
        lines += _event(entry)
    lines.append("END:VCALENDAR")
    return "".join(f"{folded}\r\n" for line in lines for folded in _folded(line))


def _event(entry: Entry) -> list[str]:
    after = entry.day + timedelta(days=1)
    return [
        "BEGIN:VEVENT",
        f"UID:{_escaped(entry.uid)}",
        f"DTSTAMP:{entry.made:%Y%m%dT%H%M%SZ}",
        f"DTSTART;VALUE=DATE:{entry.day:%Y%m%d}",
        f"DTEND;VALUE=DATE:{after:%Y%m%d}",
        f"SUMMARY:{_escaped(entry.summary)}",
        f"DESCRIPTION:{_escaped(entry.text)}",
        "TRANSP:TRANSPARENT",
        "END:VEVENT",
    ]


def _escaped(text: str) -> str:
    """Text as RFC 5545 3.3.11 has it; control characters are left out."""
    for plain, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,")):
        text = text.replace(plain, written)
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\n", "\\n")
    return "".join(char for char in text if char >= " " and char != "\x7f")


def _folded(line: str) -> list[str]:
    """The line in pieces of at most 75 octets, none of which splits a character."""
    pieces: list[str] = []
    piece = ""
    for char in line:
        room = 75 if not pieces else 74
        if len((piece + char).encode("utf-8")) > room:
            pieces.append(piece)
            piece = ""
        piece += char
    pieces.append(piece)
    return [pieces[0], *(f" {rest}" for rest in pieces[1:])]
