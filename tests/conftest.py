"""What every test relies on: the property-test profile, and the count of outside rows."""

from __future__ import annotations

from collections import Counter

from hypothesis import HealthCheck, settings

settings.register_profile(
    "cyclewright",
    derandomize=True,
    deadline=None,
    max_examples=60,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("cyclewright")


def pytest_terminal_summary(terminalreporter) -> None:
    """Outside rows checked, and those whose calculation is not built, by name."""
    checked, waiting = Counter(), Counter()
    for reports in terminalreporter.stats.values():
        for report in reports:
            if getattr(report, "when", "") != "call":
                continue
            for key, value in getattr(report, "user_properties", ()):
                if key == "outside-checked":
                    checked[value] += 1
                elif key == "outside-not-built":
                    waiting[value] += 1
    if not checked and not waiting:
        return
    terminalreporter.section("values from outside the project")
    terminalreporter.write_line(f"{checked.total()} rows checked, {waiting.total()} not built yet")
    for name, count in sorted(waiting.items()):
        terminalreporter.write_line(f"  not built: {name} ({count} rows)")
