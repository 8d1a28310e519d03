"""The shop's own certificate authority, and the certificates the bench shows to phones.

The authority can only speak for private addresses and local names: a phone that trusts it trusts
nobody on the internet the more for it. Its key never leaves the data folder.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Network, IPv6Network, ip_address, ip_network
from pathlib import Path
from typing import TYPE_CHECKING

from cyclewright.errors import Integrity, Problem
from cyclewright.store.database import make_folder, sync_folder

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.x509 import Certificate, CertificateBuilder, ExtensionType, Name

FILE = "authority.pem"
PRIVATE: tuple[IPv4Network | IPv6Network, ...] = tuple(
    ip_network(text)
    for text in (
        "127.0.0.0/8",
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "169.254.0.0/16",
        "::1/128",
        "fc00::/7",
        "fe80::/10",
    )
)
"""Loopback (RFC 1122, 4291), private (RFC 1918, 4193) and link-local (RFC 3927, 4291)."""
LOCAL_NAMES = ("localhost", "local")
"""Names that no public registry gives out (RFC 6761, 6762)."""
AUTHORITY_LASTS = timedelta(days=5 * 365)
CERTIFICATE_LASTS = timedelta(days=7)
EARLIER = timedelta(days=1)
"""How far a phone's clock may be behind."""


@dataclass(frozen=True, slots=True)
class Authority:
    """The shop's authority; phones install the certificate, the key stays here."""

    certificate: Certificate
    key: EllipticCurvePrivateKey

    @property
    def der(self) -> bytes:
        """The certificate as phones install it."""
        from cryptography.hazmat.primitives.serialization import Encoding

        return self.certificate.public_bytes(Encoding.DER)

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate, as phones show it."""
        from cryptography.hazmat.primitives.hashes import SHA256

        return self.certificate.fingerprint(SHA256()).hex(":").upper()


@dataclass(frozen=True, slots=True)
class Issued:
    """A certificate of the bench with its key, both as PEM, and how long it holds."""

    certificate: bytes
    key: bytes
    until: datetime


def is_private(address: str) -> bool:
    """Whether an address is one that the authority may speak for."""
    try:
        found = ip_address(address)
    except ValueError:
        return False
    return any(found in network for network in PRIVATE if network.version == found.version)


def authority(folder: Path, now: datetime) -> Authority:
    """The authority of a folder of keys, made when there is none or when it runs out."""
    place = folder / FILE
    try:
        if not place.exists():
            _keep(place, _make(now), first=True)
        _check_closed(place)
        found = _read(place)
        if found.certificate.not_valid_after_utc <= now + CERTIFICATE_LASTS:
            _keep(place, _make(now), first=False)
            found = _read(place)
    except (OSError, ValueError) as error:
        do = "the phones' authority cannot be read: restore it, or delete it and pair phones anew"
        raise Integrity(Problem("authority", str(place), do)) from error
    return found


def issue(by: Authority, addresses: Sequence[str], names: Sequence[str], now: datetime) -> Issued:
    """A certificate for these addresses and names that holds a week."""
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        NoEncryption,
        PrivateFormat,
    )
    from cryptography.x509.oid import ExtendedKeyUsageOID

    key = ec.generate_private_key(ec.SECP256R1())
    until = min(now + CERTIFICATE_LASTS, by.certificate.not_valid_after_utc)
    told = [x509.IPAddress(ip_address(item)) for item in addresses]
    called = [x509.DNSName(item) for item in names]
    extensions: list[tuple[ExtensionType, bool]] = [
        (x509.SubjectAlternativeName([*told, *called]), False),
        (x509.BasicConstraints(ca=False, path_length=None), True),
        (_usage(signs=False), True),
        (x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), False),
        (x509.AuthorityKeyIdentifier.from_issuer_public_key(by.key.public_key()), False),
    ]
    builder = _builder(_name("Cyclewright bench"), by.certificate.subject, now, until)
    made = _signed(builder.public_key(key.public_key()), extensions, by.key)
    text = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return Issued(made.public_bytes(Encoding.PEM), text, until)


def _make(now: datetime) -> Authority:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID

    key = ec.generate_private_key(ec.SECP256R1())
    public = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    name = _name(f"Cyclewright workshop {public.digest.hex()[:8]}")
    permitted: list[x509.GeneralName] = [x509.IPAddress(network) for network in PRIVATE]
    permitted += [x509.DNSName(suffix) for suffix in LOCAL_NAMES]
    extensions: list[tuple[ExtensionType, bool]] = [
        (x509.BasicConstraints(ca=True, path_length=0), True),
        (_usage(signs=True), True),
        (x509.NameConstraints(permitted, None), True),
        (x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), False),
        (public, False),
    ]
    builder = _builder(name, name, now, now + AUTHORITY_LASTS).public_key(key.public_key())
    return Authority(_signed(builder, extensions, key), key)


def _builder(subject: Name, issuer: Name, now: datetime, until: datetime) -> CertificateBuilder:
    from cryptography import x509

    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - EARLIER)
        .not_valid_after(until)
    )


def _signed(
    builder: CertificateBuilder,
    extensions: Sequence[tuple[ExtensionType, bool]],
    key: EllipticCurvePrivateKey,
) -> Certificate:
    from cryptography.hazmat.primitives.hashes import SHA256

    for extension, critical in extensions:
        builder = builder.add_extension(extension, critical)
    return builder.sign(key, SHA256())


def _name(text: str) -> Name:
    from cryptography import x509
    from cryptography.x509.oid import NameOID

    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


def _usage(signs: bool) -> ExtensionType:
    from cryptography import x509

    return x509.KeyUsage(
        digital_signature=not signs,
        key_cert_sign=signs,
        crl_sign=signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _read(place: Path) -> Authority:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    content = place.read_bytes()
    key = load_pem_private_key(content, None)
    certificate = x509.load_pem_x509_certificate(content)
    if not isinstance(key, EllipticCurvePrivateKey):
        raise ValueError("another kind of key")
    if certificate.public_key() != key.public_key():
        raise ValueError("key and certificate do not belong together")
    return Authority(certificate, key)


def _check_closed(place: Path) -> None:
    """A key that others on this machine can read is no longer a secret."""
    if os.name == "posix" and place.stat().st_mode & 0o077:
        do = (
            "others on this machine can read it: delete it, start again, and have phones install "
            "the new one"
        )
        raise Integrity(Problem("authority-open", str(place), do))


def _keep(place: Path, made: Authority, first: bool) -> None:
    """Key and certificate in one file, for this user only, whole or not at all."""
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        NoEncryption,
        PrivateFormat,
    )

    make_folder(place.parent)
    key = made.key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    temporary = place.with_name(f".{FILE}.{os.getpid()}")
    temporary.unlink(missing_ok=True)
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(key + made.certificate.public_bytes(Encoding.PEM))
        file.flush()
        os.fsync(file.fileno())
    try:
        if first:
            os.link(temporary, place)
            temporary.unlink()
        else:
            temporary.replace(place)
    except FileExistsError:  # another program was first: its authority is the one
        temporary.unlink()
    sync_folder(place.parent)
