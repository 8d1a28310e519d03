"""What is vendored is what its list says, and pages fetch nothing from outside."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest

import cyclewright

BENCH = Path(cyclewright.__file__).parent / "bench"


@pytest.mark.parametrize(
    "vendor", [BENCH / "static/vendor", Path(__file__).parents[1] / "browser/vendor"]
)
def test_vendored_files_are_those_of_the_list(vendor: Path) -> None:
    rows = re.findall(
        r"^\| (\S+) \|.*\| ([0-9a-f]{64}) \|$", (vendor / "VENDORED.md").read_text(), re.M
    )
    assert {name for name, _ in rows} == {
        path.relative_to(vendor).as_posix() for path in vendor.rglob("*.js")
    }
    for name, digest in rows:
        assert hashlib.sha256((vendor / name).read_bytes()).hexdigest() == digest


def test_nothing_is_fetched_from_outside() -> None:
    ours = [
        *BENCH.glob("templates/**/*.html"),
        BENCH / "static/bench.css",
        *BENCH.glob("static/*.js"),
    ]
    for path in ours:
        text = path.read_text()
        assert not re.search(r"(?:src|href|url\(|fetch\()\s*=?\s*[\"'(]?(?:https?:)?//", text), path
        assert " style=" not in text, path


def test_compression_and_rebound_keep_their_colours_to_themselves() -> None:
    css = (BENCH / "static/bench.css").read_text()
    for name in ("compression", "rebound"):
        uses = [line for line in css.splitlines() if f"var(--{name})" in line]
        assert uses
        assert all(f"dial-{name}" in line for line in uses)


def tokens(css: str, dark: bool) -> dict[str, str]:
    """The colour tokens of one scheme."""
    light_part, _, dark_part = css.partition("prefers-color-scheme: dark")
    part = dark_part.split("\n}\n")[0] if dark else light_part
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", part))


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


TEXT = (
    ("ink", "paper"), ("ink", "sheet"), ("ink", "wash"), ("ink", "ochre-wash"), ("ink", "sunk"),
    ("ink-soft", "paper"), ("ink-soft", "sheet"), ("ink-soft", "wash"), ("ink-soft", "sunk"),
    ("spruce", "paper"), ("spruce", "sheet"), ("spruce-deep", "wash"), ("on-spruce", "spruce"),
    ("on-spruce", "spruce-deep"), ("ochre", "sheet"), ("ochre", "ochre-wash"), ("on-stop", "stop"),
)  # fmt: skip
MARKS = (("line-strong", "sheet"), ("compression", "sheet"), ("rebound", "sheet"))


@pytest.mark.parametrize("dark", [False, True])
def test_colours_can_be_told_apart_in_a_bright_shop_and_a_dark_one(dark: bool) -> None:
    """WCAG 2.2: 4.5 to 1 for text (1.4.3), 3 to 1 for marks and edges (1.4.11)."""
    found = tokens((BENCH / "static/bench.css").read_text(), dark)
    for pairs, least in ((TEXT, 4.5), (MARKS, 3.0)):
        for upper, lower in pairs:
            light, deep = sorted((luminance(found[upper]), luminance(found[lower])), reverse=True)
            assert (light + 0.05) / (deep + 0.05) >= least, (upper, lower)
