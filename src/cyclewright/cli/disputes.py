"""`cyclewright settle`: two figures for one field disagree; which holds, or what decides."""

from __future__ import annotations

from typing import Annotated

import typer

from cyclewright.cli.common import (
    HiddenData,
    HiddenUnits,
    Json,
    command,
    print_json,
    say,
    say_wrapped,
    system,
)

Figure = "With its unit, as on the sheet."


def register(app: typer.Typer) -> None:
    """Put this command on the program."""
    command(app, "settle", settle)


def settle(
    field: Annotated[
        str, typer.Argument(metavar="FIELD", help="A field by `sheet fields`, like bike.mass.")
    ],
    one: Annotated[str, typer.Argument(metavar="FIGURE", help=Figure)],
    other: Annotated[str, typer.Argument(metavar="FIGURE", help=Figure)],
    whose: Annotated[
        str,
        typer.Option(
            "--whose",
            metavar="WHOSE",
            help="Whose the first is: part, law, maker, standard, measured or practice.",
        ),
    ] = "part",
    against: Annotated[
        str, typer.Option("--against", metavar="WHOSE", help="Whose the second is.")
    ] = "maker",
    json: Json = False,
    units: HiddenUnits = "trade",
    data: HiddenData = None,
) -> None:
    """Two figures disagree: which holds and why, or what decides."""
    from cyclewright.workshop.check import settle as settled

    system(units)
    verdict = settled(field, one, other, whose, against)
    if json:
        print_json(verdict.to_json())
        return
    say(f"{verdict.field}: {verdict.holds or 'neither holds yet'}")
    say_wrapped(verdict.because, "   because: ")
    if verdict.test:
        say_wrapped(verdict.test, "   test: ")
    say_wrapped(verdict.source, "   source: ")
