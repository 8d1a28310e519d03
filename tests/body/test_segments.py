import csv
import doctest
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from body.bodies import DATA, survey_columns
from cyclewright.body import balance, posture, segments, tables
from cyclewright.errors import InputError, RangeError

SEXES = ("M", "F", None)
SURVEY = "ANSUR II (Gordon and others 2014)"


@pytest.mark.parametrize("module", [segments, posture, balance])
def test_the_examples_of_the_docstrings_run(module):
    result = doctest.testmod(module)
    assert result.attempted > 3
    assert result.failed == 0


@pytest.mark.parametrize("sex", SEXES)
def test_the_packaged_statistics_are_those_of_the_survey(sex):
    table, columns = tables.survey(sex or "any"), survey_columns(sex)
    assert table.count == len(columns["stature"])
    assert table.mean[0] == pytest.approx(columns["stature"].mean(), abs=1e-7)
    cross = np.cov(columns["crotchheight"], columns["sittingheight"])[0, 1]
    assert table.covariance[1, 10] == pytest.approx(cross, abs=1e-9)


def test_crotch_height_on_stature_is_the_published_regression():
    stature = np.array([1.5, 1.7144, 1.95])
    crotch, spread = segments.crotch_height_from_stature(stature)
    for ours, tall in zip(crotch, stature, strict=True):
        evidence.published(
            f"crotch height of a person {tall:g} m tall",
            float(ours),
            -0.1112 + 0.5462 * tall,
            "0.00015",
            f"{SURVEY}: -111.2 mm + 0.5462 x stature, both sexes",
            "read",
            "m",
        )
    table = tables.survey("any")
    evidence.published(
        "share of crotch height that stature explains",
        math.sqrt(1.0 - spread**2 / table.covariance[1, 1]),
        0.898,
        "0.0005",
        f"{SURVEY}: correlation of both sexes",
        "read",
        "1",
    )


@pytest.mark.parametrize("sex", SEXES)
def test_prediction_is_least_squares_on_the_survey(sex):
    """Second method: the conditional normal mean is ordinary regression on the same people."""
    columns = survey_columns(sex)
    known = np.stack(
        [np.ones_like(columns["stature"]), columns["stature"], columns["crotchheight"]]
    )
    thigh = columns["trochanterionheight"] - columns["lateralfemoralepicondyleheight"]
    weights, *_ = np.linalg.lstsq(known.T, thigh, rcond=None)
    ours = segments.predict(columns["stature"], columns["crotchheight"], sex).thigh
    evidence.second_method(
        f"thigh of every body of the survey ({sex or 'both sexes'})",
        ours,
        known.T @ weights,
        "least squares on the survey's people",
        rel=0.0,
        within=2e-6,
    )


@pytest.mark.parametrize("sex", ["M", "F"])
def test_draws_have_the_residual_spread_of_the_survey(sex):
    columns = survey_columns(sex)
    draws = np.random.default_rng(1).standard_normal((segments.DEVIATES, 20_000))
    drawn = segments.predict(1.7, 0.82, sex, deviates=draws)
    mean = segments.predict(columns["stature"], columns["crotchheight"], sex)
    real = {
        "leg": columns["trochanterionheight"] - columns["lateralmalleolusheight"] - mean.leg,
        "thigh": columns["trochanterionheight"]
        - columns["lateralfemoralepicondyleheight"]
        - mean.thigh,
        "forearm": columns["radialestylionlength"]
        + segments.GRIP_OF_HAND * columns["handlength"]
        - mean.forearm,
    }
    for name, residual in real.items():
        evidence.measured(
            f"spread of the {name} about its prediction ({sex})",
            getattr(drawn, name).std(),
            residual.std(),
            SURVEY,
            rel=0.03,
        )


def test_fewer_deviates_keep_the_largest_components():
    draws = np.random.default_rng(2).standard_normal((segments.DEVIATES, 5_000))
    full = segments.predict(1.75, deviates=draws)
    few = segments.predict(1.75, deviates=draws[:4])
    assert few.thigh.shape == full.thigh.shape == (5_000,)
    kept = np.var(few.trunk + few.leg + few.arm) / np.var(full.trunk + full.leg + full.arm)
    assert 0.9 < kept < 1.05


def test_a_measured_arm_is_kept():
    draws = np.random.default_rng(3).standard_normal((segments.DEVIATES, 200))
    body = segments.predict(1.75, 0.83, "M", arm_length=0.70, deviates=draws)
    drop = body.upper_arm / (1.0 - segments.SHOULDER_BELOW_ACROMION)
    assert drop + body.forearm == pytest.approx(0.70, abs=1e-14)  # roundings of 0.7 m


MEASURED = ((), ("crotch_height",), ("arm_length",), ("crotch_height", "arm_length"))


