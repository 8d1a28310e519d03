from __future__ import annotations

import json
import math
import shlex

import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import InputError, RangeError
from cyclewright.workshop import calc
from waking import woken

# the names, inputs and results that checks from outside use
CONTRACT = {
    "bolt-torque": (
        "thread grade friction thread_friction head_friction head head_diameter hole utilisation",
        "stress_area preload torque",
    ),
    "bolt-preload": (
        "thread torque friction thread_friction head_friction head head_diameter hole",
        "preload",
    ),
    "wrench-extension": ("torque length extension angle", "setting"),
    "clamp-slip": ("tension diameter friction kind", "moment_low moment_high"),
    "atmosphere": ("altitude", "pressure temperature density"),
    "pressure-shift": (
        "pressure_gauge temperature_from temperature_to altitude_from altitude_to",
        "pressure_gauge",
    ),
    "air-spring": (
        "piston_area volume pressure_gauge stroke exponent",
        "force pressure_gauge rate",
    ),
    "steering": ("wheel_radius head_angle offset", "trail mechanical_trail flop"),
    "tyre-size": ("designation", "diameter circumference radius"),
    "landing": ("x y takeoff_angle landing_slope", "equivalent_fall_height impact_speed"),
    "saddle-height": ("inseam crank_length", "by_inseam by_spindle by_spindle_from_bb"),
    "braking": (
        "wheelbase mass_to_front mass_height mass deceleration slope",
        "limit front_load rear_load",
    ),
    "stopping": ("speed distance deceleration", "deceleration distance"),
    "critical-damping": ("mass rate ratio", "critical damping"),
    "linkage-single-pivot": (
        "pivot_x pivot_y axle_x axle_y shock_frame_x shock_frame_y shock_arm_x shock_arm_y travel",
        "leverage_start leverage_end shock_stroke chainstay_growth",
    ),
    "anti-squat": (
        "axle_x axle_y pivot_x pivot_y bb_x bb_y front_teeth rear_teeth wheelbase mass_height"
        " pitch",
        "anti_squat",
    ),
    "bicycle-modes": (
        "speed benchmark parameters",
        "weave_real weave_imag capsize caster real_1 real_2 real_3 real_4 weave_speed"
        " capsize_speed",
    ),
    "quarter-modes": (
        "sprung_mass unsprung_mass spring_rate tyre_rate",
        "body_frequency wheel_frequency",
    ),
    "half-modes": (
        "mass pitch_inertia front_distance rear_distance front_rate rear_rate",
        "frequency_1 frequency_2 node_1 node_2",
    ),
}
EVERY = calc.catalogue()


def _example(item: calc.Calculation) -> dict[str, str]:
    words = shlex.split(item.example)
    assert words[:3] == ["cyclewright", "calc", item.name]
    return dict(pair.split("=", 1) for pair in words[3:])


def test_the_names_inputs_and_results_are_the_contract():
    ours = {
        item.name: (
            " ".join(one.key for one in item.inputs),
            " ".join(one.key for one in item.results),
        )
        for item in EVERY
    }
    for name, (inputs, results) in CONTRACT.items():
        assert set(ours[name][0].split()) == set(inputs.split()), name
        assert set(ours[name][1].split()) == set(results.split()), name


@pytest.mark.parametrize("item", EVERY, ids=lambda item: item.name)
def test_the_example_runs_and_gives_every_result(item):
    answer = calc.run(item.name, _example(item))
    always = {one.key for one in item.results if not one.sometimes}
    assert always <= set(answer.results) <= {one.key for one in item.results}
    assert answer.results
    data = json.loads(json.dumps(answer.to_json(), allow_nan=False))
    assert data["name"] == item.name
    assert data["source"]
    for key, result in data["results"].items():
        assert math.isfinite(result["value"]), key
        assert result["unit"]


@pytest.mark.parametrize("item", EVERY, ids=lambda item: item.name)
def test_every_missing_input_is_told_at_once(item):
    needed = {one.key for one in item.inputs if one.needed}
    with pytest.raises(InputError, match="missing") as caught:
        calc.run(item.name, {})
    assert needed <= {problem.field for problem in caught.value.problems}


