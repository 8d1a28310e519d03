"""Moments of inertia of a rider in a pose, for what leans and turns with the bike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cyclewright.body import balance
from cyclewright.body.posture import Pose
from cyclewright.body.segments import Masses

Array = NDArray[np.float64]

ASIDE = {"thigh": 0.10, "shank": 0.12, "foot": 0.14, "upper_arm": 0.24, "forearm": 0.31,
         "hand": 0.33}  # fmt: skip
"""Middle of a limb's segment from the bike's plane [m]; judgement."""
TRUNK_WIDTH, HEAD_WIDTH = 0.32, 0.16
"""[m]; judgement."""


@dataclass(frozen=True, slots=True)
class Inertia:
    """About the own mass centre, x forward and y up in the bike's plane, z across it, (n,)."""

    mass: Array
    """[kg]."""
    lean: Array
    """About x: Σ m (y² + z²) [kg·m²]."""
    turn: Array
    """About y: Σ m (x² + z²) [kg·m²]."""
    product: Array
    """Σ m x y [kg·m²]; positive where the upper body is ahead of the lower."""


def rider_inertia(pose: Pose, body_mass: ArrayLike, kit_mass: ArrayLike, masses: Masses) -> Inertia:
    """Inertia of rider and kit about their mass centre, Σ m (r_i² + L_i²/12) over the segments.

    Parameters
    ----------
    pose : Pose
        Where the joints are, (n, 2) [m].
    body_mass : array_like, shape (n,)
        Rider without kit [kg], positive.
    kit_mass : array_like, shape (n,)
        Clothes, shoes, helmet, pack, water [kg], zero or more.
    masses : Masses
        Fractions and centres of the segments, from `segment_masses`.

    Returns
    -------
    Inertia
        About the mass centre that `mass_centre` gives.

    Raises
    ------
    RangeError
        When a mass cannot be.

    Notes
    -----
    Each segment is an even rod along its own line; across the bike it sits where `ASIDE` has it.
    Kit is taken as part of the trunk. One standard deviation about 15 % (judgement). No published
    check of the whole; the benchmark bicycle's rider stands beside it in the tests.

    Examples
    --------
    >>> from cyclewright.body.posture import Contacts, seated
    >>> from cyclewright.body.segments import predict, segment_masses
    >>> contacts = Contacts(
    ...     saddle=np.array([[0.24, 1.05]]),
    ...     bottom_bracket=np.array([[0.43, 0.34]]),
    ...     grip=np.array([[0.92, 1.03]]),
    ...     crank_length=np.array([0.17]),
    ...     foot_stack=np.array([0.03]),
    ... )
    >>> pose = seated(predict(1.756, 0.846, "M"), contacts)
    >>> found = rider_inertia(pose, 80.0, 5.0, segment_masses())
    >>> found.lean.round(1), found.turn.round(1), found.product.round(1)
    (array([9.2]), array([3.]), array([1.1]))

    References
    ----------
    Rods and parallel axes; segment masses of Winter, Biomechanics and Motor Control of Human
    Movement.
    """
    body, kit = np.asarray(body_mass, np.float64), np.asarray(kit_mass, np.float64)
    middle = balance.mass_centre(pose, body, kit, masses)
    scale = body / masses.total
    at = pose.points
    wide: list[tuple[Array, Array, Array, float]] = [
        (scale * masses.trunk + kit, at["shoulder"], at["hip"], TRUNK_WIDTH**2 / 12.0),
        (scale * masses.head, at["head"], at["head"], HEAD_WIDTH**2 / 12.0),
    ]
    limbs = [
        (2.0, "upper_arm", "shoulder", "elbow"),
        (2.0, "forearm", "elbow", "hand"),
        (2.0, "hand", "hand", "hand"),
    ]
    for side in ("front", "rear"):
        limbs += [
            (1.0, "thigh", "hip", f"knee_{side}"),
            (1.0, "shank", f"knee_{side}", f"ankle_{side}"),
            (1.0, "foot", f"heel_{side}", f"ball_{side}"),
        ]
    wide += [
        (scale * count * getattr(masses, name), at[start], at[end], ASIDE[name] ** 2)
        for count, name, start, end in limbs
    ]
    lean = turn = product = np.zeros_like(middle[..., 0])
    for mass, start, end, across in wide:
        centre, along = (start + end) / 2.0 - middle, end - start
        x, y, length_x, length_y = centre[..., 0], centre[..., 1], along[..., 0], along[..., 1]
        lean = lean + mass * (y**2 + length_y**2 / 12.0 + across)
        turn = turn + mass * (x**2 + length_x**2 / 12.0 + across)
        product = product + mass * (x * y + length_x * length_y / 12.0)
    return Inertia(body + kit, lean, turn, product)
