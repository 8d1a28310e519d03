"""The sums as Sandybridge and Haswell take them, beside this machine's own.

Each kernel is a process of its own, since libraries choose theirs once; what the machine itself
takes is what all other tests run under.
"""

from __future__ import annotations

import platform
import subprocess
import sys
from pathlib import Path

import pytest

import kernels
from kernels import KERNELS, Kernel

ROOT = Path(__file__).parents[1]
ROOMS = (
    "tests/body",
    "tests/mechanics",
    "tests/measure",
    "tests/solve",
    "tests/advice/test_digits.py",
)
LONG = "tests/measure/test_corrections.py"
"""Shares of thousands of simulated builds, with bounds of percents: no digits to tell apart."""


@pytest.fixture(params=KERNELS.values(), ids=KERNELS)
def kernel(request: pytest.FixtureRequest) -> Kernel:
    """A kernel that this processor has; one that it lacks would kill the process."""
    if why := kernels.lacking(request.param):
        pytest.skip(why)
    found: Kernel = request.param
    return found


def test_the_kernel_asked_for_is_the_one_in_use(kernel: Kernel) -> None:
    found, own = kernels.asked(kernel), kernels.asked()
    assert set(found["blas"].values()) == {kernel.name}
    assert sorted(found["blas"]) == sorted(own["blas"])
    assert len(found["blas"]) == 2  # NumPy's and SciPy's
    assert set(found["simd"]) == set(own["simd"]) & kernel.simd
    if platform.libc_ver()[0] == "glibc" and "fma" in kernels.flags():
        assert (found["libm"] != own["libm"]) == bool(kernel.libm)


def test_a_kernel_that_the_processor_lacks_is_skipped_by_name(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(kernels, "flags", lambda: frozenset({"sse2", "avx"}))
    assert kernels.lacking(KERNELS["Sandybridge"]) == ""
    assert kernels.lacking(KERNELS["Haswell"]).startswith("Haswell: this processor (")
    assert kernels.lacking(KERNELS["Haswell"]).endswith("lacks avx2, fma")
    monkeypatch.setattr(kernels, "flags", frozenset)
    assert all(kernels.lacking(one) for one in KERNELS.values())


def test_the_sums_hold_under_the_kernel(kernel: Kernel) -> None:
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:xdist", "-p", "no:cacheprovider"]
    ran = subprocess.run(
        [*command, "--hypothesis-profile=few", f"--ignore={LONG}", *ROOMS],
        cwd=ROOT,
        env=kernels.environment(kernel),
        capture_output=True,
        text=True,
        check=False,
    )
    told = ran.stdout.strip().splitlines()
    assert ran.returncode == 0, "\n".join([*told[-60:], ran.stderr])
    assert int(told[-1].split(" passed")[0].split()[-1]) > 400, told[-1]
