"""The phones' door for real: encrypted on a faked address of the network, following its changes."""

from __future__ import annotations

import asyncio
import signal
import socket
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest

from bench.conftest import PORT, TOKEN
from cyclewright.bench.app import create_app
from cyclewright.bench.door import PhoneDoor
from cyclewright.bench.network import Network
from cyclewright.cli.main import run
from cyclewright.errors import InputError, Refusal
from cyclewright.workshop import lan
from cyclewright.workshop.shop import Shop

MINUTE = 60.0
"""Seconds after which something hangs; no busy machine is as slow as that."""

HERE, THERE = "127.0.0.2", "127.0.0.3"
HUMAN = {"accept": "text/html"}


@contextmanager
def standing(door: PhoneDoor, shop: Shop) -> Iterator[None]:
    """The door, open while the block runs."""
    over = threading.Event()
    app = create_app(shop, TOKEN, PORT, door.network)
    serving = threading.Thread(target=lambda: asyncio.run(door.keep(app, over.is_set)))
    serving.start()
    try:
        yield
    finally:
        over.set()
        serving.join(MINUTE)
        assert not serving.is_alive()


def trusting(shop: Shop) -> ssl.SSLContext:
    """What a phone that installed the authority believes."""
    found = ssl.create_default_context()
    found.load_verify_locations(cadata=lan.authority(shop).der)
    return found


def shown(address: str, port: int, trusted: ssl.SSLContext) -> bytes:
    """The certificate that is shown to somebody who checks it."""
    with (
        socket.create_connection((address, port), timeout=MINUTE) as plain,
        trusted.wrap_socket(plain, server_hostname=address) as secure,
    ):
        return secure.getpeercert(binary_form=True) or b""


def until(true: Callable[[], bool]) -> None:
    """Wait for it, a minute at most."""
    end = time.monotonic() + MINUTE
    while not true():
        assert time.monotonic() < end
        time.sleep(0.02)


@pytest.fixture
def door(shop: Shop) -> Iterator[PhoneDoor]:
    made = PhoneDoor(shop, 0, (HERE,))
    yield made
    made.close()


def test_a_phone_with_the_authority_comes_in_without_a_warning(shop: Shop, door: PhoneDoor) -> None:
    with (
        standing(door, shop),
        httpx.Client(verify=trusting(shop), timeout=MINUTE, headers=HUMAN) as phone,
    ):
        answer = phone.get(f"{door.network.origin}/bikes/1")
        assert answer.status_code == 401
        assert "Let this phone in" in answer.text
        assert "server" not in answer.headers
        authority = phone.get(f"{door.network.origin}/trust/authority.crt")
        assert authority.content == lan.authority(shop).der
        assert authority.headers["content-type"] == "application/x-x509-ca-cert"
        page = phone.get(f"{door.network.origin}/trust").text
        assert lan.authority(shop).fingerprint in page


def test_a_phone_without_it_is_warned_and_can_go_on(shop: Shop, door: PhoneDoor) -> None:
    with standing(door, shop):
        with pytest.raises(httpx.ConnectError, match="CERTIFICATE_VERIFY_FAILED"):
            httpx.get(f"{door.network.origin}/trust")
        page = httpx.get(
            f"{door.network.origin}/trust", verify=False, timeout=MINUTE, headers=HUMAN
        )
        assert "keep the page open" in page.text


def test_nothing_is_told_to_who_does_not_encrypt_or_speaks_old(shop: Shop, door: PhoneDoor) -> None:
    with standing(door, shop):
        with pytest.raises(httpx.HTTPError):
            httpx.get(f"http://{HERE}:{door.network.port}/")
        assert door.context.minimum_version == ssl.TLSVersion.TLSv1_2


@pytest.mark.parametrize("host", ["evil.example", HERE, f"127.0.0.1:{PORT}", "192.168.1.1"])
def test_only_its_own_names_are_answered(shop: Shop, door: PhoneDoor, host: str) -> None:
    with standing(door, shop):
        answer = httpx.get(
            f"{door.network.origin}/trust", verify=False, timeout=MINUTE, headers={"host": host}
        )
        assert answer.status_code == 400


def test_the_launch_token_is_worth_nothing_there(shop: Shop, door: PhoneDoor) -> None:
    with standing(door, shop):
        origin = door.network.origin
        answer = httpx.post(
            f"{origin}/launch",
            data={"token": TOKEN},
            verify=False,
            timeout=MINUTE,
            headers={"origin": origin},
        )
        assert answer.status_code == 403
        assert "set-cookie" not in answer.headers


def test_the_door_moves_when_the_address_changes(shop: Shop) -> None:
    now = [(HERE,)]
    door = PhoneDoor(shop, 0, addresses=lambda: now[0], look=0.05)
    trusted, port = trusting(shop), door.network.port
    with standing(door, shop):
        first = shown(HERE, port, trusted)
        now[0] = (THERE,)
        until(lambda: door.network.addresses == (THERE,))
        until(lambda: _answers(THERE, port))
        assert shown(THERE, port, trusted) != first
        assert not _answers(HERE, port)
        page = httpx.get(
            f"https://{THERE}:{port}/trust", verify=trusted, timeout=MINUTE, headers=HUMAN
        )
        assert page.status_code == 200
        old = httpx.get(
            f"https://{THERE}:{port}/trust",
            verify=trusted,
            timeout=MINUTE,
            headers={"host": f"{HERE}:{port}"},
        )
        assert old.status_code == 400


