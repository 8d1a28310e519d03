"""Single sums by name: what `cyclewright calc` and the bench's calculator answer."""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np

from cyclewright import units
from cyclewright.errors import CyclewrightError, InputError, Problem, RangeError
from cyclewright.mechanics import bolt, brake, clamp, gas, jump, spring, steering, tyre
from cyclewright.units import System
from cyclewright.workshop import suspension_sums
from cyclewright.workshop.calculation import WORD as WORD
from cyclewright.workshop.calculation import Calculation as Calculation
from cyclewright.workshop.calculation import Input as Input
from cyclewright.workshop.calculation import Outcome, Output


@dataclass(frozen=True, slots=True)
class CalcAnswer:
    """The results of one sum, with the inputs that it used."""

    name: str
    inputs: Mapping[str, tuple[float | str, str]]
    """Value and unit by key; words have no unit."""
    results: Mapping[str, tuple[float, str]]
    source: str
    notes: tuple[str, ...] = ()
    display: Mapping[str, str] = field(default_factory=dict)
    """The unit that a person reads each result in."""

    def shown(self, key: str) -> str:
        """A result with six digits in the unit that a person reads."""
        value, unit = self.results[key]
        display = self.display.get(key) or ("" if unit == "1" else unit)
        converted = value * 1e6 if display == "mm²" else units.convert(value, display)
        number = f"{converted:.6g}"
        return f"{number}{display}" if display in ("", "°") else f"{number} {display}"

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The contract's `calc` document; `notes` only where something has to be said."""
        data: dict[str, Any] = {
            "name": self.name,
            "inputs": {
                key: {"value": value, "unit": unit or None}
                for key, (value, unit) in self.inputs.items()
            },
            "results": {
                key: {"value": value, "unit": unit} for key, (value, unit) in self.results.items()
            },
            "source": self.source,
        }
        if self.notes:
            data["notes"] = list(self.notes)
        return data


def catalogue() -> tuple[Calculation, ...]:
    """Every sum, by name."""
    return _CATALOGUE


def calculation(name: str) -> Calculation:
    """The sum of that name."""
    found = _BY_NAME.get(name.strip())
    if found is not None:
        return found
    near = difflib.get_close_matches(name.strip(), _BY_NAME, n=1)
    do = f"did you mean {near[0]}?" if near else "`cyclewright calc` lists the sums there are"
    raise InputError(Problem("calculation", "calc", do, value=name))


def run(name: str, given: Mapping[str, str] | Sequence[str]) -> CalcAnswer:
    """Run a sum on inputs as people write them: `{"torque": "10 N.m"}` or `["torque=10 N.m"]`."""
    asked = calculation(name)
    texts, problems = _texts(given)
    values: dict[str, Any] = {}
    for key, text in texts.items():
        item = asked.input(key)
        if item is None:
            problems.append(_unknown(asked, key))
            continue
        try:
            values[key] = item.value(text)
        except InputError as error:
            problems.extend(replace(problem, field=key) for problem in error.problems)
    problems.extend(_missing(asked, texts))
    if asked.combination is not None:
        problems.extend(asked.combination(texts))
    if problems:
        raise InputError(problems)
    for item in asked.inputs:
        if item.key not in values and item.default is not None:
            values[item.key] = item.value(item.default)
    return _answer(asked, values, _computed(asked, values, texts))


def _computed(asked: Calculation, values: Mapping[str, Any], texts: Mapping[str, str]) -> Outcome:
    """The outcome, or its errors in the writer's own text."""
    try:
        with np.errstate(all="ignore"):
            outcome = asked.compute(values)
    except CyclewrightError as error:
        raise type(error)(
            replace(problem, value=texts.get(problem.field, problem.value))
            for problem in error.problems
        ) from None
    if not all(math.isfinite(value) for value in outcome.results.values()):
        do = "the result is beyond any number: check the units of the inputs"
        raise RangeError(Problem("no-result", asked.name, do))
    return outcome


def _answer(asked: Calculation, values: Mapping[str, Any], outcome: Outcome) -> CalcAnswer:
    outputs = [item for item in asked.results if item.key in outcome.results]
    return CalcAnswer(
        name=asked.name,
        inputs={
            item.key: (values[item.key], item.unit) for item in asked.inputs if item.key in values
        },
        results={item.key: (float(outcome.results[item.key]), item.unit) for item in outputs},
        source=asked.source,
        notes=outcome.notes,
        display={item.key: item.display for item in outputs},
    )


