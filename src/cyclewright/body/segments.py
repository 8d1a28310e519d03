"""Body segments of a rider from what was measured, with the spread that stays unknown.

Joint centres are taken from the landmarks of the survey: hip at the height of the greater
trochanter, knee at the outer epicondyle, ankle at the outer malleolus, shoulder a little below
the acromion, elbow at the radiale. Everything not measured comes from the survey's joint
normal distribution, given what was measured.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cyclewright.body.tables import SURVEY_COLUMNS, Survey, mass_table, survey
from cyclewright.errors import Problem, RangeError, input_error

Array = NDArray[np.float64]
Sex = Literal["M", "F"]
InseamKind = Literal["firm", "light"]
MassSet = Literal["winter", "de-leva"]

DEVIATES = 8
"""How many independent normal deviates the whole residual of `predict` takes."""

INSEAM_OVER_CROTCH: dict[str, tuple[float, float]] = {
    "firm": (0.015, 0.005),
    "light": (0.008, 0.005),
}
"""Inseam less the survey's crotch height [m]: mean and one standard deviation by how hard the
book was pressed. Judgement of practice, no published source."""

GRIP_OF_HAND = 0.40
"""Wrist to the middle of a gripped bar over hand length [1]; from memory."""
SHOULDER_BELOW_ACROMION = 0.104
"""Shoulder centre below the acromion over upper-arm length [1]; de Leva 1996, from memory."""
HEAD_CENTRE_BELOW_VERTEX = 0.074
"""Centre of head and neck (at the ear) below the top of the head over stature [1]; from
memory."""
BALL_OF_FOOT = 0.73
"""Heel to ball over foot length [1]; from memory."""
ANKLE_OF_FOOT = 0.24
"""Heel to ankle, along the ground, over foot length [1]; from memory."""

_TARGETS = (
    "trochanter_height",
    "knee_height",
    "ankle_height",
    "acromion_height",
    "upper_arm",
    "forearm",
    "hand",
    "foot",
)
STATURE = (1.0, 2.4)
"""Statures that the regressions are carried to [m]."""
CROTCH_SHARE = (0.38, 0.58)
"""Crotch height over stature that bodies have [1]."""
ARM = (0.33, 0.47)


@dataclass(frozen=True, slots=True)
class Segments:
    """Lengths of the rider's segments [m], every field an array of shape (n,)."""

    thigh: Array
    """Hip centre to knee."""
    shank: Array
    """Knee to ankle."""
    ankle_height: Array
    """Ankle above the bare sole."""
    foot: Array
    """Heel to ball, along the sole."""
    ball_ahead: Array
    """Ankle to ball, along the sole."""
    trunk: Array
    """Hip centre to shoulder centre."""
    upper_arm: Array
    """Shoulder centre to elbow."""
    forearm: Array
    """Elbow to the middle of a gripping hand."""
    head: Array
    """Shoulder centre to the centre of head and neck."""
    stature: Array
    seat_to_hip: Array
    """Hip centre above a hard flat seat, sitting upright."""

    @property
    def leg(self) -> Array:
        """Thigh and shank, straight [m]."""
        return self.thigh + self.shank

    @property
    def arm(self) -> Array:
        """Upper arm and forearm, straight [m]."""
        return self.upper_arm + self.forearm


@dataclass(frozen=True, slots=True)
class Masses:
    """Mass fractions of the body [1] (limbs: one side) and centres from the proximal end [1]."""

    name: str
    head: float
    trunk: float
    upper_arm: float
    forearm: float
    hand: float
    thigh: float
    shank: float
    foot: float
    trunk_centre: float
    """From the shoulder, over the trunk's length."""
    upper_arm_centre: float
    forearm_centre: float
    """From the elbow, over the length to the wrist."""
    thigh_centre: float
    shank_centre: float
    foot_centre: float
    """From the heel, over the distance to the toes."""

    @property
    def total(self) -> float:
        """Sum of all fractions, 1 within the rounding of the published table."""
        limbs = self.upper_arm + self.forearm + self.hand + self.thigh + self.shank + self.foot
        return self.head + self.trunk + 2.0 * limbs


