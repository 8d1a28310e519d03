"""`cyclewright archive`: backup, restore, and the move between SQLite and PostgreSQL."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cyclewright.cli.common import (
    Command,
    Data,
    HiddenData,
    HiddenUnits,
    Json,
    open_shop,
    print_json,
    say,
    system,
)
from cyclewright.errors import Integrity, Problem

if TYPE_CHECKING:
    from cyclewright.workshop.archive import ArchiveAnswer

app = typer.Typer(add_completion=False, rich_markup_mode=None)

File = Annotated[Path, typer.Argument(metavar="FILE", help="The archive.")]


@app.callback(invoke_without_command=True)
def root(context: typer.Context) -> None:
    """Back a shop up, restore it, move it to another database."""
    if context.invoked_subcommand is None:
        sys.stdout.write(context.get_help() + "\n")


def register(program: typer.Typer) -> None:
    """Put these commands on the program."""
    program.add_typer(app, name="archive")


@app.command(cls=Command)
def write(file: File, json: Json = False, units: HiddenUnits = "trade", data: Data = None) -> None:
    """Write the whole shop into a new file while others go on working.

    It is read back before it counts. The key that signs releases is not in it: keep a copy of
    `keys/release.key` elsewhere.
    """
    from cyclewright.workshop.archive import write_archive

    system(units)
    with open_shop(data) as shop:
        answer = write_archive(shop, file)
    _tell(answer, json)
    if answer.missing:
        do = "`cyclewright verify` names them; `cyclewright archive mend` takes them from a backup"
        raise Integrity(
            Problem("attachment-missing", "attachments", do, value=f"{len(answer.missing)} torn")
        )


@app.command(cls=Command)
def read(
    file: File,
    erasures: Annotated[
        Path | None,
        typer.Option(
            "--erasures",
            metavar="FILE",
            help="A newer archive, or the erased.txt of the old data folder: what was erased "
            "since this backup stays erased.",
        ),
    ] = None,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """Restore a shop into an empty data folder, or an empty database.

    `--data` names the folder and `CYCLEWRIGHT_DATABASE` the database.
    """
    from cyclewright.workshop.archive import read_archive

    system(units)
    with open_shop(data) as shop:
        answer = read_archive(file, shop, erasures)
    _tell(answer, json)


@app.command(cls=Command)
def verify(
    file: File, json: Json = False, units: HiddenUnits = "trade", data: HiddenData = None
) -> None:
    """Check every event and attachment in an archive; nothing is kept."""
    from cyclewright.workshop.archive import check_archive

    system(units)
    _tell(check_archive(file), json)


@app.command(cls=Command)
def mend(file: File, json: Json = False, units: HiddenUnits = "trade", data: Data = None) -> None:
    """Put back attachments that are torn or missing here, out of a backup of this shop."""
    from cyclewright.workshop.archive import mend_from_archive

    system(units)
    with open_shop(data) as shop:
        mended, left = mend_from_archive(file, shop)
    if json:
        print_json({"mended": mended, "left": left})
    else:
        say(f"{mended} put back, {left} still missing")


def _tell(answer: ArchiveAnswer, as_json: bool) -> None:
    if as_json:
        print_json(answer.to_json())
        return
    say(f"{answer.path}: {answer.said}")
    say(
        f"  {answer.events} events, {answer.attachments} attachments, {answer.erased} erased, "
        f"{answer.size / 1e6:.1f} MB"
    )
    say(f"  hash {answer.hash}")
