"""`bench` serves the pages; `demo` takes an invented bike from carton to hand-over."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cyclewright.cli.common import (
    Data,
    HiddenUnits,
    Json,
    command,
    open_shop,
    print_json,
    print_table,
    say,
    system,
    table,
)
from cyclewright.errors import InputError, Problem


def register(app: typer.Typer) -> None:
    """Put these commands on the program."""
    command(app, "bench", bench)
    command(app, "devices", devices)
    command(app, "demo", demo)


def bench(
    port: Annotated[
        int,
        typer.Option(
            "--port", metavar="PORT", help="0 takes the one it had before, else a free one."
        ),
    ] = 0,
    lan: Annotated[
        bool, typer.Option("--lan", help="Answer phones on the workshop's network too.")
    ] = False,
    address: Annotated[
        list[str] | None,
        typer.Option(
            "--address",
            metavar="ADDRESS",
            help="With --lan: this private address of the machine only. May be given again.",
        ),
    ] = None,
    lan_port: Annotated[
        int, typer.Option("--lan-port", metavar="PORT", help="With --lan: where phones come in.")
    ] = 8743,
    json: Annotated[bool, typer.Option("--json", hidden=True)] = False,
    units: Annotated[str, typer.Option("--units", hidden=True)] = "trade",
    data: Data = None,
) -> None:
    """Serve the bench pages on this machine; prints their address.

    Nobody else on the network is answered, unless --lan says so: then phones that the bench lets
    in, over an encrypted connection. A bench comes back to the port it had, where browsers keep
    what was not sent yet; when that is taken it says so. Ctrl-C ends it.
    """
    from cyclewright.bench.serve import serve

    system(units)
    if address and not lan:
        raise InputError(Problem("usage", "--address", "give it together with --lan"))
    with open_shop(data) as shop:
        if not lan:
            serve(shop, port)
            return
        from cyclewright.bench.door import PhoneDoor

        serve(shop, port, door=PhoneDoor(shop, lan_port, address or ()))


def devices(
    revoke: Annotated[
        int | None, typer.Option("--revoke", metavar="NUMBER", help="Let this phone in no more.")
    ] = None,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """List the phones that were let in on the bench, or shut one out.

    A phone that was shut out is refused from its next request on, also while the bench runs.
    """
    from cyclewright.workshop import devices as use
    from cyclewright.workshop.acts import day_of

    system(units)
    with open_shop(data) as shop:
        gone = None if revoke is None else use.revoke(shop, revoke)
        found = use.devices(shop) if gone is None else (gone,)
    if json:
        print_json({"devices": [device.to_json() for device in found]})
    elif gone is not None:
        say(f"{gone.name} is let in no more.")
    elif not found:
        say("No phone was let in so far: `cyclewright bench --lan` does.")
    else:
        made = table(("", "right"), "phone", "state", "who", "let in", "last here")
        for one in found:
            days = (str(day_of(one.paired)), str(day_of(one.seen)))
            made.add_row(str(one.id), one.name, one.state, one.person or "", *days)
        print_table(made)


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
