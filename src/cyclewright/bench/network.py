"""The two doors of the bench: this machine's own, and the one for phones on the same network."""

from __future__ import annotations

from dataclasses import dataclass
from ipaddress import ip_address

PHONE_PORT = 8743


@dataclass(slots=True)
class Network:
    """The phones' door: where it stands just now, and the authority that vouches for it."""

    port: int
    addresses: tuple[str, ...]
    names: tuple[str, ...]
    authority: bytes
    """The certificate that phones install (DER)."""
    fingerprint: str

    @property
    def origin(self) -> str:
        """What a phone opens."""
        return f"https://{host(self.addresses[0], self.port, 443)}"

    @property
    def hosts(self) -> frozenset[str]:
        """The Host headers this door answers to."""
        return frozenset(host(item, self.port, 443) for item in (*self.addresses, *self.names))


def host(name: str, port: int, usual: int) -> str:
    """A Host header: IPv6 in brackets, the usual port left out."""
    try:
        named = f"[{name}]" if ip_address(name).version == 6 else name
    except ValueError:
        named = name
    return named if port == usual else f"{named}:{port}"


def loopback_hosts(port: int) -> frozenset[str]:
    """The Host headers the door of this machine answers to."""
    return frozenset(host(name, port, 80) for name in ("127.0.0.1", "localhost", "::1"))