def _texts(given: Mapping[str, str] | Sequence[str]) -> tuple[dict[str, str], list[Problem]]:
    """The inputs by key; a pair that is none and a key given twice are problems."""
    if isinstance(given, Mapping):
        return dict(given), []
    texts: dict[str, str] = {}
    problems = []
    for pair in given:
        key, equals, text = pair.partition("=")
        key = key.strip()
        if not equals or not key:
            problems.append(Problem("pair", "calc", "write each input as key=value", value=pair))
        elif key in texts:
            problems.append(Problem("twice", key, "give it once", value=text))
        else:
            texts[key] = text
    return texts, problems


def _unknown(asked: Calculation, key: str) -> Problem:
    keys = [item.key for item in asked.inputs]
    near = difflib.get_close_matches(key, keys, n=1)
    do = f"did you mean {near[0]}?" if near else f"{asked.name} takes: {', '.join(keys)}"
    return Problem("unknown-input", key, f"no input of {asked.name}: {do}")


def _missing(asked: Calculation, texts: Mapping[str, str]) -> list[Problem]:
    return [
        Problem("missing", item.key, f"missing, give {item.meaning}", unit=item.unit or None)
        for item in asked.inputs
        if item.needed and item.key not in texts
    ]


# --- the sums ------------------------------------------------------------------------------------


def _assembly(given: Mapping[str, Any]) -> Outcome:
    of = bolt.thread(given["thread"])
    head = _head(of, given)
    if head is None:
        note = "no head is tabulated for this thread: give head_diameter and hole for the torque"
        return Outcome({"stress_area": of.stress_area}, (note,))
    in_thread, under_head = _frictions(given)
    made = bolt.assembly(of, given["grade"], in_thread, under_head, head, given["utilisation"])
    return Outcome(
        {
            "stress_area": made.stress_area,
            "preload": float(made.preload),
            "torque": float(made.torque),
        },
        ("This is what the bolt could bear; the figures of the parts it holds come first.",),
    )


def _preload(given: Mapping[str, Any]) -> Outcome:
    of = bolt.thread(given["thread"])
    in_thread, under_head = _frictions(given)
    head = _head(of, given) or given["head"]
    force = bolt.preload(of, given["torque"], in_thread, under_head, head)
    return Outcome({"preload": float(force)})


def _extension(given: Mapping[str, Any]) -> Outcome:
    setting = bolt.extension_setting(
        given["torque"], given["length"], given["extension"], given["angle"]
    )
    return Outcome({"setting": float(setting)})


def _clamp(given: Mapping[str, Any]) -> Outcome:
    law = clamp.two_piece if given["kind"] == "two-piece" else clamp.slotted
    low, high = law(given["tension"], given["diameter"], given["friction"])
    return Outcome({"moment_low": float(low), "moment_high": float(high)})


def _atmosphere(given: Mapping[str, Any]) -> Outcome:
    air = gas.standard_atmosphere(given["altitude"])
    return Outcome(
        {
            "pressure": float(air.pressure),
            "temperature": float(air.temperature),
            "density": float(air.density),
        }
    )


def _pressure_shift(given: Mapping[str, Any]) -> Outcome:
    gauge = float(gas.shifted_gauge(**given))
    low = "below zero: the air outside presses harder than what is left inside"
    return Outcome({"pressure_gauge": gauge}, (low,) if gauge < 0.0 else ())


def _air_spring(given: Mapping[str, Any]) -> Outcome:
    return Outcome(
        {
            "force": float(spring.air_force(**given)),
            "pressure_gauge": float(spring.air_gauge(**given)),
            "rate": float(spring.air_rate(**given)),
        }
    )


def _steering(given: Mapping[str, Any]) -> Outcome:
    length = steering.trail(**given)
    return Outcome(
        {
            "trail": float(length),
            "mechanical_trail": float(steering.mechanical_trail(**given)),
            "flop": float(steering.flop_factor(length, given["head_angle"])),
        }
    )