def predict(
    stature: ArrayLike,
    crotch_height: ArrayLike | None = None,
    sex: Sex | None = None,
    arm_length: ArrayLike | None = None,
    deviates: ArrayLike | None = None,
) -> Segments:
    """Segments of a rider from what was measured, by the survey's joint normal distribution.

    With the survey's dimensions x ~ N(μ, Σ) and the measured ones m, the rest are
    E[o | m] = μ_o + Σ_om Σ_mm⁻¹ (m − μ_m), with covariance Σ_oo − Σ_om Σ_mm⁻¹ Σ_mo.

    Parameters
    ----------
    stature : array_like, shape (n,)
        Height without shoes [m], 1.0 to 2.4; the survey holds adults of 1.41 to 1.99 m and
        outside of them the result is an extrapolation.
    crotch_height : array_like, shape (n,), optional
        Floor to crotch by the survey's definition [m], see `crotch_height`.
    sex : {"M", "F"}, optional
        Group of the survey; without it both together are used, with their wider spread.
    arm_length : array_like, shape (n,), optional
        Acromion (the bony corner of the shoulder) to the middle of a gripped rod, arm
        straight [m].
    deviates : array_like, shape (k, n), optional
        Standard normal draws, k up to 8, for the residual's principal components from the
        largest down; without them the mean is returned.

    Returns
    -------
    Segments
        Lengths [m], each of shape (n,).

    Raises
    ------
    RangeError
        When a length is not one that a human body can have.

    Notes
    -----
    Landmarks stand for joint centres; the small ratios that carry one to the other are module
    constants with their sources. The hip's height over a seat is the mean of its group over
    stature: its scatter in the survey is within the error of the three heights it is a
    difference of. The spine is straight, as measured standing.

    Examples
    --------
    >>> rider = predict(1.75, crotch_height=0.845, sex="M")
    >>> round(float(rider.thigh[0]), 3), round(float(rider.shank[0]), 3)
    (0.409, 0.418)

    References
    ----------
    ANSUR II, Gordon and others 2014, Natick/TR-15/007, public release.
    """
    _check_lengths(stature, crotch_height, arm_length)
    table = survey(sex or "any")
    measured = {"stature": stature, "crotch_height": crotch_height, "arm_length": arm_length}
    known = {name: _column(value) for name, value in measured.items() if value is not None}
    known = dict(zip(known, np.broadcast_arrays(*known.values()), strict=True))
    mean, spread = _conditional(table, known)
    if deviates is not None:
        mean = mean + spread[:, : np.shape(deviates)[0]] @ _deviates(deviates)
    tall = np.broadcast_to(known["stature"], mean.shape[1:]).copy()
    return _segments(dict(zip(_TARGETS, mean, strict=True)), tall, table)


def crotch_height(inseam: ArrayLike, kind: InseamKind = "firm") -> Array:
    """Crotch height of the survey from a rider's inseam, by how hard the book was pressed.

    Parameters
    ----------
    inseam : array_like
        Floor to a book pressed up between the legs, without shoes [m].
    kind : {"firm", "light"}
        Pressed up as a saddle would (15 ± 5 mm above the survey's), or lightly (8 ± 5 mm).

    Returns
    -------
    ndarray
        Crotch height [m]; its spread is `INSEAM_OVER_CROTCH[kind][1]`.

    Raises
    ------
    InputError
        When `kind` is neither of the two.

    Notes
    -----
    Judgement of practice; no published check is known.

    Examples
    --------
    >>> round(float(crotch_height(0.83)), 3)
    0.815
    """
    return np.asarray(inseam, dtype=np.float64) - _allowance(kind)[0]


def inseam_of(crotch_height: ArrayLike, kind: InseamKind = "firm") -> Array:
    """The inseam [m] that a book would show at this crotch height [m]; see `crotch_height`.

    Examples
    --------
    >>> round(float(inseam_of(0.815)), 3)
    0.83
    """
    return np.asarray(crotch_height, dtype=np.float64) + _allowance(kind)[0]


