"""The phones' door: encrypted, on private addresses only, and it follows when they change."""

from __future__ import annotations

import asyncio
import ssl
import tempfile
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, nullcontext
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import uvicorn

from cyclewright.bench.network import PHONE_PORT, Network
from cyclewright.bench.serve import MOST_CONNECTIONS, config, listen
from cyclewright.errors import CyclewrightError
from cyclewright.workshop import lan

if TYPE_CHECKING:
    import socket

    from fastapi import FastAPI

    from cyclewright.workshop.shop import Shop

LOOK = 10.0
"""Seconds between two looks at this machine's addresses."""
EACH = 100
"""Connections that one address may have at once: more than a shop's phones behind one router."""


class PhoneDoor:
    """Listens on the machine's private addresses with a certificate that is always fresh."""

    def __init__(
        self,
        shop: Shop,
        port: int = PHONE_PORT,
        wanted: Sequence[str] = (),
        addresses: Callable[[], tuple[str, ...]] | None = None,
        look: float = LOOK,
    ) -> None:
        self._shop = shop
        self._addresses = addresses or (lambda: lan.addresses(wanted))
        self._look = look
        found = self._addresses()
        self._open: dict[str, socket.socket] = {}
        try:
            for address in found:
                self._open[address] = listen(port, address, EACH)
                port = self._open[address].getsockname()[1]
        except CyclewrightError:
            self.close()
            raise
        authority = lan.authority(shop)
        names = lan.names()
        self.network = Network(port, found, names, authority.der, authority.fingerprint)
        self.context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.context.minimum_version = ssl.TLSVersion.TLSv1_2
        self._servers: dict[str, tuple[uvicorn.Server, asyncio.Task[None]]] = {}
        self.renew()

    def close(self) -> None:
        """Let go of the addresses; needed only where nobody was served."""
        for listener in self._open.values():
            listener.close()

    def renew(self) -> None:
        """A new certificate for the addresses of now; who connects from here on gets it.

        Certificate and key are changed one after the other, so this runs where connections are
        made, and none of them is made in between.
        """
        issued = lan.certificate(self._shop, self.network.addresses, self.network.names)
        with tempfile.TemporaryDirectory() as folder:
            chain = Path(folder) / "chain.pem"
            chain.touch(mode=0o600)
            chain.write_bytes(issued.certificate + issued.key)
            self.context.load_cert_chain(chain)
        now = datetime.now(UTC)
        self._renew_at = now + (issued.until - now) / 2

    async def keep(self, app: FastAPI, over: Callable[[], bool]) -> None:
        """Serve until it is over, on whatever private addresses this machine has."""
        for address, listener in self._open.items():
            self._start(app, address, listener)
        waited = 0.0
        try:
            while not over():
                await asyncio.sleep(pause := min(0.2, self._look))
                waited += pause
                if waited >= self._look:
                    waited = 0.0
                    await self.follow(app)
        finally:
            for server, task in self._servers.values():
                server.should_exit = True
                await task

    async def follow(self, app: FastAPI) -> None:
        """Look at the addresses and the certificate, and put right what has changed."""
        try:
            found = await asyncio.to_thread(self._addresses)
        except CyclewrightError:  # for the moment on no network: stay where we were
            found = self.network.addresses
        strange = [item for item in found if item not in self._servers]
        new = {item: made for item in strange if (made := self._at(item)) is not None}
        stay = tuple(item for item in found if item in self._servers or item in new)
        if stay and stay != self.network.addresses:
            for address in set(self._servers) - set(stay):
                server, task = self._servers.pop(address)
                server.should_exit = True
                await task
            self.network.addresses = stay
            self.renew()
        elif datetime.now(UTC) >= self._renew_at:
            self.renew()
        for address, listener in new.items():
            self._start(app, address, listener)

    def _at(self, address: str) -> socket.socket | None:
        """A socket at a new address, None while it cannot be had."""
        try:
            return listen(self.network.port, address, EACH)
        except CyclewrightError:
            return None

    def _start(self, app: FastAPI, address: str, listener: socket.socket) -> None:
        made = config(
            app,
            lifespan="off",
            limit_concurrency=MOST_CONNECTIONS,
            ssl_context_factory=lambda *_: self.context,
        )
        server = _Server(made)
        serving = server.serve(sockets=[listener])
        self._servers[address] = (server, asyncio.create_task(serving))


class _Server(uvicorn.Server):
    """A server that leaves signals to the one of the bench's own door."""

    def capture_signals(self) -> AbstractContextManager[None]:  # type: ignore[override]
        """Listen to none."""
        return nullcontext()