@pytest.mark.parametrize("item", EVERY, ids=lambda item: item.name)
def test_a_default_given_is_the_default_left_out(item):
    plain = _example(item)
    written = plain | {one.key: one.default for one in item.inputs if one.default is not None}
    assert calc.run(item.name, plain | {k: written[k] for k in written if k not in plain}) == (
        calc.run(item.name, plain)
    )


@pytest.mark.parametrize("item", EVERY, ids=lambda item: item.name)
def test_a_bare_number_is_refused_where_a_unit_is_wanted(item):
    bare = {"ratio", "number", calc.WORD}
    quantities = [
        one for one in item.inputs if one.dimension not in bare and one.key in _example(item)
    ]
    if not quantities:
        return
    with pytest.raises(InputError, match="add the unit") as caught:
        calc.run(item.name, _example(item) | {one.key: "3" for one in quantities})
    assert {problem.code for problem in caught.value.problems} == {"unit-missing"}
    assert {problem.field for problem in caught.value.problems} == {one.key for one in quantities}


@pytest.mark.parametrize("item", EVERY, ids=lambda item: item.name)
@pytest.mark.parametrize(
    "text", ["", "nan", "inf mm", "1e999 mm", "3,500 mm", "twelve", "5 ± 1 mm"]
)
def test_rubbish_never_passes(item, text):
    for one in item.inputs:
        if one.key not in _example(item):
            continue
        with pytest.raises(InputError, match=one.key):
            calc.run(item.name, _example(item) | {one.key: text})


@given(st.floats(250.0, 400.0), st.floats(60.0, 75.0), st.floats(30.0, 55.0))
def test_another_unit_is_the_same_answer(radius, angle, offset):
    metric = calc.run(
        "steering",
        {
            "wheel_radius": f"{radius!r} mm",
            "head_angle": f"{angle!r} deg",
            "offset": f"{offset!r} mm",
        },
    )
    other = calc.run(
        "steering",
        {
            "wheel_radius": f"{radius / 25.4!r} in",
            "head_angle": f"{math.radians(angle)!r} rad",
            "offset": f"{offset / 10!r} cm",
        },
    )
    for key, (value, _) in metric.results.items():
        evidence.identity(f"{key} in other units", other.results[key][0], value)


def test_all_that_is_wrong_is_told_at_once():
    with pytest.raises(InputError, match="frction") as caught:
        calc.run(
            "bolt-torque", ["thread=M5x9", "grade=7", "frction=0.2", "head=round", "hole=3", "x"]
        )
    fields = [problem.field for problem in caught.value.problems]
    assert fields == [
        "calc", "thread", "grade", "frction", "head", "hole", "friction", "head_diameter"
    ]  # fmt: skip
    assert "did you mean friction?" in str(caught.value)


@pytest.mark.parametrize("name", ["steerin", "gear", "", "no such sum"])
def test_an_unknown_sum(name):
    with pytest.raises(InputError, match=r"did you mean|lists the sums") as caught:
        calc.run(name, {})
    assert caught.value.exit_code == 2


def test_a_size_without_a_head_gives_its_stress_area_only():
    answer = calc.run("bolt-torque", ["thread=M12", "grade=8.8", "friction=0.12"])
    assert set(answer.results) == {"stress_area"}
    assert "head_diameter and hole" in answer.notes[0]
    full = calc.run(
        "bolt-torque",
        ["thread=M12", "grade=8.8", "friction=0.12", "head_diameter=16.6 mm", "hole=13.5 mm"],
    )
    assert set(full.results) == {"stress_area", "preload", "torque"}
    with pytest.raises(InputError, match="give head_diameter and hole"):
        calc.run("bolt-preload", ["thread=M12", "torque=40 N.m", "friction=0.12"])