def crotch_height_from_stature(stature: ArrayLike, sex: Sex | None = None) -> tuple[Array, float]:
    """Crotch height from stature by the survey's regression, and its residual spread.

    Parameters
    ----------
    stature : array_like
        Height without shoes [m], 1.0 to 2.4.
    sex : {"M", "F"}, optional
        Group of the survey; without it both together.

    Returns
    -------
    tuple of (ndarray, float)
        Crotch height [m] and one standard deviation of a person about it [m].

    Raises
    ------
    RangeError
        When the stature is not a person's.

    Notes
    -----
    To sample a rider of whom only the stature is known, draw a crotch height from this and
    give it to `predict`, so that inseam and legs stay one person's.

    Examples
    --------
    >>> mean, spread = crotch_height_from_stature(1.7562)
    >>> round(float(mean), 3), round(spread, 3)
    (0.848, 0.024)

    References
    ----------
    ANSUR II, Gordon and others 2014: −111.2 mm + 0.5462 × stature for both sexes together.
    """
    _check_lengths(stature, None, None)
    table = survey(sex or "any")
    slope = table.covariance[0, 1] / table.covariance[0, 0]
    spread = float(np.sqrt(table.covariance[1, 1] - slope * table.covariance[0, 1]))
    return table.mean[1] + slope * (np.asarray(stature, np.float64) - table.mean[0]), spread


def segment_masses(sex: Sex | None = None, set: MassSet = "winter") -> Masses:
    """Mass fractions and mass centres of the segments.

    Parameters
    ----------
    sex : {"M", "F"}, optional
        Needed for de Leva's set, which tells men and women apart; without it their mean.
    set : {"winter", "de-leva"}
        Winter's table after Dempster, or de Leva's after Zatsiorsky.

    Returns
    -------
    Masses
        Fractions [1] (limbs: one side) and centres over segment length [1].

    Raises
    ------
    InputError
        When the set is neither of the two.

    Examples
    --------
    >>> round(segment_masses().total, 3)
    1.0

    References
    ----------
    Winter, Biomechanics and Motor Control of Human Movement; de Leva, J. Biomech. 29 (1996).
    """
    if set not in ("winter", "de-leva"):
        raise input_error("unknown-set", "set", "use winter or de-leva", value=str(set))
    tables = [mass_table(set, group) for group in ((sex,) if sex else ("M", "F"))]
    values = {
        segment if quantity == "mass" else f"{segment}_centre": sum(
            table[segment, quantity] for table in tables
        )
        / len(tables)
        for segment, quantity in tables[0]
    }
    return Masses(name=set, **values)


def _conditional(table: Survey, known: dict[str, Array]) -> tuple[Array, Array]:
    """Mean of the targets (8, n) given the known, and a root (8, 8) of their covariance."""
    rows = np.array([_combination(name) for name in known])
    targets = np.array([_combination(name) for name in _TARGETS])
    cross = targets @ table.covariance @ rows.T
    gain = np.linalg.solve(rows @ table.covariance @ rows.T, cross.T).T
    offset = np.array(list(known.values())) - (rows @ table.mean)[:, None]
    whole = targets @ table.covariance @ targets.T
    root = _root(whole - gain @ cross.T, float(np.linalg.norm(whole)))
    return (targets @ table.mean)[:, None] + gain @ offset, root


def _root(covariance: Array, before: float) -> Array:
    """V √λ with the largest component first and signs fixed, so that draws are repeatable.

    What was measured leaves directions without any variance. A difference is rounded by the
    size of what it was taken from, `before`, so that those show some 1e-19 m² of either sign,
    another on every processor, and its root 1e-9 m: they count as nothing.
    """
    values, vectors = np.linalg.eigh(covariance)
    values, vectors = values[::-1], vectors[:, ::-1]
    noise = len(values) * np.finfo(np.float64).eps * before
    largest = np.take_along_axis(vectors, np.abs(vectors).argmax(axis=0)[None], axis=0)
    root: Array = vectors * np.sign(largest) * np.sqrt(np.where(values > noise, values, 0.0))
    return root