def _answers(address: str, port: int) -> bool:
    try:
        socket.create_connection((address, port), timeout=MINUTE).close()
    except OSError:
        return False
    return True


def test_the_door_stays_while_there_is_no_network(shop: Shop) -> None:
    found: list[tuple[str, ...]] = [(HERE,)]
    looked: list[str] = []

    def addresses() -> tuple[str, ...]:
        if not found:
            looked.append("nothing there")
            raise Refusal([])
        return found[0]

    door = PhoneDoor(shop, 0, addresses=addresses, look=0.05)
    with standing(door, shop):
        found.clear()
        until(lambda: len(looked) > 3)
        assert door.network.addresses == (HERE,)
        assert _answers(HERE, door.network.port)


def test_a_certificate_is_issued_anew_before_it_runs_out(shop: Shop) -> None:
    door = PhoneDoor(shop, 0, (HERE,), look=0.05)
    trusted, port = trusting(shop), door.network.port
    with standing(door, shop):
        first = shown(HERE, port, trusted)
        assert shown(HERE, port, trusted) == first
        door._renew_at = datetime.now(UTC)
        until(lambda: shown(HERE, port, trusted) != first)


def test_no_key_of_the_door_stays_on_the_disk(shop: Shop, door: PhoneDoor) -> None:
    keys = shop.data / "keys"
    assert {path.name for path in keys.iterdir()} <= {"authority.pem", "release.key"}
    assert door.network.fingerprint == lan.authority(shop).fingerprint


@pytest.mark.parametrize("address", ["0.0.0.0", "8.8.8.8", "::", "bench.local", "100.64.0.1"])
def test_the_bench_stands_on_private_addresses_only(address: str) -> None:
    with pytest.raises(InputError, match="does not answer on others"):
        lan.addresses((address, "192.168.1.2"))


def test_an_address_of_another_machine_is_refused(shop: Shop) -> None:
    with pytest.raises(Refusal, match="this machine has no such address"):
        PhoneDoor(shop, 0, (HERE, "10.255.255.1"))


def test_a_taken_port_names_the_option_that_chooses_another(shop: Shop, door: PhoneDoor) -> None:
    with pytest.raises(Refusal, match="choose another with --lan-port"):
        PhoneDoor(shop, door.network.port, (HERE,))


def test_without_a_network_the_way_on_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lan, "_own", lambda: ["127.0.0.1", "203.0.113.7", "fe80::1", "::1"])
    with pytest.raises(Refusal, match="join the workshop's, or name its address"):
        lan.addresses()
    monkeypatch.setattr(lan, "_own", lambda: ["192.168.1.20", "127.0.1.1", "192.168.1.20"])
    assert lan.addresses() == ("192.168.1.20",)


@pytest.mark.parametrize(
    ("name", "called"),
    [("Bench-2", ("bench-2.local",)), ("a.b.example", ("a.local",)), ("localhost", ()), ("ü", ())],
)
def test_the_machines_name(
    monkeypatch: pytest.MonkeyPatch, name: str, called: tuple[str, ...]
) -> None:
    monkeypatch.setattr(socket, "gethostname", lambda: name)
    assert lan.names() == called


def test_addresses_are_written_as_browsers_do() -> None:
    door = Network(8743, ("fd00::7", "192.168.1.2"), ("b.local",), b"", "")
    assert door.origin == "https://[fd00::7]:8743"
    assert door.hosts == {"[fd00::7]:8743", "192.168.1.2:8743", "b.local:8743"}
    assert Network(443, ("10.0.0.1",), (), b"", "").origin == "https://10.0.0.1"


def test_an_address_without_lan_is_a_mistake(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["bench", "--address", HERE, "--data", str(tmp_path)]) == 2
    assert "give it together with --lan" in capsys.readouterr().err


def test_the_command_prints_both_doors_and_ends_when_told(tmp_path: Path) -> None:
    command = ["bench", "--lan", "--address", HERE, "--lan-port", "0", "--data", str(tmp_path)]
    with subprocess.Popen(
        [sys.executable, "-m", "cyclewright.cli.main", *command],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        lines = [process.stdout.readline() for _ in range(3)]
        assert lines[0].startswith("bench: http://127.0.0.1:")
        assert lines[1].startswith(f"phones: https://{HERE}:")
        with Shop.open(tmp_path) as shop:
            assert lines[2] == f"authority: SHA-256 {lan.authority(shop).fingerprint}\n"
            port = int(lines[1].strip().rstrip("/").rpartition(":")[2])
            until(lambda: _answers(HERE, port))
            shown(HERE, port, trusting(shop))
            with socket.create_connection((HERE, port), timeout=MINUTE) as rude:
                rude.sendall(b"neither TLS nor HTTP\n")
        process.send_signal(signal.SIGINT)
        assert process.wait(MINUTE) == 130
        assert process.stderr is not None
        assert process.stderr.read() in ("", "stopped\n")
