"""What every test relies on: profiles, both databases, and the figures told at the end."""

from __future__ import annotations

import signal
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import argon2
import pytest
from hypothesis import HealthCheck, settings

from days import keep_the_day
from faults.tally import report_of_faults
from played import Played, once
from postgres import Place, Server, server

keep_the_day()
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # A run in the background ignores Ctrl-C, and so would every program that it starts.
    signal.signal(signal.SIGINT, signal.default_int_handler)
settings.register_profile(
    "cyclewright",
    derandomize=True,
    deadline=None,
    max_examples=60,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("few", settings.get_profile("cyclewright"), max_examples=5)
settings.load_profile("cyclewright")

BOTH = ("sqlite", "postgresql")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Browsers first: one worker waits for pages while another does sums, and none at the end."""
    items.sort(key=lambda item: "browser" not in item.path.parts)


@pytest.fixture(scope="session")
def played(tmp_path_factory: pytest.TempPathFactory) -> Played:
    """The demo, played once for all workers; whoever changes anything works on a copy."""
    return once(tmp_path_factory)


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """A PostgreSQL server of this run's own, started by the first test that asks for it."""
    with server() as running:
        yield running


@pytest.fixture(params=BOTH)
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Place]:
    """Where a shop's record lies: once as SQLite, once as PostgreSQL."""
    if request.param == "sqlite":
        made = Place(tmp_path / "data")
        yield made
        made.close()
        return
    running: Server = request.getfixturevalue("postgres")
    made = Place(tmp_path / "data", running.database())
    yield made
    made.close()
    running.drop(made.url or "")


@pytest.fixture
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hashes made with the least effort Argon2 allows: their strength is not under test."""
    made = argon2.PasswordHasher
    monkeypatch.setattr(
        argon2, "PasswordHasher", lambda: made(time_cost=1, memory_cost=8, parallelism=1)
    )


def pytest_terminal_summary(terminalreporter) -> None:
    """Outside rows checked with those not built, and faults tried with what they lost."""
    counted: dict[str, Counter] = {}
    faults: dict[str, dict[str, int]] = {}
    for reports in terminalreporter.stats.values():
        for report in reports:
            for key, value in getattr(report, "user_properties", ()):
                if key == "faults":
                    faults[report.nodeid] = value
                elif getattr(report, "when", "") == "call" and key in (
                    "outside-checked",
                    "outside-not-built",
                ):
                    counted.setdefault(key, Counter())[value] += 1
    _outside(terminalreporter, counted)
    if faults:
        terminalreporter.section("faults")
        terminalreporter.write_line(
            report_of_faults(faults, bool(terminalreporter.stats.get("failed")))
        )


def _outside(terminalreporter, counted: dict[str, Counter]) -> None:
    checked, waiting = (
        counted.get(f"outside-{key}", Counter()) for key in ("checked", "not-built")
    )
    if not checked and not waiting:
        return
    terminalreporter.section("values from outside the project")
    terminalreporter.write_line(f"{checked.total()} rows checked, {waiting.total()} not built yet")
    for name, count in sorted(waiting.items()):
        terminalreporter.write_line(f"  not built: {name} ({count} rows)")
