"""Papers as PDF: templates in `templates/`, data as JSON inputs, the vendored fonts, equal bytes.

User text reaches a template only as a string of its input, so it is never read as markup. The
document date is left out: the same data makes the same bytes.
"""

from __future__ import annotations

import io
import json
import math
import re
from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import asdict
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any, Literal

from cyclewright import units
from cyclewright.printing.data import (
    HOW_WORDS,
    BikeFace,
    BrakeCard,
    ClaimNote,
    HandOver,
    Paper,
    Picture,
    PositionMarks,
    SagBand,
    SagStrip,
    SettingBlock,
    SettingCard,
    SettingLine,
    Tag,
    TorqueCard,
    WallPlan,
)
from cyclewright.setting import BASIS_WORD, Setting
from cyclewright.units import System

_SMALL_PRINT = (
    "The makers' manuals and the law of the country come before this sheet. It says what was "
    "set and recorded on the day; it does not certify the bicycle. If anything feels, sounds or "
    "looks wrong, stop and have a qualified mechanic look at it."
)


def hand_over(data: HandOver) -> bytes:
    """The hand-over sheet, two pages of A4."""
    left, right = _columns([_block(block, data.system) for block in data.blocks])
    facts = (*data.bike.facts, *(data.rider.facts if data.rider else ()))
    return compile_document(
        "hand-over",
        {
            "shop": asdict(data.shop),
            "bike": _bike(data.bike),
            "rider_words": data.rider.name if data.rider else "no rider yet: rider not fitted",
            "facts": [list(pair) for pair in facts],
            "date": data.date,
            "warning": data.warning,
            "drawing": data.drawing,
            "drawing_alt": "This rider on this bike as advised, to scale",
            "left": left,
            "right": right,
            "torques": [asdict(item) for item in data.torques],
            "torque_unit": _torque_unit(data.system),
            "work": [asdict(item) for item in data.work],
            "explained": list(data.explained),
            "handed_over": list(data.handed_over),
            "cautions": [asdict(item) for item in data.cautions],
            "rechecks": [asdict(item) for item in data.rechecks],
            "open_items": list(data.open_items),
            "released_by": data.released_by,
            "checked_by": data.checked_by,
            "taken_by": data.rider.name if data.rider else "",
            "head_short": _short(data.head),
            "code": code_svg(data.bike.id, data.head),
            "small_print": _SMALL_PRINT + _signed(data.signature),
        },
    )


def plan(data: WallPlan) -> bytes:
    """The wall plan: station cards on landscape A4."""
    return compile_document(
        "plan",
        {
            "bike": _bike(data.bike),
            "rider": data.rider,
            "date": data.date,
            "minutes": _minutes(sum(card.minutes for card in data.cards)),
            "cards": [{**asdict(card), "minutes": _minutes(card.minutes)} for card in data.cards],
            "questions": [list(pair) for pair in data.questions],
            "torque_unit": _torque_unit(data.system),
        },
    )


def torque_card(data: TorqueCard) -> bytes:
    """Every fastener by tool, front to back, on A5."""
    tools: dict[str, list[dict[str, Any]]] = {}
    for item in sorted(data.torques, key=lambda line: (line.tool == "", line.place)):
        tools.setdefault(item.tool or "other tools", []).append(asdict(item))
    return compile_document(
        "torque-card",
        {
            "bike": _bike(data.bike),
            "date": data.date,
            "groups": [{"tool": tool, "lines": lines} for tool, lines in tools.items()],
            "torque_unit": _torque_unit(data.system),
        },
    )


CARD_ROWS = 16
"""Rows of settings that one side of a pocket card holds."""
CARD_LINES = 19
"""Lines of history that a side of its own holds."""
LEAST_LINES = 5
"""With room for fewer than these the history gets a side of its own."""
LINE_IN_ROWS = 0.8
"""Height of a line of history in rows of settings."""
NOTE_IN_ROWS = 0.55
"""Height of a line of small print under a setting, in rows of settings."""
NOTE_WIDE = 44
"""Letters that a line of it holds on the card."""
COLUMN_WIDE = 26
"""The same in a column of the hand-over sheet."""


