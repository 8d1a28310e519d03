"""Bolted joints: metric threads, preload and tightening torque, extensions of a torque tool."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from cyclewright.errors import input_error
from cyclewright.mechanics import tables
from cyclewright.mechanics.bounds import Array, Bound, arrays, not_negative, positive, refuse

_FRICTION: Final = Bound(0.0, 1.0, low_open=True)
_UTILISATION: Final = Bound(0.0, 1.0, low_open=True)
_DESIGNATION: Final = re.compile(r"M(\d{1,2}(?:\.\d{1,2})?)(?:[x×*](\d(?:\.\d{1,3})?))?")


@dataclass(frozen=True, slots=True)
class Thread:
    """A metric thread: nominal, pitch, core and stress diameters [m], stress area [m²]."""

    d: float
    pitch: float
    d2: float
    """Pitch diameter."""
    d3: float
    """Core diameter."""
    ds: float
    """Stress diameter, the mean of pitch and core diameter."""
    stress_area: float


@dataclass(frozen=True, slots=True)
class Head:
    """What a bolt's head rests on: outside diameter of its bearing face and the hole [m]."""

    bearing_diameter: float
    hole: float


@dataclass(frozen=True, slots=True)
class Assembly:
    """A tightened bolt: stress area [m²], preload [N] and the torque [N·m] that makes it."""

    stress_area: float
    preload: Array
    torque: Array


def thread(designation: str) -> Thread:
    """Diameters and stress area of a metric thread by its designation.

    ``d₂ = d - 0.6495 P``, ``d₃ = d - 1.2269 P``, ``d_s = (d₂ + d₃)/2``, ``A_s = π d_s²/4``

    Parameters
    ----------
    designation : ``M5`` for a coarse thread from M3 to M12, ``M8x1`` for any other pitch;
        diameters 1 to 64 mm, pitch P from 0.2 mm to 0.3 d

    Returns
    -------
    Thread : lengths [m] and stress area [m²]

    Raises
    ------
    InputError : not a metric thread, no coarse pitch known, or a pitch that no thread has

    Notes
    -----
    Basic profile without tolerances. Only a nominal size is told by a designation: the part's
    own drawing decides.

    Examples
    --------
    >>> round(thread("M5").stress_area * 1e6, 1), thread("M8x1").pitch
    (14.2, 0.001)

    References
    ----------
    ISO 724:1993 for d₂ and d₃; ISO 898-1:2013 clause 9.1.6 (clause from memory)
    for the stress area.
    """
    d, pitch = _sizes(str(designation).strip().replace(" ", ""))
    d2, d3 = d - 0.6495 * pitch, d - 1.2269 * pitch
    ds = (d2 + d3) / 2.0
    return Thread(d, pitch, d2, d3, ds, math.pi / 4.0 * ds**2)


def tabulated_head(thread: Thread, head: str) -> Head | None:
    """Bearing face and hole of a standard head, or None for a size without a row.

    ``d_w, d_h`` of the row with the thread's nominal diameter ``d``, coarse or fine alike.

    Parameters
    ----------
    thread : of `thread`
    head : ``hex`` (ISO 4014) or ``socket`` (ISO 4762)

    Returns
    -------
    Head : bearing diameter and hole [m], or None

    Raises
    ------
    InputError : another kind of head

    Notes
    -----
    Holes are of the medium series. Rows from M4 to M10 without M7.

    Examples
    --------
    >>> tabulated_head(thread("M6"), "socket")
    Head(bearing_diameter=0.00938, hole=0.0066)

    References
    ----------
    ISO 4014, ISO 4762 (bearing faces), ISO 273 (clearance holes, medium).
    """
    if head not in ("hex", "socket"):
        raise input_error(
            "head", "head", "write socket or hex", value=str(head), allowed="socket, hex"
        )
    row = tables.heads().get((head, round(thread.d, 9)))
    return None if row is None else Head(*row)


def proof_stress(grade: str) -> float:
    """Stress at 0.2 % permanent strain of a property class.

    ``R_p0.2``, the minimum that the standard prints

    Parameters
    ----------
    grade : 8.8, 10.9, 12.9, A2-70 or A2-80

    Returns
    -------
    stress [Pa]

    Raises
    ------
    InputError : a class without a row

    Notes
    -----
    Titanium and aluminium bolts have no such class: their maker's torque is the only figure.
    Aluminium threads in a part usually limit long before a steel bolt does.

    Examples
    --------
    >>> proof_stress("8.8")
    640000000.0

    References
    ----------
    ISO 898-1:2013 table 3; ISO 3506-1 for stainless classes.
    """
    known = tables.proof_stresses()
    written = str(grade).strip().upper()
    if written not in known:
        allowed = ", ".join(known)
        raise input_error(
            "grade",
            "grade",
            "write the class off the bolt's head; for others only the maker's torque holds",
            value=str(grade),
            allowed=allowed,
        )
    return known[written]


