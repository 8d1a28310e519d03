"""Documents: whole, of their size, the same bytes twice, and deaf to markup in people's words."""

from __future__ import annotations

import io
import re
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from cyclewright.printing import documents
from cyclewright.printing.data import BikeFace, Caution, SettingBlock, SettingLine
from cyclewright.setting import Limit
from printing import papers

PSI = 6894.757293168361

MM = 72 / 25.4
EVERY: dict[str, tuple[Callable[[Any], bytes], Callable[[], Any]]] = {
    "hand-over": (documents.hand_over, papers.hand_over),
    "plan": (documents.plan, papers.plan),
    "torque-card": (documents.torque_card, papers.torque_card),
    "setting-card": (documents.setting_card, papers.setting_card),
    "sag-strip": (documents.sag_strip, papers.sag_strip),
    "tag": (documents.tag, papers.tag),
    "claim": (documents.claim, papers.claim),
    "brake-card": (documents.brake_card, papers.brake_card),
    "marks": (documents.position_marks, papers.position_marks),
}


def _pages(made: bytes) -> list[Any]:
    return list(PdfReader(io.BytesIO(made)).pages)


def _text(made: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in _pages(made)))


@pytest.mark.parametrize("name", EVERY)
def test_the_same_data_makes_the_same_bytes(name: str) -> None:
    make, data = EVERY[name]
    assert make(data()) == make(data())


@pytest.mark.parametrize("name", EVERY)
def test_it_is_tagged_titled_and_carries_only_our_font(name: str) -> None:
    make, data = EVERY[name]
    reader = PdfReader(io.BytesIO(make(data())))
    root = reader.trailer["/Root"].get_object()
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert papers.BIKE.name in reader.metadata.title
    assert "/CreationDate" not in (
        reader.trailer["/Info"].get_object() if "/Info" in reader.trailer else {}
    )
    fonts = {
        font.get_object()["/BaseFont"]
        for page in reader.pages
        for font in page["/Resources"].get("/Font", {}).values()
    }
    assert fonts
    assert all("SourceSans3" in font for font in fonts)


@pytest.mark.parametrize(
    ("name", "pages", "wide", "high"),
    [
        ("hand-over", 2, 210, 297),
        ("plan", 1, 297, 210),
        ("torque-card", 1, 148, 210),
        ("setting-card", 1, 63, 88),
        ("sag-strip", 1, 210, 297),
        ("tag", 1, 70, 150),
    ],
)
def test_pages_and_their_size(name: str, pages: int, wide: float, high: float) -> None:
    make, data = EVERY[name]
    made = _pages(make(data()))
    assert len(made) == pages
    for page in made:
        assert float(page.mediabox.width) == pytest.approx(wide * MM, abs=0.5)
        assert float(page.mediabox.height) == pytest.approx(high * MM, abs=0.5)


def test_the_hand_over_sheet_holds_what_it_must() -> None:
    said = _text(documents.hand_over(papers.hand_over()))
    for words in (
        "Ferrow Tindale 140", "M. Harrow", "Two Rivers Workshop", "14 May 2031",
        "18.5", "16.5 to 20.5", "61", "52 to 64", "−1.0", "none",
        "Front axle", "left bonded", "not moved", "open",
        "Stop.", "Check.", "Know.", "28 May 2031", "Ada Quill", "Bo Lind",
        "Which hand works which brake.", "Nothing", "8f2a11c09be473d1",
        "does not certify",
    ):  # fmt: skip
        assert words in said, words


def test_a_draft_says_so_across_the_top() -> None:
    warned = documents.hand_over(papers.hand_over(warning="Draft: not to be ridden."))
    assert "Draft: not to be ridden." in _pages(warned)[0].extract_text()
    assert "Draft" not in _text(documents.hand_over(papers.hand_over()))


def test_without_rider_and_re_check_it_says_so() -> None:
    said = _text(documents.hand_over(papers.hand_over(rider=None, rechecks=())))
    assert "rider not fitted" in said
    assert "None booked" in said


def test_long_records_go_on_to_further_pages_with_nothing_lost() -> None:
    many = tuple(replace(papers.torques()[0], joint=f"Joint number {n}") for n in range(120))
    made = documents.hand_over(papers.hand_over(torques=many))
    assert len(_pages(made)) > 2
    said = _text(made)
    assert all(f"Joint number {number} " in said for number in range(120))


