"""`bench` serves the pages; `demo` takes an invented bike from carton to hand-over."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cyclewright.cli.common import Data, Json, Units, open_shop, system


def register(app: typer.Typer) -> None:
    """Put these commands on the program."""
    app.command("bench")(bench)
    app.command("demo")(demo)


def bench(
    port: Annotated[int, typer.Option("--port", help="0 takes a free one.")] = 0,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Serve the bench pages on this machine; prints their address."""
    from cyclewright.bench.serve import serve

    system(units)
    with open_shop(data) as shop:
        serve(shop, port)


def demo(
    out: Annotated[Path, typer.Option("--out", help="Folder for its record and papers.")] = Path(
        "build/demo"
    ),
    serve: Annotated[bool, typer.Option("--serve/--no-serve", help="Then open the bench.")] = True,
) -> None:
    """From carton to hand-over with an invented bike, every number computed."""
    from cyclewright.cli.demo import play

    code = play(out, serve)
    if code:
        raise typer.Exit(code)
