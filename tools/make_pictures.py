"""Take the pictures of the front page anew from the demo's folder.

`python tools/make_pictures.py build/demo`, after `SERVE=no make run`. Needs the test lock, Chromium
and poppler. Pictures keep 256 colours, so that a clone stays light.
"""

import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

TARGET = Path(__file__).parent.parent / "docs/pictures"
CHROMIUM = "/usr/bin/chromium"
SHEET_DPI = 110
COLOURS = 256
VISIBLE = 6
"""Sum of the three channels' differences below which two colours look alike."""


def main(demo: Path) -> None:
    """All pictures, from the record and the hand-over sheet in `demo`."""
    TARGET.mkdir(parents=True, exist_ok=True)
    _sheet(demo / "hand-over.pdf")
    with _bench(demo / "record") as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        _page(browser, address, "bikes/1", "bench-bike", 1440, 900)
        tried = "bikes/1?change=set.fork_pressure%3D50+psi"
        _page(browser, address, tried, "bench-change", 1440, 900)
        _page(browser, address, "bikes/1/steps/stem-pinch", "bench-step", 390, 844)
        _page(browser, address, "bikes/1/readings/fork-sag", "bench-waits", 390, 844, _cut_off)
        browser.close()


def _sheet(pdf: Path) -> None:
    """The first page of the hand-over sheet."""
    with tempfile.TemporaryDirectory() as folder:
        stem = Path(folder) / "page"
        command = ["pdftoppm", "-r", str(SHEET_DPI), "-png", "-f", "1", "-singlefile"]
        subprocess.run([*command, str(pdf), str(stem)], check=True)
        _keep(stem.with_suffix(".png"), "hand-over")


def _cut_off(page: Page) -> None:
    """Something is entered while the network is gone, and so it waits."""
    page.locator("html[data-kept]").wait_for(state="attached")
    page.context.set_offline(True)
    page.get_by_role("button", name="More", exact=True).click()
    page.get_by_role("button", name="This is what it reads").click()
    page.locator("#dock summary").click()
    page.locator("h1, h2").first.scroll_into_view_if_needed()


def _page(
    browser: Browser,
    address: str,
    path: str,
    name: str,
    width: int,
    height: int,
    act: Callable[[Page], None] = lambda page: None,
) -> None:
    """One page of the bench as it stands on a screen of that size."""
    scale = 2 if width < 500 else 1
    context = browser.new_context(
        viewport={"width": width, "height": height}, device_scale_factor=scale
    )
    page = context.new_page()
    page.goto(address)
    page.locator("nav[aria-label=Shop]").wait_for()
    page.goto(f"{address.partition('#')[0]}{path}", wait_until="networkidle")
    page.evaluate("document.fonts.ready")
    act(page)
    with tempfile.TemporaryDirectory() as folder:
        shot = Path(folder) / "shot.png"
        page.screenshot(path=shot)
        _keep(shot, name)
    context.close()


def _keep(picture: Path, name: str) -> None:
    """The picture among the documents, in the colours that it mostly has."""
    target = TARGET / f"{name}.png"
    with Image.open(picture) as image:
        pixels = np.asarray(image.convert("RGB")).astype(np.int16)
    found, where, counts = np.unique(
        pixels.reshape(-1, 3), axis=0, return_inverse=True, return_counts=True
    )
    palette = _colours(found[np.argsort(-counts)])
    nearest = np.abs(found[:, None] - palette[None]).sum(axis=2).argmin(axis=1)
    small = Image.fromarray(nearest[where].reshape(pixels.shape[:2]).astype(np.uint8), "P")
    small.putpalette(palette.astype(np.uint8).tobytes())
    small.save(target, optimize=True)
    print(f"{target.name}: {target.stat().st_size // 1024} kB")


def _colours(commonest_first: np.ndarray) -> np.ndarray:
    """Colours that differ visibly, so that small flat areas keep theirs."""
    chosen: list[np.ndarray] = []
    for colour in commonest_first:
        if len(chosen) < COLOURS and all(np.abs(colour - one).sum() > VISIBLE for one in chosen):
            chosen.append(colour)
    return np.array(chosen)


@contextmanager
def _bench(data: Path) -> Iterator[str]:
    """The address of a bench that serves this record."""
    command = [sys.executable, "-m", "cyclewright", "bench", "--data", str(data)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        yield process.stdout.readline().removeprefix("bench: ").strip()
        process.terminate()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
