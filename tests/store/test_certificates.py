"""The phones' authority: for private addresses only, its key for nobody else, short certificates.

Whether a certificate is believed is asked of OpenSSL, in a handshake on loopback.
"""

from __future__ import annotations

import os
import ssl
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from cyclewright.errors import Integrity
from cyclewright.store import certificates
from cyclewright.store.certificates import Authority, Issued, authority, is_private, issue

NOW = datetime.now(UTC).replace(microsecond=0)


@pytest.fixture
def made(tmp_path: Path) -> Authority:
    return authority(tmp_path / "keys", NOW)


def _believes(trusted: Authority, shown: Issued, host: str, folder: Path) -> str:
    """What a client that trusts the authority says of a handshake: nothing, or why not."""
    chain = folder / "chain.pem"
    chain.write_bytes(shown.certificate + shown.key)
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(chain)
    client = ssl.create_default_context(
        cadata=trusted.certificate.public_bytes(Encoding.PEM).decode()
    )
    pipes = [ssl.MemoryBIO() for _ in range(4)]
    here = client.wrap_bio(pipes[0], pipes[1], server_hostname=host)
    there = server.wrap_bio(pipes[2], pipes[3], server_side=True)
    for _ in range(4):
        for side in (here, there):
            try:
                side.do_handshake()
            except ssl.SSLWantReadError:
                pass
            except ssl.SSLCertVerificationError as error:
                return error.verify_message
            pipes[2].write(pipes[1].read())
            pipes[0].write(pipes[3].read())
    return ""


@pytest.mark.parametrize("host", ["127.0.0.2", "192.168.7.9", "fd00::7", "bench.local"])
def test_a_phone_that_trusts_the_authority_believes_the_bench(
    made: Authority, tmp_path: Path, host: str
) -> None:
    shown = issue(made, ("127.0.0.2", "192.168.7.9", "fd00::7"), ("bench.local",), NOW)
    assert _believes(made, shown, host, tmp_path) == ""
    assert "mismatch" in _believes(made, shown, "192.168.7.10", tmp_path)


@pytest.mark.parametrize("host", ["8.8.8.8", "2001:4860::1", "shop.example", "local.example"])
def test_it_cannot_speak_for_the_internet(made: Authority, tmp_path: Path, host: str) -> None:
    named = () if ":" in host or host[0].isdigit() else (host,)
    shown = issue(made, () if named else (host,), named, NOW)
    assert _believes(made, shown, host, tmp_path) == "permitted subtree violation"


def test_it_makes_no_further_authorities(made: Authority) -> None:
    constraints = made.certificate.extensions.get_extension_for_class(x509.BasicConstraints)
    assert constraints.critical
    assert constraints.value.path_length == 0
    names = made.certificate.extensions.get_extension_for_class(x509.NameConstraints)
    assert names.critical


def test_a_certificate_is_short_lived(made: Authority, tmp_path: Path) -> None:
    shown = issue(made, ("127.0.0.2",), (), NOW)
    assert shown.until - NOW == timedelta(days=7)
    old = issue(made, ("127.0.0.2",), (), NOW - timedelta(days=8))
    assert _believes(made, old, "127.0.0.2", tmp_path) == "certificate has expired"


def test_the_same_authority_is_found_again_and_only_its_owner_reads_it(
    made: Authority, tmp_path: Path
) -> None:
    place = tmp_path / "keys" / certificates.FILE
    assert place.stat().st_mode & 0o777 == 0o600
    assert [item.name for item in place.parent.iterdir()] == [certificates.FILE]
    assert authority(tmp_path / "keys", NOW).fingerprint == made.fingerprint
    assert len(made.fingerprint) == 95


def test_a_key_that_others_can_read_is_not_used(made: Authority, tmp_path: Path) -> None:
    place = tmp_path / "keys" / certificates.FILE
    place.chmod(0o640)
    with pytest.raises(Integrity, match="others on this machine can read it: delete it"):
        authority(tmp_path / "keys", NOW)


def test_a_damaged_authority_says_what_to_do(made: Authority, tmp_path: Path) -> None:
    place = tmp_path / "keys" / certificates.FILE
    os.truncate(place, 100)
    with pytest.raises(Integrity, match="restore it, or delete it and pair phones anew"):
        authority(tmp_path / "keys", NOW)


def test_key_and_certificate_of_two_authorities_are_not_mixed(
    made: Authority, tmp_path: Path
) -> None:
    place = tmp_path / "keys" / certificates.FILE
    other = authority(tmp_path / "other", NOW)
    key = place.read_bytes().partition(b"-----BEGIN CERTIFICATE-----")[0]
    place.write_bytes(key + other.certificate.public_bytes(Encoding.PEM))
    with pytest.raises(Integrity, match="cannot be read"):
        authority(tmp_path / "keys", NOW)


def test_one_that_runs_out_is_replaced(tmp_path: Path) -> None:
    old = authority(tmp_path, NOW - certificates.AUTHORITY_LASTS)
    new = authority(tmp_path, NOW)
    assert new.fingerprint != old.fingerprint
    assert authority(tmp_path, NOW).fingerprint == new.fingerprint


@pytest.mark.parametrize(
    ("address", "private"),
    [
        ("10.0.0.1", True),
        ("172.16.0.1", True),
        ("172.32.0.1", False),
        ("192.168.1.1", True),
        ("127.0.0.2", True),
        ("169.254.3.4", True),
        ("100.64.0.1", False),
        ("0.0.0.0", False),
        ("fd12::1", True),
        ("::1", True),
        ("2001:db8::1", False),
        ("::ffff:192.168.1.1", False),
        ("bench.local", False),
        ("", False),
    ],
)
def test_private_addresses(address: str, private: bool) -> None:
    assert is_private(address) is private
