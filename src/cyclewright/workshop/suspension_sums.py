"""The single sums of suspension and handling, for `cyclewright calc`."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from cyclewright import units
from cyclewright.errors import InputError, Problem, RangeError
from cyclewright.mechanics import damper, handling, linkage, modes, squat
from cyclewright.workshop.calculation import WORD, Calculation, Input, Outcome, Output

_LARGEST_FILE: Final = 1_000_000
_ROWS: Final = 41
_IN_FILE: Final = {"lam": "lambda"}
"""Symbols that a file spells out and Python keeps for itself."""


def _critical(given: Mapping[str, Any]) -> Outcome:
    critical = damper.critical_damping(given["mass"], given["rate"])
    damping = damper.damping_for(given["mass"], given["rate"], given["ratio"])
    return Outcome({"critical": float(critical), "damping": float(damping)})


def _single_pivot(given: Mapping[str, Any]) -> Outcome:
    names = ("pivot", "axle", "shock_frame", "shock_arm")
    points = {name: (given[f"{name}_x"], given[f"{name}_y"]) for name in names}
    try:
        bike = linkage.linkage("single-pivot", points)
    except InputError as error:
        raise RangeError(
            replace(problem, field=f"{problem.field.removeprefix('points.')}_x", value=None)
            for problem in error.problems
        ) from None
    motion = linkage.move(bike, np.linspace(0.0, given["travel"], _ROWS))
    if not motion.reached.all():
        raise RangeError(_stopped(motion))
    stays = np.hypot(motion.axle_x, motion.axle_y)
    return Outcome(
        {
            "leverage_start": float(motion.leverage_ratio[0]),
            "leverage_end": float(motion.leverage_ratio[-1]),
            "shock_stroke": float(motion.shock_stroke[-1]),
            "chainstay_growth": float(stays[-1] - stays[0]),
        }
    )


def _stopped(motion: linkage.Motion) -> Problem:
    """Why the whole travel cannot be."""
    at = int(np.argmin(motion.reached))
    if str(motion.limit[at]) == linkage.SHOCK_TURNS:
        after = f"after {motion.travel[at] * 1e3:.0f} mm" if at else "as the wheel rises"
        do = f"the shock lengthens {after}: check its two ends and the pivot"
        return Problem("shock-lengthens", "shock_arm_x", do)
    do = "the arm cannot rise so far: check the travel, the pivot and the axle"
    return Problem("travel-not-reached", "travel", do)


def _squat(given: Mapping[str, Any]) -> Outcome:
    return Outcome({"anti_squat": float(squat.anti_squat(**given))})


def _quarter(given: Mapping[str, Any]) -> Outcome:
    body, wheel = modes.quarter_modes(**given)
    return Outcome({"body_frequency": float(body), "wheel_frequency": float(wheel)})


def _half(given: Mapping[str, Any]) -> Outcome:
    found = modes.half_modes(**given)
    results = {f"frequency_{n}": float(found.frequency[n - 1]) for n in (1, 2)}
    for n in (1, 2):
        if found.has_node[n - 1]:
            results[f"node_{n}"] = float(found.node[n - 1])
    notes = (
        "Both modes swing equally fast, so every mixture of them is a mode and no node is fixed.",
        "One mode is a pure heave: it moves everywhere alike and has no node.",
        "",
    )
    note = notes[int(found.has_node.sum())]
    return Outcome(results, (note,) if note else ())


def _bicycle(given: Mapping[str, Any]) -> Outcome:
    bicycle = handling.BENCHMARKS["meijaard2007"]
    notes: list[str] = []
    if "parameters" in given:
        bicycle = _parameters(given["parameters"])
    equations = handling.matrices(bicycle)
    found = handling.modes(equations, given["speed"])
    results = {}
    if found.weaves:
        results = {"weave_real": float(found.weave_real), "weave_imag": float(found.weave_imag)}
        if found.falls:
            results |= {"capsize": float(found.capsize), "caster": float(found.caster)}
        else:
            notes.append("A second swing takes the place of capsize and caster.")
    else:
        roots = np.sort(found.roots.real)
        results = {f"real_{n}": float(root) for n, root in enumerate(roots, 1)}
        notes.append("So slow that nothing swings: all four roots are real.")
    band = handling.stable_speeds(equations)
    if band.weave_speed is not None:
        results["weave_speed"] = band.weave_speed
    if band.capsize_speed is not None:
        results["capsize_speed"] = band.capsize_speed
    if None in (band.weave_speed, band.capsize_speed):
        notes.append("Hands off, this bicycle has no band of speeds closed at both ends.")
    return Outcome(results, tuple(notes))


def _bicycle_combination(texts: Mapping[str, str]) -> Iterable[Problem]:
    if "benchmark" in texts and "parameters" in texts:
        do = "give either the benchmark or a file of parameters"
        yield Problem("combination", "parameters", do, value=texts["parameters"])
    elif "parameters" in texts:
        try:
            handling.matrices(_parameters(texts["parameters"]))
        except InputError as error:
            for problem in error.problems:
                field = _IN_FILE.get(problem.field, problem.field)
                named = field if field.startswith("parameters") else f"parameters.{field}"
                yield replace(problem, field=named)


def _parameters(path: str) -> handling.Parameters:
    """A bicycle from a TOML file of the benchmark's symbols, plain numbers in SI."""
    table = _table(path)
    known = {
        ("lambda" if item.name == "lam" else item.name): item
        for item in fields(handling.Parameters)
    }
    unused = {"IByy", "IHyy"}
    problems, values = [], {}
    for key in sorted(table.keys() - known.keys() - unused):
        do = f"a bicycle has: {', '.join(known)}"
        if key == "v":
            do = "leave it out: the speed is an input of its own"
        problems.append(Problem("unknown-key", f"parameters.{key}", do))
    for key, item in known.items():
        if key not in table:
            if key != "g":
                do = "missing, give it in SI, with z down and heights negative"
                problems.append(Problem("missing", f"parameters.{key}", do, unit=_unit(key)))
            continue
        try:
            values[item.name] = _number(key, table[key])
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    return handling.Parameters(**values)


