"""The digits that are promised on every machine; `tests/test_kernels.py` asks other processors."""

from __future__ import annotations

import csv
from pathlib import Path

from advice.digits import BIKES, HEAD, PROMISED, RIDERS, TABLE, rows

CHANGED = "a number changed: name it in CHANGELOG.md with its cause, then `make docs`"


def test_the_promised_digits_are_those_of_every_machine() -> None:
    """A pin: no validation, but the same answer here as where the table was made."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        head, *kept = map(tuple, csv.reader(file))
    ours = list(rows())
    assert head == HEAD
    assert [row[:5] for row in ours] == [row[:5] for row in kept], CHANGED
    assert {row[:2] for row in ours} == {(bike, rider) for bike in BIKES for rider in RIDERS}
    pairs = zip(ours, kept, strict=True)
    assert [f"{one[:4]}: {one[5:]}, not {other[5:]}" for one, other in pairs
            if not alike(one[5:], other[5:])] == [], CHANGED  # fmt: skip


def test_the_documents_promise_as_many() -> None:
    sums = Path(__file__).parents[2] / "docs/sums.md"
    assert f"**{PROMISED} digits**" in sums.read_text(encoding="utf-8")


def alike(ours: tuple[str, ...], kept: tuple[str, ...]) -> bool:
    """Whether a setting's numbers agree in the promised digits, and are missing alike."""
    if [text == "" for text in ours] != [text == "" for text in kept]:
        return False
    size = max((abs(float(text)) for text in kept if text), default=0.0)
    apart = (abs(float(a) - float(b)) for a, b in zip(ours, kept, strict=True) if a)
    return all(gap <= size * 10.0**-PROMISED for gap in apart)


def test_a_number_that_is_off_in_a_promised_digit_is_noticed() -> None:
    kept = ("517106.8", "480000.0", "551580.6")
    assert alike(kept, kept)
    assert alike(("517106.81", *kept[1:]), kept)
    assert not alike(("517106.9", *kept[1:]), kept)
    assert not alike(("", *kept[1:]), kept)
    assert not alike((*kept[:2], "nan"), kept)