def setting_card(data: SettingCard) -> bytes:
    """The card for the pocket, 63 by 88 mm; its history below the last settings if it fits."""
    pages = _pages([_block(block, data.system) for block in data.blocks], CARD_ROWS)
    used = sum(1 + sum(map(_rows, block["lines"])) for block in pages[-1]) if pages else CARD_ROWS
    room = int((CARD_ROWS - used) / LINE_IN_ROWS) - 2
    below = not data.history or room >= min(len(data.history), LEAST_LINES)
    return compile_document(
        "setting-card",
        {
            "bike": _bike(data.bike),
            "rider": data.rider,
            "date": data.date,
            "pages": pages,
            "below": below,
            "history": [asdict(item) for item in data.history[: room if below else CARD_LINES]],
            "older": len(data.history[room if below else CARD_LINES :]),
        },
    )


def sag_strip(data: SagStrip) -> bytes:
    """Strips printed 1:1 with the sag band in millimetres."""
    return compile_document(
        "sag-strip",
        {
            "bike": _bike(data.bike),
            "rider": data.rider,
            "bands": [_band(band) for band in data.bands],
        },
    )


def tag(data: Tag) -> bytes:
    """The tag on the bar; with anything missing it says that nobody may ride the bike."""
    return compile_document(
        "tag",
        {
            "bike": _bike(data.bike),
            "rider": data.rider,
            "hands": data.hands,
            "blocks": [_block(block, data.system) for block in data.blocks],
            "due": [asdict(item) for item in data.due],
            "missing": _first(data.missing, 12),
            "code": code_svg(data.bike.id, data.head),
        },
    )


def claim(data: ClaimNote) -> bytes:
    """The claim note on A4, its photos after the words."""
    return compile_document(
        "claim",
        {
            "shop": asdict(data.shop),
            "bike": _bike(data.bike),
            "date": data.date,
            "to": data.to,
            "parties": [list(pair) for pair in data.parties],
            "facts": [list(pair) for pair in data.facts],
            "slip": list(data.slip),
            "damages": [asdict(item) for item in data.damages],
            "parts": [asdict(item) for item in data.parts],
            "pictures": [
                {"caption": item.caption, "svg": _photo_svg(item)} for item in data.pictures
            ],
            "term": data.term,
            "sent": list(data.sent),
            "received_by": data.received_by,
        },
    )


def brake_card(data: BrakeCard) -> bytes:
    """The card that hangs on the bar while the brakes change over, A6."""
    return compile_document("brake-card", {**asdict(data), "bike": _bike(data.bike)})


def position_marks(data: PositionMarks) -> bytes:
    """Labels to cut out and stick on where parts are loosened, A4."""
    marks = [{**asdict(item), "stands": HOW_WORDS[item.stands]} for item in data.marks]
    return compile_document("marks", {**asdict(data), "bike": _bike(data.bike), "marks": marks})


_WRITERS: Mapping[type, Callable[[Any], bytes]] = {
    HandOver: hand_over,
    WallPlan: plan,
    TorqueCard: torque_card,
    SettingCard: setting_card,
    SagStrip: sag_strip,
    Tag: tag,
    ClaimNote: claim,
    BrakeCard: brake_card,
    PositionMarks: position_marks,
}


def write(data: Paper) -> bytes:
    """Any document as PDF."""
    return _WRITERS[type(data)](data)


def compile_document(template: str, data: Mapping[str, Any]) -> bytes:
    """A template filled with data, as PDF bytes.

    Words in a script that the vendored family lacks are set in a font of this machine; such a
    paper is not tagged as accessible, and its bytes are this machine's.
    """
    import typst

    written = json.dumps(_printable(data), ensure_ascii=False, allow_nan=False)
    try:
        return _compiled(template, written, _fonts(), ["ua-1"])
    except typst.TypstError as error:
        if "could not be displayed" not in str(error):
            raise
    return _compiled(template, written, _fonts(True), [])


def _compiled(template: str, data: str, fonts: Any, standards: list[Literal["ua-1"]]) -> bytes:
    import typst

    folder = _folder("printing/templates")
    made = typst.compile(
        str(folder / f"{template}.typ"),
        root=str(folder),
        font_paths=fonts,
        sys_inputs={"data": data},
        format="pdf",
        pdf_standards=[*standards],
    )
    return bytes(made)