def torque(
    thread: Thread,
    tension: ArrayLike,
    friction_thread: ArrayLike,
    friction_head: ArrayLike,
    head: str | Head = "socket",
) -> Array:
    """Tightening torque that makes a preload.

    ``T = F [0.16 P + 0.58 d₂ μ_t + (D_km/2) μ_h]`` with ``D_km`` the mean of bearing diameter
    and hole

    Parameters
    ----------
    thread : of `thread`
    tension : of the bolt, its preload, F [N], 0 or more
    friction_thread, friction_head : μ_t, μ_h [1], above 0 to 1
    head : ``socket``, ``hex``, or a `Head` for a size without a row
        Arrays broadcast together.

    Returns
    -------
    torque [N·m]

    Raises
    ------
    InputError : a head that is not known or not tabulated for this thread
    RangeError : tension or friction outside its range

    Notes
    -----
    The one torque law of this package, so that `preload` inverts it exactly. Friction varies
    by tens of percent from bolt to bolt: a torque is a poor measure of preload.

    Examples
    --------
    >>> round(float(torque(thread("M5"), 5900.0, 0.12, 0.12)), 1)
    5.0

    References
    ----------
    VDI 2230-1, tightening torque of the assembly (Kellermann and Klein's linear form).
    """
    (force,) = arrays(tension=(tension, not_negative("N")))
    return np.asarray(force * _torque_per_force(thread, friction_thread, friction_head, head))


def preload(
    thread: Thread,
    torque: ArrayLike,
    friction_thread: ArrayLike,
    friction_head: ArrayLike,
    head: str | Head = "socket",
) -> Array:
    """Preload that a tightening torque makes.

    ``F = T/[0.16 P + 0.58 d₂ μ_t + (D_km/2) μ_h]``, the inverse of `torque`

    Parameters
    ----------
    thread : of `thread`
    torque : T [N·m], 0 or more
    friction_thread, friction_head : μ_t, μ_h [1], above 0 to 1
    head : ``socket``, ``hex``, or a `Head` for a size without a row
        Arrays broadcast together.

    Returns
    -------
    preload [N]

    Raises
    ------
    InputError : a head that is not known or not tabulated for this thread
    RangeError : torque or friction outside its range

    Notes
    -----
    At one torque, friction decides: grease on a bolt meant to be dry can pass its yield point.

    Examples
    --------
    >>> [round(float(force), -2) for force in preload(thread("M5"), 5.0, *[[0.08, 0.12, 0.2]] * 2)]
    [8200.0, 5900.0, 3800.0]

    References
    ----------
    VDI 2230-1, tightening torque of the assembly, solved for the preload.
    """
    (moment,) = arrays(torque=(torque, not_negative("N·m")))
    return np.asarray(moment / _torque_per_force(thread, friction_thread, friction_head, head))


def assembly_preload(
    thread: Thread, grade: str, friction_thread: ArrayLike, utilisation: ArrayLike = 0.9
) -> Array:
    """Preload at which tension and torsion together use a given share of the yield point.

    ``F = A_s ν R_p0.2 / √(1 + 3 [(3/2)(d₂/d_s)(P/(π d₂) + 1.155 μ_t)]²)``

    Parameters
    ----------
    thread : of `thread`
    grade : property class, as `proof_stress` takes it
    friction_thread : μ_t [1], above 0 to 1
    utilisation : share of the yield point, ν [1], above 0 to 1
        Arrays broadcast together.

    Returns
    -------
    preload [N]

    Raises
    ------
    InputError : a grade without a row
    RangeError : friction or utilisation outside its range

    Notes
    -----
    Of the bolt alone: the clamped part, an aluminium thread or carbon usually allow far less.

    Examples
    --------
    >>> round(float(assembly_preload(thread("M5"), "8.8", 0.12)), -2)
    7200.0

    References
    ----------
    VDI 2230-1:2003, assembly preload table and the formula it is computed from.
    """
    friction, share = arrays(
        friction_thread=(friction_thread, _FRICTION), utilisation=(utilisation, _UTILISATION)
    )
    lead = thread.pitch / (math.pi * thread.d2)
    torsion = 1.5 * (thread.d2 / thread.ds) * (lead + 1.155 * friction)
    stress = share * proof_stress(grade) / np.sqrt(1.0 + 3.0 * torsion**2)
    return np.asarray(thread.stress_area * stress)


