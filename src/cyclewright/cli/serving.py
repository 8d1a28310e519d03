"""`bench` serves the pages; `demo` takes an invented bike from carton to hand-over."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cyclewright.cli.common import Data, command, open_shop, system


def register(app: typer.Typer) -> None:
    """Put these commands on the program."""
    command(app, "bench", bench)
    command(app, "demo", demo)


def bench(
    port: Annotated[int, typer.Option("--port", metavar="PORT", help="0 takes a free one.")] = 0,
    json: Annotated[bool, typer.Option("--json", hidden=True)] = False,
    units: Annotated[str, typer.Option("--units", hidden=True)] = "trade",
    data: Data = None,
) -> None:
    """Serve the bench pages on this machine; prints their address.

    Nobody else on the network is answered. Ctrl-C ends it.
    """
    from cyclewright.bench.serve import serve

    system(units)
    with open_shop(data) as shop:
        serve(shop, port)


def demo(
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Folder for its record and papers.")
    ] = Path("build/demo"),
    serve: Annotated[
        bool, typer.Option("--serve/--no-serve", help="Whether to serve its bench afterwards.")
    ] = True,
) -> None:
    """Play an invented bike from carton to hand-over.

    Every number is computed. Record, papers and log go to a folder of their own.
    """
    from cyclewright.cli.demo import play

    code = play(out, serve)
    if code:
        raise typer.Exit(code)
