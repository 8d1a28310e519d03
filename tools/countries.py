"""The countries' rows as a page of the documentation: what is asked, by which rule, read where."""

from __future__ import annotations

import sys
from collections.abc import Iterator

from cyclewright.knowledge.countries import (
    SURE_WORDS,
    TOPICS,
    WHEN_WORDS,
    Country,
    Stated,
    countries,
    whom_to_ask,
)

HEAD = """# Countries

Made from `src/cyclewright/knowledge/countries.toml` by `make docs`. A rule is given in short: its
own text, the kind of bike and its exceptions win, and laws change. What is not on file is never
guessed; each row says whom to ask. Of a country that is not here ask

- {hand} for the hands,
- {fittings} for the fittings,
- {electric} for an electric drive,
- {mark} for marks.
"""
TITLES = {
    "hand": "Front brake",
    "fittings": "Fittings",
    "electric": "Electric drive",
    "mark": "Marks",
}


def page() -> str:
    """The whole page."""
    general = {topic: whom_to_ask("", topic) for topic in TOPICS}
    rows = sorted(countries().values(), key=lambda row: row.name)
    return HEAD.format(**general) + "".join("\n".join(_row(row)) + "\n" for row in rows)


def _row(row: Country) -> Iterator[str]:
    yield f"\n## {row.name} ({row.code})\n"
    if row.note:
        yield f"{row.note}\n"
    if row.front is not None:
        hand = row.front.hands.removeprefix("front-")
        yield f"- **Front brake**: the {hand} hand; {row.front.words}.{_where(row.front.read)}"
    for fitting in row.fittings:
        yield _line(f"Fittings, {WHEN_WORDS[fitting.when]}", fitting)
    for drive in row.electric:
        yield _line(f"Electric drive, {drive.name}", drive)
    for mark in row.marks:
        yield _line("Marks, with an electric drive" if mark.drive else "Marks", mark)
    asked = [topic for topic in TOPICS if not row.stated(topic)]
    if asked:
        told = "; ".join(f"{TITLES[topic].lower()}: {row.asks[topic]}" for topic in asked)
        yield f"- **Ask**: {told}."


def _line(title: str, item: Stated) -> str:
    return f"- **{title}**: {item.text}. {item.source}, {SURE_WORDS[item.sure]}.{_where(item.read)}"


def _where(read: str) -> str:
    return f" Read: {read}." if read else ""


if __name__ == "__main__":
    sys.stdout.write(page())
