"""Run the bench on this machine, for phones on the network too when asked, and print where."""

from __future__ import annotations

import asyncio
import secrets
import socket
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

from cyclewright.errors import Problem, Refusal

if TYPE_CHECKING:
    import uvicorn
    from fastapi import FastAPI

    from cyclewright.bench.door import PhoneDoor
    from cyclewright.workshop.shop import Shop

LOOPBACK = "127.0.0.1"
PATIENCE = 3
"""Seconds that open connections are given when the bench stops."""


def serve(
    shop: Shop,
    port: int = 0,
    open_browser: bool = False,
    say: Callable[[str], None] | None = None,
    door: PhoneDoor | None = None,
) -> None:
    """Serve until stopped; prints one line, `bench: http://127.0.0.1:PORT/#TOKEN`.

    With a `door` for phones two more lines: where it is, and the authority's fingerprint.
    """
    from cyclewright.bench.app import create_app

    listener = listen(port)
    port = listener.getsockname()[1]
    token = secrets.token_urlsafe(24)
    address = f"http://127.0.0.1:{port}/#{token}"
    said = say or _say
    said(f"bench: {address}")
    if door is not None:
        said(f"phones: {door.network.origin}/")
        said(f"authority: SHA-256 {door.network.fingerprint}")
    if open_browser:
        import webbrowser

        webbrowser.open(address)
    app = create_app(shop, token, port, None if door is None else door.network)
    with listener:
        asyncio.run(_run(app, listener, door))


async def _run(app: FastAPI, listener: socket.socket, door: PhoneDoor | None) -> None:
    import uvicorn

    server = uvicorn.Server(config(app))
    if door is None:
        await server.serve(sockets=[listener])
        return
    keeping = asyncio.create_task(door.keep(app, lambda: server.should_exit))
    try:
        await server.serve(sockets=[listener])
    finally:
        server.should_exit = True
        await keeping


def config(app: FastAPI, **more: object) -> uvicorn.Config:
    """How every door is served: no log of requests, no word of what serves it."""
    import uvicorn

    settled: dict[str, object] = {
        "log_level": "warning",
        "access_log": False,
        "server_header": False,
        "proxy_headers": False,
        "timeout_graceful_shutdown": PATIENCE,
    }
    return uvicorn.Config(app, **(settled | more))  # type: ignore[arg-type]


def listen(port: int, address: str = LOOPBACK) -> socket.socket:
    """A listening socket on one address; port 0 takes a free one."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    # Named TCP, so that asyncio sends small answers at once instead of waiting for more.
    listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((address, port))
        listener.listen(128)
    except OSError as error:
        listener.close()
        raise _not_taken(address, port, error) from error
    return listener


def _not_taken(address: str, port: int, error: OSError) -> Refusal:
    import errno

    if error.errno == errno.EADDRNOTAVAIL:
        do = "this machine has no such address: leave --address out, or give one that it has"
        return Refusal(Problem("no-such-address", "address", do, value=address))
    other = ", or leave --port out for a free one" if address == LOOPBACK else " with --lan-port"
    do = f"another program uses this port: choose another{other}"
    return Refusal(Problem("port-taken", "port", do, value=str(port)))


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()