def test_one_friction_or_both():
    one = calc.run("bolt-preload", ["thread=M5", "torque=5 N.m", "friction=0.12"])
    both = calc.run(
        "bolt-preload",
        ["thread=M5", "torque=5 N.m", "thread_friction=0.12", "head_friction=0.12"],
    )
    assert one.results == both.results
    with pytest.raises(InputError, match="head_friction: missing"):
        calc.run("bolt-preload", ["thread=M5", "torque=5 N.m", "thread_friction=0.12"])
    with pytest.raises(InputError, match="give either friction"):
        calc.run("bolt-preload", ["thread=M5", "torque=5 N.m", "friction=0.1", "head_friction=0.1"])


def test_stopping_wants_exactly_one():
    for extra in ([], ["distance=4 m", "deceleration=5 m/s^2"]):
        with pytest.raises(InputError, match="exactly one"):
            calc.run("stopping", ["speed=25 km/h", *extra])
    far = calc.run("stopping", ["speed=25 km/h", "deceleration=5 m/s^2"]).results["distance"][0]
    near = calc.run("stopping", ["speed=25 km/h", f"distance={far} m"])
    evidence.identity("stopping there and back", near.results["deceleration"][0], 5.0)


def test_beyond_the_limit_braking_says_so():
    case = ["wheelbase=1.2 m", "mass_to_front=0.6 m", "mass_height=1.1 m", "mass=90 kg"]
    hard = calc.run("braking", [*case, "deceleration=8 m/s^2"])
    assert hard.results["rear_load"][0] == 0.0
    assert "rear wheel has lifted" in hard.notes[0]
    assert calc.run("braking", [*case, "deceleration=4 m/s^2"]).notes == ()
    assert "even unbraked" in calc.run("braking", [*case, "slope=0.9"]).notes[0]
    thrust = calc.run("braking", [*case, "deceleration=-8 m/s^2"])
    assert thrust.results["front_load"][0] == 0.0
    assert "front wheel has lifted" in thrust.notes[0]


def test_a_slope_is_rise_over_run():
    case = ["wheelbase=1.2 m", "mass_to_front=0.6 m", "mass_height=0.8 m", "mass=90 kg"]
    steep = calc.run("braking", [*case, "slope=0.75"]).results
    evidence.identity("limit on a slope of 3 in 4", steep["limit"][0], 0.0, within=1e-12)
    evidence.identity("front load where it just tips", steep["front_load"][0], 90 * 9.80665 * 0.8)


def test_saddle_height_and_radius_beside_their_partners():
    legs = calc.run("saddle-height", ["inseam=800 mm", "crank_length=165 mm"]).results
    evidence.identity(
        "spindle method from the bottom bracket", legs["by_spindle_from_bb"][0], 0.707
    )
    tyre = calc.run("tyre-size", ["designation=61-622"]).results
    evidence.identity("tyre radius", tyre["radius"][0], 0.372)
    evidence.identity("tyre circumference", tyre["circumference"][0], math.pi * 0.744)


