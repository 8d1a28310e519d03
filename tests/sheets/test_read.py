"""Sheets of every kind of badness give clear lines, all fields at once."""

from __future__ import annotations

import re
import time

import pytest

from cyclewright.errors import InputError
from cyclewright.sheets.read import read
from sheets.samples import LEAST

MINUTE = 60.0
"""Seconds after which something hangs; no busy machine is as slow as that."""

KINDS = ("bike", "rider", "place")


def refused(source, kind="bike") -> InputError:
    """The refusal of a bad sheet, checked for what every refusal must be."""
    with pytest.raises(InputError, match=r"\w") as caught:
        read(source, kind)
    problems = caught.value.problems
    assert problems
    for problem in problems:
        line = problem.line()
        assert line == line.strip()
        assert line.isprintable()
        assert len(line) < 400
        assert "Traceback" not in line
        assert problem.code
    assert caught.value.exit_code == 2
    return caught.value


WHOLE_FILES = {
    "empty": (b"", "holds no fields"),
    "only comments": (b"# nothing here\n\n", "holds no fields"),
    "torn": (b'maker = "Tarn', "is not whole TOML"),
    "torn table": (b"[fork\ntravel = 3", "is not whole TOML"),
    "duplicate key": (b'country = "GB"\ncountry = "US"\n', "is not whole TOML"),
    "binary": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "is not text"),
    "not UTF-8": ("name = 'Zoë'".encode("latin-1"), "line 1 is not UTF-8"),
    "UTF-16": ("country = 'GB'".encode("utf-16"), "is not text"),
    "12 MB": (b"# " + b"x" * 12_000_000, "has 12.0 MB"),
    "one endless line": (b"a = '" + b"x" * 500_000 + b"'", "line 1 is 500006 characters"),
    "lists in lists": (b"a = " + b"[\n" * 60_000, "is nested far too deeply"),
    "dots in dots": (b"a." * 20_000 + b"b = 1", "characters long"),
    "many dotted lines": (
        b"\n".join(b"a%d%s = 1" % (number, b".c" * 900) for number in range(500)),
        "is nested far too deeply",
    ),
    "a number beyond reason": (b"year = " + b"9" * 1_900 + b"\n", None),
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", WHOLE_FILES)
def test_a_file_that_is_no_sheet_is_told_in_one_line(kind, name):
    data, words = WHOLE_FILES[name]
    began = time.monotonic()
    error = refused(data, kind)
    assert time.monotonic() - began < MINUTE
    if words is not None:
        assert len(error.problems) == 1
        assert words in str(error)
        assert str(error).startswith(f"{kind} sheet")


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_of_twelve_thousand_tables_ends_soon(kind):
    data = "".join(f"[t{number}.a.b.c]\n" for number in range(12_000)).encode()
    began = time.monotonic()
    error = refused(data, kind)
    assert time.monotonic() - began < MINUTE
    assert len(error.problems) <= 62
    assert re.search(r"and \d+ more problems", str(error))


@pytest.mark.parametrize("kind", KINDS)
def test_a_byte_order_mark_and_carriage_returns_do_no_harm(kind):
    text = LEAST[kind].replace("\n", "\r\n")
    assert read(b"\xef\xbb\xbf" + text.encode(), kind) == read(LEAST[kind], kind)


@pytest.mark.parametrize("kind", KINDS)
def test_a_path_that_is_no_file(kind, tmp_path):
    assert "there is no file" in str(refused(tmp_path / "none.toml", kind))
    assert "is a folder" in str(refused(tmp_path, kind))
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * 12_000_000)
    assert f"{kind} sheet large.toml: has 12.0 MB" in str(refused(large, kind))


