"""Quantities as people write them: read, refused with what to write, rounded to the tool."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright import units
from cyclewright.errors import InputError
from cyclewright.units import DIMENSIONS, convert, parse, show, show_interval, tyre_size
from cyclewright.units.told import page, told
from evidence import identity, published

SPELLINGS = [
    (dimension, spelling)
    for dimension, (_, _, table) in DIMENSIONS.items()
    if dimension != "temperature"
    for spelling in table
]


@given(pick=st.sampled_from(SPELLINGS), value=st.floats(-1e6, 1e6))
def test_every_spelling_reads_as_number_times_factor(pick: tuple[str, str], value: float) -> None:
    dimension, spelling = pick
    factor = DIMENSIONS[dimension][2][spelling]
    touching = f"{value!r}{spelling.removeprefix('1')}"
    for text in (f"{value!r} {spelling}", touching, f"  {value!r}  {spelling} "):
        identity("number times factor", parse(text, dimension).value, value * factor)


@given(value=st.floats(0.1, 1e4), sigma=st.floats(0.0, 100.0))
def test_a_spread_is_read_in_its_own_unit_or_the_values(value: float, sigma: float) -> None:
    for text in (f"{value!r} mm ± {sigma!r}", f"{value!r} mm +/- {sigma!r} mm"):
        got = parse(text, "length")
        identity("value", got.value, value * 1e-3)
        identity("spread", got.sigma, sigma * 1e-3)
    mixed = parse(f"{value!r} m ± {sigma!r} mm", "length")
    identity("spread in another unit", mixed.sigma, sigma * 1e-3)


@pytest.mark.parametrize(
    ("text", "dimension", "value", "source"),
    [
        ("1 psi", "pressure", 6894.757, "NIST SP 811, table of conversion factors"),
        ("1 lb", "mass", 0.45359237, "NIST SP 811, exact"),
        ("1 lbf", "force", 4.448222, "NIST SP 811"),
        ("1 in", "length", 0.0254, "NIST SP 811, exact"),
        ("1 lbf/in", "rate", 175.1268, "NIST SP 811"),
        ("1 ft.lbf", "torque", 1.355818, "NIST SP 811"),
        ("1 N⋅m", "torque", 1.0, "ISO 80000-4, exact"),
        ("1 in.lbf", "torque", 0.1129848, "NIST SP 811"),
        ("1 mph", "speed", 0.44704, "NIST SP 811, exact"),
        ("0 degC", "temperature", 273.15, "ISO 80000-5, exact"),
        ("32 degF", "temperature", 273.15, "NIST SP 811, exact"),
        ("212 °F", "temperature", 373.15, "NIST SP 811, exact"),
    ],
)
def test_published_factors(text: str, dimension: str, value: float, source: str) -> None:
    published(text, parse(text, dimension).value, value, "0.0001%", f"{source} (from memory)")


def test_pressure_is_gauge_unless_it_says_absolute() -> None:
    identity("gauge", parse("2 bar", "pressure").value, 2e5)
    identity("absolute", parse("2.2 bar abs", "pressure").value, 2.2e5 - 101325.0)
    identity("spread of a temperature", parse("20 degC ± 2", "temperature").sigma, 2.0)
    identity("spread in fahrenheit", parse("68 degF ± 9", "temperature").sigma, 5.0)


@pytest.mark.parametrize(
    ("text", "dimension", "code", "do"),
    [
        ("20", "length", "unit-missing", "add the unit, for example mm"),
        ("20 kg", "length", "unit-wrong", "use one of: mm"),
        ("1,200 mm", "length", "decimal-comma", "write 1200 or 1.200"),
        ("-1,200 mm", "length", "decimal-comma", "write 1200 or 1.200"),
        ("1,200.5 mm", "length", "decimal-comma", "write a decimal point"),
        ("1.200,5 mm", "length", "decimal-comma", "write a decimal point"),
        ("1,2,3 mm", "length", "decimal-comma", "write a decimal point"),
        ("mm", "length", "not-a-quantity", 'like "20 mm"'),
        ("20 mm mm 3", "length", "unit-wrong", "use one of"),
        ("1e999 mm", "length", "not-a-quantity", "finite number"),
        ("nan mm", "length", "not-a-quantity", "number and a unit"),
        ("3 mm ± -1", "length", "not-a-quantity", "one standard deviation"),
        ("3 mm ± 1 kg", "length", "unit-wrong", "give the ± in mm too"),
        (True, "length", "not-a-quantity", "write it as text"),
        (["3"], "length", "not-a-quantity", "write it as text"),
        ("9" * 70 + " mm", "length", "not-a-quantity", "one number and its unit"),
        ("20 mm abs", "length", "unit-wrong", "use one of"),
        ("0.5.3 mm", "length", "not-a-quantity", "number and a unit"),
        ("many", "number", "not-a-quantity", "the bare number, without a unit"),
        ("32 teeth", "number", "unit-wrong", "the bare number, without a unit"),
        ("0.12 deg", "ratio", "unit-wrong", 'like 0.25 or "25 %"'),
    ],
)
def test_what_cannot_be_read_says_what_to_write(
    text: object, dimension: str, code: str, do: str
) -> None:
    with pytest.raises(InputError, match=r"^fork\.travel") as caught:
        parse(text, dimension, "fork.travel")
    (problem,) = caught.value.problems
    assert problem.code == code
    assert do in problem.do


@given(text=st.text(max_size=70), dimension=st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_read_or_refused_in_a_sentence(text: str, dimension: str) -> None:
    try:
        assert math.isfinite(parse(text, dimension).value)
    except InputError as error:
        assert error.problems[0].line().startswith("value")


@pytest.mark.parametrize(
    ("text", "width", "bead"),
    [
        ("61-622", 0.061, 0.622),
        ("61 – 622", 0.061, 0.622),
        ("29x2.4", 0.06096, 0.622),
        ("27.5 × 2.6", 0.06604, 0.584),
        ("650Bx2.35in", 0.05969, 0.584),
        ("26x2.1", 0.05334, 0.559),
    ],
)
def test_sizes_off_the_sidewall(text: str, width: float, bead: float) -> None:
    identity(text, tyre_size(text), (width, bead))


@pytest.mark.parametrize("text", ["2.4", "29", "30x2.4", "5-622", "61-999", "61_622", ""])
def test_sizes_that_no_tyre_has(text: str) -> None:
    with pytest.raises(InputError, match=r"tyre\.size"):
        tyre_size(text)


@given(value=st.floats(-1e3, 1e3), step=st.sampled_from([0.05, 0.1, 0.5, 1.0, 5.0]))
def test_shown_is_the_nearest_mark_of_the_tool(value: float, step: float) -> None:
    shown = float(show(value * 1e-3, "mm", step).split()[0])
    assert abs(shown - value) <= step / 2 + 1e-6
    assert shown / step == pytest.approx(round(shown / step), abs=1e-6)


@given(value=st.floats(0.0, 1e3), step=st.sampled_from([0.5, 1.0, 5.0]))
def test_a_value_at_a_limit_never_rounds_past_it(value: float, step: float) -> None:
    def middle(least: float, most: float) -> float:
        within = least * 1e-3, most * 1e-3
        text = show_interval(value * 1e-3, None, None, "mm", step, within=within)
        return float(text.split()[0])

    below, above = middle(-math.inf, value), middle(value, math.inf)
    assert below <= value + 1e-5 <= above + 2e-5
    assert above - below <= step + 1e-9


def test_intervals_and_systems_read_like_a_mechanic_writes() -> None:
    assert show_interval(538e3, 510e3, 565e3, "psi", 1.0) == "78 (74 to 82) psi"
    assert show_interval(538e3, 537.9e3, 538.1e3, "psi", 1.0) == "78 psi"
    assert show_interval(538e3, 510e3, 565e3, "psi", 1.0, "metric") == "5.40 (5.10 to 5.65) bar"
    assert show(0.0254, "mm", 1.0, "imperial") == "1.00 in"
    assert show(math.radians(65.51), "°", 0.1) == "65.5°"
    assert show(0.3, "%", 1) == "30 %"
    assert show(-0.0001, "mm", 1.0) == "0 mm"
    identity("celsius shown", convert(293.15, "°C"), 20.0)


def test_speeds_and_fine_lengths_in_imperial_units():
    assert units.show(10.0, "km/h", 0.5, "imperial") == "22.5 mph"
    assert units.show(0.0042, "mm", 0.5, "imperial") == "0.16 in"
    assert units.show(0.042, "mm", 1, "imperial") == "1.65 in"


MARKS = (
    ("psi", "pressure", 1.0), ("psi", "pressure", 0.5), ("bar", "pressure", 0.05),
    ("mm", "length", 1.0), ("mm", "length", 0.5), ("mm", "length", 5.0), ("in", "length", 0.05),
    ("kg", "mass", 0.1), ("kg", "mass", 1.0), ("lb", "mass", 1.0), ("N", "force", 5.0),
    ("N·m", "torque", 0.1), ("N/mm", "rate", 1.0), ("lb/in", "rate", 5.0), ("°", "angle", 0.1),
    ("%", "ratio", 1.0), ("km/h", "speed", 0.1), ("mph", "speed", 0.5),
    ("°C", "temperature", 1.0), ("cm", "length", 0.5),
)  # fmt: skip
"""Unit and step of every tool that a setting or a reading is shown with."""
SYSTEMS: tuple[units.System, ...] = ("trade", "metric", "imperial")


@given(
    tool=st.sampled_from(MARKS),
    system=st.sampled_from(SYSTEMS),
    number=st.floats(0.0, 900.0),
)
def test_what_is_shown_reads_back_within_half_a_mark(
    tool: tuple[str, str, float], system: units.System, number: float
) -> None:
    display, dimension, step = tool
    value = parse(f"{number!r} {display}", dimension).value
    shown = show(value, display, step, system)
    unit, mark = units.in_system(display, step, system)
    zero, one = (parse(f"{end} {unit}", dimension).value for end in (0, 1))
    half = 0.5 * mark * (one - zero)
    assert abs(parse(shown, dimension).value - value) <= half * (1 + 1e-6) + 1e-9


def test_every_unit_that_anything_is_shown_in_is_walked() -> None:
    pattern = re.compile(r'"(psi|bar|kPa|mm|in|cm|kg|lb|N|N·m|N/mm|lb/in|°|%|km/h|mph|°C)", ?\d')
    source = Path(units.__file__).parents[1]
    used = {
        unit for path in source.rglob("*.py") for unit in pattern.findall(path.read_text("utf-8"))
    }
    assert used <= {unit for unit, _, _ in MARKS}


DIMENSION = {
    "mm": "length", "cm": "length", "m": "length", "kg": "mass", "N": "force", "N·m": "torque",
    "kN": "force", "N/mm": "rate", "bar": "pressure", "kPa": "pressure", "°C": "temperature",
    "km/h": "speed", "psi": "pressure", "lb": "mass", "lbf": "force", "lb/in": "rate",
    "mph": "speed", "in·lbf": "torque", "°F": "temperature", "N/m": "rate", "kN/m": "rate",
    "N.m": "torque", "degC": "temperature",
}  # fmt: skip


@given(
    unit=st.sampled_from(sorted(DIMENSION)),
    tenths=st.integers(0, 30000),
    tens=st.booleans(),
    system=st.sampled_from(SYSTEMS),
)
def test_a_figure_told_in_another_system_is_the_same_figure(
    unit: str, tenths: int, tens: bool, system: units.System
) -> None:
    number = f"{tenths / 10:.1f}" if tens else str(tenths // 10)
    said = told(f"between {number} and {number} {unit}, at {number} {unit}.", system)
    figure = said.rpartition(" at ")[2].rstrip(".")
    dimension = DIMENSION[unit]
    one = abs(parse(f"1 {unit}", dimension).value - parse(f"0 {unit}", dimension).value)
    near = 0.5 * one * (0.1 if tens else 1.0) * 1.0001
    assert abs(parse(figure, dimension).value - parse(f"{number} {unit}", dimension).value) <= near
    assert told(said, system) == said


@pytest.mark.parametrize(
    ("text", "imperial"),
    [
        ("2 to 4 mm", "0.08 to 0.16 in"),
        ("between 2 and 4 mm", "between 0.08 and 0.16 in"),
        ("20 (14 to 27) mm", "0.79 (0.55 to 1.06) in"),
        ("an inseam of 890 mm ± 6", "an inseam of 35.04 in ± 0.24"),
        ("84 ± 1 kg", "185 ± 2 lb"),
        ("Bar rise by -5 mm", "Bar rise by -0.20 in"),
        ("Bar rise by −5 mm", "Bar rise by −0.20 in"),
        ("at most 5 bar", "at most 72.5 psi"),
        ("max 8 N·m", "max 70.8 in·lbf"),
        ("40 N·m", "354 in·lbf"),
        ("240 m up, 26 °C", "787 ft up, 79 °F"),
        ("4 K colder", "7 °F colder"),
        ("0 mm", "0 in"),
        ("100 to 110 kg: 97 psi", "220 to 243 lb: 97 psi"),
        ("torque wrench, 4 mm hex", "torque wrench, 4 mm hex"),
        ("2 mm or 3 mm hex", "2 mm or 3 mm hex"),
        ("a 203 mm rotor, 1.8 mm thick", "a 203 mm rotor, 0.071 in thick"),
        ("a bar of 31.8 mm", "a bar of 31.8 mm"),
        (
            "61-622, 29x2.4, M5, ISO 4210-2, 16 CFR 1512",
            "61-622, 29x2.4, M5, ISO 4210-2, 16 CFR 1512",
        ),
        ("32-51; 42 mm on the level", "32-51; 1.65 in on the level"),
        ('write it like "20 mm"', 'write it like "20 mm"'),
        ("bike.cockpit.bar_rise=30 mm", "bike.cockpit.bar_rise=30 mm"),
        ("2 min, 5 minutes, 3 mm² and 5 m²", "2 min, 5 minutes, 3 mm² and 5 m²"),
        ("at 20 N/mm, 3 m/s, 20 km/h", "at 114 lb/in, 10 ft/s, 12.4 mph"),
    ],
)
def test_sentences_in_imperial_units(text: str, imperial: str) -> None:
    assert told(text, "imperial") == imperial
    assert told(text, "trade") == text


def test_a_page_keeps_what_is_sent_and_turns_what_is_read() -> None:
    html = (
        '<p title="5 mm">cut 5 mm</p><input value="30 mm"><textarea>5 mm</textarea>'
        '<span class="figure">6<small>N·m</small></span><b>5–6 <small>N·m</small></b>'
    )
    assert page(html, "imperial") == (
        '<p title="5 mm">cut 0.20 in</p><input value="30 mm"><textarea>5 mm</textarea>'
        '<span class="figure">53.1<small>in·lbf</small></span>'
        "<b>44.3–53.1 <small>in·lbf</small></b>"
    )
    assert page(html, "trade") == html
