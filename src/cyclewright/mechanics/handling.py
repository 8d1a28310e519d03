"""Self-stability of a bicycle ridden hands off: the linear benchmark equations of motion.

Rear wheel R, rear frame with rider B, front fork with bar H, front wheel F. Axes of the source:
origin at the rear contact, x forward, **z down**, so that heights are negative.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.errors import Problem, RangeError
from cyclewright.mechanics.bounds import FINITE, Array, BoolArray, Bound, arrays
from cyclewright.mechanics.constants import STANDARD_GRAVITY

Benchmark = Literal["meijaard2007"]
Rows = list[list[float]]
_MOST: Final = 1e6
_SPEED: Final = Bound(0.0, 100.0, "m/s")
_REAL: Final = 1e-7
"""A pair of roots counts as complex above this imaginary part over its size: at a double root
rounding alone splits the pair by about its square root."""


@dataclass(frozen=True, slots=True)
class Parameters:
    """The benchmark's parameters in SI, under the source's own symbols; speed stands apart."""

    w: float
    """Wheelbase [m]."""
    c: float
    """Trail [m]."""
    lam: float
    """Tilt of the steering axis from upright, backward positive [rad]: λ."""
    rR: float  # noqa: N815
    """Radius of the rear wheel [m]."""
    mR: float  # noqa: N815
    """Mass of the rear wheel [kg]."""
    IRxx: float
    IRyy: float
    xB: float  # noqa: N815
    """Mass centre of frame and rider, z down [m]."""
    zB: float  # noqa: N815
    mB: float  # noqa: N815
    IBxx: float
    IBxz: float
    IBzz: float
    xH: float  # noqa: N815
    zH: float  # noqa: N815
    mH: float  # noqa: N815
    IHxx: float
    IHxz: float
    IHzz: float
    rF: float  # noqa: N815
    mF: float  # noqa: N815
    IFxx: float
    IFyy: float
    g: float = STANDARD_GRAVITY
    """Acceleration of free fall [m/s²]."""


BENCHMARKS: Final[dict[Benchmark, Parameters]] = {
    "meijaard2007": Parameters(
        w=1.02, c=0.08, lam=np.pi / 10,
        rR=0.3, mR=2.0, IRxx=0.0603, IRyy=0.12,
        xB=0.3, zB=-0.9, mB=85.0, IBxx=9.2, IBxz=2.4, IBzz=2.8,
        xH=0.9, zH=-0.7, mH=4.0, IHxx=0.05892, IHxz=-0.00756, IHzz=0.00708,
        rF=0.35, mF=3.0, IFxx=0.1405, IFyy=0.28,
        g=9.81,
    )
}  # fmt: skip
"""Meijaard and others 2007, table 1, the benchmark bicycle with its own g."""


@dataclass(frozen=True, slots=True)
class Matrices:
    """``M q̈ + v C1 q̇ + (g K0 + v² K2) q = f`` for lean and steer, each (2, 2)."""

    M: Array
    C1: Array
    K0: Array
    K2: Array
    g: float


@dataclass(frozen=True, slots=True)
class Modes:
    """Eigenvalues of lean and steer over speeds (...), by the names of their motions.

    Where all four roots are real (standing almost still), only `roots` says anything; where
    there is no oscillation or no pair of real roots, the mask is false and the value 0.
    """

    roots: np.ndarray[tuple[int, ...], np.dtype[np.complex128]]
    """(..., 4) [1/s], falling by real part, then by imaginary part."""
    weave_real: Array
    """Growth of the slow swing from side to side [1/s]; negative dies away."""
    weave_imag: Array
    """Its circular frequency, positive [1/s]."""
    weaves: BoolArray
    capsize: Array
    """The larger real root: the slow fall to one side [1/s]."""
    caster: Array
    """The smaller real root: the front wheel swinging straight [1/s]."""
    falls: BoolArray
    """Whether capsize and caster are there."""


@dataclass(frozen=True, slots=True)
class StableSpeeds:
    """The band of speeds in which the bicycle rights itself; None where it has no such end."""

    weave_speed: float | None
    """Above it the weave dies away [m/s]."""
    capsize_speed: float | None
    """Above it the bicycle slowly falls over [m/s]."""


def matrices(bicycle: Parameters) -> Matrices:
    """The linear equations of motion of a bicycle.

    ``M q̈ + v C1 q̇ + (g K0 + v² K2) q = f`` with lean and steer in q, equations A1 to A24

    Parameters
    ----------
    bicycle : Parameters

    Returns
    -------
    Matrices : M [kg·m²], C1 [kg·m], K0 [kg·m], K2 [kg], each (2, 2)

    Raises
    ------
    RangeError : every parameter that cannot be, at once

    Notes
    -----
    Knife-edge wheels that do not slip, rigid rider, no hands on the bar, upright and straight.
    A wheel's other inertias follow from its two by symmetry.

    Examples
    --------
    >>> matrices(BENCHMARKS["meijaard2007"]).M.round(5).tolist()
    [[80.81722, 2.31941], [2.31941, 0.29784]]

    References
    ----------
    Meijaard, Papadopoulos, Ruina, Schwab 2007, Proc. R. Soc. A 463:1955, appendix A.
    """
    _check(bicycle)
    p = bicycle
    sin, cos = np.sin(p.lam), np.cos(p.lam)
    # the whole bicycle, T, about the rear contact
    m_t = p.mR + p.mB + p.mH + p.mF
    x_t = (p.xB * p.mB + p.xH * p.mH + p.w * p.mF) / m_t
    z_t = (-p.rR * p.mR + p.zB * p.mB + p.zH * p.mH - p.rF * p.mF) / m_t
    t_xx = (
        p.IRxx + p.IBxx + p.IHxx + p.IFxx
        + p.mR * p.rR**2 + p.mB * p.zB**2 + p.mH * p.zH**2 + p.mF * p.rF**2
    )  # fmt: skip
    t_xz = p.IBxz + p.IHxz - p.mB * p.xB * p.zB - p.mH * p.xH * p.zH + p.mF * p.w * p.rF
    t_zz = (
        p.IRxx + p.IBzz + p.IHzz + p.IFxx
        + p.mB * p.xB**2 + p.mH * p.xH**2 + p.mF * p.w**2
    )  # fmt: skip
    # the front assembly, A, about its own mass centre
    m_a = p.mH + p.mF
    x_a = (p.xH * p.mH + p.w * p.mF) / m_a
    z_a = (p.zH * p.mH - p.rF * p.mF) / m_a
    a_xx = p.IHxx + p.IFxx + p.mH * (p.zH - z_a) ** 2 + p.mF * (p.rF + z_a) ** 2
    a_xz = p.IHxz - p.mH * (p.xH - x_a) * (p.zH - z_a) + p.mF * (p.w - x_a) * (p.rF + z_a)
    a_zz = p.IHzz + p.IFxx + p.mH * (p.xH - x_a) ** 2 + p.mF * (p.w - x_a) ** 2
    # and about the steering axis, λ
    u_a = (x_a - p.w - p.c) * cos - z_a * sin
    a_ll = m_a * u_a**2 + a_xx * sin**2 + 2.0 * a_xz * sin * cos + a_zz * cos**2
    a_lx = -m_a * u_a * z_a + a_xx * sin + a_xz * cos
    a_lz = m_a * u_a * x_a + a_xz * sin + a_zz * cos
    mu = p.c / p.w * cos
    s_f = p.IFyy / p.rF
    s_t = p.IRyy / p.rR + s_f
    s_a = m_a * u_a + mu * m_t * x_t
    lean_by_steer = a_lx + mu * t_xz
    gyro = mu * s_t + s_f * cos
    return _whole(
        Matrices(
            M=np.array(
                [[t_xx, lean_by_steer], [lean_by_steer, a_ll + 2.0 * mu * a_lz + mu**2 * t_zz]]
            ),
            C1=np.array(
                [
                    [0.0, gyro + t_xz / p.w * cos - mu * m_t * z_t],
                    [-gyro, a_lz / p.w * cos + mu * (s_a + t_zz / p.w * cos)],
                ]
            ),
            K0=np.array([[m_t * z_t, -s_a], [-s_a, -s_a * sin]]),
            K2=np.array(
                [[0.0, (s_t - m_t * z_t) / p.w * cos], [0.0, (s_a + s_f * sin) / p.w * cos]]
            ),
            g=p.g,
        )
    )


def modes(matrices: Matrices, speed: ArrayLike) -> Modes:
    """Weave, capsize and caster of a bicycle at a forward speed.

    ``det(M λ² + v C1 λ + g K0 + v² K2) = 0``, as eigenvalues of its first-order form

    Parameters
    ----------
    matrices : Matrices of the bicycle
    speed : forward, v [m/s], 0 to 100, any shape

    Returns
    -------
    Modes : over the speeds

    Raises
    ------
    RangeError : a speed outside its range

    Notes
    -----
    The benchmark's four roots are all real below 0.684 m/s, where two of them meet and become
    the weave.

    Examples
    --------
    >>> found = modes(matrices(BENCHMARKS["meijaard2007"]), 5.0)
    >>> complex(found.weave_real, found.weave_imag)  # doctest: +ELLIPSIS
    (-0.77534...+4.46486...j)
    >>> round(float(found.capsize), 5), round(float(found.caster), 4)
    (-0.32287, -14.0784)

    References
    ----------
    Meijaard, Papadopoulos, Ruina, Schwab 2007, Proc. R. Soc. A 463:1955, equation 5.3, table 2.
    """
    (v,) = arrays(speed=(speed, _SPEED))
    pace = v[..., None, None]
    upper = np.broadcast_to(np.hstack((np.zeros((2, 2)), np.eye(2))), (*v.shape, 2, 4))
    stiffness = matrices.g * matrices.K0 + pace**2 * matrices.K2
    right = -np.concatenate((stiffness, pace * matrices.C1), axis=-1)
    lower = np.linalg.solve(matrices.M, right)
    found = np.linalg.eigvals(np.concatenate((upper, lower), axis=-2)).astype(np.complex128)
    order = np.lexsort((-found.imag, -found.real), axis=-1)
    return _named(np.take_along_axis(found, order, axis=-1))


def stable_speeds(matrices: Matrices) -> StableSpeeds:
    """Speeds between which a bicycle rights itself, hands off.

    With ``det = a₄λ⁴ + a₃λ³ + a₂λ² + a₁λ + a₀``: weave ``a₁a₂a₃ - a₀a₃² - a₄a₁² = 0``, capsize
    ``a₀ = 0``

    Parameters
    ----------
    matrices : Matrices of the bicycle

    Returns
    -------
    StableSpeeds : None where there is no such speed

    Raises
    ------
    RangeError : the matrices are not finite

    Notes
    -----
    Both conditions are polynomials in v², so the speeds are closed forms. The weave speed is the
    highest at which the weave turns from growing to dying away.

    Examples
    --------
    >>> band = stable_speeds(matrices(BENCHMARKS["meijaard2007"]))
    >>> round(band.weave_speed, 5), round(band.capsize_speed, 5)
    (4.29238, 6.02426)

    References
    ----------
    Meijaard, Papadopoulos, Ruina, Schwab 2007, Proc. R. Soc. A 463:1955, section 5 (Routh).
    """
    arrays(
        M=(matrices.M, FINITE),
        C1=(matrices.C1, FINITE),
        K0=(matrices.K0, FINITE),
        K2=(matrices.K2, FINITE),
    )
    a4, b3, (p0, p1), (q0, q1), (r0, r1, r2) = _characteristic(matrices)
    weave = (
        b3 * p0 * q0 - b3**2 * r0 - a4 * q0**2,
        b3 * (p0 * q1 + p1 * q0) - b3**2 * r1 - 2.0 * a4 * q0 * q1,
        b3 * p1 * q1 - b3**2 * r2 - a4 * q1**2,
    )
    oscillates = [u for u in _positive_roots(*weave) if (q0 + q1 * u) / b3 > 0.0]
    rising = [u for u in oscillates if weave[1] + 2.0 * weave[2] * u > 0.0]
    settles = rising if b3 * a4 > 0.0 else []
    falls = _positive_roots(r0, r1, r2)
    return StableSpeeds(
        math.sqrt(max(settles)) if settles else None,
        math.sqrt(max(falls)) if falls else None,
    )


def _whole(found: Matrices) -> Matrices:
    """The matrices, refused where no body could have them."""
    every = np.stack((found.M, found.C1, found.K0, found.K2))
    do = "check masses, inertias and places and their units: no bicycle has these together"
    if not np.isfinite(every).all() or not np.linalg.det(found.M) > 0.0:
        raise RangeError(Problem("no-bicycle", "bicycle", do))
    return found


def _characteristic(
    of: Matrices,
) -> tuple[float, float, tuple[float, float], tuple[float, float], tuple[float, float, float]]:
    """a₄, a₃/v, then a₂, a₁/v and a₀ by their coefficients in u = v², rising."""
    mass, damping, fast = of.M.tolist(), of.C1.tolist(), of.K2.tolist()
    still = (of.g * of.K0).tolist()

    def mixed(one: Rows, other: Rows) -> float:
        return (
            one[0][0] * other[1][1]
            + one[1][1] * other[0][0]
            - one[0][1] * other[1][0]
            - one[1][0] * other[0][1]
        )

    def det(one: Rows) -> float:
        return mixed(one, one) / 2.0

    return (
        det(mass),
        mixed(mass, damping),
        (mixed(mass, still), mixed(mass, fast) + det(damping)),
        (mixed(damping, still), mixed(damping, fast)),
        (det(still), mixed(still, fast), det(fast)),
    )


def _positive_roots(c0: float, c1: float, c2: float) -> list[float]:
    """Positive roots of c₀ + c₁ u + c₂ u², coefficients that are rounding taken as none."""
    small = 1e-14 * max(abs(c0), abs(c1), abs(c2))
    if abs(c2) <= small:
        roots = [] if abs(c1) <= small else [-c0 / c1]
    elif (inside := c1**2 - 4.0 * c2 * c0) < 0.0:
        roots = []
    else:
        # The larger in size first, the other by their product: neither loses its digits.
        large = -(c1 + math.copysign(math.sqrt(inside), c1)) / 2.0
        roots = [large / c2] if large == 0.0 else [large / c2, c0 / large]
    return [root for root in roots if root > 0.0]


def _named(roots: np.ndarray[tuple[int, ...], np.dtype[np.complex128]]) -> Modes:
    """The roots by the motions that they stand for."""
    swings = roots.imag > _REAL * np.maximum(np.abs(roots), 1.0)
    weaves = swings.any(axis=-1)
    at = np.argmax(swings, axis=-1)[..., None]  # the first in order: of two pairs the livelier
    weave = np.take_along_axis(roots, at, axis=-1)[..., 0]
    real = np.abs(roots.imag) <= _REAL * np.maximum(np.abs(roots), 1.0)
    falls = np.asarray(weaves & (real.sum(axis=-1) == 2))
    high = np.where(real, roots.real, -np.inf).max(axis=-1)
    low = np.where(real, roots.real, np.inf).min(axis=-1)
    return Modes(
        roots=roots,
        weave_real=np.where(weaves, weave.real, 0.0),
        weave_imag=np.where(weaves, weave.imag, 0.0),
        weaves=np.asarray(weaves),
        capsize=np.where(falls, high, 0.0),
        caster=np.where(falls, low, 0.0),
        falls=falls,
    )


def _check(bicycle: Parameters) -> None:
    """Every parameter within its bound, and inertias that a body can have."""
    above = {"w": "m", "rR": "m", "rF": "m", "mR": "kg", "mB": "kg", "mH": "kg", "mF": "kg"}
    above |= dict.fromkeys(("IRxx", "IRyy", "IBxx", "IBzz", "IHxx", "IHzz"), "kg·m²")
    above |= {"IFxx": "kg·m²", "IFyy": "kg·m²", "g": "m/s²"}
    bounds = {name: Bound(0.0, _MOST, unit, low_open=True) for name, unit in above.items()}
    bounds |= dict.fromkeys(("zB", "zH"), Bound(-_MOST, 0.0, "m", high_open=True))
    bounds["lam"] = Bound(-np.pi / 2, np.pi / 2, "rad", low_open=True, high_open=True)
    values = {item.name: getattr(bicycle, item.name) for item in fields(bicycle)}
    arrays(
        **{name: (value, bounds.get(name, Bound(-_MOST, _MOST))) for name, value in values.items()}
    )
    do = "check the inertias: a body's product of inertia cannot exceed its other two"
    problems = [
        Problem("inertia", f"I{body}xz", do, value=f"{values[f'I{body}xz']:.6g}", unit="kg·m²")
        for body in "BH"
        if values[f"I{body}xz"] ** 2 > values[f"I{body}xx"] * values[f"I{body}zz"]
    ]
    if problems:
        raise RangeError(problems)