def test_the_plan_goes_over_as_many_pages_as_it_needs() -> None:
    made = documents.plan(papers.plan(cards=60))
    assert len(_pages(made)) > 1
    said = _text(made)
    assert all(f"Station {number} " in said for number in range(1, 61))
    assert "Rotor thickness?" in said
    assert "7 h 00 min" in said


def test_the_torque_card_is_by_tool_and_front_to_back() -> None:
    said = _text(documents.torque_card(papers.torque_card()))
    assert said.index("Front axle") < said.index("Rear axle") < said.index("4 mm hex")
    assert "leave: bonded" in said
    assert "check: not moved" in said


def test_a_card_holds_its_rows_and_takes_a_new_one_for_more() -> None:
    lines = tuple(SettingLine(papers.setting(f"Row {number}", number), 0.1) for number in range(40))
    card = replace(papers.setting_card(), blocks=(SettingBlock("Many", lines),))
    made = documents.setting_card(card)
    assert len(_pages(made)) == 3
    assert all(f"Row {number} " in _text(made) for number in range(40))


@pytest.mark.parametrize(
    ("rows", "lines", "sides", "kept"),
    [(4, 3, 1, 3), (4, 30, 1, 11), (14, 3, 2, 3), (14, 30, 2, 19)],
)
def test_a_card_tells_what_was_set_and_read_below_or_on_a_side_of_its_own(
    rows: int, lines: int, sides: int, kept: int
) -> None:
    settings = tuple(SettingLine(papers.setting(f"Row {n}", n), 0.1) for n in range(rows))
    card = replace(
        papers.setting_card(), blocks=(SettingBlock("Some", settings),),
        history=papers.history(lines),
    )  # fmt: skip
    made = documents.setting_card(card)
    said = _text(made)
    assert len(_pages(made)) == sides
    assert [f"{90 - n} psi" in said for n in range(lines)] == [n < kept for n in range(lines)]
    assert ("older on record" in said) == (kept < lines)
    assert "Set and read" not in _text(documents.setting_card(papers.setting_card()))


def test_a_tag_with_something_missing_forbids_riding() -> None:
    said = _text(documents.tag(papers.tag(("Front axle: no torque", "Brakes: not held"))))
    assert "Do not ride" in said
    assert "Front axle: no torque" in said
    assert "Do not ride" not in _text(documents.tag(papers.tag()))
    many = documents.tag(papers.tag(tuple(f"Thing {number}: not done" for number in range(30))))
    assert len(_pages(many)) == 1
    assert "and 19 more" in _text(many)


def test_the_sag_strip_is_one_to_one() -> None:
    content = _pages(documents.sag_strip(papers.sag_strip()))[0].get_contents().get_data().decode()
    lengths = {
        round(abs(float(end) - float(start)) / MM, 1)
        for start, end in re.findall(r"([\d.-]+) [\d.-]+ m\s+([\d.-]+) [\d.-]+ l", content)
    }
    assert 100.0 in lengths
    assert "39 mm" in _text(documents.sag_strip(papers.sag_strip()))


@pytest.mark.parametrize(
    "words",
    [
        "#panic()",
        '#read("/etc/passwd")',
        "*bold* _it_ $x$",
        "<script>",
        '"}',
        "\\ #let x = 1",
    ],
)
def test_markup_in_peoples_words_stays_words(words: str) -> None:
    bike = BikeFace(3, words, words)
    data = papers.hand_over(bike=bike, released_by=words, cautions=(Caution("know", words),))
    said = _text(documents.hand_over(data))
    assert words in said


def test_a_name_in_another_script_still_prints() -> None:
    made = documents.hand_over(papers.hand_over(released_by="日本 太郎\x07\n"))
    assert len(_pages(made)) == 2
    assert "Bo Lind" in _text(made)


@pytest.mark.parametrize("name", ["hand-over", "setting-card", "tag"])
def test_a_word_without_an_end_stays_on_the_paper_whole(name: str, tmp_path: Path) -> None:
    make, data = EVERY[name]
    word = "Fichtenhochwald" * 6
    path = tmp_path / "paper.pdf"
    path.write_bytes(make(replace(data(), bike=replace(papers.BIKE, name=f"{word} Trail"))))
    command = ["pdftotext", "-bbox", str(path), "-"]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    wide = float(re.findall(r'<page width="([\d.]+)"', said)[0])
    assert max(map(float, re.findall(r'xMax="([\d.]+)"', said))) < wide
    assert word in re.sub(r"[\s\u200b]", "", _text(path.read_bytes()))