def test_every_bad_field_is_told_at_once():
    sheet = """
    kind = "hardtial"
    mass = "-14 kg"
    mas_limit = "120 kg"
    use_class = 3.5
    year = 1066
    mass_limit_includes_bike = "yes"
    fork = "air"
    [frame]
    reach = 440
    stack = "1,620 mm"
    head_angle = "65.5 mm"
    chainstay = '17" wide'
    wheelbase = 1979-05-27
    bb_drop = ["35 mm"]
    [shock]
    stroke = inf
    rates = "400 lb/in"
    [[shock.chart]]
    mass_min = "60 kg"
    [tyre.front]
    size = "29er"
    [wheel.front]
    bead = 700
    """
    told = {problem.field: problem.line() for problem in refused(sheet).problems}
    assert "did you mean hardtail?" in told["bike.kind"]
    assert "cannot be negative" in told["bike.mass"]
    assert "did you mean bike.mass_limit?" in told["bike.mas_limit"]
    assert "whole number" in told["bike.use_class"]
    assert "1950 to 2100" in told["bike.year"]
    assert "true or false" in told["bike.mass_limit_includes_bike"]
    assert "where a table belongs" in told["bike.fork"]
    assert "add the unit" in told["bike.frame.reach"]
    assert "write 1620 or 1.620" in told["bike.frame.stack"]
    assert "use one of: deg" in told["bike.frame.head_angle"]
    assert "use one of: mm" in told["bike.frame.chainstay"]
    assert "1979" in told["bike.frame.wheelbase"]
    assert "is a list" in told["bike.frame.bb_drop"]
    assert "finite" in told["bike.shock.stroke"]
    assert "write a list" in told["bike.shock.rates"]
    assert "is missing" in told["bike.shock.chart[1].mass_max"]
    assert "is missing" in told["bike.shock.chart[1].pressure"]
    assert "61-622" in told["bike.tyre.front.size"]
    assert "is missing" in told["bike.tyre.rear.size"]
    assert "559, 584, 622" in told["bike.wheel.front.bead"]


@pytest.mark.parametrize(
    ("kind", "text", "missing"),
    [
        ("bike", 'maker = "x"', {"bike.kind", "bike.fork.travel"}),
        ("bike", 'kind = "full-suspension"', {"bike.rear.travel", "bike.shock.stroke"}),
        ("bike", 'kind = "rigid"', {"bike.tyre.front.size", "bike.tyre.rear.size"}),
        ("rider", 'name = "x"', {"rider.mass", "rider.height"}),
        ("place", '[trail]\nslope = "5 %"', {"place.country"}),
    ],
)
def test_missing_fields_are_named(kind, text, missing):
    told = {item.field for item in refused(text, kind).problems if item.code == "missing"}
    assert missing <= told


def test_a_rigid_bike_wants_no_travel():
    text = 'kind = "rigid"\n[tyre.front]\nsize="29x2.2"\n[tyre.rear]\nsize="29x2.2"'
    assert read(text, "bike").fork.travel is None


@pytest.mark.parametrize(
    ("given", "wanted"), [("rider", "bike"), ("bike", "rider"), ("place", "rider")]
)
def test_a_sheet_in_the_wrong_place_is_told_as_such(given, wanted):
    error = refused(LEAST[given], wanted)
    assert str(error) == f"{wanted} sheet: this is a {given} sheet: give a {wanted} sheet here"


