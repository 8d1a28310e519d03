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

from cyclewright.sheets.sheets import Sheets, change, load
from cyclewright.workshop import build, receive
from cyclewright.workshop.shop import Shop

if TYPE_CHECKING:
    from cyclewright.record.plan import PlannedStep

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
    "saddle-height": "633 mm",
    "post-insertion": "170 mm",
}
OF_UNIT = {"mm": "2.5 mm", "clicks": "6 clicks", "N/mm": "60 N/mm"}


def value(step: PlannedStep) -> str:
    """A plausible value for a step that wants one, inside the step's own limits."""
    wanted = step.record
    if wanted is None or not wanted.unit:
        day = f"{date.today() + timedelta(days=14)}, " if wanted is not None and wanted.day else ""
        return (wanted.must_be if wanted is not None else "") or f"{day}as it should be"
    if wanted.reading in VALUES:
        return VALUES[wanted.reading]
    if wanted.low is not None and wanted.high is not None:
        unit = "deg" if wanted.unit == "°" else wanted.unit
        return f"{(wanted.low + wanted.high) / 2} {unit}"
    return OF_UNIT[wanted.unit]


def record(shop: Shop, bike: int, step: PlannedStep, by: str = "Ada") -> None:
    """One step done with all the evidence that it wants."""
    needs_word = step.torque is not None and step.torque.needs_word
    build.record_step(
        shop,
        bike,
        step.id,
        as_set=step.torque is not None,
        torque="3 N.m" if "torque" in step.evidence and step.torque is None else None,
        value=value(step) if {"value", "text"} & set(step.evidence) else None,
        photo=photo() if "photo" in step.evidence else None,
        word=WORD if needs_word else None,
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