@pytest.mark.parametrize(
    ("name", "pairs", "match"),
    [
        ("air-spring", ["stroke=200 mm"], "stroke is 200 mm.*the chamber ends there"),
        ("air-spring", ["pressure_gauge=-3 psi"], "pressure_gauge is -3 psi"),
        ("air-spring", ["pressure_gauge=11 bar abs"], "give the gauge pressure"),
        ("steering", ["head_angle=0 deg"], "above 0 deg"),
        ("steering", ["wheel_radius=-371 mm"], "wheel_radius is -371 mm"),
        ("atmosphere", ["altitude=90 km"], "altitude is 90 km"),
        ("pressure-shift", ["temperature_to=-300 degC"], "temperature_to is -300 degC"),
        ("landing", ["y=5 m"], "y is 5 m: the landing point does not lie below"),
        ("landing", ["landing_slope=-80 deg"], "landing_slope is -80 deg: .*from beneath"),
        ("landing", ["takeoff_angle=90 deg"], "takeoff_angle is 90 deg"),
        ("braking", ["mass_to_front=1300 mm"], "mass_to_front is 1300 mm: .*between the wheels"),
        ("braking", ["mass=0 kg"], "mass is 0 kg"),
        ("clamp-slip", ["kind=glued"], "two-piece, slotted"),
        ("clamp-slip", ["friction=-0.1"], "friction is -0.1"),
        ("saddle-height", ["inseam=8300 mm"], "inseam is 8300 mm"),
        ("tyre-size", ["designation=99x9"], "designation is 99x9"),
        ("wrench-extension", ["extension=2 m", "angle=180 deg"], "behind the hand"),
        ("bolt-torque", ["utilisation=1.2"], "utilisation is 1.2"),
        ("bolt-torque", ["friction=0"], "friction is 0"),
        ("critical-damping", ["ratio=-0.1"], "ratio is -0.1"),
        ("critical-damping", ["mass=0 kg"], "mass is 0 kg"),
        (
            "linkage-single-pivot",
            ["axle_x=-250 mm", "axle_y=300 mm"],
            "travel is 130 mm: the arm cannot rise",
        ),
        ("linkage-single-pivot", ["shock_frame_x=-200 mm"], "shock lengthens as the wheel rises"),
        ("linkage-single-pivot", ["axle_x=10 mm", "axle_y=70 mm"], r"_x is .*falls on"),
        ("anti-squat", ["front_teeth=32.5"], "front_teeth is 32.5: count the teeth"),
        ("anti-squat", ["pivot_x=0 mm"], "pivot_x is 0 mm: move the pivot"),
        ("anti-squat", ["bb_x=60 mm"], "would overlap"),
        ("anti-squat", ["axle_y=0 mm"], "axle_y is 0 mm"),
        ("bicycle-modes", ["speed=-1 m/s"], "speed is -1 m/s"),
        ("bicycle-modes", ["benchmark=other"], "meijaard2007"),
        ("bicycle-modes", ["parameters=none.toml"], "either the benchmark or a file"),
        ("quarter-modes", ["tyre_rate=0 N/m"], "tyre_rate is 0 N/m"),
        ("half-modes", ["rear_distance=-1 m"], "rear_distance is -1 m"),
    ],
)
def test_what_cannot_be(name, pairs, match):
    texts = _example(calc.calculation(name)) | dict(pair.split("=", 1) for pair in pairs)
    with pytest.raises(InputError, match=match):
        calc.run(name, texts)


BICYCLE = """# the benchmark's own figures, one of them with its unit
w = 1.02
c = 0.08
lambda = "18 deg"
g = 9.81
rR = 0.3
mR = 2.0
IRxx = 0.0603
IRyy = 0.12
xB = 0.3
zB = -0.9
mB = 85.0
IBxx = 9.2
IBxz = 2.4
IBzz = 2.8
xH = 0.9
zH = -0.7
mH = 4
IHxx = 0.05892
IHxz = -0.00756
IHzz = 0.00708
rF = 0.35
mF = 3.0
IFxx = 0.1405
IFyy = 0.28
"""


def test_a_bicycle_from_a_file_is_the_benchmark(tmp_path):
    file = tmp_path / "bicycle.toml"
    file.write_text(BICYCLE, encoding="utf-8")
    mine = calc.run("bicycle-modes", ["speed=5 m/s", f"parameters={file}"]).results
    benchmark = calc.run("bicycle-modes", ["speed=5 m/s"]).results
    assert mine.keys() == benchmark.keys()
    for key, (value, _) in benchmark.items():
        evidence.identity(f"{key} by a file", mine[key][0], value)


def test_all_that_is_wrong_in_a_bicycle_is_told_at_once(tmp_path):
    file = tmp_path / "bicycle.toml"
    text = BICYCLE.replace("mB = 85.0", "mB = true").replace("xH = 0.9", "x_H = 0.9\nv = 5")
    file.write_text(text.replace('"18 deg"', '"18 kg"'), encoding="utf-8")
    with pytest.raises(InputError, match="the speed is an input of its own") as caught:
        calc.run("bicycle-modes", ["speed=5", f"parameters={file}"])
    assert {problem.field for problem in caught.value.problems} == {
        "speed", "parameters.v", "parameters.x_H", "parameters.xH", "parameters.mB",
        "parameters.lambda",
    }  # fmt: skip
    file.write_text(BICYCLE.replace("zB = -0.9", "zB = 0.9").replace('"18 deg"', "18"))
    with pytest.raises(InputError, match=r"parameters\.zB is 0\.9") as caught:
        calc.run("bicycle-modes", ["speed=5 m/s", f"parameters={file}"])
    assert [problem.field for problem in caught.value.problems] == [
        "parameters.lambda", "parameters.zB"
    ]  # fmt: skip
    file.write_text(BICYCLE.replace("mB = 85.0", "mB = 1e300"))
    with pytest.raises(InputError, match=r"parameters\.mB is 1e\+300"):
        calc.run("bicycle-modes", ["speed=5 m/s", f"parameters={file}"])


