"""Example sheets changed as a test wants, and cases whose truth nobody has told the sums."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.random import default_rng

from cyclewright.advice import case as cases
from cyclewright.advice.advise import Advice, advise
from cyclewright.knowledge.defaults import Filled, fill
from cyclewright.setting import Setting
from cyclewright.sheets.sheets import Sheets, change, load
from cyclewright.solve.case import Case
from sheets.samples import example

COMBINATIONS = [
    (bike, rider, place)
    for bike in ("trail", "hardtail", "longtravel")
    for rider in ("light", "heavy")
    for place in ("left", "right", "high")
]


def sheets(*changes: str, bike: str = "trail", rider: str = "heavy", place: str = "left") -> Sheets:
    """Example sheets after these changes."""
    return change(load(*example(bike, rider, place)), changes)


def filled(*changes: str, bike: str = "trail", rider: str = "heavy", place: str = "left") -> Filled:
    """The same with every labelled default."""
    return fill(sheets(*changes, bike=bike, rider=rider, place=place))


def advised(
    *changes: str, bike: str = "trail", rider: str = "heavy", place: str = "left"
) -> Advice:
    """What is advised on example sheets after these changes."""
    return advise(filled(*changes, bike=bike, rider=rider, place=place))


def setting(advice: Advice, name: str) -> Setting:
    """One setting by its name."""
    return next(item for item in advice.settings if item.name == name)


def value(advice: Advice, name: str) -> float:
    """What one setting is set to."""
    found = setting(advice, name).value
    assert found is not None, f"{name} has no value"
    return found


def hidden(monkeypatch: pytest.MonkeyPatch, sheet: Filled, builds: int, seed: int) -> Case:
    """The same sheets with other draws behind them: column 1 onwards are that many true builds."""
    table = np.zeros((32, builds + 1))
    table[:, 1:] = default_rng(seed).standard_normal((32, builds))
    with monkeypatch.context() as patch:
        patch.setattr(cases, "deviates", lambda: table)
        patch.setattr(cases, "DRAWS", builds)
        return cases.build(sheet)