def _combination(name: str) -> Array:
    """A dimension as weights on the survey's columns; an arm is a sum of three."""
    weights = np.zeros(len(SURVEY_COLUMNS))
    parts = {name: 1.0}
    if name == "arm_length":
        parts = {"upper_arm": 1.0, "forearm": 1.0, "hand": GRIP_OF_HAND}
    for part, weight in parts.items():
        weights[SURVEY_COLUMNS.index(part)] = weight
    return weights


def _segments(height: dict[str, Array], stature: Array, table: Survey) -> Segments:
    """Segments from the survey's heights and lengths."""
    drop = SHOULDER_BELOW_ACROMION * height["upper_arm"]
    mean = dict(zip(SURVEY_COLUMNS, table.mean, strict=True))
    over_seat = mean["trochanter_height"] + mean["sitting_height"] - mean["stature"]
    return Segments(
        thigh=height["trochanter_height"] - height["knee_height"],
        shank=height["knee_height"] - height["ankle_height"],
        ankle_height=height["ankle_height"],
        foot=BALL_OF_FOOT * height["foot"],
        ball_ahead=(BALL_OF_FOOT - ANKLE_OF_FOOT) * height["foot"],
        trunk=height["acromion_height"] - drop - height["trochanter_height"],
        upper_arm=height["upper_arm"] - drop,
        forearm=height["forearm"] + GRIP_OF_HAND * height["hand"],
        head=(1.0 - HEAD_CENTRE_BELOW_VERTEX) * stature - height["acromion_height"] + drop,
        stature=stature,
        seat_to_hip=over_seat / mean["stature"] * stature,
    )


def _allowance(kind: str) -> tuple[float, float]:
    """What an inseam measured this way lies above the survey's crotch height."""
    if kind not in INSEAM_OVER_CROTCH:
        raise input_error("unknown-inseam-kind", "kind", "use firm or light", value=str(kind))
    return INSEAM_OVER_CROTCH[kind]


def _column(value: ArrayLike) -> Array:
    """The value as an array of at least one element."""
    return np.atleast_1d(np.asarray(value, dtype=np.float64))


def _deviates(deviates: ArrayLike) -> Array:
    """The deviates as (k, n), refused when they are more than the residual can take."""
    draws = np.asarray(deviates, dtype=np.float64)
    if draws.ndim != 2 or draws.shape[0] > DEVIATES or not np.isfinite(draws).all():
        raise input_error(
            "bad-deviates", "deviates", f"give finite draws of shape (k, n), k up to {DEVIATES}"
        )
    return draws


def _check_lengths(
    stature: ArrayLike, crotch: ArrayLike | None, arm_length: ArrayLike | None
) -> None:
    """Refuse, all at once, lengths that no human body has."""
    height = np.asarray(stature, dtype=np.float64)
    problems = _outside("stature", height, np.ones(()), STATURE, "m")
    if not problems:
        for name, value, band in (
            ("crotch_height", crotch, CROTCH_SHARE),
            ("arm_length", arm_length, ARM),
        ):
            if value is not None:
                problems += _outside(
                    name, np.asarray(value, np.float64), height, band, "of the stature"
                )
    if problems:
        raise RangeError(problems)


def _outside(
    name: str, value: Array, scale: Array, band: tuple[float, float], unit: str
) -> list[Problem]:
    """A problem when any element leaves the band (in units of `scale`), none otherwise."""
    ratio = value / scale
    inside = (ratio >= band[0]) & (ratio <= band[1])
    if inside.all():
        return []
    worst = float(np.broadcast_to(value, inside.shape)[~inside].flat[0])
    return [
        Problem(
            code="not-a-body",
            field=name,
            do="measure again, in metres and without shoes",
            value=f"{worst:g}",
            unit="m",
            allowed=f"{band[0]:g} to {band[1]:g} {unit}",
        )
    ]