CLASHES = [
    ('kind="hardtail"\n[fork]\ntravel="120 mm"\n[rear]\ntravel="100 mm"', "bike.rear.travel"),
    ('kind="rigid"\n[fork]\nkind="air"', "bike.fork.kind"),
    ('[fork]\nkind="coil"\n[[fork.chart]]\nmass_min="1 kg"', "bike.fork.chart"),
    ('[post]\nkind="plain"\ntravel="150 mm"', "bike.post.travel"),
    ('[post]\nkind="dropper"', "bike.post.travel"),
    ('[fork]\nspacers=4\nspacers_max=2', "bike.fork.spacers"),
    ('[tyre.front]\npressure_min="40 psi"\npressure_max="20 psi"', "bike.tyre.front.pressure_min"),
    ('[frame]\ninsertion_min="200 mm"\ninsertion_max="150 mm"', "bike.frame.insertion_min"),
    ('[brake.rear]\nrotor_min="1.9 mm"\nrotor_thickness="1.8 mm"', "bike.brake.rear.rotor_min"),
    ('kind="full-suspension"\n[rear]\ntravel="200 mm"\n[shock]\nstroke="30 mm"',
     "bike.shock.stroke"),
    ('[rear]\nlinkage="table"', "bike.rear.leverage"),
    ('[[rear.leverage]]\ntravel="0 mm"\nratio=2.8', "bike.rear.leverage"),
    ('[[rear.leverage]]\ntravel="9 mm"\nratio=2.8\n[[rear.leverage]]\ntravel="3 mm"\nratio=2.8',
     "bike.rear.leverage[2].travel"),
    ('[fastener.crank]\ntarget="40 N.m"\nmax="50 N.m"', "bike.fastener.crank"),
    ('[fastener.crank]\nmin="40 N.m"', "bike.fastener.crank.min"),
    ('[fastener.crank]\nmin="40 N.m"\nmax="30 N.m"', "bike.fastener.crank.min"),
    ('[fastener.crank.b]\nmin="40 N.m"\nmax="30 N.m"', "bike.fastener.crank.b.min"),
    ('[fastener.crank]\nmax="9 N.m"\n[fastener.crank.a]\nmax="8 N.m"', "bike.fastener.crank"),
    ('[fastener."no name"]\nmax="9 N.m"', "bike.fastener.no name"),
    ('[fastener.crank]\nthread="five"', "bike.fastener.crank.thread"),
    ('[[fork.chart]]\nmass_min="70 kg"\nmass_max="60 kg"\npressure="50 psi"',
     "bike.fork.chart[1].mass_min"),
    ('[[fork.chart]]\nmass_min="50 kg"\nmass_max="60 kg"\npressure="50 psi"\n'
     '[[fork.chart]]\nmass_min="52 kg"\nmass_max="70 kg"\npressure="60 psi"',
     "bike.fork.chart[2].mass_min"),
    ('[fork]\nrebound_clicks=10\n[[fork.clicks]]\npressure_min="40 psi"\npressure_max="60 psi"\n'
     'rebound=14', "bike.fork.clicks[1].rebound"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "field"), CLASHES, ids=[field for _, field in CLASHES])
def test_fields_that_cannot_both_be_true(text, field):
    assert field in {problem.field for problem in refused(text).problems}


@pytest.mark.parametrize(
    ("line", "field"),
    [
        ('inseam = "1.1 m"', "rider.inseam"),
        ('arm_length = "400 mm"', "rider.arm_length"),
        ('kit_mass = "40 kg"', "rider.kit_mass"),
    ],
)
def test_a_body_that_cannot_be(line, field):
    error = refused(LEAST["rider"] + line, "rider")
    assert [problem.field for problem in error.problems] == [field]


def test_units_as_people_write_them_come_out_in_si():
    rider = read('mass = "176 lb ± 1"\nheight = "5.9 ft"', "rider")
    assert rider.mass.value == pytest.approx(79.83, abs=0.01)
    assert rider.mass.sigma == pytest.approx(0.4536, abs=1e-4)
    assert rider.mass.text == "176 lb ± 1"
    assert rider.height.value == pytest.approx(1.79832)
    place = read('country = "gb"\n[trail]\ntemperature = "-5 °C"\nslope = 0.12', "place")
    assert place.country == "GB"
    assert place.trail.temperature.value == pytest.approx(268.15)
    assert place.trail.slope.value == pytest.approx(0.12)


def test_a_spread_wider_than_the_value_can_be_is_refused():
    error = refused('mass = "80 kg ± 900"\nheight = "1.8 m"', "rider")
    assert "one standard deviation" in str(error)


def test_what_is_absent_is_none_all_the_way_down():
    bike = read(LEAST["bike"], "bike")
    assert bike.brake.front.rotor_min is None
    assert bike.shock.rates == ()
    assert bike.fastener == {}
    assert bike.rear.points == {}
