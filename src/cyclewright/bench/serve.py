"""Run the bench on this machine and print its address."""

from __future__ import annotations

import secrets
import socket
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

from cyclewright.errors import Problem, Refusal

if TYPE_CHECKING:
    from cyclewright.workshop.shop import Shop


def serve(
    shop: Shop,
    port: int = 0,
    open_browser: bool = False,
    say: Callable[[str], None] | None = None,
) -> None:
    """Serve until stopped; prints one line, `bench: http://127.0.0.1:PORT/#TOKEN`."""
    import uvicorn

    from cyclewright.bench.app import create_app

    listener = listen(port)
    port = listener.getsockname()[1]
    token = secrets.token_urlsafe(24)
    address = f"http://127.0.0.1:{port}/#{token}"
    (say or _say)(f"bench: {address}")
    if open_browser:
        import webbrowser

        webbrowser.open(address)
    config = uvicorn.Config(
        create_app(shop, token, port),
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=1,
    )
    with listener:
        uvicorn.Server(config).run(sockets=[listener])


def listen(port: int) -> socket.socket:
    """A listening socket on loopback; port 0 takes a free one."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(("127.0.0.1", port))
        listener.listen(128)
    except OSError as error:
        listener.close()
        do = "another program uses this port: choose another, or leave --port out for a free one"
        raise Refusal(Problem("port-taken", "port", do, value=str(port))) from error
    return listener


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()
