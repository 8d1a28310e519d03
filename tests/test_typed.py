"""As people type: what can be meant in one way only is read, wherever a quantity or a hand goes."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cli.commands import SHEETS
from cyclewright.errors import InputError
from cyclewright.sheets import path as paths
from cyclewright.sheets.quickstart import quick_start
from cyclewright.sheets.sheets import change, load, value_at
from cyclewright.sheets.write import edit
from cyclewright.units import parse, tyre_size
from cyclewright.units.typed import hand
from evidence import identity

IN, LB, PSI = 0.0254, 0.45359237, 6894.757293168361
LBF = LB * 9.80665
TYPED: tuple[tuple[str, str, float], ...] = (
    # feet and inches, in every way people write them
    ("5'9\"", "length", 69 * IN),
    ("5' 9\"", "length", 69 * IN),
    ("5'9", "length", 69 * IN),
    ("5′9″", "length", 69 * IN),
    ("5’9”", "length", 69 * IN),
    ("5'9''", "length", 69 * IN),
    ("5 ft 9 in", "length", 69 * IN),
    ("5ft9", "length", 69 * IN),
    ("5ft 9in", "length", 69 * IN),
    ("5 FT 9 IN", "length", 69 * IN),
    ("5 feet 9 inches", "length", 69 * IN),
    ("5 foot 9", "length", 69 * IN),
    ("5 ft. 9 in.", "length", 69 * IN),
    ("5 ft, 9 in", "length", 69 * IN),
    ("5'9 1/2\"", "length", 69.5 * IN),
    ("5'9½\"", "length", 69.5 * IN),
    ("6'0\"", "length", 72 * IN),
    ("6'", "length", 72 * IN),
    ("5.9 ft", "length", 5.9 * 12 * IN),
    ("6 feet", "length", 72 * IN),
    # inches
    ('2.4"', "length", 2.4 * IN),
    ("2.4″", "length", 2.4 * IN),
    ("2.4''", "length", 2.4 * IN),
    ("2,4 in", "length", 2.4 * IN),
    ("5 1/2 in", "length", 5.5 * IN),
    ("5-1/2 in", "length", 5.5 * IN),
    ("5½ in", "length", 5.5 * IN),
    ("1/4 inch", "length", 0.25 * IN),
    ("31 inches", "length", 31 * IN),
    ("31 In.", "length", 31 * IN),
    # stones and pounds
    ("12 st 4 lb", "mass", 172 * LB),
    ("12st4", "mass", 172 * LB),
    ("12st 4lbs", "mass", 172 * LB),
    ("12 stone 4", "mass", 172 * LB),
    ("12 stone", "mass", 168 * LB),
    ("12 St", "mass", 168 * LB),
    ("180 lb", "mass", 180 * LB),
    ("180lbs", "mass", 180 * LB),
    ("180 pounds", "mass", 180 * LB),
    ("180 LBS", "mass", 180 * LB),
    ("80 Kg", "mass", 80.0),
    ("80KG", "mass", 80.0),
    ("80 kgs", "mass", 80.0),
    ("80 kilos", "mass", 80.0),
    # decimal commas, minus signs, spaces that do not break
    ("80,5 kg", "mass", 80.5),
    ("75,25 kg", "mass", 75.25),
    ("0,125 m", "length", 0.125),
    (",5 mm", "length", 0.0005),
    ("2,5 bar", "pressure", 2.5e5),
    ("−2,5 mm", "length", -0.0025),
    ("–5 mm", "length", -0.005),
    ("150\u00a0mm", "length", 0.15),
    ("150\u202fmm", "length", 0.15),
    ("150\u2009MM", "length", 0.15),
    ("140 Mm", "length", 0.14),
    ("140 millimetres", "length", 0.14),
    ("1.75 meters", "length", 1.75),
    # pressures
    ("30 PSI", "pressure", 30 * PSI),
    ("30 Psi", "pressure", 30 * PSI),
    ("30psi", "pressure", 30 * PSI),
    ("2 Bar", "pressure", 2e5),
    ("2.2 BAR ABS", "pressure", 2.2e5 - 101325.0),
    ("200 KPA", "pressure", 2e5),
    # temperatures
    ("68F", "temperature", 293.15),
    ("68 °F", "temperature", 293.15),
    ("68 ºF", "temperature", 293.15),
    ("68 deg F", "temperature", 293.15),
    ("68 f", "temperature", 293.15),
    ("20 c", "temperature", 293.15),
    ("20 °C", "temperature", 293.15),
    ("−5 °C", "temperature", 268.15),
    # torques
    ("44 in-lb", "torque", 44 * IN * LBF),
    ("44 in-lbs", "torque", 44 * IN * LBF),
    ("44 in·lbf", "torque", 44 * IN * LBF),
    ("44 in lb", "torque", 44 * IN * LBF),
    ("44 inlb", "torque", 44 * IN * LBF),
    ("44 lb-in", "torque", 44 * IN * LBF),
    ("44 In-Lbs", "torque", 44 * IN * LBF),
    ("30 ft-lb", "torque", 30 * 12 * IN * LBF),
    ("30 ft·lbf", "torque", 30 * 12 * IN * LBF),
    ("30 ft lbs", "torque", 30 * 12 * IN * LBF),
    ("30 lb-ft", "torque", 30 * 12 * IN * LBF),
    ("5 Nm", "torque", 5.0),
    ("5 NM", "torque", 5.0),
    ("5 nm", "torque", 5.0),
    ("5 N-m", "torque", 5.0),
    ("5 N m", "torque", 5.0),
    ("5,5 N·m", "torque", 5.5),
    ("5 newton metres", "torque", 5.0),
    # the rest
    ("450 lbs/in", "rate", 450 * LBF / IN),
    ("450 LB/IN", "rate", 450 * LBF / IN),
    ("65.5 degrees", "angle", 65.5 * 3.141592653589793 / 180),
    ("65,5°", "angle", 65.5 * 3.141592653589793 / 180),
    ("12,5 %", "ratio", 0.125),
    ("0,25", "ratio", 0.25),
    ("20 KM/H", "speed", 20 / 3.6),
    ("90 mins", "time", 5400.0),
)  # fmt: skip
REFUSED: tuple[tuple[str, str, str], ...] = (
    ("1,200 mm", "length", "write 1200 or 1.200"),
    ("12,500 kg", "mass", "write 12500 or 12.500"),
    ("1,200,000 mm", "length", "write a decimal point"),
    ("5'13\"", "length", "less than 12 in behind the feet"),
    ("12 st 14", "mass", "less than 14 lb behind the stones"),
    ("5 9", "length", "write a number and a unit"),
    ("5' 9\" tall", "length", "use one of"),
    ("5/9 in", "length", "use one of"),
    ("5-9 mm", "length", "write a number and a unit"),
    ("5–9 mm", "length", "write a number and a unit"),
    ("180", "mass", "add the unit"),
    ("30", "pressure", "add the unit"),
    ("30 lb", "pressure", "use one of"),
    ("30 pounds", "pressure", "use one of"),
    ("5 lb", "torque", "use one of"),
    ("5'", "angle", "use one of"),
    ("5 mpa", "pressure", "use one of"),
    ("12 st 4 lb", "length", "use one of"),
    ("5'9\"", "mass", "use one of"),
)  # fmt: skip
"""What could mean two things, or what no such quantity is given in."""


@pytest.mark.parametrize(("text", "dimension", "meant"), TYPED)
def test_what_can_be_meant_in_one_way_only_is_read_so(
    text: str, dimension: str, meant: float
) -> None:
    got = parse(text, dimension)
    assert got.value == pytest.approx(meant, rel=1e-9)
    assert got.text == text


@pytest.mark.parametrize(("text", "dimension", "do"), REFUSED)
def test_what_could_mean_two_things_is_refused_with_what_to_write(
    text: str, dimension: str, do: str
) -> None:
    with pytest.raises(InputError, match=r"^rider\.field") as caught:
        parse(text, dimension, "rider.field")
    assert do in caught.value.problems[0].do


def test_a_spread_stands_behind_what_is_typed_in_two_parts() -> None:
    tall = parse("5'9\" ± 1/2 in", "length")
    identity("value", tall.value, 69 * IN)
    identity("spread", tall.sigma, 0.5 * IN)
    heavy = parse("12 st 4 +/- 1,5 Kg", "mass")
    identity("value", heavy.value, 172 * LB)
    identity("spread in another unit", heavy.sigma, 1.5)


@given(feet=st.integers(0, 8), sixteenths=st.integers(0, 12 * 16 - 1))
def test_feet_inches_and_sixteenths_add_up(feet: int, sixteenths: int) -> None:
    inches, part = divmod(sixteenths, 16)
    text = f"{feet}' {inches}" + (f" {part}/16" if part else "") + '"'
    assert parse(text, "length").value == pytest.approx((feet * 12 + sixteenths / 16) * IN)


@given(stones=st.integers(1, 30), pounds=st.integers(0, 13))
def test_stones_and_pounds_add_up(stones: int, pounds: int) -> None:
    for text in (f"{stones} st {pounds} lb", f"{stones}st{pounds}"):
        assert parse(text, "mass").value == pytest.approx((14 * stones + pounds) * LB)


FIELD = {
    "length": "rider.height",
    "mass": "rider.mass",
    "pressure": "bike.tyre.front.pressure_max",
    "temperature": "place.workshop.temperature",
    "torque": "bike.fastener.grips.max",
    "rate": "bike.shock.rates",
    "angle": "bike.frame.head_angle",
    "ratio": "bike.fork.sag_target",
}


def _changed(text: str, field: str) -> object:
    return value_at(change(load(*SHEETS), [f"{field}={text}"]), field)


@pytest.mark.parametrize(
    ("text", "field", "meant"),
    [
        (text, FIELD[dimension], meant)
        for text, dimension, meant in TYPED
        if dimension in FIELD and not (dimension == "length" and not 1.2 < meant < 2.2)
        and "," not in text
    ],
)  # fmt: skip
def test_a_change_and_a_sheet_read_what_is_typed_and_keep_its_words(
    text: str, field: str, meant: float
) -> None:
    try:
        got = _changed(text, field)
    except InputError as error:
        assert error.problems[0].code in ("out-of-range",), error  # read, and no such bike
        return
    got = got[0] if isinstance(got, tuple) else got
    assert float(got) == pytest.approx(meant, rel=1e-9)  # type: ignore[arg-type]
    kind = field.partition(".")[0]
    source = dict(zip(("bike", "rider", "place"), SHEETS, strict=True))[kind]
    sheet = edit(Path(source).read_text(), {field: text})
    again = load(*(sheet if item == source else item for item in SHEETS))
    kept = value_at(again, field)
    kept = kept[0] if isinstance(kept, tuple) else kept
    assert float(kept) == pytest.approx(meant, rel=1e-9)  # type: ignore[arg-type]


def test_a_step_on_what_was_typed_in_two_parts_adds_to_its_sum() -> None:
    changes = ["rider.height=5'9\"", "rider.height+=1 in", "rider.mass=12 st 4", "rider.mass+=2 lb"]
    after = change(load(*SHEETS), changes)
    assert after.rider is not None
    assert after.rider.height is not None
    assert after.rider.mass is not None
    assert float(after.rider.height) == pytest.approx(70 * IN)
    assert after.rider.height.text == "70 in"
    assert after.rider.mass.text == "174 lb"


def test_the_quick_start_takes_a_rider_who_thinks_in_feet_and_stones() -> None:
    answers = {
        "kind": "hardtail", "country": "GB", "fork_travel": "5 1/2 in", "tyre": '29" x 2,4"',
        "tubeless": "yes", "hooked": "yes", "height": "5'9\"", "mass": "12 st 4 lb",
        "inseam": "31½″",
    }  # fmt: skip
    made = quick_start(answers).sheets()
    assert made.rider is not None
    assert made.bike.tyre is not None
    assert float(made.rider.height) == pytest.approx(69 * IN)  # type: ignore[arg-type]
    assert float(made.rider.mass) == pytest.approx(172 * LB)  # type: ignore[arg-type]
    assert float(made.rider.inseam) == pytest.approx(31.5 * IN)  # type: ignore[arg-type]
    assert float(made.bike.fork.travel) == pytest.approx(5.5 * IN)  # type: ignore[arg-type, union-attr]


@pytest.mark.parametrize(
    "text",
    ["29x2.4", "29X2.4", "29 x 2.4", "29×2.4", '29"x2.4"', "29″ × 2,4″", "29x2.40", "29 x 2.4 in",
     "29\u00a0x\u00a02.4", "61-622", "61–622"],
)  # fmt: skip
def test_a_tyre_reads_as_on_its_sidewall(text: str) -> None:
    width, bead = tyre_size(text)
    assert bead == 0.622
    assert width == pytest.approx(0.061, abs=1e-4)


HANDS = {
    "front-right": ("right", "Right", "RIGHT", "r", "R", "right hand", "Right-hand", "front right",
                    "front-right", "front_right"),
    "front-left": ("left", "Left", "l", "L", "left hand", "front left", "front-left", " left "),
}  # fmt: skip


@pytest.mark.parametrize(("text", "meant"), [(t, m) for m, every in HANDS.items() for t in every])
def test_one_word_is_enough_for_a_hand(text: str, meant: str) -> None:
    assert hand(text) == meant
    for field in ("bike.hands_delivered", "rider.hands_wish", "place.hands"):
        assert paths.find(field).slot.allowed == ("front-left", "front-right")
        assert _changed(text, field) == meant


@pytest.mark.parametrize("text", ["both", "rear", "rear-left", "either", "lr", "none", "x"])
def test_what_names_no_hand_is_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"front-left, front-right"):
        _changed(text, "bike.hands_delivered")
