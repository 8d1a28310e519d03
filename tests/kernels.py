"""Processors that this one can stand in for, so that sums are tried as other machines take them.

Three libraries pick their code by the processor: OpenBLAS (once in NumPy's wheel, once in
SciPy's), NumPy's own loops, and the C library's sines and powers. Each can be told to use what an
older processor would have; one that is told to use more than the processor has kills the process.
"""

from __future__ import annotations

import hashlib
import json
import math
import os
import platform
import re
import subprocess
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

CPU = Path("/proc/cpuinfo")
SIMD = {"X86_V3", "AVX", "F16C", "FMA3", "AVX2", "BMI", "BMI2", "LZCNT", "MOVBE"}
"""What NumPy's loops may keep with AVX2 and without AVX-512, by their old and new names."""


@dataclass(frozen=True, slots=True)
class Kernel:
    """A processor to stand in for."""

    name: str
    """As `OPENBLAS_CORETYPE` calls it."""
    needs: frozenset[str]
    """What the processor must have, as its flags are called in `/proc/cpuinfo`."""
    simd: frozenset[str] = frozenset()
    """What NumPy's loops keep."""
    libm: str = ""
    """What the C library is told to leave."""


_NO_FMA = "glibc.cpu.hwcaps=-AVX512F,-AVX512VL,-AVX2,-FMA,-FMA4"
KERNELS = {
    kernel.name: kernel
    for kernel in (
        Kernel("Sandybridge", frozenset({"avx"}), libm=_NO_FMA),
        Kernel("Haswell", frozenset({"avx2", "fma"}), frozenset(SIMD)),
    )
}  # fmt: skip


def flags() -> frozenset[str]:
    """What this processor says it has; nothing where it cannot be asked."""
    found = re.search(r"^flags\s*:(.*)$", CPU.read_text(), re.M) if CPU.exists() else None
    return frozenset(found[1].split()) if found else frozenset()


def lacking(kernel: Kernel) -> str:
    """Why this processor cannot stand in for that one; empty where it can."""
    missing = sorted(kernel.needs - flags())
    if not missing:
        return ""
    return f"{kernel.name}: this processor ({platform.machine()}) lacks {', '.join(missing)}"


def environment(kernel: Kernel) -> dict[str, str]:
    """What makes a new process take its sums as that processor would, on one thread."""
    off = sorted(set(_simd()) - kernel.simd)
    settings = {
        "OPENBLAS_CORETYPE": kernel.name,
        "OPENBLAS_NUM_THREADS": "1",
        "NPY_DISABLE_CPU_FEATURES": " ".join(off),
        "GLIBC_TUNABLES": kernel.libm,
    }
    return _plain() | {name: value for name, value in settings.items() if value}


def _plain() -> dict[str, str]:
    """The environment without what chooses kernels, and without the test runner's own words."""
    chosen = ("OPENBLAS_", "NPY_DISABLE_CPU", "NPY_ENABLE_CPU", "GLIBC_TUNABLES", "PYTEST_")
    return {name: value for name, value in os.environ.items() if not name.startswith(chosen)}


def _simd() -> list[str]:
    import numpy as np

    found: dict[str, Any] = np.show_config(mode="dicts")["SIMD Extensions"]  # type: ignore[index]
    return list(found.get("found", ()))


@cache
def asked(kernel: Kernel | None = None) -> dict[str, Any]:
    """What a new process under that kernel says of itself; under the machine's own without one."""
    chosen = _plain() if kernel is None else environment(kernel)
    ran = subprocess.run(
        [sys.executable, __file__], env=chosen, capture_output=True, text=True, check=True
    )
    found: dict[str, Any] = json.loads(ran.stdout)
    return found


def in_use() -> dict[str, Any]:
    """The kernel of every OpenBLAS here, NumPy's loops, and what the C library's sines give."""
    import scipy.linalg  # noqa: F401  (its OpenBLAS is another one)
    from threadpoolctl import threadpool_info

    waves = [f(x / 37.0).hex() for x in range(1, 3000) for f in (math.sin, math.exp, math.atan)]
    return {
        "blas": {
            Path(one["filepath"]).name: one["architecture"]
            for one in threadpool_info()
            if one["internal_api"] == "openblas"
        },
        "simd": _simd(),
        "libm": hashlib.sha256("".join(waves).encode()).hexdigest(),
    }


if __name__ == "__main__":
    print(json.dumps(in_use()))
