"""Photos as evidence: re-drawn small, without position or any other hidden data.

An image file may be made to harm the program that reads it, so a child process with limits on
memory and time and nothing of our surroundings opens it, and only plain pixels come back.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
import threading

from cyclewright.errors import InputError, Problem

LARGEST = 40_000_000
"""Bytes a photo file may have."""
LONGEST_SIDE = 2048
MEDIA = "image/jpeg"
_SECONDS = 30
_MEMORY = 1_500_000_000
_KEPT = ("SYSTEMROOT",)
_turns = threading.BoundedSemaphore(2)
"""Two photos at a time: many phones at once wait their turn instead of filling the memory."""


def clean(content: bytes, field: str = "photo") -> bytes:
    """The photo as a JPEG of at most 2048 pixels a side that holds nothing but the picture."""
    if not content or len(content) > LARGEST:
        raise _refused(field, f"{len(content)} bytes")
    try:
        with _turns:
            done = subprocess.run(
                [sys.executable, "-I", "-m", "cyclewright.store.photos"],
                input=content,
                capture_output=True,
                timeout=_SECONDS,
                check=False,
                env={name: os.environ[name] for name in _KEPT if name in os.environ},
            )
    except subprocess.TimeoutExpired:
        raise _refused(field, "took too long to open") from None
    if done.returncode != 0 or not done.stdout.startswith(b"\xff\xd8"):
        raise _refused(field, "no picture this program can open")
    return done.stdout


def _refused(field: str, value: str) -> InputError:
    do = "give a photo as JPEG, PNG or WebP file of at most 40 MB"
    return InputError(Problem("not-a-photo", field, do, value=value))


def _limit() -> None:
    try:
        import resource
    except ImportError:  # no such limits on this system
        return
    resource.setrlimit(resource.RLIMIT_AS, (_MEMORY, _MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (_SECONDS, _SECONDS))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))


def _redraw(content: bytes) -> bytes:
    from PIL import Image, ImageOps

    Image.MAX_IMAGE_PIXELS = 120_000_000
    with Image.open(io.BytesIO(content), formats=("JPEG", "PNG", "WEBP", "MPO")) as image:
        upright = ImageOps.exif_transpose(image).convert("RGB")
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        plain = Image.new("RGB", upright.size)
        plain.paste(upright)
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=85)
    return out.getvalue()


def main() -> int:
    """Read a picture on standard input, write it plain on standard output."""
    _limit()
    try:
        sys.stdout.buffer.write(_redraw(sys.stdin.buffer.read()))
    except Exception:  # whatever a broken picture does, the parent says it in one sentence
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
