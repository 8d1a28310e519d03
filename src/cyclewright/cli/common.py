"""What all commands share: options that may stand anywhere, output, and how errors are told."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, cast

import typer

from cyclewright.errors import CyclewrightError, InputError, Problem
from cyclewright.setting import Finding, Question
from cyclewright.units import System

if TYPE_CHECKING:
    from rich.table import Table

    from cyclewright.workshop.answers import Sheets
    from cyclewright.workshop.shop import Shop

WIDTH = 118

Json = Annotated[bool, typer.Option("--json", help="One JSON document in SI instead of text.")]
Units = Annotated[
    str, typer.Option("--units", help="trade (psi, mm), metric (bar, mm) or imperial (psi, in).")
]
Data = Annotated[
    Path | None,
    typer.Option("--data", help="Folder of the shop's record.", envvar="CYCLEWRIGHT_DATA"),
]
Bike = Annotated[str | None, typer.Argument(metavar="BIKE", help="Bike sheet (TOML).")]
Others = Annotated[
    list[str] | None,
    typer.Argument(metavar="[RIDER] PLACE", help="Rider sheet, unless --mass is given; place sheet."),
]
Mass = Annotated[
    str | None, typer.Option("--mass", help='Stated mass with kit for a bike without a rider: "80 kg".')
]
BikeId = Annotated[int | None, typer.Option("--bike-id", help="A bike on record instead of sheets.")]
Id = Annotated[int, typer.Argument(metavar="ID", help="The bike's number, as `open` printed it.")]
By = Annotated[str | None, typer.Option("--by", help="Who did it.")]
Changes = Annotated[
    list[str] | None,
    typer.Option("--change", help="FIELD=VALUE or FIELD+=VALUE, as often as needed."),
]

SEVERITY = {"stop": "STOP", "warn": "check", "note": "note"}


def system(name: str) -> System:
    """The system of units to show, or an error naming the three."""
    if name not in ("trade", "metric", "imperial"):
        raise InputError(
            Problem("units", "--units", "use trade, metric or imperial", value=name)
        )
    return cast(System, name)


def open_shop(data: Path | None) -> Shop:
    """The shop's record in its data folder."""
    from cyclewright.workshop.shop import Shop

    return Shop.open(data)


def read_sheets(bike: str | None, others: Sequence[str] | None, mass: str | None) -> Sheets:
    """The sheets named on the command line: BIKE [RIDER] PLACE."""
    from cyclewright.workshop.sheets import read_sheets as read

    rest = list(others or ())
    if bike is None or not 1 <= len(rest) <= 2:
        raise InputError(
            Problem(
                "sheets",
                "BIKE [RIDER] PLACE",
                "name a bike sheet, a rider sheet (or --mass '80 kg') and a place sheet",
            )
        )
    rider = rest[0] if len(rest) == 2 else None
    return read(Path(bike), None if rider is None else Path(rider), Path(rest[-1]), mass)


def sheets_of(
    bike: str | None,
    others: Sequence[str] | None,
    mass: str | None,
    bike_id: int | None,
    data: Path | None,
) -> Sheets:
    """Sheets from files, or those in force for a bike on record."""
    if bike_id is None:
        return read_sheets(bike, others, mass)
    if bike is not None or mass is not None:
        raise InputError(
            Problem("sheets", "--bike-id", "give either sheets or --bike-id, not both")
        )
    with open_shop(data) as shop:
        return shop.sheets(shop.state(bike_id))


def print_json(data: object) -> None:
    """One JSON document on standard output."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    sys.stdout.write(text + "\n")


def say(text: str = "") -> None:
    """One line of human output."""
    sys.stdout.write(text + "\n")


def table(*columns: str | tuple[str, Literal["left", "right"]]) -> Table:
    """A plain table with these columns."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table as RichTable

    made = RichTable(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1), header_style="bold")
    for column in columns:
        name, justify = column if isinstance(column, tuple) else (column, "left")
        made.add_column(name, justify=cast(Any, justify), overflow="fold")
    return made


def print_table(made: Table) -> None:
    """A table as wide as the screen, or a fixed width when nobody looks."""
    from rich.console import Console

    width = None if sys.stdout.isatty() else WIDTH
    Console(file=sys.stdout, width=width, highlight=False, markup=False).print(made)


def print_findings(findings: Iterable[Finding], questions: Iterable[Question]) -> None:
    """Findings with their facts, rule and what to do, then what has to be looked up."""
    for finding in findings:
        say(f"{SEVERITY[finding.severity]:<6} {finding.do}")
        for fact in finding.facts:
            say(f"       · {fact}")
        say(f"       rule: {finding.rule}")
    asked = list(questions)
    if asked:
        say(f"\nTo look up ({len(asked)}):")
        for question in asked:
            say(f"  {question.field}: {question.ask}")


def fail(error: CyclewrightError, as_json: bool) -> int:
    """Tell an error on standard error, one line a problem; gives the exit code."""
    if as_json:
        sys.stderr.write(json.dumps(error.to_json(), ensure_ascii=False) + "\n")
    else:
        for problem in error.problems:
            sys.stderr.write(problem.line() + "\n")
    return error.exit_code
