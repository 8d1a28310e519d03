"""Paper: `draw` a rider on a bike to scale, `print` cards, strips and the hand-over sheet."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Literal

import typer

from cyclewright.cli.common import (
    Data,
    Json,
    Mass,
    Units,
    command,
    open_shop,
    print_json,
    read_sheets,
    say,
    system,
)
from cyclewright.errors import InputError, Problem
from cyclewright.units.told import page

Out = Annotated[Path | None, typer.Option("-o", "--out", metavar="FILE", help="Where to write it.")]


def register(app: typer.Typer) -> None:
    """Put these commands on the program."""
    command(app, "draw", draw)
    command(app, "print", print_document)


def draw(
    what: Annotated[
        list[str],
        typer.Argument(
            metavar="(ID | BIKE [RIDER] PLACE)", help="A bike on record by its number, or sheets."
        ),
    ],
    mass: Mass = None,
    change: Annotated[
        list[str] | None,
        typer.Option(
            "--change", metavar="FIELD=VALUE", help="Draw it changed, with what it was in outline."
        ),
    ] = None,
    posture: Annotated[
        str, typer.Option("--posture", metavar="NAME", help="seated or standing.")
    ] = "seated",
    show: Annotated[
        list[str] | None,
        typer.Option(
            "--show",
            metavar="NAME",
            help="What it shows: balance, angles, lengths, levers or all; or a layer: rider, "
            "angles, loads, sag, lengths, levers, insertion, sweep. May be given again.",
        ),
    ] = None,
    out: Out = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Draw this rider on this bike, to scale, as SVG.

    On standard output where no file is named.
    """
    from cyclewright.workshop import paper
    from cyclewright.workshop.sheets import changed

    shown = system(units)
    layers = paper.layers(show or ())
    if len(what) == 1 and what[0].isdigit():
        with open_shop(data) as shop:
            svg = paper.draw_bike(
                shop,
                int(what[0]),
                posture=_posture(posture),
                changes=change or (),
                show=layers,
                style=True,
            )
    else:
        sheets = read_sheets(what[0], what[1:], mass)
        svg = paper.draw(
            changed(sheets, change or ()),
            posture=_posture(posture),
            before=sheets if change else None,
            show=layers,
            style=True,
        )
    svg = page(svg, shown)
    if json:
        print_json({"svg": svg, "path": None if out is None else str(out)})
    _deliver(svg.encode("utf-8"), out, quiet=json)


def print_document(
    what: Annotated[
        str,
        typer.Argument(
            metavar="WHAT",
            help="hand-over, plan, torque-card, brake-card, setting-card, sag-strip, tag, marks or "
            "claim.",
        ),
    ],
    bike: Annotated[
        int, typer.Argument(metavar="ID", help="The bike's number, as `open` printed it.")
    ],
    out: Out = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Write a paper of a bike on record as PDF.

    Into WHAT-ID.pdf where no file is named; prints where it went.
    """
    from cyclewright.workshop import paper

    system(units)
    with open_shop(data) as shop:
        pdf = paper.print_document(shop, what, bike, system(units))
    target = out or Path(f"{what}-{bike}.pdf")
    _deliver(pdf, target, quiet=True)
    print_json({"path": str(target)}) if json else say(str(target))


def _posture(name: str) -> Literal["seated", "standing"]:
    if name not in ("seated", "standing"):
        raise InputError(Problem("posture", "--posture", "use seated or standing", value=name))
    return "seated" if name == "seated" else "standing"


def _deliver(content: bytes, out: Path | None, quiet: bool) -> None:
    """Write into the file, or to standard output when none is named."""
    if out is None:
        if not quiet:
            sys.stdout.write(content.decode("utf-8") + "\n")
        return
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_bytes(content)
    if not quiet:
        say(str(out))