@pytest.mark.parametrize(
    ("content", "match"),
    [
        (b"w = ", "write the file as TOML"),
        (b"\xff\xfe", "write the file as TOML"),
        (b"a = " + b"[" * 5000, "write the file as TOML"),
        (b"#" * 1_000_001, "at most 1 MB"),
        (b"", "parameters.w: missing"),
        (None, "path of a TOML file"),
    ],
)
def test_a_file_that_is_no_bicycle(tmp_path, content, match):
    file = tmp_path / "bicycle.toml"
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(InputError, match=match):
        calc.run("bicycle-modes", ["speed=5 m/s", f"parameters={file}"])


def test_almost_standing_nothing_swings():
    slow = calc.run("bicycle-modes", ["speed=0.6 m/s"])
    roots = [slow.results[f"real_{n}"][0] for n in range(1, 5)]
    assert roots == sorted(roots)
    assert not {"weave_real", "weave_imag", "capsize", "caster"} & slow.results.keys()
    assert "all four roots are real" in slow.notes[0]
    faster = calc.run("bicycle-modes", ["speed=0.70 m/s"]).results
    assert "weave_real" in faster
    assert "real_1" not in faster


def test_a_pure_heave_has_no_node():
    even = ["mass=90 kg", "pitch_inertia=12 kg*m^2", "front_distance=0.6 m", "rear_distance=0.6 m"]
    answer = calc.run("half-modes", [*even, "front_rate=6 kN/m", "rear_rate=6 kN/m"])
    assert "node_1" not in answer.results
    assert answer.results["node_2"][0] == pytest.approx(0.0, abs=1e-12)
    assert "pure heave" in answer.notes[0]
    alike = [*even, "front_rate=6 kN/m", "rear_rate=6 kN/m", "pitch_inertia=32.4 kg*m^2"]
    alike.remove("pitch_inertia=12 kg*m^2")
    answer = calc.run("half-modes", alike)
    assert answer.results.keys() == {"frequency_1", "frequency_2"}
    assert "no node is fixed" in answer.notes[0]


def test_a_pair_given_twice_and_an_overflow():
    with pytest.raises(InputError, match="altitude is 2 m: give it once"):
        calc.run("atmosphere", ["altitude=1 m", "altitude=2 m"])
    with pytest.raises(RangeError, match="beyond any number"):
        calc.run("stopping", ["speed=1e300 m/s", "distance=1 m"])
    huge = dict.fromkeys(("sprung_mass", "unsprung_mass"), "1e-200 kg")
    huge |= dict.fromkeys(("spring_rate", "tyre_rate"), "1e200 N/m")
    with pytest.raises(RangeError, match="beyond any number"):
        calc.run("quarter-modes", huge)


def test_the_result_as_a_person_reads_it():
    answer = calc.run("steering", ["wheel_radius=371 mm", "head_angle=65.5 deg", "offset=44 mm"])
    assert answer.shown("trail") == "120.721 mm"
    air = calc.run("atmosphere", ["altitude=0 m"])
    assert air.shown("temperature") == "15 °C"
    assert (
        calc.run("bolt-torque", _example(calc.calculation("bolt-torque")))
        .shown("stress_area")
        .endswith(" mm²")
    )


def test_the_sums_wake_no_heavy_library():
    code = """
    import shlex
    from cyclewright.workshop import calc
    for item in calc.catalogue():
        calc.run(item.name, shlex.split(item.example)[3:])
    """
    heavy = {"scipy", "alembic", "fastapi", "sqlalchemy", "pydantic", "numba", "pint"}
    assert not heavy & woken(code)
