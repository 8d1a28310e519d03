"""Natural modes of a bike on its springs: one end on its tyre, and the whole in heave and pitch.

Undamped and linear about the ridden equilibrium. They place frequencies and nodes; a mountain
bike as set up is damped so heavily (ratios about 0.4 to 1) that it hardly swings in them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.mechanics.bounds import Array, BoolArray, arrays, positive


@dataclass(frozen=True, slots=True)
class HalfModes:
    """Heave and pitch of a body on two springs, arrays (..., 2), the lower frequency first."""

    frequency: Array
    """Natural frequencies [Hz], ascending."""
    node: Array
    """Where each mode stands still, ahead of the mass centre positive [m]; 0 where it has none."""
    has_node: BoolArray
    """False for a pure heave, which moves everywhere alike, and where both frequencies are one."""


def quarter_modes(
    sprung_mass: ArrayLike, unsprung_mass: ArrayLike, spring_rate: ArrayLike, tyre_rate: ArrayLike
) -> Array:
    """Natural frequencies of one wheel between spring and tyre.

    ``m_s m_u ω⁴ - [m_s (k_s + k_t) + m_u k_s] ω² + k_s k_t = 0``

    Parameters
    ----------
    sprung_mass : carried by the spring, m_s [kg], above 0
    unsprung_mass : wheel and what moves with it, m_u [kg], above 0
    spring_rate : at the wheel, k_s [N/m], above 0
    tyre_rate : vertical, k_t [N/m], above 0
        All broadcast together.

    Returns
    -------
    body and wheel frequency (..., 2) [Hz], ascending

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    No damping, the tyre always on the ground. The lower root is taken as the product of both
    over the higher, which keeps its digits however far apart they are.

    Examples
    --------
    >>> quarter_modes(250.0, 45.0, 16e3, 160e3).round(3)
    array([1.213, 9.961])

    References
    ----------
    Rajamani, Vehicle Dynamics and Control, 2nd ed. 2012, chapter 10.
    """
    body, wheel, spring, tyre = arrays(
        sprung_mass=(sprung_mass, positive("kg")),
        unsprung_mass=(unsprung_mass, positive("kg")),
        spring_rate=(spring_rate, positive("N/m")),
        tyre_rate=(tyre_rate, positive("N/m")),
    )
    # ω² is the eigenvalue of [[k_s/m_s, -k_s/m_s], [-k_s/m_u, (k_s + k_t)/m_u]]
    upper, lower = spring / body, (spring + tyre) / wheel
    return _ascending(upper, lower, spring**2 / (body * wheel), spring * tyre / (body * wheel))


def half_modes(
    mass: ArrayLike,
    pitch_inertia: ArrayLike,
    front_distance: ArrayLike,
    rear_distance: ArrayLike,
    front_rate: ArrayLike,
    rear_rate: ArrayLike,
) -> HalfModes:
    """Heave and pitch of a body that stands on a front and a rear spring.

    ``(k_f + k_r - m ω²) Y + (k_f a - k_r b) Θ = 0`` and
    ``(k_f a - k_r b) Y + (k_f a² + k_r b² - J ω²) Θ = 0``; node ``x = -Y/Θ``

    Parameters
    ----------
    mass : of the body, m [kg], above 0
    pitch_inertia : about its mass centre, J [kg·m²], above 0
    front_distance, rear_distance : mass centre to each spring, a and b [m], above 0
    front_rate, rear_rate : vertical, k_f and k_r [N/m], above 0
        All broadcast together.

    Returns
    -------
    HalfModes : frequencies (..., 2) [Hz] ascending, and their nodes [m]

    Raises
    ------
    RangeError : an input outside its range

    Notes
    -----
    Spring and tyre of each end act as one spring in series; wheels without mass, no damping.
    With ``k_f a = k_r b`` the modes are pure heave, without a node, and pure pitch about the
    mass centre; if besides both swing equally fast, every mixture of them is a mode too, and
    neither has a node of its own.

    Examples
    --------
    >>> modes = half_modes(1000.0, 810.0, 1.0, 1.5, 18e3, 22e3)
    >>> modes.frequency.round(4), modes.node.round(4)
    (array([0.9325, 1.5015]), array([-2.6461,  0.3061]))

    References
    ----------
    Rao, Mechanical Vibrations, 5th ed. 2011, example 5.7.
    """
    body, inertia, ahead, behind, front, rear = arrays(
        mass=(mass, positive("kg")),
        pitch_inertia=(pitch_inertia, positive("kg·m²")),
        front_distance=(front_distance, positive("m")),
        rear_distance=(rear_distance, positive("m")),
        front_rate=(front_rate, positive("N/m")),
        rear_rate=(rear_rate, positive("N/m")),
    )
    across = front * ahead - rear * behind
    scale = front * ahead + rear * behind
    coupled = np.asarray(np.abs(across) > 1e-12 * scale)
    coupling = np.where(coupled, across, 0.0)
    heave = (front + rear) / body
    pitch = (front * ahead**2 + rear * behind**2) / inertia
    product = front * rear * (ahead + behind) ** 2 / (body * inertia)
    frequency = _ascending(heave, pitch, coupling**2 / (body * inertia), product)
    square = (2.0 * np.pi * frequency) ** 2
    node, has_node = _nodes(square, coupling, coupled, heave, pitch, body, inertia)
    return HalfModes(frequency, node, has_node)


def _nodes(
    square: Array,
    coupling: Array,
    coupled: BoolArray,
    heave: Array,
    pitch: Array,
    body: Array,
    inertia: Array,
) -> tuple[Array, BoolArray]:
    """Where each mode stands still, from whichever equation keeps its digits."""
    shape = square.shape
    apart = np.where(np.abs(heave - pitch) > 1e-12 * (heave + pitch), heave - pitch, 0.0)
    of_heave = np.broadcast_to(apart[..., None] * np.array([-1.0, 1.0]) > 0.0, shape)
    alike = (apart == 0.0)[..., None]
    across = np.broadcast_to(coupling[..., None], shape)
    mixed = np.broadcast_to(coupled[..., None], shape)
    # mostly pitch: x = k₁₂/(k₁₁ - m ω²); mostly heave: x = (k₂₂ - J ω²)/k₁₂
    stiff = body[..., None] * (heave[..., None] - square)
    turn = inertia[..., None] * (pitch[..., None] - square)
    by_pitch = across / np.where(np.abs(stiff) > 0.0, stiff, 1.0)
    by_heave = np.where(mixed, turn / np.where(mixed, across, 1.0), 0.0)
    node = np.where(of_heave, by_heave, by_pitch) + 0.0  # never minus zero
    return np.asarray(node), np.asarray(mixed | ~(of_heave | alike))


def _ascending(one: Array, other: Array, coupling: Array, product: Array) -> Array:
    """Frequencies [Hz] of the two roots ω² with this sum and product."""
    half = (one + other) / 2.0
    high = half + np.sqrt(((one - other) / 2.0) ** 2 + coupling)
    squares = np.stack(np.broadcast_arrays(product / high, high), axis=-1)
    return np.asarray(np.sqrt(squares) / (2.0 * np.pi))
