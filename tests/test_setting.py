"""Settings as people read them and as JSON has them."""

from __future__ import annotations

import pytest

from cyclewright.setting import BASIS_WORDS, Finding, Limit, Question, Setting

PSI = 6894.757293168361


def tyre(value: float | None, *limits: Limit) -> Setting:
    return Setting(
        "front_tyre_pressure", value, "Pa", 20 * PSI, 26 * PSI, "model", "sums", "why", "psi", 0.5,
        limits=limits,
    )  # fmt: skip


def test_a_setting_reads_as_value_interval_and_unit() -> None:
    assert tyre(22.2 * PSI).show() == "22.0 (20.0 to 26.0) psi"
    assert tyre(22.2 * PSI).show("metric") == "1.55 (1.40 to 1.80) bar"
    assert tyre(None).show() == "none"
    assert tyre(None).to_json()["value"] is None


@pytest.mark.parametrize(("kind", "shown"), [("max", "22.0"), ("min", "22.5")])
def test_a_value_held_by_a_limit_never_reads_past_it(kind, shown: str) -> None:
    held = Limit("the maker", kind, 22.2 * PSI, binds=True)
    assert tyre(22.2 * PSI, held).show().startswith(shown)
    loose = Limit("the maker", kind, 22.2 * PSI, binds=False)
    assert tyre(22.2 * PSI, loose).show().startswith(shown)


def test_json_holds_the_unrounded_value_and_whose_limit_binds() -> None:
    data = tyre(22.2 * PSI, Limit("the rim's maker", "max", 3e5, binds=True)).to_json()
    assert data["value"] == 22.2 * PSI
    assert data["limits"] == [
        {"owner": "the rim's maker", "kind": "max", "value": 3e5, "binds": True}
    ]
    assert data["basis"] in BASIS_WORDS
    finding = Finding("code", "stop", ("one", "other"), "rule", "do", ("bike.mass",))
    assert finding.to_json()["facts"] == ["one", "other"]
    assert Question("f", "ask?", "why").to_json()["options"] == []
