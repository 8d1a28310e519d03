"""Dampers: force against speed, what clicks do to it, and what cold oil does to the clicks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.mechanics.bounds import (
    FINITE,
    SHARE,
    Array,
    BoolArray,
    Bound,
    arrays,
    not_negative,
    positive,
    refuse,
)

_VISCOSITY: Final = Bound(2e-7, 1.0, "m²/s")
_TEMPERATURE: Final = Bound(220.0, 450.0, "K")
_AT_40, _AT_100 = 313.15, 373.15
_WALTHER: Final = 0.7


@dataclass(frozen=True, slots=True)
class Circuit:
    """One direction of a damper: two slopes [N·s/m] that meet at a knee [m/s]."""

    low_slope: Array
    high_slope: Array
    knee: Array


@dataclass(frozen=True, slots=True)
class ClickLaw:
    """Low-speed damping against clicks out from closed: `closed` [N·s/m] times `step` a click."""

    closed: Array
    step: Array


@dataclass(frozen=True, slots=True)
class Clicks:
    """Clicks out from closed, unrounded, and where the counted range does not hold them."""

    clicks: Array
    outside: BoolArray
    limit: np.ndarray[tuple[int, ...], np.dtype[np.object_]]
    """`closed` or `open`, the end that stops it; empty inside."""


def critical_damping(mass: ArrayLike, rate: ArrayLike) -> Array:
    """Damping at which a mass on a spring just no longer swings.

    ``c_c = 2 √(k m)``

    Parameters
    ----------
    mass : m [kg], above 0
    rate : k [N/m], above 0
        Both broadcast together.

    Returns
    -------
    critical damping [N·s/m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    One degree of freedom. Mass, rate and damping must all stand at the same place: all at the
    wheel, or all at the unit.

    Examples
    --------
    >>> round(float(critical_damping(60.0, 14e3)), 1)
    1833.0

    References
    ----------
    Rao, Mechanical Vibrations, 5th ed. 2011, section 2.6.
    """
    body, stiffness = arrays(mass=(mass, positive("kg")), rate=(rate, positive("N/m")))
    return np.asarray(2.0 * np.sqrt(stiffness * body))


def damping_for(mass: ArrayLike, rate: ArrayLike, damping_ratio: ArrayLike) -> Array:
    """Damping that gives the ratio wanted.

    ``c = ζ 2 √(k m)``

    Parameters
    ----------
    mass : m [kg], above 0
    rate : k [N/m], above 0
    damping_ratio : ζ [1], 0 or more
        All broadcast together.

    Returns
    -------
    damping [N·s/m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Mountain bikes as set up stand at about 0.4 to 1 (common practice, no source).

    Examples
    --------
    >>> round(float(damping_for(60.0, 14e3, 0.3)), 1)
    549.9

    References
    ----------
    Rao, Mechanical Vibrations, 5th ed. 2011, section 2.6.
    """
    (ratio,) = arrays(damping_ratio=(damping_ratio, not_negative()))
    return np.asarray(ratio * critical_damping(mass, rate))


def damping_ratio(damping: ArrayLike, mass: ArrayLike, rate: ArrayLike) -> Array:
    """Damping over critical damping.

    ``ζ = c/(2 √(k m))``

    Parameters
    ----------
    damping : c [N·s/m], 0 or more
    mass : m [kg], above 0
    rate : k [N/m], above 0
        All broadcast together.

    Returns
    -------
    damping ratio [1]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The inverse of `damping_for`.

    Examples
    --------
    >>> round(float(damping_ratio(550.0, 60.0, 14e3)), 3)
    0.3

    References
    ----------
    Rao, Mechanical Vibrations, 5th ed. 2011, section 2.6.
    """
    (slope,) = arrays(damping=(damping, not_negative("N·s/m")))
    return np.asarray(slope / critical_damping(mass, rate))


def circuit(low_slope: ArrayLike, high_slope: ArrayLike, knee: ArrayLike) -> Circuit:
    """One direction of a damper.

    ``F(v) = c_l v`` up to the knee, ``c_l v_k + c_h (v - v_k)`` beyond

    Parameters
    ----------
    low_slope : c_l [N·s/m], 0 or more
    high_slope : c_h [N·s/m], 0 or more
    knee : v_k [m/s], above 0
        All broadcast together.

    Returns
    -------
    Circuit

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The knee is where the valve's shims begin to lift; a bleed alone has equal slopes.

    Examples
    --------
    >>> float(circuit(900.0, 300.0, 0.2).knee)
    0.2

    References
    ----------
    Dixon, The Shock Absorber Handbook, 2nd ed. 2007, chapter 1 (digressive characteristic).
    """
    return Circuit(
        *arrays(
            low_slope=(low_slope, not_negative("N·s/m")),
            high_slope=(high_slope, not_negative("N·s/m")),
            knee=(knee, positive("m/s")),
        )
    )


def damper_force(velocity: ArrayLike, compression: Circuit, rebound: Circuit) -> Array:
    """Force of a damper along its axis.

    ``F(v) = ± [c_l min(|v|, v_k) + c_h max(|v| - v_k, 0)]``, each direction by its own circuit

    Parameters
    ----------
    velocity : of the stroke, compressing positive [m/s]
    compression, rebound : Circuit of each direction
        All broadcast together.

    Returns
    -------
    force against the motion [N], positive while compressing

    Raises
    ------
    RangeError : a velocity that is no number

    Notes
    -----
    No hysteresis, no cavitation, no position dependence. The rod's charge belongs to the spring.

    Examples
    --------
    >>> side = circuit(900.0, 300.0, 0.2)
    >>> damper_force([-0.1, 0.0, 0.5], side, side).round(1)
    array([-90.,   0., 270.])

    References
    ----------
    Dixon, The Shock Absorber Handbook, 2nd ed. 2007, chapter 1.
    """
    (speed,) = arrays(velocity=(velocity, FINITE))
    pressed = _along(np.maximum(speed, 0.0), compression)
    pulled = _along(np.maximum(-speed, 0.0), rebound)
    return np.asarray(pressed - pulled)


def click_law(
    clicks_a: ArrayLike, damping_a: ArrayLike, clicks_b: ArrayLike, damping_b: ArrayLike
) -> ClickLaw:
    """What a click does, from the damping at two positions of the adjuster.

    ``c(n) = c_0 qⁿ`` with ``q = (c_b/c_a)^(1/(n_b - n_a))``

    Parameters
    ----------
    clicks_a, clicks_b : the two positions, out from closed [1], 0 or more, different
    damping_a, damping_b : low-speed damping there [N·s/m], above 0, by table or bounce takes
        All broadcast together.

    Returns
    -------
    ClickLaw

    Raises
    ------
    RangeError : an input outside its range, one position twice, or damping that rises as the
        adjuster is opened

    Notes
    -----
    Equal clicks change the damping by equal shares: judgement, no published check. Between the
    two positions it interpolates; beyond them it is a guess.

    Examples
    --------
    >>> law = click_law(2, 900.0, 12, 300.0)
    >>> round(float(law.step), 4)
    0.896

    References
    ----------
    Judgement; no printed table is used.
    """
    one, first, other, second = arrays(
        clicks_a=(clicks_a, not_negative()),
        damping_a=(damping_a, positive("N·s/m")),
        clicks_b=(clicks_b, not_negative()),
        damping_b=(damping_b, positive("N·s/m")),
    )
    way = other - one
    do = "take the second bounce with the adjuster several clicks away"
    refuse("same-clicks", "clicks_b", way == 0.0, other, do)
    step = np.exp(np.log(second / first) / way)
    do = "check the takes: opening an adjuster cannot make it firmer"
    refuse("firmer-when-open", "damping_b", step >= 1.0, second, do)
    return ClickLaw(np.asarray(first * step**-one), np.asarray(step))


def damping_at(law: ClickLaw, clicks: ArrayLike) -> Array:
    """Low-speed damping at a number of clicks out from closed.

    ``c(n) = c_0 qⁿ``

    Parameters
    ----------
    law : ClickLaw
    clicks : n, out from closed [1], 0 or more
        Both broadcast together.

    Returns
    -------
    damping [N·s/m]

    Raises
    ------
    RangeError : clicks below 0

    Notes
    -----
    As for `click_law`.

    Examples
    --------
    >>> round(float(damping_at(click_law(2, 900.0, 12, 300.0), 7)), 1)
    519.6

    References
    ----------
    Judgement; no printed table is used.
    """
    (out,) = arrays(clicks=(clicks, not_negative()))
    return np.asarray(law.closed * law.step**out)


def clicks_for(law: ClickLaw, damping: ArrayLike, counted: ArrayLike) -> Clicks:
    """Clicks out from closed for the damping wanted, within the counted range.

    ``n = ln(c/c_0)/ln q``

    Parameters
    ----------
    law : ClickLaw
    damping : c [N·s/m], above 0
    counted : clicks from closed to open, as counted on this unit [1], above 0
        All broadcast together.

    Returns
    -------
    Clicks : the nearest position within the range, unrounded, and which end stops it if any

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    As for `click_law`. Clicks belong to an oil temperature.

    Examples
    --------
    >>> found = clicks_for(click_law(2, 900.0, 12, 300.0), [519.6, 100.0], 14)
    >>> found.clicks.round(2), found.limit.tolist()
    (array([ 7., 14.]), ['', 'open'])

    References
    ----------
    Judgement; no printed table is used.
    """
    wanted, most = arrays(damping=(damping, positive("N·s/m")), counted=(counted, positive()))
    out = np.log(wanted / law.closed) / np.log(law.step)
    limit = np.where(out < 0.0, "closed", np.where(out > most, "open", "")).astype(object)
    return Clicks(np.clip(out, 0.0, most), np.asarray((out < 0.0) | (out > most)), limit)


def oil_viscosity(
    temperature: ArrayLike, viscosity_40: ArrayLike, viscosity_100: ArrayLike
) -> Array:
    """Kinematic viscosity of an oil at a temperature, from its two catalogue values.

    ``log log(ν + 0.7) = A - B log T``, ν in mm²/s and T in K, through 40 and 100 °C

    Parameters
    ----------
    temperature : of the oil, T [K], 220 to 450
    viscosity_40, viscosity_100 : at 40 and 100 °C [m²/s], 2e-7 to 1, falling
        All broadcast together.

    Returns
    -------
    kinematic viscosity [m²/s]

    Raises
    ------
    RangeError : an input outside its range, or a viscosity that does not fall with warmth

    Notes
    -----
    Newtonian oil above its cloud point; below 2 mm²/s the standard corrects the 0.7 by terms
    that are left out here (under 2 %). Damping oils with a very high viscosity index, of 15 and
    6 mm²/s, thicken by a factor of 2.1 from 30 to 0 °C; plain mineral oil of the same grade
    by almost five.

    Examples
    --------
    >>> cold, warm = oil_viscosity([273.15, 303.15], 15e-6, 6e-6)
    >>> round(float(cold / warm), 1)
    2.1

    References
    ----------
    ASTM D341, equation 1 (Walther).
    """
    warmth, at_40, at_100 = arrays(
        temperature=(temperature, _TEMPERATURE),
        viscosity_40=(viscosity_40, _VISCOSITY),
        viscosity_100=(viscosity_100, _VISCOSITY),
    )
    do = "give the thinner viscosity at 100 °C"
    refuse("thicker-when-hot", "viscosity_100", at_100 >= at_40, at_100, do)
    first, second = (np.log10(np.log10(nu * 1e6 + _WALTHER)) for nu in (at_40, at_100))
    slope = (first - second) / np.log10(_AT_100 / _AT_40)
    height = first - slope * np.log10(warmth / _AT_40)
    return np.asarray((10.0 ** (10.0**height) - _WALTHER) * 1e-6)


def slope_at_viscosity(
    low_slope: ArrayLike,
    viscosity: ArrayLike,
    viscosity_before: ArrayLike,
    viscous_share: ArrayLike = 0.6,
) -> Array:
    """Low-speed slope after the oil's viscosity has changed.

    ``c = c_0 [1 - β + β ν/ν_0]``

    Parameters
    ----------
    low_slope : before, c_0 [N·s/m], 0 or more
    viscosity, viscosity_before : kinematic, ν and ν_0 [m²/s], 2e-7 to 1
    viscous_share : of the slope that is laminar flow, β [1], 0 to 1
        All broadcast together.

    Returns
    -------
    low-speed slope [N·s/m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Laminar leakage grows with viscosity, flow through orifices and shims hardly does. The share
    of 0.6 ± 0.2 is judgement; there is no published check.

    Examples
    --------
    >>> float(slope_at_viscosity(600.0, 30e-6, 15e-6))
    960.0

    References
    ----------
    Dixon, The Shock Absorber Handbook, 2nd ed. 2007, chapter 6 (laminar and orifice flow).
    """
    slope, now, before, share = arrays(
        low_slope=(low_slope, not_negative("N·s/m")),
        viscosity=(viscosity, _VISCOSITY),
        viscosity_before=(viscosity_before, _VISCOSITY),
        viscous_share=(viscous_share, SHARE),
    )
    return np.asarray(slope * (1.0 - share + share * now / before))


def _along(speed: Array, side: Circuit) -> Array:
    return np.asarray(
        side.low_slope * np.minimum(speed, side.knee)
        + side.high_slope * np.maximum(speed - side.knee, 0.0)
    )
