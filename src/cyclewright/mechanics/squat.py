"""What the chain does to the rear suspension: growth, pedal kick-back and anti-squat.

The upper run is a taut line that touches cog and chainring from above. All signs: forward and
up positive, the bike rides to the right, so that a crank kicked back turns anticlockwise.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.mechanics.bounds import FINITE, Array, Bound, arrays, positive, refuse

ISO_PITCH = 0.0127
"""Pitch of a bicycle chain [m], ISO 9633."""
_TEETH = Bound(6.0, 80.0, "teeth")
_PITCH = Bound(0.003, 0.05, "m")


def pitch_radius(teeth: ArrayLike, pitch: ArrayLike = ISO_PITCH) -> Array:
    """Radius on which the pins of a chain run round a sprocket.

    ``r = p/(2 sin(π/N))``

    Parameters
    ----------
    teeth : N, whole, 6 to 80 [1]
    pitch : of the chain, p [m], 0.003 to 0.05
        Both broadcast together.

    Returns
    -------
    pitch radius [m]

    Raises
    ------
    RangeError : an input outside its range, or teeth that are not whole

    Notes
    -----
    The chain's polygon is taken as a circle through its pins.

    Examples
    --------
    >>> round(float(pitch_radius(32)), 5)
    0.06478

    References
    ----------
    ISO 606, pitch circle of a sprocket.
    """
    count, step = arrays(teeth=(teeth, _TEETH), pitch=(pitch, _PITCH))
    refuse("not-whole", "teeth", count != np.round(count), count, "count the teeth: a whole number")
    return np.asarray(step / (2.0 * np.sin(np.pi / count)))


def chain_growth(
    axle_x: ArrayLike,
    axle_y: ArrayLike,
    front_teeth: ArrayLike,
    rear_teeth: ArrayLike,
    pitch: ArrayLike = ISO_PITCH,
) -> Array:
    """Chain that the upper run takes up while the axle moves, the wheel not turning.

    ``G = ΔL + (r_f - r_r) Δφ``, with ``L² = D² - (r_f - r_r)²`` the free length and φ the slope
    of the upper run

    Parameters
    ----------
    axle_x, axle_y : from the bottom bracket, (..., k) along the travel [m]
    front_teeth, rear_teeth : whole, 6 to 80 [1], (...)
    pitch : of the chain [m], 0.003 to 0.05

    Returns
    -------
    growth since the first element (..., k) [m]; positive pulls the crank back

    Raises
    ------
    RangeError : an input outside its range, or sprockets that would overlap

    Notes
    -----
    Taut upper run, freewheel engaged, the wheel held against turning in the frame. The growth
    of the straight line from bottom bracket to axle alone is `hypot(axle_x, axle_y)` less its
    start.

    Examples
    --------
    >>> chain_growth([-0.440, -0.452], [0.030, 0.100], 32, 52).round(4)
    array([0.    , 0.0279])

    References
    ----------
    Geometry of an open belt drive; no printed table is used.
    """
    x, y = arrays(axle_x=(axle_x, FINITE), axle_y=(axle_y, FINITE))
    ring, cog = _radii(front_teeth, rear_teeth, pitch)
    free, slope = _run(-x, -y, ring[..., None], cog[..., None])
    grown = free - free[..., :1] + (ring - cog)[..., None] * (slope - slope[..., :1])
    return np.asarray(grown)


def kick_back(
    axle_x: ArrayLike,
    axle_y: ArrayLike,
    front_teeth: ArrayLike,
    rear_teeth: ArrayLike,
    pitch: ArrayLike = ISO_PITCH,
) -> Array:
    """How far the suspension turns the cranks back, the rear wheel not turning.

    ``ψ = G/r_f``, the growth of the upper run over the chainring's pitch radius

    Parameters
    ----------
    axle_x, axle_y : from the bottom bracket, (..., k) along the travel [m]
    front_teeth, rear_teeth : whole, 6 to 80 [1], (...)
    pitch : of the chain [m], 0.003 to 0.05

    Returns
    -------
    turn of the cranks backwards since the first element (..., k) [rad]

    Raises
    ------
    RangeError : as for `chain_growth`

    Notes
    -----
    The most that can come: a wheel that rolls on gives most of it back through the freewheel.

    Examples
    --------
    >>> float(np.degrees(kick_back([-0.440, -0.452], [0.030, 0.100], 32, 52)[-1]).round(1))
    24.6

    References
    ----------
    Geometry of an open belt drive; no printed table is used.
    """
    ring, _ = _radii(front_teeth, rear_teeth, pitch)
    grown = chain_growth(axle_x, axle_y, front_teeth, rear_teeth, pitch)
    return np.asarray(grown / ring[..., None])


def growth_slope(
    axle_slope: ArrayLike,
    axle_x: ArrayLike,
    axle_y: ArrayLike,
    front_teeth: ArrayLike,
    rear_teeth: ArrayLike,
    pitch: ArrayLike = ISO_PITCH,
) -> Array:
    """Growth of the upper run per rise of the axle.

    ``dG/dz = -(cos φ dx/dz + sin φ)``, the axle's way against the upper run's direction

    Parameters
    ----------
    axle_slope : dx/dz of the axle's path [1]
    axle_x, axle_y : from the bottom bracket [m]
    front_teeth, rear_teeth : whole, 6 to 80 [1]
    pitch : of the chain [m], 0.003 to 0.05
        All broadcast together.

    Returns
    -------
    dG/dz [1]; times the chain's tension it is the force that lifts the rider while pedalling

    Raises
    ------
    RangeError : an input outside its range, or sprockets that would overlap

    Notes
    -----
    As for `chain_growth`.

    Examples
    --------
    >>> round(float(growth_slope(-0.077, -0.432, 0.026, 32, 18)), 4)
    0.0719

    References
    ----------
    Derivative of the open belt's length; no printed table is used.
    """
    lean, x, y = arrays(
        axle_slope=(axle_slope, FINITE), axle_x=(axle_x, FINITE), axle_y=(axle_y, FINITE)
    )
    _, slope = _run(-x, -y, *_radii(front_teeth, rear_teeth, pitch))
    return np.asarray(-(np.cos(slope) * lean + np.sin(slope)))


def anti_squat_on_path(
    axle_slope: ArrayLike,
    wheel_radius: ArrayLike,
    axle_x: ArrayLike,
    axle_y: ArrayLike,
    front_teeth: ArrayLike,
    rear_teeth: ArrayLike,
    wheelbase: ArrayLike,
    mass_height: ArrayLike,
    pitch: ArrayLike = ISO_PITCH,
) -> Array:
    """Anti-squat of any linkage from its axle path.

    ``AS = (L/h) [(R/r_r) dG/dz - dx/dz]``: by virtual work, the drive force at the ground and
    the chain's pull, against the load that accelerating moves to the rear

    Parameters
    ----------
    axle_slope : dx/dz of the axle's path [1]
    wheel_radius : rear axle above the ground, R [m], above 0
    axle_x, axle_y : from the bottom bracket [m]
    front_teeth, rear_teeth : whole, 6 to 80 [1]
    wheelbase : L [m], above 0
    mass_height : of bike and rider above the ground, h [m], above 0
    pitch : of the chain [m], 0.003 to 0.05
        All broadcast together.

    Returns
    -------
    anti-squat [1]; 1 where accelerating neither compresses nor extends the rear

    Raises
    ------
    RangeError : an input outside its range, or sprockets that would overlap

    Notes
    -----
    Steady acceleration on level ground, no pitch, no idler, wheels without inertia. The same as
    the chain-line construction through the instant centre, but finite where that centre is not.

    Examples
    --------
    >>> path = -(0.405 - 0.371) / 0.440
    >>> value = anti_squat_on_path(path, 0.371, -0.432, 0.026, 32, 18, 1.22, 1.1)
    >>> round(float(value), 4)
    0.8974

    References
    ----------
    Foale, Motorcycle Handling and Chassis Design, 2nd ed. 2006, chapter 9; Cossalter,
    Motorcycle Dynamics, 2nd ed. 2006, chapter 6 (squat ratio).
    """
    lean, radius, base, height = arrays(
        axle_slope=(axle_slope, FINITE),
        wheel_radius=(wheel_radius, positive("m")),
        wheelbase=(wheelbase, positive("m")),
        mass_height=(mass_height, positive("m")),
    )
    _, cog = _radii(front_teeth, rear_teeth, pitch)
    pull = growth_slope(lean, axle_x, axle_y, front_teeth, rear_teeth, pitch)
    return np.asarray(base / height * (radius / cog * pull - lean))


def anti_squat(
    axle_x: ArrayLike,
    axle_y: ArrayLike,
    pivot_x: ArrayLike,
    pivot_y: ArrayLike,
    bb_x: ArrayLike,
    bb_y: ArrayLike,
    front_teeth: ArrayLike,
    rear_teeth: ArrayLike,
    wheelbase: ArrayLike,
    mass_height: ArrayLike,
    pitch: ArrayLike = ISO_PITCH,
) -> Array:
    """Anti-squat of an arm about a pivot or an instant centre.

    ``AS = (L/h) [(R/r_r) dG/dz - dx/dz]`` with ``dx/dz = -(y_A - y_P)/(x_A - x_P)``

    Parameters
    ----------
    axle_x, axle_y : rear axle from the rear contact [m], axle_y above 0
    pivot_x, pivot_y : pivot or instant centre of the body with the axle [m]
    bb_x, bb_y : bottom bracket [m]
    front_teeth, rear_teeth : whole, 6 to 80 [1]
    wheelbase : L [m], above 0
    mass_height : of bike and rider above the ground, h [m], above 0
    pitch : of the chain [m], 0.003 to 0.05
        All broadcast together.

    Returns
    -------
    anti-squat [1]; 1 where accelerating neither compresses nor extends the rear

    Raises
    ------
    RangeError : an input outside its range, a pivot straight above or below the axle, or
        sprockets that would overlap

    Notes
    -----
    As for `anti_squat_on_path`, origin at the rear contact.

    Examples
    --------
    >>> round(float(anti_squat(0.0, 0.371, 0.44, 0.405, 0.432, 0.345, 32, 18, 1.22, 1.1)), 4)
    0.8974

    References
    ----------
    Foale, Motorcycle Handling and Chassis Design, 2nd ed. 2006, chapter 9; Cossalter,
    Motorcycle Dynamics, 2nd ed. 2006, chapter 6 (squat ratio).
    """
    x, y, pivot_along, pivot_up, bb_along, bb_up = arrays(
        axle_x=(axle_x, FINITE),
        axle_y=(axle_y, positive("m")),
        pivot_x=(pivot_x, FINITE),
        pivot_y=(pivot_y, FINITE),
        bb_x=(bb_x, FINITE),
        bb_y=(bb_y, FINITE),
    )
    along = x - pivot_along
    do = "move the pivot: straight above or below the axle it cannot let the wheel rise"
    refuse("no-rise", "pivot_x", np.abs(along) < 1e-9, pivot_along, do)
    return anti_squat_on_path(
        -(y - pivot_up) / along,
        y,
        x - bb_along,
        y - bb_up,
        front_teeth,
        rear_teeth,
        wheelbase,
        mass_height,
        pitch,
    )


def _radii(front: ArrayLike, rear: ArrayLike, pitch: ArrayLike) -> tuple[Array, Array]:
    """Pitch radii of chainring and cog; teeth of both are told at once."""
    ring, cog, _ = arrays(
        front_teeth=(front, _TEETH), rear_teeth=(rear, _TEETH), pitch=(pitch, _PITCH)
    )
    do = "count the teeth: a whole number"
    for name, count in (("front_teeth", ring), ("rear_teeth", cog)):
        refuse("not-whole", name, count != np.round(count), count, do)
    return pitch_radius(ring, pitch), pitch_radius(cog, pitch)


def _run(along: Array, up: Array, ring: Array, cog: Array) -> tuple[Array, Array]:
    """Free length and slope of the upper run, from the axle forward to the bottom bracket."""
    distance = np.hypot(along, up)
    overlap = np.asarray(distance <= ring + cog)
    do = "move the axle from the bottom bracket: chainring and cog would overlap"
    refuse("overlap", "axle_x", overlap, np.asarray(-along), do)
    free = np.sqrt(distance**2 - (ring - cog) ** 2)
    slope = np.arctan2(up, along) + np.arcsin((ring - cog) / distance)
    return np.asarray(free), np.asarray(slope)
