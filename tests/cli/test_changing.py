"""Changes on the command line: looked at, asked before something falls, refused, made whole."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from cli.commands import EXAMPLES, typed
from cyclewright.workshop import release
from cyclewright.workshop.shop import Shop
from workshop.shops import build_to_gate, opened

STACK = ("--change", "bike.cockpit.spacers_under=45 mm")
UP = ("--change", "bike.cockpit.spacers_under+=5 mm")
LIGHT, HEAVY = (EXAMPLES / f"riders/{name}.toml" for name in ("light", "heavy"))


class Terminal(io.StringIO):
    """Somebody types."""

    def isatty(self) -> bool:
        """A terminal is one."""
        return True


@pytest.fixture
def ready(data: Path) -> Path:
    """A record whose bike 1 passed its ride gate."""
    with Shop.open(data) as shop:
        build_to_gate(shop, opened(shop))
        release.gate(shop, 1, "ride", by="Ada")
    return data


def number(folder: Path) -> int:
    """How many events bike 1 has."""
    with Shop.open(folder) as shop:
        return shop.state(1).number


def test_a_stack_over_the_limit_ends_with_two_and_records_nothing(ready: Path) -> None:
    before = number(ready)
    said = typed("record", 1, *STACK, code=2)
    assert "most allowed by the frame's maker: 40 mm" in said.err
    assert "record it as found: the gates then hold" in said.err
    error = typed("record", 1, *STACK, "--json", code=2).errors[0]
    assert error["code"] == "steerer-stack" and error["field"] == "bike.cockpit.spacers_under"
    assert number(ready) == before
    assert "stem-pinch" in typed("record", 1, *STACK, "--as-found").out
    assert "40 mm" in typed("gate", 1, "ride", code=1).out


def test_a_look_only_says(ready: Path) -> None:
    before = number(ready)
    said = typed("record", 1, *UP, "--look").out
    assert "bike.cockpit.spacers_under: 15 mm -> 20 mm" in said
    assert "the ride gate falls" in said and "stem-pinch" in said
    assert "Nothing is recorded." in said
    told = typed("record", 1, *UP, "--look", "--json").json
    assert told["falls"] == ["ride"] and told["fields"][0]["after"] == "20 mm"
    assert "Would be refused: bike.cockpit" in typed("record", 1, *STACK, "--look").out
    assert number(ready) == before


def test_a_script_is_not_asked_and_told_what_fell(ready: Path) -> None:
    said = typed("record", 1, *UP).out
    assert "do these" in said and "the ride gate falls" in said


@pytest.mark.parametrize(("answer", "code"), [("n\n", 1), ("\n", 1), ("y\n", 0)])
def test_at_a_terminal_it_asks_before_a_gate_falls(
    ready: Path, monkeypatch: pytest.MonkeyPatch, answer: str, code: int
) -> None:
    before = number(ready)
    monkeypatch.setattr("sys.stdin", Terminal(answer))
    said = typed("record", 1, *UP, code=code)
    assert "the ride gate falls" in said.out
    assert (number(ready) == before) == (code == 1)
    assert ("Nothing was changed." in said.out) == (code == 1)


def test_at_a_terminal_it_does_not_ask_for_nothing(
    ready: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", Terminal(""))
    typed("record", 1, "--change", "bike.year=2024")
    typed("record", 1, *UP, "--yes")


def test_a_rider_and_back(ready: Path) -> None:
    said = typed("record", 1, "--rider", HEAVY)
    assert said.out.startswith("another rider") and "fork-pressure" in said.out
    shown = typed("show", 1).out
    assert "earlier set-up 1: Wren Tolliquay, until" in shown and "60 psi" in shown
    assert typed("record", 1, "--rider", "earlier:1").out.startswith("back to set-up 1")
    advised = typed("advise", "--bike-id", 1).out
    assert "As it was set then" in advised and "60 psi" in advised
    assert typed("advise", "--bike-id", 1, "--json").json["then"]["rider"] == "Wren Tolliquay"
    assert typed("show", 1, "--json").json["setups"][0]["current"] is True


def test_nobody_is_fitted_for_a_stated_mass(ready: Path) -> None:
    assert "rider taken off the bike: set for 80 kg" in typed("record", 1, "--mass", "80 kg").out


def test_a_swap_and_a_sheet(ready: Path) -> None:
    changed = ("--change", "bike.brake.front.rotor_diameter=180 mm")
    marks = ("--mark", "maker=Quill", "--mark", "serial=R-9")
    said = typed("record", 1, "--swap", "front disc", *changed, *marks).out
    assert said.startswith("front rotor swapped") and "front-caliper" in said
    assert "R-9" in typed("care", "parts", 1).out
    sheet = ready / "bike.toml"
    with Shop.open(ready) as shop:
        text = shop.state(1).sheets["bike"]
    sheet.write_text(text.replace("= 2025", "= 2024"), encoding="utf-8")
    assert "bike.year=2024" in typed("record", 1, "--sheet", sheet).out
    assert typed("verify").code == 0


@pytest.mark.parametrize(
    ("words", "match"),
    [
        (("--rider", "earlier:nine"), "earlier:N"),
        (("--rider", "earlier:9"), "none is kept"),
        (("--rider", "nowhere.toml"), "no file nowhere.toml"),
        (("--sheet", "nowhere.toml"), "no file nowhere.toml"),
        (("--rider", LIGHT, "--mass", "80 kg"), "one change at a time"),
        (("--swap", "nose"), "front rotor"),
        (("--swap", "chain", "--mark", "colour=red"), "maker, model, serial, batch"),
        (("--mark", "maker=Quill"), "goes with --swap"),
        (("--look",), "name the step"),
        (("fork-forward", "--look"), "goes with a change"),
        (("fork-forward", "--as-found"), "goes with a change"),
        (("fork-forward", *UP), "name the step"),
    ],
)
def test_what_cannot_be_ends_with_two(ready: Path, words: tuple[object, ...], match: str) -> None:
    before = number(ready)
    assert match in typed("record", 1, *words, code=2).err
    assert number(ready) == before
