"""Draw twelve bodies on the three example bikes, as SVG and on two contact sheets.

`python tools/gallery.py [build/gallery] [--keep docs/pictures/gallery]`. Bodies stand at the
5th to the 95th percentile of stature of the open survey's women and men, legs by its regression.
Look at the sheets: limbs, hips off saddles, elbows, labels. With --keep, a few small ones are
kept beside the documents.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
from html import escape
from pathlib import Path
from statistics import NormalDist

from PIL import Image

from cyclewright.body.segments import crotch_height_from_stature, inseam_of
from cyclewright.body.tables import survey
from cyclewright.sheets.sheets import Sheets, change, load
from cyclewright.workshop import paper

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES = ROOT / "examples"
FONTS = ROOT / "src/cyclewright/bench/static/fonts"
BIKES = ("hardtail", "trail", "longtravel")
PERCENTILES = (5, 23, 41, 59, 77, 95)
BODY_MASS_INDEX = 24.5
KEPT = (("hardtail", "F", 59), ("trail", "F", 95), ("longtravel", "M", 77))
"""Bodies that their bike fits."""
CELL, COLUMNS = 470, 6


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, nargs="?", default=ROOT / "build/gallery")
    parser.add_argument("--keep", type=Path)
    asked = parser.parse_args()
    asked.folder = asked.folder.resolve()
    asked.folder.mkdir(parents=True, exist_ok=True)
    for posture in ("seated", "standing"):
        cells = []
        for bike in BIKES:
            for sex in ("F", "M"):
                for percentile in PERCENTILES:
                    name = f"{bike}-{sex}{percentile:02}-{posture}.svg"
                    drawn = _draw(bike, sex, percentile, posture)
                    (asked.folder / name).write_text(drawn, encoding="utf-8")
                    cells.append((drawn, f"{bike}, {_who(sex, percentile)}"))
        sheet = asked.folder / f"sheet-{posture}.png"
        _shoot(_page(cells), asked.folder, sheet, COLUMNS * CELL, _rows(len(cells)) * CELL)
        print(sheet)
    if asked.keep:
        asked.keep = asked.keep.resolve()
        asked.keep.mkdir(parents=True, exist_ok=True)
        for bike, sex, percentile in KEPT:
            name = f"{bike}-{sex}{percentile:02}-seated.svg"
            target = asked.keep / f"{bike}.png"
            drawn = (asked.folder / name).read_text(encoding="utf-8")
            _shoot(_page([(drawn, "")], 900), asked.folder, target, 900, 900)
            Image.open(target).convert("RGB").quantize(96).save(target, optimize=True)
            print(target)
    return 0


def _sheets(bike: str, sex: str, percentile: int) -> Sheets:
    stature, inseam = _sizes(sex, percentile)
    sheets = load(
        EXAMPLES / "bikes" / f"{bike}.toml",
        EXAMPLES / "riders" / "light.toml",
        EXAMPLES / "places" / "left.toml",
    )
    return change(
        sheets,
        [
            f"rider.sex={sex}",
            f"rider.height={stature:.3f} m",
            f"rider.inseam={inseam * 1000:.0f} mm",
            f"rider.mass={BODY_MASS_INDEX * stature**2:.0f} kg",
            f"rider.name=Body {sex}{percentile:02}",
        ],
    )


def _sizes(sex: str, percentile: int) -> tuple[float, float]:
    """Stature at this percentile of the survey's women or men, and the inseam that goes with it."""
    table = survey(sex)
    spread = float(table.covariance[0, 0]) ** 0.5
    stature = float(table.mean[0]) + NormalDist().inv_cdf(percentile / 100) * spread
    crotch, _ = crotch_height_from_stature(stature, "F" if sex == "F" else "M")
    return stature, float(inseam_of(crotch))


def _who(sex: str, percentile: int) -> str:
    people = "woman" if sex == "F" else "man"
    stature, inseam = _sizes(sex, percentile)
    return f"{people} at {percentile} %: {stature * 100:.0f} cm, inseam {inseam * 1000:.0f} mm"


def _draw(bike: str, sex: str, percentile: int, posture: str) -> str:
    return paper.draw(
        _sheets(bike, sex, percentile),
        posture="standing" if posture == "standing" else "seated",
        style=True,
        labels="print",
        ident=f"{bike}-{sex}{percentile}",
    )


def _page(cells: list[tuple[str, str]], size: int = CELL) -> str:
    """Drawings in rows, in their own font, which a picture beside the page could not load."""
    figures = "".join(
        f"<figure>{drawn}<figcaption>{escape(words)}</figcaption></figure>"
        for drawn, words in cells
    )
    style = "".join(
        f"@font-face{{font-family:'Source Sans 3';font-weight:{weight};"
        f"src:url({(FONTS / f'SourceSans3-{name}.woff2').as_uri()})}}"
        for name, weight in (("Regular", 400), ("Semibold", 600))
    ) + (
        "body{margin:0;font:12px sans-serif;background:#fff;display:flex;flex-wrap:wrap}"
        f"figure{{margin:0;width:{size}px;height:{size}px;box-sizing:border-box;padding:8px;"
        "text-align:center}svg{max-width:100%;height:calc(100% - 18px)}"
    )
    return f"<!doctype html><meta charset=utf-8><style>{style}</style>{figures}"


def _rows(count: int) -> int:
    return -(-count // COLUMNS)


def _shoot(page: str, folder: Path, target: Path, wide: int, high: int) -> None:
    """One screenshot by the system's Chromium."""
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None:
        raise SystemExit("Chromium is missing: on Debian, apt-get install chromium")
    html = folder / "page.html"
    html.write_text(page, encoding="utf-8")
    flags = ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"]
    subprocess.run(
        [browser, *flags, f"--window-size={wide},{high}", f"--screenshot={target}", html.as_uri()],
        check=True,
        capture_output=True,
    )
    html.unlink()


if __name__ == "__main__":
    raise SystemExit(main())
