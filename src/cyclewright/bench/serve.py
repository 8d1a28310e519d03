"""Run the bench on this machine, for phones on the network too when asked, and print where."""

from __future__ import annotations

import asyncio
import secrets
import socket
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cyclewright.errors import Problem, Refusal

if TYPE_CHECKING:
    import uvicorn
    from fastapi import FastAPI

    from cyclewright.bench.door import PhoneDoor
    from cyclewright.workshop.shop import Shop

LOOPBACK = "127.0.0.1"
KEEP_ALIVE = 75
"""How long a connection may rest [s]: one closed just as it is used again is an answer lost."""
PATIENCE = 3
"""Seconds that open connections are given when the bench stops."""
PORTS = "ports.txt"
"""File in the data folder: the ports that its benches had."""
MOST_PORTS = 8
MOST_CONNECTIONS = 200
"""Connections that one door has at once."""
FILES = 2048
"""Open files that the bench asks its system for: some give too few by default."""


def serve(
    shop: Shop,
    port: int = 0,
    say: Callable[[str], None] | None = None,
    door: PhoneDoor | None = None,
) -> None:
    """Serve until stopped; prints one line, `bench: http://127.0.0.1:PORT/#TOKEN`.

    Port 0 is the one this data folder's bench had before, else a free one. With a `door` for
    phones two more lines: where it is, and the authority's fingerprint.
    """
    from cyclewright.bench.app import create_app
    from cyclewright.bench.warm import warming

    _room()
    listener, moved = settle(shop.data, port)
    port = listener.getsockname()[1]
    token = secrets.token_urlsafe(24)
    said = say or _say
    said(f"bench: http://127.0.0.1:{port}/#{token}")
    if door is not None:
        said(f"phones: {door.network.origin}/")
        said(f"authority: SHA-256 {door.network.fingerprint}")
    if moved:
        said(moved)
    app = create_app(shop, token, port, None if door is None else door.network)
    with listener, warming(shop):
        asyncio.run(_run(app, listener, door))


def _room() -> None:
    """Room for both doors' connections beside the record's own files."""
    with suppress(ImportError, OSError, ValueError):
        import resource

        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        wanted = FILES if hard == resource.RLIM_INFINITY else min(FILES, hard)
        if soft != resource.RLIM_INFINITY and soft < wanted:
            resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))


async def _run(app: FastAPI, listener: socket.socket, door: PhoneDoor | None) -> None:
    import uvicorn

    server = uvicorn.Server(config(app))
    app.state.leaving = lambda: server.should_exit
    if door is None:
        await server.serve(sockets=[listener])
        return
    keeping = asyncio.create_task(door.keep(app, lambda: server.should_exit))
    try:
        await server.serve(sockets=[listener])
    finally:
        server.should_exit = True
        try:
            await asyncio.shield(keeping)
        except asyncio.CancelledError:  # stopped by hand: the phones' door closes first
            await keeping
            raise


def config(app: FastAPI, **more: object) -> uvicorn.Config:
    """How every door is served: no log of requests, no word of what serves it."""
    import logging

    import uvicorn

    logging.getLogger("python_multipart").setLevel(logging.CRITICAL)
    settled: dict[str, object] = {
        "log_level": "error",  # whoever knocks wrongly does not fill the terminal
        "access_log": False,
        "ws": "none",
        "server_header": False,
        "proxy_headers": False,
        "timeout_keep_alive": KEEP_ALIVE,
        "timeout_graceful_shutdown": PATIENCE,
    }
    return uvicorn.Config(app, **(settled | more))  # type: ignore[arg-type]


def settle(folder: Path, port: int = 0) -> tuple[socket.socket, str]:
    """A listening socket where this folder's bench was before, and what to say if it is not.

    What a browser keeps unsent it keeps for one port. So a bench comes back to its port; a second
    one beside it has the next of the list. A port that was asked for is first from then on.
    """
    before = _ports(folder)
    for known in [port] if port else before:
        try:
            listener = listen(known)
        except Refusal:
            if port:
                raise
        else:
            break
    else:
        listener = listen(0)
    now = listener.getsockname()[1]
    _keep_ports(folder, [now, *before] if port else [*before, now])
    if not before or now == before[0]:
        return listener, ""
    return listener, f"note: this bench was on port {before[0]} before. {_WAITS}"


_WAITS = (
    "What a browser kept unsent there is sent when the bench is on that port again, or is carried "
    "over: save it there as a file, and choose that here under Entries from a file."
)


def _ports(folder: Path) -> list[int]:
    """The ports that this folder's benches had, the first one first."""
    try:
        lines = (folder / PORTS).read_text("ascii").split()
    except (OSError, ValueError):
        return []
    return [int(line) for line in lines if line.isdecimal() and 1024 <= int(line) < 65536]


def _keep_ports(folder: Path, ports: Sequence[int]) -> None:
    """Remember them for the next start; a folder that cannot be written is told elsewhere."""
    with suppress(OSError):
        text = "".join(f"{port}\n" for port in list(dict.fromkeys(ports))[:MOST_PORTS])
        (folder / PORTS).write_text(text, "ascii")


class Listener(socket.socket):
    """A listening socket that has so many connections at once, and so many of one address.

    What comes beyond is let go at once: each would take one of the files that everybody needs.
    """

    def __init__(self, family: int, each: int) -> None:
        # Named TCP, so that asyncio sends small answers at once instead of waiting for more.
        super().__init__(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        self._each = each
        self._held: dict[socket.socket, str] = {}

    def accept(self) -> tuple[socket.socket, Any]:
        """The next connection."""
        taken, address = super().accept()
        self._held = {one: its for one, its in self._held.items() if one.fileno() >= 0}
        whose = list(self._held.values())
        if len(whose) >= MOST_CONNECTIONS or whose.count(address[0]) >= self._each:
            taken.close()
            raise ConnectionAbortedError
        self._held[taken] = address[0]
        return taken, address


def listen(port: int, address: str = LOOPBACK, each: int = MOST_CONNECTIONS) -> Listener:
    """A listening socket on one address; port 0 takes a free one."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    listener = Listener(family, each)
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
