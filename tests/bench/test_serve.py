"""The bench takes a free port, or says that the wanted one is taken."""

from __future__ import annotations

import socket

import pytest

from cyclewright.bench.serve import listen
from cyclewright.errors import Refusal


def test_a_free_port_is_on_loopback_only() -> None:
    with listen(0) as listener:
        assert listener.getsockname()[0] == "127.0.0.1"


def test_a_taken_port_is_refused_with_what_to_do() -> None:
    with listen(0) as listener, pytest.raises(Refusal, match="another program uses this port"):
        listen(listener.getsockname()[1])


def test_small_answers_are_sent_at_once() -> None:
    """Without this a page waits 40 ms for the browser to confirm its head."""
    with listen(0) as listener:
        assert listener.proto == socket.IPPROTO_TCP