def test_the_code_holds_number_and_head_and_no_address() -> None:
    drawn = documents.code_svg(12, "ab12")
    assert drawn.startswith("<svg")
    assert documents.code_svg(12, "ab12") == drawn
    assert documents.code_svg(13, "ab12") != drawn
    assert documents.code_svg(12, "ab13") != drawn
    assert documents.code_text(12, "ab12") == "CYCLEWRIGHT:BIKE:12:HEAD:AB12"


@given(st.floats(0, 500), st.floats(0.1, 80), st.floats(0, 600), st.floats(0, 600), st.booleans())
def test_bars_stay_in_their_row(
    value: float, spread: float, wall: float, done: float, binds: bool
) -> None:
    limit = Limit("maker", "max", wall * 1e-3, binds)
    setting = papers.setting("Any", value, spread, limits=(limit,))
    made = documents.bar(setting, done * 1e-3)
    if made is None:
        assert setting.value == setting.low == setting.high
        return
    marks = [made[key] for key in ("low", "high", "value", "done") if made[key] is not None]
    assert all(0 <= mark <= 1 for mark in marks)
    assert all(0 <= item["at"] <= 1 for item in made["walls"])
    if setting.near_limit:
        assert made["low"] is None and made["high"] is None
    else:
        assert made["low"] < made["high"]
    if binds:
        assert made["walls"]


@pytest.mark.parametrize(
    ("most", "told"), [(90.0, "74 to 83"), (82.8, ""), (80.0, ""), (78.3, "")], ids=str
)
def test_paper_prints_no_range_where_a_limit_is_near(most: float, told: str) -> None:
    limit = Limit("the fork's maker", "max", most * PSI)
    setting = papers.setting("Fork", 78.3, 4.2, "psi", limits=(limit,))
    assert documents.line(SettingLine(setting), "trade")["range"] == told
    made = documents.bar(setting, None)
    assert made is None or (made["low"] is not None) is bool(told)


def test_numbers_are_rounded_as_everywhere_else() -> None:
    line = documents.line(SettingLine(papers.setting("Fork", 78.3, 4.2, "psi")), "trade")
    assert (line["value"], line["unit"], line["range"]) == ("78", "psi", "74 to 83")
    metric = documents.line(SettingLine(papers.setting("Fork", 78.3, 4.2, "psi")), "metric")
    assert metric["unit"] == "bar"


def test_the_claim_says_what_how_much_and_until_when_and_shows_it() -> None:
    made = documents.claim(papers.claim())
    said = _text(made)
    for words in ("Damage and loss in carriage", "Hill Parcels", "rotor arm 2 bent", "left pedal",
                  "within 3 days of delivery", "HP 77 31",
                  "24 May 2031, seller", "Received unchecked"):  # fmt: skip
        assert words in said
    assert "Damage: rotor arm 1 bent" in _pages(made)[-1].extract_text()
    assert len(_pages(documents.claim(papers.claim(90)))) > 2


def test_the_brake_card_shows_both_bars_and_an_order_is_signed() -> None:
    said = _text(documents.brake_card(papers.brake_card()))
    assert "As delivered front rear" in said.replace(" left hand", "").replace(" right hand", "")
    assert "As it has to be rear front" in said.replace(" left hand", "").replace(" right hand", "")
    assert "signed" not in said
    assert "own order, signed: M. Harrow" in _text(documents.brake_card(papers.brake_card(True)))


def test_position_marks_carry_value_and_bike() -> None:
    said = _text(documents.position_marks(papers.position_marks()))
    assert "229 mm" in said and "\u22121.0°" in said and f"bike {papers.BIKE.id}" in said


def test_the_torque_card_says_what_a_torque_is_worth() -> None:
    from dataclasses import replace

    card = papers.torque_card()
    worth = "4 screws, each 4.3 to 7.7 kN"
    first = replace(card.torques[0], worth=worth, clamp="holds 73 to 426 N·m, asked 80")
    plain = _text(documents.torque_card(card))
    said = _text(documents.torque_card(replace(card, torques=(first, *card.torques[1:]))))
    assert "never to tighten to" not in plain
    assert worth in said and "asked 80" in said and "never to tighten to" in said
