"""A shop in a folder of its own, an invented bike in it, and a whole build recorded."""

from __future__ import annotations

import io
import re
from datetime import date, timedelta
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image
from pypdf import PdfReader

from cyclewright import units
from cyclewright.sheets.sheets import Sheets, change, load
from cyclewright.workshop import advising, build, receive
from cyclewright.workshop.evidence import dimension_of
from cyclewright.workshop.shop import Shop

if TYPE_CHECKING:
    from cyclewright.knowledge.steps import Record
    from cyclewright.record.plan import PlannedStep
    from cyclewright.setting import Setting

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
FITS = (
    "bike.post.travel=150 mm",
    "bike.post.length=430 mm",
    "bike.fastener.shifter.max=3 N.m",
    "bike.fastener.dropper_remote.max=3 N.m",
    "bike.fastener.grips.max=3 N.m",
)
WORD = "both makers agree to 4.7 N.m"


@cache
def sheets(rider: str | None = "light", mass: str | None = None) -> Sheets:
    """The trail bike with a post that fits the light rider."""
    who = None if rider is None else EXAMPLES / f"riders/{rider}.toml"
    loaded = load(EXAMPLES / "bikes/trail.toml", who, EXAMPLES / "places/left.toml", mass)
    return change(loaded, FITS)


@lru_cache(maxsize=1)
def photo() -> bytes:
    """A small picture."""
    out = io.BytesIO()
    Image.new("RGB", (40, 30), (20, 90, 40)).save(out, "JPEG")
    return out.getvalue()


def text_of(paper: bytes) -> str:
    """The words of a PDF."""
    pages = PdfReader(io.BytesIO(paper)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def opened(shop: Shop) -> int:
    """The trail bike in the record."""
    return receive.open_bike(shop, sheets(), by="Ada")


VALUES = {
    "front-tyre": "24 psi",
    "rear-tyre": "26 psi",
    "fork-pressure": "60 psi",
    "shock-pressure": "120 psi",
    "fork-sag": "28 mm",
    "shock-sag": "15 mm",
    "saddle-height": "633 mm",
    "post-insertion": "170 mm",
}
OF_UNIT = {"mm": "2.5 mm", "clicks": "6 clicks", "N/mm": "60 N/mm"}


def value(step: PlannedStep, advised: Setting | None = None) -> str:
    """A plausible value for a step that wants one, inside the step's own limits.

    Where the usual one would be far from what is advised for this bike, that is taken instead.
    """
    wanted = step.record
    if wanted is None or not wanted.unit:
        day = f"{date.today() + timedelta(days=14)}, " if wanted is not None and wanted.day else ""
        offered = "" if wanted is None else wanted.must_be or next(iter(wanted.options[1:]), "")
        order = "" if wanted is None or not wanted.names else f"{wanted.names} hand, "
        return offered or f"{day}{order}as it should be"
    usual = VALUES.get(wanted.reading, "")
    if advised is not None and advised.value is not None and not _near(usual, wanted, advised):
        return units.show(advised.value, advised.display, advised.graduation)
    if usual:
        return usual
    if wanted.low is not None and wanted.high is not None:
        unit = "deg" if wanted.unit == "°" else wanted.unit
        return f"{(wanted.low + wanted.high) / 2} {unit}"
    return OF_UNIT[wanted.unit]


def _near(usual: str, wanted: Record, advised: Setting) -> bool:
    """Whether the usual value lies within a third of the advised one, a height within a tenth,
    and a ring within a fifth of its goal.
    """
    if not usual or not advised.value:
        return False
    value = units.parse(usual, dimension_of(wanted.unit)).value
    share = value / advised.value
    if wanted.setting.endswith("_sag"):
        return 0.8 < share < 1.2
    return 0.9 < share < 1.1 if wanted.reading == "saddle-height" else 0.8 < share < 1.25


def _advised(shop: Shop, bike: int, step: PlannedStep) -> Setting | None:
    """What the sheets in force advise for what a step sets, solved once for them."""
    if step.record is None or not step.record.setting:
        return None
    state = shop.state(bike)
    key = ("usual", *shop.sheet_key(state))
    return shop.once(key, lambda: advising.advise(shop.sheets(state))).setting(step.record.setting)


def record(shop: Shop, bike: int, step: PlannedStep, by: str = "Ada") -> None:
    """One step done with all the evidence that it wants."""
    no_figure = "torque" in step.evidence and step.torque is None
    needs_word = no_figure or (step.torque is not None and step.torque.needs_word)
    settles = shop.state(bike).step(step.id).status == "problem"
    build.record_step(
        shop,
        bike,
        step.id,
        as_set=step.torque is not None,
        torque="3 N.m" if no_figure else None,
        value=value(step, _advised(shop, bike, step))
        if {"value", "text"} & set(step.evidence)
        else None,
        photo=photo() if "photo" in step.evidence else None,
        word=WORD if needs_word or settles else None,
        by=by,
    )


def build_until(shop: Shop, bike: int, *stages: str) -> None:
    """Every step of these stages, in plan order."""
    for step in build.plan_for(shop, bike).steps:
        if step.stage in stages:
            record(shop, bike, step)


def build_to_gate(shop: Shop, bike: int) -> None:
    """Everything that the ride gate asks for."""
    build_until(shop, bike, "Receive", "Build", "Fit", "Base")


def do_again(shop: Shop, bike: int = 1) -> None:
    """Every step that is not done, in plan order, and the gates as they are reached."""
    from cyclewright.workshop import release

    while left := [
        step
        for step in build.plan_for(shop, bike).steps
        if step.stage != "Care" and step.id not in shop.state(bike).done()
    ]:
        if left[0].stage in ("Prove", "Release") and "ride" not in shop.state(bike).gates:
            assert release.gate(shop, bike, "ride", by="Ada").passed
        record(shop, bike, left[0])
    release.gate(shop, bike, "ride", by="Ada")
    release.gate(shop, bike, "release", by="Ada")
