"""A record that an older program made: every page still opens, and the work goes on."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from bench.conftest import Client, let_in
from cyclewright.workshop import archive, build
from cyclewright.workshop.shop import Shop

ARCHIVE = Path(__file__).parents[1] / "data/record/november-2026.zip"
TABS = (
    *("", "/fit", "/build", "/gates", "/carton", "/care", "/journey", "/inspection"),
    *("/record", "/verify", "/readings", "/pocket"),
)


@pytest.fixture(scope="module")
def older(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """A shop that read the archive of an older one."""
    with Shop.open(tmp_path_factory.mktemp("older")) as shop:
        archive.read_archive(ARCHIVE, shop)
        yield shop


@pytest.fixture(scope="module")
def browser(older: Shop) -> Client:
    """A browser at its bench."""
    return let_in(older, "Robin")


@pytest.mark.parametrize("tail", TABS)
def test_every_page_of_an_older_record_opens(browser: Client, tail: str) -> None:
    assert browser.get(f"/bikes/1{tail}").status_code == 200


@pytest.mark.parametrize("paper", ["hand-over", "torque-card", "setting-card"])
def test_its_papers_are_made(browser: Client, paper: str) -> None:
    answer = browser.get(f"/bikes/1/papers/{paper}.pdf")
    assert answer.status_code == 200
    assert answer.content.startswith(b"%PDF")


def test_its_plan_is_made_again_and_goes_on(browser: Client, older: Shop) -> None:
    before = older.state(1)
    told = build.plan_again(older, 1, "Robin")
    assert told.numbers
    after = older.state(1)
    assert after.done() >= {step for step in before.done() if step in after.planned_steps()} - set(
        told.reopened
    )
    assert browser.get("/bikes/1/build").status_code == 200