def _printable(data: Any) -> Any:
    """The data with control characters as spaces, and endless words where they may break."""
    if isinstance(data, str):
        text = "".join(char if char.isprintable() else " " for char in data)
        return text if text.startswith("<svg") else _ENDLESS.sub(_broken, text)
    if isinstance(data, Mapping):
        return {key: _printable(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_printable(value) for value in data]
    return data


_ENDLESS = re.compile(r"\S{31,}")
"""What is longer than any word that people mean; a column is narrower."""


def _broken(word: re.Match[str]) -> str:
    """The word with a place to break, which nobody sees, behind every few letters."""
    return re.sub(r"(.{12})(?=.)", "\\1\u200b", word[0])


def code_text(bike: int, head: str) -> str:
    """What the hand-over code says: bike number and head hash, which open nothing."""
    return f"CYCLEWRIGHT:BIKE:{bike}:HEAD:{head.upper()}"


def code_svg(bike: int, head: str) -> str:
    """The hand-over code drawn."""
    import segno

    written = io.BytesIO()
    segno.make_qr(code_text(bike, head), error="m").save(
        written, kind="svg", border=2, xmldecl=False, svgclass=None, lineclass=None
    )
    return written.getvalue().decode("ascii")


def _photo_svg(picture: Picture) -> str:
    """A photo inside an SVG, the one shape in which bytes reach a template as text."""
    from base64 import b64encode

    from PIL import Image

    with Image.open(io.BytesIO(picture.content)) as opened:
        image = opened.convert("RGB")
        image.thumbnail((1100, 1100))
        written = io.BytesIO()
        image.save(written, "JPEG", quality=80)
    wide, high = image.size
    coded = b64encode(written.getvalue()).decode("ascii")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" '
        f'height="{high}"><image width="{wide}" height="{high}" '
        f'href="data:image/jpeg;base64,{coded}"/></svg>'
    )


def _signed(signature: str) -> str:
    return f" Record signed at release: {signature}." if signature else ""


def _bike(bike: BikeFace) -> dict[str, Any]:
    return {"id": bike.id, "name": bike.name, "serial": bike.serial}


