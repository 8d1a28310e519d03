"""Quantities as people write them: read, refused with what to write, rounded to the tool."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright import units
from cyclewright.errors import InputError
from cyclewright.units import DIMENSIONS, convert, parse, show, show_interval, tyre_size
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
    def middle(rounding: units.Rounding) -> float:
        text = show_interval(value * 1e-3, None, None, "mm", step, rounding=rounding)
        return float(text.split()[0])

    assert middle("down") <= value + 1e-5 <= middle("up") + 2e-5
    assert middle("up") - middle("down") <= step + 1e-9


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