def _tyre_size(given: Mapping[str, Any]) -> Outcome:
    width, bead = units.tyre_size(given["designation"], "designation")
    diameter = float(tyre.outside_diameter(width, bead))
    return Outcome(
        {
            "diameter": diameter,
            "circumference": float(tyre.circumference(diameter)),
            "radius": diameter / 2.0,
        }
    )


def _landing(given: Mapping[str, Any]) -> Outcome:
    flight = jump.landing(**given)
    if not flight.reachable:
        at = "y" if str(flight.limit) == jump.NOT_BELOW_LIP else "landing_slope"
        do = f"{flight.limit}: move the landing point or change the angles"
        raise RangeError(Problem("no-landing", at, do))
    return Outcome(
        {
            "equivalent_fall_height": float(flight.equivalent_fall_height),
            "impact_speed": float(flight.impact_speed),
        }
    )


def _saddle_height(given: Mapping[str, Any]) -> Outcome:
    from cyclewright.body import posture

    by_spindle = float(posture.by_spindle(given["inseam"]))
    return Outcome(
        {
            "by_inseam": float(posture.by_inseam(given["inseam"])),
            "by_spindle": by_spindle,
            "by_spindle_from_bb": by_spindle - given["crank_length"],
        }
    )


def _braking(given: Mapping[str, Any]) -> Outcome:
    slope = math.atan(given["slope"])
    place = {key: given[key] for key in ("mass_to_front", "mass_height")}
    limit = float(brake.deceleration_limit(**place, slope=slope))
    front, rear = brake.axle_loads(
        given["mass"], given["wheelbase"], **place, deceleration=given["deceleration"], slope=slope
    )
    notes: tuple[str, ...] = ()
    if limit < 0.0:
        notes = ("Bike and rider tip over the front wheel on this slope even unbraked.",)
    elif given["deceleration"] > limit:
        notes = (
            f"Beyond the limit of {limit:.3g} m/s² the rear wheel has lifted and carries nothing;"
            " the front load holds only for the moment of lifting.",
        )
    elif front <= 0.0:
        notes = (
            "The front wheel has lifted and carries nothing;"
            " the rear load holds only for the moment of lifting.",
        )
    return Outcome({"limit": limit, "front_load": float(front), "rear_load": float(rear)}, notes)


def _stopping(given: Mapping[str, Any]) -> Outcome:
    speed = given["speed"]
    if "distance" in given:
        distance = given["distance"]
        return Outcome(
            {
                "deceleration": float(brake.stopping_deceleration(speed, distance)),
                "distance": distance,
            }
        )
    slowing = given["deceleration"]
    distance = float(brake.stopping_distance(speed, slowing))
    return Outcome({"deceleration": slowing, "distance": distance})


def _frictions(given: Mapping[str, Any]) -> tuple[float, float]:
    if "friction" in given:
        return given["friction"], given["friction"]
    return given["thread_friction"], given["head_friction"]


def _head(of: bolt.Thread, given: Mapping[str, Any]) -> bolt.Head | None:
    if "head_diameter" in given:
        return bolt.Head(given["head_diameter"], given["hole"])
    return bolt.tabulated_head(of, given["head"])


def _bolt_combination(texts: Mapping[str, str]) -> Iterable[Problem]:
    both = {"thread_friction", "head_friction"}
    apart = both & texts.keys()
    if "friction" in texts and apart:
        do = "give either friction, or thread_friction and head_friction"
        yield Problem("combination", "friction", do, value=texts["friction"])
    elif "friction" not in texts:
        for key in sorted(both - apart, reverse=True):
            do = "missing, give friction, or both thread_friction and head_friction"
            yield Problem("missing", key if apart else "friction", do)
            if not apart:
                break
    for key, other in (("head_diameter", "hole"), ("hole", "head_diameter")):
        if key not in texts and other in texts:
            yield Problem("missing", key, f"missing, it goes with {other}", unit="m")


def _stopping_combination(texts: Mapping[str, str]) -> Iterable[Problem]:
    given = {"distance", "deceleration"} & texts.keys()
    if len(given) != 1:
        do = "give exactly one of distance and deceleration"
        yield Problem("combination", "distance", do, value=texts.get("distance"))


