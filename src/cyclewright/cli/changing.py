"""Changes on the command line: what is typed, what it would do, and the question before it."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from cyclewright.cli.common import pairs, print_findings, print_json, say, say_wrapped
from cyclewright.errors import InputError, Problem
from cyclewright.workshop import build, changing
from cyclewright.workshop.changing import ChangeLook
from cyclewright.workshop.standing import FALLS
from cyclewright.workshop.wanted import MARKS, Wanted

if TYPE_CHECKING:
    from cyclewright.workshop.answers import RecordAnswer
    from cyclewright.workshop.shop import Shop

EARLIER = "earlier:"


def wanted(
    change: Sequence[str] | None,
    sheet: Path | None,
    rider: str | None,
    mass: str | None,
    swap: str | None,
    mark: Sequence[str] | None,
    as_found: bool,
) -> Wanted | None:
    """The change that was typed; None when none was."""
    if not change and all(item is None for item in (sheet, rider, mass, swap)):
        if mark:
            do = "goes with --swap PART"
            raise InputError(Problem("marks-alone", "--mark", do, value=mark[0]))
        return None
    back = rider is not None and rider.startswith(EARLIER)
    return Wanted(
        changes=tuple(change or ()),
        sheet=sheet,
        rider=None if rider is None or back else Path(rider),
        mass=mass,
        earlier=_earlier(rider) if rider is not None and back else None,
        part=swap,
        marks=tuple(_marks(mark or ()).items()),
        as_found=as_found,
    )


def print_look(shop: Shop, bike: int, asked: Wanted, json: bool) -> None:
    """What a change would do, and whether it would be refused."""
    found = changing.look(shop, bike, asked)
    if json:
        print_json(found.to_json())
        return
    for row in found.fields:
        say(f"{row.field}: {row.before or 'not written'} -> {row.after or 'left out'}")
    _say_look(found)
    for problem in found.refused:
        say_wrapped(problem.line(), "Would be refused: ")
    print_findings(found.findings, found.questions)
    say("Nothing is recorded.")


def made(shop: Shop, bike: int, asked: Wanted, by: str | None, ask: bool) -> RecordAnswer:
    """Make the change; on a terminal it is asked first when what was passed would fall."""
    seen = None
    if ask and sys.stdin.isatty():
        found = changing.look(shop, bike, asked)
        seen = found.number
        if found.grave and (asked.as_found or not found.refused):
            _say_look(found)
            if not typer.confirm("Change it?", default=False, err=True):
                say("Nothing was changed.")
                raise typer.Exit(1)
    return changing.make(shop, bike, asked, by=by, seen=seen)


def ask_touch(shop: Shop, bike: int, steps: Sequence[str]) -> None:
    """On a terminal, whether joints are opened though what was passed falls."""
    if not sys.stdin.isatty():
        return
    _ask(*build.look_at_touch(shop, bike, steps), "Open it?", "Nothing was opened.")


def ask_plan(shop: Shop, bike: int) -> None:
    """On a terminal, whether the plan is made again though what was passed falls."""
    if sys.stdin.isatty():
        _ask(*build.look_at_plan(shop, bike), "Make it again?", "Nothing was changed.")


def _ask(opens: Sequence[str], falls: Sequence[str], question: str, left: str) -> None:
    """What would be opened and fall, told and asked where anything falls."""
    if not falls:
        return
    if opens:
        say_wrapped(f"It opens {len(opens)} steps again: {', '.join(opens)}.")
    say_wrapped(f"{', '.join(FALLS[name] for name in falls)}.".capitalize())
    if not typer.confirm(question, default=False, err=True):
        say(left)
        raise typer.Exit(1)


def _say_look(found: ChangeLook) -> None:
    """What it opens, adds, takes out and lets fall, by name."""
    say_wrapped(f"{found.line()}.".capitalize() if found.says else f"{found.line()}.")
    for word, names in (
        ("again", found.reopened),
        ("new", found.come),
        ("no longer", found.go),
    ):
        if names:
            say_wrapped(", ".join(names), f"   {word}: ")


def _marks(given: Sequence[str]) -> dict[str, str]:
    """Marks of the new part by key."""
    found = pairs(given, "--mark", "KEY=TEXT, like serial=R-2044")
    strange = [name for name in found if name not in MARKS]
    if strange:
        allowed = ", ".join(MARKS)
        do = "give one of these"
        raise InputError(
            Problem("mark", "--mark", do, value=name, allowed=allowed) for name in strange
        )
    return found


def _earlier(text: str) -> int:
    number = text.removeprefix(EARLIER).strip()
    if not number.isdecimal() or len(number) > 9:
        do = "write earlier:N with the number that `show` gives the set-up, like earlier:1"
        raise InputError(Problem("earlier", "--rider", do, value=text))
    return int(number)
