"""Every bike's settings: the value in its interval, the interval in its limits, one figure told."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

import pytest

from advice.generated import drawn
from cyclewright.advice.advise import Advice, advise
from cyclewright.bench import views
from cyclewright.knowledge.defaults import fill
from cyclewright.printing import documents
from cyclewright.printing.data import SettingLine
from cyclewright.setting import Finding, Setting
from cyclewright.sheets.sheets import Sheets, load
from cyclewright.workshop.check import check, plan
from sheets.samples import example
from walks.tally import FULL

SEEDS = range(200 if FULL else 24)
THREE = ("trail", "hardtail", "longtravel")
SYSTEMS = ("trade", "metric", "imperial")


def bikes() -> Iterator[tuple[str, Sheets]]:
    """The three examples under both riders, and drawn bikes."""
    for name in THREE:
        for rider in ("light", "heavy"):
            yield f"{name} {rider}", load(*example(name, rider, "left"))
    for seed in SEEDS:
        yield f"drawn {seed}", drawn(seed)


@pytest.fixture(scope="module")
def advised() -> dict[str, tuple[Sheets, Advice]]:
    return {name: (one, advise(fill(one))) for name, one in bikes()}


def test_every_value_lies_in_its_interval_and_that_in_its_limits(
    advised: dict[str, tuple[Sheets, Advice]],
) -> None:
    for name, (_, advice) in advised.items():
        for item in advice.settings:
            _sound(f"{name}, {item.name}", item)


def _sound(where: str, item: Setting) -> None:
    if item.value is None:
        assert item.low is None and item.high is None, where
        return
    numbers = [item.value, item.low, item.high, item.wanted]
    assert all(math.isfinite(one) for one in numbers if one is not None), where
    assert (item.low is None) == (item.high is None), where
    least, most = item.within
    assert least - 1e-9 <= item.value <= most + 1e-9, where
    if item.low is not None and item.high is not None:
        assert item.low <= item.value <= item.high, where
        assert least - 1e-9 <= item.low and item.high <= most + 1e-9, where
    texts = (item.show(), item.because, item.moved(), *item.cautions, *item.beside)
    assert not re.search(r"\bnan\b|\binf\b", " ".join(texts)), where


def test_what_a_limit_moved_is_said_with_what_was_wanted(
    advised: dict[str, tuple[Sheets, Advice]],
) -> None:
    moved = 0
    for name, (_, advice) in advised.items():
        for item in advice.settings:
            binds = any(limit.binds for limit in item.limits)
            assert binds or not item.moved(), f"{name}, {item.name}"
            moved += bool(item.moved())
    assert moved > 5


@pytest.mark.parametrize("system", SYSTEMS)
def test_paper_page_and_command_line_tell_one_figure(
    system: str, advised: dict[str, tuple[Sheets, Advice]]
) -> None:
    for name, (_, advice) in advised.items():
        for item in advice.settings:
            told = item.show(system)  # type: ignore[arg-type]
            paper = documents.line(SettingLine(item), system)  # type: ignore[arg-type]
            page = views.shown(item, system)  # type: ignore[arg-type]
            number = re.match(r"[-+.\d]+|none", told)
            assert number is not None
            assert page.value == number[0], f"{name}, {item.name}"
            shown = paper["value"].replace("\u2212", "-").removesuffix("°")
            assert shown == number[0], f"{name}, {item.name}"
            if item.near_limit:
                assert paper["range"] == "", f"{name}, {item.name}"


def test_check_and_advice_tell_one_saddle_height(
    advised: dict[str, tuple[Sheets, Advice]],
) -> None:
    """A saddle that its post holds is a finding of the papers with the height that is wanted."""
    met = 0
    for name, (sheets, advice) in advised.items():
        told = _of(check(sheets).findings, "dropper-too-long", "post-too-long", "post-too-short")
        height = next(item for item in advice.settings if item.name == "saddle_height")
        if not told or height.value is None or sheets.bike.post.kind == "plain":
            continue
        met += 1
        assert height.wanted is not None, name
        said = " ".join(told[0].facts)
        assert f"saddle height for this rider: {height.wanted * 1000:.0f} mm" in said, name
        off = abs(height.value - height.wanted)
        assert f"{off * 1000:.0f} mm too" in said and f"{off * 1000:.0f} mm too" in height.moved()
        assert height.cure in told[0].do, name
    assert met


def test_check_and_plan_tell_one_torque(advised: dict[str, tuple[Sheets, Advice]]) -> None:
    from cyclewright.advice.torque import windows

    for name, (sheets, _) in advised.items():
        made, _ = windows(sheets)
        for bolt in plan(sheets).bolts():
            if bolt.torque is not None:
                assert bolt.torque == made[bolt.joint], f"{name}, {bolt.joint}"


def _of(findings: tuple[Finding, ...], *codes: str) -> list[Finding]:
    return [item for item in findings if item.code in codes]
