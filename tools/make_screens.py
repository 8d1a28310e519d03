"""Take a picture of every page of the bench, on a phone and on a desk, light and dark.

`python tools/make_screens.py [build/screens] [--only WORD] [--keep docs/pictures]`. The pages are
those of `tests/browser/tour.py`. Look at the contact sheets first, and at a page by itself where
it is small on them. With --keep, a few of them side by side are kept beside the documents.
"""

import argparse
import sys
import tempfile
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw, ImageFont
from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from browser import tour  # noqa: E402
from browser.conftest import CHROMIUM, DESK, PHONE  # noqa: E402

SCREENS = {"phone": PHONE, "desk": DESK}
SCHEMES = ("light", "dark")
SHEET = (2200, 1500)
"""Pixels of a contact sheet."""
SCALE = {"phone": 0.62, "desk": 0.36}
KEPT = (
    ("phone-light", "new bike build"),
    ("phone-light", "new bike step torque"),
    ("phone-light", "new bike gates"),
    ("phone-dark", "new bike fit"),
    ("phone-dark", "verdict"),
    ("phone-dark", "scan recalled"),
)
FONT = ROOT / "src/cyclewright/assets/fonts/SourceSans3-Regular.otf"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, nargs="?", default=ROOT / "build/screens")
    parser.add_argument("--only", default="", help="pages whose name holds this")
    parser.add_argument("--keep", type=Path, help="folder for a few of them")
    asked = parser.parse_args()
    shots = Shots(asked.folder, asked.only)
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        with tour.bench(Path(made)) as running, tour.empty_bench(Path(made)) as empty:
            first = True
            for screen in SCREENS:
                page = _signed_in(browser, screen, running.address)
                if first:
                    tour.furnish(page, running.root)
                first = False
                for scheme in SCHEMES:
                    page.emulate_media(color_scheme=scheme)
                    shots.take(tour.tour(page, running.root), screen, scheme)
                page.context.close()
                for scheme in SCHEMES:
                    _doors(browser, shots, running, screen, scheme)
                    new = _signed_in(browser, screen, empty.address, color_scheme=scheme)
                    shots.take(tour.tour(new, empty.root, tour.FIRST_DAY), screen, scheme)
                    new.context.close()
        browser.close()
    shots.sheets()
    if asked.keep is not None:
        shots.keep(asked.keep)
    return 0


def _doors(
    browser: Browser, shots: "Shots", running: tour.Running, screen: str, scheme: str
) -> None:
    """Launching and pairing; the desk's half of it on either screen."""
    desk = _signed_in(browser, screen, running.address, color_scheme=scheme)
    context = browser.new_context(**SCREENS[screen], color_scheme=scheme, ignore_https_errors=True)
    shots.take(tour.launching(context.new_page(), running.root), screen, scheme)
    shots.take(tour.tour_of_doors(desk, context.new_page(), running), screen, scheme)
    desk.context.close()
    context.close()


def _signed_in(browser: Browser, screen: str, address: str, **more: Any) -> Page:
    page = browser.new_context(**SCREENS[screen], reduced_motion="reduce", **more).new_page()
    page.goto(address)
    page.locator("nav[aria-label=Shop]").wait_for()
    return page


class Shots:
    """The pictures of one sitting, in order."""

    def __init__(self, folder: Path, only: str) -> None:
        self.folder = folder
        self.only = only
        self.taken: list[tuple[str, str, Path]] = []

    def take(self, seen: Iterator[tour.Seen], screen: str, scheme: str) -> None:
        """One picture a page, as long as the page is."""
        for one in seen:
            if self.only not in one.name:
                continue
            one.page.evaluate("document.fonts.ready")
            one.page.wait_for_load_state("networkidle")
            path = self.folder / f"{screen}-{scheme}" / f"{one.name.replace(' ', '-')}.png"
            path.parent.mkdir(parents=True, exist_ok=True)
            one.page.screenshot(path=path, full_page=True)
            self.taken.append((f"{screen}-{scheme}", one.name, path))

    def sheets(self) -> None:
        """Pictures of one screen and scheme together, long pages in several columns."""
        for kind, shots in groupby(sorted(self.taken, key=lambda shot: shot[0]), lambda s: s[0]):
            strips = [strip for _, name, path in shots for strip in _strips(kind, name, path)]
            for number, sheet in enumerate(_sheets(strips), 1):
                sheet.save(self.folder / f"sheet-{kind}-{number:02}.png", optimize=True)
        print(f"{len(self.taken)} pictures in {self.folder}")

    def keep(self, folder: Path) -> None:
        """The first screen of a few pages side by side, in few colours."""
        wide, high = 234, 506
        row = Image.new("RGB", (len(KEPT) * (wide + 8) - 8, high), "white")
        for turn, (kind, name) in enumerate(KEPT):
            with Image.open(self.folder / kind / f"{name.replace(' ', '-')}.png") as shot:
                page = shot.convert("RGB").crop((0, 0, 390, 844))
            row.paste(page.resize((wide, high), Image.LANCZOS), (turn * (wide + 8), 0))
        row.quantize(128).save(folder / "bench-phone-pages.png", optimize=True)


def _strips(kind: str, name: str, path: Path) -> Iterator[Image.Image]:
    """A page in columns that fit a sheet, its name above the first."""
    scale, font = SCALE[kind.split("-")[0]], ImageFont.truetype(FONT, 17)
    with Image.open(path) as shot:
        page = shot.convert("RGB")
    small = page.resize((round(page.width * scale), round(page.height * scale)), Image.LANCZOS)
    room = SHEET[1] - 30
    for top in range(0, small.height, room):
        part = small.crop((0, top, small.width, min(top + room, small.height)))
        strip = Image.new("RGB", (part.width, part.height + 24), "white")
        strip.paste(part, (0, 24))
        words = name if not top else f"{name}, further down"
        ImageDraw.Draw(strip).text((2, 1), words, "black", font)
        yield strip


def _sheets(strips: list[Image.Image]) -> Iterator[Image.Image]:
    """Strips put on sheets, column by column."""
    sheet, left, top, wide = Image.new("RGB", SHEET, "#888"), 0, 0, 0
    for strip in strips:
        if top and top + strip.height > SHEET[1]:
            left, top, wide = left + wide + 8, 0, 0
        if left + strip.width > SHEET[0]:
            yield sheet
            sheet, left, top, wide = Image.new("RGB", SHEET, "#888"), 0, 0, 0
        sheet.paste(strip, (left, top))
        top, wide = top + strip.height + 8, max(wide, strip.width)
    yield sheet


if __name__ == "__main__":
    raise SystemExit(main())
