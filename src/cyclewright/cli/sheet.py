"""`cyclewright sheet`: the quick start, every field of the sheets, and what sheets leave open."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cyclewright.cli.common import (
    Bike,
    Command,
    HiddenData,
    HiddenUnits,
    Json,
    Mass,
    Others,
    print_json,
    read_sheets,
    say,
    system,
)
from cyclewright.errors import InputError, Problem
from cyclewright.workshop import sheets as use

if TYPE_CHECKING:
    from cyclewright.units import System
    from cyclewright.workshop.answers import Sheets

app = typer.Typer(add_completion=False, rich_markup_mode=None)


@app.callback(invoke_without_command=True)
def root(context: typer.Context) -> None:
    """Begin sheets, list their fields, see what they leave open."""
    if context.invoked_subcommand is None:
        sys.stdout.write(context.get_help() + "\n")


def register(program: typer.Typer) -> None:
    """Put these commands on the program."""
    program.add_typer(app, name="sheet")


@app.command(cls=Command)
def new(
    kind: Annotated[
        str | None, typer.Option(metavar="KIND", help="full-suspension, hardtail or rigid.")
    ] = None,
    country: Annotated[
        str | None, typer.Option(metavar="CODE", help="Where it is ridden: two letters, like GB.")
    ] = None,
    fork_travel: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Like '140 mm'.")
    ] = None,
    rear_travel: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the rear wheel, with full suspension.")
    ] = None,
    shock_stroke: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the shock, with full suspension.")
    ] = None,
    tyre: Annotated[
        str | None, typer.Option(metavar="SIZE", help="Off the sidewall, like 29x2.4 or 61-622.")
    ] = None,
    tubeless: Annotated[
        bool | None, typer.Option("--tubeless/--tubes", help="Without or with inner tubes.")
    ] = None,
    hooked: Annotated[
        bool | None, typer.Option("--hooked/--hookless", help="Rims with or without hooks.")
    ] = None,
    height: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the rider, like '1.75 m'.")
    ] = None,
    mass: Annotated[
        str | None, typer.Option(metavar="MASS", help="Of the rider with kit, like '80 kg'.")
    ] = None,
    inseam: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help="If known, pressed up firmly, without shoes."),
    ] = None,
    to: Annotated[Path, typer.Option(metavar="DIR", help="Folder for the three sheets.")] = Path(),
    json: Json = False,
    units: HiddenUnits = "trade",
    data: HiddenData = None,
) -> None:
    """Write bike, rider and place sheets from nine answers.

    Without options it asks. Only what was answered is written; what is taken as usual and what
    has to be looked up is listed.
    """
    shown = system(units)
    given = {
        "kind": kind,
        "country": country,
        "fork_travel": fork_travel,
        "rear_travel": rear_travel,
        "shock_stroke": shock_stroke,
        "tyre": tyre,
        "tubeless": _yes_no(tubeless),
        "hooked": _yes_no(hooked),
        "height": height,
        "mass": mass,
        "inseam": inseam,
    }
    answers = {key: text for key, text in given.items() if text is not None}
    made = use.quick_start(answers or _asked())
    written = use.write_sheets(made, to)
    sheets = made.sheets()
    found = use.overview(sheets)
    first = _first_figures(sheets, shown)
    if json:
        named = dict(first)
        paths = [str(path) for path in written]
        print_json({"written": paths, "first": named, **found.to_json()})
        return
    say(f"written: {', '.join(str(path) for path in written)}")
    say("\nfirst figures")
    width = max(len(what) for what, _ in first)
    for what, text in first:
        say(f"  {what:<{width}}  {text}")
    say()
    _print_overview(found)
    names = " ".join(str(path) for path in written)
    say(f"\nnext: cyclewright advise {names}, and cyclewright plan {names}")


@app.command(cls=Command)
def fields(
    kind: Annotated[
        str | None, typer.Argument(metavar="[SHEET]", help="bike, rider or place; all without.")
    ] = None,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: HiddenData = None,
) -> None:
    """List every field: unit, meaning, whether it may be defaulted."""
    system(units)
    chosen = next((name for name in use.NAMES if name == kind), None)
    if kind is not None and chosen is None:
        do = "write bike, rider or place, or leave it out for all"
        raise InputError(Problem("unknown-sheet", "sheet fields", do, kind))
    every = use.fields(chosen)
    if json:
        print_json({"fields": [item.to_json() for item in every]})
        return
    width = max(len(item.path) for item in every)
    for item in every:
        unit = item.unit or {"flag": "true, false"}.get(item.shape, item.shape)
        words = f"{item.meaning} ({item.allowed})" if item.shape == "choice" else item.meaning
        must = f"wanted {item.required}" if item.required else item.default_policy
        say(f"{item.path:<{width}}  {unit:<11}  {must:<28}  {words}")


@app.command(cls=Command)
def show(
    bike: Bike = None,
    others: Others = None,
    mass: Mass = None,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: HiddenData = None,
) -> None:
    """What sheets hold, take as usual, and leave to look up."""
    system(units)
    found = use.overview(read_sheets(bike, others, mass))
    if json:
        print_json(found.to_json())
    else:
        _print_overview(found)


def _asked() -> dict[str, str]:
    """The answers typed at the terminal, each asked again until it can be."""
    answers: dict[str, str] = {}
    try:
        for ask in use.asks():
            if ask.asked_of(answers.get("kind")):
                answers[ask.key] = _answer(ask.key, ask.question, _hint(ask), ask.optional)
    except (EOFError, typer.Abort):
        do = "the answers ended too early: give them as options, see cyclewright sheet new --help"
        raise InputError(Problem("missing", "sheet new", do)) from None
    return answers


def _hint(ask: use.Ask) -> str:
    options = ", ".join(ask.options)
    return options if options else f"like {ask.example}" + (", or leave empty" * ask.optional)


def _answer(key: str, question: str, hint: str, optional: bool) -> str:
    while True:
        typer.echo(f"{question} [{hint}] ", nl=False, err=True)
        line = sys.stdin.readline()
        if not line:
            raise EOFError
        text = line.strip()
        if not text and optional:
            return ""
        problems = use.check_answer(key, text)
        if not problems:
            return text
        for problem in problems:
            typer.echo(problem.line(), err=True)


def _yes_no(flag: bool | None) -> str | None:
    return None if flag is None else ("yes" if flag else "no")


FIRST = (
    ("fork_sag", "fork ring"),
    ("shock_sag", "shock ring"),
    ("front_tyre_pressure", "front tyre"),
    ("rear_tyre_pressure", "rear tyre"),
    ("fork_pressure", "fork pressure"),
    ("shock_pressure", "shock pressure"),
    ("saddle_height", "saddle height"),
)


def _first_figures(sheets: Sheets, shown: System) -> list[tuple[str, str]]:
    """Hands, steps, sag on the ring, tyres and saddle, as the nine answers give them."""
    from cyclewright.workshop import advising, check, choices

    hand = choices.hands(sheets).front
    front = "ask: nothing is on file for this country" if hand is None else f"the {hand} hand"
    made = check.plan(sheets)
    advice = advising.advise(sheets)
    figures = [
        (what, "none until its questions are answered" if one.value is None else one.show(shown))
        for name, what in FIRST
        if (one := advice.setting(name)) is not None
    ]
    steps = f"{len(made.steps)} on {len(made.cards())} cards, {made.minutes / 60:.1f} h"
    return [("front brake", front), *figures, ("steps", steps)]


def _print_overview(found: use.Overview) -> None:
    say(f"bike   {found.bike}\nrider  {found.rider}\nplace  {found.place}")
    if found.defaults:
        say("\ntaken as usual until a sheet says otherwise")
        width = max(len(item.field) for item in found.defaults)
        span = max(len(item.text) for item in found.defaults)
        for item in found.defaults:
            because = item.because.removeprefix("default: ")
            say(f"  {item.field:<{width}}  {item.text:<{span}}  {because}")
    if found.questions:
        say("\nstill to be looked up")
        for question in found.questions:
            say(f"  {question.ask} ({question.field})")
    if not found.defaults and not found.questions:
        say("\nnothing is taken as usual, and nothing is left to look up")