def _columns(
    blocks: list[dict[str, Any]],
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Blocks in two columns, in reading order, cut where the columns come out most alike."""
    heights = [sum(_rows(one, COLUMN_WIDE) for one in block["lines"]) + 1.8 for block in blocks]
    cut = min(
        range(len(blocks) + 1),
        key=lambda index: abs(sum(heights[:index]) - sum(heights[index:])),
    )
    return blocks[:cut], blocks[cut:]


def _pages(blocks: list[dict[str, Any]], rows: int) -> list[list[dict[str, Any]]]:
    """Blocks dealt onto cards, never more rows than a card can hold."""
    pages: list[list[dict[str, Any]]] = []
    used = float(rows)
    for block in blocks:
        lines = block["lines"]
        while lines:
            if used + sum(map(_rows, lines[:3])) + 1 > rows:
                pages.append([])
                used = 0.0
            room = rows - used - 1
            heights = [sum(map(_rows, lines[:count])) for count in range(1, len(lines) + 1)]
            fits = max(1, sum(height <= room for height in heights))
            pages[-1].append({**block, "lines": lines[:fits]})
            lines, used = lines[fits:], used + heights[fits - 1] + 1
    return pages


def _rows(line: Mapping[str, Any], wide: int = NOTE_WIDE) -> float:
    """Height of a setting in rows, with the small print under it."""
    if line["how"] in ("set", "read") or not line["status"]:
        return 1.0
    told = f"{line['status']}: {line['note']}" if line["note"] else line["status"]
    return 1.0 + NOTE_IN_ROWS * math.ceil(len(told) / wide)


def _block(block: SettingBlock, system: System) -> dict[str, Any]:
    """A block whose every line is by the sums says so once, above them."""
    lines = [line(item, system) for item in block.lines]
    summed = bool(lines) and all(item["how"] == "sums" for item in lines)
    return {
        "title": block.title,
        "aside": f"{HOW_WORDS['sums']}, set as advised" if summed else "",
        "note": block.note,
        "lines": [{**item, "status": ""} for item in lines] if summed else lines,
    }


def line(item: SettingLine, system: System) -> dict[str, Any]:
    """A setting worded for print: number and unit apart, so that numbers stand in line."""
    setting = item.setting
    value = setting.value if item.done is None or item.claim == "sums" else item.done
    number, unit = _worded(value, setting, system)
    return {
        "label": setting.label or setting.name.replace("_", " ").capitalize(),
        "value": number,
        "unit": unit,
        "range": _range(setting, system),
        "basis": BASIS_WORD[setting.basis],
        "bar": bar(setting, item.done),
        "role": item.role,
        "how": item.claim,
        "status": HOW_WORDS[item.claim],
        "note": item.note,
    }


def _worded(value: float | None, setting: Setting, system: System) -> tuple[str, str]:
    """Rounded number and unit of a value; `none` when the limits leave nothing."""
    if value is None:
        return "none", ""
    shown = setting.show_value(value, system)
    number, _, unit = shown.replace("-", "\u2212").partition(" ")
    if number.endswith("°"):
        return number, ""
    return number, unit


def _range(setting: Setting, system: System) -> str:
    """The interval's ends without the unit; nothing when they round to the value.

    Nor where a limit is near: paper goes home with a rider, and a range that ends at a limit
    reads like leave to go there.
    """
    if setting.low is None or setting.high is None or setting.near_limit:
        return ""
    low, _ = _worded(setting.low, setting, system)
    high, _ = _worded(setting.high, setting, system)
    value, _ = _worded(setting.value, setting, system)
    if low == high == value:
        return ""
    return f"{low.removesuffix('°')} to {high.removesuffix('°')}"


def bar(setting: Setting, done: float | None) -> dict[str, Any] | None:
    """Positions from 0 to 1 for the interval bar; limits far off the interval are left out.

    A band that a limit is near is not drawn: the wall stands alone.
    """
    marks = [v for v in (setting.value, setting.low, setting.high, done) if v is not None]
    marks += [limit.value for limit in setting.limits if limit.binds]
    if setting.low is None or setting.high is None or max(marks) - min(marks) <= 0:
        return None
    spread = max(marks) - min(marks)
    left, right = min(marks) - 0.22 * spread, max(marks) + 0.22 * spread

    def at(value: float | None) -> float | None:
        return None if value is None else round((value - left) / (right - left), 4)

    walls = [
        {"at": at(limit.value), "kind": limit.kind, "binds": limit.binds}
        for limit in setting.limits
        if left <= limit.value <= right
    ]
    return {
        "low": None if setting.near_limit else at(setting.low),
        "high": None if setting.near_limit else at(setting.high),
        "value": at(setting.value),
        "done": at(done),
        "walls": walls,
    }


def _torque_unit(system: System) -> str:
    return units.in_system("N·m", 0.1, system)[0]


def _band(band: SagBand) -> dict[str, Any]:
    share = f"{band.target / band.travel:.0%}" if band.travel > 0 else ""
    return {**asdict(band), "share": share.replace("%", "\u00a0%")}


def _first(items: Sequence[str], most: int) -> list[str]:
    """As many as there is room for, and how many more there are."""
    if len(items) <= most:
        return list(items)
    return [*items[: most - 1], f"and {len(items) - most + 1} more, listed in the record"]


def _minutes(minutes: float) -> str:
    whole = round(minutes)
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def _short(head: str) -> str:
    return " ".join(head[start : start + 4] for start in range(0, min(len(head), 16), 4))


@lru_cache(maxsize=2)
def _fonts(system: bool = False) -> Any:
    """The vendored family, read once; with the machine's own fonts behind it if need be."""
    import typst

    return typst.Fonts(
        include_system_fonts=system,
        include_embedded_fonts=system,
        font_paths=[str(_folder("assets/fonts"))],
    )


_FILES = ExitStack()


@lru_cache(maxsize=4)
def _folder(name: str) -> Path:
    """A packaged folder as a real path for as long as the program runs."""
    return _FILES.enter_context(resources.as_file(resources.files("cyclewright") / name))
