"""Page, API and command line of one bike with readings, a torque tool and a late change."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from bench.conftest import Client, let_in
from cli.commands import typed
from cyclewright.workshop import build, readings, tools
from cyclewright.workshop.advising import advise_bike
from cyclewright.workshop.shop import Shop
from workshop.shops import opened


@pytest.fixture
def worked(tmp_path: Path) -> Iterator[tuple[Shop, Client, Path]]:
    """A bike whose fork was read twice after a late change, in a shop with one coarse tool."""
    folder = tmp_path / "data"
    with Shop.open(folder) as shop:
        opened(shop)
        tools.keep_tool(shop, "big click", "10 N.m", "60 N.m", calibrated=date.today())
        build.change_sheet(shop, 1, ["bike.cockpit.spacers_under=20 mm"], by="Ada")
        build.plan_again(shop, 1, by="Ada")
        for pressure, ring in (("56 psi", "33 mm"), ("62 psi", "31 mm")):
            readings.read(shop, 1, "fork-pressure", pressure, by="Ada")
            readings.read(shop, 1, "fork-sag", ring, by="Ada")
        yield shop, let_in(shop, "Ada"), folder


def test_one_advice_on_every_face(worked: tuple[Shop, Client, Path]) -> None:
    """The API left every reading out: 56 psi where page and command line said 54."""
    shop, client, folder = worked
    told = {item.name: item for item in advise_bike(shop, 1).settings}
    faces = {
        "API": client.get("/api/bikes/1/advice").json()["settings"],
        "page": client.data("/bikes/1")["settings"],
        "command line": typed("advise", "--bike-id", 1, "--json", "--data", folder).json[
            "settings"
        ],
    }
    for face, settings in faces.items():
        found = {item["name"]: item for item in settings}
        for name, item in told.items():
            if name in found:
                same = [found[name][key] for key in ("value", "low", "high", "basis")]
                assert same == [item.value, item.low, item.high, item.basis], (face, name)
        assert "fork_pressure" in found, face


def test_one_cross_check_on_every_face(worked: tuple[Shop, Client, Path]) -> None:
    """The command line knew nothing of the shop's torque tools."""
    _, client, folder = worked
    api = client.get("/api/bikes/1/check").json()
    line = typed("check", "--bike-id", 1, "--json", "--data", folder).json
    assert api == line
    assert "torque-tool-range" in {finding["code"] for finding in line["findings"]}


def test_a_spring_is_measured_only_by_its_own_ring(worked: tuple[Shop, Client, Path]) -> None:
    """The shock was said to be measured after a ring on the fork."""
    shop, _, _ = worked
    told = {item.name: item for item in advise_bike(shop, 1).settings}
    assert told["fork_pressure"].basis == "measured"
    assert told["shock_pressure"].basis != "measured"
    assert "read on this bike" not in told["shock_pressure"].because
