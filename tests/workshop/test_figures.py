"""Every step names its figure: on the command line, in the wall plan, and bolt by bolt."""

from __future__ import annotations

import re

import pytest

from advice.generated import fitted
from cli.commands import typed
from cyclewright.sheets.sheets import Sheets
from cyclewright.workshop import paper
from cyclewright.workshop.advising import advise
from cyclewright.workshop.check import plan
from cyclewright.workshop.figures import NONE, advised, figures
from cyclewright.workshop.shop import Shop
from record.test_plan import HARDTAIL, LONGTRAVEL
from workshop.shops import EXAMPLES, opened, sheets, text_of

NUMBER = re.compile(r"\d")


@pytest.mark.parametrize(
    "found",
    [sheets(), HARDTAIL, LONGTRAVEL, *(fitted(seed) for seed in (1, 4))],
    ids=["trail", "hardtail", "longtravel", "1", "4"],
)
def test_every_step_that_writes_a_figure_down_says_which_is_wanted(found: Sheets) -> None:
    made, seen = plan(found), 0
    beside = figures(made, advised(found))
    for step in made.steps:
        if "value" in step.evidence:
            first = beside[step.id][0]
            assert step.record is not None
            assert first.startswith(f"{step.record.what}: "), step.id
            mast = step.id == "post-insertion" and found.bike.post.kind == "integrated"
            assert NUMBER.search(first) or (mast and first.endswith(NONE)), step.id
            seen += 1
        if step.id in ("front-tubeless", "rear-tubeless"):
            assert re.search(r"at most \d.*, ", beside[step.id][0])
        if step.bolts:
            told = beside[step.id]
            assert len(told) == len(step.bolts), step.id
            for bolt, line in zip(step.bolts, told, strict=True):
                assert line.startswith(f"{bolt.verb} {bolt.label}: ") and bolt.tool in line
                if bolt.torque is not None and bolt.torque.set is not None:
                    assert f"{bolt.torque.set:g} N·m" in line and bolt.torque.whose in line.replace(
                        "our default", "default for this joint"
                    )
            seen += len(told)
    assert seen > 25


def test_an_advised_value_is_the_one_of_the_advice_and_stays_out_where_there_is_none() -> None:
    found = sheets()
    made, known = plan(found), advised(found)
    pressure = advise(found).setting("fork_pressure")
    assert pressure is not None and known["fork_pressure"] == pressure.show()
    assert figures(made, known)["fork-pressure"] == (f"fork pressure, pump on: {pressure.show()}",)
    assert figures(made, advised(found, "metric"))["fork-pressure"][0].endswith("bar")
    assert "fork-pressure" not in figures(made, {})
    assert figures(made, {})["steerer-gap"] == ("gap down to the steerer: 2 to 5 mm",)
    assert figures(made, {})["wheels-true"][0].endswith("at most 1 mm")


def test_the_plan_on_the_command_line_and_the_wall_plan_name_them(shop: Shop) -> None:
    paths = [EXAMPLES / f"{n}.toml" for n in ("bikes/trail", "riders/light", "places/left")]
    shown = typed("plan", *paths, "--steps").out
    for kind in ("fork pressure, pump on: ", "lever below level: ", "rebound, clicks out"):
        assert re.search(rf"{kind}.*\d", shown), kind
    assert re.search(r"check pivot bolts: \d", shown)
    assert re.search(r"check pivot bolts: \d", typed("plan", *paths).out)
    wall = text_of(paper.print_document(shop, "plan", opened(shop)))
    assert re.search(r"fork pressure, pump on: \d", wall)
    assert re.search(r"check pivot bolts: \d", wall)