def assembly(
    thread: Thread,
    grade: str,
    friction_thread: ArrayLike,
    friction_head: ArrayLike,
    head: str | Head = "socket",
    utilisation: ArrayLike = 0.9,
) -> Assembly:
    """Stress area, assembly preload and tightening torque of a bolt.

    `assembly_preload` put through `torque`

    Parameters
    ----------
    thread : of `thread`
    grade : property class, as `proof_stress` takes it
    friction_thread, friction_head : [1], above 0 to 1
    head : ``socket``, ``hex``, or a `Head` for a size without a row
    utilisation : share of the yield point [1], above 0 to 1
        Arrays broadcast together.

    Returns
    -------
    Assembly : stress area [m²], preload [N], torque [N·m]

    Raises
    ------
    InputError : a head or grade without a row
    RangeError : friction or utilisation outside its range

    Notes
    -----
    What the bolt could bear, never what to tighten it to: the parts' own figures come first.
    Editions of the printed table differ by up to 12 %.

    Examples
    --------
    >>> bolt = assembly(thread("M8x1"), "8.8", 0.12, 0.12, head="hex")
    >>> round(float(bolt.preload), -2), round(float(bolt.torque), 1)
    (20200.0, 26.1)

    References
    ----------
    VDI 2230-1:2003, assembly preload and tightening torque tables.
    """
    force = assembly_preload(thread, grade, friction_thread, utilisation)
    moment = torque(thread, force, friction_thread, friction_head, head)
    return Assembly(thread.stress_area, force, moment)


def extension_setting(
    torque: ArrayLike, length: ArrayLike, extension: ArrayLike, angle: ArrayLike = 0.0
) -> Array:
    """What to set a torque tool to when an offset head moves the bolt away from its drive.

    ``T_s = T L/(L + E cos φ)``

    Parameters
    ----------
    torque : wanted at the bolt, T [N·m], 0 or more
    length : from the tool's drive to the middle of the hand, L [m], above 0
    extension : from the tool's drive to the bolt, E [m], 0 or more
    angle : of the extension from the tool's own line, φ [rad], -π to π; 0 lengthens the tool
        All broadcast together.

    Returns
    -------
    setting [N·m]

    Raises
    ------
    RangeError : an input outside its range, or a head turned back as far as the hand

    Notes
    -----
    Pulled square to the tool at the middle of its grip. Only a head that offsets the bolt from
    the drive counts: a straight bit or socket extension changes nothing.

    Examples
    --------
    >>> round(float(extension_setting(80.0, 0.4, 0.05)), 1)
    71.1

    References
    ----------
    Statics of the lever.
    """
    moment, lever, offset, turned = arrays(
        torque=(torque, not_negative("N·m")),
        length=(length, positive("m")),
        extension=(extension, not_negative("m")),
        angle=(angle, Bound(-math.pi, math.pi, "rad")),
    )
    reach = np.asarray(1.0 + offset * np.cos(turned) / lever)
    do = "turn the head forward or take a longer tool: the bolt sits behind the hand"
    refuse("extension", "extension", reach <= 0.0, offset, do)
    return np.asarray(moment / reach)


def _sizes(designation: str) -> tuple[float, float]:
    """Nominal diameter and pitch [m] of a designation."""
    match = _DESIGNATION.fullmatch(designation[:1].upper() + designation[1:].lower())
    if match is None:
        raise input_error(
            "thread", "thread", "write it like M5 or M8x1", value=designation, allowed="M5, M8x1"
        )
    d = round(float(match[1]) / 1000.0, 9)
    coarse = tables.coarse_pitches()
    if match[2] is None:
        if d not in coarse:
            raise input_error(
                "thread",
                "thread",
                f"no coarse pitch is known for it: write the pitch too, like {designation}x1",
                value=designation,
                allowed=", ".join(f"M{size * 1000:g}" for size in coarse),
            )
        return d, coarse[d]
    pitch = round(float(match[2]) / 1000.0, 9)
    if not 1e-3 <= d <= 64e-3 or not 0.2e-3 <= pitch <= 0.3 * d + 1e-9:
        raise input_error(
            "thread",
            "thread",
            "no metric thread has this pitch: measure diameter and pitch again",
            value=designation,
            allowed="1 to 64 mm, pitch 0.2 mm to 0.3 of the diameter",
        )
    return d, pitch


def _bearing(thread: Thread, head: str | Head) -> Head:
    """The head itself, or its row of the tables."""
    if isinstance(head, Head):
        outside, hole = arrays(
            head_diameter=(head.bearing_diameter, positive("m")), hole=(head.hole, positive("m"))
        )
        do = "give a bearing diameter larger than the hole"
        refuse("head", "head_diameter", outside <= hole, outside, do)
        do = "give a hole that the thread passes through"
        refuse("head", "hole", hole < thread.d - 1e-9, hole, do)
        return head
    row = tabulated_head(thread, head)
    if row is None:
        raise input_error(
            "head-untabulated",
            "head",
            "give head_diameter and hole: no head is tabulated for this thread",
            value=head,
        )
    return row


def _torque_per_force(
    thread: Thread, friction_thread: ArrayLike, friction_head: ArrayLike, head: str | Head
) -> Array:
    """Torque over preload [m]."""
    in_thread, under_head = arrays(
        friction_thread=(friction_thread, _FRICTION), friction_head=(friction_head, _FRICTION)
    )
    bearing = _bearing(thread, head)
    mean_diameter = (bearing.bearing_diameter + bearing.hole) / 2.0
    return np.asarray(
        0.16 * thread.pitch + 0.58 * thread.d2 * in_thread + mean_diameter / 2.0 * under_head
    )