def _table(path: str) -> dict[str, Any]:
    """The file's keys and values; whatever cannot be read is one clear problem."""
    do = ""
    try:
        with Path(path).open("rb") as stream:
            content = stream.read(_LARGEST_FILE + 1)
        if len(content) > _LARGEST_FILE:
            do = "give a file of at most 1 MB"
        else:
            return tomllib.loads(content.decode("utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        do = "write the file as TOML in UTF-8, one line like `w = 1.02` a parameter"
        if isinstance(error, OSError):
            do = "give the path of a TOML file that can be read"
    raise InputError(Problem("parameters-file", "parameters", do, value=path))


def _number(key: str, value: object) -> float:
    """A plain number in SI, or a text with its unit."""
    name, dimension = f"parameters.{key}", _dimension(key)
    if isinstance(value, str):
        return units.parse(value, dimension, name).value
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        do = "write a plain number in SI, or a text with its unit"
        raise InputError(Problem("not-a-number", name, do, value=str(value), unit=_unit(key)))
    return float(value)


def _dimension(key: str) -> str:
    if key.startswith("I"):
        return "inertia"
    special = {"lambda": "angle", "g": "acceleration"}
    return special.get(key, "mass" if key.startswith("m") else "length")


def _unit(key: str) -> str:
    return units.DIMENSIONS[_dimension(key)][0]


def _place(key: str, meaning: str) -> Input:
    return Input(key, "length", meaning, at_least="-5 m", at_most="5 m")


def _above(key: str, dimension: str, meaning: str, zero: str) -> Input:
    return Input(key, dimension, meaning, above=zero)


def _teeth(key: str, meaning: str) -> Input:
    return Input(key, "number", meaning, at_least="6", at_most="80")


_PIVOT_INPUTS: Final = tuple(
    _place(
        f"{point}_{axis}", f"{words} {'ahead of' if axis == 'x' else 'above'} the bottom bracket"
    )
    for point, words in (
        ("pivot", "the pivot"),
        ("axle", "the rear axle"),
        ("shock_frame", "the shock's end on the frame,"),
        ("shock_arm", "the shock's end on the arm,"),
    )
    for axis, way in (("x", "ahead of"), ("y", "above"))
)

CALCULATIONS: Final = (
    Calculation(
        "critical-damping",
        "Critical damping of a mass on a spring, and the damping at a share of it.",
        (
            _above("mass", "mass", "the mass on the spring", "0 kg"),
            _above("rate", "rate", "the spring's rate at the same place", "0 N/m"),
            Input("ratio", "ratio", "the damping ratio wanted", at_least="0", at_most="10"),
        ),
        (
            Output("critical", "N·s/m", "critical damping"),
            Output("damping", "N·s/m", "damping at that ratio"),
        ),
        "single degree of freedom: Rao, Mechanical Vibrations, section 2.6",
        "cyclewright calc critical-damping mass='60 kg' rate='14 kN/m' ratio=0.3",
        _critical,
    ),
    Calculation(
        "linkage-single-pivot",
        "Leverage, shock stroke and chain-stay growth of a single-pivot rear suspension.",
        (
            *_PIVOT_INPUTS,
            Input(
                "travel",
                "length",
                "the axle's vertical travel in the frame",
                above="0 mm",
                at_most="500 mm",
            ),
        ),
        (
            Output("leverage_start", "1", "wheel travel over shock stroke at full extension"),
            Output("leverage_end", "1", "the same at full travel"),
            Output("shock_stroke", "m", "stroke of the shock over the whole travel", "mm"),
            Output("chainstay_growth", "m", "bottom bracket to axle, end less start", "mm"),
        ),
        "plane geometry of an arm on one pivot",
        "cyclewright calc linkage-single-pivot pivot_x='10 mm' pivot_y='70 mm' axle_x='-440 mm'"
        " axle_y='30 mm' shock_frame_x='185 mm' shock_frame_y='260 mm' shock_arm_x='-20 mm'"
        " shock_arm_y='235 mm' travel='130 mm'",
        _single_pivot,
    ),
    Calculation(
        "anti-squat",
        "Anti-squat of a rear suspension in one gear, 1 where accelerating moves nothing.",
        (
            _place("axle_x", "the rear axle ahead of the rear contact"),
            Input(
                "axle_y",
                "length",
                "the rear axle above the ground",
                above="0 mm",
                at_most="5 m",
            ),
            _place("pivot_x", "the pivot or instant centre ahead of the rear contact"),
            _place("pivot_y", "the pivot or instant centre above the ground"),
            _place("bb_x", "the bottom bracket ahead of the rear contact"),
            _place("bb_y", "the bottom bracket above the ground"),
            _teeth("front_teeth", "the chainring's teeth"),
            _teeth("rear_teeth", "the cog's teeth"),
            Input(
                "wheelbase",
                "length",
                "the distance between both contacts",
                above="0 mm",
                at_most="5 m",
            ),
            Input(
                "mass_height",
                "length",
                "the height of the mass centre above the ground",
                above="0 mm",
                at_most="5 m",
            ),
            Input(
                "pitch",
                "length",
                "the chain's pitch",
                default="12.7 mm",
                at_least="3 mm",
                at_most="50 mm",
            ),
        ),
        (Output("anti_squat", "1", "anti-squat, 1 fully balanced"),),
        "chain-line construction: Foale, Motorcycle Handling and Chassis Design, chapter 9;"
        " Cossalter, Motorcycle Dynamics, chapter 6",
        "cyclewright calc anti-squat axle_x='0 mm' axle_y='371 mm' pivot_x='440 mm'"
        " pivot_y='405 mm' bb_x='432 mm' bb_y='345 mm' front_teeth=32 rear_teeth=18"
        " wheelbase='1220 mm' mass_height='1100 mm'",
        _squat,
    ),
    Calculation(
        "bicycle-modes",
        "How a bicycle ridden hands off swings and falls at a speed, and where it rights itself.",
        (
            Input("speed", "speed", "the forward speed", at_least="0 km/h", at_most="100 m/s"),
            Input(
                "benchmark",
                WORD,
                "the published bicycle to take, meijaard2007 if no file is given",
                optional=True,
                choices=("meijaard2007",),
            ),
            Input(
                "parameters",
                WORD,
                "a TOML file of the benchmark's symbols (w, c, lambda, rR, mR, IRxx, …, g) in SI",
                optional=True,
            ),
        ),
        (
            Output("weave_real", "1/s", "growth of the weave, negative dies away", "", True),
            Output("weave_imag", "1/s", "circular frequency of the weave", "", True),
            Output("capsize", "1/s", "growth of the fall to one side", "", True),
            Output("caster", "1/s", "growth of the front wheel's swing straight", "", True),
            Output("real_1", "1/s", "least of four real roots, below the merge speed", "", True),
            Output("real_2", "1/s", "second of four real roots", "", True),
            Output("real_3", "1/s", "third of four real roots", "", True),
            Output("real_4", "1/s", "greatest of four real roots", "", True),
            Output("weave_speed", "m/s", "above it the weave dies away", "", True),
            Output("capsize_speed", "m/s", "above it the bicycle slowly falls", "", True),
        ),
        "Meijaard, Papadopoulos, Ruina, Schwab 2007, Proc. R. Soc. A 463:1955; the benchmark with"
        " its own g of 9.81 m/s²",
        "cyclewright calc bicycle-modes speed='5 m/s' benchmark=meijaard2007",
        _bicycle,
        _bicycle_combination,
    ),
    Calculation(
        "quarter-modes",
        "Natural frequencies of body and wheel at one end.",
        (
            _above("sprung_mass", "mass", "the mass on the spring", "0 kg"),
            _above("unsprung_mass", "mass", "the mass of the wheel's end", "0 kg"),
            _above("spring_rate", "rate", "the spring's rate at the wheel", "0 N/m"),
            _above("tyre_rate", "rate", "the tyre's vertical rate", "0 N/m"),
        ),
        (
            Output("body_frequency", "Hz", "the lower natural frequency"),
            Output("wheel_frequency", "Hz", "the higher natural frequency"),
        ),
        "quarter car: Rajamani, Vehicle Dynamics and Control, chapter 10",
        "cyclewright calc quarter-modes sprung_mass='45 kg' unsprung_mass='4 kg'"
        " spring_rate='6 kN/m' tyre_rate='100 kN/m'",
        _quarter,
    ),
    Calculation(
        "half-modes",
        "Heave and pitch of a body on a front and a rear spring, and where each stands still.",
        (
            _above("mass", "mass", "the mass of the body", "0 kg"),
            _above("pitch_inertia", "inertia", "the body's inertia in pitch", "0 kg*m^2"),
            _above(
                "front_distance", "length", "the distance from mass centre to front spring", "0 m"
            ),
            _above(
                "rear_distance", "length", "the distance from mass centre to rear spring", "0 m"
            ),
            _above("front_rate", "rate", "the front spring's rate", "0 N/m"),
            _above("rear_rate", "rate", "the rear spring's rate", "0 N/m"),
        ),
        (
            Output("frequency_1", "Hz", "the lower natural frequency"),
            Output("frequency_2", "Hz", "the higher natural frequency"),
            Output("node_1", "m", "its node ahead of the mass centre", "", True),
            Output("node_2", "m", "the higher one's node", "", True),
        ),
        "two-degree heave and pitch: Rao, Mechanical Vibrations, example 5.7",
        "cyclewright calc half-modes mass='90 kg' pitch_inertia='12 kg*m^2'"
        " front_distance='0.65 m' rear_distance='0.55 m' front_rate='6 kN/m'"
        " rear_rate='7 kN/m'",
        _half,
    ),
)
