"""The workshop's own network: which addresses the bench has there, and who vouches for it."""

from __future__ import annotations

import re
import socket
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from cyclewright.errors import InputError, Problem, refusal

if TYPE_CHECKING:
    from cyclewright.store.certificates import Authority, Issued
    from cyclewright.workshop.shop import Shop

_PROBES = ("10.255.255.254", "172.31.255.254", "192.168.255.254", "169.254.255.254", "fd00::1")
"""Far ends of the private networks: the route there names our address; nothing is sent."""
_LABEL = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")


def addresses(wanted: Sequence[str] = ()) -> tuple[str, ...]:
    """This machine's private addresses, or those wanted; others the bench does not answer on."""
    from cyclewright.store.certificates import is_private

    if wrong := [item for item in wanted if not is_private(item)]:
        do = (
            "give an address of this machine on the workshop's own network, like 192.168.1.20: "
            "the bench does not answer on others"
        )
        raise InputError([Problem("address", "--address", do, item) for item in wrong])
    if wanted:
        return tuple(dict.fromkeys(wanted))
    found = [item for item in _own() if is_private(item)]
    apart = ("127.", "::1", "169.254.", "fe80:")
    kept = tuple(item for item in dict.fromkeys(found) if not item.startswith(apart))
    if not kept:
        raise refusal(
            "no-network",
            "--lan",
            "this machine is on no private network: join the workshop's, or name its address "
            "with --address",
        )
    return kept


def names() -> tuple[str, ...]:
    """The name by which others on the network may find this machine, if it is a plain one."""
    name = socket.gethostname().partition(".")[0].lower()
    return (f"{name}.local",) if _LABEL.fullmatch(name) and name != "localhost" else ()


def authority(shop: Shop) -> Authority:
    """The authority that phones install, made at the first asking."""
    from cyclewright.store import certificates

    return certificates.authority(shop.data / "keys", datetime.now(UTC))


def certificate(shop: Shop, on: Sequence[str], called: Sequence[str]) -> Issued:
    """A short-lived certificate of the bench for these addresses and names."""
    from cyclewright.store import certificates

    return certificates.issue(authority(shop), on, called, datetime.now(UTC))


def _own() -> list[str]:
    """Every address by which this machine reaches a private network or calls itself."""
    found: list[str] = []
    for probe in _PROBES:
        family = socket.AF_INET6 if ":" in probe else socket.AF_INET
        with socket.socket(family, socket.SOCK_DGRAM) as asking:
            try:
                asking.connect((probe, 9))
                found.append(asking.getsockname()[0])
            except OSError:
                continue
    try:
        known = socket.getaddrinfo(socket.gethostname(), None, type=socket.SOCK_STREAM)
    except OSError:
        return found
    return found + [str(item[4][0]) for item in known]
