"""Writing sheets back: the same model, the user's comments and units."""

from __future__ import annotations

import difflib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.errors import InputError
from cyclewright.sheets.read import read
from cyclewright.sheets.write import dump, edit
from sheets.samples import EVERY, EXAMPLES, LEAST

TRAIL = (EXAMPLES / "bikes" / "trail.toml").read_text(encoding="utf-8")


def moved(before: str, after: str) -> list[str]:
    """The lines that went and came."""
    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), lineterm="", n=0)
    return [line for line in lines if line[:2] not in ("--", "++", "@@")]


@pytest.mark.parametrize(("kind", "path"), EVERY, ids=lambda item: getattr(item, "stem", item))
def test_what_is_dumped_reads_back_the_same(kind, path):
    model = read(path, kind)
    assert read(dump(model), kind) == model
    assert dump(read(dump(model), kind)) == dump(model)


@given(st.text(st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")), min_size=1, max_size=60))
def test_any_name_survives_the_round_trip(name):
    if not name.strip() or not name.strip().isprintable():
        return
    model = read(LEAST["rider"], "rider").model_copy(update={"name": name.strip()})
    assert read(dump(model), "rider") == model


def test_an_edit_touches_its_line_only():
    text = TRAIL.replace('travel = "140 mm"', 'travel = "140 mm"   # as sold')
    made = edit(text, {"bike.fork.travel": "15 cm"})
    assert moved(text, made) == ['-travel = "140 mm"   # as sold', '+travel = "15 cm"   # as sold']


def test_edits_of_every_shape_read_back():
    made = edit(
        TRAIL,
        {
            "bike.year": "2026",
            "bike.mass_limit_includes_bike": "no",
            "bike.drive.chainrings": "34",
            "bike.post.remote": None,
            "bike.electric.motor": "hub, 250 W",
            "bike.fastener.top_cap.max": "2 N.m",
            "bike.fastener.faceplate.a.max": "5.5 N.m",
            "bike.fork.chart[3].pressure": "65 psi",
            "bike.fork.chart[8].mass_min": "110 kg",
            "bike.fork.chart[8].mass_max": "120 kg",
            "bike.fork.chart[8].pressure": "105 psi",
        },
    )
    bike = read(made, "bike")
    assert bike.year == 2026
    assert bike.mass_limit_includes_bike is False
    assert bike.drive.chainrings == (34,)
    assert bike.post.remote is None
    assert bike.electric.motor == "hub, 250 W"
    assert bike.fastener["top_cap"].max.value == 2.0
    assert bike.fastener["faceplate"].parts["a"].max.value == 5.5
    assert bike.fork.chart[2].pressure.text == "65 psi"
    assert bike.fork.chart[7].pressure.text == "105 psi"
    kept = [line for line in TRAIL.splitlines() if line.startswith("#")]
    assert [line for line in made.splitlines() if line.startswith("#")] == kept
    # the comment above the clicks stays above the clicks
    assert "# clicks out from fully closed\n[[fork.clicks]]" in made


def test_an_edit_is_checked_like_any_sheet():
    with pytest.raises(InputError, match="cannot be negative"):
        edit(LEAST["rider"], {"rider.mass": "-4 kg"})
    with pytest.raises(InputError, match=r"rider\.mass: is missing"):
        edit(LEAST["rider"], {"rider.mass": None})
    with pytest.raises(InputError, match=r"did you mean rider\.mass") as caught:
        edit(LEAST["rider"], {"rider.mas": "4 kg", "rider.high": "2 m", "bike.fork": "air"})
    assert len(caught.value.problems) == 3
    with pytest.raises(InputError, match="one sheet at a time"):
        edit(LEAST["rider"], {"rider.mass": "80 kg", "bike.mass": "14 kg"})
    with pytest.raises(InputError, match="is not whole TOML"):
        edit("mass = ", {"rider.mass": "80 kg"})
    with pytest.raises(InputError, match="write a row from 1 to 8"):
        edit(TRAIL, {"bike.fork.chart[12].pressure": "80 psi"})


def test_no_edit_is_no_change():
    assert edit(TRAIL, {}) == TRAIL
    assert edit(TRAIL, {"bike.electric.motor": None}) == TRAIL


def test_an_inline_table_and_dotted_keys_can_be_edited():
    text = (
        'kind = "hardtail"\nfork.travel = "120 mm" # dotted\n'
        'tyre = { front = { size = "29x2.4" }, rear = { size = "29x2.4" } }\n'
    )
    made = edit(text, {"bike.fork.travel": "130 mm", "bike.tyre.rear.size": "29x2.3"})
    bike = read(made, "bike")
    assert bike.fork.travel.text == "130 mm"
    assert bike.tyre.rear.size == "29x2.3"
    assert "# dotted" in made