def _word(key: str, meaning: str, read: Callable[[str], object]) -> Input:
    return Input(key, WORD, meaning, read=read)


def _friction(key: str, meaning: str) -> Input:
    return Input(key, "ratio", meaning, optional=True, above="0", at_most="1")


_BOLT_INPUTS: Final = (
    _friction("friction", "the friction coefficient of thread and head alike"),
    _friction("thread_friction", "the friction coefficient in the thread"),
    _friction("head_friction", "the friction coefficient under the head"),
    Input("head", WORD, "the kind of head", default="socket", choices=("socket", "hex")),
    Input(
        "head_diameter",
        "length",
        "the outside diameter of the head's bearing face",
        optional=True,
        above="0 mm",
        at_most="200 mm",
    ),
    Input(
        "hole",
        "length",
        "the diameter of the hole under the head",
        optional=True,
        above="0 mm",
        at_most="200 mm",
    ),
)
_THREAD: Final = _word("thread", "the thread, like M5 or M8x1", bolt.thread)
_MASS_KEYS: Final = (
    Input("wheelbase", "length", "the distance between both contacts", above="0 mm", at_most="5 m"),
    Input(
        "mass_to_front",
        "length",
        "the horizontal way from the mass centre to the front contact",
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
    Input("mass", "mass", "the mass of bike, rider and kit", above="0 kg"),
    Input(
        "deceleration",
        "acceleration",
        "the deceleration along the ground",
        default="0 m/s^2",
        at_least="-1000 m/s^2",
        at_most="1000 m/s^2",
    ),
    Input(
        "slope",
        "ratio",
        "the slope as rise over run, downhill positive",
        default="0",
        at_least="-10",
        at_most="10",
    ),
)


def _altitude(key: str, default: str | None = None) -> Input:
    return Input(
        key, "length", "the geopotential altitude", default, at_least="-5000 m", at_most="80000 m"
    )


def _temperature(key: str, meaning: str) -> Input:
    return Input(key, "temperature", meaning, above="-273.15 degC", at_most="500 degC")


def _flight_angle(key: str, meaning: str) -> Input:
    return Input(key, "angle", meaning, above="-90 deg", below="90 deg")


_CATALOGUE: Final = (
    Calculation(
        "bolt-torque",
        "Preload and tightening torque that use a share of a bolt's yield point.",
        (
            _THREAD,
            _word("grade", "the property class off the head, like 8.8 or A2-70", bolt.proof_stress),
            *_BOLT_INPUTS,
            Input(
                "utilisation",
                "ratio",
                "the share of the yield point to use",
                default="0.9",
                above="0",
                at_most="1",
            ),
        ),
        (
            Output("stress_area", "m²", "stress area of the thread", "mm²"),
            Output("preload", "N", "assembly preload"),
            Output("torque", "N·m", "tightening torque"),
        ),
        "VDI 2230-1:2003 (assembly preload and torque); ISO 724 and ISO 898-1 (thread),"
        " ISO 4014, ISO 4762 and ISO 273 (head and hole)",
        "cyclewright calc bolt-torque thread=M5 grade=8.8 friction=0.12",
        _assembly,
        _bolt_combination,
    ),
    Calculation(
        "bolt-preload",
        "Preload that a tightening torque makes at a given friction.",
        (
            _THREAD,
            Input("torque", "torque", "the tightening torque", at_least="0 N.m"),
            *_BOLT_INPUTS,
        ),
        (Output("preload", "N", "preload in the bolt"),),
        "VDI 2230-1:2003 (tightening torque); ISO 724, ISO 4014, ISO 4762, ISO 273",
        "cyclewright calc bolt-preload thread=M5 torque='5 N.m' friction=0.12",
        _preload,
        _bolt_combination,
    ),
    Calculation(
        "wrench-extension",
        "What to set a torque tool to when an offset head moves the bolt away from its drive.",
        (
            Input("torque", "torque", "the torque wanted at the bolt", at_least="0 N.m"),
            Input("length", "length", "drive to the middle of the hand", above="0 mm"),
            Input("extension", "length", "drive to the bolt", at_least="0 mm"),
            Input(
                "angle",
                "angle",
                "the extension's angle from the tool's line, 0 lengthening it",
                default="0 deg",
                at_least="-180 deg",
                at_most="180 deg",
            ),
        ),
        (Output("setting", "N·m", "torque to set on the tool"),),
        "statics of the lever",
        "cyclewright calc wrench-extension torque='6 N.m' length='250 mm' extension='40 mm'",
        _extension,
    ),
    Calculation(
        "clamp-slip",
        "Least and greatest moment about a clamped tube before it slips.",
        (
            Input(
                "tension",
                "force",
                "the bolts' tension, summed over a two-piece clamp or across the slot",
                at_least="0 N",
            ),
            Input("diameter", "length", "the clamped diameter", above="0 mm", at_most="1 m"),
            Input("friction", "ratio", "the friction coefficient", at_least="0", at_most="1.5"),
            Input("kind", WORD, "the kind of clamp", "two-piece", choices=("two-piece", "slotted")),
        ),
        (
            Output("moment_low", "N·m", "held when it touches along lines"),
            Output("moment_high", "N·m", "held when it presses evenly"),
        ),
        "clamp hubs: Decker, Maschinenelemente; Roloff and Matek, Maschinenelemente",
        "cyclewright calc clamp-slip tension='20 kN' diameter='31.8 mm' friction=0.15",
        _clamp,
    ),
    Calculation(
        "atmosphere",
        "Pressure, temperature and density of the standard atmosphere.",
        (_altitude("altitude"),),
        (
            Output("pressure", "Pa", "absolute pressure", "kPa"),
            Output("temperature", "K", "temperature", "°C"),
            Output("density", "kg/m³", "density"),
        ),
        "ISO 2533:1975, ICAO Doc 7488 (standard atmosphere)",
        "cyclewright calc atmosphere altitude='2000 m'",
        _atmosphere,
    ),
    Calculation(
        "pressure-shift",
        "Gauge pressure of a closed chamber taken to another temperature and altitude.",
        (
            Input(
                "pressure_gauge", "pressure", "the gauge pressure at the start", at_least="0 psi"
            ),
            _temperature("temperature_from", "the temperature at the start"),
            _temperature("temperature_to", "the temperature at the end"),
            _altitude("altitude_from", "0 m"),
            _altitude("altitude_to", "0 m"),
        ),
        (Output("pressure_gauge", "Pa", "gauge pressure at the end", "psi"),),
        "Gay-Lussac's law on absolute pressure; ISO 2533 for the air outside",
        "cyclewright calc pressure-shift pressure_gauge='80 psi' temperature_from='20 degC'"
        " temperature_to='0 degC'",
        _pressure_shift,
    ),
    Calculation(
        "air-spring",
        "Force, gauge pressure and rate of an air spring at one stroke.",
        (
            Input("piston_area", "area", "the piston's area", above="0 mm^2"),
            Input("volume", "volume", "the chamber's volume at stroke 0", above="0 cm^3"),
            Input("pressure_gauge", "pressure", "the gauge pressure at stroke 0", at_least="0 psi"),
            Input("stroke", "length", "the stroke", at_least="0 mm"),
            Input(
                "exponent",
                "number",
                "the polytropic exponent, 1 for slow loading",
                default="1",
                at_least="1",
                at_most="1.7",
            ),
        ),
        (
            Output("force", "N", "force along the axis"),
            Output("pressure_gauge", "Pa", "gauge pressure at that stroke", "psi"),
            Output("rate", "N/m", "stiffness at that stroke", "N/mm"),
        ),
        "p Vⁿ = const. with absolute pressure (ideal gas, one chamber)",
        "cyclewright calc air-spring piston_area='500 mm^2' volume='60 cm^3'"
        " pressure_gauge='10 bar' stroke='25 mm'",
        _air_spring,
    ),
    Calculation(
        "steering",
        "Trail, mechanical trail and flop factor of a steered wheel.",
        (
            Input("wheel_radius", "length", "axle to ground", above="0 mm", at_most="2 m"),
            Input(
                "head_angle",
                "angle",
                "the steering axis from the ground",
                above="0 deg",
                at_most="90 deg",
            ),
            Input(
                "offset",
                "length",
                "the axle's place ahead of the steering axis",
                at_least="-500 mm",
                at_most="500 mm",
            ),
        ),
        (
            Output("trail", "m", "trail along the ground", "mm"),
            Output("mechanical_trail", "m", "trail square to the steering axis", "mm"),
            Output("flop", "m", "flop factor, a slope and not the drop", "mm"),
        ),
        "Cossalter, Motorcycle Dynamics, chapter 1",
        "cyclewright calc steering wheel_radius='371 mm' head_angle='65.5 deg' offset='44 mm'",
        _steering,
    ),
    Calculation(
        "tyre-size",
        "Outside diameter, circumference and radius of a tyre by its designation.",
        (_word("designation", "the size off the sidewall, like 61-622", units.tyre_size),),
        (
            Output("diameter", "m", "outside diameter", "mm"),
            Output("circumference", "m", "way of one turn without load", "mm"),
            Output("radius", "m", "outside radius", "mm"),
        ),
        "ISO 5775-1: bead seat and two section heights",
        "cyclewright calc tyre-size designation=61-622",
        _tyre_size,
    ),
    Calculation(
        "landing",
        "How hard a landing is, as the height of a plain fall that would be as hard.",
        (
            Input("x", "length", "the landing point ahead of the lip", above="0 m"),
            Input("y", "length", "the landing point above the lip, below it negative"),
            _flight_angle("takeoff_angle", "the take-off angle, upward positive"),
            _flight_angle("landing_slope", "the landing's slope, down negative"),
        ),
        (
            Output("equivalent_fall_height", "m", "height of a plain fall as hard"),
            Output("impact_speed", "m/s", "speed normal to the landing"),
        ),
        "Hubbard and Swedberg 2012 (equivalent fall height)",
        "cyclewright calc landing x='6 m' y='-1.5 m' takeoff_angle='10 deg'"
        " landing_slope='-20 deg'",
        _landing,
    ),
    Calculation(
        "saddle-height",
        "Saddle height by the two inseam methods.",
        (
            Input(
                "inseam",
                "length",
                "the rider's inseam, pressed up firmly",
                at_least="300 mm",
                at_most="1300 mm",
            ),
            Input(
                "crank_length",
                "length",
                "the crank's length",
                default="170 mm",
                at_least="50 mm",
                at_most="300 mm",
            ),
        ),
        (
            Output("by_inseam", "m", "bottom bracket to saddle, 0.883 of the inseam", "mm"),
            Output("by_spindle", "m", "pedal spindle to saddle, 1.09 of the inseam", "mm"),
            Output("by_spindle_from_bb", "m", "the same from the bottom bracket", "mm"),
        ),
        "Hamley and Thomas 1967 (1.09); 0.883 of the inseam, common practice, no source",
        "cyclewright calc saddle-height inseam='830 mm'",
        _saddle_height,
    ),
    Calculation(
        "braking",
        "Loads under both wheels while braking, and the deceleration that lifts the rear one.",
        _MASS_KEYS,
        (
            Output("limit", "m/s²", "deceleration at which the rear wheel lifts"),
            Output("front_load", "N", "load under the front wheel"),
            Output("rear_load", "N", "load under the rear wheel"),
        ),
        "rigid two-wheeler: Wilson, Bicycling Science, chapter on braking",
        "cyclewright calc braking wheelbase='1200 mm' mass_to_front='700 mm'"
        " mass_height='1100 mm' mass='90 kg' deceleration='3 m/s^2'",
        _braking,
    ),
    Calculation(
        "stopping",
        "Deceleration and distance of a steady stop.",
        (
            Input("speed", "speed", "the speed at the start", at_least="0 km/h"),
            Input("distance", "length", "the stopping distance", optional=True, above="0 m"),
            Input(
                "deceleration",
                "acceleration",
                "the steady deceleration",
                optional=True,
                above="0 m/s^2",
            ),
        ),
        (
            Output("deceleration", "m/s²", "steady deceleration"),
            Output("distance", "m", "stopping distance"),
        ),
        "uniform deceleration, v²/(2 s)",
        "cyclewright calc stopping speed='15 mph' distance='15 ft'",
        _stopping,
        _stopping_combination,
    ),
    *suspension_sums.CALCULATIONS,
)
_BY_NAME: Final = {item.name: item for item in _CATALOGUE}
