"""The key a release signs the head with; it lies outside the database."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from cyclewright.errors import Integrity, Problem
from cyclewright.store.database import make_folder, sync_folder

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey


def sign(folder: Path, message: bytes) -> tuple[str, str]:
    """Public key and Ed25519 signature, both as hexadecimal text; makes the key once."""
    key = _key(folder)
    return key.public_key().public_bytes_raw().hex(), key.sign(message).hex()


def own_public_key(folder: Path) -> str | None:
    """The public key of this data folder, or None before its first release."""
    if not (folder / "release.key").exists():
        return None
    return _key(folder).public_key().public_bytes_raw().hex()


def valid(public: str, signature: str, message: bytes) -> bool:
    """Whether the signature over the message was made with the key of that public half."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public))
        key.verify(bytes.fromhex(signature), message)
    except (InvalidSignature, ValueError):
        return False
    return True


def _key(folder: Path) -> Ed25519PrivateKey:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    place = folder / "release.key"
    try:
        if not place.exists():
            _make(place, Ed25519PrivateKey.generate().private_bytes_raw().hex())
        return Ed25519PrivateKey.from_private_bytes(bytes.fromhex(place.read_text("ascii")))
    except (OSError, ValueError, UnicodeDecodeError) as error:
        raise Integrity(
            Problem("release-key", str(place), "the key cannot be used: restore it from a backup")
        ) from error


def _make(place: Path, text: str) -> None:
    """The key file, for this user only, whole or not at all; the first of two makers wins."""
    make_folder(place.parent)
    temporary = place.with_name(f".release.key.{os.getpid()}")
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    try:
        os.link(temporary, place)
    except FileExistsError:
        pass
    finally:
        temporary.unlink()
    sync_folder(place.parent)