@pytest.mark.parametrize("sex", SEXES)
@pytest.mark.parametrize("measured", MEASURED)
def test_no_draw_rests_on_the_processors_rounding(sex, measured):
    """Order and signs of the components are far from a tie; what is left of nothing is nothing."""
    known = {name: np.array([1.0]) for name in ("stature", *measured)}
    _, root = segments._conditional(tables.survey(sex or "any"), known)
    sizes = np.linalg.norm(root, axis=0)
    kept = sizes > 0.0
    assert kept.sum() == segments.DEVIATES - ("arm_length" in measured)
    assert sizes[kept].min() > 1e-3  # a millimetre
    assert (sizes[kept][:-1] / sizes[kept][1:]).min() > 1.01
    first, second = np.sort(np.abs(root[:, kept] / sizes[kept]), axis=0)[:-3:-1]
    assert (first - second).min() > 1e-3


def test_drillis_and_contini_miss_this_survey_by_what_is_published():
    columns = survey_columns(None)
    with (DATA / "segments.csv").open(encoding="utf-8", newline="") as file:
        ratio = {
            row["segment"]: float(row["value"])
            for row in csv.DictReader(file)
            if row["set"] == "Drillis-Contini"
        }
    hip = ratio["hip height (greater trochanter)"] * columns["stature"]
    _missed("hip height", hip - columns["trochanterionheight"], 0.026, 0.026)
    trunk = ratio["trunk (hip to shoulder)"] * columns["stature"]
    ours = columns["acromialheight"] - columns["trochanterionheight"]
    _missed("trunk", trunk - ours, -0.030, 0.027)


def _missed(what, miss, mean, spread):
    """Hold the miss of the stature ratios to what is known of it."""
    for name, value, expected in (("mean", miss.mean(), mean), ("spread", miss.std(), spread)):
        evidence.published(
            f"{name} by which the stature ratio misses the {what}",
            float(value),
            expected,
            "0.0005",
            f"Drillis and Contini 1966 against {SURVEY}",
            "formula",
            "m",
        )


def test_mass_tables_are_the_published_ones():
    names = {"head and neck": "head", "trunk (mid-shoulder to mid-hip)": "trunk"}
    sets = {"Winter": "winter", "de Leva 1996": "de-leva"}
    checked = 0
    with (DATA / "segments.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            segment = names.get(row["segment"], row["segment"].replace(" ", "_"))
            if row["set"] not in sets or " arms " in row["segment"] or "neck" in segment:
                continue
            if row["quantity"] == "centre from proximal" and segment == "hand":
                continue  # the hand's mass is taken at the grip
            sex = None if row["sex"] == "any" else row["sex"]
            ours = segments.segment_masses(sex, sets[row["set"]])
            field = segment if row["quantity"] == "mass/body" else f"{segment}_centre"
            assert getattr(ours, field) == float(row["value"]), row
            checked += 1
    assert checked > 35


@pytest.mark.parametrize("sex", SEXES)
@pytest.mark.parametrize("name", ["winter", "de-leva"])
def test_mass_fractions_make_one_body(sex, name):
    assert segments.segment_masses(sex, name).total == pytest.approx(1.0, abs=1.5e-3)


@given(st.floats(0.5, 1.1), st.sampled_from(["firm", "light"]))
def test_inseam_and_crotch_height_are_inverse(inseam, kind):
    there = segments.crotch_height(inseam, kind)
    assert float(segments.inseam_of(there, kind)) == pytest.approx(inseam, abs=1e-12)


@given(st.floats(1.01, 2.39), st.floats(0.381, 0.579), st.sampled_from(SEXES))
def test_every_body_allowed_has_positive_segments(stature, share, sex):
    body = segments.predict(stature, share * stature, sex)
    for name in segments.Segments.__slots__:
        value = getattr(body, name)
        assert value.shape == (1,)
        assert np.isfinite(value).all() and (value > 0.0).all(), name


def test_impossible_bodies_are_refused_all_at_once():
    with pytest.raises(RangeError, match=r"stature is 17\.5.*allowed: 1 to 2\.4 m"):
        segments.predict(17.5)
    with pytest.raises(RangeError, match="stature is nan"):
        segments.predict(math.nan)
    with pytest.raises(RangeError) as refused:
        segments.predict(1.75, crotch_height=1.2, arm_length=0.2)
    assert [problem.field for problem in refused.value.problems] == ["crotch_height", "arm_length"]


def test_unknown_words_are_refused():
    with pytest.raises(InputError, match="use firm or light"):
        segments.crotch_height(0.8, "soft")
    with pytest.raises(InputError, match="use winter or de-leva"):
        segments.segment_masses(None, "other")
    with pytest.raises(InputError, match="finite draws of shape"):
        segments.predict(1.75, deviates=np.zeros((segments.DEVIATES + 1, 3)))
