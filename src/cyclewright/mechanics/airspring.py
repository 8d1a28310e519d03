"""An air spring as it is built: two chambers of unequal area, a transfer point, stops, a shaft.

The positive chamber pushes the unit out, the negative one pulls it in; somewhere near full
length a transfer point lets their pressures level. The gas is held as its filling, pressure
times volume of each chamber at one temperature: slow strokes keep it (isothermal), warming
scales it, a pump or the transfer point moves it. Stroke 0 is full length.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.errors import NotConverged, Problem
from cyclewright.mechanics.bounds import (
    Array,
    BoolArray,
    Bound,
    arrays,
    not_negative,
    positive,
    refuse,
)
from cyclewright.mechanics.constants import STANDARD_PRESSURE

_EXPONENT: Final = Bound(1.0, 1.7)
_TEMPERATURE: Final = Bound(150.0, 500.0, "K")
_CLOSE: Final = 1e-12
_ROUNDS: Final = 200


@dataclass(frozen=True, slots=True)
class AirUnit:
    """Chambers, stops and constant forces of an air spring, all arrays that broadcast."""

    piston_area: Array
    negative_area: Array
    volume: Array
    """Of the positive chamber at full length, spacers already out of it [m³]."""
    negative_volume: Array
    """Of the negative chamber at full length [m³]."""
    transfer_stroke: Array
    travel: Array
    top_out_rate: Array
    top_out_length: Array
    bump_rate: Array
    bump_length: Array
    rod_force: Array


@dataclass(frozen=True, slots=True)
class Charge:
    """The gas in both chambers as pressure times volume [J] at its own temperature."""

    positive: Array
    negative: Array


@dataclass(frozen=True, slots=True)
class Rest:
    """Where a unit may come to rest [m], friction holding it either way."""

    stroke: Array
    """Without friction."""
    low: Array
    """Coming in and held back."""
    high: Array
    """Coming out and held in."""


@dataclass(frozen=True, slots=True)
class Connection:
    """A pump on the valve: what it reads, and what the spring holds once it is off again."""

    reading_gauge: Array
    charge: Charge
    lost: Array
    """Share of the gauge pressure that filling the hose has cost [1]."""


def air_unit(
    piston_area: ArrayLike,
    volume: ArrayLike,
    negative_volume: ArrayLike,
    travel: ArrayLike,
    *,
    shaft_area: ArrayLike = 0.0,
    transfer_stroke: ArrayLike = 0.0,
    spacers: ArrayLike = 0.0,
    spacer_volume: ArrayLike = 0.0,
    top_out_rate: ArrayLike = 0.0,
    top_out_length: ArrayLike = 0.0,
    bump_rate: ArrayLike = 0.0,
    bump_length: ArrayLike = 0.0,
    rod_force: ArrayLike = 0.0,
) -> AirUnit:
    """An air spring from its dimensions.

    ``V = V_0 - n V_s`` with n spacers in; ``A_n = A - A_shaft`` on the negative side

    Parameters
    ----------
    piston_area : A [m²], above 0
    volume : of the positive chamber at full length without spacers, V_0 [m³], above 0
    negative_volume : of the negative chamber at full length [m³], above 0
    travel : of the unit along its axis [m], above 0
    shaft_area : of the shaft through the negative chamber [m²], 0 to below A
    transfer_stroke : where both chambers connect [m], 0 to below the travel
    spacers : volume spacers fitted [1], 0 or more
    spacer_volume : of one of them [m³], 0 or more
    top_out_rate, top_out_length : of the stop at full length [N/m, m], 0 or more
    bump_rate, bump_length : of the stop before the end of travel [N/m, m], 0 or more
    rod_force : of the damper's gas on its rod, outward [N], 0 or more; 60 to 120 on a shock
        All broadcast together.

    Returns
    -------
    AirUnit

    Raises
    ------
    RangeError : an input outside its range, no volume left at full travel, a shaft as large as
        the piston, or a stop longer than the travel

    Notes
    -----
    Stops are linear over their length. The rod's charge is taken as constant: it rises by a few
    per cent over the stroke.

    Examples
    --------
    >>> fork = air_unit(7e-4, 1.6e-4, 3e-5, 0.150, spacers=2, spacer_volume=8e-6)
    >>> round(float(fork.volume) * 1e6)
    144

    References
    ----------
    Definitions; no printed table is used.
    """
    area, chamber, below, whole, shaft, transfer, count, each = arrays(
        piston_area=(piston_area, positive("m²")),
        volume=(volume, positive("m³")),
        negative_volume=(negative_volume, positive("m³")),
        travel=(travel, positive("m")),
        shaft_area=(shaft_area, not_negative("m²")),
        transfer_stroke=(transfer_stroke, not_negative("m")),
        spacers=(spacers, not_negative()),
        spacer_volume=(spacer_volume, not_negative("m³")),
    )
    top_rate, top, bump_stiffness, bump, rod = arrays(
        top_out_rate=(top_out_rate, not_negative("N/m")),
        top_out_length=(top_out_length, not_negative("m")),
        bump_rate=(bump_rate, not_negative("N/m")),
        bump_length=(bump_length, not_negative("m")),
        rod_force=(rod_force, not_negative("N")),
    )
    refuse("shaft", "shaft_area", shaft >= area, shaft, "give a shaft thinner than the piston")
    refuse("transfer", "transfer_stroke", transfer >= whole, transfer, "give it inside the travel")
    for name, stop in (("top_out_length", top), ("bump_length", bump)):
        refuse("stop", name, stop > whole, stop, "give a stop shorter than the travel")
    left = np.asarray(chamber - count * each)
    do = "give a larger chamber or fewer spacers: the piston would fill it before full travel"
    refuse("chamber-full", "volume", left - area * whole <= 0.0, chamber, do)
    return AirUnit(
        area, np.asarray(area - shaft), left, below, transfer, whole,
        top_rate, top, bump_stiffness, bump, rod,
    )  # fmt: skip


def fill(
    unit: AirUnit, pressure_gauge: ArrayLike, ambient: ArrayLike = STANDARD_PRESSURE
) -> Charge:
    """The gas in a unit that was pumped and levelled, from what its gauge reads at full length.

    ``C_p = (p₀ + p_a) V`` and ``C_n = C_p V_n(s_t)/V_p(s_t)``, equal pressures at the transfer

    Parameters
    ----------
    unit : AirUnit
    pressure_gauge : of the positive chamber at full length [Pa], above minus the ambient
    ambient : air pressure outside [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    Charge

    Raises
    ------
    RangeError : a pressure at or below vacuum

    Notes
    -----
    Levelled takes about ten slow strokes through the transfer point (common practice, no
    source). Slow strokes: isothermal.

    Examples
    --------
    >>> charge = fill(air_unit(7e-4, 1.6e-4, 3e-5, 0.150), 5e5)
    >>> round(float(charge.positive), 1), round(float(charge.negative), 1)
    (96.2, 18.0)

    References
    ----------
    p V = const. with absolute pressure; no printed table is used.
    """
    absolute = _absolute(pressure_gauge, ambient)
    positive_filling = np.asarray(absolute * unit.volume)
    at = _volumes(unit, unit.transfer_stroke)
    return Charge(positive_filling, np.asarray(positive_filling * at[1] / at[0]))


def fill_unlevelled(
    unit: AirUnit,
    pressure_gauge: ArrayLike,
    negative_gauge: ArrayLike,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Charge:
    """The gas in a unit that was pumped and not yet moved through its transfer point.

    ``C_p = (p₀ + p_a) V`` and ``C_n = (p_n + p_a) V_n``, each at full length

    Parameters
    ----------
    unit : AirUnit
    pressure_gauge : of the positive chamber at full length [Pa], above minus the ambient
    negative_gauge : of the negative chamber at full length [Pa], above minus the ambient; 0
        after the air was all let out
    ambient : air pressure outside [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    Charge

    Raises
    ------
    RangeError : a pressure at or below vacuum

    Notes
    -----
    A reading of sag in this state is invalid: the negative chamber follows only through the
    transfer point.

    Examples
    --------
    >>> unit = air_unit(7e-4, 1.6e-4, 3e-5, 0.150, transfer_stroke=0.006)
    >>> fresh = fill_unlevelled(unit, 5e5, 0.0)
    >>> round(float(gauge_at(unit, level(unit, fresh), 0.0)) / 5e5, 3)
    0.815

    References
    ----------
    p V = const. with absolute pressure; no printed table is used.
    """
    above = _absolute(pressure_gauge, ambient)
    below = _absolute(negative_gauge, ambient, "negative_gauge")
    return Charge(np.asarray(above * unit.volume), np.asarray(below * unit.negative_volume))


def level(unit: AirUnit, charge: Charge) -> Charge:
    """The gas after slow strokes through the transfer point.

    ``C = C_p + C_n`` is shared by volume at the transfer point: ``C_p' = C V_p/(V_p + V_n)``

    Parameters
    ----------
    unit : AirUnit
    charge : before

    Returns
    -------
    Charge : with equal pressures at the transfer point

    Raises
    ------
    RangeError : the arrays of unit and charge do not broadcast

    Notes
    -----
    No gas is lost. Pumping a levelled unit up and levelling it again lowers what the gauge
    reads, which is why the pressure is set once more after the strokes.

    Examples
    --------
    >>> unit = air_unit(7e-4, 1.6e-4, 3e-5, 0.150)
    >>> once = level(unit, fill_unlevelled(unit, 5e5, 1e5))
    >>> bool(abs(level(unit, once).positive - once.positive) < 1e-9)
    True

    References
    ----------
    p V = const. with absolute pressure; no printed table is used.
    """
    above, below = _volumes(unit, unit.transfer_stroke)
    whole = charge.positive + charge.negative
    return Charge(
        np.asarray(whole * above / (above + below)), np.asarray(whole * below / (above + below))
    )


def warmed(charge: Charge, temperature_from: ArrayLike, temperature_to: ArrayLike) -> Charge:
    """The same gas at another temperature.

    ``C' = C T₂/T₁``

    Parameters
    ----------
    charge : before
    temperature_from, temperature_to : of the gas [K], 150 to 500
        All broadcast together.

    Returns
    -------
    Charge

    Raises
    ------
    RangeError : a temperature outside its range

    Notes
    -----
    Ridden gas is some 15 ± 10 K warmer than the air around (common practice, no source). Give
    altitude by the ambient pressure of the functions that take one.

    Examples
    --------
    >>> unit = air_unit(7e-4, 1.6e-4, 3e-5, 0.150)
    >>> hot = warmed(fill(unit, 5e5), 293.15, 318.15)
    >>> round(float(gauge_at(unit, hot, 0.0)) / 5e5, 3)
    1.103

    References
    ----------
    Ideal gas; no printed table is used.
    """
    start, end = arrays(
        temperature_from=(temperature_from, _TEMPERATURE),
        temperature_to=(temperature_to, _TEMPERATURE),
    )
    return Charge(
        np.asarray(charge.positive * end / start), np.asarray(charge.negative * end / start)
    )


def gauge_at(
    unit: AirUnit, charge: Charge, stroke: ArrayLike, ambient: ArrayLike = STANDARD_PRESSURE
) -> Array:
    """What a gauge without volume would read on the positive chamber.

    ``p = C_p/V_p(s) - p_a``

    Parameters
    ----------
    unit : AirUnit
    charge : its gas
    stroke : s [m], 0 to the travel
    ambient : air pressure outside [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    gauge pressure [Pa]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Slow (isothermal). A pump's own gauge reads less, by what its hose has taken: `connect`.

    Examples
    --------
    >>> unit = air_unit(7e-4, 1.6e-4, 3e-5, 0.150)
    >>> round(float(gauge_at(unit, fill(unit, 5e5), 0.0)))
    500000

    References
    ----------
    p V = const. with absolute pressure; no printed table is used.
    """
    moved, outside = _at(unit, stroke, ambient)
    return np.asarray(charge.positive / _volumes(unit, moved)[0] - outside)


def slow_force(
    unit: AirUnit, charge: Charge, stroke: ArrayLike, ambient: ArrayLike = STANDARD_PRESSURE
) -> Array:
    """Force of an air spring that moves slowly, stops and rod included.

    ``F = A C_p/V_p(s) - A_n C_n/V_n(s) - (A - A_n) p_a + F_rod + F_bump - F_top-out``

    Parameters
    ----------
    unit : AirUnit
    charge : its gas
    stroke : s [m], 0 to the travel
    ambient : air pressure outside, p_a [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    force [N], outward positive; below 0 where the negative chamber or the stop pulls it in

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Ideal gas: from 5 to 25 bar and over a whole threefold stroke it overstates real air by up
    to 0.5 % at 40 °C, 1 % at 20 °C and 1.9 % at 0 °C. No friction. There is no
    published check; the tests compare with the work of both gases and with real air.

    Examples
    --------
    >>> unit = air_unit(7e-4, 1.6e-4, 3e-5, 0.150, shaft_area=8e-5, transfer_stroke=0.005)
    >>> slow_force(unit, fill(unit, 5e5), [0.0, 0.0375, 0.150]).round(1).tolist()
    [-7.7, 258.5, 1113.8]

    References
    ----------
    p V = const. with absolute pressure, for each chamber; no printed table is used.
    """
    moved, outside = _at(unit, stroke, ambient)
    above, below = _volumes(unit, moved)
    return _force(unit, charge.positive / above, charge.negative / below, moved, outside)


def slow_rate(
    unit: AirUnit, charge: Charge, stroke: ArrayLike, ambient: ArrayLike = STANDARD_PRESSURE
) -> Array:
    """Stiffness of an air spring that moves slowly.

    ``k = A² C_p/V_p² + A_n² C_n/V_n²`` and the stops' rates where they touch

    Parameters
    ----------
    unit : AirUnit
    charge : its gas
    stroke : s [m], 0 to the travel
    ambient : air pressure outside [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    rate along the axis [N/m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The exact derivative of `slow_force`.

    Examples
    --------
    >>> unit = air_unit(7e-4, 1.6e-4, 3e-5, 0.150, shaft_area=8e-5, transfer_stroke=0.005)
    >>> round(float(slow_rate(unit, fill(unit, 5e5), 0.0375)))
    5394

    References
    ----------
    Derivative of p V = const.; no printed table is used.
    """
    moved, _ = _at(unit, stroke, ambient)
    above, below = _volumes(unit, moved)
    pressures = charge.positive / above, charge.negative / below
    return _rate(unit, pressures, moved, (above, below), 1.0)


def fast_force(
    unit: AirUnit,
    charge: Charge,
    stroke: ArrayLike,
    about: ArrayLike,
    exponent: ArrayLike = 1.3,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """Force of an air spring in a fast stroke about the place where it rides.

    ``p(s) = p(s₀) (V(s₀)/V(s))ⁿ`` in each chamber, with ``p(s₀) = C/V(s₀)`` isothermal

    Parameters
    ----------
    unit : AirUnit
    charge : its gas
    stroke : s [m], 0 to the travel
    about : the ridden equilibrium, s₀ [m], 0 to the travel
    exponent : n [1], 1 to 1.7; fast strokes 1.30 ± 0.05
    ambient : air pressure outside [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    force [N], outward positive

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Meets the slow force at s₀. Started from full length instead, the same law would give a
    wrong static sag. Between slow and fast stands a gas-temperature state, left out here.

    Examples
    --------
    >>> unit = air_unit(7e-4, 1.6e-4, 3e-5, 0.150, shaft_area=8e-5, transfer_stroke=0.005)
    >>> gas = fill(unit, 5e5)
    >>> slow, fast = slow_force(unit, gas, 0.1), fast_force(unit, gas, 0.1, 0.0375)
    >>> round(float(fast / slow), 3)
    1.191

    References
    ----------
    p Vⁿ = const. with absolute pressure; no printed table is used.
    """
    moved, outside = _at(unit, stroke, ambient)
    pressures, _ = _fast(unit, charge, moved, about, exponent)
    return _force(unit, *pressures, moved, outside)


def fast_rate(
    unit: AirUnit,
    charge: Charge,
    stroke: ArrayLike,
    about: ArrayLike,
    exponent: ArrayLike = 1.3,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """Stiffness of an air spring in a fast stroke about the place where it rides.

    ``k = n (A² p_p/V_p + A_n² p_n/V_n)`` and the stops' rates where they touch

    Parameters
    ----------
    unit : AirUnit
    charge : its gas
    stroke : s [m], 0 to the travel
    about : the ridden equilibrium, s₀ [m], 0 to the travel
    exponent : n [1], 1 to 1.7
    ambient : air pressure outside [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    rate along the axis [N/m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The exact derivative of `fast_force`. For damping ratios take it at s₀.

    Examples
    --------
    >>> unit = air_unit(7e-4, 1.6e-4, 3e-5, 0.150, shaft_area=8e-5, transfer_stroke=0.005)
    >>> gas = fill(unit, 5e5)
    >>> float((fast_rate(unit, gas, 0.0375, 0.0375) / slow_rate(unit, gas, 0.0375)).round(9))
    1.3

    References
    ----------
    Derivative of p Vⁿ = const.; no printed table is used.
    """
    moved, _ = _at(unit, stroke, ambient)
    pressures, power = _fast(unit, charge, moved, about, exponent)
    return _rate(unit, pressures, moved, _volumes(unit, moved), power)


def rest(
    unit: AirUnit,
    charge: Charge,
    force: ArrayLike = 0.0,
    friction: ArrayLike = 0.0,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Rest:
    """Where a unit comes to rest under a load.

    ``F_slow(s) = F``, and ``F_slow(s) = F ∓ F_friction`` for the ends of the band

    Parameters
    ----------
    unit : AirUnit
    charge : its gas
    force : load along the axis, F [N], 0 or more; 0 gives the topped-out stroke
    friction : that can hold either way [N], 0 or more
    ambient : air pressure outside [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    Rest : strokes [m] from 0 to the travel, which hard ends bound

    Raises
    ------
    RangeError : an input outside its range
    NotConverged : the balance was not found, which would be a fault of ours

    Notes
    -----
    In closed form where no stop touches, else by Newton's steps inside a closing bracket; the
    force always rises with the stroke. Sag counts from the topped-out stroke, which the
    negative chamber can hold above 0.

    Examples
    --------
    >>> unit = air_unit(7e-4, 1.6e-4, 3e-5, 0.150, shaft_area=8e-5, transfer_stroke=0.005)
    >>> gas = fill(unit, 5e5)
    >>> round(float(rest(unit, gas).stroke), 4), round(float(rest(unit, gas, 258.5).stroke), 4)
    (0.0007, 0.0375)

    References
    ----------
    Equilibrium of forces; no printed table is used.
    """
    load, held, outside = arrays(
        force=(force, not_negative("N")),
        friction=(friction, not_negative("N")),
        ambient=(ambient, positive("Pa")),
    )
    return Rest(
        *(
            _balance(unit, charge, np.asarray(wanted), outside)
            for wanted in (load, load - held, load + held)
        )
    )


def pressure_for(
    unit: AirUnit, force: ArrayLike, stroke: ArrayLike, ambient: ArrayLike = STANDARD_PRESSURE
) -> Array:
    """Gauge pressure at full length, levelled, that holds a load at a stroke.

    ``p₀ = [F - F_other + (A - A_n) p_a]/K(s) - p_a`` with
    ``K = A V/V_p(s) - A_n (V/V_p(s_t)) V_n(s_t)/V_n(s)``

    Parameters
    ----------
    unit : AirUnit
    force : load along the axis, F [N], 0 or more
    stroke : where it has to rest, s [m], above 0 to the travel
    ambient : air pressure outside, p_a [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    gauge pressure at full length [Pa]; below 0 where even an open valve carries more

    Raises
    ------
    RangeError : an input outside its range, or a stroke so short that pressure cannot carry
        anything there

    Notes
    -----
    The inverse of `slow_force` with `fill`, exact: force is linear in absolute pressure.

    Examples
    --------
    >>> unit = air_unit(7e-4, 1.6e-4, 3e-5, 0.150, shaft_area=8e-5, transfer_stroke=0.005)
    >>> round(float(pressure_for(unit, slow_force(unit, fill(unit, 5e5), 0.0375), 0.0375)))
    500000

    References
    ----------
    p V = const. with absolute pressure, for each chamber; no printed table is used.
    """
    (load,) = arrays(force=(force, not_negative("N")))
    moved, outside = _at(unit, stroke, ambient)
    above, below = _volumes(unit, moved)
    above_there, below_there = _volumes(unit, unit.transfer_stroke)
    gain = (
        unit.piston_area * unit.volume / above
        - unit.negative_area * unit.volume / above_there * below_there / below
    )
    do = "give a longer stroke: so close to full length the two chambers cancel"
    refuse("no-stroke", "stroke", gain <= 1e-9 * unit.piston_area, moved, do)
    still = np.zeros_like(above)
    other = _force(unit, still, still, moved, outside)
    return np.asarray((load - other) / gain - outside)


def connect(
    unit: AirUnit,
    charge: Charge,
    hose_volume: ArrayLike,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Connection:
    """A pump screwed onto a unit at full length: its hose fills from the spring.

    ``p' = (C + p_a V_h)/(V + V_h)`` absolute, with V the volume open to the valve

    Parameters
    ----------
    unit : AirUnit
    charge : its gas before
    hose_volume : of hose and gauge, V_h [m³], 0 or more; about 3 cm³
    ambient : air pressure outside, p_a [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    Connection : what the gauge reads, the gas left, and the share of the pressure lost

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The negative chamber is open to the valve only where the transfer point is at full length.
    Disconnecting loses the hose's own filling and nothing of the spring's: the last reading
    with the pump on stays true.

    Examples
    --------
    >>> shock = air_unit(1.2e-3, 9e-5, 2e-5, 0.055, transfer_stroke=0.004)
    >>> on = connect(shock, fill(shock, 12e5), 3e-6)
    >>> round(float(on.lost), 3)
    0.032

    References
    ----------
    p V = const. with absolute pressure; no printed table is used.
    """
    hose, outside = arrays(
        hose_volume=(hose_volume, not_negative("m³")), ambient=(ambient, positive("Pa"))
    )
    joined = _joined(unit)
    filling = charge.positive + np.where(joined, charge.negative, 0.0)
    volume = unit.volume + np.where(joined, unit.negative_volume, 0.0)
    absolute = (filling + outside * hose) / (volume + hose)
    before = filling / volume - outside
    lost = np.where(before > 0.0, 1.0 - (absolute - outside) / np.where(before > 0, before, 1.0), 0)
    left = Charge(
        np.asarray(absolute * unit.volume),
        np.where(joined, absolute * unit.negative_volume, charge.negative),
    )
    return Connection(np.asarray(absolute - outside), left, np.asarray(lost))


def before_connecting(
    unit: AirUnit,
    reading_gauge: ArrayLike,
    hose_volume: ArrayLike,
    ambient: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """What a unit held before a pump was screwed on, from the first reading with it on.

    ``p = p' (V + V_h)/V`` in gauge pressures, with V the volume open to the valve

    Parameters
    ----------
    unit : AirUnit, at full length and levelled
    reading_gauge : with the pump on, before a stroke of it [Pa], above minus the ambient
    hose_volume : of hose and gauge, V_h [m³], 0 or more
    ambient : air pressure outside [Pa absolute], above 0
        All broadcast together.

    Returns
    -------
    gauge pressure before [Pa]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    The inverse of `connect`. The hose was at ambient pressure.

    Examples
    --------
    >>> shock = air_unit(1.2e-3, 9e-5, 2e-5, 0.055, transfer_stroke=0.004)
    >>> on = connect(shock, fill(shock, 12e5), 3e-6)
    >>> round(float(before_connecting(shock, on.reading_gauge, 3e-6)))
    1200000

    References
    ----------
    p V = const. with absolute pressure; no printed table is used.
    """
    (hose,) = arrays(hose_volume=(hose_volume, not_negative("m³")))
    absolute = _absolute(reading_gauge, ambient, "reading_gauge")
    volume = unit.volume + np.where(_joined(unit), unit.negative_volume, 0.0)
    gauge = absolute - np.asarray(ambient, dtype=np.float64)
    return np.asarray(gauge * (volume + hose) / volume)


def _joined(unit: AirUnit) -> BoolArray:
    """Where both chambers are connected at full length."""
    return np.asarray(unit.transfer_stroke <= 0.0)


def _absolute(gauge: ArrayLike, ambient: ArrayLike, name: str = "pressure_gauge") -> Array:
    shown, outside = arrays(
        **{name: (gauge, Bound(unit="Pa")), "ambient": (ambient, positive("Pa"))}
    )
    absolute = np.asarray(shown + outside)
    refuse("below-vacuum", name, absolute <= 0.0, shown, "give a pressure above a perfect vacuum")
    return absolute


def _at(unit: AirUnit, stroke: ArrayLike, ambient: ArrayLike) -> tuple[Array, Array]:
    """Stroke and ambient pressure, the stroke inside the travel."""
    moved, outside = arrays(stroke=(stroke, not_negative("m")), ambient=(ambient, positive("Pa")))
    do = "give a stroke inside the unit's travel"
    refuse("beyond-travel", "stroke", moved > unit.travel * (1.0 + 1e-9), moved, do)
    return moved, outside


def _volumes(unit: AirUnit, stroke: Array) -> tuple[Array, Array]:
    above = np.asarray(unit.volume - unit.piston_area * stroke)
    return above, np.asarray(unit.negative_volume + unit.negative_area * stroke)


def _force(unit: AirUnit, above: Array, below: Array, stroke: Array, outside: Array) -> Array:
    """Force from both absolute pressures, the ambient, rod and stops."""
    gas = unit.piston_area * above - unit.negative_area * below
    shaft = (unit.piston_area - unit.negative_area) * outside
    bump = unit.bump_rate * np.maximum(stroke - (unit.travel - unit.bump_length), 0.0)
    top = unit.top_out_rate * np.maximum(unit.top_out_length - stroke, 0.0)
    return np.asarray(gas - shaft + unit.rod_force + bump - top)


def _rate(
    unit: AirUnit,
    pressures: tuple[Array, Array],
    stroke: Array,
    volumes: tuple[Array, Array],
    power: Array | float,
) -> Array:
    gas = (
        unit.piston_area**2 * pressures[0] / volumes[0]
        + unit.negative_area**2 * pressures[1] / volumes[1]
    )
    bump = np.where(stroke > unit.travel - unit.bump_length, unit.bump_rate, 0.0)
    top = np.where(stroke < unit.top_out_length, unit.top_out_rate, 0.0)
    return np.asarray(power * gas + bump + top)


def _fast(
    unit: AirUnit, charge: Charge, moved: Array, about: ArrayLike, exponent: ArrayLike
) -> tuple[tuple[Array, Array], Array]:
    """Absolute pressures of both chambers away from the ridden equilibrium, and the exponent."""
    middle, power = arrays(about=(about, not_negative("m")), exponent=(exponent, _EXPONENT))
    do = "give an equilibrium inside the unit's travel"
    refuse("beyond-travel", "about", middle > unit.travel * (1.0 + 1e-9), middle, do)
    there, here = _volumes(unit, middle), _volumes(unit, moved)
    above, below = (
        np.asarray(filling / start * (start / now) ** power)
        for filling, start, now in zip((charge.positive, charge.negative), there, here, strict=True)
    )
    return (above, below), power


def _balance(unit: AirUnit, charge: Charge, wanted: Array, outside: Array) -> Array:
    """The stroke at which the slow force is as wanted, held between the hard ends."""

    def miss(stroke: Array) -> Array:
        above, below = _volumes(unit, stroke)
        gas = charge.positive / above, charge.negative / below
        return np.asarray(_force(unit, *gas, stroke, outside) - wanted)

    start = _without_stops(unit, charge, wanted, outside)
    low = np.zeros(np.broadcast_shapes(start.shape, np.shape(miss(unit.travel))))
    high = np.broadcast_to(unit.travel, low.shape).astype(np.float64)
    topped, bottomed = miss(low) >= 0.0, miss(high) <= 0.0
    stroke = np.clip(start, low, high)
    for _ in range(_ROUNDS):
        off = miss(stroke)
        high = np.where(off > 0.0, stroke, high)
        low = np.where(off > 0.0, low, stroke)
        volumes = _volumes(unit, stroke)
        gas = charge.positive / volumes[0], charge.negative / volumes[1]
        fresh = stroke - off / _rate(unit, gas, stroke, volumes, 1.0)
        fresh = np.where((fresh < low) | (fresh > high), (low + high) / 2.0, fresh)
        moved = np.where(topped | bottomed, 0.0, np.abs(fresh - stroke))
        stroke = fresh
        if float(np.max(moved, initial=0.0)) < _CLOSE:
            return np.where(topped, 0.0, np.where(bottomed, unit.travel, stroke))
    do = "the spring's balance did not settle; please report the sheet that led here"
    raise NotConverged(Problem("spring-balance", "stroke", do))


def _without_stops(unit: AirUnit, charge: Charge, wanted: Array, outside: Array) -> Array:
    """The stroke in closed form where no stop touches.

    With W what the gas must push: ``A C_p/(V - A s) - A_n C_n/(V_n + A_n s) = W`` is a quadratic,
    and its root between both chambers' ends is always the one with the positive root sign.
    """
    area, below_area = unit.piston_area, unit.negative_area
    push = wanted - unit.rod_force + (area - below_area) * outside
    square = push * area * below_area
    linear = area * below_area * (charge.positive + charge.negative) - push * (
        unit.volume * below_area - area * unit.negative_volume
    )
    constant = (
        area * charge.positive * unit.negative_volume
        - below_area * charge.negative * unit.volume
        - push * unit.volume * unit.negative_volume
    )
    root = np.sqrt(np.maximum(linear**2 - 4.0 * square * constant, 0.0))
    rising = linear > 0.0
    flat = np.where(rising, linear + root, 1.0)
    steep = np.where(rising | (square == 0.0), 1.0, 2.0 * square)
    return np.asarray(np.where(rising, -2.0 * constant / flat, (root - linear) / steep))
